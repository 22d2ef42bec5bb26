"""Samples the swell model of docs/model.md with a general-purpose sampler (NumPyro's NUTS).

Reads the flat sheets and plans of datasets/sampler, writes sampler.csv beside itself. Uses none of
this project's code: readings, design and model are implemented here from that page. The only
difference: a stage effect belongs to a single observation, so it is added to that observation's
variance instead of being sampled. The posterior of everything else is the same.

Run from the root: python3 tests/reference/sampler.py
"""
import csv
import math
import pathlib
import sys

import numpy as np
import numpyro
import numpyro.distributions as dist

CHAINS = 4
numpyro.set_host_device_count(CHAINS)
numpyro.enable_x64()
import jax  # noqa: E402  (only after setting the number of devices)
import jax.numpy as jnp  # noqa: E402
from numpyro.diagnostics import effective_sample_size, gelman_rubin  # noqa: E402
from numpyro.infer import MCMC, NUTS  # noqa: E402
from scipy.stats import beta  # noqa: E402

ROOT = pathlib.Path(__file__).resolve().parents[2]
WARMUP = 2_000
DRAWS = int(sys.argv[1]) if len(sys.argv) > 1 else 15_000
SEED = 20260214

# name: mean, sd
COEFFICIENTS = {
    "factor": (0.60, 0.15),
    "hard": (0.04, 0.08),
    "soft": (-0.04, 0.08),
    "boned": (-0.05, 0.05),
    "knocked": (-0.10, 0.08),
    "pressed": (-0.04, 0.05),
    "depth": (-0.05, 0.10),
    "length": (0.0, 0.08),
    "two_on": (0.0, 0.08),
    "fold": (0.020, 0.020),
    "fold_knocked": (-0.005, 0.010),
}
# name: half-normal scale
SPREADS = {
    "paper": 0.08,
    "paper_knocked": 0.05,
    "thread": 0.05,
    "sewing": 0.06,
    "stage": 0.03,
    "knocking": 0.05,
}
PAPER_FOLD_SD = 0.010
RESOLUTION = 0.01


def sheet(path):
    with open(path) as lines:
        return list(csv.DictReader(lines))


def conditions(row):
    """Build-up D, whether knocked down, sections, and the design row of W."""
    n, s = int(row["sections"]), int(row["sheets"])
    on, ends = int(row["on"]), int(row["ends"])
    t, d, state = float(row["caliper_mm"]), float(row["laid_mm"]), row["state"]
    effective = n if on == 1 else 2 * ends + (n - 2 * ends) / on
    thread = 0.0 if state == "unsewn" else d * effective
    knocked = 1.0 if "knocked" in state else 0.0
    in_bracket = {
        "factor": 1.0,
        "hard": float(row["hardness"] == "hard"),
        "soft": float(row["hardness"] == "soft"),
        "boned": float(row["boned"] == "yes"),
        "knocked": knocked,
        "pressed": float("pressed" in state),
        "depth": math.log(s * t / d) - math.log(0.85),
        "length": math.log(n / 10),
        "two_on": float(on > 1),
    }
    x = {name: thread * value for name, value in in_bracket.items()}
    x |= {"fold": float(n), "fold_knocked": n * knocked}
    return thread, knocked, float(n), [x[name] for name in COEFFICIENTS]


def observations(rows):
    """Each observed swell with its noise variance, from the pooled repeatability."""
    sets = {}
    for row in rows:
        sets.setdefault((row["trial"], row["state"]), []).append(row)
    edge = lambda group, name: np.array([float(r[name]) for r in group])  # noqa: E731
    squares, freedom = 4 * 0.10**2, 4
    for group in sets.values():
        for name in ("spine_mm", "fore_edge_mm"):
            values = edge(group, name)
            squares += ((values - values.mean()) ** 2).sum()
            freedom += len(values) - 1
    s2 = squares / freedom
    made = []
    for (trial, _), group in sets.items():
        swell = edge(group, "spine_mm").mean() - edge(group, "fore_edge_mm").mean()
        variance = s2 * 2 / len(group) + 2 * RESOLUTION**2 / 12
        made.append((group[0], trial, swell, variance))
    return made


def places(names):
    known = list(dict.fromkeys(names))
    return known, np.array([known.index(name) for name in names])


def arrays(rows):
    made = observations(rows)
    each = [conditions(row) for row, *_ in made]
    papers, paper = places([row["paper"] for row, *_ in made])
    threads, thread = places([row["thread"] for row, *_ in made])
    trials, trial = places([trial for _, trial, *_ in made])
    column = lambda items: np.array(items, dtype=float)  # noqa: E731
    data = {
        "build_up": column([e[0] for e in each]),
        "knocked": column([e[1] for e in each]),
        "sections": column([e[2] for e in each]),
        "x": column([e[3] for e in each]),
        "swell": column([swell for _, _, swell, _ in made]),
        "variance": column([variance for *_, variance in made]),
        "paper": paper,
        "thread": thread,
        "trial": trial,
    }
    return data, papers, threads, len(trials)


def model(data, papers, threads, trials):
    means = np.array([mean for mean, _ in COEFFICIENTS.values()])
    sds = np.array([sd for _, sd in COEFFICIENTS.values()])
    beliefs = dist.Normal(0.0, 1.0).expand([len(means)]).to_event(1)
    coefficients = numpyro.deterministic(
        "coefficients", means + sds * numpyro.sample("z", beliefs)
    )
    spread = {
        name: numpyro.sample(name, dist.HalfNormal(scale)) for name, scale in SPREADS.items()
    }
    standard = lambda name, size: numpyro.sample(  # noqa: E731
        name, dist.Normal(0.0, 1.0).expand([size]).to_event(1)
    )
    u = numpyro.deterministic("u", spread["paper"] * standard("z_u", papers))
    w = numpyro.deterministic("w", spread["paper_knocked"] * standard("z_w", papers))
    f = numpyro.deterministic("f", PAPER_FOLD_SD * standard("z_f", papers))
    t = numpyro.deterministic("t", spread["thread"] * standard("z_t", threads))
    sewing = spread["sewing"] * standard("z_sewing", trials)
    knocking = spread["knocking"] * standard("z_knocking", trials)
    paper, D = data["paper"], data["build_up"]
    trial, knocked = data["trial"], data["knocked"]
    own = u[paper] + w[paper] * knocked + t[data["thread"]]
    own = own + sewing[trial] + knocking[trial] * knocked
    mean = data["x"] @ coefficients + data["sections"] * f[paper] + D * own
    variance = data["variance"] + (D * spread["stage"]) ** 2
    numpyro.sample("swell", dist.Normal(mean, jnp.sqrt(variance)), obs=data["swell"])


def predicted(plan, draws, papers, threads, rng):
    """One draw of the plan's swell per posterior draw, with new sewing, hammering and stage."""
    D, knocked, n, x = conditions(plan)
    shape = draws["paper"].shape
    normal = lambda: rng.standard_normal(shape)  # noqa: E731
    if plan["paper"] in papers:
        at = papers.index(plan["paper"])
        u, w, f = draws["u"][..., at], draws["w"][..., at], draws["f"][..., at]
    else:
        u, w = draws["paper"] * normal(), draws["paper_knocked"] * normal()
        f = PAPER_FOLD_SD * normal()
    if plan["thread"] in threads:
        t = draws["t"][..., threads.index(plan["thread"])]
    else:
        t = draws["thread"] * normal()
    own = u + w * knocked + t + draws["sewing"] * normal() + draws["stage"] * normal()
    own = own + knocked * draws["knocking"] * normal()
    return draws["coefficients"] @ np.array(x) + n * f + D * own


def quantile_error(values, p):
    """Monte Carlo standard error of a quantile: half the distance between the quantiles at the
    15.9 and 84.1 % points of the beta distribution of its probability (Vehtari and others 2021)."""
    share = effective_sample_size((values <= np.quantile(values, p)).astype(float))
    a, b = share * p + 1, share * (1 - p) + 1
    low, high = (np.quantile(values, beta.ppf(q, a, b)) for q in (0.158655, 0.841345))
    return (high - low) / 2, share


def line(book, quantity, values):
    size = effective_sample_size(values)
    quantiles = [np.quantile(values, p) for p in (0.05, 0.5, 0.95)]
    errors = [quantile_error(values, p) for p in (0.05, 0.5, 0.95)]
    sd = values.std()
    least = min([size] + [share for _, share in errors])
    rhat = gelman_rubin(values)
    assert rhat < 1.005, (book, quantity, rhat)
    numbers = [values.mean(), sd, *quantiles, sd / math.sqrt(size), *(e for e, _ in errors)]
    return [book, quantity, *(f"{number:.6g}" for number in numbers), f"{least:.0f}"]


def main():
    out = []
    for plan in sheet(ROOT / "datasets/sampler/plans.csv"):
        book = plan["book"]
        data, papers, threads, trials = arrays(sheet(ROOT / f"datasets/sampler/{book}.csv"))
        kernel = NUTS(model, target_accept_prob=0.99)
        mcmc = MCMC(
            kernel, num_warmup=WARMUP, num_samples=DRAWS, num_chains=CHAINS, progress_bar=False
        )
        mcmc.run(jax.random.PRNGKey(SEED), data, len(papers), len(threads), trials)
        draws = {k: np.asarray(v) for k, v in mcmc.get_samples(group_by_chain=True).items()}
        diverging = int(np.asarray(mcmc.get_extra_fields(group_by_chain=True)["diverging"]).sum())
        print(book, "divergences", diverging, "of", CHAINS * DRAWS, file=sys.stderr)
        swell = predicted(plan, draws, papers, threads, np.random.default_rng(SEED))
        asked = [(f"spread {name}", draws[name]) for name in SPREADS]
        asked += [(name, draws["coefficients"][..., k]) for k, name in enumerate(COEFFICIENTS)]
        asked += [("swell", swell)]
        out += [line(book, quantity, values) for quantity, values in asked]
    with open(pathlib.Path(__file__).with_suffix(".csv"), "w", newline="") as table:
        writer = csv.writer(table, lineterminator="\n")
        header = "book,quantity,mean,sd,q05,q50,q95,mcse_mean,mcse_q05,mcse_q50,mcse_q95,ess"
        writer.writerow(header.split(","))
        writer.writerows(out)


main()
