//! Entries of the book in a sentence.

use super::answer_struck::{Struck, StruckEntry};
use crate::book::{Config, EntryKind};
use crate::jobs::plan_spec::text::pattern_words;
use crate::terminal::number::{fine_length, length, plural, rounded};
use crate::trade::{
    Edge, LeftOver, Name, Paper, PaperKind, Reading, Said, SavedPlan, Sewing, State, Target,
    Thread, Trial, parse_on, parse_yes_no,
};
use crate::units::{Grammage, Millimetres};

/// A paper: `bond 80: 80 g/m², caliper 0.103 mm, hard`.
pub fn paper_line(paper: &Paper, config: &Config) -> String {
    let grammage = paper.grammage.map(|grammage| format!("{grammage}, ")).unwrap_or_default();
    let caliper = fine_length(paper.caliper(), config);
    format!("{}: {grammage}caliper {caliper}, {}", paper.name, paper.hardness)
}

/// How a weight in pounds was read: `24 lb bond is read as 90.2 g/m²`.
pub fn weight_line(pounds: f64, kind: PaperKind, grammage: Grammage) -> String {
    format!("{pounds} lb {kind} is read as {grammage}")
}

pub fn stack_line(
    leaves: u16,
    reading: Millimetres,
    caliper: Millimetres,
    config: &Config,
) -> String {
    let (reading, caliper) = (length(reading, config), fine_length(caliper, config));
    format!("{} measured {reading}: caliper {caliper}", plural(leaves.into(), "leaf"))
}

pub fn wraps_line(turns: u16, width: Millimetres, laid: Millimetres, config: &Config) -> String {
    let (width, laid) = (length(width, config), fine_length(laid, config));
    format!("{} side by side measured {width}: diameter {laid}", plural(turns.into(), "turn"))
}

/// A thread: `linen 25: linen, lea 25/3, 198.4 tex, diameter 0.46 mm from its count`.
pub fn thread_line(thread: &Thread, config: &Config) -> String {
    let count = thread.count().map(|count| {
        let tex = rounded(count.linear_density().tex(), 1);
        let shown = count.to_string();
        let named = if shown.starts_with("tex") { String::new() } else { format!("{shown}, ") };
        format!("{named}{tex} tex, ")
    });
    let source = if thread.laid().is_some() { "as measured" } else { "from its count" };
    let diameter = fine_length(thread.diameter(), config);
    let count = count.unwrap_or_default();
    format!("{}: {}, {count}diameter used {diameter}, {source}", thread.name, thread.material)
}

/// Common threads that were recorded together, and what to do about their diameters.
pub fn starting_line(threads: &[Thread]) -> String {
    let names: Vec<&str> = threads.iter().map(|thread| thread.name.as_str()).collect();
    format!(
        "recorded {}: {}, with the diameters of their counts (common practice, no source); measure \
         yours",
        plural(names.len(), "thread"),
        names.join(", ")
    )
}

/// A caution if the measured diameter and the count disagree.
pub fn disagreement_line(thread: &Thread, config: &Config) -> Option<String> {
    let share = thread.disagreement()?;
    let word = if share > 0.0 { "thicker" } else { "thinner" };
    let computed = fine_length(thread.diameter_from_count()?, config);
    let percent = rounded(100.0 * share.abs(), 0);
    Some(format!(
        "caution: the measured diameter is {percent} % {word} than the {computed} that its count gives; \
         check the count, the material, and whether the thread was doubled"
    ))
}

/// A target: `rounded: 12 to 22 %`.
pub fn target_line(target: &Target) -> String {
    format!("{}: {} to {} %", target.name, target.low_percent(), target.high_percent())
}

/// A trial: `T1 (block of 2026-03-01): 10 sections of 4 sheets of bond 80, linen 25, all along`.
pub fn trial_line(trial: &Trial, config: &Config) -> String {
    format!("{} ({}): {}", trial.name, dated(trial), sewn_line(trial, config))
}

/// The same without the name, and who sewed it: `block of 2026-03-01: 10 sections of 4 sheets of
/// bond 80, linen 25, all along, sewn by Ann`.
pub(crate) fn trial_in_full(trial: &Trial, config: &Config) -> String {
    let hand = trial.hand.as_ref().map(|hand| format!(", sewn by {hand}")).unwrap_or_default();
    format!("{}: {}{hand}", dated(trial), sewn_line(trial, config))
}

fn dated(trial: &Trial) -> String {
    let date = trial.date.map(|date| format!(" of {date}")).unwrap_or_default();
    format!("{}{date}", trial.kind)
}

fn sewn_line(trial: &Trial, config: &Config) -> String {
    let guards = if trial.guards.mm() > 0.0 {
        format!(", guards {}", length(trial.guards, config))
    } else {
        String::new()
    };
    format!(
        "{} of {}, thread {}, {}{guards}",
        sewing_phrase(trial.sewing),
        trial.paper,
        trial.thread,
        on_words(trial)
    )
}

/// What a trial is sewn of, unnamed: `bond 80, linen 25, 10 sections of 4 sheets, all along`.
pub fn trial_words(trial: &Trial) -> String {
    let (sewing, on) = (sewing_phrase(trial.sewing), on_words(trial));
    format!("{}, {}, {sewing}, {on}", trial.paper, trial.thread)
}

/// How a trial was sewn: `two-on, 4 at each end all along, boned`.
pub fn on_words(trial: &Trial) -> String {
    let boned = if trial.boned { ", boned" } else { "" };
    let on = on_and_ends(trial.sewing.on(), &trial.sewing.ends_text());
    format!("{on}{boned}")
}

fn sewing_phrase(sewing: Sewing) -> String {
    let sections = plural(sewing.sections().into(), "section");
    format!("{sections} of {}", plural(sewing.sheets().into(), "sheet"))
}

/// `3+4` as `the first 3 and the last 4 all along`.
fn ends_words(ends: &str) -> String {
    match ends.split_once('+') {
        Some((first, last)) => {
            format!("the first {} and the last {} all along", first.trim(), last.trim())
        }
        None => format!("{ends} at each end all along"),
    }
}

/// How many sections one traverse takes: `all along`, `two-on, 4 at each end all along`.
fn on_and_ends(on: u8, ends: &str) -> String {
    let pattern = pattern_words(on);
    match ends {
        ends if on == 1 || ends == "0" => pattern.to_owned(),
        ends => format!("{pattern}, {}", ends_words(ends)),
    }
}

/// A saved plan: `ledger: 24 sections of 4 sheets of bond 80, linen 25, all along, target rounded`.
pub fn plan_line(plan: &SavedPlan) -> String {
    format!("{}: {}", plan.name, plan_words(plan))
}

/// The same without the name.
pub fn plan_words(plan: &SavedPlan) -> String {
    let whole = plan.words.whole();
    let runs: Vec<String> = plan.words.runs().iter().map(run_words).collect();
    let state = word(whole, "state").map(|text| {
        text.parse().map_or_else(|_| text.to_owned(), |state: State| state.phrase().to_owned())
    });
    let named = |key: &str, noun: &str| word(whole, key).map(|text| format!("{noun} {text}"));
    let ends = word(whole, "ends").map(ends_words);
    let smaller = word(whole, "left_over").and_then(|way| way.parse().ok());
    let smaller = (smaller == Some(LeftOver::Smaller))
        .then(|| "the leaves left over in a smaller section".to_owned());
    let round = word(whole, "round").map(|arc| match arc.trim().parse::<f64>() {
        Ok(_) => format!("rounded to an arc of {arc} degrees"),
        Err(_) => format!("rounded to an arc of {arc}"),
    });
    let hand = word(whole, "hand").map(|hand| match hand.trim() {
        "" => "the hand of the trials without a name".to_owned(),
        hand => format!("hand {hand}"),
    });
    let rest = [
        smaller,
        ends,
        named("guards", "guards"),
        named("fore_edge", "fore-edge"),
        hand,
        state,
        named("target", "target"),
        round,
        named("shoulder", "shoulder"),
    ];
    let parts: Vec<String> =
        [runs.join("; then ")].into_iter().chain(rest.into_iter().flatten()).collect();
    parts.join(", ")
}

fn word<'s>(said: &'s Said, key: &str) -> Option<&'s str> {
    said.iter().find(|(known, _)| *known == key).map(|(_, text)| text.as_str())
}

/// A run as it was described; an invalid number is shown as typed.
fn run_words(run: &Said) -> String {
    let count = |key: &str, noun: &str| word(run, key).map(|text| counted(text, noun));
    let sheets = count("sheets", "sheet").unwrap_or_default();
    let extent =
        match (count("sections", "section"), count("leaves", "leaf"), count("pages", "page")) {
            (Some(sections), ..) => format!("{sections} of {sheets}"),
            (None, Some(leaves), _) => format!("{leaves} in sections of {sheets}"),
            (None, None, pages) => format!("{} in sections of {sheets}", pages.unwrap_or_default()),
        };
    let on = word(run, "on").map_or(Some(1), |text| parse_on(text).ok()).unwrap_or(1);
    let on = on_and_ends(on, word(run, "ends").unwrap_or("0"));
    let is_boned = word(run, "boned").is_some_and(|text| parse_yes_no(text) == Ok(true));
    let named = |keys: [&str; 4]| {
        let sizes: Vec<&str> = keys[1..].iter().filter_map(|key| word(run, key)).collect();
        let sizes =
            if sizes.is_empty() { String::new() } else { format!(" ({})", sizes.join(", ")) };
        format!("{}{sizes}", word(run, keys[0]).unwrap_or_default())
    };
    let (paper, thread) = (
        named(["paper", "caliper", "hardness", ""]),
        named(["thread", "laid", "count", "material"]),
    );
    format!("{extent} of {paper}, {thread}, {on}{}", if is_boned { ", boned" } else { "" })
}

/// `1 leaf`, `24 sections`.
fn counted(text: &str, noun: &str) -> String {
    match (text, noun) {
        ("1", _) => format!("1 {noun}"),
        (_, "leaf") => format!("{text} leaves"),
        _ => format!("{text} {noun}s"),
    }
}

/// Readings: `3 readings of T1, knocked down, at head, middle, tail`.
pub fn readings_line(count: usize, trial: &str, state: State, places: &[&str]) -> String {
    let places = places.join(", ");
    format!("{} of {trial}, {}, at {places}", plural(count, "reading"), state.phrase())
}

/// Readings that could not be written, in the rows that they would have had; `undecided` if it is
/// not known whether they were written.
pub fn unwritten_text(readings: &[Reading], undecided: bool) -> String {
    let what = match undecided {
        false => "the readings were not written",
        true => {
            "these readings may be in the book: check (swellbook audit) before you record them \
             again"
        }
    };
    let cell = |edge: Option<Millimetres>| edge.map(|mm| mm.mm().to_string()).unwrap_or_default();
    let named = |name: &Name| match name.as_str().contains([',', '"']) {
        true => format!("\"{}\"", name.as_str().replace('"', "\"\"")),
        false => name.to_string(),
    };
    let row = |r: &Reading| {
        let (spine, fore_edge) = (cell(r.spine()), cell(r.fore_edge()));
        format!("  {},{},{},{spine},{fore_edge}\n", named(&r.trial), r.state, named(&r.place))
    };
    let rows: String = readings.iter().map(row).collect();
    format!("{what}; they are, as trial,state,place,spine_mm,fore_edge_mm:\n{rows}")
}

/// A struck entry, without its kind.
pub(crate) fn struck_entry_line(struck: &Struck, config: &Config) -> String {
    match &struck.entry {
        StruckEntry::Paper(paper) => paper_line(paper, config),
        StruckEntry::Thread(thread) => thread_line(thread, config),
        StruckEntry::Target(target) => target_line(target),
        StruckEntry::Trial(trial) => trial_line(trial, config),
        StruckEntry::Reading(it) => format!("{}: {}", struck.id, reading_line(it, config)),
        StruckEntry::Row => struck.id.clone(),
    }
}

pub fn struck_line(kind: EntryKind, ids: &[String], reason: &str) -> String {
    let (kind, with) = match (kind, ids.len()) {
        (EntryKind::Trial, 2..) => ("trials", " and their readings"),
        (EntryKind::Trial, _) => ("trial", " and its readings"),
        (kind, _) => (kind.word(), ""),
    };
    let ids = ids.join(", ");
    format!("struck {kind} {ids}{with}: {reason} (still readable in struck.csv")
}

/// A reading: `spine 8.81 mm, fore-edge 8.67 mm at head`.
pub fn reading_line(reading: &Reading, config: &Config) -> String {
    let edge = |edge: Edge| Some(format!("{edge} {}", length(reading.edge(edge)?, config)));
    let edges: Vec<String> = Edge::ALL.into_iter().filter_map(edge).collect();
    format!("{} at {}", edges.join(", "), reading.place)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn readings_that_may_be_written_are_not_called_unwritten() {
        let (trial, place) = ("T1, \"a\"".parse().unwrap(), "head".parse().unwrap());
        let [spine, fore_edge] = [11.0, 8.0].map(Millimetres::new);
        let reading = Reading::new(trial, State::Sewn, place, spine, fore_edge).unwrap();
        let text = |undecided| unwritten_text(std::slice::from_ref(&reading), undecided);
        assert!(text(false).starts_with("the readings were not written; "));
        assert!(
            text(true).starts_with("these readings may be in the book: check (swellbook audit)")
        );
        for text in [text(false), text(true)] {
            assert!(
                text.ends_with("fore_edge_mm:\n  \"T1, \"\"a\"\"\",sewn,head,11,8\n"),
                "{text}"
            );
        }
    }

    #[test]
    fn a_sewing_is_said_in_the_words_of_the_trade() {
        let sewing = |on, ends| Sewing::new(24, 4, on, ends).unwrap();
        let phrase = |sewing: Sewing| on_and_ends(sewing.on(), &sewing.ends_text());
        assert_eq!(phrase(sewing(1, 0)), "all along");
        assert_eq!(phrase(sewing(2, 4)), "two-on, 4 at each end all along");
        assert_eq!(phrase(sewing(3, 0)), "three-on");
        let uneven = phrase(sewing(2, 0).with_ends(3, 4).unwrap());
        assert_eq!(uneven, "two-on, the first 3 and the last 4 all along");
        assert_eq!(sewing_phrase(Sewing::new(1, 1, 1, 0).unwrap()), "1 section of 1 sheet");
    }
}
