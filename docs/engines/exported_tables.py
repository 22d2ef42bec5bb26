"""Column types of exported tables, and cells as text, for both engines."""

import csv
from decimal import Decimal
from pathlib import Path

# Both engines run this statement.
STATEMENT = Path(__file__).with_name("observations.sql")

# Columns of a table of readings that are not text, from docs/reference/files.md.
WHOLE = {
    "swellbook_reading", "sections", "sheets", "on", "ends", "first_ends", "last_ends",
    "trial_number",
}
NUMBERS = {
    "grammage_gsm", "caliper_mm", "laid_mm", "guards_mm", "build_up_mm", "leaves_mm",
    "resolution_mm", "spine_mm", "fore_edge_mm", "swell_mm", "spine_weight", "fore_edge_weight",
}


def header(file):
    """Column names of a table."""
    with open(file, newline="", encoding="utf-8") as lines:
        return next(csv.reader(lines))


def kind(name):
    """Python type of a column: `int`, `float` or `str`."""
    return int if name in WHOLE else float if name in NUMBERS else str


def cell(value):
    """Formats a value as swellbook does: all digits, no exponent, no trailing `.0`."""
    if value is None:
        return ""
    if not isinstance(value, float):
        return str(value)
    text = format(Decimal(repr(value)), "f")
    return text.removesuffix(".0")


def write(names, rows, to):
    """Writes the rows as CSV."""
    written = csv.writer(to, lineterminator="\n")
    written.writerow(names)
    written.writerows([cell(value) for value in row] for row in rows)
