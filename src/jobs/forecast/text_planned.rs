//! Words about a plan itself: its leaves, its repairs, the geometry of its spine.

use super::answer::{Divided, Forecast};
use crate::book::Config;
use crate::terminal::number::{gauged_length, plural};
use crate::trade::LeftOver;

/// Where a sentence is read: it names options at the terminal, and fields on a page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    Terminal,
    Page,
}

/// What was done with leaves left over, and what else could be.
pub(crate) fn divided_line(divided: &Divided) -> String {
    divided_words(divided, Place::Terminal)
}

/// The same, worded for a terminal or a page.
pub(crate) fn divided_words(divided: &Divided, place: Place) -> String {
    let option = |word: &str| match place {
        Place::Terminal => format!(" (--left-over {word})"),
        Place::Page => String::new(),
    };
    let division = divided.division;
    let (sections, blanks) = division.with_blanks();
    let each = plural(division.sheets().into(), "sheet");
    let blank =
        format!("{} of {each} with {}", plural(sections as usize, "section"), leaves(blanks));
    let make = match division.leaves() {
        1 => "1 leaf makes".to_owned(),
        count => format!("{count} leaves make"),
    };
    match (smaller_words(divided), divided.way) {
        (None, _) => format!("{make} {blank}."),
        (Some(smaller), LeftOver::Blank) => {
            format!("{make} {blank}; or {smaller}{}.", option("smaller"))
        }
        (Some(smaller), LeftOver::Smaller) => {
            format!("{make} {smaller}; or {blank}{}.", option("blank"))
        }
    }
}

fn smaller_words(divided: &Divided) -> Option<String> {
    let division = divided.division;
    let (sheets, blank) = division.smaller_section()?;
    let small = plural(sheets.into(), "sheet");
    let blank = if blank > 0 { format!(", with {}", leaves(blank)) } else { String::new() };
    Some(match division.full_sections() {
        0 => format!("one section of {small}{blank}"),
        full => format!(
            "{} of {} and one of {small}{blank}",
            plural(full as usize, "section"),
            plural(division.sheets().into(), "sheet")
        ),
    })
}

fn leaves(blank: u32) -> String {
    if blank == 1 { "1 blank leaf".to_owned() } else { format!("{blank} blank leaves") }
}

/// What repairs at the fold add; `None` without repairs.
pub(crate) fn guards_line(forecast: &Forecast, config: &Config) -> Option<String> {
    let guards = forecast.plan.guards_mm;
    let unit = config.unit;
    let percent = 100.0 * guards / forecast.fore_edge.mean;
    (guards > 0.0).then(|| {
        format!(
            "Repairs at the fold add {} {unit} of this, {percent:.0} % of the fore-edge.",
            gauged_length(guards, 0.0, config)
        )
    })
}

pub(crate) fn geometry_line(forecast: &Forecast, config: &Config) -> Option<String> {
    let wanted = forecast.geometry?;
    let unit = config.unit;
    let width = 4.0 * forecast.fore_edge.sd;
    let length = |mm: f64| gauged_length(mm, width, config);
    let shoulders = if wanted.shoulder_mm > 0.0 {
        format!("shoulders of {} {unit}", gauged_length(wanted.shoulder_mm, 0.0, config))
    } else {
        "no shoulders".to_owned()
    };
    Some(format!(
        "By geometry a spine rounded to {}\u{b0} with {shoulders} needs {:.0} % ({} {unit} on {} \
         {unit}): an approximation, because no spine is a perfect arc.",
        wanted.round_degrees,
        wanted.swell_percent,
        length(wanted.swell_mm),
        length(forecast.fore_edge.mean)
    ))
}
