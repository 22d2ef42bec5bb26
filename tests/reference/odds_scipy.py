"""Odds of swell over fore-edge, by integration instead of the closed form.

Writes odds_scipy.csv, rows `case,what,a,b,c`:
  component  weight, mean and sd in mm of one normal component of the swell W
  fore_edge  mean and sd in mm of the normal fore-edge F
  band       low and high in per cent, and P(low <= 100 W/F <= high)
  quantile   p, and the p quantile of 100 W/F in per cent

P is an integral over F: scipy.integrate.quad of the density of F times the probability that W is
between low F and high F. The quantile is a root of the same integral, found with
scipy.optimize.brentq. The components are drawn at random with a fixed seed.

Run:  python3 odds_scipy.py
"""

import csv

import numpy as np
from scipy import integrate, optimize, stats

CASES = [(1, 20.0, 0.45), (12, 20.5, 0.4), (40, 9.8, 0.05), (25, 32.0, 2.5)]
BANDS = [(25.0, 35.0), (0.0, 8.0), (30.0, 31.0), (-20.0, 24.0)]

random = np.random.default_rng(20260407)


def below(parts, mean, sd, percent):
    def inside(f):
        shares = stats.norm.cdf((percent / 100.0 * f - parts[:, 1]) / parts[:, 2])
        return stats.norm.pdf(f, mean, sd) * float(parts[:, 0] @ shares)

    ends = (mean - 12.0 * sd, mean + 12.0 * sd)
    value, error = integrate.quad(inside, *ends, epsabs=1e-14, epsrel=1e-13, limit=500)
    assert error < 1e-11, error
    return value


with open("odds_scipy.csv", "w", newline="") as file:
    out = csv.writer(file, lineterminator="\n")
    out.writerow(["case", "what", "a", "b", "c"])
    for case, (count, mean, sd) in enumerate(CASES):
        weights = random.dirichlet(np.full(count, 2.0))
        means = mean * random.normal(0.28, 0.03, count)
        sds = mean * random.uniform(0.01, 0.04, count)
        parts = np.column_stack([weights, means, sds])
        for part in parts:
            out.writerow([case, "component", *(repr(float(x)) for x in part)])
        out.writerow([case, "fore_edge", repr(mean), repr(sd), ""])
        for low, high in BANDS:
            chance = below(parts, mean, sd, high) - below(parts, mean, sd, low)
            out.writerow([case, "band", repr(low), repr(high), repr(chance)])
        for p in (0.05, 0.5, 0.95):
            root = optimize.brentq(lambda x: below(parts, mean, sd, x) - p, 5.0, 60.0, xtol=1e-12)
            out.writerow([case, "quantile", repr(p), repr(root), ""])
