//! What `gauge` gives another program.

use crate::jobs::study::answer::{GaugeReport, Origin};
use crate::model::variance::{
    Component, ComponentKind, Doubt, LEVEL, Layout, NoReproducibility, OperatorSpread, PAYS, Study,
    TableRow,
};
use crate::terminal::json::document;
use serde::Serialize;

#[derive(Serialize)]
struct Document<'a> {
    source: &'static str,
    confidence: f64,
    readings: usize,
    parts: usize,
    operators: usize,
    layout: &'static str,
    why_no_reproducibility: Option<&'static str>,
    anova: Vec<RowDocument>,
    repeatability_mm: f64,
    repeatability_df: Option<f64>,
    repeatability_limit_mm: f64,
    gauge_share: Option<f64>,
    distinct_categories: Option<f64>,
    components: Vec<ComponentDocument>,
    by_operator: Vec<OperatorDocument<'a>>,
    readings_that_pay: PaysDocument,
    budget: BudgetDocument,
}

#[derive(Serialize)]
struct RowDocument {
    source: &'static str,
    df: f64,
    ss_mm2: f64,
    ms_mm2: Option<f64>,
    f: Option<f64>,
}

#[derive(Serialize)]
struct ComponentDocument {
    source: &'static str,
    raw_variance_mm2: f64,
    variance_mm2: f64,
    sd_mm: f64,
    low_mm: f64,
    high_mm: f64,
    share: Option<f64>,
    limits: &'static str,
}

#[derive(Serialize)]
struct OperatorDocument<'a> {
    operator: &'a str,
    readings: usize,
    df: Option<f64>,
    sd_mm: Option<f64>,
    low_mm: Option<f64>,
    high_mm: Option<f64>,
}

#[derive(Serialize)]
struct PaysDocument {
    readings: Option<u32>,
    threshold: f64,
    sewing_sd_mm: Option<f64>,
    by_readings: Vec<GainDocument>,
}

#[derive(Serialize)]
struct GainDocument {
    readings: u32,
    sd_mm: f64,
    next_saves: f64,
}

#[derive(Serialize)]
struct BudgetDocument {
    readings: u32,
    swell_mm: f64,
    resolution_mm: f64,
    scale_error: f64,
    doubts: Vec<DoubtDocument>,
    combined_mm: f64,
    k: f64,
    expanded_mm: f64,
    effective_df: Option<f64>,
    k_95: f64,
}

#[derive(Serialize)]
struct DoubtDocument {
    source: &'static str,
    r#type: &'static str,
    standard_mm: f64,
    df: Option<f64>,
    share: f64,
}

/// The study as one JSON object; lengths in mm, shares of one.
pub fn gauge_json(report: &GaugeReport) -> String {
    let study = &report.study;
    document(&Document {
        source: match report.origin {
            Origin::Book => "book",
            Origin::Sheet => "sheet",
        },
        confidence: LEVEL,
        readings: study.readings,
        parts: study.parts,
        operators: study.operators.len(),
        layout: study.layout.name(),
        why_no_reproducibility: why(&study.layout),
        anova: study.table.rows().iter().map(row_document).collect(),
        repeatability_mm: study.repeatability().sd(),
        repeatability_df: study.repeatability().df,
        repeatability_limit_mm: study.limit_mm(),
        gauge_share: study.share(ComponentKind::Gauge),
        distinct_categories: study.categories(),
        components: study.components.iter().map(|each| component_document(each, study)).collect(),
        by_operator: study.operators.iter().map(operator_document).collect(),
        readings_that_pay: pays_document(report),
        budget: budget_document(report),
    })
}

fn why(layout: &Layout) -> Option<&'static str> {
    let why = match layout {
        Layout::Crossed { .. } => return None,
        Layout::Parts(why) | Layout::Uneven(why) => why,
    };
    Some(match why {
        NoReproducibility::OneOperator => "one_operator",
        NoReproducibility::OwnParts => "own_parts",
        NoReproducibility::LeftOut { .. } => "left_out",
        NoReproducibility::UnequallyOften { .. } => "unequally_often",
        NoReproducibility::OnePart => "one_part",
    })
}

fn row_document(row: &TableRow) -> RowDocument {
    RowDocument {
        source: row.kind.name(),
        df: row.squares.df,
        ss_mm2: row.squares.ss,
        ms_mm2: row.squares.mean_square(),
        f: row.f,
    }
}

fn component_document(component: &Component, study: &Study) -> ComponentDocument {
    let (low_mm, high_mm) = component.sd_limits();
    ComponentDocument {
        source: component.kind.name(),
        raw_variance_mm2: component.raw,
        variance_mm2: component.variance,
        sd_mm: component.sd(),
        low_mm,
        high_mm,
        share: study.share(component.kind),
        limits: component.method.name(),
    }
}

fn operator_document(one: &OperatorSpread) -> OperatorDocument<'_> {
    let own = one.repeatability.as_ref();
    OperatorDocument {
        operator: &one.operator,
        readings: one.readings,
        df: own.and_then(|own| own.df),
        sd_mm: own.map(Component::sd),
        low_mm: own.map(|own| own.sd_limits().0),
        high_mm: own.map(|own| own.sd_limits().1),
    }
}

fn pays_document(report: &GaugeReport) -> PaysDocument {
    let gains = report.enough.gains.iter();
    PaysDocument {
        readings: report.enough.readings,
        threshold: PAYS,
        sewing_sd_mm: report.sewing_mm,
        by_readings: gains
            .map(|gain| GainDocument {
                readings: gain.readings,
                sd_mm: gain.sd_mm,
                next_saves: gain.next_saves,
            })
            .collect(),
    }
}

fn budget_document(report: &GaugeReport) -> BudgetDocument {
    let budget = &report.budget;
    let doubt = |doubt: &Doubt| DoubtDocument {
        source: doubt.source.name(),
        r#type: doubt.kind.letter(),
        standard_mm: doubt.standard_mm,
        df: doubt.df,
        share: budget.share(doubt),
    };
    BudgetDocument {
        readings: budget.measuring.readings,
        swell_mm: budget.measuring.swell_mm,
        resolution_mm: budget.measuring.resolution_mm,
        scale_error: budget.measuring.scale_error,
        doubts: budget.doubts.iter().map(doubt).collect(),
        combined_mm: budget.combined_mm,
        k: budget.coverage,
        expanded_mm: budget.expanded_mm,
        effective_df: budget.effective_df,
        k_95: budget.coverage_95,
    }
}
