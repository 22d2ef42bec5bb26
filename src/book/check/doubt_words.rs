//! The sentences of the checks: what was found, what was probably meant, what to do.

use super::doubt::{Ahead, BULK, EntryDoubt, LEAF_MM, PAGES_OF_A_SHEET, SetDoubt};
use crate::trade::{NO_HAND, Name, composed};
use crate::units::LengthUnit;

impl Ahead {
    fn words(self, verb: &str) -> String {
        let Self { day, meant } = self;
        let meant =
            meant.map(|meant| format!("; was it {meant}? Check the year")).unwrap_or_default();
        format!("{verb} {day}, which is in the future{meant}")
    }
}

impl EntryDoubt {
    /// The doubt as a sentence about the entry.
    pub fn words(&self, unit: LengthUnit) -> String {
        match self {
            Self::Bulk(bulk) => format!(
                "has a bulk of {} cm\u{b3}/g by its caliper and grammage, where papers have 0.6 to 2.5; check both",
                bulk_words(*bulk)
            ),
            Self::Leaf(mm) => leaf_words(*mm, unit),
            Self::Diameter { laid_mm, count_mm } => format!(
                "has a laid diameter of {}, but its count gives {}; check both",
                read(*laid_mm, unit),
                worked_out(*count_mm, unit)
            ),
            Self::Pages(sheets) => pages_words(*sheets),
            Self::Guards { guards_mm, fore_edge_mm } => format!(
                "has guards that add {}, more than a quarter of the fore-edge of {}; check their thickness and number",
                read(*guards_mm, unit),
                worked_out(*fore_edge_mm, unit)
            ),
            Self::Fractions { low, high } => format!(
                "is {low} to {high} % of the fore-edge, which is almost nothing; were fractions meant, that is {} to {} %?",
                per_cent(*low),
                per_cent(*high)
            ),
            Self::Unused => "is not used in any trial".to_owned(),
            Self::AlikeTo { name, other } => {
                let only = differ_in(name, other);
                format!("differs from '{other}' only in {only}; are they the same?")
            }
            Self::HandAlike { hand, other } => format!(
                "was sewn by '{hand}', which differs from '{other}' only in {}; are they one hand?",
                differ_in(hand, other)
            ),
            Self::DateAhead(ahead) => ahead.words("is dated"),
            Self::NoDate => "has no date".to_owned(),
            Self::NoHand => "does not say whose hand sewed it, as others do".to_owned(),
            Self::NoReadings => "has no readings yet".to_owned(),
            Self::NamesStruck { kind, id } => {
                format!("names {kind} '{id}', which is struck, and predicts nothing without it")
            }
            Self::NamesHandGone { hand } => format!(
                "names the hand '{hand}', which no trial has any more; to predict from it, choose \
                 another hand, or {NO_HAND} for none"
            ),
            Self::Uncounted { readings, now } => uncounted_words(*readings, now.as_ref()),
            Self::SameReadings { readings, of, other, differing } => {
                let although = differing.map(|fact| format!(", although they differ in {fact}"));
                let shared = match readings == of {
                    true => format!("the same {readings} readings as"),
                    false => format!("{readings} of {of} readings in common with"),
                };
                format!(
                    "has {shared} '{other}'{}; was it recorded twice? If so, strike one of them",
                    although.unwrap_or_default()
                )
            }
        }
    }
}

/// A bulk with as many decimals as show that it is outside.
fn bulk_words(bulk: f64) -> String {
    let shown = |decimals| format!("{bulk:.decimals$}");
    let is_outside = |text: &String| text.parse().is_ok_and(|shown| !BULK.contains(&shown));
    (2..6).map(shown).find(is_outside).unwrap_or_else(|| shown(6))
}

fn per_cent(fraction: f64) -> f64 {
    // Rounds off the floating-point error of 0.07 × 100.
    (fraction * 1e8).round() / 1e6
}

fn leaf_words(mm: f64, unit: LengthUnit) -> String {
    let leaf = read(mm, unit);
    let (than, meant) =
        if mm > *LEAF_MM.end() { ("thicker", mm / 10.0) } else { ("thinner", mm * 10.0) };
    let guess = match (LEAF_MM.contains(&meant), mm > *LEAF_MM.end()) {
        (true, true) => format!("was a stack of ten measured, each {}?", read(meant, unit)),
        (true, false) => format!("was it one leaf of {}, and not a stack?", read(meant, unit)),
        (false, _) => "was it typed in another unit?".to_owned(),
    };
    format!(
        "has a leaf of {leaf}, {than} than paper that folds; {guess} Check the caliper and the stack"
    )
}

fn pages_words(sheets: u16) -> String {
    let pages = sheets * PAGES_OF_A_SHEET;
    let meant = match sheets % PAGES_OF_A_SHEET {
        0 => format!("{sheets} pages are {} sheets", sheets / PAGES_OF_A_SHEET),
        _ => "a folded sheet is 2 leaves and 4 pages".to_owned(),
    };
    format!(
        "has {sheets} sheets in a section, which is {pages} pages; were pages or leaves counted? ({meant})"
    )
}

fn uncounted_words(readings: usize, now: Option<&Name>) -> String {
    let (what, verb, their, rows) = match readings {
        1 => ("a reading".to_owned(), "does", "its", "row"),
        _ => (format!("{readings} readings"), "do", "their", "rows"),
    };
    match now {
        Some(now) => format!(
            "is '{now}' in this book now, so {what} added to the file under its old name {verb} not count; in readings.csv write '{now}' as {their} trial, or remove the {rows}"
        ),
        None => format!(
            "is struck, so {what} added to the file since then {verb} not count; bring the trial back with `swellbook restore trial`, or remove the {rows}"
        ),
    }
}

impl SetDoubt {
    /// The doubt as a sentence about the trial in its state.
    pub fn words(&self, unit: LengthUnit) -> String {
        match self {
            Self::SpineThinner { at, spine_mm, fore_edge_mm } => {
                let place = at.as_ref().map(|at| format!("place {at} has ")).unwrap_or_default();
                format!(
                    "{place}a spine of {}, thinner than its fore-edge of {} with thread in the folds; were the two exchanged?",
                    read(*spine_mm, unit),
                    read(*fore_edge_mm, unit)
                )
            }
            Self::ForeEdgeFar { median_mm, leaves_mm } => format!(
                "the fore-edge is {}, but the leaves make {}; check the reading, the caliper, sections and sheets",
                worked_out(*median_mm, unit),
                worked_out(*leaves_mm, unit)
            ),
            Self::Outlying { at, edge, value_mm, others_mm } => format!(
                "place {at} has a {edge} of {}, far from the others' {}; measure it again",
                read(*value_mm, unit),
                worked_out(*others_mm, unit)
            ),
            Self::Apart { at: [one, other], edge, values_mm: [first, second] } => format!(
                "places {one} and {other} have a {edge} of {} and {}, so far apart that one is wrong; measure both again",
                read(*first, unit),
                read(*second, unit)
            ),
            Self::CountsLess { at, edge, value_mm, weight } => format!(
                "place {at} has a {edge} of {}, out of line with its set: it is given a weight of {weight:.2}; measure it again",
                read(*value_mm, unit)
            ),
            Self::SwellGrew { sewn_mm, knocked_mm } => format!(
                "the swell is {}, more than {} as sewn; were the states exchanged?",
                worked_out(*knocked_mm, unit),
                worked_out(*sewn_mm, unit)
            ),
            Self::FarFromFit { change, observed_mm, expected_mm, sd_mm } => format!(
                "the swell {} {}, but the fit of everything else predicts {}, give or take {}; measure it again, and check the paper, thread and sewing of the trial",
                if *change { "changed by" } else { "is" },
                worked_out(*observed_mm, unit),
                worked_out(*expected_mm, unit),
                worked_out(*sd_mm, unit)
            ),
            Self::Repeated(repetition) => format!("{repetition}; were they recorded twice?"),
            Self::AllEqual { places } => {
                format!("all {places} places read the same; was one reading copied?")
            }
            Self::OneEdge(edge) => {
                format!("only the {edge} was measured, which gives no swell; measure both edges")
            }
            Self::Uneven { spines, fore_edges } => format!(
                "readings at the spine: {spines}, at the fore-edge: {fore_edges}; was one left out? Measure the same places at both edges"
            ),
            Self::PlacesAlike { at, other } => format!(
                "place '{at}' differs from '{other}' only in {}; was it measured twice?",
                differ_in(at, other)
            ),
            Self::TakenAhead(ahead) => ahead.words("taken on"),
            Self::OnePlace => {
                "one place only; two or more show how repeatable the readings are".to_owned()
            }
        }
    }
}

/// What alone makes two names differ. Names that look the same differ in their accents.
fn differ_in(name: &Name, other: &Name) -> &'static str {
    let look_the_same = composed(name.as_str()) == composed(other.as_str());
    if look_the_same { "how their accents are stored" } else { "capitals or spaces" }
}

/// A measured length, with one decimal more than a computed one, so that its digits stay.
fn read(mm: f64, unit: LengthUnit) -> String {
    let fine = 10_f64.powi(decimals(unit) as i32 + 1);
    format!("{} {unit}", (unit.count_mm(mm) * fine).round() / fine)
}

/// A computed length.
fn worked_out(mm: f64, unit: LengthUnit) -> String {
    let count = unit.count_mm(mm);
    // A length that rounds to nothing has no sign.
    let least = 0.5 * 10_f64.powi(-(decimals(unit) as i32));
    let count = if count.abs() < least { 0.0 } else { count };
    format!("{count:.*} {unit}", decimals(unit))
}

/// Number of decimals for a precision of about a hundredth of a millimetre.
fn decimals(unit: LengthUnit) -> usize {
    match unit {
        LengthUnit::Millimetre => 2,
        LengthUnit::Micrometre => 0,
        LengthUnit::Inch => 4,
        LengthUnit::Thou => 1,
    }
}
