"""Tail shapes of weights by ArviZ: python3 tests/reference/pareto_arviz.py, from the root.

The weights are exp(scale·z), where z are the normal quantiles of `count` evenly spaced
probabilities. Writes pareto_arviz.csv.
"""
import numpy as np
from arviz.stats.stats import psislw
from scipy.stats import norm

with open("tests/reference/pareto_arviz.csv", "w") as out:
    print("count,scale,pareto_k", file=out)
    for count in (200, 1000, 2304, 9216):
        for scale in (0.3, 1.0, 2.5):
            logs = scale * norm.ppf((np.arange(count) + 0.5) / count)
            _, k = psislw(logs.copy())
            print(f"{count},{scale},{float(k):.12g}", file=out)
