//! The kinds of value that a cell can hold, and how each is parsed and written.

use super::columns::Kind;
use super::dates::Dates;
use super::notes::{note, one_line};
use crate::book::entries::added::Added;
use crate::book::entries::held::{EntryKind, Turn};
use crate::trade::{
    Ends, Hardness, KeptPlan, Material, Name, NameError, PlanWords, Range, SendNumber, State,
    SwellQuantiles, ThreadCount, TrialKind, Wanted, Words, is_day_number, parse_on, parse_weight,
    parse_yes_no,
};
use crate::units::{
    Grammage, LengthUnit, Millimetres, check_grouped, parse_decimal, parse_length, parse_plain,
    shown, unit_typed,
};
use jiff::civil::Date;
use std::borrow::Cow;

/// A cell to write.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::book) enum Value<'a> {
    /// Text, written unchanged.
    Text(Cow<'a, str>),
    /// A number, written with the decimal mark of the file.
    Number(f64),
    Empty,
}

/// The message for a cell that does not parse: a fault without its location.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in crate::book) struct Misread(pub(in crate::book) String);

impl<E: std::error::Error> From<E> for Misread {
    fn from(error: E) -> Self {
        Self(error.to_string())
    }
}

pub(in crate::book) trait CellValue: Clone + PartialEq {
    const KIND: Kind;

    /// Parses a cell that is not empty.
    fn read(text: &str, range: Range, aids: &mut Aids<'_>) -> Result<Self, Misread>;

    fn value(&self) -> Value<'_>;

    /// Whether it is a name, which accepts any text.
    const IS_NAME: bool = false;

    /// What the text was read as, if that is worth telling the binder.
    fn read_as(&self, _text: &str, _unit: LengthUnit) -> Option<String> {
        None
    }
}

/// How a cell was read, to tell the binder.
#[derive(Debug)]
pub(in crate::book) struct SaidBack {
    pub(in crate::book) column: &'static str,
    pub(in crate::book) row: usize,
    pub(in crate::book) found: String,
    pub(in crate::book) meant: String,
}

/// What parsing a cell needs to know about its file.
pub(in crate::book) struct Aids<'a> {
    pub(in crate::book) dates: &'a Dates<'a>,
    pub(in crate::book) names: &'a mut Names,
    /// The unit of lengths in the column that are written without one.
    pub(in crate::book) written_in: LengthUnit,
    /// The unit of lengths in messages.
    pub(in crate::book) unit: LengthUnit,
    /// Whether the value will be written into a book. Then no text may be a formula.
    pub(in crate::book) is_new: bool,
    pub(in crate::book) said_back: &'a mut Vec<SaidBack>,
}

/// A cache of recent names, indexed by [`slot`]. Every reading names its trial and place, and
/// clones of a name share one string.
#[derive(Debug)]
pub(in crate::book) struct Names {
    lately: Vec<Option<Name>>,
}

impl Default for Names {
    fn default() -> Self {
        Self { lately: vec![None; Self::MOST] }
    }
}

/// The slot of a name. It depends on the last eight bytes, which usually differ between names.
/// Names with the same slot replace each other.
fn slot(text: &str) -> usize {
    let bytes = text.as_bytes();
    let short = || bytes.iter().fold(0, |word, byte| word << 8 | u64::from(*byte));
    let word = bytes.last_chunk().map_or_else(short, |last| u64::from_le_bytes(*last));
    // Multiplying by the golden ratio spreads the letters over the high bits (Knuth, section 6.4).
    (word.wrapping_mul(0x9e37_79b9_7f4a_7c15) >> (u64::BITS - Names::MOST.ilog2())) as usize
}

impl Names {
    /// The size of the cache. A file in which all names differ must not fill the memory with them
    /// twice.
    const MOST: usize = 4096;

    fn read(&mut self, text: &str) -> Result<Name, NameError> {
        let place = &mut self.lately[slot(text)];
        if let Some(name) = place.as_ref().filter(|name| name.as_str() == text) {
            return Ok(name.clone());
        }
        let name: Name = text.parse()?;
        *place = Some(name.clone());
        Ok(name)
    }
}

impl Aids<'_> {
    /// Parses a free text of the binder's own.
    fn text(&self, text: &str) -> Result<String, Misread> {
        let text = one_line(text)?;
        if self.is_new { Ok(note(&text)?) } else { Ok(text) }
    }
}

/// Implements [`CellValue`]: the kind of a type, how to parse a text (with its range and aids), and
/// how to write a value.
macro_rules! cell_values {
    ($($type:ty: $kind:expr, |$text:pat_param, $range:pat_param, $aids:pat_param| $read:expr, |$value:ident| $cell:expr $(, { $($more:item)* })?;)*) => {
        $(impl CellValue for $type {
            const KIND: Kind = $kind;

            fn read($text: &str, $range: Range, $aids: &mut Aids<'_>) -> Result<Self, Misread> {
                $read
            }

            fn value(&self) -> Value<'_> {
                let $value = self;
                $cell
            }

            $($($more)*)?
        })*
    };
}

cell_values! {
    Name: Kind::Text, |text, _, aids| Ok(aids.names.read(text)?),
        |name| Value::Text(name.as_str().into()), { const IS_NAME: bool = true; };
    String: Kind::Note, |text, _, aids| aids.text(text), |note| Value::Text(note.into());
    Words: Kind::Note, |text, _, aids| aids.text(text).map(Self::from),
        |words| Value::Text((&**words).into());
    Date: Kind::Date, |text, _, aids| Ok(aids.dates.read(text, aids.is_new)?),
        |date| Value::Text(date.to_string().into()), {
            fn read_as(&self, text: &str, _: LengthUnit) -> Option<String> {
                if is_day_number(text) {
                    return Some(format!("a spreadsheet's day number, {self}"));
                }
                let year = self.year().to_string();
                let mut figures = text.split(|c: char| !c.is_ascii_digit());
                (!figures.any(|group| group == year)).then(|| self.to_string())
            }
        };
    bool: Kind::YesNo, |text, _, _| Ok(parse_yes_no(text)?),
        |yes| Value::Text(if *yes { "yes" } else { "no" }.into());
    u16: Kind::Whole, |text, range, _| whole(text, range),
        |number| Value::Number(f64::from(*number));
    u8: Kind::Whole,
        |text, _, _| Ok(parse_on(text)?),
        |number| Value::Number(f64::from(*number));
    Ends: Kind::Whole,
        |text, _, _| Ok(text.parse::<Self>()?),
        |ends| match ends.are_alike() {
            true => Value::Number(f64::from(ends.first)),
            false => Value::Text(ends.to_string().into()),
        };
    f64: Kind::Decimal, |text, range, _| number(text, range), |number| Value::Number(*number);
    Millimetres: Kind::Decimal, |text, range, aids| length(text, range, aids.written_in, aids.unit),
        |length| Value::Number(length.mm()), {
            fn read_as(&self, text: &str, unit: LengthUnit) -> Option<String> {
                let is_plain = text.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
                let said = |text: &str| text.contains('/') || text.contains(char::is_alphabetic);
                (!is_plain && said(text)).then(|| unit.shown(self.mm()))
            }
        };
    ThreadCount: Kind::Text, |text, _, _| Ok(text.parse::<Self>()?),
        |count| Value::Text(count.to_string().into()), {
            fn read_as(&self, text: &str, _: LengthUnit) -> Option<String> {
                Some(self.to_string()).filter(|meant| meant != text.trim())
            }
        };
    Grammage: Kind::Decimal,
        |text, range, _| match parse_plain(text) {
            Some(gsm) => Self::new(range.check(gsm)?).ok_or_else(|| Misread(range.to_string())),
            None => Ok(parse_weight(text)?.0),
        },
        |grammage| Value::Number(grammage.gsm()), {
            fn read_as(&self, text: &str, _: LengthUnit) -> Option<String> {
                let in_pounds = parse_plain(text).is_none() && parse_weight(text).ok()?.1.is_some();
                in_pounds.then(|| self.to_string())
            }
        };
}

/// Implements [`CellValue`] for types that parse from text and display as text.
macro_rules! texts {
    ($($type:ty: $kind:expr;)*) => {
        cell_values! {
            $($type: $kind, |text, _, _| Ok(text.parse::<$type>()?),
                |value| Value::Text(value.to_string().into());)*
        }
    };
}

texts! {
    Hardness: Kind::Words(Self::WORDS);
    Material: Kind::Words(Self::WORDS);
    TrialKind: Kind::Words(Self::WORDS);
    State: Kind::Words(Self::WORDS);
    EntryKind: Kind::Words(Self::WORDS);
    Turn: Kind::Words(Self::WORDS);
    KeptPlan: Kind::Text;
    SwellQuantiles: Kind::Text;
    Wanted: Kind::Text;
    PlanWords: Kind::Text;
    Added: Kind::Text;
    SendNumber: Kind::Text;
}

/// Parses a length. Without a unit of its own it is in `written_in`. Messages use `unit`.
fn length(
    text: &str,
    range: Range,
    written_in: LengthUnit,
    unit: LengthUnit,
) -> Result<Millimetres, Misread> {
    let length = parse_length(text, written_in)?;
    range.check(length.mm()).map_err(|error| Misread(error.typed(unit, unit_typed(text))))?;
    Ok(length)
}

fn number(text: &str, range: Range) -> Result<f64, Misread> {
    let value = match parse_plain(text) {
        Some(value) => value,
        None => parse_decimal(text.strip_suffix('%').unwrap_or(text))?,
    };
    Ok(range.check(value)?)
}

fn whole(text: &str, range: Range) -> Result<u16, Misread> {
    check_grouped(text)?;
    let value = number(text, range)?;
    if value.fract() == 0.0 && (0.0..=f64::from(u16::MAX)).contains(&value) {
        Ok(value as u16)
    } else {
        Err(Misread(format!("'{}' is not a whole number", shown(text))))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::trade::ranges;

    const MM: LengthUnit = LengthUnit::Millimetre;

    #[test]
    fn lengths_are_millimetres_unless_a_unit_is_given() {
        assert_eq!(length("9,8", ranges::THICKNESS, MM, MM).unwrap().mm(), 9.8);
        assert!(
            (length("0.386 in", ranges::THICKNESS, MM, MM).unwrap().mm() - 9.8044).abs() < 1e-9
        );
        let error = length("105", ranges::CALIPER, MM, MM).unwrap_err();
        assert_eq!(error.0, "105 mm is outside 0.01..2 mm; is it in micrometres? Then write 105um");
        let said = |text| length(text, ranges::CALIPER, MM, LengthUnit::Inch).unwrap_err().0;
        assert!(said("105").starts_with("105 mm (4.1339 in) is outside 0.000394..0.0787 in"));
        assert!(said("4.1in").starts_with("4.1 in is outside 0.000394..0.0787 in; is it in thou"));
        for bad in ["1e309", "nan", "inf", "-1", "0x1", "1.234,5"] {
            assert!(length(bad, ranges::THICKNESS, MM, MM).is_err(), "{bad}");
        }
    }

    #[test]
    fn whole_numbers_are_whole() {
        assert_eq!(whole("24", ranges::SECTIONS), Ok(24));
        assert_eq!(whole("24.0", ranges::SECTIONS), Ok(24));
        for bad in ["0", "2.5", "-3", "501", "1e2", "1.000", "1,000"] {
            assert!(whole(bad, ranges::SECTIONS).is_err(), "{bad}");
        }
        assert_eq!(number("25 %", ranges::SWELL_PERCENT), Ok(25.0));
    }
}
