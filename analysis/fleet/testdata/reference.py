# A straight line through values of known standard deviation, from NumPy and SciPy. Run: python3 reference.py > reference.json
import json
import numpy as np
from scipy import stats

out = []
for t, y, s in (
    ([0, 200, 410, 800, 1200], [0.150, 0.153, 0.149, 0.152, 0.151], [0.004, 0.005, 0.003, 0.006, 0.004]),
    ([0, 180, 365, 720], [0.150, 0.158, 0.166, 0.181], [0.002, 0.002, 0.003, 0.002]),
    ([0, 100, 200, 300, 400], [0.150, 0.170, 0.140, 0.175, 0.150], [0.001, 0.002, 0.001, 0.002, 0.001]),
):
    years = np.array(t) / 365.25
    p, cov = np.polyfit(years, y, 1, w=1 / np.array(s), cov="unscaled")
    p, cov = p[::-1], cov[::-1, ::-1]
    chi2 = float(np.sum(((np.array(y) - p[0] - p[1] * years) / np.array(s)) ** 2))
    sd = float(np.sqrt(cov[1, 1]) * max(1, chi2 / (len(t) - 2)) ** 0.5)
    out.append({"days": t, "value": y, "sd": s, "slope": float(p[1]), "slope_sd": sd, "p": float(2 * stats.norm.sf(abs(p[1]) / sd))})
print(json.dumps(out, indent=1))
