"""Makes the demonstration sheet: trial blocks of an invented bindery, drawn from known factors.

Alder Quay Bindery, its papers, its hands and every figure here are invented. The blocks are drawn
from the swell model with chosen factors, so the values that a fit should recover are known (see
SOURCE.md). Run `python3 make.py > trials.csv`; the seed is fixed.
"""
import math
import random

random.seed(20260301)
# A separate random stream for how hard each block was hammered. The model got this effect later,
# and a separate stream left the other draws unchanged.
hammer = random.Random(20260302)

# name: hardness, grammage, caliper, factor as sewn, reduction by knocking down, fore-edge ratio
PAPERS = {
    "Alder bond": ("hard", 80, 0.102, 0.70, 0.09, 1.05),
    "Quay laid": ("soft", 118, 0.156, 0.50, 0.14, 1.08),
    "Tern wove": ("medium", 100, 0.128, 0.61, 0.11, 1.03),
    "Kelp mould": ("soft", 145, 0.210, 0.44, 0.16, 1.10),
}
# name: count, measured laid diameter, addition to the factor
THREADS = {
    "flax 25/3": ("lea 25/3", 0.47, 0.01),
    "flax 18/3": ("lea 18/3", 0.55, -0.02),
    "flax 40/3": ("lea 40/3", None, 0.015),
}
# trial, date, paper, thread, sections, sheets, on, ends, boned
TRIALS = [
    ("B01", "2026-01-12", "Alder bond", "flax 25/3", 8, 4, 1, 0, "no"),
    ("B02", "2026-01-12", "Alder bond", "flax 25/3", 8, 4, 1, 0, "no"),
    ("B03", "2026-01-13", "Alder bond", "flax 18/3", 8, 4, 1, 0, "no"),
    ("B04", "2026-01-13", "Alder bond", "flax 25/3", 8, 5, 1, 0, "yes"),
    ("B05", "2026-01-20", "Quay laid", "flax 18/3", 8, 3, 1, 0, "no"),
    ("B06", "2026-01-20", "Quay laid", "flax 18/3", 8, 3, 1, 0, "no"),
    ("B07", "2026-01-21", "Quay laid", "flax 25/3", 10, 3, 1, 0, "no"),
    ("B08", "2026-01-21", "Quay laid", "flax 25/3", 10, 3, 2, 2, "no"),
    ("B09", "2026-02-02", "Tern wove", "flax 25/3", 8, 4, 1, 0, "no"),
    ("B10", "2026-02-02", "Tern wove", "flax 40/3", 8, 4, 1, 0, "no"),
    ("B11", "2026-02-03", "Tern wove", "flax 25/3", 8, 4, 1, 0, "yes"),
    ("B12", "2026-02-10", "Kelp mould", "flax 18/3", 6, 2, 1, 0, "no"),
    ("B13", "2026-02-10", "Kelp mould", "flax 18/3", 6, 2, 1, 0, "no"),
    # One block as long as a book: the short ones cannot show the effect of length.
    ("B14", "2026-02-17", "Alder bond", "flax 25/3", 24, 4, 1, 0, "no"),
]
LEA_DIAMETER_40_3 = 0.3674
PLACES = ("head", "middle", "tail")
HEADER = (
    "trial,date,paper,hardness,grammage_gsm,caliper_mm,thread,count,laid_mm,sections,sheets,on,ends,"
    "boned,state,place,spine_mm,fore_edge_mm"
)


def block(trial):
    name, date, paper, thread, n, s, on, ends, boned = trial
    hardness, gsm, t, sewn, out, ratio = PAPERS[paper]
    count, laid, own = THREADS[thread]
    d = laid if laid else LEA_DIAMETER_40_3
    effective = n if on == 1 else 2 * ends + (n - 2 * ends) / on
    depth = math.log(s * t / d) - math.log(0.85)
    sewing = random.gauss(0, 0.035)
    knocking = hammer.gauss(0, 0.02)
    nominal = 2 * s * n * t
    fore = nominal * random.gauss(ratio, 0.012)
    states = ["unsewn"] if name in ("B01", "B09") else []
    for state in states + ["sewn", "knocked"]:
        knocked = state == "knocked"
        factor = sewn - (out if knocked else 0) + own - (0.05 if boned == "yes" else 0)
        factor += -0.04 * depth + sewing + random.gauss(0, 0.012)
        factor += -0.03 * math.log(n / 10) - (0.03 if on > 1 else 0)
        factor += knocking if knocked else 0
        swell = n * (0.018 - (0.005 if knocked else 0))
        if state != "unsewn":
            swell += d * effective * factor
        edge = fore * (1.03 if state == "unsewn" else 1.0 - (0.01 if knocked else 0))
        for place in PLACES:
            spine = edge + swell + random.gauss(0, 0.05)
            measured = edge + random.gauss(0, 0.04)
            print(
                f"{name},{date},{paper},{hardness},{gsm},{t},{thread},{count},{laid or ''},{n},{s},{on},"
                f"{ends},{boned},{state},{place},{spine:.2f},{measured:.2f}"
            )


print(HEADER)
for trial in TRIALS:
    block(trial)
