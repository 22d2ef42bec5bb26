//! What `next` announces is what a refit gives, and a binder can follow its advice.

use crate::support::assert_contains;
use crate::support::dense::{Block, Linear, Own, SPREADS, Spreads};
use crate::support::dense_draws::Conditioned;
use crate::support::dense_readings::{Observed, hands, observations, repeatability};
use crate::support::folder::{Folder, TOUR_PLAN};
use crate::support::random_books::{
    Random, Size, any_sewing, entries, name, on_disk, tried_paper, tried_thread, untried_paper,
};
use std::sync::LazyLock;
use swellbook::book::{Book, Config};
use swellbook::jobs::fitted::Bench;
use swellbook::jobs::forecast::answer_tried::Tried;
use swellbook::jobs::next::answer::{NextOptions, NextTrial, next_trial};
use swellbook::jobs::next::answer_calibrate::calibrate;
use swellbook::jobs::next::answer_candidates::Stock;
use swellbook::jobs::next::answer_choice::TrialChoice;
use swellbook::jobs::next::answer_minutes::Minutes;
use swellbook::jobs::next::answer_odds::OddsAsked;
use swellbook::jobs::plan_spec::answer_band::Band;
use swellbook::model::{Beliefs, Choosing, Plan, Run, SwellFit, TrialBlock, Wondered, admit};
use swellbook::observe::{Observations, observe};
use swellbook::trade::{Hardness, Sewing, State};

/// Given the spreads, only algebra is left.
const ALGEBRA: f64 = 1e-9;

fn planned(all: &Observations, random: &mut Random, new: bool) -> Run {
    let paper =
        if new { untried_paper("a new paper", 0.13, Hardness::Soft) } else { tried_paper(all, 0) };
    let thread = tried_thread(all, all.threads.len() - 1);
    let boned = random.chance(0.5);
    Run { paper, thread, sewing: any_sewing(random), boned }
}

/// The rows of a block for the dense model, all with the swell `y`.
fn rows(book: &Book, block: &TrialBlock, called: &str, y: f64) -> Vec<Observed> {
    let hand = (hands(book) > 1).then(|| hand_of(book, block.hand));
    let shown = book.config().resolution.mm();
    let noise = repeatability(book) * 2.0 / f64::from(block.readings) + 2.0 * shown * shown / 12.0;
    let row = |&state: &State| Observed {
        swell: y,
        noise,
        expected: of_run(&block.run, hand.as_deref())
            .swell(state, Own { stage: &format!("{called}/{state}"), ..Own::all(called) }),
    };
    block.states.iter().map(row).collect()
}

/// The name of a hand by its index.
fn hand_of(book: &Book, place: usize) -> String {
    observe(book).expect("observations").hands.get(place).cloned().unwrap_or_default()
}

fn of_run<'a>(run: &'a Run, hand: Option<&'a str>) -> Block<'a> {
    Block::of_run(run, u32::from(run.sewing.sections()), hand)
}

fn mode(fit: &SwellFit) -> Spreads {
    let mut mode = [0.0; SPREADS.len()];
    for (spread, _, at) in fit.spreads() {
        mode[SPREADS.iter().position(|(name, _)| *name == spread.name()).unwrap()] = at;
    }
    mode
}

/// The dense model, refitted with any readings of the blocks, has the announced variance.
fn check_book(seed: u64, size: Size, new: bool) {
    let (_dir, book) = on_disk(&Config::default(), entries(seed, size));
    let random = &mut Random::new(seed + 50);
    let all = observe(&book).expect("a made-up book is observed");
    let mut plan = Plan::new(vec![planned(&all, random, new)], State::Knocked).expect("a plan");
    plan.hand = (all.hands.len() > 1).then_some(1);
    let (all, plans) = admit(&all, &[plan]);
    let plan = &plans[0];
    let fit = SwellFit::new(&all, &Beliefs::default()).expect("a fit");
    let block = |states: &[State], random: &mut Random| TrialBlock {
        run: Run { sewing: any_sewing(random), ..plan.runs()[0].clone() },
        hand: plan.hand.unwrap_or(0),
        states: states.to_vec(),
        readings: random.whole(1, 4),
    };
    let sewn = [block(&[State::Sewn, State::Knocked], random)];
    let others = [
        block(&[State::Sewn], random),
        block(&[State::Unsewn, State::Sewn, State::Knocked], random),
        block(&[State::Knocked, State::KnockedPressed], random),
    ];
    let asked = Wondered { all: &all, plan, sewn: &sewn, others: &others };
    let announced = fit.wonder_at_mode(asked).expect("blocks with places");
    let hand = plan.hand.map(|hand| all.hands[hand].clone());
    let whole = of_run(&plan.runs()[0], hand.as_deref());
    let swell: Linear = whole.swell(plan.state, Own::all("the plan"));
    for (other, announced) in others.iter().zip(announced) {
        for y in [-3.0, 8.0] {
            let mut seen = observations(&book);
            seen.extend(rows(&book, &sewn[0], "first", y));
            seen.extend(rows(&book, other, "second", y));
            let spreads = if hands(&book) > 1 { 7 } else { 6 };
            let slow = Conditioned::new(&seen, std::slice::from_ref(&swell), spreads);
            let variance = slow.at(&mode(&fit)).answers[0].1;
            assert!((variance - announced).abs() < ALGEBRA, "{seed}: {variance} {announced}");
        }
    }
    let worth = fit.wonder(Wondered { sewn: &[], ..asked }).expect("blocks with places");
    let sd = fit.predict(plan).swell.sd();
    assert!((worth.before.swell_mm - sd).abs() < ALGEBRA, "{} {sd}", worth.before.swell_mm);
    assert!(worth.never_mm < worth.before.swell_mm);
}

#[test]
fn a_refit_with_any_readings_has_the_variance_that_was_announced() {
    let of = |papers, threads, trials| Size { papers, threads, trials, hands: 1 };
    for (seed, size) in [
        (1, of((1, 1), (1, 1), (0, 0))),
        (3, of((1, 2), (1, 2), (2, 4))),
        (4, of((3, 5), (1, 3), (4, 6))),
        (5, Size { hands: 2, ..of((2, 3), (2, 2), (5, 8)) }),
    ] {
        check_book(seed, size, false);
        check_book(seed, size, true);
    }
}

/// A bench of two papers and three threads with the same trials, with its names changed by
/// `called`.
fn bench_of(called: fn(&str) -> String) -> Bench {
    let mut made = entries(21, Size { papers: (2, 2), threads: (3, 3), trials: (5, 5), hands: 1 });
    let rename = |old: &swellbook::trade::Name| name(&called(old.as_str()));
    made.papers.iter_mut().for_each(|paper| paper.name = rename(&paper.name));
    made.threads.iter_mut().for_each(|thread| thread.name = rename(&thread.name));
    for trial in &mut made.trials {
        (trial.paper, trial.thread) = (rename(&trial.paper), rename(&trial.thread));
    }
    let (_dir, book) = on_disk(&Config::default(), made);
    Bench::of(&book).expect("a bench")
}

static PLAIN: LazyLock<Bench> = LazyLock::new(|| bench_of(str::to_owned));

/// A run of this many sections with stock of the bench.
fn of_sections(bench: &Bench, sections: u16) -> Run {
    Run {
        paper: bench.paper(&bench.observations.papers[0].name).expect("a paper"),
        thread: bench.thread(&bench.observations.threads[1].name).expect("a thread"),
        sewing: Sewing::new(sections, 4, 1, 0).expect("a sewing"),
        boned: false,
    }
}

fn asked(bench: &Bench, run: Run, minutes: Minutes, target: Option<Band>) -> NextTrial {
    let plan = Plan::new(vec![run], State::Knocked).expect("a plan");
    let options = NextOptions { minutes, stock: Stock::OfPlan };
    let leaves = plan.leaves();
    let asked = target.map(|target| OddsAsked { target, leaves, guards: None });
    next_trial(bench, &Config::default(), plan, asked, options).expect("an answer")
}

/// A book of 24 sections without a target.
fn of_24(bench: &Bench, minutes: Minutes) -> NextTrial {
    asked(bench, of_sections(bench, 24), minutes, None)
}

#[test]
fn names_do_not_matter() {
    let turned = bench_of(|name| name.chars().rev().collect::<String>() + " z");
    let [one, other] = [&*PLAIN, &turned].map(|bench| of_24(bench, Minutes::default()));
    let seen = |next: &NextTrial| -> Vec<_> {
        let choices = next.choices.iter();
        choices.map(|c| (c.block.run.sewing, c.block.states.clone(), c.after)).collect()
    };
    assert_eq!(seen(&one), seen(&other));
}

/// The most by which two sums of the same terms may differ.
const LAST_BITS: f64 = 1e-12;

#[test]
fn more_work_never_leaves_more_doubt() {
    let bench = &*PLAIN;
    let next = of_24(&PLAIN, Minutes::default());
    assert!(next.choices.len() > 50, "{}", next.choices.len());
    let mut compared = 0;
    for small in &next.choices {
        assert!(small.after.swell_mm <= next.before.swell_mm + LAST_BITS);
        assert!(small.after.swell_mm >= next.never_mm);
        for large in &next.choices {
            let states = |state| large.block.states.contains(state);
            if large.block.run == small.block.run && small.block.states.iter().all(states) {
                assert!(large.after.swell_mm <= small.after.swell_mm + LAST_BITS);
                compared += 1;
            }
        }
    }
    assert!(compared > next.choices.len());
    let plan = &next.plan;
    let one = &next.choices[0].block;
    let blocks = [1, 2, 3, 6].map(|readings| TrialBlock { readings, ..one.clone() });
    let all = &bench.observations;
    let asked = Wondered { all, plan, sewn: &[], others: &blocks };
    let after = bench.fit.wonder(asked).expect("blocks with places").after;
    assert!(after.windows(2).all(|pair| pair[1].swell_mm < pair[0].swell_mm), "{after:?}");
    let twice = Wondered { sewn: &blocks[2..3], ..asked };
    let twice = bench.fit.wonder(twice).expect("blocks with places").after;
    assert!(twice[2].swell_mm < after[2].swell_mm);
}

#[test]
fn a_block_costs_what_it_says_and_costs_decide() {
    let (usual, of_sections) = (Minutes::default(), Minutes::new([0.0, 10.0, 0.0]).unwrap());
    for minutes in [usual, of_sections] {
        let [setup, section, state] = minutes.each();
        let next = of_24(&PLAIN, minutes);
        for choice in &next.choices {
            let sections = f64::from(choice.block.run.sewing.sections());
            let states = choice.block.states.len() as f64;
            assert_eq!(choice.minutes, setup + section * sections + state * states);
        }
        let rates: Vec<f64> = next.choices.iter().map(|choice| choice.share_per_hour).collect();
        assert!(rates.is_sorted_by(|a, b| a >= b), "{rates:?}");
    }
    let dear_setup = of_24(&PLAIN, Minutes::new([600.0, 1.0, 1.0]).unwrap());
    let sections = |next: &NextTrial| next.choices[0].block.run.sewing.sections();
    assert!(sections(&dear_setup) > sections(&of_24(&PLAIN, of_sections)));
    assert!(dear_setup.choices[0].block.states.len() > 1);
}

#[test]
fn a_new_paper_is_calibrated_by_blocks_of_its_own() {
    let mut run = of_sections(&PLAIN, 24);
    run.paper = untried_paper("never tried", 0.12, Hardness::Hard);
    let plan = Plan::new(vec![run], State::Knocked).expect("a plan");
    let found = calibrate(&PLAIN, &Config::default(), plan, Minutes::default()).expect("an answer");
    assert!(!found.steps.is_empty());
    let own = |step: &TrialChoice| step.block.run.paper.name.as_str() == "never tried";
    assert!(found.steps.iter().all(own));
    let mut doubt = found.before.swell_mm;
    for step in &found.steps {
        assert!(step.after.swell_mm < doubt);
        doubt = step.after.swell_mm;
    }
    let left = (doubt.powi(2) - found.never_mm.powi(2)) / found.never_mm.powi(2);
    assert_eq!(found.reached, left <= 1.0 / 3.0, "{left}");
}

/// A book of many sections, from trials of up to fourteen. It has no target, because the odds
/// change no order and take nearly all the time.
fn asked_long(sections: u16, minutes: Minutes) -> NextTrial {
    asked(&PLAIN, of_sections(&PLAIN, sections), minutes, None)
}

#[test]
fn a_book_far_longer_than_any_trial_is_advised_a_long_block() {
    let bench = &*PLAIN;
    let longest = Tried::of(&bench.observations).longest().expect("trials");
    assert!((7..=14).contains(&longest), "{longest}");
    // Expensive sections: by variance per minute, no long block is among the first.
    let dear = Minutes::new([1.0, 100.0, 0.0]).expect("minutes");
    for (sections, least) in [(2 * longest + 1, longest + 1), (60, 30)] {
        for minutes in [Minutes::default(), dear] {
            let next = asked_long(sections as u16, minutes);
            let long = next.long.expect("a long book");
            assert_eq!((long.longest, u32::from(long.least)), (Some(longest), least));
            let advised = next.advised(6);
            assert_eq!(advised.len(), 6);
            assert!(advised.iter().any(|choice| long.is_met_by(&choice.block)));
            assert!(next.choices.iter().any(|choice| !long.is_met_by(&choice.block)));
        }
    }
    let cheap_first = asked_long(60, dear);
    assert!(
        !cheap_first.choices[..6].iter().any(|it| cheap_first.long.unwrap().is_met_by(&it.block))
    );
    assert_eq!(asked_long(2 * longest as u16, Minutes::default()).long, None);
}

/// If nothing can be chosen, a block does not change the odds on average. If something can, it
/// raises the best odds, and more states raise them more. The points that represent what a block
/// may show give the same odds to a thousandth wherever they should.
#[test]
fn a_block_never_lowers_the_best_odds_on_average() {
    let bench = &*PLAIN;
    // With 24 sections the odds rise by just under a point, with 32 by one and a half.
    let target = Band::new(20.0, 30.0).ok();
    let next = asked(&PLAIN, of_sections(&PLAIN, 32), Minutes::default(), target);
    let now = next.best_odds.as_ref().expect("one run and a target").chance;
    let after: Vec<f64> = next.choices.iter().map(|it| it.best_odds.expect("odds")).collect();
    assert!(after.iter().all(|&after| (now..=1.0).contains(&after)), "{now} {after:?}");
    assert!(after.iter().any(|&after| after > now + 0.01), "{now} {after:?}");
    let plans = [next.plan.clone()];
    let choosing = Choosing { plans: &plans, low_percent: 20.0, high_percent: 30.0 };
    let blocks: Vec<TrialBlock> = next.choices.iter().map(|it| it.block.clone()).collect();
    let alone = bench.fit.odds_gained(&bench.observations, choosing, &blocks).expect("gains");
    assert!(alone.iter().all(|&gain| gain == 0.0), "{alone:?}");
}

#[test]
fn a_two_on_book_is_advised_blocks_sewn_two_on_too() {
    let bench = &*PLAIN;
    let mut run = of_sections(bench, 24);
    run.sewing = Sewing::new(24, 4, 2, 3).expect("a sewing");
    let next = asked(&PLAIN, run, Minutes::default(), None);
    let count = |on| next.choices.iter().filter(|it| it.block.run.sewing.on() == on).count();
    assert!(count(1) > count(2) && count(2) > 0, "{} {}", count(1), count(2));
}

fn on_tour(folder: &Folder, args: &[&str]) -> crate::support::folder::Run {
    folder.on_tour(&[&["next"], args].concat())
}

#[test]
fn a_plan_whose_doubt_is_all_sewing_is_answered_with_that() {
    let folder = Folder::toured();
    let short = [&TOUR_PLAN[..4], &["--sections", "12", "--sheets", "4", "--target", "rounded"]];
    let known = on_tour(&folder, &short.concat()).ends(0).out;
    let parts = ["No trial block is worth sewing", "Measure part-way", "does not by itself"];
    assert_contains(&known.replace('\n', " "), &parts);
    // A book far longer than any trial, whose length is believed to make no difference.
    let settings = folder.read("tour/book.toml") + "[beliefs.length]\nmean = 0.0\nsd = 0.001\n";
    folder.write("tour/book.toml", settings);
    let long = [&TOUR_PLAN[..4], &["--sections", "60", "--sheets", "4"]].concat();
    let long = on_tour(&folder, &long).ends(0).out.replace('\n', " ");
    let parts =
        ["No trial block is worth sewing", "This rests on trial blocks of up to 24 sections"];
    assert_contains(&long, &parts);
    assert!(!long.contains("is long enough"), "{long}");
    let new = ["--paper", "x", "--caliper", "0.15", "--hardness", "soft"];
    let new = on_tour(&folder, &[&new[..], &TOUR_PLAN[2..]].concat()).ends(0).out;
    assert!(new.contains("\nSew next: ") && new.contains(" of x with flax 25/3"), "{new}");
}

#[test]
fn an_impossible_question_is_refused_with_the_way_out() {
    let folder = Folder::toured();
    on_tour(&folder, &[]).ends(2).complains_of(&["--paper", "--thread", "--sheets"]);
    let minutes = |typed| on_tour(&folder, &[&TOUR_PLAN[..], &["--minutes", typed]].concat());
    minutes("setup=-1").ends(3).complains_of(&["--minutes", "0 to 10000"]);
    minutes("setp=1").ends(3).complains_of(&["setup, section, state"]);
    minutes("setup=0,section=0").ends(3).complains_of(&["takes no time"]);
    on_tour(&folder, &["--new-paper", "x"]).ends(3).complains_of(&["--caliper", "--hardness"]);
    on_tour(&folder, &["--new-paper", "x", "--paper", "y"]).ends(2).complains_of(&["--new-paper"]);
}

#[test]
fn more_stock_is_considered_where_it_is_asked_for() {
    let folder = Folder::toured();
    let papers = |args: &[&str]| {
        let value = on_tour(&folder, &[&TOUR_PLAN[..], &["--json"], args].concat()).json();
        let choices = value["choices"].as_array().expect("a list").clone();
        let mut papers: Vec<String> =
            choices.iter().map(|choice| choice["paper"].to_string()).collect();
        papers.sort();
        papers.dedup();
        papers.len()
    };
    assert_eq!((papers(&[]), papers(&["--any-stock"])), (1, 4));
}
