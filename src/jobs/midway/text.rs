//! The text of `midway`.

use super::answer::{Course, Midway, Verdict};
use super::answer_changes::{Pattern, Resewing, Resewn};
use super::text_part::again_line;
use super::text_picture::midway_picture;
use crate::book::Config;
use crate::jobs::beliefs::text_grounds::alone_words;
use crate::jobs::forecast::answer_leaning::Weight;
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::forecast::text::{beyond_words, swell_words};
use crate::jobs::forecast::text_leaning::leaning_line;
use crate::jobs::plan_spec::text::{band_words, pattern_words, plan_line};
use crate::terminal::number::{gauged_length, plural};
use crate::terminal::odds::{a_chance, chance_in_figures};
use crate::terminal::screen::Screen;
use crate::terminal::words::{percent_range, wrapped};

/// The advised course, where the sewing will end, what the part shows, and the possible changes.
/// Lists as many changes as fit a terminal of 24 lines, but at least the best.
pub fn midway_text(midway: &Midway, config: &Config, screen: Screen) -> String {
    const LINES: usize = 24;
    let with = |changes: usize| with_changes(midway, changes, config, screen);
    let texts = (1..=midway.changes.len()).rev().map(with);
    let fitting = |text: &String| text.lines().count() <= LINES;
    texts.into_iter().find(fitting).unwrap_or_else(|| with(1))
}

fn with_changes(midway: &Midway, changes: usize, config: &Config, screen: Screen) -> String {
    let width = screen.width;
    let again = midway.again.map(|doubt| again_line(&midway.part, doubt, config));
    let mut paragraphs: Vec<String> =
        again.into_iter().map(|line| lines(&[line, SURE.to_owned()], width)).collect();
    let planned = format!("{} {}", plan_line(&midway.after.plan), sewn_line(midway));
    paragraphs.push(wrapped(&planned, width));
    let mut seen = vec![answer(midway), ends(midway, config)];
    seen.retain(|line| !line.is_empty());
    let mut seen = vec![lines(&seen, width)];
    seen.extend(midway_picture(midway, screen));
    seen.push(wrapped(&part_line(midway, config), width));
    paragraphs.push(seen.join("\n"));
    let basis = wrapped(&basis(midway, config).join(" "), width);
    paragraphs.push(match &midway.verdict {
        Some(verdict) => {
            let caution = wrapped(caution(verdict.advice), width);
            [courses(midway, verdict, changes, width), caution, basis].join("\n")
        }
        None => basis,
    });
    paragraphs.join("\n\n")
}

pub(crate) fn basis(midway: &Midway, config: &Config) -> Vec<String> {
    let leaning = midway.after.leaning.as_ref();
    let leans = leaning.is_some_and(|leaning| leaning.weight() != Weight::Little);
    let mut basis = vec![known_line(midway, leaning.is_some() && !leans)];
    basis.extend(beyond_words(&midway.after, config));
    let leaning = leaning.filter(|_| leans);
    basis.extend(leaning.map(|leaning| leaning_line(leaning, &midway.after.grounds)));
    basis
}

pub(crate) fn headline(midway: &Midway) -> String {
    let advice = midway.verdict.as_ref().map(|verdict| verdict.advice);
    match (midway.again, advice, midway.changes.first()) {
        (Some(_), _, _) => "Measure again before you act".to_owned(),
        (None, Some(Course::Change), Some(best)) => {
            format!("Change {}: {}", left_words(midway), change_words(&best.changed))
        }
        (None, Some(Course::GoOn), _) => "Go on as planned".to_owned(),
        (None, Some(Course::Change | Course::Stop), _) => "Stop here".to_owned(),
        (None, None, _) => "This is the swell to expect".to_owned(),
    }
}

/// How to get a verdict anyway.
const SURE: &str = "There is no verdict until then. If you have measured again and it is right, \
                    give the same command with --sure.";

fn lines(each: &[String], width: usize) -> String {
    each.iter().map(|one| wrapped(one, width)).collect::<Vec<_>>().join("\n")
}

/// The sections that can still be sewn otherwise: those after the traverse that is begun.
fn sections_left(midway: &Midway) -> u32 {
    midway.after.plan.sections() - midway.begun()
}

/// `the section left`, or `the 16 sections left`.
fn left_words(midway: &Midway) -> String {
    match sections_left(midway) {
        1 => "the section left".to_owned(),
        left => format!("the {left} sections left"),
    }
}

pub(crate) fn sewn_line(midway: &Midway) -> String {
    let (sewn, state) = (midway.part.sewn, midway.part.state.phrase());
    let verb = if sewn == 1 { "is" } else { "are" };
    format!("{sewn} of the {} {verb} sewn, measured {state}.", midway.after.plan.sections())
}

pub(crate) fn answer(midway: &Midway) -> String {
    let target = midway.after.target.as_ref().map(band_words).unwrap_or_default();
    if midway.again.is_some() {
        return String::new();
    }
    let Some(verdict) = &midway.verdict else {
        return "For advice, give a target. This is the swell to expect.".to_owned();
    };
    let going_on = chance_in_figures(verdict.going_on);
    match (verdict.advice, midway.changes.first()) {
        (Course::GoOn, None) => {
            format!(
                "Go on: the chance of meeting the target ({target}) is {going_on}. No change \
                 improves it."
            )
        }
        (Course::GoOn, Some(_)) => {
            format!("Go on: the chance of meeting the target ({target}) is {going_on}.")
        }
        (Course::Change | Course::Stop, None) => format!(
            "Stop: the chance of meeting the target ({target}) is {going_on}, and no change of \
             {} improves it.",
            left_words(midway)
        ),
        (Course::Change, Some(best)) => format!(
            "Change {}: {}. The chance of meeting the target ({target}) is then {}; going on as \
             planned, {going_on}.",
            left_words(midway),
            change_words(&best.changed),
            chance_in_figures(best.chance)
        ),
        (Course::Stop, Some(best)) => format!(
            "Stop: the chance of meeting the target ({target}) is {going_on}, and even the best \
             change of {} gives only {}.",
            left_words(midway),
            chance_in_figures(best.chance)
        ),
    }
}

/// Where the sewing will end, with the reading and before it.
pub(crate) fn ends(midway: &Midway, config: &Config) -> String {
    let Midway { before, after, .. } = midway;
    let edge = after.fore_edge;
    let length = |value| gauged_length(value, 4.0 * edge.sd, config);
    let how = if after.plan.fore_edge.is_some() { "as measured folded" } else { "from the part" };
    let met = before.chance.map(|chance| format!(", {} of the target", a_chance(chance)));
    format!(
        "With this reading: {}. Without it: {}{}. Fore-edge of the finished book: {} \
         {unit}, give or take {} {unit} ({how}).",
        swell_words(after, config),
        range_words(&before.percent),
        met.unwrap_or_default(),
        length(edge.mean),
        length(edge.sd),
        unit = config.unit
    )
}

/// The part's swell, compared with what was expected.
pub(crate) fn part_line(midway: &Midway, config: &Config) -> String {
    let (unit, part) = (config.unit, &midway.part);
    let expected = part.expected;
    let length = |value| gauged_length(value, expected.q95 - expected.q05, config);
    let judged = if part.is_in_line() {
        "in line".to_owned()
    } else {
        format!(
            "{:.1} times the usual difference, which happens in {} of cases: measure it again \
             before you act on it",
            part.off,
            chance_in_figures(part.tail)
        )
    };
    let sewn = match part.sewn {
        1 => "The section sewn has".to_owned(),
        sewn => format!("The {sewn} sections sewn have"),
    };
    format!(
        "{sewn} {} {unit} of swell. Expected was {} {unit}, give or take {} {unit}: {judged}.",
        length(part.swell_mm),
        length(expected.mean),
        length(expected.sd)
    )
}

/// `Choices for the 16 sections left, with the odds of the target`.
pub(crate) fn courses_head(midway: &Midway) -> String {
    format!("Choices for {}, with the odds of the target", left_words(midway))
}

/// The two courses besides a change: going on, and starting again.
pub(crate) const GOING_ON: &str = "go on as planned";
pub(crate) const AGAIN: &str = "stop, and sew the same plan again from the first section";

fn courses(midway: &Midway, verdict: &Verdict, changes: usize, width: usize) -> String {
    let opening = format!("{} and the swell:", courses_head(midway));
    let going_on = format!("{GOING_ON}: {}", range_words(&midway.after.percent));
    let again = AGAIN.to_owned();
    let best = midway.changes.iter().take(changes);
    let best = best.map(|change| (change.chance, change_line(change)));
    let courses = std::iter::once((verdict.going_on, going_on))
        .chain(best)
        .chain([(verdict.beginning_again, again)]);
    let courses: Vec<(String, String)> =
        courses.map(|(chance, words)| (chance_in_figures(chance), words)).collect();
    let odds = courses.iter().map(|(odds, _)| odds.len()).max().unwrap_or_default();
    let (indent, pad) = (odds + 4, " ".repeat(odds + 4));
    let line = |(chance, words): &(String, String)| {
        let words = wrapped(words, width.saturating_sub(indent));
        format!("  {chance:>odds$}  {}", words.replace('\n', &format!("\n{pad}")))
    };
    let lines = courses.iter().map(line);
    std::iter::once(wrapped(&opening, width)).chain(lines).collect::<Vec<_>>().join("\n")
}

fn change_line(change: &Resewing) -> String {
    format!("{}: {}", change_words(&change.changed), range_words(&change.percent))
}

/// `31 % (27 to 35)`.
pub(crate) fn range_words(percent: &PercentRange) -> String {
    let (centre, range) = percent_range(percent.each());
    format!("{centre} % ({range})")
}

pub(crate) fn change_words(changed: &Resewn) -> String {
    let thread = changed.thread.as_ref().map(|thread| format!("thread {}", thread.name));
    let sewing = changed.sewing.map(sewing_words);
    let boned = changed.boned.map(|boned| if boned { "folds boned" } else { "folds not boned" });
    let parts = [thread, sewing, boned.map(str::to_owned)];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn sewing_words(Pattern { on, first, last }: Pattern) -> String {
    let end = |place: &str, count: u16| match count {
        0 => None,
        1 => Some(format!("the {place} section")),
        _ => Some(format!("the {place} {count} sections")),
    };
    let ends: Vec<String> = end("first", first).into_iter().chain(end("last", last)).collect();
    let but = if ends.is_empty() { "" } else { " but for " };
    format!("{}{but}{}", pattern_words(on), ends.join(" and "))
}

pub(crate) fn caution(advice: Course) -> &'static str {
    match advice {
        Course::GoOn | Course::Change => {
            "Change only to a thread and a sewing that you would trust to hold this book."
        }
        Course::Stop => {
            "Sewing is cut out with a knife near the folds: cut the thread only, away from the \
             paper; with an old or valuable book ask a conservator first."
        }
    }
}

/// The trials and sections behind the answer; `firmly` if it hardly depends on starting beliefs.
fn known_line(midway: &Midway, firmly: bool) -> String {
    let sewn = plural(midway.part.sewn as usize, "section");
    let beliefs = if firmly { ", hardly on the starting beliefs" } else { "" };
    match midway.after.trials_used {
        0 => {
            let own = alone_words(&midway.after.grounds);
            format!("Based on {} and the {sewn} sewn{beliefs}.", own.trim_end_matches(" only"))
        }
        trials => format!("Based on {} and the {sewn} sewn{beliefs}.", plural(trials, "trial")),
    }
}
