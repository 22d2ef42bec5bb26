//! `history`: every sewing in order of date, with the limits of a steady hand.

use super::answer_history::HistoryView;
use crate::draw::axis::Axis;
use crate::draw::chart::Chart;
use crate::draw::dates::Days;
use crate::draw::layout::{Look, MARGIN, Sign};
use crate::draw::palette::Tone;
use crate::draw::scene::{Area, Form, Point, Scene, at};
use crate::jobs::history::answer::{BASELINE, Drift, History, HistoryPoint, MovingAverage};
use crate::jobs::history::answer_control::LIMIT;
use crate::terminal::number::{plural, rounded};
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Room on the left for numbers.
const NUMBERS: f64 = 36.0;
const HEIGHT: f64 = 300.0;
/// A struck sewing further out than this is drawn at the edge: a slip of the pen must not press all
/// the others together.
const FARTHEST: f64 = 4.0 * LIMIT;
const TITLE: &str = "Sewing after sewing: is the hand steady?";
const WORDS: &str = "day of sewing (across); more or less thread showing than expected, 1 is the \
                     usual difference between sewings (up)";
const SIGNS: [Sign; 6] = [
    Sign { look: Look::Mark(Form::Disc, Tone::After), words: "a sewing" },
    Sign { look: Look::Mark(Form::Diamond, Tone::Struck), words: "outside the limits" },
    Sign { look: Look::Mark(Form::Cross, Tone::Struck), words: "struck, not used" },
    Sign { look: Look::Patch(Tone::Steady), words: "within the limits of one sewing" },
    Sign { look: Look::Stroke(Tone::Before), words: "moving average" },
    Sign { look: Look::Dashes(Tone::Quiet), words: "its limits" },
];

/// Where the sewings are: days across, and up.
struct Places<'v> {
    days: Days,
    up: Axis,
    /// How many sewings a day has, struck or not.
    on_day: BTreeMap<Date, usize>,
    view: &'v HistoryView,
}

/// Draws the sewings in order of date.
pub fn history(view: &HistoryView, width: f64) -> Chart {
    let mut scene = Scene::new(width);
    let (left, right) = (MARGIN + NUMBERS, width - MARGIN);
    let Some(days) = Days::over(dates(view), (left, right)).filter(|_| dates(view).count() > 1)
    else {
        return Chart::without_plot(TITLE, width, caption(view));
    };
    let up = Axis::over(values(view), (HEIGHT, 0.0));
    let mut on_day = BTreeMap::new();
    dates(view).for_each(|date| *on_day.entry(date).or_insert(0) += 1);
    let limits = (up.pixel(LIMIT), up.pixel(-LIMIT));
    scene.fill(Area { left, right, top: limits.0, bottom: limits.1 }, Tone::Steady);
    up.draw_up(&mut scene, (left, right));
    days.draw(&mut scene, (0.0, HEIGHT), WORDS);
    let places = Places { days, up, on_day, view };
    places.averages(&mut scene);
    places.marks(&mut scene);
    Chart::new(TITLE, &SIGNS, scene, caption(view))
}

/// The days of all sewings, the struck ones last.
fn dates(view: &HistoryView) -> impl Iterator<Item = Date> + Clone {
    let struck = view.struck.iter().map(|point| point.date);
    view.history.points.iter().map(|point| point.date).chain(struck)
}

/// Everything that must be on the axis.
fn values(view: &HistoryView) -> impl Iterator<Item = f64> {
    let points = view.history.points.iter();
    let averages = points.clone().filter_map(|point| point.average);
    let struck = view.struck.iter().map(|point| point.standardised.clamp(-FARTHEST, FARTHEST));
    let bounds = averages.flat_map(|MovingAverage { value, low, high }| [value, low, high]);
    points.map(|point| point.standardised).chain(struck).chain(bounds).chain([-LIMIT, LIMIT])
}

impl Places<'_> {
    /// The pixels across of all sewings, the struck ones last; those of one day side by side.
    fn across(&self) -> Vec<f64> {
        let mut seen: BTreeMap<Date, usize> = BTreeMap::new();
        let place = |date: Date| {
            let before = seen.entry(date).or_insert(0);
            *before += 1;
            let of = self.on_day.get(&date).copied().unwrap_or(1);
            self.days.pixel(date, *before as f64 / (of as f64 + 1.0))
        };
        dates(self.view).map(place).collect()
    }

    fn marks(&self, scene: &mut Scene) {
        let counted = self.view.history.points.iter().map(|point| {
            let sound = (Form::Disc, Tone::After);
            let look = if point.out_of_limits { (Form::Diamond, Tone::Struck) } else { sound };
            (point.standardised, look)
        });
        let cross = (Form::Cross, Tone::Struck);
        let struck = self.view.struck.iter().map(|point| (point.standardised, cross));
        for (x, (value, (form, tone))) in self.across().into_iter().zip(counted.chain(struck)) {
            scene.mark(at(x, self.up.pixel(value)), form, tone, 9.0);
        }
    }

    /// The moving average and its limits.
    fn averages(&self, scene: &mut Scene) {
        let steps: Vec<(f64, MovingAverage)> = (self.across().into_iter())
            .zip(&self.view.history.points)
            .filter_map(|(x, point)| Some((x, point.average?)))
            .collect();
        let line = |pick: fn(&MovingAverage) -> f64| -> Vec<Point> {
            steps.iter().map(|(x, average)| at(*x, self.up.pixel(pick(average)))).collect()
        };
        for limit in [line(|average| average.low), line(|average| average.high)] {
            limit.windows(2).for_each(|pair| scene.dashes(pair[0], pair[1], Tone::Quiet, 1.0));
        }
        for pair in line(|average| average.value).windows(2) {
            scene.line(pair[0], pair[1], Tone::Before, 2.5);
        }
    }
}

fn caption(view: &HistoryView) -> String {
    let History { points, undated, drift, .. } = &view.history;
    let mut sentences = vec![match (dates(view).count(), drift) {
        (0, _) => "No sewing with a date has been measured yet.".to_owned(),
        (1, _) => "One sewing has a date; from two on they are drawn in order of date.".to_owned(),
        (_, drift) => verdict(points.len(), drift),
    }];
    let out: Vec<&HistoryPoint> = view.history.out_of_limits().collect();
    sentences.extend(match out[..] {
        [] => None,
        [one] => Some(format!("{} of {} is further out than chance allows.", one.trial, one.date)),
        _ => Some(format!("{} are further out than chance allows.", plural(out.len(), "sewing"))),
    });
    sentences.extend((!view.struck.is_empty()).then(|| {
        "A struck sewing is shown by how far it lies from what the others lead one to expect, \
         and is not used."
            .to_owned()
    }));
    let beyond = view.struck.iter().filter(|point| point.standardised.abs() > FARTHEST).count();
    sentences.extend(match beyond {
        0 => None,
        1 => Some("1 struck sewing lies beyond the edge.".to_owned()),
        _ => Some(format!("{beyond} struck sewings lie beyond the edge.")),
    });
    sentences.extend(
        (*undated > 0).then(|| format!("{} without a date left out.", plural(*undated, "sewing"))),
    );
    sentences.join(" ")
}

fn verdict(count: usize, drift: &Drift) -> String {
    let sewings = plural(count, "sewing");
    match drift {
        Drift::TooFew { needed, .. } => {
            format!("{sewings} with a date: too few to tell of a change, which takes {needed}.")
        }
        Drift::Steady => format!("Over {sewings} the hand is steady: no drift."),
        Drift::Drifting { trial, since, change } => {
            let (word, size) = if *change < 0.0 { ("less", -change) } else { ("more", *change) };
            format!(
                "Over {sewings} the hand is drifting: since {since} (trial {trial}) about {} of \
                 the thread {word} shows than in the first {BASELINE}.",
                rounded(size, 2)
            )
        }
    }
}
