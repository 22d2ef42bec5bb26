use super::held::in_id;
use super::record::Located;
use super::table::*;
use crate::trade::{Aim, KeptForecast, KeptPlan, Name, SwellQuantiles, Wanted, ranges};
use jiff::civil::Date;
use std::collections::BTreeMap;

columns! {
    kept: KeptForecast in BookFile::Forecasts => ForecastRow, ForecastParts;
    name: Name, needed(A_NAME),
        Column::new("forecast", "A book", "the name of the sewing as a trial, recorded or still \
            to come; several forecasts may have one name, and the one made last is used"),
        kept.name.clone();
    made: Date, needed("the day the forecast was made is expected"),
        Column::new("made", "2026-03-14", "the day"), kept.made;
    plan: KeptPlan, needed("the plan is expected, such as state=knocked"),
        Column::new("plan", "state=knocked", "text: `state=` and a state with thread, then the \
            runs, separated by `;`, each `key=value` separated by commas; a value with `,` `;` `=` \
            or a quotation mark in it is in double quotes. The program reads the state \
            and, if the plan has one run, how it is sewn"), kept.plan.clone();
    swell: SwellQuantiles, needed("five quantiles of the swell are expected"),
        Column::new("quantiles", "05=23.1;25=25;50=26.2;75=27.5;95=29.4", "the predicted swell in \
            per cent: `05=23.1;25=25;50=26.2;75=27.5;95=29.4`"), kept.swell;
    wanted: Wanted, optional,
        Column::new("target", "rounded 12..22", "`25..35`, its name before it where it has one: \
            `rounded 12..22`; bounds that begin with a minus have the word `wanted` before them"),
        kept.aim.as_ref().map(|aim| aim.wanted.clone());
    chance: f64, optional,
        Column::new("chance", "0.8125", "the promised chance of meeting it").within(ranges::CHANCE)
            .needs("with `target`"), kept.aim.as_ref().map(|aim| four_decimals(aim.chance()));
    outcome: f64, optional,
        Column::new("outcome", "24.5", "the measured swell in per cent, if you want to write it \
            down by hand; it is shown where the trial has no readings in that state, and is not \
            counted: no fit learns from it").within(ranges::SWELL_SEEN), kept.outcome_percent;
}

/// Rounds a chance to four decimals, a hundredth of a per cent.
fn four_decimals(chance: f64) -> f64 {
    (chance * 1e4).round() / 1e4
}

/// The wanted swell and its chance: both or neither.
fn aim(wanted: Option<Wanted>, chance: Option<f64>) -> Result<Option<Aim>, Misfit> {
    match (wanted, chance) {
        (Some(wanted), Some(chance)) => Aim::new(wanted, chance)
            .map(Some)
            .map_err(|error| Misfit::at(ForecastRow::chance, error)),
        (None, None) => Ok(None),
        (Some(_), None) => Err(Misfit::at(
            ForecastRow::chance,
            "the cell is empty; the chance of meeting the target is expected, from 0 to 1",
        )),
        (None, Some(_)) => Err(Misfit::at(
            ForecastRow::wanted,
            "the cell is empty; the swell that the chance is of is expected",
        )),
    }
}

impl Record for KeptForecast {
    type Row = ForecastRow;

    fn made_of(parts: ForecastParts) -> Result<Self, Misfit> {
        Ok(Self {
            aim: aim(parts.wanted?, parts.chance?)?,
            name: parts.name?,
            made: parts.made?,
            plan: parts.plan?,
            swell: parts.swell?,
            outcome_percent: parts.outcome?,
        })
    }
}

/// The id of each row in `struck.csv`. It is the name; the second row of a name, struck or not, is
/// `NAME/2`, the third `NAME/3`. Several forecasts of one name can count side by side, so the name
/// alone would be ambiguous.
pub(in crate::book) fn forecast_ids(rows: &[Located<KeptForecast>]) -> Vec<String> {
    let mut seen: BTreeMap<&str, usize> = BTreeMap::new();
    let names = rows.iter().map(|row| &row.value.name);
    let ids = names.map(|name| {
        let count = seen.entry(name.as_str()).or_default();
        *count += 1;
        let name = in_id(name);
        if *count == 1 { name } else { format!("{name}/{count}") }
    });
    ids.collect()
}
