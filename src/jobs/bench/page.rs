//! The first page: the next useful step, links to everything else, and the swell of each paper. In
//! a new book it leads to the first trial block.

use super::answer_first::{Stage, Way, stage};
use crate::book::Book;
use crate::jobs::desk::Desk;
use crate::jobs::doubt::answer::{Open, open_findings};
use crate::jobs::doubt::command::open_words;
use crate::jobs::memory::Kept;
use crate::jobs::next::answer_choice::TrialChoice;
use crate::jobs::report::answer_ready::{Prospects, Readiness, prospects};
use crate::jobs::report::draw_answer::{sewn_words, typical_words};
use crate::page::address::address;
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::strip::{Scale, Strip};
use crate::page::turned::Turned;
use crate::terminal::number::plural;
use crate::terminal::words::percent_range;
use crate::trade::State;
use askama::Template;

/// Papers shown; the others are only counted.
const SHOWN: usize = 8;
/// The page of the next step once the trials say enough.
const PLAN: &str = "/plan";

#[derive(Template)]
#[template(path = "bench/first.html")]
struct View {
    /// Says how many entries look wrong; `one` if it is a single one.
    notice: Option<String>,
    one: bool,
    next: Next,
    /// Whether the next step would write, and this page only shows the book.
    view_only: bool,
    stock: String,
    log: String,
    typical: String,
    papers: Vec<Paper>,
    more: usize,
    ready: String,
}

struct Next {
    title: String,
    words: String,
    path: String,
    button: String,
}

struct Paper {
    name: String,
    strip: Strip,
    middle: String,
    range: String,
}

#[derive(Template)]
#[template(path = "bench/start.html")]
struct Start {
    way: Way,
    sewn: Option<String>,
    knocked: Option<String>,
}

pub(crate) fn show(desk: &Desk, _: &Form) -> Result<Answer, Turned> {
    let book = desk.book()?;
    let stage = stage(&book);
    if let Stage::First(way) = stage {
        return Ok(start(&book, way).into());
    }
    let kept = desk.kept()?;
    let found = desk.of_kept("Working out what each paper does.", |kept| {
        Ok(prospects(&kept.book, &kept.bench)?)
    })?;
    let open = open_findings(&kept.book, &kept.bench.observations, desk.today()?);
    let view = view(&kept, &stage, &found, open);
    let view_only = desk.is_read_only() && view.next.path != PLAN;
    let view = View { view_only, ..view };
    let content = Content::of(headline(&found), &view);
    let counts = [plural(book.trials().len(), "trial"), plural(book.readings().len(), "reading")];
    let sound = if open.wrong == 0 { " Nothing in the book looks wrong." } else { "" };
    Ok(content.beside(format!("{}.{sound}", counts.join(", "))).into())
}

/// Computes the first page ahead of the first request.
pub(crate) fn prepare(desk: &Desk) {
    while matches!(show(desk, &Form::default()), Err(Turned::Working(_))) {}
}

/// The page that leads to the first block, with finished steps marked.
fn start(book: &Book, way: Way) -> Content {
    let measure = |state: State| {
        let trial = way.trial.as_ref()?;
        Some(address("/measure", &[("trial", Some(trial.as_str())), ("state", Some(state.word()))]))
    };
    let (sewn, knocked) = (measure(State::Sewn), measure(State::Knocked).filter(|_| way.sewn));
    let words = "After one afternoon this book will know how much thread your paper takes up. You \
                 need a caliper, paper, thread and sewing tools.";
    let beside = if book.trials().is_empty() { words } else { "" };
    let start = Start { way, sewn, knocked };
    Content::of("Your first trial block", &start).beside(beside)
}

impl Start {
    /// The first step that is not done.
    fn now(&self) -> usize {
        self.way.done().iter().position(|done| !done).unwrap_or_default()
    }

    fn class(&self, step: usize) -> &'static str {
        match (self.way.done()[step], step == self.now()) {
            (true, _) => "done",
            (false, true) => "now",
            (false, false) => "later",
        }
    }

    fn button(&self, step: usize) -> &'static str {
        if step == self.now() { "main" } else { "other" }
    }
}

fn headline(found: &Prospects) -> String {
    let ready: Vec<&Readiness> = found.papers.iter().filter(|paper| paper.is_ready()).collect();
    match (&ready[..], found.papers.len()) {
        ([], _) => "No paper is ready to plan with yet".to_owned(),
        ([one], _) => format!("Ready to plan with {}", one.paper),
        (ready, all) if ready.len() == all => format!("Ready to plan with all {all} papers"),
        (ready, all) => format!("Ready to plan with {} of {all} papers", ready.len()),
    }
}

fn view(kept: &Kept, stage: &Stage, found: &Prospects, open: Open) -> View {
    let book = &kept.book;
    let typical = typical_words(found).map(|words| format!("{words}."));
    let shown = &found.papers[..found.papers.len().min(SHOWN)];
    let ends = shown.iter().flat_map(|paper| [paper.swell.q05, paper.swell.q95]);
    let scale = Scale::over(ends.chain([0.0]), "%");
    let last = shown.len().saturating_sub(1);
    let paper = |(at, it)| paper(it, &scale, at == last);
    View {
        notice: open_words(open).map(|words| format!("{words}.")),
        one: open.wrong + open.edited == 1,
        next: next(stage, found),
        view_only: false,
        stock: format!(
            "{}, {}",
            plural(book.papers().len(), "paper"),
            plural(book.threads().len(), "thread")
        ),
        log: plural(book.trials().len(), "trial"),
        typical: typical.unwrap_or_default(),
        papers: shown.iter().enumerate().map(paper).collect(),
        more: found.papers.len() - shown.len(),
        ready: format!(
            "A paper is ready once it has been tried and its 90 % range is at most {:.0} points \
             wide, as wide as a usual target (common practice, no source).",
            Readiness::ROOM
        ),
    }
}

fn paper(of: &Readiness, scale: &Scale, ticks: bool) -> Paper {
    let swell = of.swell.each();
    let (middle, range) = percent_range(swell);
    let title = format!("{}: {middle} %, 90 % range {range} %", of.paper);
    let strip = Strip { ticks, ..Strip::new(title, scale, swell) };
    Paper { name: of.paper.to_string(), strip, middle, range }
}

fn next(stage: &Stage, found: &Prospects) -> Next {
    if let Stage::Open(trial, state) = stage {
        let pairs = [("trial", Some(trial.as_str())), ("state", Some(state.word()))];
        let (title, words) = match state.is_knocked() {
            true => (
                format!("Next: knock down {trial}, then measure it again"),
                "It is measured as sewn. The hammer's share shows only when it is measured again.",
            ),
            false => {
                (format!("Next: measure {trial}, as sewn"), "It is recorded but not yet measured.")
            }
        };
        let path = address("/measure", &pairs);
        let button = format!("Measure {trial} {}", state.phrase());
        return Next { title, words: words.to_owned(), path, button };
    }
    match found.next.first() {
        Some(best) => advised(best),
        None => Next {
            title: "Next: plan a book".to_owned(),
            words: "More trials would hardly narrow the prediction of any typical book.".to_owned(),
            path: PLAN.to_owned(),
            button: "Plan a book".to_owned(),
        },
    }
}

/// Suggests the block that narrows the prediction of a typical book most.
fn advised(best: &TrialChoice) -> Next {
    let (run, sewing) = (&best.block.run, best.block.run.sewing);
    let numbers = [sewing.sections(), sewing.sheets(), sewing.on().into()];
    let [sections, sheets, on] = numbers.map(|number| number.to_string());
    let ends = sewing.ends_text();
    let pairs = [
        ("paper", Some(run.paper.name.as_str())),
        ("thread", Some(run.thread.name.as_str())),
        ("sections", Some(sections.as_str())),
        ("sheets", Some(sheets.as_str())),
        ("on", Some(on.as_str())),
        ("ends", Some(ends.as_str())),
        ("boned", Some(if run.boned { "yes" } else { "no" })),
    ];
    Next {
        title: format!("Next: sew a trial block of {}", run.paper.name),
        words: sewn_words(best),
        path: address("/trial", &pairs),
        button: "Record this block".to_owned(),
    }
}
