//! `history`: for each hand, every sewing by date with the limits of a steady hand, and below it
//! the moving average with its own limits.

use super::answer_history::{HandHistory, HistoryView};
use super::draw_history_words::{FARTHEST, caption, title};
use crate::draw::axis::Axis;
use crate::draw::chart::Chart;
use crate::draw::dates::Days;
use crate::draw::layout::{LINE, Label, Look, MARGIN, NUMBERS, Side, Sign, lines};
use crate::draw::palette::Tone;
use crate::draw::scene::{Area, Form, Scene, at, style};
use crate::draw::type_face;
use crate::jobs::history::answer::MovingAverage;
use crate::jobs::history::answer_control::LIMIT;
use crate::jobs::history::text::named;
use crate::terminal::screen::Signs;
use crate::terminal::words::cut;
use jiff::civil::Date;
use std::collections::BTreeMap;

/// Room on the left for numbers.
const ROOM: f64 = 36.0;
/// The height of a panel of sewings: for a single hand, and for each of several hands.
const SEWINGS: [f64; 2] = [260.0, 170.0];
/// The height of a panel of averages.
const AVERAGES: f64 = 96.0;
/// Space below a panel.
const GAP: f64 = 14.0;
/// Space between the words above a panel and its plot, for a mark at the upper edge.
const AIR: f64 = 6.0;
/// At most this many struck or out-of-limits sewings are named beside their marks, for each hand.
const MOST_NAMED: usize = 8;
const SIGNS: [Sign; 2] = [
    Sign { look: Look::Mark(Form::Diamond, Tone::Struck), words: "outside the limits" },
    Sign { look: Look::Mark(Form::Cross, Tone::Struck), words: "struck, not used" },
];

pub fn history(view: &HistoryView, width: f64) -> Chart {
    let mut scene = Scene::new(width);
    let (left, right) = (MARGIN + ROOM, width - MARGIN);
    let dates = view.hands.iter().flat_map(HandHistory::dates);
    let Some(days) = Days::over(dates.clone(), left, right).filter(|_| dates.count() > 1) else {
        return Chart::without_plot(title(view), width, caption(view));
    };
    let panels = panels(view, width);
    let bottom = panels.last().map_or(0.0, |panel| panel.bottom);
    for panel in &panels {
        panel.draw_ground(&mut scene, &days);
    }
    days.draw(&mut scene, bottom, "day of sewing");
    panels.iter().for_each(|panel| panel.draw(&mut scene, &days));
    Chart::new(title(view), &SIGNS, scene, caption(view))
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Shown {
    Sewings,
    Averages,
}

/// A part of the chart with its own vertical scale.
struct Panel<'v> {
    hand: &'v HandHistory,
    shown: Shown,
    words: Vec<String>,
    up: Axis,
    /// Where the words above the plot begin.
    begin: f64,
    /// The plot itself.
    top: f64,
    bottom: f64,
}

/// One or two panels for each hand, from top to bottom.
fn panels(view: &HistoryView, width: f64) -> Vec<Panel<'_>> {
    let mut begin = 0.0;
    let height = SEWINGS[usize::from(view.hands.len() > 1)];
    let mut panels = Vec::new();
    for hand in &view.hands {
        let name =
            if view.hands.len() > 1 { format!("{}: ", named(&hand.hand)) } else { String::new() };
        let has_averages = hand.history.points.iter().any(|point| point.average.is_some());
        let mut add = |shown, height, words| {
            let words = type_face::lines(&format!("{name}{words}"), NUMBERS, width - 2.0 * MARGIN);
            let top = begin + LINE * words.len() as f64 + AIR;
            let bottom = top + height;
            let up = Axis::over(values(hand, shown), bottom, top);
            panels.push(Panel { hand, shown, words, up, begin, top, bottom });
            begin = bottom + GAP;
        };
        add(Shown::Sewings, height, "each sewing; shaded: the limits of a single one");
        if has_averages {
            add(Shown::Averages, AVERAGES, "moving average; shaded: its own limits");
        }
    }
    panels
}

/// Everything that must be on the axis of a panel.
fn values(hand: &HandHistory, shown: Shown) -> impl Iterator<Item = f64> {
    let points = &hand.history.points;
    let struck = hand.struck.iter().map(|point| point.standardised.clamp(-FARTHEST, FARTHEST));
    let sewings = points.iter().map(|point| point.standardised).chain(struck);
    let averages = points.iter().filter_map(|point| point.average);
    let averages = averages.flat_map(|MovingAverage { value, low, high }| [value, low, high]);
    let is_sewings = shown == Shown::Sewings;
    let sewings = sewings.chain([-LIMIT, LIMIT]).filter(move |_| is_sewings);
    sewings.chain(averages.filter(move |_| !is_sewings))
}

impl Panel<'_> {
    fn draw_ground(&self, scene: &mut Scene, days: &Days) {
        let (left, right) = days.pixels();
        let ground = |(left, right): (f64, f64), (low, high): (f64, f64)| Area {
            left,
            right,
            top: self.up.pixel(high),
            bottom: self.up.pixel(low),
        };
        match self.shown {
            Shown::Sewings => {
                scene.fill(ground((left, right), (-LIMIT, LIMIT)), Tone::Steady);
            }
            Shown::Averages => {
                let steps = self.averages(days);
                for (index, (x, MovingAverage { low, high, .. })) in steps.iter().enumerate() {
                    let half_way = |other: Option<&(f64, MovingAverage)>| {
                        other.map_or(*x, |(other, _)| (x + other) / 2.0)
                    };
                    let before = half_way(index.checked_sub(1).and_then(|at| steps.get(at)));
                    let after = half_way(steps.get(index + 1));
                    scene.fill(ground((before, after), (*low, *high)), Tone::Steady);
                }
            }
        }
    }

    fn draw(&self, scene: &mut Scene, days: &Days) {
        days.draw_lines(scene, self.top, self.bottom);
        let (left, right) = days.pixels();
        self.up.draw_up(scene, left, right);
        lines(scene, &self.words, at(MARGIN, self.begin), style(NUMBERS, Tone::Ink));
        match self.shown {
            Shown::Sewings => self.draw_marks(scene, days),
            Shown::Averages => {
                let steps = self.averages(days);
                let place =
                    |(x, average): &(f64, MovingAverage)| at(*x, self.up.pixel(average.value));
                for pair in steps.windows(2) {
                    scene.line(place(&pair[0]), place(&pair[1]), Tone::After, 2.5);
                }
                for out in steps.iter().filter(|(_, average)| average.is_out()) {
                    scene.mark(place(out), Form::Diamond, Tone::Struck, 9.0);
                }
            }
        }
    }

    fn draw_marks(&self, scene: &mut Scene, days: &Days) {
        let counted = self.hand.history.points.iter().map(|point| {
            let sound = (Form::Disc, Tone::After);
            let look = if point.out_of_limits { (Form::Diamond, Tone::Struck) } else { sound };
            (&point.trial, point.standardised, look)
        });
        let cross = (Form::Cross, Tone::Struck);
        let struck = self.hand.struck.iter().map(|point| (&point.trial, point.standardised, cross));
        let mut out = Vec::new();
        for (x, (trial, value, look)) in self.across(days).into_iter().zip(counted.chain(struck)) {
            let place = at(x, self.up.pixel(value));
            scene.mark(place, look.0, look.1, 9.0);
            out.extend((look.0 != Form::Disc).then_some((trial, place)));
        }
        let (left, right) = days.pixels();
        let within = Area { left, right, top: self.top, bottom: self.bottom };
        for (trial, place) in out.into_iter().take(MOST_NAMED) {
            let name = cut(trial.as_str(), 16, Signs::Bars);
            let sides = [Side::Right, Side::Left, Side::Above, Side::Below];
            let named = Area::around(place, 6.0);
            Label { words: &name, tone: Tone::Ink, named, within }.draw(scene, &sides);
        }
    }

    /// The x pixels of all the hand's sewings, struck ones last. Sewings of one day are side by
    /// side.
    fn across(&self, days: &Days) -> Vec<f64> {
        let mut on_day: BTreeMap<Date, usize> = BTreeMap::new();
        self.hand.dates().for_each(|date| *on_day.entry(date).or_insert(0) += 1);
        let mut seen: BTreeMap<Date, usize> = BTreeMap::new();
        let place = |date: Date| {
            let before = seen.entry(date).or_insert(0);
            *before += 1;
            let of = on_day.get(&date).copied().unwrap_or(1);
            days.pixel(date, *before as f64 / (of as f64 + 1.0))
        };
        self.hand.dates().map(place).collect()
    }

    /// The moving averages, each with its x pixel.
    fn averages(&self, days: &Days) -> Vec<(f64, MovingAverage)> {
        let points = self.across(days).into_iter().zip(&self.hand.history.points);
        points.filter_map(|(x, point)| Some((x, point.average?))).collect()
    }
}
