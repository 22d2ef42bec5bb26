#!/usr/bin/env python3
"""Reference values: Sobol points, Student-t quantiles and normal values.

Run:  python3 scipy_numbers.py

Writes beside this file
  sobol_scipy.csv      first 64 points of the 7-dimensional unscrambled sequence of
                       scipy.stats.qmc.Sobol (all values are exact in binary);
                       the first point is the origin
  student_t_scipy.csv  quantiles of Student's t
  normal_scipy.csv     kind `cdf`: x is z, value is Phi(z);
                       kind `quantile`: x is p, value is the z with Phi(z) = p

The t and normal values are computed at 60 decimal digits with mpmath, for exactly
the doubles printed as p and z, and rounded to the nearest double. scipy's values are
compared with them and the worst disagreement is printed, because scipy's accuracy at
very many degrees of freedom was in doubt.
"""
import csv
from pathlib import Path

import mpmath as mp
import numpy as np
from scipy import special, stats

HERE = Path(__file__).resolve().parent
mp.mp.dps = 60


def write(name, header, rows):
    with (HERE / name).open("w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(header)
        w.writerows(rows)


def g(x):
    return f"{float(x):.17g}"


# ---- Sobol ---------------------------------------------------------------
points = stats.qmc.Sobol(d=7, scramble=False).random_base2(6)
write("sobol_scipy.csv", [f"d{i}" for i in range(1, 8)], [[g(v) for v in p] for p in points])


# ---- Student's t -----------------------------------------------------------
def t_pdf(x, nu):
    logc = mp.loggamma((nu + 1) / 2) - mp.loggamma(nu / 2) - mp.log(nu * mp.pi) / 2
    return mp.exp(logc - (nu + 1) / 2 * mp.log1p(x * x / nu))


def t_half_mass(t, nu):
    """Probability between 0 and t, by quadrature of the density."""
    knots = mp.linspace(0, t, 9)
    return mp.quad(lambda x: t_pdf(x, nu), knots)


def t_quantile(p, nu):
    p, nu = mp.mpf(p), mp.mpf(nu)
    if p == mp.mpf(1) / 2:
        return mp.mpf(0)
    t = mp.mpf(float(stats.t.ppf(float(p), float(nu))))
    for _ in range(12):
        step = (t_half_mass(t, nu) - (p - mp.mpf(1) / 2)) / t_pdf(t, nu)
        t -= step
        if abs(step) < mp.mpf(10) ** -30:
            return t
    raise RuntimeError(f"no convergence at p={p}, df={nu}")


rows, worst_t = [], (0.0, "")
for df in (4, 6, 30, 10_000, 1_000_000, 30_000_000):
    for p in (0.001, 0.05, 0.25, 0.5, 0.75, 0.95, 0.975, 0.999):
        q = float(t_quantile(p, df))
        rows.append([df, g(p), g(q)])
        if q != 0.0:
            off = abs(float(stats.t.ppf(p, df)) / q - 1)
            worst_t = max(worst_t, (off, f"df={df} p={p}"))
write("student_t_scipy.csv", ["df", "p", "quantile"], rows)


# ---- normal ----------------------------------------------------------------
def norm_quantile(p):
    p = mp.mpf(p)
    if p == mp.mpf(1) / 2:
        return mp.mpf(0)
    z = mp.mpf(float(special.ndtri(float(p))))
    for _ in range(12):
        step = (mp.ncdf(z) - p) / mp.npdf(z)
        z -= step
        if abs(step) < mp.mpf(10) ** -30:
            return z
    raise RuntimeError(f"no convergence at p={p}")


rows, worst_c, worst_q = [], (0.0, ""), (0.0, "")
for z in np.arange(-8.0, 8.25, 0.5):
    c = float(mp.ncdf(mp.mpf(float(z))))
    rows.append(["cdf", g(z), g(c)])
    worst_c = max(worst_c, (abs(float(special.ndtr(z)) / c - 1), f"z={z}"))
for p in (1e-12, 1e-9, 1e-6, 1e-4, 0.001, 0.005, 0.01, 0.025, 0.05, 0.1, 0.16, 0.25,
          0.4, 0.5, 0.6, 0.75, 0.84, 0.9, 0.95, 0.975, 0.99, 0.995, 0.999, 0.9999, 1 - 1e-6):
    q = float(norm_quantile(p))
    rows.append(["quantile", g(p), g(q)])
    if q != 0.0:
        worst_q = max(worst_q, (abs(float(special.ndtri(p)) / q - 1), f"p={p}"))
write("normal_scipy.csv", ["kind", "x", "value"], rows)

print("scipy against mpmath, worst relative disagreement:")
print(f"  t quantile      {worst_t[0]:.2e} at {worst_t[1]}")
print(f"  normal cdf      {worst_c[0]:.2e} at {worst_c[1]}")
print(f"  normal quantile {worst_q[0]:.2e} at {worst_q[1]}")
