//! Coefficients and spreads in a binder's words.

use crate::model::{Coefficient, SwellSpread};

/// A coefficient in a few words, because it appears in a narrow table.
pub(crate) fn coefficient_words(coefficient: Coefficient) -> &'static str {
    match coefficient {
        Coefficient::Factor => "thread showing",
        Coefficient::Hard => "on hard paper",
        Coefficient::Soft => "on soft paper",
        Coefficient::Boned => "folds boned",
        Coefficient::Knocked => "knocked down",
        Coefficient::Pressed => "pressed",
        Coefficient::Depth => "deeper sections",
        Coefficient::Length => "more sections",
        Coefficient::TwoOn => "sewn two-on",
        Coefficient::Fold => "fold alone, mm",
        Coefficient::FoldKnocked => "knocked, mm",
    }
}

/// Where the variation of a spread arises.
pub(crate) fn spread_words(spread: SwellSpread) -> &'static str {
    match spread {
        SwellSpread::Paper => "between papers of one hardness",
        SwellSpread::PaperKnocked => "between papers in what knocking down takes out",
        SwellSpread::Thread => "between threads beyond their diameter",
        SwellSpread::Sewing => "between sewings",
        SwellSpread::Stage => "between measurements of one block",
        SwellSpread::Knocking => "in knocking down",
        SwellSpread::Hand => "between hands",
    }
}
