//! A planned book from flags: what `predict` and its kin have in common.

use super::prompt::by_flag;
use super::{CliError, suggest, values};
use crate::book::Book;
use crate::decide::{Band, Bench};
use crate::model::{Gaussian, Plan, PlannedPaper, PlannedThread, Run};
use crate::trade::{
    Hardness, Material, Name, Sewing, SewingError, State, Thread, ThreadCount, ranges,
};
use crate::units::{LengthUnit, Millimetres, parse_length_list};

/// The flags that describe a planned book.
#[derive(Debug, clap::Args)]
pub(crate) struct PlanArgs {
    /// The paper, by its name in the book
    #[arg(long, value_name = "NAME")]
    paper: String,
    /// The thread, by its name in the book
    #[arg(long, value_name = "NAME")]
    thread: String,
    /// Sections in the book
    #[arg(long, value_name = "N", group = "extent")]
    sections: Option<String>,
    /// Leaves in the book, in place of --sections
    #[arg(long, value_name = "N", group = "extent")]
    leaves: Option<String>,
    /// Pages in the book, in place of --sections
    #[arg(long, value_name = "N", group = "extent")]
    pages: Option<String>,
    /// Folded sheets in a section
    #[arg(long, value_name = "N")]
    sheets: String,
    /// Sections sewn in one traverse: 1 all along, 2 two-on, 3 three-on
    #[arg(long, value_name = "N", default_value = "1")]
    on: String,
    /// Sections at each end sewn all along whatever --on is
    #[arg(long, value_name = "N", default_value = "0")]
    ends: String,
    /// The folds are boned down
    #[arg(long)]
    boned: bool,
    /// The state asked for: sewn, pressed, knocked or knocked+pressed
    #[arg(long, default_value = "knocked")]
    state: String,
    /// The wanted swell: a target of the book, or LOW..HIGH in per cent
    #[arg(long, value_name = "NAME|LOW..HIGH")]
    pub target: Option<String>,
    /// Thickness of one leaf, for a paper that is not in the book
    #[arg(long, value_name = "LENGTH")]
    caliper: Option<String>,
    /// hard, medium or soft, for a paper that is not in the book
    #[arg(long)]
    hardness: Option<String>,
    /// Laid diameter, for a thread that is not in the book
    #[arg(long, value_name = "LENGTH")]
    laid: Option<String>,
    /// Count such as 'lea 25/3', for a thread that is not in the book
    #[arg(long)]
    count: Option<String>,
    /// linen, cotton, silk or polyester, for --count
    #[arg(long)]
    material: Option<String>,
    /// Who will sew, where the book holds more than one hand
    #[arg(long, value_name = "NAME")]
    hand: Option<String>,
}

fn value_error(flag: &'static str, message: impl Into<String>) -> CliError {
    CliError::Value { flag, message: message.into() }
}

/// The flag that a sewing's fault came with.
fn flag_of(error: &SewingError) -> &'static str {
    match error {
        SewingError::Sections(_) => "--sections",
        SewingError::Sheets(_) => "--sheets",
        SewingError::On(_) => "--on",
        SewingError::Ends { .. } => "--ends",
    }
}

impl PlanArgs {
    /// The plan, checked against the book.
    ///
    /// # Errors
    /// [`CliError`] naming the flag.
    pub fn plan(&self, book: &Book, bench: &Bench) -> Result<Plan, CliError> {
        let run = Run {
            paper: self.planned_paper(book, bench)?,
            thread: self.planned_thread(book, bench)?,
            sewing: self.sewing()?,
            boned: self.boned,
        };
        let state: State = by_flag("--state", &self.state, values::parsed)?;
        let mut plan = Plan::new(vec![run], state)?;
        plan.hand = self.planned_hand(bench)?;
        Ok(plan)
    }

    /// The wanted swell.
    ///
    /// # Errors
    /// [`CliError::Value`] for a target that is neither in the book nor a range.
    pub fn band(&self, book: &Book) -> Result<Option<Band>, CliError> {
        let Some(typed) = &self.target else { return Ok(None) };
        if let Some((low, high)) = typed.split_once("..") {
            let bound = |text: &str| by_flag("--target", text, |text| values::number(text, &["%"]));
            let band = Band::new(bound(low)?, bound(high)?);
            return band.map(Some).map_err(|error| value_error("--target", error.to_string()));
        }
        let found = book.targets().iter().find(|target| target.name.as_str() == typed.trim());
        let names: Vec<&str> = book.targets().iter().map(|target| target.name.as_str()).collect();
        let unknown = || {
            let known = suggest::unknown("target", typed, &names);
            value_error(
                "--target",
                format!("{known} (or give LOW..HIGH in per cent, such as 25..35)"),
            )
        };
        found.map(|target| Some(Band::from(target))).ok_or_else(unknown)
    }

    fn sewing(&self) -> Result<Sewing, CliError> {
        let sheets: u16 =
            by_flag("--sheets", &self.sheets, |text| values::whole(text, ranges::SHEETS))?;
        let on: u8 = by_flag("--on", &self.on, |text| values::whole(text, ranges::ON))?;
        let ends: u16 = by_flag("--ends", &self.ends, |text| values::whole(text, ranges::ENDS))?;
        let sections = self.sections(sheets)?;
        Sewing::new(sections, sheets, on, ends)
            .map_err(|error| value_error(flag_of(&error), error.to_string()))
    }

    /// Sections, from whichever of the three was given.
    fn sections(&self, sheets: u16) -> Result<u16, CliError> {
        let (flag, typed, pages) = match (&self.sections, &self.leaves, &self.pages) {
            (Some(typed), _, _) => {
                return by_flag("--sections", typed, |text| values::whole(text, ranges::SECTIONS));
            }
            (_, Some(typed), _) => ("--leaves", typed, 1),
            (_, _, Some(typed)) => ("--pages", typed, 2),
            _ => {
                let wanted = "give one of --sections, --leaves and --pages";
                return Err(CliError::Usage(wanted.to_owned()));
            }
        };
        let count: u32 = by_flag(flag, typed, |text| values::whole(text, ranges::PAGES))?;
        Sewing::sections_for(count, pages, sheets)
            .map_err(|error| value_error(flag, error.to_string()))
    }

    fn planned_paper(&self, book: &Book, bench: &Bench) -> Result<PlannedPaper, CliError> {
        let name: Name = by_flag("--paper", &self.paper, values::parsed)?;
        if let Some(paper) = bench.paper(&name) {
            if self.caliper.is_some() || self.hardness.is_some() {
                let why = "is in the book; leave out --caliper and --hardness";
                return Err(value_error("--paper", format!("'{name}' {why}")));
            }
            return Ok(paper);
        }
        let (Some(caliper), Some(hardness)) = (&self.caliper, &self.hardness) else {
            let names: Vec<&str> = book.papers().iter().map(|paper| paper.name.as_str()).collect();
            let unknown = suggest::unknown("paper", &self.paper, &names);
            let message = format!("{unknown} (a new paper needs --caliper and --hardness)");
            return Err(value_error("--paper", message));
        };
        let caliper = by_flag("--caliper", caliper, |text| {
            values::length(text, book.config().unit, ranges::CALIPER)
        })?;
        let hardness: Hardness = by_flag("--hardness", hardness, values::parsed)?;
        Ok(PlannedPaper { name, level: None, caliper_mm: caliper.mm(), hardness })
    }

    fn planned_thread(&self, book: &Book, bench: &Bench) -> Result<PlannedThread, CliError> {
        let name: Name = by_flag("--thread", &self.thread, values::parsed)?;
        if let Some(thread) = bench.thread(&name) {
            if self.laid.is_some() || self.count.is_some() {
                let why = "is in the book; leave out --laid and --count";
                return Err(value_error("--thread", format!("'{name}' {why}")));
            }
            return Ok(thread);
        }
        if self.laid.is_none() && self.count.is_none() {
            let names: Vec<&str> =
                book.threads().iter().map(|thread| thread.name.as_str()).collect();
            let unknown = suggest::unknown("thread", &self.thread, &names);
            let message = format!("{unknown} (a new thread needs --laid or --count)");
            return Err(value_error("--thread", message));
        }
        let thread = self.new_thread(name, book.config().unit)?;
        let diameter_mm = thread.diameter().mm();
        Ok(PlannedThread { name: thread.name, level: None, diameter_mm })
    }

    fn new_thread(&self, name: Name, unit: LengthUnit) -> Result<Thread, CliError> {
        let laid = self
            .laid
            .as_deref()
            .map(|text| by_flag("--laid", text, |text| values::length(text, unit, ranges::LAID)));
        let count: Option<Result<ThreadCount, _>> =
            self.count.as_deref().map(|text| by_flag("--count", text, values::parsed));
        let material: Option<Result<Material, _>> =
            self.material.as_deref().map(|text| by_flag("--material", text, values::parsed));
        let material = material.transpose()?.unwrap_or_default();
        Thread::new(name, material, count.transpose()?, laid.transpose()?)
            .map_err(|error| value_error("--count", error.to_string()))
    }

    fn planned_hand(&self, bench: &Bench) -> Result<Option<usize>, CliError> {
        let Some(typed) = &self.hand else { return Ok(None) };
        let hands = &bench.observations.hands;
        let names: Vec<&str> =
            hands.iter().map(String::as_str).filter(|name| !name.is_empty()).collect();
        let found = hands.iter().position(|hand| hand == typed.trim());
        found
            .map(Some)
            .ok_or_else(|| value_error("--hand", suggest::unknown("hand", typed, &names)))
    }
}

/// Readings of a thickness by a flag, in mm.
///
/// # Errors
/// [`CliError::Value`] names the flag.
pub(crate) fn thicknesses(
    flag: &'static str,
    typed: &str,
    unit: LengthUnit,
) -> Result<Vec<f64>, CliError> {
    let checked = |text: &str| -> Result<Vec<f64>, String> {
        let lengths = parse_length_list(text, unit).map_err(|error| error.to_string())?;
        let check = |length: &Millimetres| {
            ranges::THICKNESS.check(length.mm()).map_err(|error| error.to_string())
        };
        lengths.iter().map(check).collect()
    };
    by_flag(flag, typed, checked)
}

/// The flag for a fore-edge that was measured before the sewing.
#[derive(Debug, clap::Args)]
pub(crate) struct FoldedArgs {
    /// Fore-edge measured on the folded block: one or more readings, parted by commas
    #[arg(long, value_name = "LENGTHS")]
    fore_edge: Option<String>,
}

/// The mean of such readings and how well it is known.
///
/// # Errors
/// [`CliError::Value`] for what is no thickness.
pub(crate) fn measured_edge(
    flag: &'static str,
    typed: &str,
    (book, bench): (&Book, &Bench),
) -> Result<Option<Gaussian>, CliError> {
    let readings = thicknesses(flag, typed, book.config().unit)?;
    Ok(bench.observations.measured_edge(&readings).map(|(mean, sd)| Gaussian { mean, sd }))
}

impl FoldedArgs {
    /// The mean of the readings and how well it is known.
    ///
    /// # Errors
    /// [`CliError::Value`] for what is no thickness.
    pub fn measured(&self, book: &Book, bench: &Bench) -> Result<Option<Gaussian>, CliError> {
        let Some(typed) = &self.fore_edge else { return Ok(None) };
        measured_edge("--fore-edge", typed, (book, bench))
    }
}
