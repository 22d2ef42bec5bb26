//! The readings of a gauge study as typed, round by round.

use crate::book::{GaugeRow, GaugeSheet};
use crate::page::form::{Form, NUMBER, TOKEN};
use crate::page::turned::{Fault, MISSING, Turned};
use crate::terminal::values;
use crate::trade::{Name, NameError, Range, ranges};
use crate::units::LengthUnit;

/// Fewer than two rounds repeat nothing.
const ROUNDS: Range = Range { low: 2.0, high: 10.0, unit: "" };
/// Most things in a study; more than anyone measures in practice.
const THINGS: usize = 30;

/// A study as far as it has been typed.
pub(crate) struct Study {
    pub who: Vec<Name>,
    pub things: Vec<Name>,
    pub rounds: usize,
    form: Form,
    unit: LengthUnit,
}

/// One person's round, to be typed.
pub(crate) struct Turn {
    pub who: String,
    /// From 1.
    pub round: usize,
    pub fields: Vec<Reading>,
    /// True for the last round of the last person.
    pub last: bool,
}

pub(crate) struct Reading {
    pub name: String,
    pub thing: String,
    pub typed: String,
    pub fault: Option<Fault>,
}

impl Study {
    /// # Errors
    /// Faults at the fields that define the study: who, things and rounds.
    pub fn of(form: &Form, unit: LengthUnit) -> Result<Self, Turned> {
        let fault = |field: &str, why: String| Turned::Faults(vec![Fault::new(field, why)]);
        let named = |field: &str, text: &str| -> Result<Name, Turned> {
            text.trim().parse().map_err(|why: NameError| fault(field, why.to_string()))
        };
        let who = form.all("who").filter(|name| !name.is_empty());
        let who: Vec<Name> = who.map(|name| named("who", name)).collect::<Result<_, _>>()?;
        let text = form.get("things").unwrap_or_default();
        let things = text.split([',', ';']).filter(|thing| !thing.trim().is_empty());
        let things: Vec<Name> =
            things.map(|thing| named("things", thing)).collect::<Result<_, _>>()?;
        if who.is_empty() {
            return Err(fault("who", MISSING.to_owned()));
        }
        if has_twice(&who) {
            return Err(fault(
                "who",
                "this person has already measured; give another name".to_owned(),
            ));
        }
        if things.is_empty() || things.len() > THINGS || has_twice(&things) {
            let why = format!("name 1 to {THINGS} different things, separated by commas");
            return Err(fault("things", why));
        }
        let rounds = values::whole(form.get("rounds").unwrap_or("3"), ROUNDS);
        let rounds = rounds.map_err(|why| fault("rounds", why.to_string()))?;
        Ok(Self { who, things, rounds, form: form.clone(), unit })
    }

    /// The first round with a missing or wrong reading; `None` when every reading is typed.
    pub fn turn(&self) -> Option<Turn> {
        self.rounds_of_all().map(|(who, round)| self.turn_of(who, round)).find(|turn| {
            turn.fields.iter().any(|field| field.typed.is_empty() || field.fault.is_some())
        })
    }

    /// The rounds of every person, one person after the other.
    fn rounds_of_all(&self) -> impl Iterator<Item = (usize, usize)> {
        (0..self.who.len()).flat_map(|who| (1..=self.rounds).map(move |round| (who, round)))
    }

    fn turn_of(&self, who: usize, round: usize) -> Turn {
        let mut fields: Vec<Reading> =
            self.order(round).into_iter().map(|thing| self.reading(who, round, thing)).collect();
        // A round that was started must be finished before the next.
        if fields.iter().any(|field| !field.typed.is_empty()) {
            for field in fields.iter_mut().filter(|field| field.typed.is_empty()) {
                field.fault = Some(Fault::new(field.name.clone(), MISSING));
            }
        }
        let last = who + 1 == self.who.len() && round == self.rounds;
        Turn { who: self.who[who].to_string(), round, fields, last }
    }

    /// A different order in every round, so that nobody anticipates the next thing.
    fn order(&self, round: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.things.len()).collect();
        if round.is_multiple_of(2) {
            order.reverse();
        }
        order.rotate_left((round - 1) % self.things.len());
        order
    }

    fn reading(&self, who: usize, round: usize, thing: usize) -> Reading {
        let name = field(who, round, thing);
        let typed = self.form.get(&name).unwrap_or_default().to_owned();
        let read =
            (!typed.is_empty()).then(|| values::length(&typed, self.unit, ranges::THICKNESS));
        let fault = read.and_then(Result::err).map(|why| Fault::new(name.clone(), why));
        Reading { name, thing: self.things[thing].to_string(), typed, fault }
    }

    /// Everything typed so far, except the readings of this turn.
    pub fn kept(&self, turn: &Turn) -> Vec<(String, String)> {
        let is_other = |name: &str| turn.fields.iter().all(|field| field.name != name);
        self.pairs().into_iter().filter(|(name, _)| is_other(name)).collect()
    }

    /// Everything typed so far.
    pub fn pairs(&self) -> Vec<(String, String)> {
        self.form.kept(|name| [TOKEN, NUMBER].contains(&name))
    }

    pub fn sheet(&self) -> GaugeSheet {
        let of_round = |(who, round)| (0..self.things.len()).map(move |thing| (who, round, thing));
        let row = |(who, round, thing): (usize, usize, usize)| {
            let typed = self.form.get(&field(who, round, thing))?;
            let reading = values::length(typed, self.unit, ranges::THICKNESS).ok()?;
            let (operator, part) = (Some(self.who[who].clone()), self.things[thing].clone());
            Some(GaugeRow { operator, part, reading })
        };
        let rows = self.rounds_of_all().flat_map(of_round).filter_map(row).collect();
        GaugeSheet { rows, notices: Vec::new() }
    }
}

fn has_twice(names: &[Name]) -> bool {
    names.iter().enumerate().any(|(at, name)| names[..at].contains(name))
}

/// The form field of a reading: index of the person, number of the round, index of the thing.
fn field(who: usize, round: usize, thing: usize) -> String {
    format!("r-{who}-{round}-{thing}")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn study(text: &str) -> Study {
        Study::of(&Form::of_query(text.as_bytes()), LengthUnit::Millimetre).ok().unwrap()
    }

    #[test]
    fn a_study_goes_round_by_round_and_is_done_after_the_last() {
        let asked = "who=Ann&things=a,b&rounds=2";
        let turn = study(asked).turn().unwrap();
        assert_eq!((turn.round, turn.fields[0].thing.as_str(), turn.last), (1, "a", false));
        let first = format!("{asked}&r-0-1-0=1.2&r-0-1-1=3,4");
        let turn = study(&first).turn().unwrap();
        assert_eq!((turn.round, turn.last, study(&first).kept(&turn).len()), (2, true, 5));
        let all = format!("{first}&r-0-2-0=1.21&r-0-2-1=3.41");
        assert!(study(&all).turn().is_none());
        let sheet = study(&all).sheet();
        assert_eq!((sheet.rows.len(), sheet.rows[1].reading.mm()), (4, 3.4));
        // A second person starts when the first has finished.
        let more = study(&format!("{all}&who=Bo")).turn().unwrap();
        assert_eq!((more.who.as_str(), more.round), ("Bo", 1));
    }

    #[test]
    fn a_reading_that_is_missing_or_wrong_is_asked_for_again() {
        let typed = "who=Ann&things=a,b&rounds=2&r-0-1-0=x&r-0-1-1=";
        let turn = study(typed).turn().unwrap();
        assert!(turn.round == 1 && turn.fields.iter().all(|field| field.fault.is_some()));
        let refused = |text: &str| {
            Study::of(&Form::of_query(text.as_bytes()), LengthUnit::Millimetre).is_err()
        };
        assert!(refused("who=Ann&things=a,a") && refused("who=&things=a"));
        assert!(refused("who=Ann&who=Ann&things=a") && refused("who=Ann&things=a&rounds=1"));
    }
}
