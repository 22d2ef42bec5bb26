//! A book that could be sewn can be fitted, and a fit never rests on a few draws.

use crate::support::compare_books::believed;
use crate::support::random_books::on_disk;
use std::collections::BTreeSet;
use swellbook::book::Config;
use swellbook::model::mixed::MixedParams;
use swellbook::model::{Beliefs, SwellFit};
use swellbook::observe::{Weighing, observe_without};

/// Books drawn from the beliefs whose spreads once rested on a single draw. Proposals that followed
/// too few points had collapsed.
const ONCE_REFUSED: [u64; 15] =
    [56, 67, 69, 72, 81, 94, 102, 119, 139, 171, 199, 207, 219, 224, 282];

/// How many draws are made. A fit by itself makes a few hundred.
const DRAWS: usize = 1_024;

#[test]
fn books_that_were_once_refused_have_hundreds_of_draws_that_count() {
    for seed in ONCE_REFUSED {
        let (_folder, book) = on_disk(&Config::default(), believed(seed, 2, 2, 6));
        let names = book.trials().iter().map(|trial| BTreeSet::from([&trial.name]));
        let without: Vec<_> = std::iter::once(BTreeSet::new()).chain(names).collect();
        for left_out in without {
            let all = observe_without(&book, &left_out, Weighing::Judged)
                .expect("a book that can be observed");
            let record = |params| match SwellFit::with(&all, &Beliefs::default(), params) {
                Ok(fit) => fit.record().clone(),
                Err(error) => panic!("book {seed} without {left_out:?}: {error}"),
            };
            let draws = record(MixedParams::new().draws(DRAWS)).effective_draws;
            assert!(draws > 400.0, "book {seed} without {left_out:?}: {draws:.0} draws");
            let usual = record(MixedParams::new());
            let share = usual.effective_draws / usual.draws as f64;
            assert!(share > 0.4, "book {seed} without {left_out:?}: {usual:?}");
        }
    }
}
