//! Readings with less weight than the others.

use crate::observe::DownWeighted;
use crate::terminal::number::ranged_length;
use crate::terminal::words::{hanging, wrapped};
use crate::units::LengthUnit;

/// Shows a reading with the digits of a gauge, like a range of a tenth of a millimetre.
const READING_WIDTH_MM: f64 = 0.1;

/// One line for each; `None` without such readings.
pub(crate) fn weighed_text(
    readings: &[DownWeighted],
    unit: LengthUnit,
    width: usize,
) -> Option<String> {
    if readings.is_empty() {
        return None;
    }
    let opening = "Out of line with the other readings of their set, and so given less weight \
                   (measure them again):";
    let lines = readings.iter().map(|reading| hanging(&line(reading, unit), width, 4));
    let lines: Vec<String> = std::iter::once(wrapped(opening, width)).chain(lines).collect();
    Some(lines.join("\n"))
}

fn line(reading: &DownWeighted, unit: LengthUnit) -> String {
    format!(
        "  {} {}, {} at {}: {} {unit}, weight {:.2}",
        reading.trial,
        reading.state.phrase(),
        reading.edge,
        reading.place,
        ranged_length(reading.value_mm, READING_WIDTH_MM, unit),
        reading.weight
    )
}
