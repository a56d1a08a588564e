# Reference for the common fit: the same runs fitted by SciPy, all unknowns at once (no variable projection), and the
# bisquare weights by scipy's least_squares inside a plain reweighting loop. Run: /usr/bin/python3 shape.py > shape.json
import json
import numpy as np
from scipy.optimize import least_squares

rng = np.random.default_rng(11)
low, high = 1500.0, 4800.0
mid, half = (low + high) / 2, (high - low) / 2
runs = []
for i in range(10):
    n = int(rng.integers(14, 22))
    rpm = np.sort(rng.uniform(low, high - 400 * (i % 3), n))[::-1]
    x = (rpm - mid) / half
    g = x - 0.12 * x**2 + 0.05 * x**3
    b = (0.95 if i < 5 else 0.74) * np.exp(0.015 * rng.standard_normal())
    t = 3 + 10 * i - b * g + 0.012 * rng.standard_normal(n)
    if i % 4 == 1:
        t[n // 2] += 0.15
    runs.append((t, rpm))


def fit(weights):
    k = len(runs)

    def residuals(p):
        q2, q3 = p[:2]
        out = []
        for i, (t, rpm) in enumerate(runs):
            x = (rpm - mid) / half
            g = x + q2 * x**2 + q3 * x**3
            out.append(np.sqrt(weights[i]) * (t - (p[2 + 2 * i] - p[3 + 2 * i] * g)))
        return np.concatenate(out)

    p0 = np.concatenate([[0, 0]] + [[np.mean(t), 1.0] for t, _ in runs])
    s = least_squares(residuals, p0, method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=100000)
    q2, q3 = s.x[:2]
    res = []
    for i, (t, rpm) in enumerate(runs):
        x = (rpm - mid) / half
        res.append(t - (s.x[2 + 2 * i] - s.x[3 + 2 * i] * (x + q2 * x**2 + q3 * x**3)))
    return s.x, res


total = sum(len(t) for t, _ in runs)
df = total - 2 * len(runs) - 2
p, res = fit([np.ones(len(t)) for t, _ in runs])
k = 8.0
for _ in range(200):
    sigma = max(np.median(np.abs(np.concatenate(res))) / 0.6744897501960817 / np.sqrt(df / total), 1e-4)
    u = [r / (k * sigma) for r in res]
    w = [np.where(np.abs(v) < 1, (1 - v**2) ** 2, 0.0) for v in u]
    last = p
    p, res = fit(w)
    k = 6.0
    if np.max(np.abs(p - last)) < 1e-12:
        break

print(json.dumps({
    "low": low, "high": high,
    "runs": [{"t": list(t), "rpm": list(r)} for t, r in runs],
    "q": list(p[:2]), "a": list(p[2::2]), "b": list(p[3::2]), "sigma_scale": float(sigma),
}))
