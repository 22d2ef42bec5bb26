//! The result, in a few sentences and one table.

use crate::page::{held, of_nominal, root};
use crate::support::many_benches::Came;
use crate::tally::At;
use crate::worlds::{Start, TRIALS};
use crate::{Case, Run};
use std::cmp::Ordering;
use std::fmt::Write as _;

/// The pool in question, and the most that its miss may be, in per cent of the nominal miss.
const ASKED: Start = Start::Pool(30);
const HALF: f64 = 50.0;

/// The miss of the sewn book, and of the average of such books.
const NUMBERS: [fn(&Came) -> f64; 2] = [|came| came.points, |came| came.average_points];

fn before(run: &Run, of: Start) -> At {
    let start = run.starts.iter().position(|start| *start == of).expect("a start");
    At { start, trials: 0 }
}

pub fn answer(run: &Run) -> String {
    let mut text = sentences(run, &run.cases[0]);
    text += "\n| world | common practice misses, points | 30 benches | the truth about benches | against the average: 30 benches | the truth about benches | 90 % range holds with 30 benches, % |\n| --- | --- | --- | --- | --- | --- | --- |\n";
    for case in &run.cases {
        let of = |start, number| of_nominal(&case.worlds, before(run, start), number).shown(0);
        let _ = writeln!(
            text,
            "| {} | {} | {} % | {} % | {} % | {} % | {} |",
            case.benches.words(),
            root(&case.worlds, before(run, Start::Nothing), NUMBERS[0]).shown(2),
            of(ASKED, NUMBERS[0]),
            of(Start::Truth, NUMBERS[0]),
            of(ASKED, NUMBERS[1]),
            of(Start::Truth, NUMBERS[1]),
            held(&case.worlds, before(run, ASKED), 0.9).shown(1),
        );
    }
    text + &verdict(run) + &trials(run, &run.cases[0])
}

fn sentences(run: &Run, case: &Case) -> String {
    let miss = |start| root(&case.worlds, before(run, start), NUMBERS[0]).shown(2);
    let share = |start| of_nominal(&case.worlds, before(run, start), NUMBERS[0]).value;
    format!(
        "Before its first trial, a bench that starts from common practice misses its books by {} points.\nA point is one per cent of the fore-edge. Misses are root mean squares unless a table says otherwise.\nWith a pool of 30 benches it misses by {}, which is {:.0} % of that. If it knew exactly how\nbenches differ, it would still miss by {} ({:.0} %). Its own habits, papers, threads and sewings\nremain, and no pool knows them.\n",
        miss(Start::Nothing),
        miss(ASKED),
        share(ASKED),
        miss(Start::Truth),
        share(Start::Truth),
    )
}

/// Which worlds met the expectation.
fn verdict(run: &Run) -> String {
    let mut text = "\nThe expectation was: with 30 benches a first prediction misses by less than half of what nominal\nfigures miss.\n\n".to_owned();
    let targets = ["the book that was sewn", "the average of such books at the bench"];
    for (number, target) in NUMBERS.into_iter().zip(targets) {
        for case in &run.cases {
            let share = |start| of_nominal(&case.worlds, before(run, start), number);
            let (pool, least) = (share(ASKED), share(Start::Truth));
            let verdict = match (pool.beside(HALF), least.beside(HALF)) {
                (Some(Ordering::Less), _) => "met",
                (_, Some(Ordering::Greater)) => "not met, and out of reach of any pool",
                (Some(_), _) => "not met",
                (None, _) => "these worlds do not say",
            };
            let (world, pool) = (case.benches.words(), pool.shown(0));
            let _ = writeln!(text, "- {world}, against {target}: {verdict} ({pool} %)");
        }
    }
    text
}

/// The effect of trials beside a pool.
fn trials(run: &Run, case: &Case) -> String {
    let pool = before(run, ASKED).start;
    let after = |start, trials: usize| {
        let miss = root(&case.worlds, At { start, trials }, NUMBERS[0]).shown(2);
        format!("{miss} after {}", TRIALS[trials])
    };
    let all =
        |start| (1..TRIALS.len()).map(|trials| after(start, trials)).collect::<Vec<_>>().join(", ");
    format!(
        "\nWith trials of its own (world as believed), a bench that started from common practice misses by\n{}. One that started from 30 benches misses by\n{}.\n",
        all(0),
        all(pool)
    )
}
