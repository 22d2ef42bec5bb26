"""Makes three small sheets for comparing the fit with a general-purpose sampler.

Every bindery, paper, thread and figure here is invented. The blocks are drawn from the swell model
with chosen factors. Run `python3 make.py` in this folder; the seed is fixed.
"""
import math
import random

HEADER = (
    "trial,date,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,on,ends,boned,state,place,"
    "spine_mm,fore_edge_mm"
)
# name: hardness, caliper, factor as sewn, reduction by knocking down, fore-edge ratio
PAPERS = {
    "Brook wove": ("medium", 0.118, 0.66, 0.08, 1.05),
    "Heron bond": ("hard", 0.096, 0.74, 0.06, 1.02),
    "Moss laid": ("soft", 0.162, 0.47, 0.15, 1.09),
    "Slate wove": ("medium", 0.134, 0.57, 0.12, 1.03),
}
# name: laid diameter, addition to the factor
THREADS = {"cord A": (0.48, 0.02), "cord B": (0.56, -0.03), "cord C": (0.39, 0.01)}
BOTH = ("sewn", "knocked")
# sheet: trial, paper, thread, sections, sheets, on, ends, boned, states, places
BOOKS = {
    "two_trials": [
        ("A1", "Brook wove", "cord A", 8, 4, 1, 0, "no", BOTH, 3),
        ("A2", "Brook wove", "cord A", 10, 3, 1, 0, "no", BOTH, 3),
    ],
    "six_trials": [
        ("B1", "Brook wove", "cord A", 8, 4, 1, 0, "no", ("unsewn",) + BOTH, 3),
        ("B2", "Brook wove", "cord B", 8, 4, 1, 0, "no", BOTH, 2),
        ("B3", "Heron bond", "cord A", 12, 5, 1, 0, "yes", BOTH, 3),
        ("B4", "Heron bond", "cord B", 10, 5, 2, 1, "no", BOTH, 3),
        ("B5", "Moss laid", "cord B", 8, 3, 1, 0, "no", ("sewn",), 4),
        ("B6", "Moss laid", "cord A", 8, 3, 1, 0, "yes", BOTH, 1),
    ],
    "twelve_trials": [
        ("C01", "Brook wove", "cord A", 8, 4, 1, 0, "no", ("unsewn",) + BOTH, 3),
        ("C02", "Brook wove", "cord A", 8, 4, 1, 0, "no", BOTH, 3),
        ("C03", "Brook wove", "cord B", 12, 4, 1, 0, "yes", BOTH, 3),
        ("C04", "Heron bond", "cord A", 10, 5, 1, 0, "no", ("sewn", "pressed"), 3),
        ("C05", "Heron bond", "cord C", 10, 5, 1, 0, "no", BOTH, 3),
        ("C06", "Heron bond", "cord A", 14, 4, 2, 2, "no", BOTH, 4),
        ("C07", "Moss laid", "cord B", 8, 3, 1, 0, "no", BOTH, 3),
        ("C08", "Moss laid", "cord B", 8, 3, 1, 0, "yes", BOTH + ("knocked+pressed",), 3),
        ("C09", "Moss laid", "cord C", 6, 3, 1, 0, "no", ("unsewn",) + BOTH, 2),
        ("C10", "Slate wove", "cord A", 8, 4, 1, 0, "no", BOTH, 3),
        ("C11", "Slate wove", "cord B", 9, 4, 3, 1, "no", BOTH, 3),
        ("C12", "Slate wove", "cord A", 10, 4, 1, 0, "no", ("sewn", "knocked+pressed"), 3),
    ],
}


def rows(trial):
    name, paper, thread, n, s, on, ends, boned, states, places = trial
    hardness, t, sewn, out, ratio = PAPERS[paper]
    d, own = THREADS[thread]
    effective = n if on == 1 else 2 * ends + (n - 2 * ends) / on
    depth = math.log(s * t / d) - math.log(0.85)
    sewing = random.gauss(0, 0.045)
    fore = 2 * s * n * t * random.gauss(ratio, 0.015)
    for state in states:
        knocked, pressed = "knocked" in state, "pressed" in state
        swell = n * (0.019 - (0.004 if knocked else 0))
        if state != "unsewn":
            factor = sewn - (out if knocked else 0) - (0.03 if pressed else 0) + own
            factor += -0.05 * depth + sewing + random.gauss(0, 0.02)
            swell += d * effective * (factor - (0.05 if boned == "yes" else 0))
        for place in range(1, places + 1):
            spine, edge = fore + swell + random.gauss(0, 0.06), fore + random.gauss(0, 0.06)
            yield (
                f"{name},2026-02-01,{paper},{hardness},{t},{thread},{d},{n},{s},{on},{ends},{boned},"
                f"{state},{place},{spine:.2f},{edge:.2f}"
            )


random.seed(20260214)
for book, trials in BOOKS.items():
    with open(f"{book}.csv", "w") as sheet:
        print(HEADER, file=sheet)
        for trial in trials:
            for row in rows(trial):
                print(row, file=sheet)
