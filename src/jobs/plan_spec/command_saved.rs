//! Turns a plan into the words that are saved.

use super::command_named::PlanSpec;
use super::command_words::Words;
use crate::trade::{Guards, PlanWords, PlanWordsError, RUN_KEYS, Said, WHOLE_KEYS};
use crate::units::{LengthUnit, parse_length_list};

impl PlanSpec {
    /// The words of the plan, written so that they mean the same in a book of any unit.
    pub fn words(&self, unit: LengthUnit) -> Result<PlanWords, PlanWordsError> {
        let said = |words: &Words, keys: &[&'static str]| {
            words.said(keys, |key, text| with_unit(key, text, unit))
        };
        let mut whole = said(&self.whole, &WHOLE_KEYS);
        let mut runs: Vec<Said> = self.runs.iter().map(|run| said(run, &RUN_KEYS)).collect();
        let ends = said(&self.whole, &["ends"]);
        match &mut runs[..] {
            [run] if run.iter().all(|(key, _)| *key != "ends") => run.extend(ends),
            [_] => {}
            _ => whole.extend(ends),
        }
        PlanWords::new(whole, runs)
    }
}

/// The text of a word. A length without a unit gets the unit of the book.
fn with_unit(key: &str, text: &str, unit: LengthUnit) -> String {
    let [mm, inch] =
        [LengthUnit::Millimetre, LengthUnit::Inch].map(|unit| in_millimetres(key, text, unit));
    if mm == inch {
        return text.to_owned();
    }
    let own = in_millimetres(key, text, unit);
    let said = format!("{text} {}", unit.symbol());
    let other = [LengthUnit::Millimetre, LengthUnit::Inch];
    let is_same = other.iter().all(|unit| in_millimetres(key, &said, *unit) == own);
    if is_same { said } else { own.unwrap_or(said) }
}

/// The lengths of a word in mm, as text; `None` if it has none.
fn in_millimetres(key: &str, text: &str, unit: LengthUnit) -> Option<String> {
    match key {
        "caliper" | "laid" | "shoulder" | "fore_edge" => {
            let lengths = parse_length_list(text, unit).ok()?;
            let lengths: Vec<String> =
                lengths.iter().map(|length| format!("{} mm", length.mm())).collect();
            Some(lengths.join("; "))
        }
        "guards" => Guards::parse(text, unit).ok().map(|guards| guards.to_string()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_length_without_a_unit_gets_that_of_the_book() {
        let (mm, inch) = (LengthUnit::Millimetre, LengthUnit::Inch);
        for (key, typed, unit, saved) in [
            ("caliper", "0.11", mm, "0.11 mm"),
            ("caliper", "0.11mm", inch, "0.11mm"),
            ("caliper", "0.004", inch, "0.004 in"),
            ("fore_edge", "20.1;20.2", mm, "20.1 mm; 20.2 mm"),
            ("guards", "tissue=0.02,per-section=2", mm, "tissue=0.02 mm,per-section=2"),
            ("guards", "tissue=20um,per-section=2", inch, "tissue=20um,per-section=2"),
            ("sheets", "4", inch, "4"),
        ] {
            assert_eq!(with_unit(key, typed, unit), saved, "{key} {typed}");
        }
    }
}
