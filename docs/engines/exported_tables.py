"""The exported tables of books as both engines need them: types of the columns, cells as text."""

import csv
from decimal import Decimal
from pathlib import Path

# The one statement that both engines run.
STATEMENT = Path(__file__).with_name("observations.sql")

# The columns of a table of readings that are no text, by docs/reference/files.md.
WHOLE = {"swellbook_reading", "sections", "sheets", "on", "ends", "trial_number"}
NUMBERS = {
    "grammage_gsm", "caliper_mm", "laid_mm", "guards_mm", "build_up_mm", "leaves_mm",
    "resolution_mm", "spine_mm", "fore_edge_mm", "swell_mm", "spine_weight", "fore_edge_weight",
}


def header(file):
    """The names of the columns of a table."""
    with open(file, newline="", encoding="utf-8") as lines:
        return next(csv.reader(lines))


def kind(name):
    """Whether a column holds whole numbers, numbers or texts: `int`, `float` or `str`."""
    return int if name in WHOLE else float if name in NUMBERS else str


def cell(value):
    """A value as swellbook writes it: all digits, no exponent, no point without digits after it."""
    if value is None:
        return ""
    if not isinstance(value, float):
        return str(value)
    text = format(Decimal(repr(value)), "f")
    return text.removesuffix(".0")


def write(names, rows, to):
    """The rows as CSV."""
    written = csv.writer(to, lineterminator="\n")
    written.writerow(names)
    written.writerows([cell(value) for value in row] for row in rows)
