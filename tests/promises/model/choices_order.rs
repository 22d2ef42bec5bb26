//! The order of `plan` does not depend on names or on the order of rows. What every binder knows of
//! thread, folding and boning holds between any two choices.

use crate::support::random_books::{Random, Size, entries, mm, name, on_disk};
use crate::support::same_cases;
use proptest::prelude::*;
use std::collections::BTreeSet;
use std::sync::LazyLock;
use swellbook::book::{Book, Config, Entries};
use swellbook::jobs::fitted::Bench;
use swellbook::jobs::plan::answer::{Choice, Choices, search};
use swellbook::jobs::plan::answer_way::Way;
use swellbook::jobs::plan_spec::answer_band::Band;
use swellbook::jobs::plan_spec::answer_question::Question;
use swellbook::model::{PlannedPaper, PlannedThread};
use swellbook::trade::{Hardness, Height, Name, State};

/// Six digits, as for any figure under renaming (invariances.rs).
const TOLERANCE: f64 = 1e-6;

static UNTRIED: LazyLock<Bench> = LazyLock::new(|| {
    let (_dir, book) = on_disk(&Config::default(), Entries::default());
    Bench::of(&book).expect("the beliefs alone")
});

fn question(paper: PlannedPaper, threads: Vec<PlannedThread>) -> Question {
    Question {
        paper,
        threads,
        leaves: 96,
        sheets: (2, 4),
        state: State::Knocked,
        hand: None,
        guards: None,
        fore_edge: None,
        height: Height::new(mm(250.0)).expect("a height"),
        supports: None,
        exposed: false,
        target: Band::new(20.0, 30.0).expect("a band"),
    }
}

/// Every choice from the stock of a book for this paper, best first.
fn ranked(book: &Book, paper: &str) -> Vec<Choice> {
    let bench = Bench::of(book).expect("a made-up book can be fitted");
    let threads = book.threads().iter().filter_map(|thread| bench.thread(&thread.name)).collect();
    let question = question(bench.paper(&name(paper)).expect("a paper"), threads);
    all(&search(&bench, &question).expect("choices"))
}

fn all(choices: &Choices) -> Vec<Choice> {
    choices.best(choices.considered())
}

/// A name that sorts in the opposite order.
fn turned(old: &Name) -> Name {
    let last = |c: char| match c.to_digit(10) {
        Some(digit) => (b'z' - digit as u8) as char,
        None => c,
    };
    name(&format!("other {}", old.as_str().chars().map(last).collect::<String>()))
}

fn renamed(mut made: Entries, random: &mut Random) -> Entries {
    made.papers.iter_mut().for_each(|paper| paper.name = turned(&paper.name));
    made.threads.iter_mut().for_each(|thread| thread.name = turned(&thread.name));
    for trial in &mut made.trials {
        (trial.paper, trial.thread) = (turned(&trial.paper), turned(&trial.thread));
    }
    random.shuffle(&mut made.papers);
    random.shuffle(&mut made.threads);
    random.shuffle(&mut made.trials);
    random.shuffle(&mut made.readings);
    made
}

proptest! {
    #![proptest_config(same_cases(6, 20_260_409))]

    /// Except for threads of one thickness, and odds on the edge between two whole per cents.
    #[test]
    fn the_order_does_not_depend_on_names_or_rows(seed in 0_u64..1000) {
        let made = entries(seed, Size { threads: (2, 3), trials: (2, 8), ..Size::ANY });
        let sizes: BTreeSet<u64> =
            made.threads.iter().map(|thread| (1e4 * thread.diameter().mm()) as u64).collect();
        prop_assume!(sizes.len() == made.threads.len());
        let again = renamed(made.clone(), &mut Random::new(seed));
        let (_dir, book) = on_disk(&Config::default(), made);
        let (_other_dir, other) = on_disk(&Config::default(), again);
        let (before, after) = (ranked(&book, "paper1"), ranked(&other, turned(&name("paper1")).as_str()));
        let edge = |chance: f64| ((100.0 * chance).fract() - 0.5).abs() < 100.0 * TOLERANCE;
        prop_assume!(!before.iter().any(|choice| edge(choice.chance)));
        prop_assert_eq!(before.len(), after.len());
        for (one, two) in before.iter().zip(&after) {
            prop_assert_eq!(&turned(&one.way.thread.name), &two.way.thread.name);
            prop_assert_eq!((one.way.sewing, one.way.boned), (two.way.sewing, two.way.boned));
            prop_assert!((one.chance - two.chance).abs() < TOLERANCE);
        }
    }

    /// Before any trial, for any paper and thread.
    #[test]
    fn between_any_two_choices_holds_what_every_binder_knows(
        caliper_mm in 0.06..0.2_f64,
        diameter in 0.3..0.6_f64,
    ) {
        let hardness = Hardness::Medium;
        let paper = PlannedPaper { name: name("paper"), level: None, caliper_mm, hardness };
        let thread = |text, diameter_mm| {
            PlannedThread { name: name(text), level: None, diameter_mm }
        };
        let threads = vec![thread("fine", diameter), thread("thick", 1.2 * diameter)];
        let choices = all(&search(&UNTRIED, &question(paper, threads)).expect("choices"));
        prop_assert_eq!(choices.len(), 2 * 3 * 3 * 2);
        for (one, two) in choices.iter().flat_map(|one| choices.iter().map(move |two| (one, two))) {
            let (a, b) = (&one.way, &two.way);
            let is_thick = |way: &Way| way.thread.name.as_str() == "thick";
            let alike = [
                is_thick(a) == is_thick(b),
                a.sewing.sheets() == b.sewing.sheets(),
                a.sewing.on() == b.sewing.on(),
                a.boned == b.boned,
            ];
            if alike.iter().filter(|&&alike| alike).count() != 3 {
                continue;
            }
            // The two ways differ in one thing. This says whether that gives the first one more
            // swell.
            let more = (is_thick(a) && !is_thick(b))
                || a.sewing.sheets() < b.sewing.sheets()
                || a.sewing.on() < b.sewing.on()
                || (!a.boned && b.boned);
            if more {
                prop_assert!(one.swell.q50 > two.swell.q50, "{a:?} {b:?}");
                prop_assert!(one.percent.q50 > two.percent.q50, "{a:?} {b:?}");
            }
            let takes_more = a.sewing.traverses() > b.sewing.traverses();
            prop_assert!(!takes_more || one.thread > two.thread, "thread");
        }
    }
}
