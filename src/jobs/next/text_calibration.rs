//! The text of `next --new-paper`.

use super::answer_calibrate::{CALIBRATED, Calibration, MOST_BLOCKS};
use super::answer_choice::TrialChoice;
use super::answer_long::LongBook;
use super::text::{give_or_take, long_words, minutes_line, row};
use crate::book::Config;
use crate::jobs::plan_spec::text::plan_line;
use crate::terminal::number::{gauged_length, rounded};
use crate::terminal::table::{Align, Table};
use crate::terminal::words::{paragraphs, wrapped};

pub fn calibration_text(found: &Calibration, config: &Config, width: usize) -> String {
    let mut blocks = vec![wrapped(&answer(found, config), width)];
    if !found.steps.is_empty() {
        blocks.push(steps_table(found, config, width));
    }
    let is_long = |long: &LongBook| found.steps.iter().any(|it| long.is_met_by(&it.block));
    let long = found.long.filter(is_long).map(|long| {
        let has = |step: &&TrialChoice| long.is_met_by(&step.block);
        let place = found.steps.iter().take_while(|step| !has(step)).count() + 1;
        format!("{} Block {place} is long enough.", long_words(long))
    });
    blocks.extend(long.map(|line| wrapped(&line, width)));
    blocks.push(wrapped(&meaning(found, config), width));
    blocks.push(wrapped(&minutes_line(found.minutes), width));
    paragraphs(&blocks)
}

fn papers(found: &Calibration) -> String {
    let mut names: Vec<String> =
        found.plan.runs().iter().map(|run| run.paper.name.to_string()).collect();
    names.dedup();
    names.join(" and ")
}

fn blocks_of(count: usize) -> String {
    if count == 1 { "1 trial block".to_owned() } else { format!("{count} trial blocks") }
}

fn answer(found: &Calibration, config: &Config) -> String {
    let (paper, hours) = (papers(found), rounded(found.total_minutes / 60.0, 1));
    let Some(last) = found.steps.last() else {
        return format!(
            "{paper} needs no trial block: the uncertainty that trials could remove is small \
             beside the variation between sewings."
        );
    };
    let (before, after) =
        (give_or_take(found.before.swell_mm, config), give_or_take(last.after.swell_mm, config));
    let blocks = blocks_of(found.steps.len());
    if found.reached {
        return format!(
            "{paper} needs {blocks} to be calibrated, about {hours} hours: the uncertainty of a \
             typical book falls from {before} to {after}."
        );
    }
    format!(
        "{paper} is not yet calibrated after {MOST_BLOCKS} blocks, the most planned at once: after \
         {blocks}, about {hours} hours, the uncertainty of a typical book has fallen from {before} \
         to {after}. Sew some of them and ask again."
    )
}

fn steps_table(found: &Calibration, config: &Config, width: usize) -> String {
    let mut table = Table::new(&[
        ("", Align::Right),
        ("block", Align::Left),
        ("measured", Align::Left),
        ("minutes", Align::Right),
        ("± after", Align::Right),
    ]);
    for (number, step) in (1..).zip(&found.steps) {
        let [block, measured, minutes, after] = row(step, config);
        table.row([number.to_string(), block, measured, minutes, after]);
    }
    let places = found.steps.first().map_or(0, |step| step.block.readings);
    let what = match found.steps.len() {
        1 => format!(
            "Sew it (sections x sheets), measure it at {places} places, record it, and ask again:"
        ),
        _ => format!(
            "Sew them in this order (sections x sheets), and measure each at {places} places; \
             record each before the next, and ask again:"
        ),
    };
    format!("{}\n{}", wrapped(&what, width), table.render(width))
}

fn meaning(found: &Calibration, config: &Config) -> String {
    let guards = found.plan.guards_mm;
    let guards = match guards > 0.0 {
        true => format!(" Repairs add {} {}.", gauged_length(guards, 0.0, config), config.unit),
        false => String::new(),
    };
    format!(
        "The typical book: {}{guards} Calibrated means that the uncertainty (as variance) that further \
         trials could remove is at most {:.0} % of what no trial can remove: the variation of {} \
         between sewings and measurements.",
        plan_line(&found.plan),
        100.0 * CALIBRATED,
        give_or_take(found.never_mm, config)
    )
}
