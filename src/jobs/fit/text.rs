//! What `fit` shows.

use super::answer::{Learnt, LearntLine, LearntPaper, LearntSpread};
use super::text_check::bends_text;
use super::text_picture::factors_picture;
use super::text_weighed::weighed_text;
use crate::jobs::beliefs::text_names::spread_words;
use crate::jobs::history::text::history_text;
use crate::jobs::track::text::track_text;
use crate::model::SwellSpread;
use crate::model::mixed::Summary;
use crate::terminal::number::{plural, ranged_length, rounded};
use crate::terminal::screen::Screen;
use crate::terminal::table::Table;
use crate::terminal::words::{hanging, paragraphs, wrapped};
use crate::units::LengthUnit;

/// Decimals of a factor: a hundredth of a thread's diameter is less than any gauge shows.
const FACTOR_DECIMALS: usize = 2;

pub(super) fn factor(value: f64) -> String {
    rounded(value, FACTOR_DECIMALS)
}

pub(super) fn range(summary: &Summary) -> String {
    format!("{} to {}", factor(summary.q05), factor(summary.q95))
}

/// The results as sentences and tables: the factors first, then what they are based on.
pub fn learnt_text(learnt: &Learnt, unit: LengthUnit, screen: Screen) -> String {
    let width = screen.width;
    let mut blocks = factor_blocks(learnt, screen);
    blocks.push(repeat_text(learnt, unit, width));
    blocks.extend(weighed_text(&learnt.down_weighted, unit, width));
    blocks.push(spread_text(learnt, "hands", width));
    blocks.extend(other_blocks(learnt, unit, width));
    blocks.push(wrapped(&source(learnt), width));
    paragraphs(&blocks)
}

/// The factors as a table and as a picture, with an explanation.
pub(super) fn factor_blocks(learnt: &Learnt, screen: Screen) -> Vec<String> {
    let width = screen.width;
    let opening = "Thread factor: the share of the thread's laid diameter that shows at the \
                   spine (not boned, ten sections sewn all along, as deep as 0.85 of the \
                   thread). Ranges are 90 % ranges. \"Taken out\" is how much of it knocking \
                   down removed.";
    let mut blocks = vec![wrapped(opening, width), factor_text(learnt, width)];
    blocks.extend(factors_picture(&learnt.papers, screen));
    blocks
}

/// What is shown beside the fit: straight lines, fore-edges, bends, forecasts and dates.
pub(super) fn other_blocks(learnt: &Learnt, unit: LengthUnit, width: usize) -> Vec<String> {
    let mut blocks = vec![line_text(learnt, unit, width), fore_edge_text(learnt, width)];
    blocks.extend(bends_text(&learnt.left_over, width));
    blocks.extend(track_text(&learnt.track, width));
    blocks.extend(history_text(&learnt.history, &learnt.hands, width));
    blocks
}

/// The name of a paper or thread, with its book if that is another one.
pub(super) fn of_bench(name: &str, bench: Option<&str>) -> String {
    bench.map_or_else(|| name.to_owned(), |bench| format!("{name} ({bench})"))
}

/// The factors under the name of each paper, so that names can have any length and columns keep
/// their width.
fn factor_text(learnt: &Learnt, width: usize) -> String {
    let table = FactorTable { width, heads: ["factor", "nominal"] };
    let mut text = table.head();
    for paper in &learnt.papers {
        let about = format!("{}, {}", paper.hardness, plural(paper.trials, "trial"));
        let bench = paper.bench.iter().map(|bench| format!("{bench}; ")).collect::<String>();
        text += &hanging(&format!("{} ({bench}{about})", paper.paper), width, 4);
        text.push('\n');
        for known in &paper.factors {
            text += &table.row(known.state.phrase(), &known.factor, Some(&known.nominal));
        }
        text += &table.row("taken out", &paper.knocked_out, None);
    }
    text
}

/// A factor and another one, each with its range: side by side, or on two lines if the terminal is
/// narrow.
pub(super) struct FactorTable {
    pub width: usize,
    /// What the two are.
    pub heads: [&'static str; 2],
}

/// The columns that both need side by side, with a sign in front of each figure.
const SIDE_BY_SIDE: usize = 61;

impl FactorTable {
    pub fn head(&self) -> String {
        let [one, other] = self.heads;
        let words = |pair: [&str; 2]| pair.map(str::to_owned);
        let other = self.is_wide().then(|| words([other, "its range"]));
        line("", words([one, "range"]), other)
    }

    pub fn row(&self, state: &str, one: &Summary, other: Option<&Summary>) -> String {
        let cells = |summary: &Summary| [factor(summary.q50), range(summary)];
        match other.map(cells) {
            Some(other) if !self.is_wide() => {
                let below = format!("  {}", self.heads[1]);
                line(state, cells(one), None) + &line(&below, other, None)
            }
            other => line(state, cells(one), other),
        }
    }

    fn is_wide(&self) -> bool {
        self.width >= SIDE_BY_SIDE
    }
}

fn line(state: &str, [middle, range]: [String; 2], other: Option<[String; 2]>) -> String {
    let [beside, its] = other.unwrap_or_default();
    let row = format!("  {state:<13} {middle:>6}  {range:<13} {beside:>7}  {its}");
    format!("{}\n", row.trim_end())
}

fn repeat_text(learnt: &Learnt, unit: LengthUnit, width: usize) -> String {
    let repeatability = learnt.repeatability;
    let show = |mm: f64| ranged_length(mm, mm, unit);
    wrapped(
        &format!(
            "Repeatability: one reading is good to {} {unit} (standard deviation); two readings of \
             one place differ by less than {} {unit} in 95 % of cases.",
            show(repeatability.sd_mm),
            show(repeatability.limit_mm())
        ),
        width,
    )
}

/// How much the factor differs; `sewers` are hands, or benches.
pub(super) fn spread_text(learnt: &Learnt, sewers: &str, width: usize) -> String {
    if learnt.spreads.iter().all(|spread| spread.mode == 0.0) {
        let few = "How much the factor differs between papers, threads and sewings: too few \
                   trials to show any difference beyond the reading noise; so far it is a belief.";
        return wrapped(few, width);
    }
    let hung = |spread| hanging(&spread_line(spread, sewers), width, 4);
    let lines = learnt.spreads.iter().map(hung).collect::<Vec<_>>();
    format!("How much the factor differs:\n{}", lines.join("\n"))
}

fn spread_line(spread: &LearntSpread, sewers: &str) -> String {
    let between_sewers = format!("between {sewers}");
    let words = match spread.spread {
        SwellSpread::Hand => &between_sewers,
        other => spread_words(other),
    };
    let Summary { q50, q95, .. } = spread.summary;
    if spread.mode == 0.0 {
        format!(
            "  {words}: the data show no difference beyond the reading noise (could be up to {})",
            factor(q95)
        )
    } else {
        format!("  {words}: about {} ({})", factor(q50), range(&spread.summary))
    }
}

/// The straight lines as a table, or one sentence if there are not enough trials.
fn line_text(learnt: &Learnt, unit: LengthUnit, width: usize) -> String {
    if learnt.lines.iter().all(|line| line.line.is_err()) {
        return wrapped("For comparison, ordinary straight lines: not enough trials yet.", width);
    }
    let mut table = Table::of(&["paper", "state"], &["blocks", "intercept", "slope", "scatter"]);
    for line in learnt.lines.iter().filter(|line| line.line.is_ok()) {
        table.row(line_row(line, unit));
    }
    let beside = format!(
        "For comparison, ordinary straight lines of swell on thread build-up, in {unit}, where \
         there are enough trials:"
    );
    let table = table.sparing(&["blocks", "scatter"], width).render(width);
    format!("{}\n{table}", wrapped(&beside, width))
}

fn line_row(line: &LearntLine, unit: LengthUnit) -> Vec<String> {
    let paper = line.paper.as_deref().unwrap_or("all papers");
    let paper = of_bench(paper, line.bench.as_deref());
    let mut row = vec![paper, line.state.phrase().to_owned()];
    if let Ok(fit) = &line.line {
        let length = |mm: f64| ranged_length(mm, 10.0 * fit.residual_sd, unit);
        row.push(fit.rows.to_string());
        row.push(fit.intercept.map_or_else(String::new, length));
        row.push(factor(fit.slopes[0]));
        row.push(ranged_length(fit.residual_sd, fit.residual_sd, unit));
    }
    row
}

fn fore_edge_text(learnt: &Learnt, width: usize) -> String {
    let measured = learnt.papers.iter().filter(|paper| paper.fore_edges > 0);
    let ratio = |paper: &LearntPaper| {
        let name = of_bench(&paper.paper, paper.bench.as_deref());
        format!("{name} {:.2}", paper.fore_edge_ratio.mean)
    };
    let each: Vec<String> = measured.map(ratio).collect();
    let pooled = match &learnt.pooled_fore_edge {
        Ok(line) => format!("{:.2} by one straight line for all papers", line.slopes[0]),
        Err(_) => "not enough trials for one straight line for all papers".to_owned(),
    };
    if each.is_empty() {
        return "Fore-edge against leaves × caliper: no trial yet; believed 1.04.".to_owned();
    }
    wrapped(&format!("Fore-edge against leaves × caliper: {}; {pooled}.", each.join(", ")), width)
}

pub(super) fn source(learnt: &Learnt) -> String {
    format!(
        "Based on {}, {}.",
        plural(learnt.trials, "trial"),
        plural(learnt.observations, "observation"),
    )
}
