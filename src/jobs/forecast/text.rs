//! What `predict` shows.

use super::answer::{Forecast, NominalForecast};
use super::answer_advice::{Advice, Remedy, whole_percents};
use super::text_beyond::beyond_line;
use super::text_leaning::leaning_line;
use super::text_picture::forecast_picture;
use super::text_planned::{Place, divided_line, geometry_line, guards_line};
use crate::book::Config;
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::beliefs::text_grounds::untried_line;
use crate::jobs::plan_spec::text::{band_words, plan_line};
use crate::model::Source;
use crate::model::mixed::Summary;
use crate::terminal::number::{gauged_length, plural};
use crate::terminal::odds::{a_chance, chance_in_figures};
use crate::terminal::screen::Screen;
use crate::terminal::words::{listed, percent_range, wrapped};

/// The forecast as sentences: the odds first, then the swell, then what it is based on.
pub fn forecast_text(forecast: &Forecast, config: &Config, screen: Screen) -> String {
    let width = screen.width;
    let mut lines = vec![wrapped(&plan_line(&forecast.plan), width)];
    lines.extend(forecast.divided.iter().map(|one| wrapped(&divided_line(one), width)));
    lines.push(String::new());
    lines.extend(target_line(forecast).map(|line| wrapped(&line, width)));
    lines.extend(geometry_line(forecast, config).map(|line| wrapped(&line, width)));
    lines.push(wrapped(&swell_line(forecast, config), width));
    lines.extend(forecast_picture(forecast, screen));
    let mut basis: Vec<String> = guards_line(forecast, config).into_iter().collect();
    basis.extend([fore_edge_line(forecast, config), nominal_line(forecast, config)]);
    basis.extend(forecast.leaning.as_ref().map(|it| leaning_line(it, &forecast.grounds)));
    lines.push(wrapped(&basis.join(" "), width));
    lines.extend(beyond_words(forecast, config).map(|line| wrapped(&line, width)));
    lines.push(String::new());
    let source = source_line(forecast.trials_used, &forecast.grounds);
    let budget = budget_line(forecast);
    if is_advised(forecast) {
        lines.push(wrapped(&format!("{budget} {source}"), width));
    } else {
        let advice = advice_line(&forecast.advice, forecast.trials_used, Place::Terminal);
        lines.push(wrapped(&budget, width));
        lines.push(wrapped(&format!("{advice} {source}"), width));
    }
    lines.join("\n")
}

/// Whether the text already names a trial block that tells more about the book than a block of its
/// paper or thread alone.
fn is_advised(forecast: &Forecast) -> bool {
    let is_block = match forecast.advice.remedy {
        Remedy::TryPaper { .. } | Remedy::TryThread(_) | Remedy::TryHand => true,
        Remedy::NameHand | Remedy::MeasureForeEdge | Remedy::MeasureOnTheWay => false,
    };
    is_block && !forecast.beyond.closing.is_empty()
}

fn target_line(forecast: &Forecast) -> Option<String> {
    let (band, chance) = (forecast.target.as_ref()?, forecast.chance?);
    Some(format!(
        "Target {}: {} chance of meeting it.",
        band_words(band),
        chance_in_figures(chance)
    ))
}

pub(crate) fn swell_line(forecast: &Forecast, config: &Config) -> String {
    format!("Swell: {}.", swell_words(forecast, config))
}

/// The swell and its range, in per cent and in the book's unit.
pub(crate) fn swell_words(forecast: &Forecast, config: &Config) -> String {
    let unit = config.unit;
    let Summary { q05, q50, q95, .. } = forecast.swell;
    let length = |value| gauged_length(value, q95 - q05, config);
    let (centre, range) = percent_range(forecast.percent.each());
    format!(
        "{centre} % of the fore-edge, 90 % range {range} %; that is {} {unit}, range {} to {} \
         {unit}",
        length(q50),
        length(q05),
        length(q95)
    )
}

pub(crate) fn fore_edge_line(forecast: &Forecast, config: &Config) -> String {
    let unit = config.unit;
    let edge = forecast.fore_edge;
    let sd = gauged_length(edge.sd, 4.0 * edge.sd, config);
    let mean = gauged_length(edge.mean, 4.0 * edge.sd, config);
    let how = if forecast.plan.fore_edge.is_some() { "as measured" } else { "predicted" };
    format!("Fore-edge: {mean} {unit}, give or take {sd} {unit} ({how}).")
}

pub(crate) fn nominal_line(forecast: &Forecast, config: &Config) -> String {
    let unit = config.unit;
    let NominalForecast { swell_mm, percent, chance } = forecast.nominal;
    let width = forecast.swell.q95 - forecast.swell.q05;
    let odds = chance
        .map_or(String::new(), |chance| format!(", {} of meeting the target", a_chance(chance)));
    let length = gauged_length(swell_mm, width, config);
    format!("Nominal figures alone give {:.0} % ({length} {unit}){odds}.", percent.q50)
}

pub(crate) fn beyond_words(forecast: &Forecast, config: &Config) -> Option<String> {
    beyond_line("This book", &forecast.beyond, config.unit)
}

/// What makes it uncertain, in one sentence: the whole answer should fit in a terminal of 24 lines.
fn budget_line(forecast: &Forecast) -> String {
    let said = |(words, percent): (&str, f64)| match percent < 0.0 {
        true => format!("less {:.0} % because {words}", -percent),
        false => format!("{words} {percent:.0} %"),
    };
    let said: Vec<String> = budget_parts(forecast).into_iter().map(said).collect();
    format!("What makes this uncertain: {}.", said.join(", "))
}

/// The largest sources of uncertainty in whole per cents of the variance, and what the others add
/// up to. The sum is always 100; what the others add may be negative.
pub(crate) fn budget_parts(forecast: &Forecast) -> Vec<(&'static str, f64)> {
    /// At most this many sources are named.
    const MOST: usize = 4;
    let percents = whole_percents(&forecast.budget);
    let counted = percents.iter().take(MOST).take_while(|(_, percent)| *percent > 0.0).count();
    let (named, others) = percents.split_at(counted);
    let rest: f64 = others.iter().map(|(_, percent)| percent).sum();
    let words = if rest < 0.0 { "they partly offset each other" } else { "the rest" };
    let named = named.iter().map(|&(source, percent)| (source_words(source), percent));
    named.chain((rest != 0.0).then_some((words, rest))).collect()
}

fn source_words(source: Source) -> &'static str {
    match source {
        Source::Coefficients => "what all papers share (hardness, depth, length, hammer, boning)",
        Source::Paper => "this paper",
        Source::Thread => "this thread",
        Source::Hand => "this hand",
        Source::Sewing => "variation between sewings",
        Source::Stage => "variation between measurements of one block",
        Source::Knocking => "variation in knocking down",
        Source::Fold => "the fold without thread",
        Source::ForeEdge => "the thickness of the fore-edge",
    }
}

/// What narrows the range; `None` if a trial block that tells more is already named.
pub(crate) fn advice_words(forecast: &Forecast) -> Option<String> {
    let advice = || advice_line(&forecast.advice, forecast.trials_used, Place::Page);
    (!is_advised(forecast)).then(advice)
}

fn advice_line(advice: &Advice, trials: usize, place: Place) -> String {
    let share = format!("{:.0} %", advice.percent);
    let addressed = format!("That addresses {share} of the uncertainty.");
    let todo = match &advice.remedy {
        Remedy::TryPaper { papers, is_first } => {
            let sew = format!("sew {}", blocks_of(papers, *is_first));
            if trials == 0 {
                return format!("To narrow the range, {sew}. So far all of this is belief.");
            }
            sew
        }
        Remedy::TryThread(threads) => match &threads[..] {
            [one] => format!("sew a trial block with {one}"),
            several => format!("sew a trial block each with {}", listed(several)),
        },
        Remedy::NameHand => {
            let name = match place {
                Place::Terminal => "say who sews with --hand",
                Place::Page => "name the hand under Try a change",
            };
            format!("{name}, or let a new hand sew a trial block first")
        }
        Remedy::TryHand => "let the hand of this book sew another trial block".to_owned(),
        Remedy::MeasureForeEdge => {
            let to = match place {
                Place::Terminal => "give it with --fore-edge",
                Place::Page => "type it under Try a change",
            };
            format!("fold and press the sections, measure their fore-edge and {to}")
        }
        Remedy::MeasureOnTheWay => {
            let ask = match place {
                Place::Terminal => " and ask 'swellbook midway'",
                Place::Page => "",
            };
            return format!(
                "To narrow the range, measure part-way through the sewing{ask}: {share} of the \
                 uncertainty is variation between sewings and measurements, which more trials \
                 cannot reduce."
            );
        }
    };
    format!("To narrow the range, {todo}. {addressed}")
}

fn blocks_of(papers: &[String], is_first: bool) -> String {
    match papers {
        [one] if is_first => format!("a first trial block of {one}"),
        [one] => format!("another trial block of {one}"),
        several => format!("a trial block each of {}", listed(several)),
    }
}

/// What the answer is based on: the number of trials or, without any, the starting beliefs.
pub(crate) fn source_line(trials: usize, grounds: &Grounds) -> String {
    match trials {
        0 => untried_line(grounds),
        trials => format!("Based on {}.", plural(trials, "trial")),
    }
}
