#!/usr/bin/env python3
"""Yarn counts converted to tex with the unit registry of the package `pint`.

Run:  python3 yarn_pint.py        (writes yarn_pint.csv beside this file)

The registry works in exact fractions. So each conversion is exact and rounded
once, to the nearest double, when it is printed with 17 significant digits.

system  what `number` counts                       where the unit comes from
lea     leas of 300 yd in one pound, linen         built from pint's pound and yard
Ne      hanks of 840 yd in one pound, cotton       pint: number_english
Nm      metres in one gram                         pint: number_meter
Td      grams in 9000 m                            pint: denier
tex     grams in 1000 m                            pint: tex

A thread written N/p has p plies of single yarn of number N. Its tex is p times the
tex of the single yarn. Plying takes up a little length, so a real plied thread is
slightly heavier; this take-up is left out here. For Td and tex, `number` is the count
of one ply, and a row has one ply unless it says otherwise.
"""
import csv
from fractions import Fraction
from pathlib import Path

import pint

ureg = pint.UnitRegistry(non_int_type=Fraction)

# pint's definitions of the pound and the yard, checked against the exact ones.
assert ureg.Quantity(1, "pound").to("gram").magnitude == Fraction(45359237, 100000)
assert ureg.Quantity(1, "yard").to("metre").magnitude == Fraction(9144, 10000)

# pint has no linen lea: one lea is 300 yd per pound.
ureg.define("linen_lea = 300 * yard / pound")

UNIT = {
    "lea": "linen_lea",
    "Ne": "number_english",
    "Nm": "number_meter",
    "Td": "denier",
    "tex": "tex",
}

ROWS = [
    ("lea", "10", 3), ("lea", "12", 3), ("lea", "12", 4), ("lea", "16", 2),
    ("lea", "16", 3), ("lea", "16", 4), ("lea", "18", 2), ("lea", "18", 3),
    ("lea", "18", 4), ("lea", "18", 5), ("lea", "20", 3), ("lea", "25", 2),
    ("lea", "25", 3), ("lea", "30", 3), ("lea", "35", 3), ("lea", "40", 3),
    ("lea", "60", 2), ("lea", "1", 1),
    ("Ne", "1", 1), ("Ne", "10", 4), ("Ne", "12", 2), ("Ne", "12", 3),
    ("Ne", "30", 3), ("Ne", "60", 3),
    ("Nm", "1", 1), ("Nm", "12", 3), ("Nm", "30", 3), ("Nm", "10.5", 3),
    ("Td", "1", 1), ("Td", "210", 3), ("Td", "840", 1), ("Td", "1260", 1),
    ("tex", "30", 3), ("tex", "200", 1), ("tex", "285", 1),
]


def tex(system, number, plies):
    count = ureg.Quantity(Fraction(number), UNIT[system])
    with ureg.context("textile"):  # converts length per mass to mass per length
        return plies * count.to("tex").magnitude


def main():
    out = Path(__file__).resolve().with_suffix(".csv")
    with out.open("w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(["system", "number", "plies", "tex"])
        for system, number, plies in ROWS:
            w.writerow([system, number, plies, f"{float(tex(system, number, plies)):.17g}"])


if __name__ == "__main__":
    main()
