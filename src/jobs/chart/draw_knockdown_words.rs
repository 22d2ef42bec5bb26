//! The title, caption and figures of `knockdown`.

use super::answer_knockdown::{KnockdownView, Measure, TakenOut};
use crate::terminal::number::rounded;

/// The amount taken out, as text.
pub(crate) fn figure(value: f64, measure: Measure) -> String {
    let decimals = match measure {
        Measure::Factor => 2,
        Measure::Percent => 1,
    };
    rounded(value, decimals).replace('-', "−")
}

pub(crate) fn title(view: &KnockdownView) -> String {
    let Some([(least, low), (most, high)]) = view.ends() else {
        let is_empty = view.papers.is_empty();
        let words = if is_empty { "measured" } else { "knocked down" };
        return format!("No block has been {words} yet");
    };
    let of = match view.measure {
        Measure::Factor => "of the thread's diameter",
        Measure::Percent => "percentage points of swell",
    };
    let [small, large] = [low, high].map(|taken| figure(taken.middle, view.measure));
    let is_apart = low.range.zip(high.range).is_some_and(|(low, high)| low.1 < high.0);
    if view.blocks().nth(1).is_none() {
        format!("One block so far, of {}: knocking down took about {small} {of}", least.paper)
    } else if least.paper == most.paper {
        format!("Knocking down takes about {small} {of} out of {}", least.paper)
    } else if is_apart {
        format!(
            "Knocking down takes more out of {} ({large}) than out of {} ({small})",
            most.paper, least.paper
        )
    } else if small == large {
        format!("Knocking down takes about {small} {of} out of every paper")
    } else {
        format!("Knocking down takes out {small} to {large} {of}")
    }
}

pub(crate) fn caption(view: &KnockdownView) -> String {
    if view.papers.is_empty() {
        return "No block has been measured with thread in it yet.".to_owned();
    }
    let mut sentences = vec![taken_out(view)];
    sentences.extend(view.boned.map(|boned| {
        let out = TakenOut { middle: -boned.q50, range: Some((-boned.q95, -boned.q05)) };
        format!("Boning takes out {}.", taken(out, view.measure))
    }));
    let has_ranges = view.boned.is_some()
        || view.ends().is_some_and(|ends| ends.iter().any(|(_, taken)| taken.range.is_some()));
    sentences.extend(match view.measure {
        Measure::Factor => has_ranges.then(|| "In brackets: 90 % ranges.".to_owned()),
        Measure::Percent => Some(
            "This depends on thread and folding too, so it does not compare papers.".to_owned(),
        ),
    });
    sentences.extend(view.is_long().then(|| {
        match view.measure {
        Measure::Factor => {
            "With so many blocks, those of a paper share a row; blocks outside the pale range are \
             named where there is room."
        }
        Measure::Percent => "With so many blocks, those of a paper share a row.",
    }.to_owned()
    }));
    sentences.join(" ")
}

fn taken_out(view: &KnockdownView) -> String {
    let measure = view.measure;
    let unit = match measure {
        Measure::Factor => "of the thread's laid diameter",
        Measure::Percent => "percentage points of swell on average",
    };
    match view.ends() {
        None => "No block has been measured after knocking down yet.".to_owned(),
        Some([(least, low), (most, high)])
            if least.paper != most.paper
                && figure(low.middle, measure) == figure(high.middle, measure) =>
        {
            format!(
                "Knocking down took as much out of every paper: {} {unit} out of {}, {} out of {}.",
                taken(low, measure),
                least.paper,
                taken(high, measure),
                most.paper
            )
        }
        Some([(least, low), (most, high)]) if least.paper != most.paper => format!(
            "Knocking down took the least out of {}, {} {unit}, and the most out of {}, {}.",
            least.paper,
            taken(low, measure),
            most.paper,
            taken(high, measure)
        ),
        Some([(paper, out), _]) => {
            format!("Knocking down took {} {unit} out of {}.", taken(out, measure), paper.paper)
        }
    }
}

fn taken(out: TakenOut, measure: Measure) -> String {
    let range = out.range.map_or_else(String::new, |(low, high)| {
        let [low, high] = [low, high].map(|end| figure(end, measure));
        format!(" ({low} to {high})")
    });
    format!("{}{range}", figure(out.middle, measure))
}
