//! The text of `show`: counts, and a table of each kind.

use super::answer::Held;
use super::answer_stock::{HeldForecast, HeldPaper, HeldPlan, HeldTarget, HeldThread};
use super::answer_trial::HeldTrial;
use super::text_table::{Column, table};
use crate::book::{Config, EntryKind};
use crate::jobs::entries::answer_log::Measured;
use crate::jobs::entries::answer_struck::Struck;
use crate::jobs::entries::text::{on_words, plan_words, struck_entry_line};
use crate::terminal::number::{fine_length, plural, rounded};
use crate::terminal::odds::chance_in_figures;
use crate::terminal::screen::Screen;
use crate::terminal::words::{cut, hanging, range_words};
use crate::trade::{State, Trial};

/// What every table needs for its layout.
#[derive(Clone, Copy)]
pub(super) struct Laid<'c> {
    pub config: &'c Config,
    pub screen: Screen,
}

/// The most characters of a name in a column beside other names.
const NAME_ROOM: usize = 24;
/// The most characters of a note in a table; its entry shows the whole note.
const NOTE_ROOM: usize = 40;

/// The most characters of a plan in a table.
const PLAN_ROOM: usize = 48;

/// The book's title, the number of entries of each kind, and the command that lists them.
pub(super) fn overview_text(
    held: &Held<'_>,
    title: &str,
    command: impl Fn(&str) -> String,
) -> String {
    let count = |kind: EntryKind| held.names().iter().filter(|(of, _)| *of == kind).count();
    let row = |kind: EntryKind| {
        let word = format!("{}s", kind.word());
        (word.clone(), count(kind), command(&format!("show {word}")))
    };
    let mut rows: Vec<_> =
        EntryKind::ALL.into_iter().filter(|kind| *kind != EntryKind::Reading).map(row).collect();
    if !held.struck.is_empty() {
        rows.push(("struck".to_owned(), held.struck.len(), command("show --struck")));
    }
    let line = |(word, count, command)| format!("  {word:<9}  {count:>5}  {command}\n");
    let lines: String = rows.into_iter().map(line).collect();
    format!("{title}\n\n{lines}\nall about one of them: {}", command("show NAME"))
}

/// The entries of one kind as a table; `None` if there are none.
pub(super) fn kind_text(held: &Held<'_>, kind: EntryKind, laid: Laid<'_>) -> Option<String> {
    let (count, text) = match kind {
        EntryKind::Paper => (held.papers.len(), papers_table(&held.papers, laid)),
        EntryKind::Thread => (held.threads.len(), threads_table(&held.threads, laid)),
        EntryKind::Target => (held.targets.len(), targets_table(&held.targets, laid)),
        EntryKind::Trial => (held.trials.len(), trials_text(&held.trials, laid)),
        EntryKind::Forecast => (held.forecasts.len(), forecasts_text(&held.forecasts, laid)),
        EntryKind::Plan => (held.plans.len(), plans_table(&held.plans, laid)),
        EntryKind::Reading => return None,
    };
    (count > 0).then_some(text)
}

fn papers_table(papers: &[HeldPaper<'_>], Laid { config, screen }: Laid<'_>) -> String {
    let each = || papers.iter().map(|held| held.paper);
    let columns = vec![
        Column::words("paper", 0, each().map(|paper| paper.name.to_string())),
        Column::numbers("caliper", 0, each().map(|paper| fine_length(paper.caliper(), config))),
        Column::numbers("grammage", 2, each().map(|paper| shown(paper.grammage))),
        Column::words("hardness", 0, each().map(|paper| paper.hardness.to_string())),
        Column::numbers("trials", 1, papers.iter().map(|held| held.trials.len().to_string())),
        Column::words("note", 3, each().map(|paper| short_note(&paper.note, screen))),
    ];
    table(columns, screen.width)
}

fn threads_table(threads: &[HeldThread<'_>], Laid { config, screen }: Laid<'_>) -> String {
    let each = || threads.iter().map(|held| held.thread);
    let source = |measured: bool| if measured { "measured" } else { "its count" };
    let columns = vec![
        Column::words("thread", 0, each().map(|thread| thread.name.to_string())),
        Column::words("material", 2, each().map(|thread| thread.material.to_string())),
        Column::words("count", 2, each().map(|thread| shown(thread.count()))),
        Column::numbers("diameter", 0, each().map(|it| fine_length(it.diameter(), config))),
        Column::words("from", 1, each().map(|thread| source(thread.laid().is_some()).to_owned())),
        Column::numbers("trials", 1, threads.iter().map(|held| held.trials.len().to_string())),
        Column::words("note", 3, each().map(|thread| short_note(&thread.note, screen))),
    ];
    table(columns, screen.width)
}

fn targets_table(targets: &[HeldTarget<'_>], Laid { screen, .. }: Laid<'_>) -> String {
    let each = || targets.iter().map(|held| held.target);
    let range = |low: f64, high: f64| format!("{low} to {high} %");
    let forecasts = |held: &HeldTarget<'_>| match held.forecasts.len() {
        0 => String::new(),
        count => count.to_string(),
    };
    let columns = vec![
        Column::words("target", 0, each().map(|target| target.name.to_string())),
        Column::numbers("swell", 0, each().map(|it| range(it.low_percent(), it.high_percent()))),
        Column::numbers("forecasts", 1, targets.iter().map(forecasts)),
        Column::words("note", 2, each().map(|target| short_note(&target.note, screen))),
    ];
    table(columns, screen.width)
}

fn short_note(note: &str, screen: Screen) -> String {
    cut(note, NOTE_ROOM, screen.signs)
}

/// The unit of the figures of trials in a table.
pub(super) const SWELL: &str = "swell in % of the fore-edge";

/// The count and the order of a list.
fn last_first(count: usize, noun: &str) -> String {
    let order = if count > 1 { ", last recorded first" } else { "" };
    plural(count, noun) + order
}

fn trials_text(trials: &[HeldTrial<'_>], laid: Laid<'_>) -> String {
    format!("{}; {SWELL}\n\n{}", last_first(trials.len(), "trial"), trials_table(trials, laid))
}

/// Trials with their swell in per cent.
pub(super) fn trials_table(trials: &[HeldTrial<'_>], Laid { screen, .. }: Laid<'_>) -> String {
    let each = || trials.iter().map(|held| held.trial);
    let short = |name: &str| cut(name, NAME_ROOM, screen.signs);
    let has_several_hands = trials.windows(2).any(|two| two[0].trial.hand != two[1].trial.hand);
    let hand = |trial: &Trial| match &trial.hand {
        Some(hand) if has_several_hands => short(hand.as_str()),
        _ => String::new(),
    };
    let mut columns = vec![
        Column::words("trial", 0, each().map(|trial| trial.name.to_string())),
        Column::words("date", 2, each().map(|trial| shown(trial.date))),
        Column::words("paper", 1, each().map(|trial| short(trial.paper.as_str()))),
        Column::words("thread", 4, each().map(|trial| short(trial.thread.as_str()))),
        Column::numbers("sections", 3, each().map(|it| it.sewing.sections().to_string())),
        Column::numbers("sheets", 3, each().map(|it| it.sewing.sheets().to_string())),
        Column::words("sewing", 5, each().map(on_words)),
        Column::words("hand", 2, each().map(hand)),
    ];
    for state in State::ALL.into_iter().filter(|state| state.has_thread()) {
        let measured = |held: &HeldTrial<'_>| {
            let measured = held.states.iter().find(|measured| measured.state == state);
            measured.map_or_else(String::new, percent)
        };
        columns.push(Column::numbers(state.word(), 0, trials.iter().map(measured)));
    }
    table(columns, screen.width)
}

/// The swell in a state in per cent.
fn percent(measured: &Measured<'_>) -> String {
    measured.percent().map_or_else(|| "one edge".to_owned(), |percent| rounded(percent, 1))
}

fn plans_table(plans: &[HeldPlan<'_>], Laid { screen, .. }: Laid<'_>) -> String {
    let each = || plans.iter().map(|held| held.0);
    let columns = vec![
        Column::words("plan", 0, each().map(|plan| plan.name.to_string())),
        Column::words("saved", 1, each().map(|plan| plan.made.to_string())),
        Column::words(
            "book",
            2,
            each().map(|plan| cut(&plan_words(plan), PLAN_ROOM, screen.signs)),
        ),
    ];
    table(columns, screen.width)
}

fn forecasts_text(forecasts: &[HeldForecast<'_>], laid: Laid<'_>) -> String {
    let count = last_first(forecasts.len(), "kept forecast");
    let table = forecasts_table(forecasts, laid);
    format!("{count}; {SWELL}, 90 % range\n\n{table}")
}

pub(super) fn forecasts_table(
    forecasts: &[HeldForecast<'_>],
    Laid { screen, .. }: Laid<'_>,
) -> String {
    let each = || forecasts.iter().map(|held| held.kept);
    let aims = || each().map(|kept| kept.aim.as_ref());
    let id = |held: &HeldForecast<'_>| {
        if held.id.contains('/') { held.id.to_owned() } else { held.kept.name.to_string() }
    };
    let predicted = each().map(|kept| kept.swell.nine_in_ten());
    let columns = vec![
        Column::words("forecast", 0, forecasts.iter().map(id)),
        Column::words("made", 2, each().map(|kept| kept.made.to_string())),
        Column::words("state", 1, each().map(|kept| kept.plan.state().to_string())),
        Column::numbers("predicted", 0, predicted.map(|(low, high)| range_words(low, high))),
        Column::words("target", 3, aims().map(|aim| shown(aim.map(|aim| &aim.wanted)))),
        Column::numbers("chance", 4, {
            aims().map(|aim| aim.map(|aim| chance_in_figures(aim.chance())).unwrap_or_default())
        }),
        Column::numbers("came out", 0, forecasts.iter().map(outcome)),
    ];
    table(columns, screen.width)
}

fn outcome(held: &HeldForecast<'_>) -> String {
    let followed = &held.followed;
    match followed.outcome {
        Some(_) if !followed.sewn_otherwise.is_empty() => "sewn otherwise".to_owned(),
        Some(_) if followed.made_too_late => "made too late".to_owned(),
        Some(outcome) => rounded(outcome.percent, 1),
        None if held.replaced => "replaced".to_owned(),
        None => "open".to_owned(),
    }
}

fn shown(value: Option<impl ToString>) -> String {
    value.map(|value| value.to_string()).unwrap_or_default()
}

pub(super) fn struck_text(struck: &[Struck], Laid { config, screen }: Laid<'_>) -> String {
    let line = |held: &Struck| {
        let entry = struck_entry_line(held, config);
        let why = match &held.strike {
            Some(strike) => format!("struck on {}: {}", strike.date, strike.reason),
            None => "struck with its trial".to_owned(),
        };
        let why = hanging(&format!("    {why}"), screen.width, 4);
        format!("{}\n{why}\n", hanging(&format!("{} {entry}", held.kind), screen.width, 2))
    };
    match struck {
        [] => "nothing is struck".to_owned(),
        struck => {
            let count = plural(struck.len(), "entry");
            let lines: String = struck.iter().map(line).collect();
            format!("{count} struck: still in the files, but not counted\n\n{lines}")
        }
    }
}
