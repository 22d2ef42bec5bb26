//! Kept forecasts as rows.

use super::held::in_id;
use super::record::{Located, Record, Value};
use crate::book::csv::cells::{Cells, Faulted};
use crate::book::files::names::BookFile;
use crate::trade::{Aim, KeptForecast, Wanted, ranges};
use std::collections::BTreeMap;

/// A chance rounded to four decimals: a hundredth of a per cent.
fn four_decimals(chance: f64) -> f64 {
    (chance * 1e4).round() / 1e4
}

/// Reads the wanted swell and its chance: both or neither.
fn read_aim(cells: &mut Cells<'_>) -> Result<Option<Aim>, Faulted> {
    let wanted = cells.optional::<Wanted>("target");
    let chance = cells.number("chance", ranges::CHANCE);
    match (wanted?, chance?) {
        (Some(wanted), Some(chance)) => {
            Aim::new(wanted, chance).map(Some).map_err(|error| cells.fault("chance", error))
        }
        (None, None) => Ok(None),
        (Some(_), None) => Err(cells.fault(
            "chance",
            "the cell is empty; the chance of meeting the target is expected, from 0 to 1",
        )),
        (None, Some(_)) => {
            Err(cells
                .fault("target", "the cell is empty; the swell that the chance is of is expected"))
        }
    }
}

impl Record for KeptForecast {
    const FILE: BookFile = BookFile::Forecasts;

    fn read(cells: &mut Cells<'_>) -> Result<Self, Faulted> {
        let name = cells.required_name("forecast");
        let made = cells.date("made");
        let made = cells.filled("made", made, "the day the forecast was made is expected");
        let plan = cells.required("plan", "the plan is expected, such as state=knocked");
        let swell = cells.required("quantiles", "five quantiles of the swell are expected");
        let aim = read_aim(cells);
        let outcome = cells.number("outcome", ranges::SWELL_SEEN);
        Ok(Self {
            name: name?,
            made: made?,
            plan: plan?,
            swell: swell?,
            aim: aim?,
            outcome_percent: outcome?,
        })
    }

    fn value(&self, column: &str) -> Value<'_> {
        match column {
            "forecast" => Value::text(self.name.as_str()),
            "made" => Value::shown(self.made),
            "plan" => Value::text(self.plan.text()),
            "quantiles" => Value::shown(self.swell),
            "target" => self.aim.as_ref().map_or(Value::Empty, |aim| Value::shown(&aim.wanted)),
            "chance" => Value::number(self.aim.as_ref().map(|aim| four_decimals(aim.chance()))),
            "outcome" => Value::number(self.outcome_percent),
            _ => Value::Empty,
        }
    }
}

/// What each row is called in `struck.csv`: its name, and `NAME/2` for the second row of a name,
/// struck or not, `NAME/3` for the third. Several forecasts of one name can count side by side, so
/// that the name alone would not say which of them is struck.
pub(in crate::book) fn forecast_ids(rows: &[Located<KeptForecast>]) -> Vec<String> {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let id = |row| {
        let Located { value: KeptForecast { name, .. }, .. }: &Located<KeptForecast> = row;
        let count = seen.entry(name.as_str()).or_default();
        *count += 1;
        let name = in_id(name);
        if *count == 1 { name } else { format!("{name}/{count}") }
    };
    rows.iter().map(id).collect()
}
