"""Power of the two-sided 5 % t test and runs per side by SciPy's noncentral t: python3 reference.py > reference.json"""
import json
import math

import scipy
from scipy import stats


def power(ncp, df):
    c = stats.t.ppf(0.975, df)
    p = float(stats.nct.sf(c, df, ncp) + stats.nct.cdf(-c, df, ncp))
    return 1.0 if math.isnan(p) else p  # this version of SciPy gives up far beyond a power of 1 - 1e-15


def runs(change, sd):
    n = 2
    while power(math.log1p(change) / (sd * math.sqrt(2 / n)), 2 * n - 2) < 0.8:
        n += 1
    return n


def detectable(variance, df):
    lo, hi = 0.0, 40.0
    for _ in range(80):
        mid = (lo + hi) / 2
        if power(mid, df) < 0.8:
            lo = mid
        else:
            hi = mid
    return math.expm1(lo * math.sqrt(variance))


out = {"scipy": scipy.__version__, "runs": [], "detectable": []}
for timing in (0.032, 0.0087, 0.0028):
    for tau in (0.005, 0.015, 0.03):
        for change in (0.02, 0.03, 0.05, 0.10, 0.20):
            sd = math.hypot(timing, tau)
            out["runs"].append({"timing": timing, "run_to_run": tau, "change": change, "runs": runs(change, sd)})
# Sessions measure their own spread, beside the usual one that is worth two degrees of freedom.
for u in (0.02, 0.04):
    for s in (0.0165, 0.035):
        for m in (2, 3, 5, 8):
            variance = 2 * (u * u + s * s / 6) / m
            out["detectable"].append({"session": u, "run": s, "sessions": m, "runs": 6, "change": detectable(variance, 2 * m - 2 + 2)})
print(json.dumps(out, indent=1))
