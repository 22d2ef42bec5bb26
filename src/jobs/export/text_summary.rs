//! What a summary holds and what it does not, in words.

use crate::book::{SummaryFile, SummaryRepeatability};
use crate::terminal::number::{counted, rounded};
use crate::terminal::words::hanging;

const NOT_IN_IT: &str = "names of papers, threads, trials or hands; notes; dates; titles; single \
    readings";
/// Decimals of a repeatability in mm.
const DECIMALS: usize = 3;

pub(crate) fn wrote(file: &SummaryFile) -> String {
    let counts = &file.counts;
    let (trials, papers) = (counted(counts.trials, "trial"), counted(counts.papers, "paper"));
    format!("wrote what {trials} on {papers} showed, as numbers of the model")
}

pub(crate) const WITHOUT_NAMES: &str = "note: it has no names of papers, threads, trials or \
    hands, and no notes, dates, titles or single readings";

/// The whole summary in words, before it is written.
pub(crate) fn summary_words(file: &SummaryFile, text: &str, width: usize) -> String {
    let SummaryRepeatability { sd_mm, .. } = file.repeatability;
    let counts = &file.counts;
    let (hardness, state) = (counts.by_hardness, counts.by_state);
    let papers = [(hardness.hard, "hard"), (hardness.medium, "medium"), (hardness.soft, "soft")];
    let states = [
        (state.unsewn, "unsewn"),
        (state.sewn, "as sewn"),
        (state.pressed, "pressed"),
        (state.knocked, "knocked down"),
        (state.knocked_pressed, "knocked down and pressed"),
    ];
    let (trials, papers_in_all) =
        (counted(counts.trials, "trial"), counted(counts.papers, "paper"));
    let (threads, rows) =
        (counted(counts.threads, "thread"), counted(counts.observations, "observation"));
    let diagonal = file.information.iter().map(|row| row.last() != Some(&0.0));
    let of_coefficients = said(&file.coefficients, diagonal);
    let tables = file.log_likelihood.iter().map(|row| row.iter().any(|&value| value != 0.0));
    let of_spreads = said(&file.spreads, tables);
    let lines = [
        format!(
            "{trials} on {papers_in_all} with {threads}; {rows} (a state measured at both edges)"
        ),
        format!("trials by hardness of the paper: {}", parts(&papers)),
        format!("observations by state: {}", parts(&states)),
        format!("one reading repeats to {} mm (standard deviation)", rounded(sd_mm, DECIMALS)),
        format!("how much of the thread shows: {of_coefficients}"),
        format!("how much sewings, papers and threads differ: {of_spreads}"),
    ];
    let mut words = "The summary says:\n".to_owned();
    lines.iter().for_each(|line| words += &item(line, width));
    words += "It does not say:\n";
    words += &item(NOT_IN_IT, width);
    words + "The file itself:\n" + text
}

pub(crate) const ONLY_SHOWN: &str = "nothing was written; to write it, leave out --show";

fn item(line: &str, width: usize) -> String {
    format!("{}\n", hanging(&format!("  - {line}"), width, 4))
}

fn parts(counts: &[(u64, &str)]) -> String {
    let some = counts.iter().filter(|(count, _)| *count > 0);
    some.map(|(count, what)| format!("{count} {what}")).collect::<Vec<_>>().join(", ")
}

/// Lists the names with numbers, and those without.
fn said(names: &[String], says: impl Iterator<Item = bool>) -> String {
    let (some, none): (Vec<_>, Vec<_>) = names.iter().zip(says).partition(|each| each.1);
    let listed = |names: Vec<(&String, bool)>| {
        names.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>().join(", ")
    };
    match (some.is_empty(), none.is_empty()) {
        (true, _) => format!("nothing on {}", listed(none)),
        (_, true) => format!("numbers on {}", listed(some)),
        _ => format!("numbers on {}; nothing on {}", listed(some), listed(none)),
    }
}
