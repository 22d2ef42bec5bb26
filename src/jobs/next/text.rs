//! The text of `next`.

use super::answer::NextTrial;
use super::answer_choice::TrialChoice;
use super::answer_long::LongBook;
use super::answer_minutes::Minutes;
use super::answer_odds::BestOdds;
use crate::book::Config;
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::forecast::text::source_line;
use crate::jobs::plan::answer_rank::whole_percent;
use crate::jobs::plan_spec::text::{band_words, pattern_words, plan_line, sewing_words};
use crate::jobs::plan_spec::text_way::way_words;
use crate::model::TrialBlock;
use crate::terminal::number::{gauged_length, rounded};
use crate::terminal::odds::chance_in_figures;
use crate::terminal::table::Table;
use crate::terminal::words::{listed, paragraphs, wrapped};

/// The most blocks in the table.
const SHOWN: usize = 6;

/// A standard deviation with two digits if the gauge has them, because blocks differ in the second.
pub(crate) fn give_or_take(sd_mm: f64, config: &Config) -> String {
    format!("\u{b1}{} {}", gauged_length(sd_mm, sd_mm, config), config.unit)
}

/// `as sewn and knocked down`, in the order of the work.
fn measured(block: &TrialBlock) -> String {
    let phrases: Vec<&str> = block.states.iter().map(|state| state.phrase()).collect();
    listed(&phrases)
}

fn boned(block: &TrialBlock) -> &'static str {
    if block.run.boned { ", boned" } else { "" }
}

fn block_words(block: &TrialBlock) -> String {
    let (run, sewing) = (&block.run, block.run.sewing);
    let sheets = if sewing.sheets() == 1 { "sheet" } else { "sheets" };
    format!(
        "{} sections of {} {sheets} of {} with {}, {}{}",
        sewing.sections(),
        sewing.sheets(),
        run.paper.name,
        run.thread.name,
        sewing_words(sewing),
        boned(block)
    )
}

/// `10 x 4 Alder bond, flax 25/3`: sections, sheets, paper and thread; and the sewing pattern if
/// the block is not sewn all along.
fn short_words(block: &TrialBlock) -> String {
    let (run, sewing) = (&block.run, block.run.sewing);
    let (sections, sheets) = (sewing.sections(), sewing.sheets());
    let sewn = match sewing.on() {
        1 => String::new(),
        on => format!(", {}", pattern_words(on)),
    };
    let (paper, thread) = (&run.paper.name, &run.thread.name);
    format!("{sections} x {sheets} {paper}, {thread}{sewn}{}", boned(block))
}

fn percent(share: f64) -> String {
    format!("{} %", rounded(100.0 * share, usize::from(share < 0.0995)))
}

/// The answer first, then the best few blocks, then the uncertainty that no block removes.
pub fn next_text(next: &NextTrial, config: &Config, width: usize) -> String {
    let mut blocks = vec![wrapped(&plan_line(&next.plan), width)];
    blocks.push(wrapped(&headline(next, config), width));
    blocks.push(choices_table(next, config, width));
    blocks.extend(next.long.map(|long| wrapped(&long_line(next, long, config), width)));
    blocks.push(wrapped(&never_line(next.never_mm, config), width));
    blocks.extend(odds_line(next).map(|line| wrapped(&line, width)));
    let from = source_line(next.trials_used, &Grounds::of(config));
    let counted = minutes_line(next.minutes);
    blocks.push(wrapped(
        &format!("{} blocks were considered. {counted} {from}", next.choices.len()),
        width,
    ));
    paragraphs(&blocks)
}

fn headline(next: &NextTrial, config: &Config) -> String {
    let Some(best) = next.choices.first() else {
        return "No trial block could be sewn for this plan.".to_owned();
    };
    if !next.worth_sewing {
        return format!(
            "No trial block is worth sewing for this book: none reduces its uncertainty ({}) by \
             more than {}. Measure part-way through the sewing instead.",
            give_or_take(next.before.swell_mm, config),
            percent(next.most_narrowed())
        );
    }
    format!(
        "Sew next: {}, measured {} at {} places: about {:.0} minutes. The uncertainty of this \
         book falls from {} to {}.",
        block_words(&best.block),
        measured(&best.block),
        best.block.readings,
        best.minutes,
        give_or_take(next.before.swell_mm, config),
        give_or_take(best.after.swell_mm, config)
    )
}

/// Why one of the blocks should be long, and which one, if it is not the first.
fn long_line(next: &NextTrial, long: LongBook, config: &Config) -> String {
    if let (false, Some(longest)) = (next.worth_sewing, long.longest) {
        return format!(
            "This rests on trial blocks of up to {longest} sections, and this book has {}. Whether \
             a long book behaves as they do, only a block of {} sections or more would show, or \
             the book itself, measured part-way.",
            long.planned, long.least
        );
    }
    let advised = next.advised(SHOWN);
    let first = advised.iter().position(|choice| long.is_met_by(&choice.block));
    let which = match first.map(|place| (place, advised[place])) {
        None => String::new(),
        Some((0, _)) => " The first one named is long enough.".to_owned(),
        Some((_, choice)) => format!(
            " The best such block, {}, takes about {:.0} minutes and leaves an uncertainty of {}.",
            block_words(&choice.block),
            choice.minutes,
            give_or_take(choice.after.swell_mm, config)
        ),
    };
    format!("{}{which}", long_words(long))
}

/// Advises one long block for a long book.
pub(crate) fn long_words(long: LongBook) -> String {
    let tried = match long.longest {
        Some(longest) => format!("your longest trial block {longest}"),
        None => "there is no trial block yet".to_owned(),
    };
    format!(
        "Make one block a long one, of {} sections or more: this book has {} sections and {tried}. \
         Short blocks do not show how the share of the thread changes with the length of a book.",
        long.least, long.planned
    )
}

pub(crate) fn row(choice: &TrialChoice, config: &Config) -> [String; 4] {
    [
        short_words(&choice.block),
        measured(&choice.block),
        rounded(choice.minutes, 0),
        give_or_take(choice.after.swell_mm, config),
    ]
}

fn choices_table(next: &NextTrial, config: &Config, width: usize) -> String {
    let has_odds = next.best_odds.is_some();
    let mut numbers = vec!["minutes", "± after", "narrower"];
    numbers.extend(has_odds.then_some("best odds"));
    let mut table = Table::of(&["block", "measured"], &numbers);
    for choice in next.advised(SHOWN) {
        let odds = choice.best_odds.map(chance_in_figures);
        let narrower = percent(next.narrowed(choice));
        table.row(row(choice, config).into_iter().chain([narrower]).chain(odds));
    }
    let odds = if has_odds { ", and the best odds afterwards, on average" } else { "" };
    let what = format!(
        "The best blocks for the time they take (sections x sheets), with the share by which each \
         makes the uncertainty narrower{odds}:"
    );
    format!("{}\n{}", wrapped(&what, width), table.render(width))
}

fn never_line(never_mm: f64, config: &Config) -> String {
    format!(
        "No trial block can remove {} of the uncertainty: that is variation between sewings and \
         measurements. Measuring part-way through the sewing can (`swellbook midway`). \u{b1} is \
         one standard deviation: about two thirds of swells lie within it.",
        give_or_take(never_mm, config)
    )
}

fn odds_line(next: &NextTrial) -> Option<String> {
    let (band, chance) = (next.target.as_ref()?, next.chance?);
    let now = format!(
        "Target {}: {} chance of meeting it by what is known now. Knowing more does not by itself \
         raise these odds: it moves them up or down to their true value.",
        band_words(band),
        chance_in_figures(chance)
    );
    let best = next.best_odds.as_ref().map(|best| best_line(next, best));
    Some(now + &best.unwrap_or_default())
}

/// The best way to sew the same leaves, and the block that raises the best chance most.
fn best_line(next: &NextTrial, best: &BestOdds) -> String {
    let (ways, chance) = (best.considered, chance_in_figures(best.chance));
    let now = match best.is_met() {
        true => {
            let way = way_words(&best.way);
            format!(" Of the {ways} ways to sew these leaves the best is {way}: {chance}.")
        }
        false => format!(
            " None of the {ways} ways to sew these leaves meets it: the best odds are {chance}."
        ),
    };
    let gain = |choice: &&TrialChoice| choice.best_odds.unwrap_or(0.0);
    let most = next.choices.iter().max_by(|a, b| gain(a).total_cmp(&gain(b)));
    let most = most.filter(|choice| whole_percent(gain(choice)) > whole_percent(best.chance));
    now + &match most {
        None => " No trial block raises that by a whole percentage point, so none changes what to \
                 sew."
            .to_owned(),
        Some(choice) => format!(
            " A trial block can show that another way is better. The one that helps most: {} \
             ({}), then {} on average.",
            short_words(&choice.block),
            measured(&choice.block),
            chance_in_figures(gain(&choice))
        ),
    }
}

pub(crate) fn minutes_line(minutes: Minutes) -> String {
    let [setup, section, state] = minutes.each();
    format!(
        "Minutes counted: {setup} to set up, {section} to fold and sew a section, {state} to \
         measure each state (--minutes)."
    )
}
