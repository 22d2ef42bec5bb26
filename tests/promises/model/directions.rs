//! What every binder knows (common practice, no source). Before any trial all of it holds. After
//! trials a binder's own stock may say otherwise, so the tests assert only what the model keeps
//! whatever was measured.

use crate::support::random_books::{Size, entries, name, on_disk};
use crate::support::same_cases;
use proptest::prelude::*;
use std::sync::LazyLock;
use swellbook::book::{Config, Entries};
use swellbook::model::{
    Beliefs, Gaussian, Plan, PlannedPaper, PlannedThread, Prediction, Run, SwellFit, admit,
};
use swellbook::observe::{Observations, observe};
use swellbook::trade::{Hardness, Name, Sewing, State, ThreadCount, laid_diameter};

/// A quantile is found to about ten digits of the width of its distribution.
const QUANTILE: f64 = 1e-7;
/// Sums and products of a few terms.
const ALGEBRA: f64 = 1e-9;

const SEED: u64 = 20_260_401;

static UNTRIED: LazyLock<SwellFit> =
    LazyLock::new(|| SwellFit::nominal(&Beliefs::default()).expect("the beliefs alone"));

/// A book of one run, before its plan is made.
#[derive(Clone, Copy, Debug)]
struct Sewn {
    caliper: f64,
    hardness: Hardness,
    diameter: f64,
    sections: u16,
    sheets: u16,
    on: u8,
    ends: u16,
    boned: bool,
    state: State,
    /// Their indices in a fit.
    paper: Option<usize>,
    thread: Option<usize>,
}

impl Sewn {
    fn sewing(self) -> Sewing {
        Sewing::new(self.sections, self.sheets, self.on, self.ends).expect("a sewing")
    }

    fn plan(self) -> Plan {
        let paper: Name = name("paper");
        let (level, caliper_mm, hardness) = (self.paper, self.caliper, self.hardness);
        let paper = PlannedPaper { name: paper, level, caliper_mm, hardness };
        let (level, diameter_mm) = (self.thread, self.diameter);
        let thread = PlannedThread { name: name("thread"), level, diameter_mm };
        let run = Run { paper, thread, sewing: self.sewing(), boned: self.boned };
        Plan::new(vec![run], self.state).expect("a plan")
    }

    fn predicted(self, fit: &SwellFit) -> Prediction {
        fit.predict(&self.plan())
    }

    /// Median swell before any trial, in mm and in per cent.
    fn untried(self) -> (f64, f64) {
        let prediction = self.predicted(&UNTRIED);
        (prediction.swell.quantile(0.5), prediction.percent_quantile(0.5))
    }

    /// Whether both mm and per cent fall from here to `other` before any trial.
    fn falls_to(self, other: Self) -> bool {
        let (before, after) = (self.untried(), other.untried());
        after.0 < before.0 && after.1 < before.1
    }
}

fn diameter(count: &str) -> f64 {
    let count: ThreadCount = count.parse().expect("a count");
    laid_diameter(Default::default(), count.linear_density())
}

/// Four-sheet sections of hard 80 g/m² bond with 25/3, knocked down.
fn hard_bond() -> Sewn {
    Sewn {
        caliper: 0.10,
        hardness: Hardness::Hard,
        diameter: diameter("lea 25/3"),
        sections: 24,
        sheets: 4,
        on: 1,
        ends: 0,
        boned: false,
        state: State::Knocked,
        paper: None,
        thread: None,
    }
}

#[test]
fn threads_are_as_thick_as_binders_know_them() {
    let about = |count, low: f64, high: f64| {
        let laid = diameter(count);
        assert!((low..high).contains(&laid), "{count}: {laid} mm");
    };
    about("lea 18/3", 0.50, 0.60);
    about("lea 25/3", 0.42, 0.50);
    about("lea 18/5", 0.65, 0.75);
    about("lea 40/3", 0.32, 0.38);
}

#[test]
fn customary_sections_come_out_fit_for_rounding_and_backing() {
    let soft = Sewn {
        caliper: 0.155,
        hardness: Hardness::Soft,
        diameter: diameter("lea 18/3"),
        sheets: 3,
        ..hard_bond()
    };
    for sewn in [hard_bond(), soft] {
        let percent = sewn.untried().1;
        assert!((25.0..=35.0).contains(&percent), "{sewn:?}: {percent} %");
    }
}

#[test]
fn two_on_puts_in_half_the_thread_and_three_on_a_third() {
    let effective = |on, ends| Sewing::new(24, 4, on, ends).unwrap().effective_sections();
    assert_eq!([effective(1, 0), effective(2, 0), effective(3, 0)], [24.0, 12.0, 8.0]);
    // Two sections at each end all along: 4 + 20/2, 4 + 20/3.
    assert_eq!([effective(1, 2), effective(2, 2)], [24.0, 14.0]);
    assert!((effective(3, 2) - (4.0 + 20.0 / 3.0)).abs() < 1e-12);
}

fn any_hardness() -> impl Strategy<Value = Hardness> {
    prop_oneof![Just(Hardness::Hard), Just(Hardness::Medium), Just(Hardness::Soft)]
}

fn any_sewn() -> impl Strategy<Value = Sewn> {
    let stock = (0.06..0.22_f64, any_hardness(), 0.3..0.8_f64);
    let sewing = (6_u16..40, 1_u16..7, any::<bool>(), any::<bool>());
    (stock, sewing).prop_map(|(stock, sewing)| Sewn {
        caliper: stock.0,
        hardness: stock.1,
        diameter: stock.2,
        sections: sewing.0,
        sheets: sewing.1,
        boned: sewing.2,
        state: if sewing.3 { State::Knocked } else { State::Sewn },
        ..hard_bond()
    })
}

/// The same sewing with the first paper and thread of a made-up book.
fn on_stock(sewn: Sewn, all: &Observations) -> Sewn {
    let (paper, thread) = (&all.papers[0], &all.threads[0]);
    Sewn {
        caliper: paper.caliper_mm,
        hardness: paper.hardness,
        diameter: thread.diameter_mm,
        paper: Some(0),
        thread: Some(0),
        ..sewn
    }
}

fn fitted(made: Entries) -> (SwellFit, Observations) {
    fitted_under(&Beliefs::default(), made)
}

/// A fit under the belief that neither the number of sections nor two-on changes the share.
fn proportional(made: Entries) -> (SwellFit, Observations) {
    let mut beliefs = Beliefs::default();
    for name in ["length", "two_on"] {
        beliefs.override_coefficient(name, Some(0.0), Some(1e-12)).expect("a belief");
    }
    fitted_under(&beliefs, made)
}

fn fitted_under(beliefs: &Beliefs, made: Entries) -> (SwellFit, Observations) {
    let (_dir, book) = on_disk(&Config::default(), made);
    let all = observe(&book).expect("a made-up book can be observed");
    (SwellFit::new(&all, beliefs).expect("and fitted"), all)
}

proptest! {
    #![proptest_config(same_cases(48, SEED))]

    #[test]
    fn before_any_trial_swell_falls_as_every_binder_knows(sewn in any_sewn()) {
        let finer = Sewn { diameter: 0.8 * sewn.diameter, ..sewn };
        prop_assert!(sewn.falls_to(Sewn { sheets: sewn.sheets + 1, ..sewn }), "more sheets");
        prop_assert!(sewn.falls_to(Sewn { caliper: 1.2 * sewn.caliper, ..sewn }), "thicker paper");
        prop_assert!(sewn.falls_to(finer), "thinner thread");
        let plain = Sewn { boned: false, state: State::Sewn, ..sewn };
        prop_assert!(plain.falls_to(Sewn { boned: true, ..plain }), "boning");
        prop_assert!(plain.falls_to(Sewn { state: State::Knocked, ..plain }), "knocking down");
        prop_assert!(plain.falls_to(Sewn { state: State::Pressed, ..plain }), "pressing");
        let two_on = Sewn { on: 2, ..sewn };
        prop_assert!(sewn.falls_to(two_on), "two-on");
        prop_assert!(two_on.falls_to(Sewn { on: 3, ..sewn }), "three-on");
        prop_assert!(sewn.falls_to(Sewn { ends: 2, ..two_on }), "two-on but for the ends");
        prop_assert!(Sewn { ends: 2, ..two_on }.falls_to(two_on), "two-on to the ends");
        let paper = |hardness| Sewn { hardness, ..sewn };
        let (hard, medium) = (paper(Hardness::Hard), paper(Hardness::Medium));
        prop_assert!(hard.falls_to(medium) && medium.falls_to(paper(Hardness::Soft)), "softer");
        // The same leaves in fewer, thicker sections have fewer threads.
        let fewer = Sewn { sections: sewn.sections, sheets: 2 * sewn.sheets, ..sewn };
        let more = Sewn { sections: 2 * sewn.sections, ..sewn };
        prop_assert!(more.falls_to(fewer), "the same leaves in half the sections");
    }
}

proptest! {
    #![proptest_config(same_cases(8, SEED))]

    /// Where the share does not change with the number of sections, fold, thread and leaves are
    /// proportional to the sections, and so are their uncertainties. A book with twice the sections
    /// has twice the swell, in every quantile, and the same per cent.
    #[test]
    fn swell_goes_by_the_section(seed in 0_u64..1000, sewn in any_sewn()) {
        let (fit, all) = proportional(entries(seed, Size::ANY));
        let sewn = on_stock(sewn, &all);
        let once = sewn.predicted(&fit);
        let twice = Sewn { sections: 2 * sewn.sections, ..sewn }.predicted(&fit);
        for p in [0.05, 0.5, 0.95] {
            let (once_mm, twice_mm) = (once.swell.quantile(p), twice.swell.quantile(p));
            prop_assert!((2.0 * once_mm - twice_mm).abs() < QUANTILE * (1.0 + twice_mm.abs()));
            let (once, twice) = (once.percent_quantile(p), twice.percent_quantile(p));
            prop_assert!((once - twice).abs() < QUANTILE * (1.0 + once.abs()), "{once} {twice}");
        }
    }

    /// Where two-on adds nothing of its own, thread that is left out is missing in proportion.
    /// Three-on then takes 4/3 of what two-on takes out of all-along sewing.
    #[test]
    fn thread_left_out_is_missing_in_proportion(seed in 0_u64..1000, sewn in any_sewn()) {
        let (fit, all) = proportional(entries(seed, Size::ANY));
        let mean = |on| on_stock(Sewn { on, ..sewn }, &all).predicted(&fit).swell.mean();
        let (two_on, three_on) = (mean(1) - mean(2), mean(1) - mean(3));
        prop_assert!((three_on - two_on * 4.0 / 3.0).abs() < ALGEBRA, "{two_on} {three_on}");
    }

    /// What no trial has tried stays as it was believed, given all the rest. Where nothing was
    /// pressed, pressing still takes 0.04 of the build-up out.
    #[test]
    fn what_was_not_tried_stays_as_believed(seed in 0_u64..1000, sewn in any_sewn()) {
        let mut made = entries(seed, Size::ANY);
        made.readings.retain(|reading| !reading.state.is_pressed());
        let (fit, all) = fitted(made);
        let mean = |state| on_stock(Sewn { state, ..sewn }, &all).predicted(&fit).swell.mean();
        let build_up = all.threads[0].diameter_mm * sewn.sewing().effective_sections();
        let pressed = mean(State::Sewn) - mean(State::Pressed);
        prop_assert!((pressed - 0.04 * build_up).abs() < ALGEBRA * (1.0 + build_up));
    }

    /// Giving untried stock a place of its own says nothing new about it.
    #[test]
    fn stock_given_a_place_is_predicted_as_before(seed in 0_u64..1000, sewn in any_sewn()) {
        let (fit, all) = fitted(entries(seed, Size::ANY));
        let plan = sewn.plan();
        let (placed, plans) = admit(&all, std::slice::from_ref(&plan));
        prop_assert_eq!(placed.papers.len(), all.papers.len() + 1);
        prop_assert!(plans[0].runs()[0].paper.level.is_some());
        let again = SwellFit::new(&placed, &Beliefs::default()).expect("a fit");
        let (new, old) = (again.predict(&plans[0]).swell, fit.predict(&plan).swell);
        for p in [0.05, 0.5, 0.95] {
            let (new, old) = (new.quantile(p), old.quantile(p));
            prop_assert!((new - old).abs() < QUANTILE * (1.0 + old.abs()), "{p}: {old} {new}");
        }
    }

    /// Guards add what they measure and no uncertainty. A thicker block of the same swell swells
    /// less in per cent. A wider target is met no less often, and quantiles rise.
    #[test]
    fn every_prediction_is_in_order(seed in 0_u64..1000, sewn in any_sewn()) {
        let (fit, all) = fitted(entries(seed, Size::ANY));
        let plan = on_stock(sewn, &all).plan();
        let plain = fit.predict(&plan);
        let mut repaired = plan.clone();
        repaired.guards_mm = 0.6;
        let guarded = fit.predict(&repaired);
        prop_assert!((guarded.swell.mean() - plain.swell.mean() - 0.6).abs() < ALGEBRA);
        prop_assert!((guarded.swell.sd() - plain.swell.sd()).abs() < ALGEBRA);
        let on = |mean| {
            let mut measured = plan.clone();
            measured.fore_edge = Some(Gaussian { mean, sd: 0.1 });
            fit.predict(&measured)
        };
        let (thin, thick) = (on(plain.fore_edge.mean), on(1.1 * plain.fore_edge.mean));
        let mut last = f64::NEG_INFINITY;
        for p in [0.05, 0.25, 0.5, 0.75, 0.95] {
            let (before, after) = (thin.percent_quantile(p), thick.percent_quantile(p));
            prop_assert!(before <= 0.0 || after < before, "{p}: {before} became {after}");
            prop_assert!(before > last, "{p}: {before} after {last}");
            last = before;
        }
        let (narrow, wide) = (plain.chance(12.0, 22.0), plain.chance(10.0, 25.0));
        prop_assert!((0.0..=1.0).contains(&narrow) && narrow <= wide && wide <= 1.0);
    }
}
