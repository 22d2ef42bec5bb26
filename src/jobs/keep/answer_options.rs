//! A kept plan as the options of `predict` that it stands for.

use crate::book::Book;
use crate::trade::{KeptForecast, Pairs, parts};

/// What holds for the whole block, as it is kept.
const BLOCK: &[&str] = &["state", "guards-mm", "fore-edge-mm"];
/// What is kept of a run.
const RUN: &[&str] = &["paper", "thread", "sections", "sheets", "on", "ends", "boned"];

/// The options of `predict` that describe the plan and what was wanted; `None` for a plan that a
/// person wrote in words of their own.
pub(crate) fn plan_options(
    kept: &KeptForecast,
    book: &Book,
) -> Option<Vec<(&'static str, String)>> {
    let mut options = Vec::new();
    let all = parts(kept.plan.text(), ';').ok()?;
    let (block, runs) = all.split_first()?;
    let mut block = vec![*block];
    let is_run = |part: &&&str| Pairs::parse(part, RUN).is_ok();
    let first = runs.iter().position(|part| is_run(&part))?;
    block.extend(&runs[..first]);
    for part in block {
        let pairs = Pairs::parse(part, BLOCK).ok()?;
        let mut option = |key: &str, name: &'static str, unit: &str| {
            options.extend(pairs.get(key).map(|value| (name, format!("{value}{unit}"))));
        };
        option("state", "state", "");
        option("guards-mm", "guards", "mm");
        option("fore-edge-mm", "fore-edge", "mm");
    }
    match runs[first..] {
        [run] => {
            let pairs = Pairs::parse(run, RUN).ok()?;
            let said = |name: &'static str| Some((name, pairs.get(name)?.to_owned()));
            options.extend(RUN.iter().copied().filter_map(said));
        }
        _ => options.extend(runs[first..].iter().map(|run| ("run", run.trim().to_owned()))),
    }
    options.extend(kept.aim.as_ref().map(|aim| {
        let wanted = &aim.wanted;
        let bounds = (wanted.low_percent(), wanted.high_percent());
        let is_same = |target: &&crate::trade::Target| {
            Some(&target.name) == wanted.name()
                && (target.low_percent(), target.high_percent()) == bounds
        };
        let named = book.targets().iter().find(is_same).map(|target| target.name.to_string());
        ("target", named.unwrap_or_else(|| format!("{}..{}", bounds.0, bounds.1)))
    }));
    Some(options)
}
