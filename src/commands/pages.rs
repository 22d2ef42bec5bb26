//! All routes of the bench page, one line each, as `commands.rs` has one line for each command.

use crate::jobs::bench::page;
use crate::jobs::desk::Desk;
use crate::jobs::entries::{page_log, page_stock};
use crate::jobs::record::{
    page_measure, page_paper, page_target, page_thread, page_trial, page_written,
};
use crate::jobs::report::page_sheet;
use crate::jobs::strike::page as page_strike;
use crate::jobs::{
    audit, backup, correct, export, gauge, import, midway, plan, predict, report, restore, undo,
};
use crate::page::frame::Way;
use crate::page::route::{Route, Show};

macro_rules! near {
    ($path:literal, $name:literal, $icon:literal) => {
        Way {
            path: $path,
            name: $name,
            icon: Some(include_str!(concat!(
                "../../templates/bench/drawings/icon-",
                $icon,
                ".svg"
            ))),
        }
    };
}

const fn far(path: &'static str, name: &'static str) -> Way {
    Way { path, name, icon: None }
}

/// The navigation: first what a thumb reaches, then the rest.
pub(crate) const WAYS: &[Way] = &[
    near!("/", "Bench", "bench"),
    near!("/measure", "Measure", "measure"),
    near!("/trial", "Trial", "trial"),
    near!("/plan", "Plan", "plan"),
    near!("/part-way", "Part-way", "part-way"),
    near!("/learnt", "Learnt", "learnt"),
    far("/stock", "Stock"),
    far("/log", "Log"),
    far("/import", "Import"),
    far("/doubtful", "Doubtful"),
    far("/gauge", "Gauge"),
    far("/guide", "Guide"),
];

pub(crate) const ROUTES: &[Route<Desk>] = &[
    at("/", page::show),
    form("/measure", page_measure::show, page_measure::send),
    at("/measured", page_written::show),
    form("/trial", page_trial::show, page_trial::send),
    form("/stock", page_stock::show, page_stock::send),
    form("/paper", page_paper::show, page_paper::send),
    form("/thread", page_thread::show, page_thread::send),
    form("/target", page_target::show, page_target::send),
    at("/log", page_log::show),
    form("/correct", correct::page::show, correct::page::send),
    form("/strike", page_strike::show, page_strike::send),
    form("/restore", restore::page::show, restore::page::send),
    form("/undo", undo::page::show, undo::page::send),
    at("/plan", plan::page::show),
    form("/plan/way", predict::page::show, predict::page_send::send),
    at("/plan/kept", predict::page_kept::show),
    at("/plan/card", report::page_card::show),
    at("/guide", page_sheet::guide),
    at("/guide/print", page_sheet::printed_guide),
    at("/guide/log-sheet", page_sheet::log_sheet),
    at("/part-way", midway::page::show),
    at("/learnt", report::page::show),
    at("/doubtful", audit::page::show),
    form("/import", import::page::show, import::page::send),
    form("/gauge", gauge::page::show, gauge::page::show),
    file("/backup", backup::page::show),
    file("/sheet", export::page::show),
    file("/import/empty-sheet", import::page::template),
];

const fn at(path: &'static str, show: Show<Desk>) -> Route<Desk> {
    Route { path, show, send: None }
}

/// A route whose answer is saved as a file and not shown.
const fn file(path: &'static str, show: Show<Desk>) -> Route<Desk> {
    at(path, show)
}

const fn form(path: &'static str, show: Show<Desk>, send: Show<Desk>) -> Route<Desk> {
    Route { path, show, send: Some(send) }
}
