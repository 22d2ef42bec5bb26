//! Draws ranges as bars of characters, against the band of a target.

use super::number::rounded;
use super::screen::{Ink, Screen, Signs};
use crate::trade::extremes;

/// A range with its middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    pub low: f64,
    pub middle: f64,
    pub high: f64,
    /// A reference value.
    pub mark: Option<f64>,
}

/// One scale for several ranges, so that they can be compared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strip {
    low: f64,
    high: f64,
    decimals: usize,
    band: Option<(f64, f64)>,
    marked: bool,
    cells: usize,
    screen: Screen,
}

/// A number under the bars, starting at a cell.
struct Label {
    start: usize,
    text: String,
    ink: Option<Ink>,
}

impl Label {
    /// The cell after its last character.
    fn end(&self) -> usize {
        self.start + self.text.chars().count()
    }
}

impl Strip {
    /// A scale of `cells` characters over all the ranges and the band, with round ends. `None`
    /// without a range, or without room.
    pub fn over(
        spreads: &[Spread],
        band: Option<(f64, f64)>,
        cells: usize,
        screen: Screen,
    ) -> Option<Self> {
        /// Narrower than this shows nothing.
        const LEAST_CELLS: usize = 12;
        let values = spreads.iter().flat_map(|spread| [spread.low, spread.high]);
        let marks = spreads.iter().filter_map(|spread| spread.mark);
        let all = values.chain(marks).chain(band.into_iter().flat_map(|(low, high)| [low, high]));
        let (low, high) = extremes(all)?;
        let sound = low.is_finite() && high.is_finite() && low < high;
        let room = !spreads.is_empty() && cells >= LEAST_CELLS;
        let decimals = decimals(high - low);
        let steps = 10_f64.powi(decimals as i32);
        let (low, high) = ((low * steps).floor() / steps, (high * steps).ceil() / steps);
        let marked = spreads.iter().any(|spread| spread.mark.is_some());
        (sound && room).then_some(Self { low, high, decimals, band, marked, cells, screen })
    }

    /// A range as a bar with a dot at its middle, on the band.
    pub fn bar(&self, spread: Spread) -> String {
        let (from, to) = (self.cell(spread.low), self.cell(spread.high));
        let middle = self.cell(spread.middle);
        let mark = spread.mark.map(|mark| self.cell(mark));
        let band = self.band.map(|(low, high)| (self.cell(low), self.cell(high)));
        let part = |cell: usize| {
            let on_band = band.is_some_and(|(low, high)| (low..=high).contains(&cell));
            match (from..=to).contains(&cell) {
                _ if cell == middle => Part::Middle,
                _ if mark == Some(cell) => Part::Mark,
                true if on_band => Part::RangeOnBand,
                true => Part::Range,
                false if on_band => Part::Band,
                false => Part::Nothing,
            }
        };
        let parts: Vec<Part> = (0..self.cells).map(part).collect();
        let seen = parts.iter().rposition(|part| *part != Part::Nothing).map_or(0, |last| last + 1);
        parts[..seen].chunk_by(|a, b| a == b).map(|run| self.inked(run[0], run.len())).collect()
    }

    /// The line under the bars: the ends of the scale, and the bounds of the band under its ends.
    /// An end is left out if a bound needs its place.
    pub fn ruler(&self, unit: &str) -> String {
        /// Space between two numbers.
        const APART: usize = 2;
        let low = rounded(self.low, self.decimals);
        let high = format!("{} {unit}", rounded(self.high, self.decimals)).trim_end().to_owned();
        let right = self.cells.saturating_sub(high.chars().count());
        let is_free = |bounds: &[Label]| bounds.last().is_none_or(|it| it.end() + APART <= right);
        let mut bounds = self.bounds("");
        let has_high = is_free(&bounds);
        if !has_high {
            bounds = self.bounds(unit);
        }
        let has_low = bounds.first().is_none_or(|it| it.start >= low.chars().count() + APART);
        let mut labels: Vec<Label> = Vec::new();
        labels.extend(has_low.then_some(Label { start: 0, text: low, ink: None }));
        labels.extend(bounds);
        labels.extend(has_high.then_some(Label { start: right, text: high, ink: None }));
        let mut line = String::new();
        let mut taken = 0;
        for label in &labels {
            // Two labels meet only if a unit is wider than the strip.
            let gap = label.start.saturating_sub(taken).max(usize::from(taken > 0));
            line += &" ".repeat(gap);
            line += &self.screen.ink(&label.text, label.ink);
            taken += gap + label.text.chars().count();
        }
        line
    }

    /// The bounds of the band, each under its cell; one label for both if they are too close.
    fn bounds(&self, unit: &str) -> Vec<Label> {
        let Some((low, high)) = self.band else { return Vec::new() };
        let label = |cell: usize, text: String| {
            let length = text.chars().count();
            let start = cell.saturating_sub(length / 2).min(self.cells.saturating_sub(length));
            Label { start, text, ink: Some(Ink::Band) }
        };
        let number = |bound: f64| rounded(bound, if bound.fract() == 0.0 { 0 } else { 1 });
        let with_unit = |text: String| format!("{text} {unit}").trim_end().to_owned();
        let (from, to) = (self.cell(low), self.cell(high));
        let two = [label(from, number(low)), label(to, with_unit(number(high)))];
        if two[0].end() < two[1].start {
            return two.into();
        }
        let both = format!("{} to {}", number(low), number(high));
        vec![label(usize::midpoint(from, to), with_unit(both))]
    }

    /// What the signs mean, in lines of at most `width` characters.
    pub fn key(&self, width: usize) -> Vec<String> {
        let (range, middle) = ("90 % range", "the middle");
        let mut phrases = match self.band {
            Some(_) => vec![
                (Part::Band, "the target"),
                (Part::Range, range),
                (Part::RangeOnBand, "both"),
                (Part::Middle, middle),
            ],
            None => vec![(Part::Range, range), (Part::Middle, middle)],
        };
        phrases.extend(self.marked.then_some((Part::Mark, "nominal figures")));
        let mut lines: Vec<(usize, String)> = Vec::new();
        for (part, words) in phrases {
            let (length, phrase) =
                (words.chars().count() + 2, format!("{} {words}", self.inked(part, 1)));
            match lines.last_mut() {
                Some((taken, line)) if *taken + length + 3 <= width => {
                    *taken += length + 2;
                    *line += &format!(", {phrase}");
                }
                Some((_, line)) => {
                    line.push(',');
                    lines.push((length, phrase));
                }
                None => lines.push((length, phrase)),
            }
        }
        lines.into_iter().map(|(_, line)| line).collect()
    }

    fn cell(&self, value: f64) -> usize {
        let share = (value - self.low) / (self.high - self.low);
        (share * (self.cells - 1) as f64).round().clamp(0.0, (self.cells - 1) as f64) as usize
    }

    fn inked(&self, part: Part, cells: usize) -> String {
        let signs: String = std::iter::repeat_n(part.sign(self.screen.signs), cells).collect();
        self.screen.ink(&signs, part.ink())
    }
}

/// What a cell shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    Nothing,
    Band,
    Range,
    RangeOnBand,
    Middle,
    Mark,
}

impl Part {
    fn sign(self, signs: Signs) -> char {
        match (signs, self) {
            (Signs::Bars | Signs::Plain, Self::Nothing) => ' ',
            (Signs::Bars, Self::Band) => '░',
            (Signs::Bars, Self::Range) => '━',
            (Signs::Bars, Self::RangeOnBand) => '▓',
            (Signs::Bars, Self::Middle) => '●',
            (Signs::Bars, Self::Mark) => '◇',
            (Signs::Plain, Self::Band) => ':',
            (Signs::Plain, Self::Range) => '=',
            (Signs::Plain, Self::RangeOnBand) => '#',
            (Signs::Plain, Self::Middle) => 'o',
            (Signs::Plain, Self::Mark) => 'N',
        }
    }

    fn ink(self) -> Option<Ink> {
        match self {
            Self::Nothing => None,
            Self::Band => Some(Ink::Band),
            Self::Range | Self::RangeOnBand => Some(Ink::Range),
            Self::Middle => Some(Ink::Middle),
            Self::Mark => Some(Ink::Mark),
        }
    }
}

/// Decimals for the ends of a scale, so that rounding outwards wastes little of it.
fn decimals(span: f64) -> usize {
    match span {
        span if span >= 5.0 => 0,
        span if span >= 0.5 => 1,
        _ => 2,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spread(low: f64, middle: f64, high: f64) -> Spread {
        Spread { low, middle, high, mark: None }
    }

    fn screen(signs: Signs) -> Screen {
        Screen::new(80, signs)
    }

    #[test]
    fn a_range_lies_where_its_numbers_are() {
        let one = spread(20.0, 25.0, 30.0);
        let strip = Strip::over(&[one], Some((10.0, 30.0)), 21, screen(Signs::Plain)).unwrap();
        assert_eq!(strip.bar(one), "::::::::::#####o#####");
        assert_eq!(strip.bar(spread(10.0, 12.0, 14.0)), "##o##::::::::::::::::");
        assert_eq!(strip.ruler("%"), "10               30 %");
        let strip = Strip::over(&[one], Some((10.0, 30.0)), 21, screen(Signs::Bars)).unwrap();
        assert_eq!(strip.bar(one), "░░░░░░░░░░▓▓▓▓▓●▓▓▓▓▓");
        let key = "░ the target, ━ 90 % range, ▓ both, ● the middle";
        assert_eq!(strip.key(80), [key]);
    }

    #[test]
    fn a_band_shows_through_a_range_that_covers_it() {
        let one = Spread { mark: Some(2.0), ..spread(0.0, 10.0, 20.0) };
        let strip = Strip::over(&[one], Some((5.0, 15.0)), 21, screen(Signs::Plain)).unwrap();
        assert_eq!(strip.bar(one), "==N==#####o#####=====");
        let lines = strip.key(40);
        assert_eq!(lines[0], ": the target, = 90 % range, # both,");
        assert!(lines.last().unwrap().ends_with("N nominal figures"), "{lines:?}");
        assert!(lines.iter().all(|line| line.chars().count() <= 40), "{lines:?}");
    }

    #[test]
    fn no_range_and_no_room_make_no_strip() {
        let one = spread(1.0, 2.0, 3.0);
        assert_eq!(Strip::over(&[], None, 40, screen(Signs::Plain)), None);
        assert_eq!(Strip::over(&[one], None, 11, screen(Signs::Plain)), None);
        let flat = spread(1.0, 1.0, 1.0);
        assert_eq!(Strip::over(&[flat], None, 40, screen(Signs::Plain)), None);
        let unknown = spread(f64::NAN, f64::NAN, f64::NAN);
        assert_eq!(Strip::over(&[unknown], None, 40, screen(Signs::Plain)), None);
    }

    #[test]
    fn every_bar_is_as_wide_as_the_strip_at_most() {
        let spreads = [spread(-5.0, 0.0, 7.0), spread(3.0, 4.0, 40.0)];
        let strip = Strip::over(&spreads, Some((0.0, 8.0)), 30, screen(Signs::Bars)).unwrap();
        for one in spreads {
            let bar = strip.bar(one);
            assert!(bar.chars().count() <= 30 && bar.contains('●'), "{bar}");
        }
        assert_eq!(strip.ruler("%").chars().count(), 30);
    }

    #[test]
    fn the_ends_of_a_scale_are_round_and_hold_everything() {
        let ruler = |low: f64, high: f64| {
            let one = spread(low, low, high);
            Strip::over(&[one], None, 20, screen(Signs::Plain)).unwrap().ruler("")
        };
        assert_eq!(ruler(26.6, 35.3), format!("26{}36", " ".repeat(16)));
        assert_eq!(ruler(0.514, 0.776), format!("0.51{}0.78", " ".repeat(12)));
        assert_eq!(ruler(2.04, 4.98), format!("2.0{}5.0", " ".repeat(14)));
    }

    #[test]
    fn the_bounds_of_a_band_stand_under_its_ends() {
        let ruler = |band: (f64, f64), (low, high): (f64, f64)| {
            let one = spread(low, 0.5 * (low + high), high);
            Strip::over(&[one], Some(band), 41, screen(Signs::Plain)).unwrap().ruler("%")
        };
        assert_eq!(ruler((20.0, 30.0), (10.0, 50.0)), "10       20        30                50 %");
        // The scale begins or ends with the band.
        assert_eq!(ruler((10.0, 30.0), (10.0, 50.0)), "10                 30                50 %");
        assert_eq!(ruler((20.0, 50.0), (10.0, 50.0)), "10       20                          50 %");
        // An end without room is left out, and its unit moves to the bound.
        assert_eq!(ruler((12.0, 48.5), (10.0, 50.0)), " 12                                48.5 %");
        // A narrow band has one label.
        assert_eq!(ruler((24.0, 25.5), (10.0, 50.0)), "10        24 to 25.5                 50 %");
        assert_eq!(ruler((48.0, 50.0), (10.0, 50.0)), "10                             48 to 50 %");
    }

    #[test]
    fn a_ruler_is_as_wide_as_the_strip_at_most() {
        for cells in 12..=64 {
            for (low, high) in [(0.0, 8.0), (25.0, 35.0), (34.9, 35.0), (-3.5, 60.0), (60.0, 61.5)]
            {
                let one = spread(0.0, 20.0, 62.0);
                let strip = Strip::over(&[one], Some((low, high)), cells, screen(Signs::Plain));
                let ruler = strip.unwrap().ruler("%");
                assert!(ruler.chars().count() <= cells, "{cells}: {ruler}");
                assert!(ruler.ends_with('%'), "{ruler}");
            }
        }
    }

    #[test]
    fn colours_change_no_sign() {
        let one = Spread { mark: Some(2.0), ..spread(0.0, 10.0, 20.0) };
        let plain = screen(Signs::Bars);
        let drawn = |screen| Strip::over(&[one], Some((5.0, 25.0)), 21, screen).unwrap();
        let coloured = drawn(plain.coloured()).bar(one);
        assert!(coloured.contains("\x1b[32m░░░░\x1b[0m"), "{coloured:?}");
        let codes = ["\x1b[32m", "\x1b[1;36m", "\x1b[1m", "\x1b[33m", "\x1b[0m"];
        let bare = codes.iter().fold(coloured, |text, code| text.replace(code, ""));
        assert_eq!(bare, drawn(plain).bar(one));
    }
}
