"""Part-way answers by numpy and scipy: python3 tests/reference/partway_numpy.py, from the root.

Implements the swell model of docs/model.md independently, from that page. A sheet's observations,
the part of a block and the finished book have a joint normal distribution, which is conditioned
with a Cholesky factor. The spreads are integrated out by draws from their beliefs, weighted by the
likelihood. The sheets, plans and parts are from datasets/sampler. Writes partway_numpy.csv.
"""
import csv
import math

import numpy as np
from scipy.optimize import brentq
from scipy.special import ndtr

DRAWS, CHUNK, SEED = 1_000_000, 20_000, 20260301
COEFFICIENTS = {
    "factor": (0.60, 0.15), "hard": (0.04, 0.08), "soft": (-0.04, 0.08), "boned": (-0.05, 0.05),
    "knocked": (-0.10, 0.08), "pressed": (-0.04, 0.05), "depth": (-0.05, 0.10),
    "length": (0.0, 0.08), "two_on": (0.0, 0.08),
    "fold": (0.020, 0.020), "fold_knocked": (-0.005, 0.010),
}
SPREADS = {
    "paper": 0.08, "paper_knocked": 0.05, "thread": 0.05, "sewing": 0.06, "stage": 0.03,
    "knocking": 0.05,
}
BAND = (0.20, 0.30)
RESOLUTION = 0.01


def read(path):
    with open(path, newline="") as sheet:
        return list(csv.DictReader(sheet))


def block(row, state, sewing, knocking, stage, sewn=None):
    """The coefficient of each unknown in W, by name."""
    n, s, on, ends = (int(row[key]) for key in ("sections", "sheets", "on", "ends"))
    t, d, paper = float(row["caliper_mm"]), float(row["laid_mm"]), row["paper"]
    q = n if sewn is None else sewn
    along = sum(1.0 if at < ends or at >= n - ends else 1.0 / on for at in range(q))
    found = {("fold",): q, ("paper fold", paper): q}
    if state == "unsewn":
        return found
    knocked, pressed, big_d = "knocked" in state, "pressed" in state, d * along
    found |= {("factor",): big_d, ("paper", paper): big_d, ("thread", row["thread"]): big_d}
    found |= {("sewing", sewing): big_d, ("stage", stage): big_d}
    found["depth",] = big_d * (math.log(s * t / d) - math.log(0.85))
    found["length",] = big_d * math.log(q / 10)
    if on > 1:
        found["two_on",] = big_d
    if row["hardness"] != "medium":
        found[row["hardness"],] = big_d
    if row["boned"] == "yes":
        found["boned",] = big_d
    if pressed:
        found["pressed",] = big_d
    if knocked:
        found |= {("knocked",): big_d, ("paper_knocked", paper): big_d, ("fold_knocked",): q}
        found["knocking", knocking] = big_d
    return found


def covariance(a, b):
    """The constant part, and the coefficient of each squared spread."""
    known, squares = 0.0, np.zeros(len(SPREADS))
    for name in a.keys() & b.keys():
        product = a[name] * b[name]
        if name[0] in SPREADS:
            squares[list(SPREADS).index(name[0])] += product
        else:
            sd = 0.010 if name[0] == "paper fold" else COEFFICIENTS[name[0]][1]
            known += product * sd * sd
    return known, squares


def expected(a):
    return sum(COEFFICIENTS[name[0]][0] * times for name, times in a.items() if len(name) == 1)


def sets(sheet):
    found = {}
    for row in sheet:
        found.setdefault((row["trial"], row["state"]), []).append(row)
    return found


def values(rows, column):
    return np.array([float(row[column]) for row in rows])


def repeatability(sheet):
    squares, freedom = 4 * 0.10**2, 4.0
    for rows in sets(sheet).values():
        for column in ("spine_mm", "fore_edge_mm"):
            x = values(rows, column)
            squares, freedom = squares + ((x - x.mean()) ** 2).sum(), freedom + len(x) - 1
    return squares / freedom


def observations(sheet, s2):
    found = []
    for (trial, state), rows in sets(sheet).items():
        spine, fore = values(rows, "spine_mm"), values(rows, "fore_edge_mm")
        noise = s2 * (1 / len(spine) + 1 / len(fore)) + 2 * RESOLUTION**2 / 12
        found.append((block(rows[0], state, trial, trial, trial + state), spine.mean() - fore.mean(), noise))
    return found


def moments(observed, asked, theta):
    """Log likelihood, conditional mean and variance for each draw of the spreads."""
    designs = [one[0] for one in observed] + [asked]
    terms = [[covariance(a, b) for b in designs] for a in designs]
    known = np.array([[term[0] for term in row] for row in terms])
    squares = np.array([[term[1] for term in row] for row in terms])
    residual = np.array([one[1] - expected(one[0]) for one in observed])
    n = len(observed)
    noise = np.diag([one[2] for one in observed])
    parts = []
    for start in range(0, len(theta), CHUNK):
        joint = known + np.einsum("ijk,dk->dij", squares, theta[start : start + CHUNK] ** 2)
        factor = np.linalg.cholesky(joint[:, :n, :n] + noise)
        right = np.concatenate(
            [np.broadcast_to(residual[:, None], (len(joint), n, 1)), joint[:, :n, n:]], axis=2
        )
        white = np.linalg.solve(factor, right)
        log = -0.5 * (white[:, :, 0] ** 2).sum(1)
        log -= np.log(np.einsum("dii->di", factor)).sum(1)
        mean = expected(asked) + (white[:, :, 0] * white[:, :, 1]).sum(1)
        variance = joint[:, n, n] - (white[:, :, 1] ** 2).sum(1)
        parts.append((log, mean, variance))
    return [np.concatenate(column) for column in zip(*parts)]


def summary(weights, mean, variance, edge):
    """Summaries of the finished swell, with their Monte Carlo standard errors."""
    error = lambda x: math.sqrt((weights**2 * (x - (weights * x).sum()) ** 2).sum())
    centre = (weights * mean).sum()
    sd = math.sqrt((weights * (variance + (mean - centre) ** 2)).sum())
    yield "mean", centre, error(mean)
    yield "sd", sd, error((variance + (mean - centre) ** 2)) / (2 * sd)
    root = np.sqrt(variance)
    for name, p in (("q05", 0.05), ("q50", 0.5), ("q95", 0.95)):
        share = lambda x: (weights * ndtr((x - mean) / root)).sum()
        at = brentq(lambda x: share(x) - p, centre - 9 * sd, centre + 9 * sd, xtol=1e-10)
        slope = (share(at + 1e-4 * sd) - share(at - 1e-4 * sd)) / (2e-4 * sd)
        yield name, at, error(ndtr((at - mean) / root)) / slope
    yield "fore_edge", edge[0], 0.0
    yield "fore_edge_sd", edge[1], 0.0
    below = [
        ndtr((x * edge[0] - mean) / np.sqrt(variance + (x * edge[1]) ** 2)) for x in BAND
    ]
    yield "chance", (weights * (below[1] - below[0])).sum(), error(below[1] - below[0])


def ratio(sheet, paper):
    """Posterior mean of the paper's fore-edge ratio, and its variance for a new block."""
    by_trial = {}
    for (trial, state), rows in sets(sheet).items():
        if rows[0]["paper"] == paper and state != "unsewn":
            n, s, t = (float(rows[0][key]) for key in ("sections", "sheets", "caliper_mm"))
            mean = values(rows, "fore_edge_mm").mean() / (2 * n * s * t)
            by_trial.setdefault(trial, []).append(mean)
    means = [np.mean(ratios) for ratios in by_trial.values()]
    precision = 0.05**-2 + len(means) * 0.02**-2
    return (1.04 * 0.05**-2 + sum(means) * 0.02**-2) / precision, 1 / precision + 0.02**2


def answers(plan, part):
    sheet = read(f"datasets/sampler/{plan['book']}.csv")
    s2 = repeatability(sheet)
    theta = np.abs(np.random.default_rng(SEED).standard_normal((DRAWS, len(SPREADS))))
    theta *= np.array(list(SPREADS.values()))
    spine, fore = (
        np.array([float(x) for x in part[key].split(";")]) for key in ("spine_mm", "fore_edge_mm")
    )
    noise = s2 * (1 / len(spine) + 1 / len(fore)) + 2 * RESOLUTION**2 / 12
    begun = block(plan, part["state"], "the book", "the part", "the part", int(part["sewn"]))
    observed = observations(sheet, s2) + [(begun, spine.mean() - fore.mean(), noise)]
    finished = block(plan, plan["state"], "the book", "the finished book", "the finished book")
    log, mean, variance = moments(observed, finished, theta)
    weights = np.exp(log - log.max())
    weights /= weights.sum()
    leaf = 2 * float(plan["sheets"]) * float(plan["caliper_mm"])
    begun_mm, whole_mm = leaf * int(part["sewn"]), leaf * int(plan["sections"])
    centre, spread = ratio(sheet, plan["paper"])
    error = (s2 / len(fore) + RESOLUTION**2 / 12) / begun_mm**2
    known = 1 / (1 / spread + 1 / error)
    own = known * (centre / spread + fore.mean() / begun_mm / error)
    yield from summary(weights, mean, variance, (own * whole_mm, math.sqrt(known) * whole_mm))
    yield "effective", 1 / (weights**2).sum(), 0.0


def main():
    parts = {part["book"]: part for part in read("datasets/sampler/parts.csv")}
    with open("tests/reference/partway_numpy.csv", "w") as out:
        print("book,quantity,value,error", file=out)
        for plan in read("datasets/sampler/plans.csv"):
            for quantity, value, error in answers(plan, parts[plan["book"]]):
                print(f"{plan['book']},{quantity},{value:.9g},{error:.2g}", file=out)


main()
