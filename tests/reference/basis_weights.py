#!/usr/bin/env python3
"""US basis weights of paper in g/m2, computed in exact fractions.

Run:  python3 basis_weights.py        (writes basis_weights.csv beside this file)

A basis weight is the weight in pounds of a ream: 500 sheets of the basic size of that
kind of paper. 1 lb = 453.59237 g and 1 in = 25.4 mm, exactly (international yard
and pound agreement, 1959). Each value is rounded once, to the nearest double.
"""
import csv
from fractions import Fraction
from pathlib import Path

GRAMS = Fraction("453.59237")
METRES = Fraction("0.0254")
SIZES = {
    "bond": ("17", "22"),
    "text": ("25", "38"),
    "cover": ("20", "26"),
    "index": ("25.5", "30.5"),
    "bristol": ("22.5", "28.5"),
    "tag": ("24", "36"),
}
POUNDS = {
    "bond": "1 13 16 20 24 28 32 36 40",
    "text": "1 30 40 45 50 60 70 80 100 120",
    "cover": "1 50 60 65 80 90 100 130",
    "index": "1 90 110 140 170",
    "bristol": "1 67 80 100 120",
    "tag": "1 100 125 150 175 200",
}


def main():
    out = Path(__file__).resolve().with_suffix(".csv")
    with out.open("w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(["kind", "pounds", "gsm"])
        for kind, (width, length) in SIZES.items():
            area = 500 * Fraction(width) * Fraction(length) * METRES**2
            for pounds in POUNDS[kind].split():
                w.writerow([kind, pounds, f"{float(Fraction(pounds) * GRAMS / area):.17g}"])


if __name__ == "__main__":
    main()
