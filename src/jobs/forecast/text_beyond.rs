//! Words for a plan that goes beyond the trials.

use super::answer_beyond::{Beyond, ClosingBlock, Gap};
use crate::jobs::plan_spec::text::pattern_words;
use crate::terminal::number::{plural, ranged_length, rounded};
use crate::terminal::words::listed;
use crate::units::LengthUnit;

/// More rows than this are counted and not named.
const NAMED_ROWS: usize = 8;

/// How one book goes beyond the trials and what would close the gaps, in one sentence each; `None`
/// if it does not.
pub(crate) fn beyond_line(subject: &str, beyond: &Beyond, unit: LengthUnit) -> Option<String> {
    let gaps: Vec<String> = beyond.gaps.iter().map(|gap| gap_words(gap, unit)).collect();
    let remedy = remedy_words("To find out", beyond)?;
    (!gaps.is_empty())
        .then(|| format!("{subject} goes beyond your trials: {}. {remedy}", gaps.join("; ")))
}

/// How the rows of a table go beyond the trials, and what would close the gaps of the first such
/// row.
pub(crate) fn beyond_rows_line(rows: &[&Beyond]) -> Option<String> {
    let mut groups: Vec<(String, Vec<usize>)> = Vec::new();
    for (row, gap) in (1..).zip(rows).flat_map(|(row, it)| it.gaps.iter().map(move |g| (row, g))) {
        let words = limit_words(gap);
        match groups.iter_mut().find(|group| group.0 == words) {
            Some(group) => group.1.push(row),
            None => groups.push((words, vec![row])),
        }
    }
    let first = rows.iter().position(|beyond| !beyond.gaps.is_empty())?;
    let said: Vec<String> = groups
        .iter()
        .map(|(words, at)| format!("{words} ({})", rows_words(at, rows.len())))
        .collect();
    let question = format!("To find out about row {}", first + 1);
    let remedy = remedy_words(&question, rows[first])?;
    Some(format!("Beyond your trials: {}. {remedy}", said.join("; ")))
}

/// `rows 1, 4 and 7`.
fn rows_words(rows: &[usize], all: usize) -> String {
    let named: Vec<String> = rows.iter().map(ToString::to_string).collect();
    match &named[..] {
        [only] => format!("row {only}"),
        _ if rows.len() == all => "every row".to_owned(),
        few if few.len() <= NAMED_ROWS => format!("rows {}", listed(few)),
        _ => format!("{} rows", rows.len()),
    }
}

/// `0.37 to 0.55`, or `0.47` if both ends are the same.
fn span_words(low: String, high: String) -> String {
    if low == high { low } else { format!("{low} to {high}") }
}

fn gap_words(gap: &Gap, unit: LengthUnit) -> String {
    /// Shows diameters with two digits.
    const STEP_MM: f64 = 0.1;
    match gap {
        Gap::Sections { planned, sewn: (least, most) } => {
            let (which, sewn) =
                if planned > most { ("longest", most) } else { ("shortest", least) };
            let planned = plural(*planned as usize, "section");
            format!("{planned} (your {which} trial block has {sewn})")
        }
        Gap::Thread { name, planned_mm, sewn_mm } => {
            let length = |mm| ranged_length(mm, STEP_MM, unit);
            format!(
                "thread {name}, {} {unit} thick (never tried; you tried {} {unit})",
                length(*planned_mm),
                span_words(length(sewn_mm.0), length(sewn_mm.1))
            )
        }
        Gap::Depth { planned, sewn } => {
            let times = |depth| rounded(depth, 1);
            format!(
                "sections {} times as deep as the thread is thick (you tried {})",
                times(*planned),
                span_words(times(sewn.0), times(sewn.1))
            )
        }
        Gap::Sewing { .. } | Gap::Hardness { .. } | Gap::Boned(_) => {
            format!("{} (never tried)", kind_words(gap))
        }
        Gap::State(_) => format!("{} (never measured)", kind_words(gap)),
    }
}

/// A gap by the limit that it passes, so that rows passing the same limit are named together.
fn limit_words(gap: &Gap) -> String {
    match gap {
        Gap::Sections { planned, sewn } if *planned > sewn.1 => {
            format!("over twice the sections of your longest trial block, {}", sewn.1)
        }
        Gap::Sections { sewn, .. } => {
            format!("under half the sections of your shortest trial block, {}", sewn.0)
        }
        Gap::Depth { planned, sewn } if *planned > sewn.1 => {
            "sections far deeper than any you tried".to_owned()
        }
        Gap::Depth { .. } => "sections far shallower than any you tried".to_owned(),
        Gap::Thread { .. } | Gap::Sewing { .. } | Gap::Hardness { .. } | Gap::Boned(_) => {
            format!("{}, never tried", kind_words(gap))
        }
        Gap::State(_) => format!("{}, never measured", kind_words(gap)),
    }
}

fn kind_words(gap: &Gap) -> String {
    match gap {
        Gap::Thread { name, .. } => format!("thread {name}"),
        Gap::Sewing { planned, .. } => format!("sewing {}", pattern_words(*planned)),
        Gap::Hardness { planned, .. } => format!("{planned} paper"),
        Gap::Boned(boned) => boned_words(*boned).to_owned(),
        Gap::State(state) => format!("swell {}", state.phrase()),
        Gap::Sections { .. } | Gap::Depth { .. } => gap.name().to_owned(),
    }
}

fn boned_words(boned: bool) -> &'static str {
    if boned { "boned folds" } else { "folds not boned" }
}

/// What to do, after the reason `why`; `None` if nothing closes a gap.
fn remedy_words(why: &str, beyond: &Beyond) -> Option<String> {
    let again = beyond.again_at.map(|at| format!("measure again when {at} sections are sewn"));
    let blocks: Vec<String> = beyond.closing.iter().map(block_words).collect();
    let sew = (!blocks.is_empty()).then(|| format!("sew {}", blocks.join(" and ")));
    let deeds: Vec<String> = again.into_iter().chain(sew).collect();
    (!deeds.is_empty()).then(|| format!("{why}, {}.", deeds.join(", and ")))
}

/// `one trial block of 20 to 24 sections, sewn two-on`.
fn block_words(block: &ClosingBlock) -> String {
    let sections = block.sections.map(|(least, most)| {
        format!("of {} sections", span_words(least.to_string(), most.to_string()))
    });
    let parts = [
        sections,
        block.sheets.map(|sheets| match sheets {
            1 => "with 1 sheet to the section".to_owned(),
            sheets => format!("with {sheets} sheets to the section"),
        }),
        block.paper.as_ref().map(|paper| format!("of {paper}")),
        block.thread.as_ref().map(|thread| format!("with {thread}")),
        block.on.map(|on| format!("sewn {}", pattern_words(on))),
        block.boned.map(|boned| format!("with {}", boned_words(boned))),
        block.state.map(|state| format!("measured {}", state.phrase())),
    ];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    format!("one trial block {}", parts.join(", "))
}
