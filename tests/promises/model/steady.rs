//! A book that could be sewn can be fitted, and a fit never hangs on a few draws.

use crate::support::compare_books::believed;
use crate::support::random_books::on_disk;
use std::collections::BTreeSet;
use swellbook::book::Config;
use swellbook::model::{Beliefs, SwellFit};
use swellbook::observe::{Weighing, observe_without};

/// Books drawn from the beliefs whose spreads once came to hang on a single draw: proposals that
/// followed too few points had collapsed.
const ONCE_REFUSED: [u64; 15] =
    [56, 67, 69, 72, 81, 94, 102, 119, 139, 171, 199, 207, 219, 224, 282];

#[test]
fn of_books_that_once_were_refused_four_draws_in_ten_count_and_none_much() {
    for seed in ONCE_REFUSED {
        let (_folder, book) = on_disk(&Config::default(), believed(seed, 2, 2, 6));
        let names = book.trials().iter().map(|trial| BTreeSet::from([&trial.name]));
        let without: Vec<_> = std::iter::once(BTreeSet::new()).chain(names).collect();
        for left_out in without {
            let all = observe_without(&book, &left_out, Weighing::Judged)
                .expect("a book that can be observed");
            let fit = SwellFit::new(&all, &Beliefs::default());
            let fit = match fit {
                Ok(fit) => fit,
                Err(error) => panic!("book {seed} without {left_out:?}: {error}"),
            };
            let record = fit.record();
            let share = record.effective_draws / record.draws as f64;
            let counted = format!("book {seed} without {left_out:?}: {record:?}");
            assert!(record.effective_draws > 150.0 && share > 0.4, "{counted}");
            assert!(record.largest_weight < 0.03, "{counted}");
        }
    }
}
