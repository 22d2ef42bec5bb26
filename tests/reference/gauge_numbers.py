#!/usr/bin/env python3
"""Reference values for the repeatability study.

Run:  python3 gauge_numbers.py

Writes beside this file
  quantiles_scipy.csv  kind `chi2` (a = degrees of freedom), `f` (a, b), with p and quantile;
                       refined from scipy's value at 40 digits with mpmath, for exactly the
                       doubles printed
  anova_exact.csv      set,quantity,value: F, R-squared, mean squares and residual standard
                       deviation of the NIST sets, in exact fractions of the readings rounded
                       to doubles
  gauge_limits.csv     set,component,quantity,value: sums of squares and components of the gauge
                       studies and their 90 % limits by the formulas of Burdick and Graybill
                       (1992), section 3.3, implemented independently of the program
"""
import csv
import math
from fractions import Fraction
from pathlib import Path

import mpmath as mp
from scipy import stats

HERE = Path(__file__).resolve().parent
DATA = HERE.parent.parent / "datasets"
mp.mp.dps = 40


def write(name, header, rows):
    with (HERE / name).open("w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(header)
        w.writerows(rows)


def g(x):
    return f"{float(x):.17g}"


def chi2_exact(p, n):
    p, n = mp.mpf(p), mp.mpf(n)
    f = lambda x: mp.gammainc(n / 2, 0, x / 2, regularized=True) - p
    return mp.findroot(f, mp.mpf(float(stats.chi2.ppf(float(p), float(n)))))


def f_exact(p, a, b):
    p, a, b = mp.mpf(p), mp.mpf(a), mp.mpf(b)
    x0 = mp.mpf(float(stats.f.ppf(float(p), float(a), float(b))))
    f = lambda x: mp.betainc(a / 2, b / 2, 0, a * x / (a * x + b), regularized=True) - p
    return mp.findroot(f, x0)


rows = []
for n in (1, 2, 3, 5, 8, 20, 60, 180, 1800, 10000):
    for p in (0.025, 0.05, 0.5, 0.95, 0.975):
        rows.append(("chi2", n, "", g(p), g(chi2_exact(p, n))))
for n in (10001, 18000, 1000000):
    for p in (0.025, 0.05, 0.5, 0.95, 0.975):
        # mpmath's series are too slow here; scipy's value is good to 14 digits.
        rows.append(("chi2", n, "", g(p), g(stats.chi2.ppf(p, n))))
for a, b in ((1, 1), (1, 46), (2, 18), (2, 4), (8, 180), (9, 18), (18, 60), (20, 4), (60, 2)):
    for p in (0.05, 0.5, 0.95):
        rows.append(("f", a, b, g(p), g(f_exact(p, a, b))))
for a, b in ((8, 18000), (1, 1000000), (3000, 9000), (20000, 40000), (1000000, 8)):
    for p in (0.05, 0.5, 0.95):
        rows.append(("f", a, b, g(p), g(stats.f.ppf(p, a, b))))
write("quantiles_scipy.csv", ["kind", "a", "b", "p", "quantile"], rows)


def exact(name):
    groups = {}
    with (DATA / "nist" / f"{name}.csv").open() as f:
        for row in csv.DictReader(f):
            groups.setdefault(row["treatment"], []).append(Fraction(float(row["response"])))
    n = sum(map(len, groups.values()))
    mean = sum(map(sum, groups.values())) / n
    within = between = Fraction(0)
    for values in groups.values():
        own = sum(values) / len(values)
        within += sum((v - own) ** 2 for v in values)
        between += len(values) * (own - mean) ** 2
    b, w = between / (len(groups) - 1), within / (n - len(groups))
    found = dict(between_ms=b, within_ms=w, f=b / w, r_squared=between / (between + within))
    out = [(name, key, g(value)) for key, value in found.items()]
    root = mp.sqrt(mp.mpf(w.numerator) / mp.mpf(w.denominator))
    return out + [(name, "residual_sd", g(root))]


rows = []
for name in ("SiRstv", *(f"SmLs0{i}" for i in range(1, 10)), "AtmWtAg"):
    rows += exact(name)
write("anova_exact.csv", ["set", "quantity", "value"], rows)

ALPHA = 0.05  # on each side


def limits(terms):
    """The sum of c*ms over the terms (c, ms, df), and its lower and upper limits."""
    upper_f = lambda n, m=None: (
        stats.chi2.ppf(1 - ALPHA, n) / n if m is None else stats.f.ppf(1 - ALPHA, n, m))
    lower_f = lambda n, m=None: (
        stats.chi2.ppf(ALPHA, n) / n if m is None else stats.f.ppf(ALPHA, n, m))
    plus = [t for t in terms if t[0] > 0]
    minus = [(-c, s, n) for c, s, n in terms if c < 0]
    value = sum(c * s for c, s, _ in terms)
    G = lambda n: 1 - 1 / upper_f(n)
    H = lambda n: 1 / lower_f(n) - 1
    low = sum((G(n) * c * s) ** 2 for c, s, n in plus) + sum((H(n) * c * s) ** 2 for c, s, n in minus)
    high = sum((H(n) * c * s) ** 2 for c, s, n in plus) + sum((G(n) * c * s) ** 2 for c, s, n in minus)
    for c, s, n in plus:
        for d, t, m in minus:
            F = upper_f(n, m)
            low += ((F - 1) ** 2 - (G(n) * F) ** 2 - H(m) ** 2) / F * c * d * s * t
            F = lower_f(n, m)
            high += ((1 - F) ** 2 - (H(n) * F) ** 2 - G(m) ** 2) / F * c * d * s * t

    def alike(group):
        total = 0.0
        for i in range(len(group)):
            for j in range(i + 1, len(group)):
                (c, s, n), (d, t, m) = group[i], group[j]
                k = (1 - 1 / upper_f(n + m)) ** 2 * (n + m) ** 2 / (n * m)
                k -= G(n) ** 2 * n / m + G(m) ** 2 * m / n
                total += k / (len(group) - 1) * c * d * s * t
        return total

    if minus:
        low += alike(plus)
        high += alike(minus)
    return value, value - math.sqrt(max(low, 0)), value + math.sqrt(max(high, 0))


def crossed(name):
    cells = {}
    with (DATA / "gauge" / f"{name}.csv").open() as f:
        for row in csv.DictReader(f):
            cells.setdefault((row["part"], row["operator"]), []).append(Fraction(row["reading_mm"]))
    parts = list(dict.fromkeys(p for p, _ in cells))
    people = list(dict.fromkeys(o for _, o in cells))
    p, o, r = len(parts), len(people), len(next(iter(cells.values())))
    mean = lambda xs: sum(xs, Fraction(0)) / len(xs)
    own = {key: mean(xs) for key, xs in cells.items()}
    by_part = {a: mean([own[a, b] for b in people]) for a in parts}
    by_one = {b: mean([own[a, b] for a in parts]) for b in people}
    grand = mean(list(own.values()))
    ss = dict(
        part=(o * r * sum((by_part[a] - grand) ** 2 for a in parts), p - 1),
        operator=(p * r * sum((by_one[b] - grand) ** 2 for b in people), o - 1),
        operator_by_part=(
            r * sum((own[a, b] - by_part[a] - by_one[b] + grand) ** 2 for a in parts for b in people),
            (p - 1) * (o - 1)),
        repeatability=(sum((x - own[k]) ** 2 for k, xs in cells.items() for x in xs), p * o * (r - 1)),
    )
    P, O, I, E = ((float(ss[k][0] / ss[k][1]), ss[k][1]) for k in
                  ("part", "operator", "operator_by_part", "repeatability"))
    term = lambda c, m: (c, *m)
    wanted = dict(
        repeatability=[term(1, E)],
        operator=[term(1 / (p * r), O), term(-1 / (p * r), I)],
        operator_by_part=[term(1 / r, I), term(-1 / r, E)],
        reproducibility=[term(1 / (p * r), O), term((p - 1) / (p * r), I), term(-1 / r, E)],
        gauge=[term(1 / (p * r), O), term((p - 1) / (p * r), I), term((r - 1) / r, E)],
        part=[term(1 / (o * r), P), term(-1 / (o * r), I)],
        total=[term(1 / (o * r), P), term(1 / (p * r), O),
               term((p * o - p - o) / (p * o * r), I), term((r - 1) / r, E)],
    )
    out = [(name, k, "ss", g(v[0])) for k, v in ss.items()]
    for kind, terms in wanted.items():
        value, low, high = limits(terms)
        out += [(name, kind, "raw", g(value)), (name, kind, "low", g(low)), (name, kind, "high", g(high))]
    return out


rows = []
for name in ("five_parts", "ten_parts", "thermal"):
    rows += crossed(name)
write("gauge_limits.csv", ["set", "component", "quantity", "value"], rows)
