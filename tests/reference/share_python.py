#!/usr/bin/env python3
"""Reference values for predicting by a share per paper, in plain Python.

Run:  python3 tests/reference/share_python.py   (writes share_python.csv beside it)

columns  leave_out, quantity, value (17 significant digits)

Leaves out one trial (`trial`) or all trials of one paper (`paper`) at a time from
datasets/demonstration/trials.csv. A share is swell over thread build-up. The predicted swell is
build-up times the mean share of other trials in the same state: those of the same paper, else of
the same hardness, else all. The scatter is pooled over the groups of that kind; by hardness, only
if a hardness has two papers, else over all. The range is Student's t; its degrees of freedom are
the number of shares minus the number of groups.

quantities  predictions, mean_miss_mm, mean_miss_percent, held_90 (how many 90 % ranges contained
the measured swell), log_density (mean log density of the measured swell)
"""
import csv
import math
import pathlib

HERE = pathlib.Path(__file__).resolve().parent
SHEET = HERE / ".." / ".." / "datasets" / "demonstration" / "trials.csv"


def mean(values):
    return math.fsum(values) / len(values)


def laid(row):
    """Laid diameter in mm: measured, else from the lea count at 1.50 g/cm3 and packing 0.78."""
    if row["laid_mm"]:
        return float(row["laid_mm"])
    lea, plies = row["count"].removeprefix("lea ").split("/")
    tex = float(plies) * 453.59237 / (300 * 0.9144 * float(lea)) * 1000
    return 2 * math.sqrt(tex * 1e-6 / (math.pi * 1.50e-3 * 0.78))


def build_up(row):
    n, on, ends = int(row["sections"]), int(row["on"]), int(row["ends"])
    return laid(row) * (n if on == 1 else 2 * ends + (n - 2 * ends) / on)


def observations():
    groups = {}
    for row in csv.DictReader(SHEET.open()):
        if row["state"] != "unsewn":
            groups.setdefault((row["trial"], row["state"]), []).append(row)
    for (trial, state), rows in groups.items():
        edge = mean([float(row["fore_edge_mm"]) for row in rows])
        swell = mean([float(row["spine_mm"]) for row in rows]) - edge
        keys = {"paper": rows[0]["paper"], "hardness": rows[0]["hardness"], "all": ""}
        yield {"trial": trial, "state": state, "edge": edge, "swell": swell,
               "x": build_up(rows[0]), "share": swell / build_up(rows[0]), **keys}


def scatter(others, kind):
    groups = {}
    for one in others:
        groups.setdefault(one[kind], []).append(one["share"])
    freedom = len(others) - len(groups)
    papers = len({one["paper"] for one in others})
    if freedom == 0 or (kind == "hardness" and papers == len(groups)):
        return None
    squares = [(share - mean(group)) ** 2 for group in groups.values() for share in group]
    return math.sqrt(math.fsum(squares) / freedom), freedom


def log_t(z, nu):
    peak = math.lgamma((nu + 1) / 2) - math.lgamma(nu / 2) - math.log(nu * math.pi) / 2
    return peak - (nu + 1) / 2 * math.log1p(z * z / nu)


def between(z, nu, steps=20000):
    """The chance of |T| < |z|, by Simpson's rule."""
    h = abs(z) / steps
    weight = lambda i: 1 if i in (0, steps) else 4 if i % 2 else 2
    return 2 * h / 3 * math.fsum(weight(i) * math.exp(log_t(i * h, nu)) for i in range(steps + 1))


def judged(one, others):
    kinds = ["paper", "hardness", "all"]
    while not any(other[kinds[0]] == one[kinds[0]] for other in others):
        kinds.pop(0)
    alike = [other["share"] for other in others if other[kinds[0]] == one[kinds[0]]]
    sd, nu = next(found for kind in kinds if (found := scatter(others, kind)))
    miss = one["swell"] - mean(alike) * one["x"]
    scale = one["x"] * sd * math.sqrt(1 + 1 / len(alike))
    density = log_t(miss / scale, nu) - math.log(scale)
    return abs(miss), 100 * abs(miss) / one["edge"], between(miss / scale, nu) <= 0.9, density


def main():
    rows = list(observations())
    with (HERE / "share_python.csv").open("w") as out:
        out.write("leave_out,quantity,value\n")
        for what in ["trial", "paper"]:
            others = lambda one: [other for other in rows
                                  if other[what] != one[what] and other["state"] == one["state"]]
            found = [judged(one, others(one)) for one in rows]
            miss, percent, held, density = zip(*found)
            for quantity, value in [("predictions", len(found)), ("mean_miss_mm", mean(miss)),
                                    ("mean_miss_percent", mean(percent)),
                                    ("held_90", sum(held)), ("log_density", mean(density))]:
                out.write(f"{what},{quantity},{value:.17g}\n")


main()
