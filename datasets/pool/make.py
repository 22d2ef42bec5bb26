"""Makes the sheets of six invented benches. Their summaries are beside this file.

The benches, their papers and every figure are invented. The blocks are drawn from the swell model
(docs/model.md), with separate coefficients for each bench (see SOURCE.md). `python3 make.py FOLDER`
writes a sheet for each bench; the seed is fixed.
"""
import math
import random
import sys
from pathlib import Path

random.seed(20261101)

# Mean of each coefficient over the benches, and its standard deviation between benches.
MIDDLE = {"factor": (0.53, 0.05), "hard": (0.08, 0.02), "soft": (-0.07, 0.02), "boned": (-0.04, 0.015),
          "knocked": (-0.13, 0.02), "depth": (-0.04, 0.02), "length": (-0.02, 0.02),
          "fold": (0.015, 0.004), "fold_knocked": (-0.004, 0.002)}
# Bench: number of trials. Oak measures its spines over the cords, so its factor is far too large.
BENCHES = {"ash": 9, "birch": 14, "cedar": 6, "elm": 22, "fir": 11, "oak": 12}
OVER_THE_CORDS = ("oak", 1.3)
PAPERS = [("hard", 0.10), ("medium", 0.12), ("soft", 0.16)]
LAID = [0.42, 0.55]
HEADER = "trial,paper,hardness,caliper_mm,thread,laid_mm,sections,sheets,boned,state,place,spine_mm,fore_edge_mm"


def bench(name, trials):
    own = {key: random.gauss(*belief) for key, belief in MIDDLE.items()}
    if name == OVER_THE_CORDS[0]:
        own["factor"] += OVER_THE_CORDS[1]
    papers = [(hardness, t, random.gauss(0, 0.05), random.gauss(0, 0.02)) for hardness, t in PAPERS]
    threads = [(d, random.gauss(0, 0.02)) for d in LAID]
    yield HEADER
    for trial in range(trials):
        paper, thread = trial % len(papers), (trial // 2) % len(threads)
        hardness, t, shift, knocked = papers[paper]
        d, extra = threads[thread]
        n, s = random.choice([6, 8, 10, 16, 24]), random.choice([2, 3, 4])
        boned = random.random() < 0.3
        sewing, hammer = random.gauss(0, 0.03), random.gauss(0, 0.02)
        for state, k in (("sewn", 0), ("knocked", 1)):
            share = own["factor"] + own.get(hardness, 0) + boned * own["boned"] + k * own["knocked"]
            share += own["depth"] * (math.log(s * t / d) - math.log(0.85)) + own["length"] * math.log(n / 10)
            share += shift + k * knocked + extra + sewing + k * hammer + random.gauss(0, 0.015)
            swell = n * d * share + n * (own["fold"] + k * own["fold_knocked"])
            fore_edge = 2 * n * s * t * 1.05
            for place in ("head", "middle", "tail"):
                f = fore_edge + random.gauss(0, 0.04)
                spine = fore_edge + swell + random.gauss(0, 0.04)
                yield (f"T{trial + 1},paper {paper + 1},{hardness},{t},thread {thread + 1},{d},{n},{s},"
                       f"{'yes' if boned else 'no'},{state},{place},{spine:.2f},{f:.2f}")


folder = Path(sys.argv[1])
for name, trials in BENCHES.items():
    (folder / f"{name}.csv").write_text("\n".join(bench(name, trials)) + "\n")
