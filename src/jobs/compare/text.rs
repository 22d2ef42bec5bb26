//! What `fit --compare` shows.

use super::answer::{Compared, ComparedWay, WayScore};
use super::answer_doubtful::{Doubtful, FaultyReading, What};
use super::answer_refit::Leaving;
use super::text_standing::{DENSITY_DECIMALS, sample, standing, way_words};
use crate::model::compare::{Difference, Proportion, Way};
use crate::terminal::number::{decimals_for_width, plural, ranged_length, rounded, signed};
use crate::terminal::odds::chance_in_figures;
use crate::terminal::table::{Align, Table};
use crate::terminal::words::{capital, hanging, paragraphs, wrapped};
use crate::units::LengthUnit;

/// The comparison: the answer first, then the tables, then the implausible trials.
pub fn compared_text(compared: &Compared, unit: LengthUnit, width: usize) -> String {
    let mut blocks = vec![wrapped(&answer(compared, unit), width)];
    blocks.push(wrapped(&standing(compared, unit), width));
    blocks.extend(tables(compared, unit, width));
    blocks.push(wrapped(LEGEND, width));
    if compared.leaving == Leaving::Trial {
        blocks.push(doubts(compared, unit, width));
    }
    blocks.push(wrapped(&source(compared), width));
    blocks.retain(|block| !block.is_empty());
    paragraphs(&blocks)
}

const LEGEND: &str = "miss: how far predictions were from the measured swell, on average; points: \
    the same in percentage points of swell. held: how often the 90 % range held the measured swell, \
    and the 95 % range of the true share. density: log predictive density (higher is better); \
    vs yours: its difference from your own fit, give or take the standard error.";

fn way_label(way: Way) -> &'static str {
    match way {
        Way::Own => "own fit",
        Way::Nominal => "nominal",
        Way::OneLine => "one line",
        Way::LinePerPaper => "line per paper",
        Way::SharePerPaper => "share per paper",
    }
}

pub(crate) fn answer(compared: &Compared, unit: LengthUnit) -> String {
    let part = |way| way_answer(way, compared.leaving, unit);
    let parts: Vec<String> = compared.ways.iter().map(part).collect();
    let held = compared.ways.iter().find_map(|way| way.score.filter(|_| way.way == Way::Own));
    let held = held.map_or(String::new(), |own| {
        let Proportion { count, of, .. } = own.score.held;
        format!(" The 90 % ranges of your own fit held {count} of {of}.")
    });
    format!("{}.{held}", capital(&parts.join("; ")))
}

fn way_answer(compared: &ComparedWay, leaving: Leaving, unit: LengthUnit) -> String {
    let name = way_words(compared.way);
    let Some(WayScore { score, .. }) = compared.score else {
        return match (compared.way, leaving) {
            (Way::LinePerPaper, Leaving::Paper) => format!("{name} needs trials of the paper"),
            (Way::SharePerPaper, _) => {
                format!("{name} has no range because there are not enough trials")
            }
            (_, _) => format!("{name} could not be drawn because there are not enough trials"),
        };
    };
    let miss = ranged_length(score.mean_miss_mm, score.mean_miss_mm, unit);
    let points = points(score.mean_miss_percent);
    let verb = if compared.way == Way::Nominal { "miss" } else { "misses" };
    let only = match compared.unavailable {
        0 => String::new(),
        none => format!(
            ", on {} of {}: not enough trials for the others",
            score.predictions,
            score.predictions + none
        ),
    };
    let words = if compared.way == Way::Own { " on average" } else { "" };
    let unit_words = if compared.way == Way::Own { " percentage points of swell" } else { "" };
    format!("{name} {verb} by {miss} {unit}{words} ({points}{unit_words}{only})")
}

fn points(percent: f64) -> String {
    rounded(percent, decimals_for_width(percent).min(1))
}

/// One table if every way could predict everything. Otherwise one for what all could predict, and
/// one for each way on its own.
fn tables(compared: &Compared, unit: LengthUnit, width: usize) -> Vec<String> {
    let own: Vec<WayScore> = compared.ways.iter().filter_map(|way| way.score).collect();
    let complete = compared.ways.iter().all(|way| way.score.is_none() || way.unavailable == 0);
    if complete {
        return vec![table(&own, unit, width)];
    }
    let names = compared.common.iter().map(|way| way_words(way.way)).collect::<Vec<_>>().join(", ");
    let shared = compared.common.first().map_or_else(
        || "No observation could be predicted by all of them.".to_owned(),
        |first| {
            let count = plural(first.score.predictions, "observation");
            let title = format!(
                "All on the same {count} of {} ({names}):",
                plural(first.score.trials, "trial")
            );
            let table = table(&compared.common, unit, width);
            format!("{}\n{table}", wrapped(&title, width))
        },
    );
    let each = wrapped("Each on everything that it could predict:", width);
    vec![shared, format!("{each}\n{}", table(&own, unit, width))]
}

fn table(scores: &[WayScore], unit: LengthUnit, width: usize) -> String {
    let miss = format!("miss, {unit}");
    let mut table = Table::new(&[
        ("", Align::Left),
        (&miss, Align::Right),
        ("points", Align::Right),
        ("held", Align::Right),
        ("95 % range", Align::Left),
        ("density", Align::Right),
        ("vs yours", Align::Left),
    ]);
    let least = scores.iter().map(|way| way.score.mean_miss_mm).fold(f64::INFINITY, f64::min);
    for WayScore { way, score, against_own, .. } in scores {
        let Proportion { count, of, low, high, .. } = score.held;
        table.row([
            way_label(*way).to_owned(),
            ranged_length(score.mean_miss_mm, least, unit),
            points(score.mean_miss_percent),
            format!("{count} of {of}"),
            share_range(low, high),
            rounded(score.log_density, DENSITY_DECIMALS),
            if *way == Way::Own { String::new() } else { against(against_own) },
        ]);
    }
    // The sentences above say where the densities differ.
    table.sparing(&["density", "vs yours"], width).render(width)
}

/// Limits of a share in whole per cent; `over 99 %` if both would be 100.
fn share_range(low: f64, high: f64) -> String {
    if low > 0.995 {
        return chance_in_figures(low);
    }
    format!("{:.0} to {:.0} %", 100.0 * low, 100.0 * high)
}

fn against(difference: &Difference) -> String {
    let mean = signed(rounded(difference.mean, DENSITY_DECIMALS));
    match difference.standard_error {
        Some(error) => format!("{mean} \u{b1} {}", rounded(error, DENSITY_DECIMALS)),
        None => mean,
    }
}

fn doubts(compared: &Compared, unit: LengthUnit, width: usize) -> String {
    if compared.doubtful.is_empty() {
        return wrapped("No trial is out of line with the others.", width);
    }
    let mut lines = vec!["Out of line with the others:".to_owned()];
    for doubtful in &compared.doubtful {
        let sentence = format!("  {}", doubt(doubtful, compared.trials, unit));
        lines.push(hanging(&sentence, width, 4));
    }
    lines.join("\n")
}

pub(crate) fn doubt(doubtful: &Doubtful, trials: usize, unit: LengthUnit) -> String {
    let length = |mm: f64| ranged_length(mm, 4.0 * doubtful.sd_mm, unit);
    let (observed, expected) = (length(doubtful.observed_mm), length(doubtful.expected_mm));
    let found = match doubtful.what {
        What::Swell(state) => format!("its swell {} is {observed} {unit}", state.phrase()),
        What::Change(from, to) => format!(
            "its swell changes by {observed} {unit} from {} to {}",
            from.phrase(),
            to.phrase()
        ),
    };
    let fault = match &doubtful.reading {
        Some(reading) => reading_words(reading, unit),
        None => "No single reading stands out: check its paper, thread, sections, sheets and \
                 sewing, and whether its states were exchanged."
            .to_owned(),
    };
    format!(
        "{}: {found}, but the others predict {expected}, give or take {} (the worst of {trials} \
         sound trials is this far out with a chance of {}). {fault}",
        doubtful.trial,
        length(doubtful.sd_mm),
        chance_in_figures(doubtful.chance)
    )
}

fn reading_words(reading: &FaultyReading, unit: LengthUnit) -> String {
    let FaultyReading { id, state, place, edge, value_mm, fits_mm } = reading;
    let fits = ranged_length(*fits_mm, 1.0, unit);
    let value = ranged_length(*value_mm, 0.1, unit);
    format!(
        "Most likely at fault: the {edge} of {value} {unit} at place {place}, {}; about {fits} \
         {unit} would fit. Look at it again; if it is wrong, strike reading {id}.",
        state.phrase()
    )
}

fn source(compared: &Compared) -> String {
    let each = match compared.leaving {
        Leaving::Trial => compared.trials,
        Leaving::Paper => compared.papers,
    };
    let how = if compared.refits == each {
        "each left out in turn and predicted by a fit of the others".to_owned()
    } else {
        format!("left out in {} parts and predicted by a fit of the others", compared.refits)
    };
    let observations = plural(compared.observations, "observation");
    let held = match compared.leaving {
        Leaving::Trial => observations,
        Leaving::Paper => format!("{}, {observations}", plural(compared.trials, "trial")),
    };
    format!("{} ({held}), {how}.", sample(compared))
}
