//! The report as bench pages: what the book has learnt, with its charts.

use super::command::charts;
use super::draw_content::Charts;
use super::draw_papers::{FACTOR, leaning, narrow, of_threads};
use super::draw_proof::{predictions, repeated};
use super::draw_record::{drift, track};
use crate::draw::html::{Block, Figure, Fold};
use crate::jobs::beliefs::text_grounds::grounds_words;
use crate::jobs::chart::answer_residuals::residuals_view;
use crate::jobs::chart::draw_agreement::agreement;
use crate::jobs::chart::draw_residuals::residuals;
use crate::jobs::compare::answer::{CompareError, Compared, compare};
use crate::jobs::compare::answer_refit::Leaving;
use crate::jobs::desk::Desk;
use crate::jobs::fit::answer::learn;
use crate::jobs::forecast::text::source_line;
use crate::jobs::memory::Kept;
use crate::jobs::study::answer::gauged;
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::turned::Turned;
use crate::terminal::refusal::CliError;
use askama::Template;

const LEARNT: &str = "Working out what the trials have taught.";
const NONE_KEPT: &str = "No forecast was kept yet. Keep one on the page Plan, to compare it with the \
                         sewing.";
const PROOF: &str = "Leaving out each trial in turn, and predicting it from the others.";

#[derive(Clone, Copy, PartialEq, Eq)]
enum Tab {
    Papers,
    Trust,
    Hand,
    Left,
}

const TABS: [(Tab, &str, &str); 4] = [
    (Tab::Papers, "papers", "Papers"),
    (Tab::Trust, "trust", "How far to trust it"),
    (Tab::Hand, "hand", "Hand and gauge"),
    (Tab::Left, "left", "What is left over"),
];

/// The parts that are quick to work out.
struct Known {
    trials: usize,
    grounds: String,
    /// The number of trials behind the figures.
    source: String,
    papers: Shown,
    track: Vec<Block>,
    hand: Shown,
}

/// The parts that need a fit for every trial.
struct Proof {
    agreement: Shown,
    left: Shown,
}

#[derive(Clone)]
struct Shown {
    title: String,
    blocks: Vec<Block>,
}

impl Shown {
    /// A figure, with its title over it and blocks below it.
    fn of(figure: Figure, below: Vec<Block>) -> Self {
        let title = figure.title.clone();
        Self { title, blocks: [vec![Block::Figure(figure)], below].concat() }
    }
}

#[derive(Template)]
#[template(path = "bench/learnt.html")]
struct View<'a> {
    tabs: Vec<(String, &'static str, bool)>,
    blocks: Blocks<'a>,
}

#[derive(Template)]
#[template(path = "bench/learnt-nothing.html")]
struct Nothing {
    /// The basis of the figures until there are trials.
    grounds: String,
}

/// Blocks one below the other, in the style of the bench page.
#[derive(Template)]
#[template(path = "bench/blocks.html")]
struct Blocks<'a> {
    blocks: &'a [Block],
}

impl Blocks<'_> {
    fn inside<'f>(&self, fold: &'f Fold) -> Blocks<'f> {
        Blocks { blocks: &fold.blocks }
    }
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let known = desk.of_kept(LEARNT, known)?;
    if known.trials == 0 {
        let grounds = known.grounds.clone();
        return Ok(Content::of("Nothing learnt yet", &Nothing { grounds }).into());
    }
    let asked = form.get("part").unwrap_or_default();
    let tab = TABS.iter().find(|tab| tab.1 == asked).map_or(Tab::Papers, |tab| tab.0);
    let shown = match tab {
        Tab::Papers => known.papers.clone(),
        Tab::Hand => known.hand.clone(),
        Tab::Trust => {
            let mut shown = desk.of_kept(PROOF, proof)?.agreement.clone();
            shown.blocks.push(Block::Heading("Forecasts you kept, and their outcomes".to_owned()));
            shown.blocks.extend(known.track.clone());
            shown
        }
        Tab::Left => desk.of_kept(PROOF, proof)?.left.clone(),
    };
    let tied: Vec<Block> = shown.blocks.into_iter().map(Block::tied).collect();
    let tabs =
        TABS.iter().map(|(own, name, words)| (format!("/learnt?part={name}"), *words, *own == tab));
    let view = View { tabs: tabs.collect(), blocks: Blocks { blocks: &tied } };
    Ok(Content::of(shown.title, &view).beside(known.source.clone()).into())
}

fn known(kept: &Kept) -> Result<Known, CliError> {
    let (book, bench) = (&*kept.book, &*kept.bench);
    let unit = book.config().unit;
    let learnt = learn(book, bench)?;
    let Charts { factors, knockdown, history, .. } = charts(book, bench, None)?;
    let below = vec![
        Block::Words(FACTOR.to_owned()),
        Block::long(narrow(&learnt), "All papers"),
        leaning(&learnt),
        Block::Figure(knockdown),
        of_threads(&learnt, unit),
    ];
    let title = history.title.clone();
    let mut hand = vec![drift(&learnt)];
    if learnt.history.points.len() > 1 {
        hand.push(Block::Figure(history));
    }
    hand.push(Block::Heading("How repeatable the readings are".to_owned()));
    hand.extend(repeated(gauged(book, bench).as_ref(), unit));
    Ok(Known {
        trials: learnt.trials,
        grounds: grounds_words(&bench.grounds),
        source: source_line(learnt.trials, &bench.grounds),
        papers: Shown::of(factors, below),
        track: match learnt.track.forecasts.is_empty() {
            true => vec![Block::Words(NONE_KEPT.to_owned())],
            false => track(&learnt.track),
        },
        hand: Shown { title, blocks: hand },
    })
}

fn proof(kept: &Kept) -> Result<Proof, CliError> {
    let (book, bench) = (&*kept.book, &*kept.bench);
    let compared = match compare(book, bench, Leaving::Trial, &mut |_, _| {}) {
        Ok(compared) => Some(compared),
        Err(CompareError::FewTrials { .. } | CompareError::FewPapers) => None,
        Err(error) => return Err(error.into()),
    };
    shown(kept, compared.as_ref())
}

fn shown(kept: &Kept, compared: Option<&Compared>) -> Result<Proof, CliError> {
    let unit = kept.book.config().unit;
    let words = predictions(compared, unit);
    let Some(compared) = compared else {
        let none = |title: &str| Shown { title: title.to_owned(), blocks: words.clone() };
        return Ok(Proof {
            agreement: none("Too few trials to say how far to trust it"),
            left: none("Too few trials to say what is left over"),
        });
    };
    let view = residuals_view(&kept.bench, compared);
    let near = Figure::of(&|width| agreement(compared, unit, width))?;
    let left = Figure::of(&|width| residuals(&view, unit, width))?;
    Ok(Proof { agreement: Shown::of(near, words), left: Shown::of(left, Vec::new()) })
}
