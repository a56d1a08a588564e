"""Reference for the survey of slope, torque and road load: generalised least squares with the dense covariance of the slope, and the slopes given the
pieces, solved at once with scipy.linalg. Numbers from a fixed generator. Run: /usr/bin/python3 survey.py > survey.json"""
import json
import sys
import numpy as np
from scipy.linalg import cho_factor, cho_solve, inv

rng = np.random.default_rng(17)
mass, gravity, f0, f2, load_sd = 1200.0, 9.80665, 120.0, 0.4, 0.12
spread, length = 0.016, 200.0
radius, final, eta, ratios = 0.3, 4.0, 0.95, [3.5, 2.0, 1.4, 1.0]
weight = mass * gravity

n = 160
gear = rng.choice([3, 4], n)
gear[rng.uniform(size=n) < 0.15] = 0
way = np.round(rng.uniform(5, 60, n), 3)
new = np.zeros(n, bool)
new[[0, 90]] = True  # a second record begins
v = np.round(rng.uniform(12, 35, n), 3)
rpm = np.round(rng.uniform(1500, 4700, n), 1)
load = np.round(rng.uniform(0.2, 1, n), 3)
arm = np.array([radius / (ratios[g - 1] * final * eta) if g else 0.0 for g in gear])
sd = np.round(rng.uniform(0.001, 0.004, n), 5)
position = np.zeros(n)
record = np.cumsum(new)
for i in range(1, n):
    position[i] = 0 if new[i] else position[i - 1] + way[i]
cov_slope = spread**2 * np.exp(-np.abs(position[:, None] - position[None, :]) / length) * (record[:, None] == record[None, :])
slope = np.linalg.cholesky(cov_slope + 1e-15 * np.eye(n)) @ rng.normal(size=n)
torque = load * (180 + 60 * np.sin(rpm / 1500)) - 14
pull = np.where(gear > 0, torque / np.where(arm > 0, arm, 1) / weight, 0) - slope - 0.15 * f0 / weight + sd * rng.normal(size=n)
pull = np.round(pull, 7)

locked = gear > 0
torques = np.sort((pull * arm * weight)[locked])
unit = torques[int(0.95 * (len(torques) - 1) + 0.5)]
low, high = rpm[locked].min(), rpm[locked].max()
knots = np.linspace(low, high, min(10, max(2, 1 + int((high - low) / 800))))
k = len(knots)
accel = np.round(pull * weight / mass - (f0 + f2 * v**2) / mass, 6)
turning = np.where(locked, accel / np.where(arm > 0, eta * arm**2 * weight, 1), 0)
x = np.zeros((n, k + 7))
for j in range(k):  # hat functions
    x[:, j] = load * np.interp(rpm, knots, np.eye(k)[j])
r = rpm / knots[-1] - 0.5
x[:, k], x[:, k + 1] = -1, -r
x[:, k + 2], x[:, k + 3] = load * (1 - load), load * (1 - load) * r
x[:, : k + 4] *= np.where(locked, unit / (np.where(arm > 0, arm, 1) * weight), 0)[:, None]
x[:, k + 4] = -0.02 * turning
x[:, k + 5] = -f0 / weight
x[:, k + 6] = -f2 * v**2 / weight

prior = np.zeros((k + 7, k + 7))
for i in range(k - 2):
    c = np.zeros(k + 7)
    c[i : i + 3] = [1, -2, 1]
    prior += np.outer(c, c) / 0.2**2
prior += np.diag([1 / 9.0] * k + [1 / 0.4**2] * 4 + [1.0] + [1 / load_sd**2] * 2)
total = cho_factor(cov_slope + np.diag(sd**2))
a = x.T @ cho_solve(total, x) + prior
beta = cho_solve(cho_factor(a), x.T @ cho_solve(total, pull))
found = -cov_slope @ cho_solve(total, pull - x @ beta)
json.dump({"gear": gear.tolist(), "way": way.tolist(), "new": new.tolist(), "v": v.tolist(), "rpm": rpm.tolist(), "load": load.tolist(), "sd": sd.tolist(),
           "pull": pull.tolist(), "turning": turning.tolist(), "spread": spread, "length": length, "x": beta.tolist(), "x_sd": np.sqrt(np.diag(inv(a))).tolist(),
           "slope": found.tolist()}, sys.stdout)
