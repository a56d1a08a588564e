"""Reference for the joint fit of gearing, lag and creep: Tukey's biweight as a loss of scipy.optimize.least_squares, and the sandwich covariance
over blocks of ten seconds with scipy.linalg. Numbers from a fixed generator. Run: /usr/bin/python3 fit.py > fit.json"""
import json
import sys
import numpy as np
from scipy.linalg import inv
from scipy.optimize import least_squares

rng = np.random.default_rng(11)
true_k, true_lag, true_creep, offset = np.array([45.0, 33.0]), 0.27, 0.03, 0.5
creep_ridge, unit = 100.0, 1.0

nt = np.round(np.arange(0, 150, 0.1), 3)
kmh = 60 + 22 * np.sin(nt / 9) + 6 * np.sin(nt / 2.3)  # of the road
force = 0.05 + 0.12 * np.sin(nt / 9 + 0.8)  # wheel force over weight
gear_at = lambda t: (np.floor(t / 37).astype(int)) % 2
nn = np.round(4 * true_k[gear_at(nt)] * kmh * (1 + true_creep * force)) / 4
t = np.arange(0.5, 149, 0.11)
t = np.round(np.sort(t + rng.uniform(-0.02, 0.02, len(t))), 3)
at = t - true_lag
keep = gear_at(at) == gear_at(at - 0.8)
keep &= gear_at(at) == gear_at(at + 0.8)
gear = np.where(keep, gear_at(at), -1)
v = np.floor(np.interp(at, nt, kmh) + rng.normal(0, 0.05, len(t)))
v += np.round(np.where(rng.uniform(size=len(t)) < 0.03, rng.normal(0, 4, len(t)), 0))  # wrong replies
phi = np.round(np.interp(at, nt, force), 4)
dt = np.concatenate([[0.0], np.diff(t)])  # s that a sample stands for

use = gear >= 0
tu, vu, gu, pu, du = t[use], v[use], gear[use], phi[use], dt[use]
cut = np.maximum(1.2 * unit, 0.02 * vu)


def parts(x):
    inverse, lag, creep = x[:2], x[2], x[3]
    when = tu - lag
    j = np.searchsorted(nt, when)
    rate = (nn[j] - nn[j - 1]) / (nt[j] - nt[j - 1])
    n = nn[j - 1] + rate * (when - nt[j - 1])
    e = n * inverse[gu] - vu - offset - creep * pu * vu
    row = np.zeros((len(e), 4))
    row[np.arange(len(e)), gu] = n
    row[:, 2] = -rate * inverse[gu]
    row[:, 3] = -pu * vu
    return e, row


scale = np.array([0.02, 0.03, 0.3, 0.03])  # so that all unknowns are of one size
weight = np.concatenate([du * cut**2, [1.0]])


def residuals(y):
    e, _ = parts(y * scale)
    return np.concatenate([e / cut, [np.sqrt(creep_ridge) * y[3] * scale[3]]])


def jacobian(y):
    _, row = parts(y * scale)
    out = np.zeros((len(cut) + 1, 4))
    out[:-1] = row * scale / cut[:, None]
    out[-1, 3] = np.sqrt(creep_ridge) * scale[3]
    return out


def biweight(z):
    inside = z < 1
    rho = np.where(inside, (1 - (1 - z) ** 3) / 3, 1 / 3)
    first = np.where(inside, (1 - z) ** 2, 0)
    second = np.where(inside, -2 * (1 - z), 0)
    rho[-1], first[-1], second[-1] = z[-1], 1, 0  # the prior of creep is plain squares
    return np.array([rho, first, second]) * weight


start = np.array([1 / 45.6, 1 / 32.7, 0.2, 0.0])
fit = least_squares(residuals, start / scale, jac=jacobian, loss=biweight, xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=10000)
x = fit.x * scale
e, row = parts(x)
w = np.where(np.abs(e) < cut, (1 - (e / cut) ** 2) ** 2, 0) * du
a = row.T @ (row * w[:, None]) + np.diag([1, 1, 1, creep_ridge])
meat = np.zeros((4, 4))
block = np.floor(tu / 10)
for b in np.unique(block):
    m = block == b
    g = (row[m] * (w[m] * e[m])[:, None]).sum(axis=0)
    meat += np.outer(g, g)
cov = inv(a) @ meat @ inv(a)
print(fit.status, fit.message, x, "gradient", np.abs((row * (w * e)[:, None]).sum(axis=0) + [0, 0, 0, creep_ridge * x[3]]) / np.sqrt(np.diag(a)), file=sys.stderr)
json.dump({"nt": nt.tolist(), "nn": nn.tolist(), "t": t.tolist(), "v": v.tolist(), "gear": gear.tolist(), "phi": phi.tolist(),
           "offset": offset, "start_k": [45.6, 32.7], "start_lag": 0.2, "inverse": x[:2].tolist(), "lag": x[2], "creep": x[3],
           "sd": np.sqrt(np.diag(cov)).tolist()}, sys.stdout)
