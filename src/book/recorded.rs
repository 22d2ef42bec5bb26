//! When the trials were first recorded.

use crate::book::entries::record::{Located, Standing};
use crate::book::opened::Book;
use crate::trade::{Name, Trial};
use std::collections::{BTreeMap, HashMap, HashSet};

impl Book {
    /// The number of the row in which each of [`Book::trials`] was first recorded. A corrected trial,
    /// or one that was brought back, has a row further down too. `u32::MAX` if it has no row yet.
    pub fn recorded(&self) -> Vec<u32> {
        let live: HashSet<&Name> = self.trials().iter().map(|trial| &trial.name).collect();
        let mut named: HashMap<&Name, Standing> = HashMap::new();
        let mut renamed: BTreeMap<_, Vec<&Located<Trial>>> = BTreeMap::new();
        for row in &self.gone.trials {
            named.entry(&row.value.name).or_insert(row.row);
            if !live.contains(&row.value.name) {
                renamed.entry(row.value.date).or_default().push(row);
            }
        }
        let first = |(trial, row): (&Trial, &Standing)| {
            let same_day = || renamed.get(&trial.date).into_iter().flatten();
            let under_other_name = || same_day().find(|gone| is_same(&gone.value, trial));
            let before = named.get(&trial.name).copied();
            let before = before.or_else(|| under_other_name().map(|gone| gone.row));
            before.into_iter().chain([*row]).flatten().min()
        };
        let rows = self.trials().iter().zip(&self.rows.trials).map(first);
        rows.map(|row| row.map_or(u32::MAX, |row| row.get())).collect()
    }
}

/// Whether two trials are one, under the same name or under another.
fn is_same(one: &Trial, other: &Trial) -> bool {
    Trial { name: other.name.clone(), ..one.clone() } == *other
}
