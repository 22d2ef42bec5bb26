//! What `midway` shows.

use super::answer::{Course, Midway, PartDoubt, PartSeen, Verdict};
use super::answer_changes::{Resewing, Resewn};
use super::text_picture::midway_picture;
use crate::book::Config;
use crate::jobs::forecast::answer::Forecast;
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::forecast::text::{beyond_words, swell_words};
use crate::jobs::forecast::text_leaning::leaning_line;
use crate::jobs::plan_spec::text::{band_words, plan_line};
use crate::terminal::number::{gauged_length, plural};
use crate::terminal::odds::chance_in_figures;
use crate::terminal::screen::Screen;
use crate::terminal::words::{hanging, percent_range, wrapped};

/// The course advised, where the sewing will end, what the part says, and what can be changed.
pub fn midway_text(midway: &Midway, config: &Config, screen: Screen) -> String {
    let width = screen.width;
    let again = midway.again.map(|doubt| again_line(&midway.part, doubt, config));
    let mut paragraphs: Vec<String> =
        again.into_iter().map(|line| sentences(&[line, SURE.to_owned()], width)).collect();
    paragraphs.extend([
        sentences(&[plan_line(&midway.after.plan), sewn_line(midway)], width),
        sentences(&[answer(midway)], width),
        sentences(&ends(midway, config), width),
    ]);
    paragraphs.retain(|paragraph| !paragraph.is_empty());
    paragraphs.extend(midway_picture(midway, screen));
    paragraphs.push(sentences(&[part_line(&midway.part, config)], width));
    if let Some(verdict) = &midway.verdict {
        paragraphs.push(courses(midway, verdict, width));
        paragraphs.push(sentences(&[RULE.to_owned(), caution(verdict.advice).to_owned()], width));
    }
    let beyond = beyond_words(&midway.after, config);
    paragraphs.extend(beyond.map(|line| sentences(&[line], width)));
    let leaning = midway.after.leaning.as_ref().map(leaning_line);
    paragraphs.extend(leaning.map(|line| sentences(&[line], width)));
    paragraphs.push(sentences(&[known_line(midway)], width));
    paragraphs.join("\n\n")
}

/// How the verdict is had all the same.
const SURE: &str = "There is no verdict until then. If you have measured again and it is so, give \
                    the same command with --sure.";

/// That the part is to be measured again, with what was probably done.
pub(crate) fn again_line(part: &PartSeen, doubt: PartDoubt, config: &Config) -> String {
    let length = |mm: f64| {
        let width = part.expected.q95 - part.expected.q05;
        format!("{} {}", gauged_length(mm, width, config), config.unit)
    };
    match doubt {
        PartDoubt::Exchanged => format!(
            "Measure again: the spine of the part is {} thinner than its fore-edge, with thread in \
             the folds. Were --spine and --fore-edge exchanged?",
            length(-part.swell_mm)
        ),
        PartDoubt::FarOut => format!(
            "Measure again: the part has {} of swell, where {} was expected, give or take {}. Check \
             both edges, the number of sections sewn, and the unit.",
            length(part.swell_mm),
            length(part.expected.mean),
            length(part.expected.sd)
        ),
    }
}

/// What the odds must be for each course.
const RULE: &str = "The advice is to go on if the chance is at least 75 %, or if no change adds \
                    10 points; otherwise to make the best change; and to stop if neither gives a \
                    25 % chance.";

fn sentences(each: &[String], width: usize) -> String {
    each.iter().map(|one| wrapped(one, width)).collect::<Vec<_>>().join("\n")
}

fn sections_left(midway: &Midway) -> u32 {
    midway.after.plan.sections() - midway.part.sewn
}

/// `the section left`, or `the 16 sections left`.
fn left_words(midway: &Midway) -> String {
    match sections_left(midway) {
        1 => "the section left".to_owned(),
        left => format!("the {left} sections left"),
    }
}

fn sewn_line(midway: &Midway) -> String {
    let (sewn, state) = (midway.part.sewn, midway.part.state.phrase());
    let verb = if sewn == 1 { "is" } else { "are" };
    format!("{sewn} of the {} {verb} sewn, measured {state}.", midway.after.plan.sections())
}

/// The course advised, with the odds it is advised for.
fn answer(midway: &Midway) -> String {
    let target = midway.after.target.as_ref().map(band_words).unwrap_or_default();
    if midway.again.is_some() {
        return String::new();
    }
    let Some(verdict) = &midway.verdict else {
        return "Without a target there is nothing to advise; this is where it will end."
            .to_owned();
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
            "Stop: the chance of meeting the target ({target}) is {going_on}, and even with the \
             best change of {} only {}.",
            left_words(midway),
            chance_in_figures(best.chance)
        ),
    }
}

/// Where it will end, before the reading and with it.
fn ends(midway: &Midway, config: &Config) -> Vec<String> {
    let Midway { before, after, .. } = midway;
    let edge = after.fore_edge;
    let length = |value| gauged_length(value, 4.0 * edge.sd, config);
    let how = if after.plan.fore_edge.is_some() { "as measured folded" } else { "from the part" };
    vec![
        format!("Forecast before this reading: {}.", end_words(before, config)),
        format!("With this reading: {}.", end_words(after, config)),
        format!(
            "Fore-edge of the finished book: {} {unit}, give or take {} {unit} ({how}).",
            length(edge.mean),
            length(edge.sd),
            unit = config.unit
        ),
    ]
}

fn end_words(forecast: &Forecast, config: &Config) -> String {
    let met = |chance: f64| format!(", {} chance of meeting the target", chance_in_figures(chance));
    format!("{}{}", swell_words(forecast, config), forecast.chance.map(met).unwrap_or_default())
}

/// The part against what was expected of it.
fn part_line(part: &PartSeen, config: &Config) -> String {
    let unit = config.unit;
    let expected = part.expected;
    let length = |value| gauged_length(value, expected.q95 - expected.q05, config);
    let judged = if part.is_in_line() {
        "that is in line".to_owned()
    } else {
        format!(
            "that is {:.1} times the usual difference, which happens in {} of cases: measure it \
             again before you act on it",
            part.off,
            chance_in_figures(part.tail)
        )
    };
    format!(
        "The {} sewn have {} {unit} of swell; {} {unit}, give or take {} {unit}, was expected of \
         them: {judged}.",
        plural(part.sewn as usize, "section"),
        length(part.swell_mm),
        length(expected.mean),
        length(expected.sd)
    )
}

/// The odds of the target by each course, going on first.
fn courses(midway: &Midway, verdict: &Verdict, width: usize) -> String {
    let opening = format!(
        "Odds of the target by what you do now ({} can be changed), and the swell with its 90 % \
         range:",
        left_words(midway)
    );
    let going_on = format!("go on as planned: {}", range_words(&midway.after.percent));
    let again = "stop, and sew the same plan again from the first section".to_owned();
    let changes = midway.changes.iter().map(|change| (change.chance, change_line(change)));
    let lines = std::iter::once((verdict.going_on, going_on))
        .chain(changes)
        .chain([(verdict.beginning_again, again)]);
    let lines = lines.map(|(chance, words)| course_line(chance, &words, width));
    std::iter::once(wrapped(&opening, width)).chain(lines).collect::<Vec<_>>().join("\n")
}

fn course_line(chance: f64, words: &str, width: usize) -> String {
    let odds = format!("{:>11}", chance_in_figures(chance));
    hanging(&format!("{odds}  {words}"), width, odds.len() + 2)
}

fn change_line(change: &Resewing) -> String {
    format!("{}: {}", change_words(&change.changed), range_words(&change.percent))
}

/// `31 % (27 to 35 %)`.
fn range_words(percent: &PercentRange) -> String {
    let (centre, range) = percent_range(percent.q05, percent.q50, percent.q95);
    format!("{centre} % ({range} %)")
}

/// What is done otherwise in the sections left.
pub(crate) fn change_words(changed: &Resewn) -> String {
    let thread = changed.thread.as_ref().map(|thread| format!("thread {}", thread.name));
    let sewing = changed.sewing.map(|(on, ends)| sewing_words(on, ends));
    let boned = changed.boned.map(|boned| if boned { "folds boned" } else { "folds not boned" });
    let parts = [thread, sewing, boned.map(str::to_owned)];
    parts.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn sewing_words(on: u8, ends: u16) -> String {
    let pattern = match on {
        1 => return "all along".to_owned(),
        2 => "two-on",
        3 => "three-on",
        _ => return format!("{on} sections on"),
    };
    match ends {
        0 => pattern.to_owned(),
        1 => format!("{pattern} but for the last section"),
        _ => format!("{pattern} but for the last {ends} sections"),
    }
}

fn caution(advice: Course) -> &'static str {
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

fn known_line(midway: &Midway) -> String {
    let sewn = plural(midway.part.sewn as usize, "section");
    match midway.after.trials_used {
        0 => format!("Based on common practice and the {sewn} sewn."),
        trials => format!("Based on {} and the {sewn} sewn.", plural(trials, "trial")),
    }
}
