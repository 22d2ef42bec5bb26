//! Draws from a fit as columns, with names that R and Python accept unchanged.

use super::answer::{DrawTable, DrawnAs, DrawnColumn, DrawnOf};
use super::answer_columns::Taken;
use super::text_format::{column, numbered};
use crate::terminal::mark::DRAWS;
use polars::prelude::Column;

pub(crate) fn draw_columns(table: &DrawTable) -> Vec<Column> {
    let mut columns = vec![
        numbered(DRAWS, table.weights.len()),
        column("weight", &table.weights, |weight| *weight),
    ];
    let named = names(&table.columns).into_iter().zip(&table.columns);
    columns.extend(named.map(|(name, drawn)| column(&name, &drawn.values, |value| *value)));
    columns
}

pub(crate) fn names(columns: &[DrawnColumn]) -> Vec<String> {
    let mut taken = Taken::default();
    let name = |column: &DrawnColumn| {
        let of = match &column.of {
            DrawnOf::Spread(spread) => format!("spread_{}", spread.name()),
            DrawnOf::Coefficient(name) => name.name().to_owned(),
            DrawnOf::Effect(kind, of) => format!("{kind}__{}", taken.word(kind, of)),
        };
        match column.holds {
            DrawnAs::Value => of,
            DrawnAs::Mean => format!("{of}_mean"),
            DrawnAs::Sd => format!("{of}_sd"),
        }
    };
    columns.iter().map(name).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_two_columns_have_one_name() {
        let papers = ["bond 80", "bond-80", "BOND 80", "bond 80 2", "紙", "和", ""];
        let column = |(kind, paper): (&'static str, &&str)| DrawnColumn {
            of: DrawnOf::Effect(kind, (*paper).to_owned()),
            holds: DrawnAs::Value,
            values: Vec::new(),
        };
        let kinds = ["paper", "paper_knocked"];
        let columns = kinds.iter().flat_map(|&kind| papers.iter().map(move |paper| (kind, paper)));
        let found = names(&columns.map(column).collect::<Vec<_>>());
        let wanted = ["bond_80", "bond_80_2", "BOND_80_3", "bond_80_2_2"];
        let wanted = wanted.iter().chain(&["unnamed", "unnamed_2", "unnamed_3"]);
        assert!(
            found[..7]
                .iter()
                .eq(wanted.map(|word| format!("paper__{word}")).collect::<Vec<_>>().iter()),
            "{found:?}"
        );
        let mut small: Vec<String> = found.iter().map(|name| name.to_lowercase()).collect();
        small.sort();
        small.dedup();
        assert_eq!(small.len(), 14, "{found:?}");
    }
}
