#!/usr/bin/env python3
"""Full Bayesian posterior of the eight schools, by quadrature over the between-school sd tau.

Run:  python3 eight_schools_grid.py     (writes eight_schools_grid.csv beside this file)

Model:  effect_j ~ N(theta_j, se_j),  theta_j ~ N(mu, tau),  mu flat on the line,
        tau flat on [0, inf)  ("flat", as in BDA section 5.5), or
        tau half-normal with scale 10  ("half_normal_10").

Given tau, everything is normal with a closed form (BDA section 5.4):
    w_j   = 1 / (se_j^2 + tau^2),   V = 1 / sum w_j,   m = V sum w_j effect_j
    mu      | tau  ~  N(m, V)
    theta_j | tau  ~  N((1 - B) effect_j + B m,  (1 - B) se_j^2 + B^2 V),
                      B = se_j^2 / (se_j^2 + tau^2)
    p(tau | y)  prop. to  p(tau) sqrt(V) prod sqrt(w_j) exp(-sum w_j (effect_j - m)^2 / 2)
This leaves one integral over tau. It is computed by Gauss-Legendre quadrature in
t = tau / (tau + 10), t in [0, 1], where the integrand is smooth up to both ends. The
quantiles are roots (Brent) of the cdf. For tau the cdf is the integral up to tau; for
mu and the schools' effects it is the mixture of normals over tau.

Every number is computed with 200 and with 400 nodes. The integrals are also computed
with scipy's adaptive quad. The script stops if any two differ by more than 1e-10. So
the values are good to better than 1e-8, absolutely and relatively.

columns  prior, quantity, value
  tau_mean tau_sd tau_q05 ..., mu_..., theta_A_... theta_H_...  posterior summaries
  log_evidence   log of the integral over tau and mu of the likelihood times the
                 prior density of tau; mu has density 1 on the whole line, and
                 for "flat" tau has density 1 too
"""
import csv
from pathlib import Path

import numpy as np
from scipy import integrate, optimize, special

HERE = Path(__file__).resolve().parent
SCALE = 10.0
QS = (0.025, 0.05, 0.25, 0.5, 0.75, 0.95, 0.975)

with (HERE / "../../datasets/eight_schools/eight_schools.csv").open() as f:
    DATA = list(csv.DictReader(f))
NAME = [r["school"] for r in DATA]
Y = np.array([float(r["effect"]) for r in DATA])
SE2 = np.array([float(r["se"]) for r in DATA]) ** 2

LOG_PRIOR = {
    "flat": lambda tau: np.zeros_like(tau),
    "half_normal_10": lambda tau: 0.5 * np.log(2 / np.pi) - np.log(10.0) - 0.5 * (tau / 10.0) ** 2,
}


def given_tau(tau):
    """m, V and the log likelihood with mu integrated out, for an array of tau."""
    tau = np.atleast_1d(np.asarray(tau, float))[:, None]
    w = 1 / (SE2 + tau**2)
    v = 1 / w.sum(1)
    m = v * (w * Y).sum(1)
    loglik = (
        0.5 * np.log(w).sum(1)
        - 0.5 * (w * (Y - m[:, None]) ** 2).sum(1)
        + 0.5 * np.log(v)
        - 0.5 * (len(Y) - 1) * np.log(2 * np.pi)
    )
    return m, v, loglik


def school(j, tau, m, v):
    b = SE2[j] / (SE2[j] + tau**2)
    return (1 - b) * Y[j] + b * m, (1 - b) * SE2[j] + b**2 * v


def density(prior, tau):
    return np.exp(given_tau(tau)[2] + LOG_PRIOR[prior](np.atleast_1d(tau)))


def nodes(n, t_end=1.0):
    x, w = np.polynomial.legendre.leggauss(n)
    t, w = (x + 1) / 2 * t_end, w / 2 * t_end
    return SCALE * t / (1 - t), w * SCALE / (1 - t) ** 2


def summary(prior, n):
    tau, w = nodes(n)
    m, v, loglik = given_tau(tau)
    p = w * np.exp(loglik + LOG_PRIOR[prior](tau))
    z = p.sum()
    p = p / z
    out = {"log_evidence": np.log(z)}

    mean = (p * tau).sum()
    out["tau_mean"] = mean
    out["tau_sd"] = np.sqrt((p * (tau - mean) ** 2).sum())

    def tau_cdf(x):
        a, b = nodes(n, x / (x + SCALE))
        return (b * density(prior, a)).sum() / z

    for q in QS:
        out[f"tau_q{label(q)}"] = optimize.brentq(
            lambda x: tau_cdf(x) - q, 1e-6, 500.0, xtol=1e-13, rtol=1e-14)

    parts = [("mu", m, v)] + [(f"theta_{NAME[j]}", *school(j, tau, m, v)) for j in range(len(Y))]
    for name, mm, vv in parts:
        mean = (p * mm).sum()
        sd = np.sqrt(vv)
        out[f"{name}_mean"] = mean
        out[f"{name}_sd"] = np.sqrt((p * (vv + (mm - mean) ** 2)).sum())
        for q in QS:
            out[f"{name}_q{label(q)}"] = optimize.brentq(
                lambda x: (p * special.ndtr((x - mm) / sd)).sum() - q,
                -200.0, 300.0, xtol=1e-13, rtol=1e-14)
    return out


def label(q):
    return f"{q:.3f}"[2:].rstrip("0") if round(q * 1000) % 10 else f"{q:.2f}"[2:]


def quad_check(prior, out):
    """Repeats the integrals, and the cdfs at the quantiles, by adaptive quadrature."""
    size = np.exp(out["log_evidence"])  # scales the integrand to order one for quad

    def integral(f, hi=np.inf):
        cuts = [c for c in (0.0, 5.0, 20.0, 60.0) if c < hi] + [hi]
        return sum(integrate.quad(lambda t: float(f(t)) * float(density(prior, t)[0]) / size, a, b,
                                  epsabs=1e-13, epsrel=1e-12, limit=400)[0]
                   for a, b in zip(cuts, cuts[1:]))

    worst = 0.0

    def same(a, b):
        nonlocal worst
        worst = max(worst, abs(a - b))

    z = integral(lambda t: 1.0)
    same(np.log(z), 0.0)
    mean = integral(lambda t: t) / z
    same(mean, out["tau_mean"])
    same(np.sqrt(integral(lambda t: (t - mean) ** 2) / z), out["tau_sd"])
    for q in QS:
        same(integral(lambda t: 1.0, out[f"tau_q{label(q)}"]) / z, q)

    def part(name, t):
        m, v, _ = given_tau(t)
        return (m[0], v[0]) if name == "mu" else tuple(
            a[0] for a in school(NAME.index(name[6:]), np.atleast_1d(t), m, v))

    for name in ["mu"] + [f"theta_{s}" for s in NAME]:
        mean = integral(lambda t: part(name, t)[0]) / z
        same(mean, out[f"{name}_mean"])
        var = integral(lambda t: part(name, t)[1] + (part(name, t)[0] - mean) ** 2) / z
        same(np.sqrt(var), out[f"{name}_sd"])
        for q in (0.05, 0.5, 0.95):
            x = out[f"{name}_q{label(q)}"]

            def below(t):
                a, v = part(name, t)
                return special.ndtr((x - a) / np.sqrt(v))
            same(integral(below) / z, q)
    return worst


def main():
    rows = []
    for prior in LOG_PRIOR:
        a, b = summary(prior, 200), summary(prior, 400)
        by_nodes = max(abs(a[k] - b[k]) for k in b)
        by_quad = quad_check(prior, b)
        print(f"{prior}: worst difference 200/400 nodes {by_nodes:.1e}, against quad {by_quad:.1e}")
        assert by_nodes < 1e-10 and by_quad < 1e-10
        rows += [(prior, k, f"{x:.17g}") for k, x in b.items()]
    with (HERE / "eight_schools_grid.csv").open("w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(["prior", "quantity", "value"])
        w.writerows(rows)


if __name__ == "__main__":
    main()
