//! Several books fitted together are one book in which each has its own papers, threads and hand.
//! The draws and the figures are the same where their readings repeat alike.

use crate::support::random_books::{Size, entries, mm, name};
use std::collections::BTreeSet;
use swellbook::book::{Config, Entries};
use swellbook::model::mixed::Summary;
use swellbook::model::{Beliefs, SwellFit, SwellSpread};
use swellbook::observe::{Joined, Observations, Weighing, observe_entries};
use swellbook::trade::{Reading, State};

/// Sums of the same numbers in the same order.
const SAME: f64 = 1e-12;
/// Sums in another order: see `invariances`.
const OTHER_ORDER: f64 = 1e-6;

const STATES: [State; 2] = [State::Sewn, State::Knocked];

fn book(seed: u64) -> Entries {
    let size = Size { papers: (2, 2), threads: (1, 2), trials: (3, 4), hands: 1 };
    entries(seed, size)
}

/// The same book with one reading at each edge of each state, so its repeatability is unknown.
fn read_once(mut made: Entries) -> Entries {
    let mut seen = BTreeSet::new();
    made.readings.retain(|one| {
        let both = one.spine().is_some() && one.fore_edge().is_some();
        both && seen.insert((one.trial.clone(), one.state.word()))
    });
    made
}

/// The same book measured with an erratic gauge: every other spine is 0.2 mm thicker.
fn strayed(mut made: Entries) -> Entries {
    for (reading, at) in made.readings.iter_mut().zip(0..) {
        let out = if at % 2 == 0 { 0.2 } else { 0.0 };
        let spine = reading.spine().map(|spine| mm(spine.mm() + out));
        let (trial, place) = (reading.trial.clone(), reading.place.clone());
        let new = Reading::new(trial, reading.state, place, spine, reading.fore_edge());
        *reading = new.expect("a reading");
    }
    made
}

fn observed(made: &Entries) -> Observations {
    observe_entries(made, Config::default().resolution, Weighing::Judged).expect("observations")
}

/// One book of two hands. The names of the second book's papers, threads and trials get a prefix.
fn of_two_hands(first: &Entries, second: &Entries) -> Entries {
    let other = |known: &swellbook::trade::Name| name(&format!("other {known}"));
    let mut all = first.clone();
    all.trials.iter_mut().for_each(|trial| trial.hand = Some(name("Anna")));
    all.papers.extend(second.papers.iter().cloned().map(|mut paper| {
        paper.name = other(&paper.name);
        paper
    }));
    all.threads.extend(second.threads.iter().cloned().map(|mut thread| {
        thread.name = other(&thread.name);
        thread
    }));
    all.trials.extend(second.trials.iter().cloned().map(|mut trial| {
        trial.hand = Some(name("Bela"));
        (trial.paper, trial.thread) = (other(&trial.paper), other(&trial.thread));
        trial.name = other(&trial.name);
        trial
    }));
    all.readings.extend(second.readings.iter().cloned().map(|mut reading| {
        reading.trial = other(&reading.trial);
        reading
    }));
    all
}

fn put(figures: &mut Vec<f64>, summaries: &[Summary]) {
    for Summary { mean, sd, q05, q50, q95 } in summaries {
        figures.extend([mean, sd, q05, q50, q95]);
    }
}

/// Every figure of a fit: coefficients, spreads, hands, and the factors and threads in the order of
/// the books' numbers.
fn figures(all: &Observations, order: &[(usize, &Observations)]) -> Vec<f64> {
    let fit = SwellFit::new(all, &Beliefs::default()).expect("a fit");
    let (effects, hands) = (fit.effects(&STATES), fit.hand_effects(all));
    let mut figures = vec![fit.record().effective_draws, fit.mode_log_likelihood()];
    put(&mut figures, &effects.coefficients.iter().map(|one| one.1).collect::<Vec<_>>());
    for (_, spread, mode) in fit.spreads() {
        put(&mut figures, &[spread]);
        figures.push(mode);
    }
    let mut places = order.to_vec();
    places.sort_by_key(|one| one.0);
    // Where each book begins, by its number.
    for (number, of) in &places {
        let before = || order.iter().take_while(|one| one.0 != *number);
        let papers: usize = before().map(|one| one.1.papers.len()).sum();
        let threads: usize = before().map(|one| one.1.threads.len()).sum();
        for paper in papers..papers + of.papers.len() {
            put(&mut figures, &effects.factors[paper]);
            put(&mut figures, &effects.knocked_out[paper..=paper]);
            figures.push(fit.fore_edge_ratios().of(Some(paper)).mean);
        }
        put(&mut figures, &effects.threads[threads..threads + of.threads.len()]);
        put(&mut figures, &hands[before().count()..=before().count()]);
    }
    figures
}

/// The largest difference, relative to the size of the figure.
fn apart(one: &[f64], other: &[f64]) -> f64 {
    assert_eq!(one.len(), other.len());
    let difference = |(a, b): (&f64, &f64)| (a - b).abs() / (1.0 + a.abs());
    one.iter().zip(other).map(difference).fold(0.0, f64::max)
}

#[test]
fn two_books_fit_as_one_book_with_two_hands_if_readings_repeat_alike() {
    for (first, second) in [(3, 4), (5, 6)] {
        let (first, second) = (read_once(book(first)), read_once(book(second)));
        let one = observed(&of_two_hands(&first, &second));
        let (first, second) = (observed(&first), observed(&second));
        let together = Joined::new("Anna", &first).with("Bela", &second).observations;
        assert_eq!((&together.rows, &together.hands), (&one.rows, &one.hands));
        assert!(together.rows.len() >= 4, "{} observations", together.rows.len());
        assert!(together.rows.iter().all(|row| row.spine_readings == 1.0));
        let books = [(0, &first), (1, &second)];
        let apart = apart(&figures(&together, &books), &figures(&one, &books));
        assert!(apart < SAME, "{apart}");
    }
}

/// Where readings repeat differently, only the noise of each row differs. It comes from the
/// repeatability of its own book, not from one pooled over both. With the variances of the one
/// book, the figures are the same again.
#[test]
fn if_readings_repeat_differently_only_the_variances_differ() {
    let (first, second) = (book(7), strayed(book(8)));
    let one = observed(&of_two_hands(&first, &second));
    let (first, second) = (observed(&first), observed(&second));
    assert!(one.down_weighted.is_empty());
    let mut together = Joined::new("Anna", &first).with("Bela", &second).observations;
    let [a, b] = [&first, &second].map(|book| book.repeatability.sd_mm);
    assert!(b > 1.3 * a && together.repeatability == first.repeatability, "{a} {b}");
    let books = [(0, &first), (1, &second)];
    let (own, pooled) = (figures(&together, &books), figures(&one, &books));
    // Without the number of draws and the likelihood: factors, effects and spreads.
    let before = apart(&own[2..], &pooled[2..]);
    for (row, of) in together.rows.iter_mut().zip(&one.rows) {
        assert!(row.variance != of.variance && row.swell_mm == of.swell_mm);
        row.variance = of.variance;
    }
    let after = apart(&figures(&together, &books), &pooled);
    println!("s {a} and {b} mm: figures {before} apart, with the same variances {after}");
    assert!(before > 1e-6 && after < SAME, "{before} {after}");
}

#[test]
fn the_order_of_the_books_changes_no_figure() {
    let made = [book(11), book(12), book(13)].map(|made| observed(&made));
    let [a, b, c] = [0, 1, 2].map(|at| (at, &made[at]));
    let in_order = |order: [(usize, &Observations); 3]| {
        let labels = ["a", "b", "c"];
        let [first, second, third] = order.map(|(at, _)| labels[at]);
        let [one, two, three] = order.map(|(_, of)| of);
        let all = Joined::new(first, one).with(second, two).with(third, three);
        figures(&all.observations, &order)
    };
    let plain = in_order([a, b, c]);
    for order in [[a, c, b], [c, b, a]] {
        let apart = apart(&plain, &in_order(order));
        println!("another order: {apart}");
        assert!(apart < OTHER_ORDER, "{apart}");
    }
}

/// Papers, threads and trials with the same names belong to their own books.
#[test]
fn every_book_keeps_what_is_its_own() {
    let mut several = book(22);
    several.trials[0].hand = Some(name("Ines"));
    let made = [observed(&book(21)), observed(&several), observed(&Entries::default())];
    let joined = Joined::new("a", &made[0]).with("b", &made[1]).with("c", &made[2]);
    let Joined { observations: all, parts } = joined;
    assert_eq!(all.papers[0].name, all.papers[parts[1].papers.start].name, "alike by name");
    assert_eq!(all.hands, ["a", "b, no name", "b, Ines", "c"]);
    assert_eq!(parts[2].trials.len(), 0);
    let mut rows = all.rows.iter();
    for (part, own) in parts.iter().zip(&made) {
        for of in &own.rows {
            let row = rows.next().expect("a row");
            let (trial, was) = (&all.trials[row.trial], &own.trials[of.trial]);
            assert!(part.trials.contains(&row.trial) && part.hands.contains(&trial.hand));
            assert_eq!((row.variance, row.swell_mm), (of.variance, of.swell_mm));
            assert_eq!(all.papers[trial.paper], own.papers[was.paper]);
            assert_eq!(all.threads[trial.thread], own.threads[was.thread]);
            assert!(part.papers.contains(&trial.paper) && part.threads.contains(&trial.thread));
        }
    }
    assert!(rows.next().is_none());
    let fit = SwellFit::new(&all, &Beliefs::default()).expect("a fit");
    let spread = fit.spreads().into_iter().find(|one| one.0 == SwellSpread::Hand);
    let (effects, (_, spread, _)) = (fit.hand_effects(&all), spread.expect("benches differ"));
    // A bench without trials is known as well as any other bench: it is a new draw.
    let new = effects[3];
    assert!(new.mean.abs() < 1e-9 && new.sd > spread.mean, "{new:?} {spread:?}");
}
