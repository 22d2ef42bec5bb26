//! What should not matter does not: the order of rows, names, the unit in which a reading was
//! typed, and whether a trial's readings came at once or in two goes.

use crate::support::random_books::{
    Random, Size, entries, mm, name, on_disk, tried_paper, tried_thread,
};
use crate::support::same_cases;
use proptest::prelude::*;
use std::fmt::Write as _;
use swellbook::book::{Book, Config, Entries, SheetOptions, read_sheet};
use swellbook::model::mixed::Summary;
use swellbook::model::{Beliefs, Plan, Prediction, Run, SwellFit};
use swellbook::observe::{Observations, observe};
use swellbook::trade::{Name, Reading, Sewing, State};
use swellbook::units::{LengthUnit, Millimetres, parse_length};

/// Sums in another order differ in their last digits. The search for the mode stops within its
/// tolerance of it, and the draws are laid around the mode. No figure is shown with more than four
/// digits, so six equal digits are the same answer.
const TOLERANCE: f64 = 1e-6;

fn size(hands: u16) -> Size {
    Size { trials: (2, 8), hands, ..Size::ANY }
}

/// The papers, threads and trials that have readings: what a flat sheet can hold of a book.
fn used(mut all: Entries) -> Entries {
    let read: Vec<Name> = all.readings.iter().map(|reading| reading.trial.clone()).collect();
    all.trials.retain(|trial| read.contains(&trial.name));
    let sewn = &all.trials;
    all.papers.retain(|paper| sewn.iter().any(|trial| trial.paper == paper.name));
    all.threads.retain(|thread| sewn.iter().any(|trial| trial.thread == thread.name));
    all
}

/// The indices of papers and threads in a fit.
struct Places<'a>(&'a Observations);

impl Places<'_> {
    fn paper(&self, wanted: &str) -> usize {
        self.0.papers.iter().position(|paper| paper.name.as_str() == wanted).expect("a paper")
    }

    fn thread(&self, wanted: &str) -> usize {
        self.0.threads.iter().position(|thread| thread.name.as_str() == wanted).expect("a thread")
    }

    /// A book of two dozen two-on sections.
    fn plan(&self, paper: usize, thread: usize) -> Plan {
        let run = Run {
            paper: tried_paper(self.0, paper),
            thread: tried_thread(self.0, thread),
            sewing: Sewing::new(24, 4, 2, 1).expect("a sewing"),
            boned: false,
        };
        Plan::new(vec![run], State::Knocked).expect("a plan")
    }
}

/// Figures with their names.
type Figures = Vec<(String, f64)>;

fn put(figures: &mut Figures, what: &str, summary: &Summary) {
    let Summary { mean, sd, q05, q50, q95 } = *summary;
    let named = [("mean", mean), ("sd", sd), ("q05", q05), ("q50", q50), ("q95", q95)];
    figures.extend(named.map(|(figure, value)| (format!("{what} {figure}"), value)));
}

/// Every figure of the fit, and of a prediction for each paper with each thread. They are in the
/// order of `original`, whatever the order and the names in the book.
fn figures(book: &Book, original: &Entries, rename: fn(&str) -> String) -> Figures {
    let all = observe(book).expect("a made-up book can be observed");
    let fit = SwellFit::new(&all, &Beliefs::default()).expect("and fitted");
    let places = Places(&all);
    let mut figures = vec![("repeatability".to_owned(), all.repeatability.sd_mm)];
    let effects = fit.effects(&State::ALL[1..]);
    for (which, summary) in effects.coefficients {
        put(&mut figures, which.name(), &summary);
    }
    for (which, summary, _) in fit.spreads() {
        put(&mut figures, which.name(), &summary);
    }
    for paper in &original.papers {
        let level = places.paper(&rename(paper.name.as_str()));
        effects.factors[level]
            .iter()
            .for_each(|summary| put(&mut figures, paper.name.as_str(), summary));
    }
    for thread in &original.threads {
        let level = places.thread(&rename(thread.name.as_str()));
        put(&mut figures, thread.name.as_str(), &effects.threads[level]);
    }
    for (paper, thread) in pairs(original) {
        let plan = places.plan(places.paper(&rename(&paper)), places.thread(&rename(&thread)));
        put_prediction(&mut figures, &format!("{paper} with {thread}"), &fit.predict(&plan));
    }
    figures
}

fn put_prediction(figures: &mut Figures, what: &str, prediction: &Prediction) {
    put(figures, what, &prediction.swell.summary());
    let percent = [0.05, 0.5, 0.95].map(|p| prediction.percent_quantile(p));
    let plain = [prediction.chance(12.0, 22.0), prediction.fore_edge.mean, prediction.fore_edge.sd];
    let both = percent.into_iter().chain(plain);
    figures.extend(both.map(|value| (format!("{what}, % and fore-edge"), value)));
}

fn pairs(original: &Entries) -> Vec<(String, String)> {
    let papers = original.papers.iter().map(|paper| paper.name.to_string());
    let threads = || original.threads.iter().map(|thread| thread.name.to_string());
    papers.flat_map(|paper| threads().map(move |thread| (paper.clone(), thread))).collect()
}

fn of(original: &Entries, entries: Entries, rename: fn(&str) -> String) -> Figures {
    let (_dir, book) = on_disk(&Config::default(), entries);
    figures(&book, original, rename)
}

fn same(text: &str) -> String {
    text.to_owned()
}

/// Reversed, so that names sort in another order.
fn backwards(text: &str) -> String {
    text.chars().rev().collect()
}

fn check(before: &Figures, after: &Figures) -> Result<(), TestCaseError> {
    prop_assert_eq!(before.len(), after.len());
    for ((what, before), (_, after)) in before.iter().zip(after) {
        let close = (before - after).abs() <= TOLERANCE * (1.0 + before.abs());
        prop_assert!(close, "{}: {} became {}", what, before, after);
    }
    Ok(())
}

fn reading_with(reading: &Reading, edit: impl Fn(Millimetres) -> Millimetres) -> Reading {
    let (trial, place) = (reading.trial.clone(), reading.place.clone());
    let (spine, fore_edge) = (reading.spine().map(&edit), reading.fore_edge().map(&edit));
    Reading::new(trial, reading.state, place, spine, fore_edge).expect("a reading")
}

fn renamed(mut all: Entries) -> Entries {
    let other = |old: &Name| name(&backwards(old.as_str()));
    for paper in &mut all.papers {
        paper.name = other(&paper.name);
    }
    for thread in &mut all.threads {
        thread.name = other(&thread.name);
    }
    for trial in &mut all.trials {
        trial.name = other(&trial.name);
        (trial.paper, trial.thread) = (other(&trial.paper), other(&trial.thread));
        trial.hand = trial.hand.as_ref().map(other);
    }
    for reading in &mut all.readings {
        reading.trial = other(&reading.trial);
    }
    all
}

/// The value as somebody with another gauge types it, with all the digits the unit needs.
fn typed(value: Millimetres, way: u16) -> Millimetres {
    let um = (value.mm() * 1000.0).round();
    let text = match way {
        0 => format!("{}", value.mm()),
        1 => format!("{} mm", value.mm()).replace('.', ","),
        2 => format!("{um} um"),
        3 => format!("{:.12}in", value.mm() / 25.4),
        _ => format!("+{:.9} thou", value.mm() / 0.0254),
    };
    parse_length(&text, LengthUnit::Millimetre).unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn yes_no(yes: bool) -> &'static str {
    if yes { "yes" } else { "no" }
}

/// The readings that `belongs` picks, as a flat sheet.
fn sheet(all: &Entries, mut belongs: impl FnMut() -> bool) -> String {
    let mut text = "trial,paper,hardness,caliper_mm,thread,count,laid_mm,sections,sheets,on,ends,\
                    boned,guards_mm,state,place,spine_mm,fore_edge_mm\n"
        .to_owned();
    for reading in all.readings.iter().filter(|_| belongs()) {
        let trial = all.trials.iter().find(|trial| trial.name == reading.trial).expect("a trial");
        let paper = all.papers.iter().find(|paper| paper.name == trial.paper).expect("a paper");
        let thread =
            all.threads.iter().find(|thread| thread.name == trial.thread).expect("a thread");
        let (sewing, caliper) = (trial.sewing, paper.caliper().mm());
        let mm = |value: Option<Millimetres>| value.map_or(String::new(), |v| v.mm().to_string());
        let count = thread.count().map_or(String::new(), |count| count.to_string());
        let _ = write!(text, "{},{},{},{caliper},", trial.name, paper.name, paper.hardness);
        let _ = write!(text, "{},{count},{},", thread.name, mm(thread.laid()));
        let _ = write!(text, "{},{},", sewing.sections(), sewing.sheets());
        let _ = write!(text, "{},{},{},", sewing.on(), sewing.ends_text(), yes_no(trial.boned));
        let _ = write!(text, "{},{},{},", trial.guards.mm(), reading.state, reading.place);
        let _ = writeln!(text, "{},{}", mm(reading.spine()), mm(reading.fore_edge()));
    }
    text
}

fn import(book: &mut Book, text: &str) {
    if text.lines().count() > 1 {
        let sheet = read_sheet(text.as_bytes(), "sheet.csv", &SheetOptions::default());
        let plan = book.plan_import(&sheet.expect("a sheet")).expect("it fits the book");
        book.append(plan.entries).expect("it can be added");
    }
}

/// The comparison can fail: it notices a single reading changed by a hundredth.
#[test]
fn a_changed_reading_matters() {
    let original = entries(1, size(1));
    let mut other = original.clone();
    let more = |value: Millimetres| mm(value.mm() + 0.01);
    other.readings[0] = reading_with(&other.readings[0], more);
    let before = of(&original, original.clone(), same);
    assert!(check(&before, &of(&original, other, same)).is_err());
}

proptest! {
    #![proptest_config(same_cases(8, 20_260_314))]

    #[test]
    fn the_order_of_rows_does_not_matter(seed in 0_u64..1000, hands in 1_u16..3) {
        let original = entries(seed, size(hands));
        let (random, mut mixed) = (&mut Random::new(seed), original.clone());
        random.shuffle(&mut mixed.papers);
        random.shuffle(&mut mixed.threads);
        random.shuffle(&mut mixed.trials);
        random.shuffle(&mut mixed.readings);
        check(&of(&original, original.clone(), same), &of(&original, mixed, same))?;
    }

    #[test]
    fn names_do_not_matter(seed in 0_u64..1000, hands in 1_u16..3) {
        let original = entries(seed, size(hands));
        let other = of(&original, renamed(original.clone()), backwards);
        check(&of(&original, original.clone(), same), &other)?;
    }

    #[test]
    fn the_unit_typed_does_not_matter(seed in 0_u64..1000) {
        let original = entries(seed, size(1));
        let (random, mut other) = (&mut Random::new(seed), original.clone());
        for reading in &mut other.readings {
            let way = random.whole(0, 4);
            *reading = reading_with(reading, |value| typed(value, way));
        }
        check(&of(&original, original.clone(), same), &of(&original, other, same))?;
    }

    #[test]
    fn readings_may_come_in_two_goes(seed in 0_u64..1000) {
        let original = entries(seed, size(1));
        let random = &mut Random::new(seed);
        let mut first = original.clone();
        let (now, then) = first.readings.into_iter().partition(|_| random.chance(0.5));
        first.readings = now;
        let (_dir, mut book) = on_disk(&Config::default(), first);
        book.append(Entries { readings: then, ..Entries::default() }).expect("the other half");
        check(&of(&original, original.clone(), same), &figures(&book, &original, same))?;
    }

    #[test]
    fn a_sheet_may_come_in_two_halves(seed in 0_u64..1000) {
        let original = used(entries(seed, size(1)));
        let (one, other) = (&mut Random::new(seed), &mut Random::new(seed));
        let halves = [sheet(&original, || one.chance(0.5)), sheet(&original, || !other.chance(0.5))];
        let (_whole_dir, mut whole) = on_disk(&Config::default(), Entries::default());
        import(&mut whole, &sheet(&original, || true));
        let (_dir, mut book) = on_disk(&Config::default(), Entries::default());
        halves.iter().for_each(|half| import(&mut book, half));
        let before = of(&original, original.clone(), same);
        check(&before, &figures(&whole, &original, same))?;
        check(&before, &figures(&book, &original, same))?;
    }
}
