//! Numbers with a unit: lengths, grammage and linear density as types, how people type them, and
//! how typed text is shown.
//!
//! Nothing here knows about bookbinding. Every `new` refuses what is not a finite number in its
//! physical range, so the layers to the right never meet a NaN.

mod density;
mod fields;
mod fraction;
mod gauge;
mod length;
mod length_unit;
mod millimetres;
mod number;
mod quoted;
mod range;
mod shown;

pub use density::{GRAMMAGE_UNITS, GRAMS_PER_POUND, Grammage, Tex};
pub(crate) use fields::{fields, fields_of};
pub use gauge::{GaugeError, GaugeReading, LONGEST_LINE, Tolerance, parse_gauge_line};
pub use length::{LengthError, parse_length, parse_length_list, split_length_list, unit_typed};
pub use length_unit::LengthUnit;
pub use millimetres::Millimetres;
pub(crate) use mixed::parallel::{
    at_once, both, cores, each_in_place, in_ranges, in_ranges_of_long, in_shares, watched,
};
pub use number::{Grouped, NumberError, check_grouped, parse_decimal};
pub(crate) use number::{cleaned, is_hex, parse_plain};
pub use quoted::quoted;
pub use range::{RangeError, parse_range};
pub(crate) use shown::{listed, numbers_of, printable, shown, shown_path, shown_whole, steered};
pub use shown::{steering, unseen};
