"""A peer of the fit: fits the model of lme4.R by REML with statsmodels and prints its spreads.

    python3 benches/peers/mixedlm.py SHEET.csv
"""

import sys
import warnings

import pandas as pd
import statsmodels.formula.api as smf

warnings.simplefilter("ignore")
s = pd.read_csv(sys.argv[1])
s["W"] = s.spine_mm - s.fore_edge_mm
d = s.groupby(["trial", "state"], as_index=False).agg(
    W=("W", "mean"), paper=("paper", "first"), laid_mm=("laid_mm", "first"), sections=("sections", "first")
)
d["D"] = d.laid_mm * d.sections
d["knocked"] = (d.state == "knocked") * 1.0
model = smf.mixedlm(
    "W ~ 0 + sections + D + D:knocked", d, groups="paper", re_formula="0 + D", vc_formula={"trial": "0 + C(trial):D"}
)
fit = model.fit(reml=True)
print(f"paper {fit.cov_re.iloc[0, 0] ** 0.5:.6f}")
print(f"trial {fit.vcomp[0] ** 0.5:.6f}")
print(f"Residual {fit.scale**0.5:.6f}")
