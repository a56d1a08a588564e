# Coast-downs of SAE J1263's equation of motion, from SciPy's integrator. Run: /usr/bin/python3 coast.py > coast.json
#   m dv/dt = -(f0 + f1 v + f2 v^2), v in m/s
import json
from scipy.integrate import solve_ivp

out = []
for m, f0, f1, f2, starts in (
    (1250.0, 140.0, 0.0, 0.42, (110, 90, 70)),
    (1250.0, 140.0, 1.2, 0.42, (110, 90, 70)),
    (1680.0, 190.0, 0.6, 0.36, (100, 80)),
):
    runs = []
    for v0 in starts:
        t = [0.5 * i for i in range(81)]
        s = solve_ivp(lambda _, v: [-(f0 + f1 * v[0] + f2 * v[0] ** 2) / m], (0, t[-1]), [v0 / 3.6], t_eval=t, rtol=1e-12, atol=1e-12)
        runs.append({"t": t, "kmh": [3.6 * float(v) for v in s.y[0]]})
    out.append({"mass_kg": m, "f0_n": f0, "f1_n_per_mps": f1, "f2_n_per_mps2": f2, "runs": runs})
print(json.dumps(out))
