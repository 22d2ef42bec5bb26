//! Everything about one paper, thread, target, saved plan or kept forecast, and the doubts about an
//! entry.

use super::answer_doubt::Doubt;
use super::answer_stock::{HeldForecast, HeldPaper, HeldPlan, HeldTarget, HeldThread};
use super::answer_trial::HeldTrial;
use super::text::{Laid, SWELL, forecasts_table, trials_table};
use crate::book::Severity;
use crate::jobs::entries::text::{paper_line, plan_words, target_line, thread_line};
use crate::jobs::entries::text_taught::{factor_words, nominal_words, thread_words};
use crate::jobs::keep::text::forecast_words;
use crate::jobs::track::answer::{OutcomeSource, TrackOutcome};
use crate::jobs::track::text::otherwise_words;
use crate::terminal::number::{plural, rounded};
use crate::terminal::words::{hanging, range_words};

/// Lines indented below the first line of the entry.
fn lines(texts: impl IntoIterator<Item = String>, Laid { screen, .. }: Laid<'_>) -> String {
    let texts = texts.into_iter().enumerate();
    let line = |(at, text): (usize, String)| {
        let set_in = if at == 0 { text } else { format!("  {text}") };
        hanging(&set_in, screen.width, if at == 0 { 2 } else { 4 }) + "\n"
    };
    texts.map(line).collect()
}

fn note(note: &str) -> Option<String> {
    (!note.is_empty()).then(|| format!("note: {note}"))
}

/// Appends the trials made with an entry to its text.
fn with_trials(text: String, trials: &[HeldTrial<'_>], laid: Laid<'_>) -> String {
    if trials.is_empty() {
        return text + "  no trials made with it yet\n";
    }
    let head = lines([format!("{}, {SWELL}:", plural(trials.len(), "trial"))], laid);
    format!("{text}\n{head}\n{}", trials_table(trials, laid))
}

pub(super) fn paper_text(held: &HeldPaper<'_>, laid: Laid<'_>) -> String {
    let paper = held.paper;
    let known = held.knocked.as_ref();
    let about = [Some(format!("paper {}", paper_line(paper, laid.config))), note(&paper.note)];
    let taught = [known.map(|it| factor_words(it, laid.config)), known.map(nominal_words)];
    with_trials(lines(about.into_iter().chain(taught).flatten(), laid), &held.trials, laid)
}

pub(super) fn thread_text(held: &HeldThread<'_>, laid: Laid<'_>) -> String {
    let (thread, count) = (held.thread, held.trials.len());
    let effect = held.effect.as_ref().filter(|_| count > 0);
    let about = [
        Some(format!("thread {}", thread_line(thread, laid.config))),
        note(&thread.note),
        effect.map(|effect| thread_words(effect, count)),
    ];
    with_trials(lines(about.into_iter().flatten(), laid), &held.trials, laid)
}

pub(super) fn target_text(held: &HeldTarget<'_>, laid: Laid<'_>) -> String {
    let target = held.target;
    let about = [Some(format!("target {}", target_line(target))), note(&target.note)];
    let text = lines(about.into_iter().flatten(), laid);
    if held.forecasts.is_empty() {
        return text + "  no kept forecast has this target\n";
    }
    let count = plural(held.forecasts.len(), "kept forecast");
    let head = lines([format!("{count} for it, {SWELL}, 90 % range:")], laid);
    format!("{text}\n{head}\n{}", forecasts_table(&held.forecasts, laid))
}

pub(super) fn plan_text(HeldPlan(plan): &HeldPlan<'_>, use_it: &str, laid: Laid<'_>) -> String {
    let about = [
        format!("plan {}, saved on {}", plan.name, plan.made),
        plan_words(plan),
        format!("to use it: {use_it}"),
    ];
    lines(about, laid)
}

pub(super) fn forecast_text(held: &HeldForecast<'_>, laid: Laid<'_>) -> String {
    let kept = held.kept;
    let (low, high) = kept.swell.half();
    let half = range_words(low, high);
    let other = if held.followed.made_too_late { "another" } else { "a later" };
    let replaced = format!("{other} forecast of this name and state took its place");
    let about = [
        Some(format!("forecast {}, made on {}", held.id, kept.made)),
        Some(forecast_words(kept)),
        Some(format!("half of such books come out at {half} %")),
        Some(format!("plan: {}", kept.plan)),
        held.replaced.then_some(replaced),
        Some(match &held.followed.outcome {
            Some(outcome) => outcome_words(outcome, held),
            None => "not measured yet".to_owned(),
        }),
    ];
    lines(about.into_iter().flatten(), laid)
}

fn outcome_words(outcome: &TrackOutcome, held: &HeldForecast<'_>) -> String {
    let source = match outcome.source {
        OutcomeSource::Readings if held.is_weighed => {
            "measured; a reading out of line counts less here than in the means of the trial"
        }
        OutcomeSource::Readings => "measured",
        OutcomeSource::Written => "written in forecasts.csv",
    };
    let came = format!("came out at {} % ({source})", rounded(outcome.percent, 1));
    let followed = &held.followed;
    if !followed.sewn_otherwise.is_empty() {
        let unlike = otherwise_words(&followed.sewn_otherwise);
        return format!("{came}, but it was sewn otherwise and does not count: {unlike}");
    }
    if followed.made_too_late {
        return format!("{came}, but the forecast was made later and does not count");
    }
    let held = if outcome.within_90 { "inside" } else { "outside" };
    let met = match outcome.hit {
        Some(true) => "; the target was met",
        Some(false) => "; the target was missed",
        None => "",
    };
    format!("{came}, {held} the 90 % range{met}")
}

/// The doubts to check, then the notes.
pub(super) fn doubts_text(doubts: &[Doubt], laid: Laid<'_>) -> Option<String> {
    let part = |head: &str, severity: Severity| {
        let found = doubts.iter().filter(|doubt| doubt.severity == severity);
        let item = |doubt: &Doubt| hanging(&format!("  - {}", doubt.message), laid.screen.width, 4);
        let items: Vec<String> = found.map(item).collect();
        (!items.is_empty()).then(|| format!("{head}\n{}\n", items.join("\n")))
    };
    let parts = [part("look at again:", Severity::Check), part("good to know:", Severity::Note)];
    let parts: Vec<String> = parts.into_iter().flatten().collect();
    (!parts.is_empty()).then(|| parts.join("\n"))
}
