//! The text of `plan`.

use super::answer::{Choice, sheets_words};
use super::answer_changes::{Change, Changed, Changes};
use super::answer_rank::{EQUAL_POINTS, whole_percent};
use super::answer_view::ChoicesView;
use super::answer_way::Way;
use super::text_picture::choices_picture;
use crate::book::Config;
use crate::jobs::beliefs::answer_grounds::Grounds;
use crate::jobs::forecast::text::source_line;
use crate::jobs::forecast::text_beyond::{beyond_line, beyond_rows_line};
use crate::jobs::plan_spec::answer_question::Question;
use crate::jobs::plan_spec::text::{band_words, sewing_words};
use crate::jobs::plan_spec::text_way::{blank, caution_words, note_numbers, sewn, way_words};
use crate::terminal::number::{book_height, plural, thread_figure, thread_length};
use crate::terminal::odds::chance_in_figures;
use crate::terminal::screen::Screen;
use crate::terminal::table::{Align, Table};
use crate::terminal::words::{
    hanging, listed, paragraphs, percent_figures, percent_range, wrapped,
};
use crate::trade::Caution;
use crate::units::LengthUnit;

/// The best choice first, then the table with its notes, the changes, and the basis.
pub fn choices_text(view: &ChoicesView, config: &Config, screen: Screen) -> String {
    let width = screen.width;
    let notes = view.noted();
    let mut blocks = vec![wrapped(&answer(view), width), wrapped(&asked(&view.question), width)];
    blocks.push(table(&view.best, &notes, config.unit).render(width));
    blocks.extend(choices_picture(&view.best, &view.question.target, screen));
    blocks.extend(notes_text(&notes, config.unit, width));
    blocks.extend(beyond_text(view, width));
    blocks.extend(view.current.as_ref().map(|current| current_text(current, config, width)));
    blocks.push(wrapped(&how_known(view, config), width));
    paragraphs(&blocks)
}

fn beyond_text(view: &ChoicesView, width: usize) -> Option<String> {
    let rows: Vec<_> = view.best.iter().map(|choice| &choice.beyond).collect();
    beyond_rows_line(&rows).map(|line| wrapped(&line, width))
}

/// The best choice, or the nearest one if none meets the target.
pub(crate) fn answer(view: &ChoicesView) -> String {
    let Some(first) = view.best.first() else {
        return "There is nothing to choose from.".to_owned();
    };
    if view.is_met {
        let others = others_line(view).map(|line| format!(" {line}")).unwrap_or_default();
        return format!("Best: {}: {}.{others}", way_words(&first.way), odds(first.chance));
    }
    let [low, middle, high] = percent_figures(first.percent.each());
    format!(
        "Nothing here meets the target: the best odds are {}. The nearest is {}: swell \
         {middle} %, 90 % range {low} to {high} %.",
        chance_in_figures(view.most),
        way_words(&first.way)
    )
}

/// Says that other ways have a better chance than the first, if so.
pub(crate) fn others_line(view: &ChoicesView) -> Option<String> {
    let most = whole_percent(view.most);
    let more = view.best.first().is_some_and(|best| most > whole_percent(best.chance));
    let others = chance_in_figures(view.most);
    more.then(|| format!("Other ways reach {others}, which is equal as far as the model can tell."))
}

fn odds(chance: f64) -> String {
    format!("odds {}", chance_in_figures(chance))
}

fn asked(question: &Question) -> String {
    format!("Planned book: {}, {}.", book_words(question), wanted_words(question))
}

/// `192 leaves of bond, with its guards`.
pub(crate) fn book_words(question: &Question) -> String {
    let guards = if question.guards.is_some() { ", with its guards" } else { "" };
    let leaves = plural(question.leaves as usize, "leaf");
    let edge = if question.fore_edge.is_some() { ", fore-edge as measured" } else { "" };
    let new = if question.paper.level.is_some() { "" } else { " (new paper)" };
    format!("{leaves} of {}{new}{guards}{edge}", question.paper.name)
}

/// `knocked down, target rounded, 12 to 22 %`.
pub(crate) fn wanted_words(question: &Question) -> String {
    format!("{}, target {}", question.state.phrase(), band_words(&question.target))
}

fn table(best: &[Choice], notes: &[Caution], unit: LengthUnit) -> Table {
    let has_blanks = best.iter().any(|choice| choice.way.blank_leaves > 0);
    let mut columns = vec![
        ("", Align::Right),
        ("odds", Align::Right),
        ("swell, %", Align::Left),
        ("sections", Align::Left),
        ("thread", Align::Left),
        ("sewn", Align::Left),
        (unit.of_thread().0, Align::Right),
    ];
    columns.extend(has_blanks.then_some(("blank", Align::Right)));
    columns.extend((!notes.is_empty()).then_some(("notes", Align::Left)));
    let mut table = Table::new(&columns);
    for (index, choice) in best.iter().enumerate() {
        let mut cells = row(index + 1, choice, unit);
        cells.extend(has_blanks.then(|| blank(choice.way.blank_leaves)));
        cells.push(note_numbers(choice, notes));
        table.row(cells);
    }
    table
}

fn row(place: usize, choice: &Choice, unit: LengthUnit) -> Vec<String> {
    let [low, middle, high] = percent_figures(choice.percent.each());
    let sewing = choice.way.sewing;
    vec![
        place.to_string(),
        chance_in_figures(choice.chance),
        format!("{middle} ({low} to {high})"),
        format!("{} of {}", sewing.sections(), sewing.sheets()),
        choice.way.thread.name.to_string(),
        sewn(&choice.way),
        thread_figure(choice.thread, unit),
    ]
}

/// The details of a choice in a list, without its chance and its sections.
pub(crate) fn more_words(choice: &Choice, notes: &[Caution], unit: LengthUnit) -> String {
    let (middle, range) = percent_range(choice.percent.each());
    let thread = thread_length(choice.thread, unit);
    let mut parts = vec![format!("{middle} % swell ({range})"), sewn(&choice.way), thread];
    let blank = choice.way.blank_leaves;
    parts.extend((blank > 0).then(|| format!("{} left blank", plural(blank as usize, "leaf"))));
    parts.extend((!choice.beyond.gaps.is_empty()).then(|| "beyond your trials".to_owned()));
    let notes = note_numbers(choice, notes);
    parts.extend((!notes.is_empty()).then(|| format!("note {}", notes.replace(' ', ", "))));
    parts.join(" \u{b7} ")
}

fn notes_text(notes: &[Caution], unit: LengthUnit, width: usize) -> Option<String> {
    let line = |(index, caution): (usize, &Caution)| {
        let number = format!("{:>3}  ", index + 1);
        hanging(&format!("{number}{}.", caution_words(*caution, unit)), width, number.len())
    };
    let lines: Vec<String> = notes.iter().enumerate().map(line).collect();
    (!lines.is_empty()).then(|| format!("Notes (common practice):\n{}", lines.join("\n")))
}

fn current_text(current: &Changes, config: &Config, width: usize) -> String {
    let Changes { now, changed, is_met } = current;
    let [low, middle, high] = percent_figures(now.percent.each());
    let plan = format!(
        "Your plan: {}: {}, swell {middle} % ({low} to {high}).",
        way_words(&now.way),
        odds(now.chance)
    );
    let mut lines = vec![wrapped(&plan, width)];
    let beyond = beyond_line("It", &now.beyond, config.unit);
    lines.extend(beyond.map(|line| wrapped(&line, width)));
    let head = match (is_met, changed.is_empty()) {
        (true, true) => "No single change raises its odds by a whole percentage point.",
        (true, false) => "Single changes that help, greatest gain first:",
        (false, true) => "No single change meets the target, or brings its swell nearer to it.",
        (false, false) => {
            "No single change meets the target. Those that bring its swell nearer to it, nearest \
             first:"
        }
    };
    lines.push(wrapped(head, width));
    let line = |changed| hanging(&format!("  {}", change_line(now, changed)), width, 4);
    lines.extend(changed.iter().map(line));
    lines.join("\n")
}

fn change_line(now: &Choice, changed: &Changed) -> String {
    let after = &changed.choice;
    format!(
        "{}: odds {} instead of {}, swell {} % instead of {} %",
        change_words(changed),
        chance_in_figures(after.chance),
        chance_in_figures(now.chance),
        percent_figures(after.percent.each())[1],
        percent_figures(now.percent.each())[1]
    )
}

fn change_words(changed: &Changed) -> String {
    let Way { thread, sewing, boned, .. } = &changed.choice.way;
    match changed.change {
        Change::Thread => format!("thread {}", thread.name),
        Change::Sheets => format!(
            "{} to the section ({})",
            plural(usize::from(sewing.sheets()), "sheet"),
            plural(usize::from(sewing.sections()), "section")
        ),
        Change::On => sewing_words(*sewing),
        Change::Boned if *boned => "boned".to_owned(),
        Change::Boned => "not boned".to_owned(),
    }
}

fn how_known(view: &ChoicesView, config: &Config) -> String {
    let given = if view.height_given { "" } else { " (assumed; --height sets it)" };
    known_words(view, given, config)
}

/// What was considered and how to read the list; `given` says whether the height was assumed.
pub(crate) fn known_words(view: &ChoicesView, given: &str, config: &Config) -> String {
    let question = &view.question;
    let (low, high) = question.sheets;
    let sheets = sheets_words(low, high);
    let unguarded = match &view.unguarded[..] {
        [] => String::new(),
        ruled_out => {
            let ruled_out: Vec<String> = ruled_out.iter().map(u16::to_string).collect();
            format!(" (the guards rule out {})", listed(&ruled_out))
        }
    };
    let height = book_height(question.height.mm(), config.unit);
    let (sign, thread, _) = config.unit.of_thread();
    let (which, order) = match view.is_met {
        true => ("best", plainer_first()),
        false => ("nearest", NEAREST_FIRST.to_owned()),
    };
    format!(
        "The {which} {} of {}: {}, {sheets} to the section{unguarded}, all along, two-on and \
         three-on (the first and last three sections all along, unless the row says how many), \
         boned or not. {order} Ranges of the swell are 90 % ranges; {sign} is {thread} of thread \
         for a book {height} high{given}, tails and waste included. {}",
        view.best.len(),
        plural(view.considered, "combination"),
        plural(question.threads.len(), "thread"),
        source_line(view.trials_used, &Grounds::of(config))
    )
}

const NEAREST_FIRST: &str =
    "They are ordered by how near the middle of their swell comes to the target.";

fn plainer_first() -> String {
    format!(
        "Odds within {EQUAL_POINTS} points of each other are equal as far as the model can tell; \
         among them the plainer and stronger sewing comes first."
    )
}
