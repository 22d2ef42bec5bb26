//! A repeatability study as a whole.

use super::components::{Component, ComponentKind, of_crossed, of_one_way, of_repeats};
use super::crossed::Crossed;
use super::layout::{Cells, Layout, cells, layout};
use super::one_way::{OneWay, SumOfSquares};
use crate::observe::{Repeatability, Repeats};
use serde::Serialize;
use std::collections::BTreeMap;
use std::f64::consts::SQRT_2;
use thiserror::Error;

/// The probability with which limits contain the true value: 90 %, as for every range of this
/// program.
pub const LEVEL: f64 = 0.90;

/// Why a study cannot show how repeatable readings are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Error)]
pub enum StudyError {
    /// No part was measured twice by one operator.
    #[error("no operator measured a part twice, in {readings} readings")]
    NoRepeats { readings: usize },
}

/// A row of an analysis of variance.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TableRow {
    #[serde(rename = "source")]
    pub kind: ComponentKind,
    /// Its sum of squares, in mm².
    #[serde(flatten)]
    pub squares: SumOfSquares,
    /// Its mean square over the one that it is tested against; `None` for the last row, and if
    /// readings never differ.
    pub f: Option<f64>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Table {
    /// Parts and repeats.
    OneWay(OneWay),
    /// Parts by operators.
    Crossed(Crossed),
    /// Repeats alone.
    Repeats(SumOfSquares),
}

impl Table {
    /// Its rows, from the largest unit to the repeats. Parts and operators are tested against their
    /// interaction, and the interaction against the repeats.
    pub fn rows(&self) -> Vec<TableRow> {
        let row = |kind, squares, f| TableRow { kind, squares, f };
        let last = |within| row(ComponentKind::Repeatability, within, None);
        match *self {
            Self::OneWay(table) if table.between.df > 0.0 => {
                vec![row(ComponentKind::Part, table.between, table.f()), last(table.within)]
            }
            Self::OneWay(table) => vec![last(table.within)],
            Self::Repeats(within) => vec![last(within)],
            Self::Crossed(table) => {
                let Crossed { part, operator, interaction, within, .. } = table;
                let all = part.ss + operator.ss + interaction.ss + within.ss;
                let interaction = interaction.without_rounding(all);
                vec![
                    row(ComponentKind::Part, part, part.over(interaction)),
                    row(ComponentKind::Operator, operator, operator.over(interaction)),
                    row(ComponentKind::OperatorByPart, interaction, interaction.over(within)),
                    last(within),
                ]
            }
        }
    }
}

#[derive(Clone, Debug, PartialEq)]
pub struct OperatorSpread {
    /// The operator's name; empty if unnamed.
    pub operator: String,
    pub readings: usize,
    /// `None` if no part was measured twice.
    pub repeatability: Option<Component>,
}

#[derive(Clone, Debug, PartialEq)]
pub struct Study {
    pub layout: Layout,
    pub readings: usize,
    pub parts: usize,
    pub table: Table,
    /// The components of the variance, repeatability first.
    pub components: Vec<Component>,
    pub operators: Vec<OperatorSpread>,
}

impl Study {
    /// # Errors
    /// [`StudyError`] if nothing was measured twice.
    pub fn new(repeats: &Repeats) -> Result<Self, StudyError> {
        let cells = cells(&repeats.readings);
        let readings = repeats.readings.len();
        let no_repeats = StudyError::NoRepeats { readings };
        let mut by_cell = of_cells(&cells, |_| true).ok_or(no_repeats)?;
        if by_cell.within.df < 1.0 {
            return Err(no_repeats);
        }
        if repeats.of_book {
            by_cell.within = weighed(repeats, |_| true);
        }
        let layout = layout(repeats, &cells);
        let (table, components) = analysed(repeats, &layout, &cells, &by_cell);
        Ok(Self {
            layout,
            readings,
            parts: repeats.parts.len(),
            table,
            components,
            operators: operators(repeats, &cells),
        })
    }

    /// A component, if the layout allows it.
    pub fn component(&self, kind: ComponentKind) -> Option<&Component> {
        self.components.iter().find(|component| component.kind == kind)
    }

    /// Standard deviation of one reading in mm, with its degrees of freedom.
    pub fn repeatability(&self) -> &Component {
        &self.components[0]
    }

    /// Two readings of one part differ by less than this many mm in nineteen cases of twenty:
    /// `1.96·√2·s`. Source: ISO 5725-6:1994, 4.1.4.
    pub fn limit_mm(&self) -> f64 {
        1.96 * SQRT_2 * self.repeatability().sd()
    }

    /// The share of a component in the total variance; `None` without a total, or if readings never
    /// differ.
    pub fn share(&self, kind: ComponentKind) -> Option<f64> {
        let total = self.component(ComponentKind::Total)?.variance;
        let own = self.component(kind)?.variance;
        (total > 0.0).then(|| own / total)
    }

    /// The number of groups of parts that the readings can distinguish, `1.41·σ_P/σ_gauge`. Source:
    /// AIAG, *Measurement Systems Analysis*, 4th ed. (2010), chapter III B, "number of distinct
    /// categories".
    pub fn categories(&self) -> Option<f64> {
        let parts = self.component(ComponentKind::Part)?;
        let gauge = self.component(ComponentKind::Gauge)?;
        (gauge.variance > 0.0).then(|| 1.41 * parts.sd() / gauge.sd())
    }
}

fn analysed(
    repeats: &Repeats,
    layout: &Layout,
    cells: &Cells,
    by_cell: &OneWay,
) -> (Table, Vec<Component>) {
    match layout {
        Layout::Parts(_) => (Table::OneWay(*by_cell), of_one_way(by_cell, LEVEL)),
        Layout::Uneven(_) => (Table::Repeats(by_cell.within), of_repeats(by_cell.within, LEVEL)),
        Layout::Crossed { .. } => {
            let each = cells.iter();
            let list: Vec<_> = each.map(|(&(part, one), mm)| (part, one, mm.clone())).collect();
            let table = Crossed::new(&list, repeats.parts.len(), repeats.operators.len());
            (Table::Crossed(table), of_crossed(&table, LEVEL))
        }
    }
}

/// Analyses the cells of the operators for which `belongs` holds.
fn of_cells(cells: &Cells, belongs: impl Fn(usize) -> bool) -> Option<OneWay> {
    let own = cells.iter().filter(|((_, operator), _)| belongs(*operator));
    let labelled: (Vec<usize>, Vec<f64>) = own
        .enumerate()
        .flat_map(|(group, (_, readings))| readings.iter().map(move |mm| (group, *mm)))
        .unzip();
    OneWay::new(&labelled.0, &labelled.1)
}

/// The squares within parts of these operators' readings, as the fit of their book counts them:
/// each reading by its weight, with the belief before any reading added. Source: docs/slips.md,
/// docs/model.md, "From readings to observations".
fn weighed(repeats: &Repeats, belongs: impl Fn(usize) -> bool) -> SumOfSquares {
    let mut sets: BTreeMap<(usize, usize), Vec<(f64, f64)>> = BTreeMap::new();
    for reading in repeats.readings.iter().filter(|reading| belongs(reading.operator)) {
        let set = sets.entry((reading.part, reading.operator)).or_default();
        set.push((reading.mm, reading.weight));
    }
    let (mut squares, mut freedom) = (0.0, 0.0);
    for set in sets.values() {
        let (count, worth) = (set.len() as f64, set.iter().map(|(_, w)| w).sum::<f64>());
        let mean = set.iter().map(|(x, w)| w * x).sum::<f64>() / worth;
        squares += set.iter().map(|(x, w)| (w * (x - mean)).powi(2)).sum::<f64>();
        freedom += worth * (count - 1.0) / count;
    }
    let (ss, df) = Repeatability::with_belief(squares, freedom);
    SumOfSquares { ss, df }
}

fn operators(repeats: &Repeats, cells: &Cells) -> Vec<OperatorSpread> {
    let spread = |(index, operator): (usize, &String)| {
        let own = of_cells(cells, |other| other == index).filter(|own| own.within.df >= 1.0);
        OperatorSpread {
            operator: operator.clone(),
            readings: repeats.readings.iter().filter(|reading| reading.operator == index).count(),
            repeatability: own.map(|own| {
                let own =
                    if repeats.of_book { weighed(repeats, |one| one == index) } else { own.within };
                of_repeats(own, LEVEL)[0]
            }),
        }
    };
    repeats.operators.iter().enumerate().map(spread).collect()
}
