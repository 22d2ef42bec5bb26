//! Tests of the text of `fit --with`, with every figure set by hand.

use super::answer_with::{Gained, LearntBench, LearntHand, Together};
use super::text_tests::{about, learnt};
use super::text_with::together_text;
use crate::observe::Repeatability;
use crate::terminal::screen::{Screen, Signs};
use crate::trade::State;
use crate::units::LengthUnit;

fn bench(name: &str, hands: &[(Option<&str>, f64)]) -> LearntBench {
    let hand = |&(hand, effect): &(Option<&str>, f64)| LearntHand {
        hand: hand.map(str::to_owned),
        trials: 3,
        effect: about(effect),
    };
    LearntBench {
        bench: name.to_owned(),
        folder: name.to_lowercase(),
        trials: 3,
        observations: 6,
        repeatability: Repeatability { sd_mm: 0.05, df: 12.0 },
        resolution_mm: 0.01,
        down_weighted: Vec::new(),
        other_beliefs: name == "Bela",
        hands: hands.iter().map(hand).collect(),
    }
}

fn together() -> Together {
    let gained = |state, narrower| Gained {
        paper: "heron wove".to_owned(),
        state,
        alone: about(0.7),
        together: about(0.71),
        narrower,
    };
    Together {
        learnt: learnt(),
        benches: vec![
            bench("Anna", &[(None, 0.02)]),
            bench("Bela", &[(Some(""), -0.04), (Some("Ines"), 0.001)]),
        ],
        bench_difference: about(0.06),
        benches_differ: true,
        gained: vec![gained(State::Sewn, 0.18), gained(State::Knocked, -0.03)],
    }
}

fn said(together: &Together) -> String {
    together_text(together, LengthUnit::Millimetre, Screen::new(80, Signs::Plain))
}

#[test]
fn how_benches_differ_is_said_first() {
    let wanted = "\
One bench's swell differs from another's by about 6 % of the thread build-up
(90 % range 3 to 10 %). Each hand of a bench with several counts as a bench of
its own.

What each bench adds to the thread factor, against an average bench:
  Anna (this book): +0.02 (-0.01 to +0.06), 3 trials
  Bela, no name: -0.04 (-0.07 to 0.00), 3 trials
  Bela, Ines: 0.00 (-0.03 to +0.04), 3 trials

What the other books add to the factors of this one:
                 alone  range             all  its range
heron wove (range 18 % narrower as sewn, 3 % wider knocked down)
  as sewn         0.70  0.67 to 0.74     0.71  0.68 to 0.75
  knocked down    0.70  0.67 to 0.74     0.71  0.68 to 0.75

The book.toml of Bela has other starting beliefs; those of this book are used
for all.

";
    let text = said(&together());
    assert!(text.starts_with(wanted), "{text}");
    assert!(text.contains("Anna 0.050 mm, Bela\n0.050 mm. Each observation is weighted"), "{text}");
    assert!(text.ends_with("Based on 6 trials, 12 observations of 2 books."), "{text}");
}

#[test]
fn benches_that_do_not_differ_and_a_book_without_trials_are_said_so() {
    let mut alike = together();
    alike.benches_differ = false;
    alike.gained = Vec::new();
    let text = said(&alike);
    assert!(text.starts_with("The 2 books show no difference between benches"), "{text}");
    assert!(text.contains("up to 10 % of the thread build-up"), "{text}");
    assert!(text.contains("This book has no measured trial yet"), "{text}");
}

#[test]
fn no_line_is_wider_than_the_terminal() {
    let text = together_text(&together(), LengthUnit::Millimetre, Screen::new(60, Signs::Plain));
    assert!(text.lines().all(|line| line.chars().count() <= 60), "{text}");
}
