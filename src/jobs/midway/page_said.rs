//! The answer part-way: the verdict first, then its basis and the possible courses.

use super::answer::{Course, Midway};
use super::answer_changes::Resewing;
use super::command::notes;
use super::text::{
    AGAIN, GOING_ON, answer, basis, caution, change_words, courses_head, ends, headline, part_line,
    range_words, sewn_line,
};
use super::text_part::again_line;
use crate::book::Config;
use crate::jobs::forecast::answer_percent::PercentRange;
use crate::jobs::forecast::page_strip::{large, scale, strip};
use crate::jobs::plan_spec::text::{band_words, plan_line};
use crate::page::form::Form;
use crate::page::route::Content;
use crate::page::strip::{Scale, Strip};
use crate::terminal::odds::chance_in_figures;
use crate::terminal::words::capital;
use askama::Template;

#[derive(Template)]
#[template(path = "bench/part-way-said.html")]
struct View {
    /// Why the part must be measured again, if it must.
    again: Option<String>,
    chance: Option<String>,
    of: String,
    answer: String,
    ranges: Vec<Row>,
    ends: String,
    part: String,
    courses: Option<Courses>,
    basis: Vec<String>,
    notes: Vec<String>,
    open: Option<String>,
    edit: String,
    sure: String,
}

/// What the swell is predicted for, as a strip and as a range.
type Row = (String, Strip, String);

struct Courses {
    head: String,
    rows: Vec<(String, String)>,
    caution: &'static str,
}

pub(crate) fn content(
    midway: &Midway,
    form: &Form,
    open: Option<String>,
    config: &Config,
) -> Content {
    let asked: Vec<&str> = form.pairs().map(|pair| pair.0).filter(|name| *name != "edit").collect();
    let (chance, of) = figure(midway);
    let view = View {
        again: midway.again.map(|doubt| again_line(&midway.part, doubt, config)),
        chance,
        of,
        answer: answer(midway),
        ranges: ranges(midway),
        ends: ends(midway, config),
        part: part_line(midway, config),
        courses: courses(midway),
        basis: basis(midway, config),
        notes: notes(midway, config.unit).iter().map(|note| capital(note)).collect(),
        open,
        edit: form
            .clone()
            .with("edit", "1")
            .address("/part-way", &[&asked[..], &["edit"]].concat()),
        sure: form
            .clone()
            .with("sure", "yes")
            .address("/part-way", &[&asked[..], &["sure"]].concat()),
    };
    let beside = format!("{} {}", plan_line(&midway.after.plan), sewn_line(midway));
    Content::of(headline(midway), &view).beside(beside)
}

/// The chance with the advised course, as the large figure.
fn figure(midway: &Midway) -> (Option<String>, String) {
    let Some(verdict) = midway.verdict.as_ref() else { return (None, String::new()) };
    let target = midway.after.target.as_ref().map(band_words).unwrap_or_default();
    let best = midway.changes.first().filter(|_| verdict.advice == Course::Change);
    match best {
        Some(best) => (
            Some(large(best.chance)),
            format!(
                "chance of meeting {target}. Going on as planned: {}.",
                chance_in_figures(verdict.going_on)
            ),
        ),
        None => (Some(large(verdict.going_on)), format!("chance of meeting {target}")),
    }
}

fn ranges(midway: &Midway) -> Vec<Row> {
    let target = midway.after.target.as_ref();
    let best = midway.changes.first();
    let before = ("Before the reading".to_owned(), midway.before.percent, true);
    let going_on = ("Going on as planned".to_owned(), midway.after.percent, false);
    let change = best.map(|best| (capital(&change_words(&best.changed)), best.percent, false));
    let rows: Vec<_> = [before, going_on].into_iter().chain(change).collect();
    let scale: Scale = scale(rows.iter().map(|row| row.1), [], target);
    let last = rows.len() - 1;
    let row = |(at, (words, percent, was)): (usize, (String, PercentRange, bool))| {
        let strip = strip(percent, target, None, &scale);
        (words, Strip { was, ticks: at == last, ..strip }, range_words(&percent))
    };
    rows.into_iter().enumerate().map(row).collect()
}

fn courses(midway: &Midway) -> Option<Courses> {
    let verdict = midway.verdict.as_ref()?;
    let going_on = format!("{}: {}", capital(GOING_ON), range_words(&midway.after.percent));
    let change = |one: &Resewing| {
        let words = capital(&change_words(&one.changed));
        (chance_in_figures(one.chance), format!("{words}: {}", range_words(&one.percent)))
    };
    let again = (chance_in_figures(verdict.beginning_again), capital(AGAIN));
    let rows = std::iter::once((chance_in_figures(verdict.going_on), going_on))
        .chain(midway.changes.iter().map(change))
        .chain([again]);
    Some(Courses {
        head: courses_head(midway),
        rows: rows.collect(),
        caution: caution(verdict.advice),
    })
}
