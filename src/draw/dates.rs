//! A horizontal axis of dates.

use super::layout::{HAIR, NUMBERS, foot};
use super::palette::Tone;
use super::scene::{Anchor, Scene, at, style};
use super::type_face;
use jiff::ToSpan;
use jiff::civil::Date;

/// Least space between two dates.
const GAP: f64 = 10.0;

/// A scale from days to pixels.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Days {
    first: Date,
    last: Date,
    from: f64,
    to: f64,
}

/// The interval between marked dates.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    Days(i32),
    Months(i32),
}

/// Steps from the finest to the coarsest. The last one fits whatever dates a book holds.
const DAYS: [i32; 4] = [1, 2, 7, 14];
const MONTHS: [i32; 12] = [1, 2, 3, 6, 12, 24, 60, 120, 600, 2_400, 12_000, 60_000];

/// Whole days from one date to another.
fn days(from: Date, to: Date) -> f64 {
    to.duration_since(from).as_hours() as f64 / 24.0
}

impl Days {
    /// A scale from the first to the last of `dates`, in which every day has width for its sewings.
    pub fn over(dates: impl Iterator<Item = Date> + Clone, from: f64, to: f64) -> Option<Self> {
        let (first, last) = (dates.clone().min()?, dates.max()?);
        Some(Self { first, last, from, to })
    }

    /// The first and the last pixel.
    pub fn pixels(&self) -> (f64, f64) {
        (self.from, self.to)
    }

    /// The pixel of a moment on `date`: `share` of the day has passed, from 0 to 1.
    pub fn pixel(&self, date: Date, share: f64) -> f64 {
        let through = (days(self.first, date) + share) / (days(self.first, self.last) + 1.0);
        self.from + through * (self.to - self.from)
    }

    /// The dates to mark, with their labels, at the finest step that fits.
    fn marks(&self, width: f64) -> Vec<(f64, String)> {
        let steps = DAYS.map(Step::Days).into_iter().chain(MONTHS.map(Step::Months));
        let mut fitting = steps.filter_map(|step| self.marked(step, width));
        let first = || vec![(self.pixel(self.first, 0.5), self.first.strftime("%Y").to_string())];
        fitting.find(|marks| !marks.is_empty()).unwrap_or_else(first)
    }

    /// The marks of one step whose labels lie in the picture; `None` if two labels are too close.
    fn marked(&self, step: Step, width: f64) -> Option<Vec<(f64, String)>> {
        // A step with more dates than pixels is skipped without listing its dates.
        let least = match step {
            Step::Days(count) => f64::from(count),
            Step::Months(count) => 28.0 * f64::from(count),
        };
        if days(self.first, self.last) / least > self.to - self.from {
            return None;
        }
        let half = |words: &str| type_face::width(words, NUMBERS) / 2.0;
        let dates = step.dates(self.first, self.last).into_iter();
        let marks: Vec<(f64, String)> = dates
            .map(|date| (self.pixel(date, 0.5), step.words(date)))
            .filter(|(x, words)| x - half(words) >= 0.0 && x + half(words) <= width)
            .collect();
        let apart = |pair: &[(f64, String)]| {
            let ((left, one), (right, other)) = (&pair[0], &pair[1]);
            right - left >= half(one) + half(other) + GAP
        };
        marks.windows(2).all(apart).then_some(marks)
    }

    /// Draws a grid line at each date, from top to bottom.
    pub fn draw_lines(&self, scene: &mut Scene, top: f64, bottom: f64) {
        for (x, _) in self.marks(scene.width) {
            scene.line(at(x, top), at(x, bottom), Tone::Rule, HAIR);
        }
    }

    /// Draws the axis along the bottom of plots, with its label below. The scene's height ends
    /// there.
    pub fn draw(&self, scene: &mut Scene, bottom: f64, words: &str) {
        for (x, date) in self.marks(scene.width) {
            scene.text(at(x, bottom + 14.0), date, style(NUMBERS, Tone::Quiet), Anchor::Middle);
        }
        scene.line(at(self.from, bottom), at(self.to, bottom), Tone::Ink, 1.0);
        foot(scene, words, self.from, self.to, bottom);
    }
}

impl Step {
    /// Every date of the step between `first` and `last`. Days are counted from `first`; months
    /// begin on their first day.
    fn dates(self, first: Date, last: Date) -> Vec<Date> {
        let (start, span) = match self {
            Self::Days(count) => (Some(first), count.days()),
            Self::Months(count) => {
                let place = i32::from(first.year()) * 12 + i32::from(first.month()) - 1;
                let begin = place.div_euclid(count) * count;
                let year = i16::try_from(begin.div_euclid(12)).ok();
                let month = i8::try_from(begin.rem_euclid(12) + 1).ok();
                let start =
                    year.zip(month).and_then(|(year, month)| Date::new(year, month, 1).ok());
                (start, count.months())
            }
        };
        let later = |date: &Date| date.checked_add(span).ok();
        let all = std::iter::successors(start, later).take_while(|date| *date <= last);
        all.filter(|date| *date >= first).collect()
    }

    /// A date as precise as the step needs: `2026-01-12`, `2026-01` or `2026`.
    fn words(self, date: Date) -> String {
        match self {
            Self::Days(_) => date.to_string(),
            Self::Months(count) if count % 12 == 0 => date.strftime("%Y").to_string(),
            Self::Months(_) => date.strftime("%Y-%m").to_string(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn words(first: &str, last: &str, width: f64) -> Vec<String> {
        let ends: [Date; 2] = [first.parse().unwrap(), last.parse().unwrap()];
        let days = Days::over(ends.into_iter(), 50.0, width - 16.0).unwrap();
        days.marks(width).into_iter().map(|mark| mark.1).collect()
    }

    #[test]
    fn dates_are_as_exact_as_there_is_room() {
        assert_eq!(words("2026-01-12", "2026-01-12", 380.0), ["2026-01-12"]);
        assert_eq!(words("2026-01-12", "2026-01-14", 380.0).len(), 3);
        let weeks = words("2026-01-12", "2026-02-17", 900.0);
        assert_eq!(weeks[..2], ["2026-01-12", "2026-01-19"], "{weeks:?}");
        assert_eq!(words("2026-01-12", "2026-05-20", 380.0)[0], "2026-02");
        let years = words("2016-03-01", "2026-02-17", 380.0);
        assert!(years.len() >= 3 && years.iter().all(|year| year.len() == 4), "{years:?}");
    }

    #[test]
    fn a_slip_of_a_century_still_has_dates_to_read_by() {
        for (first, last) in [("0026-01-12", "2026-01-12"), ("-009999-01-01", "9999-12-31")] {
            let marks = words(first, last, 380.0);
            assert!((1..=8).contains(&marks.len()), "{marks:?}");
        }
    }
}
