//! What `predict` shows.

use super::answer::{Forecast, NominalForecast};
use super::answer_advice::{Advice, Remedy};
use super::answer_percent::PercentRange;
use super::text_beyond::beyond_line;
use super::text_leaning::leaning_line;
use super::text_picture::forecast_picture;
use super::text_place::Place;
use super::text_planned::{divided_line, geometry_line, guards_line};
use crate::book::Config;
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::beliefs::text_grounds::untried_line;
use crate::jobs::plan_spec::text::{band_words, plan_line};
use crate::model::Source;
use crate::model::mixed::Summary;
use crate::terminal::number::gauged_length;
use crate::terminal::odds::{a_chance, chance_in_figures};
use crate::terminal::screen::Screen;
use crate::terminal::words::{percent_range, wrapped};

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
        Remedy::TryPaper(_) | Remedy::TryThread(_) => true,
        Remedy::MeasureForeEdge | Remedy::MeasureOnTheWay => false,
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
    let PercentRange { q05: low, q50: middle, q95: high } = forecast.percent;
    let (centre, range) = percent_range(low, middle, high);
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
    let NominalForecast { swell_mm, swell_percent, chance, .. } = forecast.nominal;
    let width = forecast.swell.q95 - forecast.swell.q05;
    let odds = chance
        .map_or(String::new(), |chance| format!(", {} of meeting the target", a_chance(chance)));
    let length = gauged_length(swell_mm, width, config);
    format!("Nominal figures alone give {swell_percent:.0} % ({length} {unit}){odds}.")
}

/// How the planned book goes beyond the trials.
pub(crate) fn beyond_words(forecast: &Forecast, config: &Config) -> Option<String> {
    beyond_line("This book", &forecast.beyond, config.unit)
}

/// What makes it uncertain, in one sentence: the whole answer should fit in a terminal of 24 lines.
fn budget_line(forecast: &Forecast) -> String {
    let parts = budget_parts(forecast);
    let percents = whole_percents(parts.iter().map(|(_, share)| *share));
    let said = parts.iter().zip(percents).filter(|(_, percent)| *percent > 0.0);
    let said: Vec<String> =
        said.map(|((words, _), percent)| format!("{words} {percent:.0} %")).collect();
    format!("What makes this uncertain: {}.", said.join(", "))
}

/// Whole per cents that add up as the shares do: those with the largest remainders are rounded up.
fn whole_percents(shares: impl Iterator<Item = f64>) -> Vec<f64> {
    let exact: Vec<f64> = shares.map(|share| 100.0 * share).collect();
    let mut whole: Vec<f64> = exact.iter().map(|percent| percent.floor()).collect();
    let missing = exact.iter().sum::<f64>().round() - whole.iter().sum::<f64>();
    let mut largest: Vec<usize> = (0..exact.len()).collect();
    largest.sort_by(|&one, &other| exact[other].fract().total_cmp(&exact[one].fract()));
    largest.into_iter().take(missing as usize).for_each(|at| whole[at] += 1.0);
    whole
}

/// The sources of uncertainty and their shares of the variance, largest first.
pub(crate) fn budget_parts(forecast: &Forecast) -> Vec<(&'static str, f64)> {
    /// At most this many sources are named, and only those with the share below.
    const MOST: usize = 4;
    const WORTH_A_NAME: f64 = 0.005;
    let mut lines: Vec<_> =
        forecast.budget.iter().filter(|line| line.share >= WORTH_A_NAME).collect();
    lines.sort_by(|a, b| b.share.total_cmp(&a.share));
    let (named, others) = lines.split_at(lines.len().min(MOST));
    let rest: f64 = others.iter().map(|line| line.share).sum();
    let named = named.iter().map(|line| (source_words(line.source), line.share));
    named.chain((!others.is_empty()).then_some(("the rest", rest))).collect()
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
    let share = format!("{:.0} %", 100.0 * advice.share);
    match &advice.remedy {
        Remedy::TryPaper(paper) if trials == 0 => {
            format!(
                "To narrow the range, sew a first trial block of {paper}. So far all of this is \
                 belief."
            )
        }
        Remedy::TryPaper(paper) => {
            format!(
                "To narrow the range, sew another trial block of {paper}. That addresses {share} of \
                 the uncertainty."
            )
        }
        Remedy::TryThread(thread) => format!(
            "To narrow the range, sew a trial block with {thread}. That addresses {share} of the \
             uncertainty."
        ),
        Remedy::MeasureForeEdge => {
            let to = match place {
                Place::Terminal => "give it with --fore-edge",
                Place::Page => "type it under Try a change",
            };
            format!(
                "To narrow the range, fold and press the sections, measure their fore-edge and \
                 {to}. That addresses {share} of the uncertainty."
            )
        }
        Remedy::MeasureOnTheWay => {
            let ask = match place {
                Place::Terminal => " and ask 'swellbook midway'",
                Place::Page => "",
            };
            format!(
                "To narrow the range, measure part-way through the sewing{ask}: {share} of the \
                 uncertainty is variation between sewings and measurements, which more trials \
                 cannot reduce."
            )
        }
    }
}

/// What the answer is based on: the number of trials or, without any, the starting beliefs.
pub(crate) fn source_line(trials: usize, grounds: &Grounds) -> String {
    match trials {
        0 => untried_line(grounds),
        1 => "Based on 1 trial.".to_owned(),
        trials => format!("Based on {trials} trials."),
    }
}
