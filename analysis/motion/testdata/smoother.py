"""Reference for the smoother: the fixed-interval estimate of a linear Gaussian model is a weighted least-squares problem over all
states at once. Solved here densely with SciPy, on numbers from a fixed generator. Run: /usr/bin/python3 smoother.py > smoother.json"""
import json
import numpy as np
from scipy.linalg import cho_factor, cho_solve

rng = np.random.default_rng(5)
n, q = 60, 9.0
t = np.cumsum(rng.uniform(0.03, 0.5, n))
speed = 50 + 3 * t + rng.normal(0, 0.4, n)
engine = 50 + 3 * t + rng.normal(0, 0.15, n)
speed_var = np.full(n, 0.15)
engine_var = np.where((t > 4) & (t < 8), 0.0, 0.0225)

a = np.zeros((2 * n, 2 * n))
b = np.zeros(2 * n)
prior = np.diag([1 / 25.0, 1 / 100.0])  # variances of the first state
a[:2, :2] += prior
b[:2] += prior @ np.array([speed[0], 0.0])
for i in range(n):
    for z, r in ((speed[i], speed_var[i]), (engine[i], engine_var[i])):
        if r > 0:
            a[2 * i, 2 * i] += 1 / r
            b[2 * i] += z / r
    if i + 1 < n:
        d = t[i + 1] - t[i]
        f = np.array([[1, d], [0, 1]])
        w = np.linalg.inv(q * np.array([[d**3 / 3, d**2 / 2], [d**2 / 2, d]]))
        s, e = slice(2 * i, 2 * i + 2), slice(2 * i + 2, 2 * i + 4)
        a[s, s] += f.T @ w @ f
        a[s, e] -= f.T @ w
        a[e, s] -= w @ f
        a[e, e] += w
c = cho_factor(a)
x = cho_solve(c, b)
cov = cho_solve(c, np.eye(2 * n))
json.dump({"t": t.tolist(), "speed": speed.tolist(), "speed_var": speed_var.tolist(), "engine": engine.tolist(),
           "engine_var": engine_var.tolist(), "v": x[0::2].tolist(), "a": x[1::2].tolist(),
           "var_v": np.diag(cov)[0::2].tolist(), "var_a": np.diag(cov)[1::2].tolist()}, __import__("sys").stdout)
