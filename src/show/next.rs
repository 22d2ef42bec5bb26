//! What `next` shows.

use super::forecast::{band_words, gauged_length};
use super::number::rounded;
use super::odds::{chance_in_figures, chance_in_words};
use super::phrases::{plan_line, wrapped};
use super::table::{Align, Table};
use crate::book::Config;
use crate::decide::{CALIBRATED, Calibration, MOST_BLOCKS, Minutes, NextTrial, TrialChoice};
use crate::model::TrialBlock;

/// Blocks in the table at most.
const SHOWN: usize = 6;

/// A standard deviation with two digits where the gauge has them: the blocks differ in the second.
fn give_or_take(sd_mm: f64, config: &Config) -> String {
    format!("\u{b1}{} {}", gauged_length(sd_mm, sd_mm, config), config.unit)
}

/// `as sewn and knocked down`, in the order of the work.
fn measured(block: &TrialBlock) -> String {
    let phrases: Vec<&str> = block.states.iter().map(|state| state.phrase()).collect();
    match phrases.split_last() {
        Some((last, rest)) if !rest.is_empty() => format!("{} and {last}", rest.join(", ")),
        Some((last, _)) => (*last).to_owned(),
        None => String::new(),
    }
}

fn boned(block: &TrialBlock) -> &'static str {
    if block.run.boned { ", boned" } else { "" }
}

fn block_words(block: &TrialBlock) -> String {
    let (run, sewing) = (&block.run, block.run.sewing);
    let sheets = if sewing.sheets() == 1 { "sheet" } else { "sheets" };
    format!(
        "{} sections of {} {sheets} of {} with {}, sewn all along{}",
        sewing.sections(),
        sewing.sheets(),
        run.paper.name,
        run.thread.name,
        boned(block)
    )
}

/// `10 x 4 Alder bond, flax 25/3`: sections, sheets, paper and thread.
fn short_words(block: &TrialBlock) -> String {
    let (run, sewing) = (&block.run, block.run.sewing);
    let (sections, sheets) = (sewing.sections(), sewing.sheets());
    format!("{sections} x {sheets} {}, {}{}", run.paper.name, run.thread.name, boned(block))
}

fn percent(share: f64) -> String {
    format!("{} %", rounded(100.0 * share, usize::from(share < 0.0995)))
}

/// The answer first, then the best few blocks, then what no block takes away.
pub fn next_text(next: &NextTrial, config: &Config, width: usize) -> String {
    let mut blocks = vec![wrapped(&plan_line(&next.plan), width)];
    blocks.push(wrapped(&headline(next, config), width));
    blocks.push(choices_table(next, config, width));
    blocks.push(wrapped(&never_line(next.never_mm, config), width));
    blocks.extend(odds_line(next).map(|line| wrapped(&line, width)));
    let from = match next.trials_used {
        0 => "Known from no trial yet: these are common-practice beliefs.".to_owned(),
        1 => "Learnt from 1 trial.".to_owned(),
        trials => format!("Learnt from {trials} trials."),
    };
    let counted = minutes_line(next.minutes);
    blocks.push(wrapped(
        &format!("{} blocks were considered. {counted} {from}", next.choices.len()),
        width,
    ));
    blocks.iter().map(|block| block.trim_end()).collect::<Vec<_>>().join("\n\n")
}

fn headline(next: &NextTrial, config: &Config) -> String {
    let Some(best) = next.choices.first() else {
        return "No trial block could be sewn for this plan.".to_owned();
    };
    if !next.is_worth_sewing() {
        return format!(
            "No trial block is worth sewing for this book: none makes its doubt ({}) smaller by \
             more than {}. Measure part-way through the sewing instead.",
            give_or_take(next.before.swell_mm, config),
            percent(next.most_narrowed())
        );
    }
    format!(
        "Sew next: {}, measured {} at {} places: about {:.0} minutes. The doubt about this book \
         falls from {} to {}.",
        block_words(&best.block),
        measured(&best.block),
        best.block.readings,
        best.minutes,
        give_or_take(next.before.swell_mm, config),
        give_or_take(best.after.swell_mm, config)
    )
}

fn row(choice: &TrialChoice, config: &Config) -> [String; 5] {
    [
        short_words(&choice.block),
        measured(&choice.block),
        rounded(choice.minutes, 0),
        give_or_take(choice.after.swell_mm, config),
        percent(choice.share_per_hour()),
    ]
}

fn choices_table(next: &NextTrial, config: &Config, width: usize) -> String {
    let mut table = Table::new(&[
        ("block", Align::Left),
        ("measured", Align::Left),
        ("minutes", Align::Right),
        ("doubt after", Align::Right),
        ("less an hour", Align::Right),
    ]);
    next.choices.iter().take(SHOWN).for_each(|choice| table.row(row(choice, config)));
    let what = "The best for the time they take (sections x sheets); the last column is how much \
                of the doubt, as variance, an hour of such work takes away:";
    format!("{}\n{}", wrapped(what, width), table.render(width))
}

fn never_line(never_mm: f64, config: &Config) -> String {
    format!(
        "No trial block takes away {} of the doubt: that is what differs from one sewing and \
         handling to the next. Measuring part-way through the sewing does (`swellbook midway`). \
         \u{b1} is one standard deviation: two times in three the swell lies within it.",
        give_or_take(never_mm, config)
    )
}

fn odds_line(next: &NextTrial) -> Option<String> {
    let (band, chance) = next.target.as_ref()?;
    Some(format!(
        "Target {}: met {} as things are known now (chance {}). Knowing more does not by itself \
         raise these odds: they go up or down to what they really are.",
        band_words(band),
        chance_in_words(*chance),
        chance_in_figures(*chance)
    ))
}

fn minutes_line(minutes: Minutes) -> String {
    let [setup, section, state] = minutes.each();
    format!(
        "Minutes counted: {setup} to set up, {section} to fold and sew a section, {state} to \
         measure each state (--minutes)."
    )
}

/// The blocks that calibrate a paper, one after the other.
pub fn calibration_text(found: &Calibration, config: &Config, width: usize) -> String {
    let mut blocks = vec![wrapped(&answer(found, config), width)];
    if !found.steps.is_empty() {
        blocks.push(steps_table(found, config, width));
    }
    blocks.push(wrapped(&meaning(found, config), width));
    blocks.push(wrapped(&minutes_line(found.minutes), width));
    blocks.iter().map(|block| block.trim_end()).collect::<Vec<_>>().join("\n\n")
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
    let (paper, hours) = (papers(found), rounded(found.total_minutes() / 60.0, 1));
    let Some(last) = found.steps.last() else {
        return format!(
            "{paper} needs no trial block: what trials could take away of the doubt is little \
             beside what differs from one sewing to the next."
        );
    };
    let (before, after) =
        (give_or_take(found.before.swell_mm, config), give_or_take(last.after.swell_mm, config));
    let blocks = blocks_of(found.steps.len());
    if found.reached {
        return format!(
            "{paper} is calibrated by {blocks}, about {hours} hours: the doubt about a typical \
             book falls from {before} to {after}."
        );
    }
    format!(
        "{paper} is not calibrated by {MOST_BLOCKS} blocks, the most that are planned at once: \
         after {blocks}, about {hours} hours, the doubt about a typical book has fallen from \
         {before} to {after}. Sew some of them and ask again."
    )
}

fn steps_table(found: &Calibration, config: &Config, width: usize) -> String {
    let mut table = Table::new(&[
        ("", Align::Right),
        ("block", Align::Left),
        ("measured", Align::Left),
        ("minutes", Align::Right),
        ("doubt after", Align::Right),
    ]);
    for (number, step) in (1..).zip(&found.steps) {
        let [block, measured, minutes, after, _] = row(step, config);
        table.row([number.to_string(), block, measured, minutes, after]);
    }
    let places = found.steps.first().map_or(0, |step| step.block.readings);
    let what = format!(
        "Sew them in this order (sections x sheets, all along), and measure each at {places} \
         places; record each before the next, and ask again:"
    );
    format!("{}\n{}", wrapped(&what, width), table.render(width))
}

fn meaning(found: &Calibration, config: &Config) -> String {
    format!(
        "The typical book: {} Calibrated means that what further trials could take away of its \
         doubt (as variance) is at most {:.0} % of what no trial takes away, which is {} from one \
         sewing and handling to the next.",
        plan_line(&found.plan),
        100.0 * CALIBRATED,
        give_or_take(found.never_mm, config)
    )
}
