"""The shared-shape fit by SciPy (Debian package python3-scipy): t = A_i - B_i (x + q1 x^2 + q2 x^3), all parameters at once, with given weights.
    go test ./analysis/inertia -run ShapeFit -update
    /usr/bin/python3 shape_reference.py
"""
import json
import os
import numpy as np
from scipy.optimize import least_squares

here = os.path.dirname(os.path.abspath(__file__))
c = json.load(open(os.path.join(here, "shape_input.json")))
mid, half = (c["high"] + c["low"]) / 2, (c["high"] - c["low"]) / 2
t = [np.array(v) for v in c["t"]]
x = [(np.array(v) - mid) / half for v in c["rpm"]]
w = [np.sqrt(np.array(v)) for v in c["weight"]]
n = len(t)

def residual(p):
    a, b, q = p[:n], p[n:2 * n], p[2 * n:]
    return np.concatenate([w[i] * (t[i] - a[i] + b[i] * (x[i] + q[0] * x[i] ** 2 + q[1] * x[i] ** 3)) for i in range(n)])

start = np.concatenate([[v.mean() for v in t], np.ones(n), np.zeros(2)])
fit = least_squares(residual, start, method="lm", ftol=1e-15, xtol=1e-15, gtol=1e-15)
json.dump({"A": list(fit.x[:n]), "B": list(fit.x[n:2 * n]), "Q": list(fit.x[2 * n:])}, open(os.path.join(here, "shape_reference.json"), "w"), indent=1)
