//! Parses a line from a gauge that types its value and Enter.
//!
//! A line is one or more fields separated by a tab or `;`. A field is an optional sign, digits with
//! at most one decimal mark (`.` or `,`) or a fraction, an optional unit and an optional tolerance
//! sign.

use super::length::{LengthError, parse_length};
use super::length_unit::LengthUnit;
use super::millimetres::Millimetres;
use super::number::{NumberError, cleaned};
use super::shown::shown;
use thiserror::Error;

/// The longest line that is parsed, in bytes; no gauge sends more.
pub const LONGEST_LINE: usize = 4096;

/// Where a reading lies, according to a gauge with set limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tolerance {
    /// `<`: under the lower limit.
    Under,
    /// `=`: between the limits.
    Within,
    /// `>`: over the upper limit.
    Over,
}

impl Tolerance {
    pub fn sign(self) -> char {
        match self {
            Self::Under => '<',
            Self::Within => '=',
            Self::Over => '>',
        }
    }

    fn of(sign: char) -> Option<Self> {
        [Self::Under, Self::Within, Self::Over].into_iter().find(|t| t.sign() == sign)
    }
}

#[derive(Clone, Debug, PartialEq)]
pub struct GaugeReading {
    /// The length; a gauge set to zero elsewhere may send a negative one.
    pub value: Millimetres,
    pub tolerance: Option<Tolerance>,
    /// The field as typed, without spaces around it.
    pub typed: String,
}

#[derive(Clone, Debug, PartialEq, Eq, Error)]
pub enum GaugeError {
    #[error("line too long for a reading (over {LONGEST_LINE} bytes); check the gauge's output")]
    TooLong,
    #[error("the line is not text; set the gauge to send plain figures")]
    NotText,
    #[error("the gauge reports an error ({found}); fix that and take the reading again")]
    Report { found: String },
    /// Digits typed through a keyboard layout whose top row gives signs; the gauge expects another
    /// layout.
    #[error(
        "'{found}' looks like figures typed with another keyboard layout{}; set the keyboard to \
         the gauge's layout, usually English (US)",
        meaning(decoded.as_deref())
    )]
    KeyLayout {
        found: String,
        /// What the gauge most likely sent, if that is a reading.
        decoded: Option<String>,
    },
    #[error(transparent)]
    Number(#[from] NumberError),
    #[error(transparent)]
    Unit(#[from] LengthError),
}

fn meaning(decoded: Option<&str>) -> String {
    decoded.map(|value| format!(", meaning {}", shown(value))).unwrap_or_default()
}

/// The readings in one line from a gauge, with plain numbers in `default`; an empty line has none.
/// One bad field refuses the whole line.
pub fn parse_gauge_line(
    line: impl AsRef<[u8]>,
    default: LengthUnit,
) -> Result<Vec<GaugeReading>, GaugeError> {
    let line = line.as_ref();
    if line.len() > LONGEST_LINE {
        return Err(GaugeError::TooLong);
    }
    let text = cleaned(std::str::from_utf8(line).map_err(|_| GaugeError::NotText)?);
    if is_report(&text) {
        return Err(GaugeError::Report { found: shown(&text) });
    }
    if let Some(figures) = through_other_layout(&text) {
        let reads = parse_fields(&figures, default).is_ok();
        return Err(GaugeError::KeyLayout {
            found: shown(&text),
            decoded: reads.then_some(figures),
        });
    }
    parse_fields(&text, default)
}

/// Whether a gauge reports an error: `ERR6`, `----` or `OFF`, in any case.
fn is_report(text: &str) -> bool {
    let upper = text.to_uppercase();
    let dashes = upper.len() > 1 && upper.chars().all(|c| c == '-');
    dashes || upper == "OFF" || upper.starts_with("ERR")
}

/// The signs for the digits 1 to 9 and 0 on a French keyboard. A gauge types them if it takes the
/// keyboard for an English one.
const FRENCH_TOP_ROW: [(char, char); 10] = [
    ('&', '1'),
    ('é', '2'),
    ('"', '3'),
    ('\'', '4'),
    ('(', '5'),
    ('-', '6'),
    ('è', '7'),
    ('_', '8'),
    ('ç', '9'),
    ('à', '0'),
];

/// The digits meant by a line typed through a French layout; `None` for any other line.
fn through_other_layout(text: &str) -> Option<String> {
    let figure = |c: char| FRENCH_TOP_ROW.iter().find(|(sign, _)| *sign == c.to_ascii_lowercase());
    let (body, unit) = match text.strip_suffix(",,") {
        Some(body) => (body, "mm"),
        None => (text, ""),
    };
    let mut figures = String::new();
    for c in body.chars() {
        figures.push(match c {
            ':' | '.' => '.',
            ';' | ',' => ',',
            '\t' | ' ' => c,
            sign => figure(sign)?.1,
        });
    }
    figures.chars().any(|c| c.is_ascii_digit()).then(|| figures + unit).filter(|_| text != "-")
}

fn parse_fields(text: &str, default: LengthUnit) -> Result<Vec<GaugeReading>, GaugeError> {
    if text.is_empty() {
        return Ok(Vec::new());
    }
    // Some gauges end every value with the separator.
    let body = text.strip_suffix(';').unwrap_or(text);
    body.split(['\t', ';']).map(|field| parse_field(field.trim(), default)).collect()
}

fn parse_field(field: &str, default: LengthUnit) -> Result<GaugeReading, GaugeError> {
    let tolerance = field.chars().next_back().and_then(Tolerance::of);
    let value = match tolerance {
        Some(sign) => field.trim_end_matches(sign.sign()).trim_end(),
        None => field,
    };
    let value = parse_length(value, default).map_err(|error| match error {
        LengthError::Number(NumberError::NotANumber { .. }) => {
            NumberError::NotANumber { found: shown(field) }.into()
        }
        LengthError::Number(error) => GaugeError::Number(error),
        error => GaugeError::Unit(error),
    })?;
    Ok(GaugeReading { value, tolerance, typed: field.to_owned() })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(line: &str) -> Vec<f64> {
        let readings = parse_gauge_line(line, LengthUnit::Millimetre);
        readings.expect(line).iter().map(|reading| reading.value.mm()).collect()
    }

    fn refusal(line: &str) -> GaugeError {
        parse_gauge_line(line, LengthUnit::Millimetre).expect_err(line)
    }

    #[test]
    fn one_value_however_it_is_written() {
        let forms = ["1.25", "1,25", " 1.25 ", "+1.25", "+0001.250", "1.25mm", "1.25 MM"];
        let more = ["+  1.25\r\n", "\u{feff}1.25\r", "1.25\u{202f}mm", "1\0.25", "1.25 Mm\n"];
        for form in forms.iter().chain(&more) {
            assert_eq!(read(form), [1.25], "{form:?}");
        }
        for form in ["-1.25", "\u{2212}1.25", "\u{2013}1.25", "- 1,25"] {
            assert_eq!(read(form), [-1.25], "{form:?}");
        }
    }

    #[test]
    fn a_mark_may_stand_first_or_last() {
        assert_eq!((read(".5"), read(",5"), read("5.")), (vec![0.5], vec![0.5], vec![5.0]));
    }

    #[test]
    fn the_units_of_gauges_are_understood() {
        for (line, mm) in [
            ("0.0492in", 1.249_68),
            ("0.0492\"", 1.249_68),
            ("0.0492 INCH", 1.249_68),
            ("250 um", 0.25),
            ("250\u{b5}m", 0.25),
            ("250\u{3bc}M", 0.25),
            ("10 thou", 0.254),
            ("10mil", 0.254),
        ] {
            let value = read(line)[0];
            assert!((value - mm).abs() < 1e-12, "{line:?} gave {value}");
        }
        let inches = parse_gauge_line("0.05", LengthUnit::Inch).unwrap();
        assert!((inches[0].value.mm() - 1.27).abs() < 1e-12);
    }

    #[test]
    fn a_tolerance_sign_is_kept() {
        for (line, tolerance) in [
            ("12.345<", Tolerance::Under),
            ("12.345 mm =", Tolerance::Within),
            ("12.345>", Tolerance::Over),
        ] {
            let readings = parse_gauge_line(line, LengthUnit::Millimetre).unwrap();
            assert_eq!(readings[0].value.mm(), 12.345);
            assert_eq!(readings[0].tolerance, Some(tolerance));
            assert_eq!(readings[0].typed, line);
        }
        assert_eq!(parse_gauge_line("1.2", LengthUnit::Millimetre).unwrap()[0].tolerance, None);
    }

    #[test]
    fn a_line_may_hold_several_readings() {
        assert_eq!(read("1.25\t1.26\t1.27"), [1.25, 1.26, 1.27]);
        assert_eq!(read("1.25;1.26"), [1.25, 1.26]);
        assert_eq!(read("1,25;1,26"), [1.25, 1.26]);
        assert_eq!((read("1.25\t\r\n"), read("1.25;")), (vec![1.25], vec![1.25]));
        assert!(read("").is_empty() && read(" \r\n").is_empty());
        assert!(matches!(refusal("1.25;;1.26"), GaugeError::Number(NumberError::Empty)));
    }

    #[test]
    fn two_marks_are_refused_with_both_meanings() {
        for (line, meanings) in
            [("1.234,56", ["1234.56", "1.23456"]), ("1,234.56", ["1234.56", "1.23456"])]
        {
            let text = refusal(line).to_string();
            assert!(meanings.iter().all(|meaning| text.contains(meaning)), "{text}");
        }
        for line in ["1.2.3", "1,2,3"] {
            assert!(matches!(refusal(line), GaugeError::Number(_)), "{line}");
        }
    }

    #[test]
    fn what_is_no_number_is_refused() {
        for line in ["1e3", "inf", "NaN", "0x10", "--1", "+", "-", ".", "1 2", "mm", "1.2 mm2"] {
            let error = refusal(line);
            assert!(matches!(error, GaugeError::Number(NumberError::NotANumber { .. })), "{line}");
        }
        assert!(matches!(refusal("1.2 furlong"), GaugeError::Unit(_)));
    }

    #[test]
    fn a_gauge_in_trouble_is_recognised() {
        for line in ["ERR6", "Err", "error 2", "----", "--", "OFF", "off\r\n"] {
            assert!(matches!(refusal(line), GaugeError::Report { .. }), "{line}");
            assert!(refusal(line).to_string().starts_with("the gauge reports an error"));
        }
    }

    #[test]
    fn a_wrong_key_layout_is_recognised_and_its_meaning_offered() {
        let decoded = |line: &str| match refusal(line) {
            GaugeError::KeyLayout { decoded, .. } => decoded,
            other => panic!("{line}: {other}"),
        };
        assert_eq!(decoded("&:é("), Some("1.25".into()));
        assert_eq!(decoded("&à.à_\r\n"), Some("10.08".into()));
        assert_eq!(decoded("&:é(,,"), Some("1.25mm".into()));
        assert_eq!(decoded("& é \" ' ( - è _ ç à"), None);
        assert_eq!(decoded("&é\"'(-è_çà"), Some("1234567890".into()));
        assert_eq!(decoded("-:-"), Some("6.6".into()));
        assert!(refusal("&:é(").to_string().contains("meaning 1.25; set the keyboard"));
    }

    #[test]
    fn no_line_makes_it_panic() {
        assert_eq!(refusal(&"9".repeat(5000)), GaugeError::TooLong);
        assert!(matches!(refusal(&"9".repeat(400)), GaugeError::Number(_)));
        let not_text = parse_gauge_line([0x31, 0xff, 0xfe], LengthUnit::Millimetre);
        assert_eq!(not_text.unwrap_err(), GaugeError::NotText);
        for line in ["\0", "\u{2212}", "é", "µ", "\"", "\u{feff}", "\t", ";", "\t;\t", "+é"] {
            let _ = parse_gauge_line(line, LengthUnit::Thou);
        }
    }
}
