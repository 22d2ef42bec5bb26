//! What a binder works with: paper, thread, sewing, states, trials, readings and targets.
//!
//! Plain values whose constructors refuse impossible values. Nothing here touches a file.

mod accents;
mod day;
mod forecast;
mod formula;
mod limits;
mod name;
mod pairs;
mod paper;
mod paper_weight;
mod reading;
mod saved_plan;
mod send_number;
mod sewing;
mod spread;
mod state;
mod target;
mod thread;
mod time_of_day;
mod trial;
mod word;
mod words;

pub(crate) use accents::composed;
pub use day::{DateOrder, DayError, is_day_number, parse_day, whole_or_named_day};
pub(crate) use day::{is_in_figures, is_year_first, plain_day, proved_order};
pub use forecast::kept::{Aim, KeptForecast, QuantilesError, SwellQuantiles, Wanted, WantedError};
pub use forecast::plan::{KeptBlock, KeptPaper, KeptPlan, KeptPlanError, KeptRun};
pub use formula::{formula_sign, formula_words};
pub use limits::{OutOfRange, Range, ranges};
pub use name::{Name, NameError};
pub use pairs::{Pairs, PairsError, parts, quoted_value};
pub use paper::{Hardness, Paper, caliper_from_stack};
pub use paper_weight::{PaperKind, WeightError, parse_weight};
pub use reading::{
    Edge, Place, Reading, ReadingError, expected_thickness, hint, paired, thickness_range,
};
pub use saved_plan::{
    NO_HAND, PlanWords, PlanWordsError, RUN_KEYS, Said, SavedPlan, WHOLE_KEYS, run_text,
};
pub use send_number::{SendNumber, SendNumberError};
pub use sewing::division::{Division, LeftOver};
pub use sewing::ends::{Ends, EndsError};
pub use sewing::geometry::SpineGeometry;
pub use sewing::guards::{Guards, GuardsError};
pub use sewing::on::{OnError, parse_on};
pub use sewing::pattern::{Stretch, Supports, Traverse};
pub use sewing::scheme::{Sewing, SewingError};
pub use sewing::strength::{
    Caution, SUPPORTS_FOR_THREE_ON, Stuff, THICK_THREAD_MM, THIN_THREAD_MM, WANTED_ENDS,
    customary_ends, filled_sections, thickest_section_mm,
};
pub use spread::{Spread, extremes, median};
pub use state::State;
pub use target::{Target, TargetError, starting_targets};
pub use thread::count::{CountError, ThreadCount};
pub use thread::entry::{Material, Thread, ThreadError, diameter_from_wraps, laid_diameter};
pub use thread::length::Height;
pub use thread::starting::starting_threads;
pub(crate) use time_of_day::has_time;
pub use trial::{Trial, TrialKind};
pub use word::{NeitherYesNorNo, UnknownWord, parse_yes_no};
pub(crate) use word::{plain_word, words};
pub use words::Words;
