//! A forecast that was kept, to be compared with the measured swell.

use super::plan::KeptPlan;
use crate::trade::limits::{OutOfRange, ranges};
use crate::trade::name::{Name, NameError};
use crate::trade::target::{Target, TargetError};
use crate::units::{NumberError, parse_decimal, shown};
use jiff::civil::Date;
use serde::{Serialize, Serializer};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// A prediction as it was made, before the sewing.
#[derive(Clone, Debug, PartialEq)]
pub struct KeptForecast {
    /// The name of the sewing as a trial, which may be recorded later.
    pub name: Name,
    pub made: Date,
    pub plan: KeptPlan,
    pub swell: SwellQuantiles,
    pub aim: Option<Aim>,
    /// The measured swell in per cent, as the binder wrote it down; used only without readings.
    pub outcome_percent: Option<f64>,
}

/// The 5, 25, 50, 75 and 95 % quantiles of a swell in per cent of the fore-edge, in order.
///
/// As text `05=26.58;25=29.14;50=31.01;75=32.8;95=35.31`: rounded to a hundredth of a per cent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SwellQuantiles([f64; 5]);

#[derive(Clone, Debug, PartialEq, Error)]
pub enum QuantilesError {
    #[error(transparent)]
    Value(#[from] OutOfRange),
    #[error(transparent)]
    Number(#[from] NumberError),
    #[error("'{found}' is not five quantiles; write them as 05=23.1;25=25;50=26.2;75=27.5;95=29.4")]
    Form { found: String },
    #[error("the quantiles are not in order: {low} comes before {high}")]
    Order { low: f64, high: f64 },
}

impl SwellQuantiles {
    /// The probabilities of the quantiles in per cent, as they are written.
    const SHARES: [&'static str; 5] = ["05", "25", "50", "75", "95"];

    pub fn new(values: [f64; 5]) -> Result<Self, QuantilesError> {
        for value in values {
            ranges::SWELL_SEEN.check(value)?;
        }
        match values.windows(2).find(|pair| pair[0] > pair[1]) {
            Some(pair) => Err(QuantilesError::Order { low: pair[0], high: pair[1] }),
            None => Ok(Self(values)),
        }
    }

    pub fn values(&self) -> [f64; 5] {
        self.0
    }

    pub fn median(&self) -> f64 {
        self.0[2]
    }

    /// The 50 % range.
    pub fn half(&self) -> (f64, f64) {
        (self.0[1], self.0[3])
    }

    /// The 90 % range.
    pub fn nine_in_ten(&self) -> (f64, f64) {
        (self.0[0], self.0[4])
    }
}

/// As a map with the keys `q05` to `q95`.
impl Serialize for SwellQuantiles {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let named = Self::SHARES.iter().zip(&self.0);
        serializer.collect_map(named.map(|(share, value)| (format!("q{share}"), value)))
    }
}

/// A value rounded to a hundredth, without a negative zero.
fn hundredths(value: f64) -> f64 {
    (value * 100.0).round() / 100.0 + 0.0
}

impl fmt::Display for SwellQuantiles {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let pair = |(share, value): (&str, &f64)| format!("{share}={}", hundredths(*value));
        let pairs: Vec<String> = Self::SHARES.into_iter().zip(&self.0).map(pair).collect();
        f.pad(&pairs.join(";"))
    }
}

impl FromStr for SwellQuantiles {
    type Err = QuantilesError;

    fn from_str(text: &str) -> Result<Self, QuantilesError> {
        let form = || QuantilesError::Form { found: shown(text) };
        let mut values = Vec::new();
        for (index, pair) in text.trim().trim_end_matches(';').split(';').enumerate() {
            let (share, value) = pair.split_once('=').ok_or_else(form)?;
            // A spreadsheet may drop a leading zero, as in `5=` for `05=`.
            let share = format!("{:0>2}", share.trim());
            if Self::SHARES.get(index) != Some(&share.as_str()) {
                return Err(form());
            }
            values.push(parse_decimal(value)?);
        }
        Self::new(values.try_into().map_err(|_| form())?)
    }
}

/// A wanted swell as it was when the forecast was made: bounds in per cent, and the target's name
/// if there was one.
///
/// As text `rounded-backed 25..35`, or `25..35` alone. Bounds that begin with a minus get the word
/// `wanted` before them, because a spreadsheet would take the minus for a formula.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Wanted {
    name: Option<Name>,
    #[serde(rename = "low_percent")]
    low: f64,
    #[serde(rename = "high_percent")]
    high: f64,
}

#[derive(Clone, Debug, PartialEq, Error)]
pub enum WantedError {
    #[error(
        "'{found}' is not a wanted swell; write it as 25..35, or with its name: rounded 12..22"
    )]
    Form { found: String },
    #[error(transparent)]
    Number(#[from] NumberError),
    #[error(transparent)]
    Bounds(#[from] TargetError),
    #[error(transparent)]
    Name(#[from] NameError),
}

impl Wanted {
    /// Written before bounds without a name that begin with a minus.
    const UNNAMED: &'static str = "wanted";

    /// From `low` to `high` per cent. Before a minus the word `wanted` is not a name, whoever wrote
    /// it.
    pub fn new(name: Option<Name>, low: f64, high: f64) -> Result<Self, TargetError> {
        Target::check(low, high)?;
        let name = name.filter(|name| low >= 0.0 || name.as_str() != Self::UNNAMED);
        Ok(Self { name, low, high })
    }

    pub fn name(&self) -> Option<&Name> {
        self.name.as_ref()
    }

    pub fn low_percent(&self) -> f64 {
        self.low
    }

    pub fn high_percent(&self) -> f64 {
        self.high
    }

    pub fn holds(&self, percent: f64) -> bool {
        (self.low..=self.high).contains(&percent)
    }
}

impl fmt::Display for Wanted {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unnamed = (self.low < 0.0).then_some(Self::UNNAMED);
        match self.name.as_ref().map(Name::as_str).or(unnamed) {
            Some(name) => write!(f, "{name} {}..{}", self.low, self.high),
            None => write!(f, "{}..{}", self.low, self.high),
        }
    }
}

impl FromStr for Wanted {
    type Err = WantedError;

    fn from_str(text: &str) -> Result<Self, WantedError> {
        let text = text.trim().trim_end_matches('%').trim_end();
        let named = text.rsplit_once(' ').map(|(name, bounds)| (Some(name.trim()), bounds));
        let (name, bounds) = named.unwrap_or((None, text));
        let form = || WantedError::Form { found: shown(text) };
        let (low, high) = bounds.split_once("..").ok_or_else(form)?;
        let name = name.map(str::parse).transpose()?;
        Ok(Self::new(name, parse_decimal(low)?, parse_decimal(high)?)?)
    }
}

/// A wanted swell and the predicted chance of meeting it.
#[derive(Clone, Debug, PartialEq)]
pub struct Aim {
    pub wanted: Wanted,
    chance: f64,
}

impl Aim {
    /// An aim to meet `wanted` with this chance, from 0 to 1.
    pub fn new(wanted: Wanted, chance: f64) -> Result<Self, OutOfRange> {
        Ok(Self { wanted, chance: ranges::CHANCE.check(chance)? })
    }

    pub fn chance(&self) -> f64 {
        self.chance
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_read_as_they_are_written() {
        let quantiles = SwellQuantiles::new([-0.001, 25.0, 26.234, 27.5, 29.4]).unwrap();
        assert_eq!(quantiles.to_string(), "05=0;25=25;50=26.23;75=27.5;95=29.4");
        let again: SwellQuantiles = "5=0; 25=25,0; 50=26.23; 75=27.5; 95=29.4;".parse().unwrap();
        assert_eq!(again.to_string(), quantiles.to_string());
        assert_eq!(
            (again.median(), again.half(), again.nine_in_ten().1),
            (26.23, (25.0, 27.5), 29.4)
        );
    }

    #[test]
    fn quantiles_that_cannot_be_are_refused() {
        let four = "05=1;25=2;50=3;75=4";
        let mixed = "05=1;50=2;25=3;75=4;95=5";
        let falling = "05=1;25=2;50=3;75=4;95=3";
        let wild = "05=1;25=2;50=3;75=4;95=1e9";
        for bad in ["", "24.1", four, mixed, falling, wild, "05=1;25=2;50=3;75=4;95=nan"] {
            assert!(bad.parse::<SwellQuantiles>().is_err(), "{bad}");
        }
    }

    #[test]
    fn a_wanted_swell_is_read_as_it_is_written() {
        for text in ["25..35", "rounded-backed 25..35", "our own flat 0..8.5", "wanted -2..3"] {
            assert_eq!(text.parse::<Wanted>().unwrap().to_string(), text);
        }
        // A target may be called so.
        assert_eq!("wanted 12..22".parse::<Wanted>().unwrap().name().unwrap().as_str(), "wanted");
        let typed: Wanted = " 12,5..22 % ".parse().unwrap();
        assert_eq!((typed.low_percent(), typed.name()), (12.5, None));
        assert!(typed.holds(12.5) && typed.holds(22.0) && !typed.holds(22.01));
        assert_eq!("wanted -2..3".parse::<Wanted>().unwrap().name(), None);
        for bad in ["", "rounded", "35..25", "a..b", "=x 1..2", "1..", "1..500"] {
            assert!(bad.parse::<Wanted>().is_err(), "{bad}");
        }
    }

    #[test]
    fn a_chance_is_from_nothing_to_one() {
        let aim = |chance| Aim::new("25..35".parse().unwrap(), chance);
        assert_eq!(aim(0.684).unwrap().chance(), 0.684);
        for bad in [-0.1, 1.01, f64::NAN] {
            assert!(aim(bad).is_err());
        }
    }
}
