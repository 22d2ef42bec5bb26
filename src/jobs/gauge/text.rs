//! The text of `gauge`.

use crate::jobs::study::answer::{GaugeReport, Origin};
use crate::jobs::study::text::{answers, fine, limited};
use crate::model::variance::{
    ComponentKind, DoubtSource, Gain, Layout, NoReproducibility, OperatorSpread, Study,
};
use crate::observe::PRIOR_SD_MM;
use crate::terminal::number::{plural, ranged_length, rounded};
use crate::terminal::table::{Align, Table};
use crate::terminal::words::{hanging, paragraphs, wrapped};
use crate::units::LengthUnit;

/// The study as sentences and tables: the answers first, then what they are based on.
pub fn gauge_text(report: &GaugeReport, unit: LengthUnit, width: usize) -> String {
    let lines = answers(report, unit);
    let lines: Vec<_> = lines.iter().map(|line| wrapped(line, width)).collect();
    let mut blocks = vec![lines.join("\n")];
    blocks.extend(parts_text(report, unit, width));
    blocks.extend(notes(report, unit).iter().map(|note| wrapped(note, width)));
    blocks.extend(by_whom(&report.study, unit, width));
    blocks.push(pays_text(report, unit, width));
    blocks.push(budget_text(report, unit, width));
    blocks.push(wrapped(&source(report), width));
    paragraphs(&blocks)
}

/// The components; only for a sheet, whose parts were chosen for comparison.
fn parts_text(report: &GaugeReport, unit: LengthUnit, width: usize) -> Option<String> {
    let table = component_table(&report.study, unit);
    (report.origin == Origin::Sheet)
        .then(|| format!("What makes readings differ:\n{}", table.render(width)))
}

fn words(kind: ComponentKind) -> &'static str {
    match kind {
        ComponentKind::Repeatability => "repeating a reading",
        ComponentKind::Operator => "who measures",
        ComponentKind::OperatorByPart => "who measures what",
        ComponentKind::Reproducibility => "both of these (reproducibility)",
        ComponentKind::Gauge => "the gauge in all (R&R)",
        ComponentKind::Part => "the parts",
        ComponentKind::Total => "everything",
    }
}

fn component_table(study: &Study, unit: LengthUnit) -> Table {
    let head = format!("sd, {unit}");
    let mut table = Table::new(&[
        ("source", Align::Left),
        (&head, Align::Right),
        ("range", Align::Left),
        ("share", Align::Right),
    ]);
    for component in &study.components {
        let (sd, range) = limited(component, unit);
        let share = study.share(component.kind);
        let share =
            share.map_or_else(String::new, |share| format!("{} %", rounded(100.0 * share, 1)));
        table.row([words(component.kind).to_owned(), sd, range, share]);
    }
    table
}

pub(crate) fn notes(report: &GaugeReport, unit: LengthUnit) -> Vec<String> {
    let study = &report.study;
    let mut notes = Vec::new();
    let negative = study.components.iter().filter(|component| component.was_negative());
    let negative: Vec<&str> = negative.map(|component| words(component.kind)).collect();
    if !negative.is_empty() && report.origin == Origin::Sheet {
        notes.push(format!(
            "Shown as 0 because the estimate came out below 0, as can happen by chance if the true \
             value is small: {}.",
            negative.join(", ")
        ));
    }
    notes.extend(match &study.layout {
        Layout::Parts(why) | Layout::Uneven(why) => unknown_operators(why, report.origin),
        Layout::Crossed { .. } => None,
    });
    if report.origin == Origin::Book {
        let believed = ranged_length(PRIOR_SD_MM, PRIOR_SD_MM, unit);
        notes.push(format!(
            "These figures count the places along an edge as repeats, so they include the block's \
             unevenness. To check the gauge alone, measure a few parts several times and give them \
             as a sheet. Readings out of line count less, as in the fit, which starts from \
             {believed} {unit} with 4 degrees of freedom."
        ));
    }
    notes.extend(study.categories().filter(|_| report.origin == Origin::Sheet).map(|categories| {
        format!(
            "The readings can distinguish {} of such parts (distinct categories).",
            plural((categories.floor() as usize).max(1), "group")
        )
    }));
    notes
}

fn unknown_operators(why: &NoReproducibility, origin: Origin) -> Option<String> {
    let why = match why {
        NoReproducibility::OneOperator => return None,
        NoReproducibility::OwnParts if origin == Origin::Book => {
            "each trial has one hand".to_owned()
        }
        NoReproducibility::OwnParts => "no part was measured by two operators".to_owned(),
        NoReproducibility::OnePart => "there is only one part".to_owned(),
        NoReproducibility::LeftOut { operator, part } => {
            format!("{operator} did not measure {part}")
        }
        NoReproducibility::UnequallyOften { operator, part, readings, others } => {
            format!("{operator} measured {part} {}, not {others}", plural(*readings, "time"))
        }
    };
    Some(format!(
        "How far operators differ cannot be determined: {why}. Every operator must measure every \
         part equally often, at least twice."
    ))
}

fn by_whom(study: &Study, unit: LengthUnit, width: usize) -> Option<String> {
    if study.operators.len() < 2 {
        return None;
    }
    let head = format!("sd, {unit}");
    let mut table = Table::new(&[
        ("by whom", Align::Left),
        ("readings", Align::Right),
        (&head, Align::Right),
        ("range", Align::Left),
    ]);
    for one in &study.operators {
        table.row(operator_row(one, unit));
    }
    Some(table.render(width))
}

pub(crate) fn operator_row(one: &OperatorSpread, unit: LengthUnit) -> [String; 4] {
    let name = if one.operator.is_empty() { "not named" } else { &one.operator };
    let (sd, range) = match &one.repeatability {
        Some(component) => limited(component, unit),
        None => (String::new(), "nothing measured twice".to_owned()),
    };
    [name.to_owned(), one.readings.to_string(), sd, range]
}

fn pays_text(report: &GaugeReport, unit: LengthUnit, width: usize) -> String {
    let head = format!("sd, {unit}");
    let mut table = Table::of(&[], &["readings at each edge", &head, "one more saves"]);
    pay_rows(report, unit).into_iter().for_each(|row| table.row(row));
    let besides = besides(report, unit);
    format!("A swell figure by readings:\n{}{}", table.render(width), wrapped(&besides, width))
}

/// How precise a swell figure is for each number of readings.
pub(crate) fn pay_rows(report: &GaugeReport, unit: LengthUnit) -> Vec<[String; 3]> {
    let row = |gain: &Gain| {
        [
            gain.readings.to_string(),
            fine(gain.sd_mm, unit),
            format!("{} %", rounded(100.0 * gain.next_saves, 1)),
        ]
    };
    report.enough.gains.iter().map(row).collect()
}

/// What these figures include besides the readings.
pub(crate) fn besides(report: &GaugeReport, unit: LengthUnit) -> String {
    match report.sewing_mm {
        Some(sewing) if report.is_assumed() => format!(
            "These include the gauge's step and a variation of {} {unit} between sewings, which no \
             reading can reduce. It is assumed, not yet measured: {} cannot show it.",
            fine(sewing, unit),
            plural(report.sewings, "sewing")
        ),
        Some(sewing) => format!(
            "These include the gauge's step and a variation of {} {unit} between sewings, which no \
             reading can reduce.",
            fine(sewing, unit)
        ),
        None => {
            "These include the gauge's step alone; if sewings differ, fewer readings are worth \
             taking."
                .to_owned()
        }
    }
}

fn doubt_words(source: DoubtSource) -> &'static str {
    match source {
        DoubtSource::Repeats => "readings that do not repeat",
        DoubtSource::OperatorByPart => "who measures what",
        DoubtSource::Resolution => "the gauge's step",
        DoubtSource::Scale => "the gauge's scale",
    }
}

fn budget_text(report: &GaugeReport, unit: LengthUnit, width: usize) -> String {
    let (budget, measuring) = (&report.budget, report.budget.measuring);
    let head = format!("u, {unit}");
    let mut table = Table::of(&["uncertainty", "type"], &[&head, "share"]);
    let show = |mm: f64| ranged_length(mm, budget.combined_mm / 2.0, unit);
    for doubt in &budget.doubts {
        table.row([
            doubt_words(doubt.source).to_owned(),
            doubt.kind.letter().to_owned(),
            show(doubt.standard_mm),
            format!("{} %", rounded(100.0 * doubt.share, 0)),
        ]);
    }
    let opening = format!(
        "Uncertainty budget for a swell of {} {unit} from {} at each edge, a step of {} {unit} and \
         a scale good to {} %:",
        ranged_length(measuring.swell_mm, 1.0_f64.max(budget.combined_mm), unit),
        plural(measuring.readings as usize, "reading"),
        fine(measuring.resolution_mm, unit),
        100.0 * measuring.scale_error
    );
    let closing = format!(
        "Combined {} {unit}, expanded (k=2) {} {unit}{}.",
        show(budget.combined_mm),
        show(budget.expanded_mm),
        match budget.effective_df {
            Some(df) => format!(
                "; with {} effective degrees of freedom 95 % needs k={:.2}",
                rounded(df, 1),
                budget.coverage_95
            ),
            None => String::new(),
        }
    );
    format!("{}\n{}{}", hanging(&opening, width, 0), table.render(width), wrapped(&closing, width))
}

pub(crate) fn source(report: &GaugeReport) -> String {
    let study = &report.study;
    let from = match report.origin {
        Origin::Book => "the book",
        Origin::Sheet => "the sheet",
    };
    let df = study.repeatability().df.unwrap_or_default();
    format!(
        "From {} of {} in {from}; {} of freedom for repeatability.",
        plural(study.readings, "reading"),
        plural(study.parts, "part"),
        plural(df.round() as usize, "degree"),
    )
}
