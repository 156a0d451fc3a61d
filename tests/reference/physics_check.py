#!/usr/bin/env python3
"""Records outside values that the cargo tests of thermocouples, probes and statistics check against.

    python3 -m venv venv && venv/bin/pip install -r tests/reference/requirements.txt
    venv/bin/python tests/reference/physics_check.py tests/fixtures

Writes thermocouple_emf.csv, thermocouple_inverse.csv, probe_fin.csv, grubbs_power.csv,
dixon_power.csv, others_median.csv and settling_fits.csv. Run it again only to change a table; the numbers are seeded
and repeat.
"""
import csv
import math
import sys
from pathlib import Path

import numpy as np
from scipy.integrate import solve_bvp
from scipy.optimize import brentq, curve_fit
from scipy.stats import t as student
import thermocouple_its90 as second
from thermocouples_reference import thermocouples as first

TYPES = "KNJETRSB"
B_TURNS = 21.020261884768555


def write(folder, name, notes, header, rows):
    """A CSV file whose first lines say where the numbers are from."""
    with open(folder / name, "w", newline="") as out:
        for note in notes:
            out.write(f"# {note}\n")
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)


COMMAND = "recorded by tests/reference/physics_check.py (pinned in requirements.txt)"


def emf_grid(folder):
    """Both libraries on a grid of 5 °C; they must agree before a value is recorded."""
    rows = []
    for kind in TYPES:
        function = first[kind].func
        grid = set(np.arange(math.ceil(function.minT / 5) * 5, function.maxT + 1e-9, 5.0))
        grid |= {function.minT, function.maxT} | {piece[1] for piece in function.table}
        for t in sorted(grid):
            a = float(first[kind].emf_mVC(t, Tref=0.0))
            b = second.TYPES[kind].emf(float(t))
            assert abs(a - b) < 1e-6, (kind, t, a, b)
            rows.append([kind, f"{t:g}", f"{a:.9f}"])
    write(folder, "thermocouple_emf.csv",
          ["emf in mV at a temperature in °C, reference junction 0 °C",
           "PyPI thermocouples_reference 0.20; thermocouple-its90 1.0.2 agrees to 1e-6 mV",
           COMMAND], ["type", "celsius", "millivolts"], rows)


def inverse_grid(folder):
    """The first library's function solved by scipy's brentq at even steps of emf."""
    rows = []
    for kind in TYPES:
        function = first[kind].func
        low = B_TURNS if kind == "B" else function.minT
        emf = lambda t: float(first[kind].emf_mVC(t, Tref=0.0))
        bottom, top = emf(low), emf(function.maxT)
        for k in range(1, 60):
            # Squared steps put more points near the flat cold end.
            e = bottom + (top - bottom) * (k / 60) ** 2
            t = brentq(lambda t: emf(t) - e, low, function.maxT, xtol=1e-10, rtol=1e-14)
            rows.append([kind, f"{e:.12f}", f"{t:.7f}"])
    write(folder, "thermocouple_inverse.csv",
          ["temperature in °C of an emf in mV: PyPI thermocouples_reference 0.20 solved by "
           "scipy.optimize.brentq 1.14.1; type B above its minimum only", COMMAND],
          ["type", "millivolts", "celsius"], rows)


# The installed probe, solved another way: scipy's collocation instead of finite differences.
SIGMA = 5.670374e-8
CASES = {
    "idle": dict(gas=420, wall=170, boss=150, flow=1.2e-3, bar=1.02, duty=0.45),
    "cruise": dict(gas=650, wall=400, boss=350, flow=5.5e-3, bar=1.05, duty=0.40),
    "full": dict(gas=900, wall=650, boss=550, flow=24e-3, bar=1.25, duty=0.35),
}


def film(t, speed, d, bar):
    """Convection coefficient of a cylinder across the flow (Churchill and Bernstein 1977)."""
    mu = 1.716e-5 * (t / 273.15) ** 1.5 * (273.15 + 110.4) / (t + 110.4)
    k = mu * (1000 + 0.19 * (t - 300)) / 0.70
    re = np.maximum(bar * 1e5 / (287 * t) * speed * d / mu, 0.2)
    pr = 0.70
    nu = 0.3 + 0.62 * np.sqrt(re) * pr ** (1 / 3) / (1 + (0.4 / pr) ** (2 / 3)) ** 0.25 \
        * (1 + (re / 282000) ** (5 / 8)) ** 0.8
    return nu * k / d


def conductance(d):
    """Wall 12 % of the diameter at 25 W/mK, two wires of 15 % at 30, the rest magnesia at 3."""
    outer, inner = d / 2, d / 2 - 0.12 * d
    wires = 2 * math.pi / 4 * (0.15 * d) ** 2
    return 25 * math.pi * (outer ** 2 - inner ** 2) + 30 * wires \
        + 3 * (math.pi * inner ** 2 - wires)


def display(case, depth, bore, d, emissivity=0.8):
    """Temperature one radius behind the tip, °C."""
    gas, wall, boss = (case[k] + 273.15 for k in ("gas", "wall", "boss"))
    mean = case["flow"] / (case["bar"] * 1e5 / (287 * gas) * math.pi * bore ** 2 / 4)

    def local(x):
        share = np.clip(np.minimum(x, bore - x) / (bore / 2), 1e-4, 1) ** (1 / 7)
        t = wall + (gas - wall) * share
        v = 1.22 * mean * share
        duty = case["duty"]
        h = duty * film(t, v / duty, d, case["bar"]) + (1 - duty) * film(t, 0.05 * v, d, case["bar"])
        return h, t

    ka = conductance(d)

    def flux(x, t):
        h, g = local(x)
        return h * (t - g) + emissivity * SIGMA * (t ** 4 - wall ** 4)

    def slope(x, y):
        return np.vstack([y[1], math.pi * d * flux(x, y[0]) / ka])

    def ends(a, b):
        return np.array([a[0] - boss,
                         ka * b[1] + math.pi * d * d / 4 * flux(np.array([depth]), b[0])[0]])

    x = np.linspace(0, depth, 200)
    found = solve_bvp(slope, ends, x, np.vstack([np.linspace(boss, gas - 100, 200),
                                                 np.full(200, (gas - 100 - boss) / depth)]),
                      tol=1e-6, max_nodes=50000)
    assert found.success, found.message
    return float(found.sol(max(depth - d / 2, 0.6 * depth))[0]) - 273.15


def fin_grid(folder):
    rows = []
    for name, case in CASES.items():
        for bore in (38, 41, 45):
            for depth in (4, 6, 8, 10, 12, 15, 18, 20, 25, 30):
                rows.append([name, bore, 3, depth,
                             f"{display(case, depth * 1e-3, bore * 1e-3, 3e-3):.3f}"])
        for d in (1.5, 4.5, 6):
            rows.append([name, 41, d, 15, f"{display(case, 15e-3, 41e-3, d * 1e-3):.3f}"])
    write(folder, "probe_fin.csv",
          ["display of a sheathed probe in an exhaust runner, °C, solved by scipy.integrate.solve_bvp",
           COMMAND], ["case", "bore_mm", "diameter_mm", "depth_mm", "celsius"], rows)


def grubbs_limit(n, alpha):
    q = student.ppf(1 - alpha / (2 * n), n - 2)
    return (n - 1) / math.sqrt(n) * math.sqrt(q * q / (n - 2 + q * q))


def grubbs_power(folder):
    """Chance that two-sided 5 % Grubbs flags the one that is off, and names the right one."""
    random = np.random.default_rng(20240501)
    rows = []
    for n in range(3, 17):
        limit = grubbs_limit(n, 0.05)
        row = [n]
        for shift in (2, 3, 4, 5, 6):
            x = random.standard_normal((200_000, n))
            x[:, 0] += shift
            off = np.abs(x - x.mean(axis=1, keepdims=True))
            g = off.max(axis=1) / x.std(axis=1, ddof=1)
            row.append(f"{np.mean((off.argmax(axis=1) == 0) & (g > limit)):.3f}")
        rows.append(row)
    write(folder, "grubbs_power.csv",
          ["chance that Grubbs' two-sided 5 % test flags the right one of n, shifted by 2..6 sd",
           "numpy 1.26.4, default_rng(20240501), 200000 samples each; standard error below 0.0012",
           COMMAND], ["n", "2sd", "3sd", "4sd", "5sd", "6sd"], rows)


# Two-sided 5 % limits of r10 for 3 to 10 readings: Rorabacher, Anal. Chem. 63 (1991) 139-146.
DIXON = [0.970, 0.829, 0.710, 0.625, 0.568, 0.526, 0.493, 0.466]


def dixon_power(folder):
    """Chance that Dixon's two-sided 5 % test flags the one that is off, and names the right one."""
    random = np.random.default_rng(20240503)
    rows = []
    for n, limit in enumerate(DIXON, start=3):
        row = [n]
        for shift in (0, 2, 3, 4, 5, 6):
            x = random.standard_normal((200_000, n))
            x[:, 0] += shift
            order = x.argsort(axis=1)
            y = np.take_along_axis(x, order, axis=1)
            low, high = y[:, 1] - y[:, 0], y[:, -1] - y[:, -2]
            ratio = np.maximum(low, high) / (y[:, -1] - y[:, 0])
            named = np.where(high > low, order[:, -1], order[:, 0])
            # With nothing off, whichever it names is a false alarm.
            right = (named == 0) | (shift == 0)
            row.append(f"{np.mean(right & (ratio > limit)):.3f}")
        rows.append(row)
    write(folder, "dixon_power.csv",
          ["chance that Dixon's two-sided 5 % test (r10) flags the right one of n, shifted by 2..6 "
           "sd; at 0 sd any flag",
           "numpy 1.26.4, default_rng(20240503), 200000 samples each; standard error below 0.0012",
           COMMAND], ["n", "0sd", "2sd", "3sd", "4sd", "5sd", "6sd"], rows)


def others_median(folder):
    """How far a healthy one strays from the median of the others, all of one known sd."""
    random = np.random.default_rng(20240502)
    rows = []
    for n in range(3, 17):
        x = random.standard_normal((400_000, n))
        largest = np.zeros(x.shape[0])
        for i in range(n):
            d = x[:, i] - np.median(np.delete(x, i, axis=1), axis=1)
            largest = np.maximum(largest, np.abs(d))
        rows.append([n, f"{d.std():.3f}", f"{np.quantile(largest, .95):.2f}",
                     f"{np.quantile(largest, .99):.2f}"])
    write(folder, "others_median.csv",
          ["sd of one's deviation from the median of the others, and the 95 % and 99 % points of the "
           "largest of n such deviations, in units of the known sd",
           "numpy 1.26.4, default_rng(20240502), 400000 samples each", COMMAND],
          ["n", "sd", "p95", "p99"], rows)


def first_order_fits(folder):
    """Seeded traces of a probe coming to rest, fitted by scipy.optimize.curve_fit."""
    random = np.random.default_rng(7)
    rows = []
    for case, (final, start, tau, noise, length) in enumerate([
            (600, 450, 12, 0.8, 60), (400, 250, 26, 0.5, 60), (850, 790, 5, 1.0, 30),
            (300, 380, 20, 0.5, 80)]):
        t = np.arange(0, length + 0.1, 1.0)
        y = final + (start - final) * np.exp(-t / tau) + noise * random.standard_normal(t.size)
        y = np.round(y, 3)
        model = lambda t, a, b, tau: a + b * np.exp(-t / tau)
        best, covariance = curve_fit(model, t, y, p0=(final, start - final, tau))
        error = np.sqrt(np.diag(covariance))
        rows.append([case, " ".join(f"{v:.3f}" for v in y), f"{best[0]:.4f}", f"{error[0]:.4f}",
                     f"{best[2]:.4f}", f"{error[2]:.4f}"])
    write(folder, "settling_fits.csv",
          ["invented traces at 1 s steps (first order plus noise, default_rng(7)) and the fit of "
           "scipy.optimize.curve_fit 1.14.1", COMMAND],
          ["case", "values", "final", "final_se", "tau", "tau_se"], rows)


if __name__ == "__main__":
    to = Path(sys.argv[1])
    emf_grid(to)
    inverse_grid(to)
    fin_grid(to)
    grubbs_power(to)
    dixon_power(to)
    others_median(to)
    first_order_fits(to)
