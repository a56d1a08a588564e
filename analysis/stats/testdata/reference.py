# Reference values for the package's tests, from SciPy. Run: /usr/bin/python3 reference.py > reference.json
import json
import numpy as np
from scipy import optimize, stats

out = {"t_quantile": [], "t_two_sided": [], "chi2_sf": [], "nct_cdf": [], "power": []}
for p in (0.8, 0.9, 0.975, 0.995):
    for df in (1, 2, 3.7, 8, 14, 120):
        out["t_quantile"].append([p, df, stats.t.ppf(p, df)])
for t in (0.1, 1.0, 2.5, 6.0):
    for df in (1, 4.4, 30):
        out["t_two_sided"].append([t, df, 2 * stats.t.sf(t, df)])
for x in (0.02, 1.0, 3.84, 20.0):
    for df in (1, 3, 10):
        out["chi2_sf"].append([x, df, stats.chi2.sf(x, df)])
for t in (-2.3, 0.0, 1.0, 2.3, 5.0):
    for nc in (0.0, 0.7, 2.8, 6.0):
        for df in (2, 5, 14, 60):
            out["nct_cdf"].append([t, nc, df, stats.nct.cdf(t, df, nc)])
for nc in (0.5, 2.8, 4.0):
    for df in (2, 6, 30):
        c = stats.t.ppf(0.975, df)
        out["power"].append([nc, df, stats.nct.sf(c, df, nc) + stats.nct.cdf(-c, df, nc)])

a = [1.02, 0.99, 1.05, 0.97, 1.01, 1.04]
b = [0.91, 0.99, 0.85, 0.93]
w, s = stats.ttest_ind(a, b, equal_var=False), stats.ttest_ind(a, b)
out["two_sample"] = {"a": a, "b": b, "welch": [w.statistic, w.pvalue], "pooled": [s.statistic, s.pvalue]}
# NIST/SEMATECH e-Handbook, AUTO83B, by its summary statistics.
args = (20.14458, 6.41470, 249, 30.48101, 6.10771, 79)
w, s = stats.ttest_ind_from_stats(*args, equal_var=False), stats.ttest_ind_from_stats(*args)
out["auto83b"] = {"welch": w.statistic, "welch_p": w.pvalue, "pooled": s.statistic}

# Nonlinear fit: exponential plus constant.
x = np.linspace(0, 5, 30)
y = 2.5 * np.exp(-0.8 * x) + 0.4 + 0.05 * np.sin(17 * x)
f = optimize.least_squares(lambda p: p[0] * np.exp(-p[1] * x) + p[2] - y, [1, 1, 0], xtol=1e-15, ftol=1e-15, gtol=1e-15)
cov = np.linalg.inv(f.jac.T @ f.jac)
out["nonlinear"] = {"x": list(x), "y": list(y), "p": list(f.x), "cov": cov.tolist(), "rss": float(2 * f.cost)}

# Generalised least squares of correlated values of one quantity.
v = np.array([1.0, 1.3, 0.9])
c = np.array([[0.04, 0.01, 0.0], [0.01, 0.09, 0.02], [0.0, 0.02, 0.05]])
ci = np.linalg.inv(c)
one = np.ones(3)
var = 1 / (one @ ci @ one)
theta = var * (one @ ci @ v)
r = v - theta
out["gls"] = {"value": list(v), "cov": c.tolist(), "theta": theta, "variance": var, "chi2": float(r @ ci @ r), "p": float(stats.chi2.sf(r @ ci @ r, 2))}
print(json.dumps(out))
