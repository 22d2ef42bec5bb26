#!/usr/bin/env python3
"""Writes the NIST data sets of this folder from the packages that ship them.

Run:  python3 make.py        (needs scipy 1.17.1 and statsmodels 0.15.0)

Only the layout changes. Readings are copied as text from the source, one CSV for each
set. The certified values go to certified.csv.
"""
import csv
import re
from pathlib import Path

import scipy
import statsmodels

HERE = Path(__file__).resolve().parent
SCIPY = Path(scipy.__file__).parent / "stats/tests/data"
STATS = Path(statsmodels.__file__).parent
ANOVA = ["SiRstv", *(f"SmLs0{i}" for i in range(1, 10)), "AtmWtAg"]
certified = []


def write(name, header, rows):
    with (HERE / name).open("w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(header)
        w.writerows(rows)


def anova(name):
    lines = (SCIPY / "nist_anova" / f"{name}.dat").read_text().splitlines()
    head = lines[:60]
    between = next(line for line in head if line.startswith("Between")).split()[-4:]
    within = next(line for line in head if line.startswith("Within")).split()[-3:]
    square = next(line for line in head if "R-Squared" in line).split()[-1]
    sd = next(line for line in head if re.match(r"\s*Standard Deviation", line)).split()[-1]
    values = dict(
        between_df=between[0], between_ss=between[1], between_ms=between[2], f=between[3],
        within_df=within[0], within_ss=within[1], within_ms=within[2],
        r_squared=square, residual_sd=sd,
    )
    certified.extend((name, key, value) for key, value in values.items())
    rows = [line.split() for line in lines[60:] if line.strip()]
    assert all(len(row) == 2 for row in rows)
    write(f"{name}.csv", ["treatment", "response"], rows)


def norris():
    lines = (SCIPY / "nist_linregress/Norris.dat").read_text().splitlines()
    for key in ("B0", "B1"):
        estimate, error = next(x for x in lines if x.strip().startswith(key + " ")).split()[1:]
        certified.append(("Norris", key.lower(), estimate))
    at = next(i for i, x in enumerate(lines) if x.strip() == "Residual")
    certified.append(("Norris", "residual_sd", lines[at + 1].split()[-1]))
    rows = [line.split() for line in lines[60:] if line.strip()]
    write("Norris.csv", ["y", "x"], rows)


def longley():
    text = (STATS / "regression/tests/results/results_regression.py").read_text()
    block = re.search(r"class Longley:.*?self.params = \((.*?)\).*?self.scale = ([\d.]+)", text, re.S)
    params = [value.strip() for value in block.group(1).split(",")]
    # statsmodels puts the constant last; NIST numbers it B0.
    for index, value in enumerate([params[-1], *params[:-1]]):
        certified.append(("Longley", f"b{index}", value))
    certified.append(("Longley", "residual_ms", block.group(2)))
    with (STATS / "datasets/longley/longley.csv").open() as f:
        rows = [row[1:] for row in csv.reader(f)]
    write("Longley.csv", ["y", "x1", "x2", "x3", "x4", "x5", "x6"], rows[1:])


for name in ANOVA:
    anova(name)
norris()
longley()
write("certified.csv", ["set", "quantity", "value"], certified)
