//! What `fit --with` shows.

use super::answer_with::{Gained, LearntBench, LearntHand, Together};
use super::text::{FactorTable, factor, factor_blocks, other_blocks, source, spread_text};
use super::text_weighed::weighed_text;
use crate::model::mixed::Summary;
use crate::terminal::number::{plural, ranged_length, rounded, signed};
use crate::terminal::screen::Screen;
use crate::terminal::words::{hanging, paragraphs, wrapped};
use crate::units::LengthUnit;

/// Several books: how their benches differ and what they add to this one, then what `fit` says
/// about a single book.
pub(crate) fn together_text(together: &Together, unit: LengthUnit, screen: Screen) -> String {
    let (learnt, width) = (&together.learnt, screen.width);
    let mut blocks = vec![wrapped(&difference(together), width), benches_text(together, width)];
    blocks.push(gained_text(&together.gained, width));
    blocks.extend(beliefs_text(&together.benches, width));
    blocks.push(wrapped("The table below shows each paper as its own bench sews it.", width));
    blocks.extend(factor_blocks(learnt, screen));
    blocks.push(repeat_text(&together.benches, unit, width));
    for bench in &together.benches {
        let readings = weighed_text(&bench.down_weighted, unit, width);
        blocks.extend(readings.map(|readings| format!("{}:\n{readings}", bench.bench)));
    }
    blocks.push(spread_text(learnt, "benches", width));
    blocks.extend(other_blocks(learnt, unit, width));
    let source = source(learnt);
    let books = plural(together.benches.len(), "book");
    blocks.push(wrapped(&format!("{} of {books}.", source.trim_end_matches('.')), width));
    paragraphs(&blocks)
}

fn difference(together: &Together) -> String {
    let Summary { q05, q50, q95, .. } = together.bench_difference;
    let several = together.benches.iter().any(|bench| bench.hands.len() > 1);
    let hands = match several {
        true => " Each hand of a bench with several counts as a bench of its own.",
        false => "",
    };
    let percent = |share: f64| rounded(100.0 * share, 0);
    let books = together.benches.len();
    let said = match together.benches_differ {
        true => format!(
            "One bench's swell differs from another's by about {} % of the thread build-up (90 % \
             range {} to {} %).",
            percent(q50),
            percent(q05),
            percent(q95)
        ),
        false => format!(
            "The {books} books show no difference between benches beyond the variation between \
             sewings. It could be up to {} % of the thread build-up.",
            percent(q95)
        ),
    };
    format!("{said}{hands}")
}

fn benches_text(together: &Together, width: usize) -> String {
    let opening = "What each bench adds to the thread factor, against an average bench:";
    let lines = together.benches.iter().enumerate().flat_map(|(at, bench)| {
        let whose = if at == 0 { " (this book)" } else { "" };
        bench.hands.iter().map(move |hand| {
            let LearntHand { trials, effect, .. } = hand;
            let name = hand_words(bench, hand);
            let line = format!(
                "  {name}{whose}: {} ({} to {}), {}",
                signed(factor(effect.q50)),
                signed(factor(effect.q05)),
                signed(factor(effect.q95)),
                plural(*trials, "trial")
            );
            hanging(&line, width, 4)
        })
    });
    std::iter::once(wrapped(opening, width)).chain(lines).collect::<Vec<_>>().join("\n")
}

fn hand_words(bench: &LearntBench, hand: &LearntHand) -> String {
    match hand.hand.as_deref() {
        None => bench.bench.clone(),
        Some("") => format!("{}, no name", bench.bench),
        Some(name) => format!("{}, {name}", bench.bench),
    }
}

fn gained_text(gained: &[Gained], width: usize) -> String {
    if gained.is_empty() {
        let none = "This book has no measured trial yet: the figures for its papers rest on the \
                    other books.";
        return wrapped(none, width);
    }
    let opening = "What the other books add to the factors of this one:";
    let mut text = format!("{}\n", wrapped(opening, width));
    let table = FactorTable { width, heads: ["alone", "all"] };
    text += &table.head();
    for of_paper in gained.chunk_by(|a, b| a.paper == b.paper) {
        let each =
            of_paper.iter().map(|one| format!("{} {}", narrower(one.narrower), one.state.phrase()));
        let paper = &of_paper[0].paper;
        text +=
            &hanging(&format!("{paper} (range {})", each.collect::<Vec<_>>().join(", ")), width, 4);
        text.push('\n');
        for Gained { state, alone, together, .. } in of_paper {
            text += &table.row(state.phrase(), alone, Some(together));
        }
    }
    text
}

fn narrower(share: f64) -> String {
    let percent = rounded(100.0 * share.abs(), 0);
    match percent.as_str() {
        "0" => "as wide".to_owned(),
        _ if share > 0.0 => format!("{percent} % narrower"),
        _ => format!("{percent} % wider"),
    }
}

/// Names the books whose beliefs are not used; `None` if all books have the same.
fn beliefs_text(benches: &[LearntBench], width: usize) -> Option<String> {
    let others = benches.iter().filter(|bench| bench.other_beliefs);
    let others: Vec<&str> = others.map(|bench| bench.bench.as_str()).collect();
    if others.is_empty() {
        return None;
    }
    let (books, have) = if others.len() == 1 { ("book.toml", "has") } else { ("books", "have") };
    Some(wrapped(
        &format!(
            "The {books} of {} {have} other starting beliefs; those of this book are used for all.",
            others.join(" and of ")
        ),
        width,
    ))
}

fn repeat_text(benches: &[LearntBench], unit: LengthUnit, width: usize) -> String {
    let show = |mm: f64| ranged_length(mm, mm, unit);
    let each = benches
        .iter()
        .map(|bench| format!("{} {} {unit}", bench.bench, show(bench.repeatability.sd_mm)));
    wrapped(
        &format!(
            "Repeatability: one reading is good to (standard deviation): {}. Each observation is \
             weighted by that of its own bench.",
            each.collect::<Vec<_>>().join(", ")
        ),
        width,
    )
}
