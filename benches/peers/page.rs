//! Formats the tables as a page.

use crate::process::{Came, LIMIT, Taken};
use crate::sheet::{PAPER_SD, SEWING_SD};
use crate::{Bar, Case, Long, Row};
use std::fmt::Write as _;

const TEMPLATE: &str = include_str!("page.md");

pub(crate) fn page(cases: &[Case], long: &[Long]) -> String {
    let answers: String = cases.iter().map(case).collect();
    TEMPLATE
        .replace("{MACHINE}", &machine())
        .replace("{FIT}", &answers)
        .replace("{READING}", reading(long).trim_end())
}

/// The number of cores, the system and the day.
fn machine() -> String {
    let cores = std::thread::available_parallelism().map_or(1, usize::from);
    let (system, kind) = (std::env::consts::OS, std::env::consts::ARCH);
    let day = jiff::ZonedDateTime::now().date();
    format!("{cores} cores, {system} {kind}, {day}")
}

fn seconds(seconds: f64) -> String {
    match seconds {
        small if small < 0.995 => format!("{:.0} ms", 1e3 * small),
        large => format!("{large:.1} s"),
    }
}

/// Wall time, processor time and memory as cells of a table.
fn cells(came: &Came) -> String {
    let Taken { wall, cpu, .. } = match came {
        Came::Done(taken) => taken,
        Came::TooLong => return format!("over {} s | | ", LIMIT.as_secs()),
        Came::Not(why) => return format!("not run: {why} | | "),
    };
    let wall = seconds(wall.as_secs_f64());
    match cpu {
        Some((cpu, mib)) => format!("{wall} | {} | {mib:.0} MiB", seconds(*cpu)),
        None => format!("{wall} | not measured | not measured"),
    }
}

fn wall(came: &Came) -> Option<f64> {
    came.done().map(|taken| taken.wall.as_secs_f64())
}

fn case(case: &Case) -> String {
    let mut text = format!(
        "\n### {}\n\n| process | wall | processors | memory | lme4 takes so many times as long |\n| --- | --- | --- | --- | --- |\n",
        case.book.title()
    );
    for row in &case.rows {
        let ratio = wall(&case.lme4).zip(wall(&row.came)).map(|(peer, own)| peer / own);
        let reached = ratio.map(|ratio| format!("{ratio:.1}")).unwrap_or_default();
        let (name, bar) = (row.name, bar(row, ratio));
        let _ = writeln!(text, "| `{name}`{bar} | {} | {reached} |", cells(&row.came));
    }
    let _ = writeln!(text, "| lme4, one fit | {} | |", cells(&case.lme4));
    if let Some(mixedlm) = &case.mixedlm {
        let _ = writeln!(text, "| statsmodels, one fit | {} | |", cells(mixedlm));
    }
    text + &agreement(case)
}

/// The bar of a row, and whether it was met.
fn bar(row: &Row, ratio: Option<f64>) -> String {
    let (bar, met) = match row.bar {
        None => return String::new(),
        Some(Bar::Ms(bar)) => {
            (format!("{bar:.0} ms"), wall(&row.came).map(|wall| 1e3 * wall < bar))
        }
        Some(Bar::Times(bar)) => {
            (format!("{bar:.0} times as fast as lme4"), ratio.map(|ratio| ratio >= bar))
        }
    };
    let verdict = match met {
        Some(true) => "met",
        Some(false) => "missed",
        None => "not measured",
    };
    format!(" (bar {bar}: {verdict})")
}

/// The spreads as estimated by each program.
fn agreement(case: &Case) -> String {
    let fit = case.rows.first().and_then(|row| row.came.done());
    let fit: Option<serde_json::Value> = fit.and_then(|fit| serde_json::from_str(&fit.out).ok());
    let own = |spread: &str, what: &str| {
        let value = fit.as_ref().and_then(|fit| fit["spreads"][spread][what].as_f64());
        value.map_or_else(|| "not known".to_owned(), |value| format!("{value:.4}"))
    };
    let peer = |came: Option<&Came>, group: &str| {
        let out = came.and_then(Came::done).map_or("", |taken| &taken.out);
        let value =
            out.lines().find_map(|line| line.strip_prefix(group)?.trim().parse::<f64>().ok());
        value.map_or_else(|| "not run".to_owned(), |value| format!("{value:.4}"))
    };
    let mut text = String::from(
        "\n| standard deviation of the factor | made with | most probable | mean | lme4 | statsmodels |\n| --- | --- | --- | --- | --- | --- |\n",
    );
    let spreads =
        [("papers", "paper", "paper", PAPER_SD), ("sewings", "sewing", "trial", SEWING_SD)];
    for (what, spread, group, made) in spreads {
        let (mode, mean) = (own(spread, "mode"), own(spread, "mean"));
        let (lme4, mixedlm) = (peer(Some(&case.lme4), group), peer(case.mixedlm.as_ref(), group));
        let _ = writeln!(text, "| {what} | {made} | {mode} | {mean} | {lme4} | {mixedlm} |");
    }
    text
}

/// The seconds that a peer's script measured itself.
fn said(came: &Came) -> Result<f64, String> {
    let out = match came {
        Came::Done(taken) => &taken.out,
        Came::TooLong => return Err("too long".to_owned()),
        Came::Not(why) => return Err(format!("not run: {why}")),
    };
    let seconds = out.lines().find_map(|line| line.strip_prefix("seconds ")?.parse().ok());
    seconds.ok_or_else(|| "it said nothing".to_owned())
}

fn reading(long: &[Long]) -> String {
    let mut text = String::from(
        "| process | file | wall | processors | memory | of the file | polars | of its speed |\n| --- | --- | --- | --- | --- | --- | --- | --- |\n",
    );
    for long in long {
        let trials = long.trials;
        let import = format!("`import`, {trials} trials");
        text += &read(&import, &long.import, long.sheet_mib, &long.scan_of_sheet);
        let open = format!("opening, {trials} trials");
        text += &read(&open, &long.open, long.readings_mib, &long.scan_of_readings);
    }
    text
}

fn read(what: &str, came: &Came, file_mib: f64, scan: &Came) -> String {
    let memory = came.done().and_then(|taken| taken.cpu).map(|(_, mib)| mib / file_mib);
    let memory = memory.map(|times| format!("{times:.1} times")).unwrap_or_default();
    let (peer, speed) = match said(scan) {
        Ok(peer) => {
            let speed = wall(came).map(|own| format!("{:.2}", peer / own)).unwrap_or_default();
            (seconds(peer), speed)
        }
        Err(why) => (why, String::new()),
    };
    format!("| {what} | {file_mib:.0} MiB | {} | {memory} | {peer} | {speed} |\n", cells(came))
}
