//! Ranges as small pictures made of characters, against the band of a target.

/// The characters of a strip.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Signs {
    /// Bars and dots, where the terminal shows them.
    Bars,
    /// Plain ASCII, where it may not.
    Plain,
}

/// A range with its middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Its low end.
    pub low: f64,
    /// Its middle.
    pub middle: f64,
    /// Its high end.
    pub high: f64,
}

/// One scale for several ranges, so that they can be compared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strip {
    low: f64,
    high: f64,
    band: Option<(f64, f64)>,
    cells: usize,
    signs: Signs,
}

impl Strip {
    /// A scale of `cells` characters over all the ranges and the band. `None` without a range, or
    /// without room.
    pub fn over(
        spreads: &[Spread],
        band: Option<(f64, f64)>,
        (cells, signs): (usize, Signs),
    ) -> Option<Self> {
        /// Narrower than this shows nothing.
        const LEAST_CELLS: usize = 12;
        let ends = spreads.iter().flat_map(|spread| [spread.low, spread.high]);
        let all = ends.chain(band.into_iter().flat_map(|(low, high)| [low, high]));
        let (low, high) = all
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)));
        let sound = low.is_finite() && high.is_finite() && low < high;
        let room = !spreads.is_empty() && cells >= LEAST_CELLS;
        (sound && room).then_some(Self { low, high, band, cells, signs })
    }

    /// A range as a bar with a dot at its middle, on the band.
    pub fn bar(&self, spread: Spread) -> String {
        let (from, to) = (self.cell(spread.low), self.cell(spread.high));
        let middle = self.cell(spread.middle);
        let band = self.band.map(|(low, high)| (self.cell(low), self.cell(high)));
        let sign = |cell: usize| {
            if cell == middle {
                Part::Middle
            } else if (from..=to).contains(&cell) {
                Part::Range
            } else if band.is_some_and(|(low, high)| (low..=high).contains(&cell)) {
                Part::Band
            } else {
                Part::Nothing
            }
        };
        let text: String = (0..self.cells).map(|cell| self.character(sign(cell))).collect();
        text.trim_end().to_owned()
    }

    /// The ends of the scale, as a line to stand under the bars.
    pub fn ruler(&self, unit: &str) -> String {
        let (low, high) = (label(self.low), format!("{} {unit}", label(self.high)));
        let between = self.cells.saturating_sub(low.chars().count() + high.chars().count());
        format!("{low}{}{high}", " ".repeat(between.max(1)))
    }

    /// What the signs mean.
    pub fn key(&self) -> String {
        let sign = |part| self.character(part);
        let band = match self.band {
            Some(_) => format!(", {} the target", sign(Part::Band)),
            None => String::new(),
        };
        format!("{} nine times in ten, {} the middle{band}", sign(Part::Range), sign(Part::Middle))
    }

    fn cell(&self, value: f64) -> usize {
        let share = (value - self.low) / (self.high - self.low);
        (share * (self.cells - 1) as f64).round().clamp(0.0, (self.cells - 1) as f64) as usize
    }

    fn character(&self, part: Part) -> char {
        match (self.signs, part) {
            (_, Part::Nothing) => ' ',
            (Signs::Bars, Part::Band) => '░',
            (Signs::Bars, Part::Range) => '━',
            (Signs::Bars, Part::Middle) => '●',
            (Signs::Plain, Part::Band) => ':',
            (Signs::Plain, Part::Range) => '=',
            (Signs::Plain, Part::Middle) => 'o',
        }
    }
}

/// What a cell shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    Nothing,
    Band,
    Range,
    Middle,
}

/// An end of the scale, with one decimal where it is small.
fn label(value: f64) -> String {
    super::rounded(value, if value.abs() < 10.0 { 1 } else { 0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn spread(low: f64, middle: f64, high: f64) -> Spread {
        Spread { low, middle, high }
    }

    #[test]
    fn a_range_lies_where_its_numbers_are() {
        let one = spread(20.0, 25.0, 30.0);
        let strip = Strip::over(&[one], Some((10.0, 30.0)), (21, Signs::Plain)).unwrap();
        assert_eq!(strip.bar(one), "::::::::::=====o=====");
        assert_eq!(strip.bar(spread(10.0, 12.0, 14.0)), "==o==::::::::::::::::");
        assert_eq!(strip.ruler("%"), "10               30 %");
        let strip = Strip::over(&[one], Some((10.0, 30.0)), (21, Signs::Bars)).unwrap();
        assert_eq!(strip.bar(one), "░░░░░░░░░░━━━━━●━━━━━");
        assert_eq!(strip.key(), "━ nine times in ten, ● the middle, ░ the target");
    }

    #[test]
    fn no_range_and_no_room_make_no_strip() {
        let one = spread(1.0, 2.0, 3.0);
        assert_eq!(Strip::over(&[], None, (40, Signs::Plain)), None);
        assert_eq!(Strip::over(&[one], None, (11, Signs::Plain)), None);
        assert_eq!(Strip::over(&[spread(1.0, 1.0, 1.0)], None, (40, Signs::Plain)), None);
    }

    #[test]
    fn every_bar_is_as_wide_as_the_strip_at_most() {
        let spreads = [spread(-5.0, 0.0, 7.0), spread(3.0, 4.0, 40.0)];
        let strip = Strip::over(&spreads, Some((0.0, 8.0)), (30, Signs::Bars)).unwrap();
        for one in spreads {
            let bar = strip.bar(one);
            assert!(bar.chars().count() <= 30 && bar.contains('●'), "{bar}");
        }
        assert_eq!(strip.ruler("%").chars().count(), 30);
    }
}
