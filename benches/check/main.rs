//! Simulates how often `fit` reports a bend. It should not in books that match the beliefs, and it
//! should in books whose share falls with the number of sections.
//!
//! `cargo bench --bench check` prints the table of docs/how-to/check-the-fit.md (some minutes).
//! `-- --quick` makes a small run of it. `-- --left-out` counts reports on left-out trials (some
//! minutes).

// Other benches and the tests use the rest.
#[allow(dead_code)]
#[path = "../../tests/promises/support"]
mod support {
    pub mod random_books;
}

use support::random_books::{Random, mm, name, on_disk};
use swellbook::book::{Config, Entries};
use swellbook::jobs::beliefs::answer_grounds::Grounds;
use swellbook::jobs::fit::answer_bends::{Covariate, Looked, bends};
use swellbook::jobs::fit::answer_check::check;
use swellbook::jobs::fitted::Bench;
use swellbook::model::{Beliefs, Coefficient, SwellFit, SwellSpread};
use swellbook::observe::{Weighing, observe_entries};
use swellbook::trade::{Hardness, Paper, Reading, Sewing, State, Thread, Trial};

const SECTIONS: [u16; 6] = [6, 8, 10, 14, 18, 24];
const PLACES: [&str; 3] = ["head", "middle", "tail"];
/// Standard deviation of a reading in mm.
const READING: f64 = 0.1;
const SEED: u64 = 20_261_126;

/// How the swell of a block depends on its sections.
#[derive(Clone, Copy, PartialEq)]
enum Truth {
    /// As drawn from the belief about the length.
    Believed,
    /// The swell of the thread grows as the sections to this power, without the belief about the
    /// length.
    Power(f64),
}

/// The belief about the length in the fit.
#[derive(Clone, Copy, PartialEq)]
enum Term {
    Believed,
    /// A fit without a length term.
    None,
}

/// What came out of one book.
struct Found {
    anything: bool,
    sections: bool,
    /// Whether the 90 % range of the length excludes 0.
    term: bool,
}

fn main() {
    let given = |flag: &str| std::env::args().any(|argument| argument == flag);
    let books = if given("--quick") { 60 } else { 300 };
    if given("--left-out") {
        return left_out(if given("--quick") { 12 } else { 100 });
    }
    println!(
        "| truth | the fit | trials | any pattern found | in the sections | `length` without 0 |"
    );
    println!("| --- | --- | --- | --- | --- | --- |");
    for (truth, term) in [
        (Truth::Believed, Term::Believed),
        (Truth::Power(1.0), Term::None),
        (Truth::Power(0.9), Term::None),
        (Truth::Power(0.9), Term::Believed),
        (Truth::Power(0.8), Term::None),
    ] {
        for trials in [4, 8] {
            println!("{}", row(truth, term, trials, books));
        }
    }
}

fn row(truth: Truth, term: Term, trials: usize, books: u64) -> String {
    let found: Vec<Found> = (0..books).filter_map(|book| one(truth, term, trials, book)).collect();
    let share = |is: fn(&Found) -> bool| {
        let count = found.iter().filter(|found| is(found)).count();
        format!("{:.1} %", 100.0 * count as f64 / found.len() as f64)
    };
    let truth = match truth {
        Truth::Believed => "as believed".to_owned(),
        Truth::Power(power) => format!("sections to the power {power}"),
    };
    let (fit, range) = match term {
        Term::Believed => ("as it is", share(|found| found.term)),
        Term::None => ("without `length`", "–".to_owned()),
    };
    let (anything, sections) = (share(|found| found.anything), share(|found| found.sections));
    format!("| {truth} | {fit} | 2 × {trials} | {anything} | {sections} | {range} |")
}

fn one(truth: Truth, term: Term, trials: usize, book: u64) -> Option<Found> {
    let entries = book_of(truth, trials, SEED + book);
    let mut beliefs = Beliefs::default();
    if term == Term::None {
        beliefs.override_coefficient("length", Some(0.0), Some(1e-6)).ok()?;
    }
    let observations = observe_entries(&entries, mm(0.01), Weighing::Judged).ok()?;
    let fit = SwellFit::new(&observations, &beliefs).ok()?;
    let nominal = SwellFit::nominal(&beliefs).ok()?;
    let bench = Bench::new(observations, fit, nominal, Grounds::default());
    let looked = bends(&bench, &beliefs).ok()?;
    let length = bench.fit.effects(&[]).coefficient(Coefficient::Length);
    let sections = |found: &&Looked| found.covariate == Covariate::Sections;
    Some(Found {
        anything: looked.iter().any(|found| found.is_bent()),
        sections: looked.iter().find(sections).is_some_and(|found| found.is_bent()),
        term: length.q05 > 0.0 || length.q95 < 0.0,
    })
}

/// How often left-out trials are reported as out of line, in books that match the beliefs.
fn left_out(books: u64) {
    for trials in [4, 8] {
        let out = |book: &u64| {
            let entries = book_of(Truth::Believed, trials, SEED + book);
            let (_folder, book) = on_disk(&Config::default(), entries);
            let bench = Bench::of(&book).ok()?;
            let found = check(&book, &bench, &mut |_, _| ()).ok()?;
            Some(found.checks.iter().any(|one| one.is_out()))
        };
        let found: Vec<bool> = (0..books).filter_map(|book| out(&book)).collect();
        let count = found.iter().filter(|out| **out).count();
        println!("2 × {trials} trials as believed: {count} of {} out of line", found.len());
    }
}

/// A book of two papers. Everything but the effect of the length is drawn from the beliefs.
fn book_of(truth: Truth, trials: usize, seed: u64) -> Entries {
    let random = &mut Random::new(seed);
    let beliefs = Beliefs::default();
    let coefficients = Coefficient::ALL.map(|name| {
        let belief = beliefs.coefficient(name);
        belief.mean + belief.sd * random.normal()
    });
    let spreads = SwellSpread::ALL.map(|name| (beliefs.scale(name) * random.normal()).abs());
    let of = |name: Coefficient| coefficients[name as usize];
    let spread = |name: SwellSpread| spreads[name as usize];
    let hardness = [Hardness::Medium, Hardness::Hard];
    let calipers = [0.09, 0.11];
    let laid = 0.45;
    let mut made = Entries {
        papers: (0..2)
            .map(|at| Paper::new(name(&format!("paper{at}")), mm(calipers[at]), hardness[at]))
            .collect::<Result<_, _>>()
            .expect("papers"),
        threads: vec![
            Thread::new(name("flax"), Default::default(), None, Some(mm(laid))).expect("a thread"),
        ],
        ..Entries::default()
    };
    let thread = spread(SwellSpread::Thread) * random.normal();
    for paper in 0..2 {
        let own = spread(SwellSpread::Paper) * random.normal();
        let own_knocked = spread(SwellSpread::PaperKnocked) * random.normal();
        let own_fold = 0.010 * random.normal();
        for at in 0..trials {
            let sections = SECTIONS[random.whole(0, 5) as usize];
            let sheets = random.whole(3, 5);
            let sewing = Sewing::new(sections, sheets, 1, 0).expect("a sewing");
            let trial = Trial {
                name: name(&format!("{paper}-{at:02}")),
                date: Some(
                    jiff::civil::date(2026, 1, 1)
                        .saturating_add(jiff::Span::new().days(i64::from(random.whole(0, 300)))),
                ),
                kind: Default::default(),
                paper: made.papers[paper].name.clone(),
                thread: made.threads[0].name.clone(),
                sewing,
                boned: false,
                guards: mm(0.0),
                hand: None,
                note: String::new(),
            };
            let n = f64::from(sections);
            let deep = (f64::from(sheets) * calipers[paper] / laid).ln() - 0.85_f64.ln();
            let hard = [0.0, of(Coefficient::Hard)][paper];
            let base = of(Coefficient::Factor) + hard + of(Coefficient::Depth) * deep;
            let sewn = base + own + thread + spread(SwellSpread::Sewing) * random.normal();
            let hammered = spread(SwellSpread::Knocking) * random.normal();
            let leaves =
                calipers[paper] * f64::from(sewing.leaves()) * (1.04 + 0.02 * random.normal());
            for state in [State::Sewn, State::Knocked] {
                let k = f64::from(u8::from(state.is_knocked()));
                let down = of(Coefficient::Knocked) + own_knocked + hammered;
                let share = sewn + k * down + spread(SwellSpread::Stage) * random.normal();
                let share = match truth {
                    Truth::Believed => share + of(Coefficient::Length) * (n / 10.0).ln(),
                    Truth::Power(power) => share * (n / 10.0).powf(power - 1.0),
                };
                let folds = of(Coefficient::Fold) + own_fold + k * of(Coefficient::FoldKnocked);
                let swell = n * (folds + laid * share);
                for place in PLACES {
                    let mut read = |thickness: f64| {
                        Some(mm(((thickness + READING * random.normal()) * 100.0).round() / 100.0))
                    };
                    let (spine, edge) = (read(leaves + swell), read(leaves));
                    let reading = Reading::new(trial.name.clone(), state, name(place), spine, edge);
                    made.readings.push(reading.expect("a reading"));
                }
            }
            made.trials.push(trial);
        }
    }
    made
}
