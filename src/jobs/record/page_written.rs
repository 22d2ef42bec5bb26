//! The page shown after readings were written: what they measure, and what they change.

use super::answer_changed::{Factor, factor};
use super::answer_measure::{Expected, count, expected, open_state, readings_of};
use super::page_measure::block;
use super::page_measure_view::{expected_range, mean, strip};
use super::page_measured::Block;
use crate::book::Book;
use crate::jobs::desk::Desk;
use crate::page::address::address;
use crate::page::form::Form;
use crate::page::route::{Answer, Content};
use crate::page::strip::{Scale, Strip};
use crate::page::turned::Turned;
use crate::terminal::number::{gauged, plural, rounded};
use crate::trade::{Edge, State, Trial};
use crate::units::Millimetres;
use askama::Template;

#[derive(Template)]
#[template(path = "bench/measured.html")]
struct View {
    trial: String,
    /// The address of the trial in the log.
    log: String,
    state: &'static str,
    unit: &'static str,
    swell: Option<String>,
    percent: Option<String>,
    expected: Option<String>,
    in_line: bool,
    strip: Option<Strip>,
    edges: Vec<(&'static str, String)>,
    seen_more: usize,
    changed: Option<Changed>,
    next: Next,
}

struct Changed {
    words: String,
    rows: Vec<Row>,
    basis: String,
}

/// When the factor was so, as a strip and as a range.
type Row = (&'static str, Strip, String);

struct Next {
    title: String,
    words: &'static str,
    path: String,
    button: String,
    /// Whether the next step is knocking down, with a hammer.
    hammer: bool,
}

pub(crate) fn show(desk: &Desk, form: &Form) -> Result<Answer, Turned> {
    let kept = desk.kept()?;
    let book = &*kept.book;
    let block = block(book, form, desk)?;
    let Block { trial, state, .. } = block;
    let now = factor(&kept.bench, &trial.paper, state);
    let before = form.get("said").and_then(|number| desk.before(number));
    // Readings are never compared with what they themselves have taught.
    let expected = before.as_ref().map(|before| expected(before.fitted(), trial, state));
    let expected = expected.unwrap_or_default();
    let before = before.and_then(|kept| factor(&kept.bench, &trial.paper, state));
    let seen = form.get("seen").and_then(|seen| seen.parse::<usize>().ok());
    let own = form.get("at").and_then(|places| places.parse::<usize>().ok());
    // What was there before and what this form has written; the rest came later.
    let seen = seen.zip(own).map(|(seen, own)| seen.saturating_add(own));
    let view = view(&block, &expected, before, now, seen);
    // Readings that were undone since are not there.
    let is = if count(book, &trial.name, state) == 0 { "is not" } else { "is" };
    let title = format!("{} {is} measured {}", trial.name, state.phrase());
    let content = Content::of(title, &view);
    let values = form.get("count").and_then(|count| count.parse::<usize>().ok());
    let said = values.filter(|_| desk.counts(form)).map(|values| {
        let (are, values) = (if values == 1 { "is" } else { "are" }, plural(values, "reading"));
        // The log counts places; a place has a value at each edge.
        let at = own.map(|places| format!(" at {},", plural(places, "place"))).unwrap_or_default();
        let was = form.get("was").map(|was| format!(" {was} is called {} now.", trial.name));
        let was = was.unwrap_or_default();
        format!("{values} of {}, {},{at} {are} in the book.{was}", trial.name, state.phrase())
    });
    let there = || {
        form.get("there")?;
        Some("These readings were in the book already. They were not written again.".to_owned())
    };
    Ok(Content { said: said.or_else(there), ..content }.into())
}

fn view(
    block: &Block<'_>,
    expected: &Expected,
    before: Option<Factor>,
    now: Option<Factor>,
    seen: Option<usize>,
) -> View {
    let Block { book, trial, state, .. } = *block;
    let config = book.config();
    let values = |edge: Edge| -> Vec<f64> {
        let values = readings_of(book, &trial.name, state).filter_map(|it| it.edge(edge));
        values.map(Millimetres::mm).collect()
    };
    let [spines, fore_edges] = [values(Edge::Spine), values(Edge::ForeEdge)];
    let (spine, fore_edge) = (mean(&spines), mean(&fore_edges));
    let swell = spine.zip(fore_edge).map(|(spine, fore_edge)| spine - fore_edge);
    let shown = |mm: f64| gauged(mm, config);
    let edge = |(words, values): (&'static str, &[f64])| {
        let all: Vec<String> = values.iter().map(|mm| shown(*mm)).collect();
        let mean = shown(mean(values)?);
        Some((words, format!("{mean} {}, mean of {}", config.unit, all.join(", "))))
    };
    let is_within = |swell: f64| expected.swell.is_none_or(|it| (it.q05..=it.q95).contains(&swell));
    let now_here = count(book, &trial.name, state);
    let edges = [("Spine", &spines[..]), ("Fore-edge", &fore_edges[..])];
    View {
        trial: trial.name.to_string(),
        log: address("/log", &[("trial", Some(trial.name.as_str()))]),
        state: state.phrase(),
        unit: config.unit.symbol(),
        swell: swell.map(shown),
        percent: swell.zip(fore_edge).map(|(swell, edge)| rounded(100.0 * swell / edge, 0)),
        expected: expected_range(expected, config),
        in_line: swell.is_none_or(is_within),
        strip: strip(expected, swell, book),
        edges: edges.into_iter().filter_map(edge).collect(),
        seen_more: seen.map_or(0, |seen| now_here.saturating_sub(seen)),
        changed: now
            .filter(|_| state.has_thread() && now_here > 0)
            .map(|now| changed(trial, state, before, now)),
        next: next(book, trial, state),
    }
}

fn changed(trial: &Trial, state: State, before: Option<Factor>, now: Factor) -> Changed {
    let of = |factor: &Factor| (factor.factor.q05, factor.factor.q95);
    let all = before.iter().chain([&now]).flat_map(|factor| [of(factor).0, of(factor).1]);
    let scale = Scale::over(all.chain([now.nominal]), "");
    let row = |words, factor: &Factor, was: bool| {
        let (low, high) = of(factor);
        let (middle, range) =
            (rounded(factor.factor.q50, 2), format!("{}–{}", rounded(low, 2), rounded(high, 2)));
        let title = format!("{words}: {middle}, 90 % range {range}");
        let strip = Strip::new(title, &scale, [low, factor.factor.q50, high]);
        let nominal = (!was).then_some(factor.nominal);
        (words, Strip { nominal, was, ticks: !was, ..strip }, range)
    };
    let share = format!(
        "{} {}: the share of the thread that shows at the spine",
        trial.paper,
        state.phrase()
    );
    let words = match before {
        Some(before) => format!(
            "{share} was {} and is {} now.",
            rounded(before.factor.q50, 2),
            rounded(now.factor.q50, 2)
        ),
        None => format!("{share} is {}.", rounded(now.factor.q50, 2)),
    };
    let mut rows: Vec<Row> = before.iter().map(|before| row("Before", before, true)).collect();
    rows.push(row("Now", &now, false));
    let (own, all) = now.trials;
    let basis = format!(
        "Based on {} of {}, {all} in all. The diamond is the nominal figure, {}.",
        plural(own, "trial"),
        trial.paper,
        rounded(now.nominal, 2)
    );
    Changed { words, rows, basis }
}

fn next(book: &Book, trial: &Trial, state: State) -> Next {
    if let Some(next) = open_state(book, &trial.name)
        .filter(|next| *next != state || count(book, &trial.name, state) == 0)
    {
        let (name, word) = (Some(trial.name.as_str()), Some(next.word()));
        let (title, words) = match next.is_knocked() {
            true => (
                "Next: knock it down, then measure it again",
                "Knock it down as you would a book. Measure the same places, with the same grip.",
            ),
            false => ("Next: measure it as sewn", "Measure the same places, with the same grip."),
        };
        return Next {
            title: title.to_owned(),
            words,
            path: address("/measure", &[("trial", name), ("state", word)]),
            button: format!("Measure {} {}", trial.name, next.phrase()),
            hammer: next.is_knocked(),
        };
    }
    Next {
        title: format!("{} is done", trial.name),
        words: "Sew another block, or plan a book with what this one has taught.",
        path: "/plan".to_owned(),
        button: "Plan a book".to_owned(),
        hammer: false,
    }
}
