#!/usr/bin/env python3
"""Records outside values that the cargo tests of trends, false alarms and trim responses check against.

    python3 -m venv venv && venv/bin/pip install -r tests/reference/vehicle-requirements.txt
    venv/bin/python tests/reference/vehicle_check.py tests/fixtures

Writes trend_lines.csv, trend_orders.csv, holm.csv, runs_beyond.csv, false_alarms.csv and
trim_responses.csv. Run it again only to change a table; the numbers are seeded and repeat.
"""
import csv
import sys
from pathlib import Path

import numpy as np
import statsmodels.api as sm
from scipy import stats
from statsmodels.stats.multitest import multipletests

COMMAND = "recorded by tests/reference/vehicle_check.py (pinned in vehicle-requirements.txt)"


def write(folder, name, notes, header, rows):
    """A CSV file whose first lines say where the numbers are from."""
    with open(folder / name, "w", newline="", encoding="utf-8") as out:
        for note in notes + [COMMAND]:
            out.write(f"# {note}\n")
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(header)
        writer.writerows(rows)


def spaced(values):
    """Numbers in one cell."""
    return " ".join(f"{v:.10g}" for v in values)


def series():
    """Names, x and y: the published Nile and Longley data that statsmodels ships, and made ones."""
    nile = sm.datasets.nile.load_pandas().data
    yield "nile, first 30", nile["year"][:30].to_numpy(), nile["volume"][:30].to_numpy()
    yield "nile, 1890 on, 12", nile["year"][19:31].to_numpy(), nile["volume"][19:31].to_numpy()
    longley = sm.datasets.longley.load_pandas().data
    yield "longley, armed forces", longley["YEAR"].to_numpy(), longley["ARMED"].to_numpy()
    rng = np.random.default_rng(7)
    for n in (3, 4, 5, 8):
        x = np.sort(rng.uniform(0, 900, n)).round(1)
        yield f"made, {n}", x, (3 - .02 * x + rng.normal(0, 4, n)).round(1)


def lines(folder):
    """Ordinary least squares, and the same with the scatter known."""
    rows = []
    for name, x, y in series():
        design = sm.add_constant(np.asarray(x, float))
        own = sm.OLS(y, design).fit()
        known = sm.WLS(y, design, weights=np.full(len(y), 1 / 4.5**2)).fit(cov_type="fixed scale")
        at = own.get_prediction([[1, x[-1]]])
        rows.append([name.replace(",", ";"), spaced(x), spaced(y),
                     *(f"{v:.12g}" for v in (own.params[1], own.bse[1], own.pvalues[1],
                                             float(at.predicted_mean[0]), float(at.se_mean[0]),
                                             known.bse[1], known.pvalues[1]))])
    write(folder, "trend_lines.csv",
          ["straight lines: statsmodels OLS, and WLS with cov_type 'fixed scale' and sd 4.5 of a point",
           "Nile flow and Longley's employment data as statsmodels ships them; the others are made"],
          ["series", "x", "y", "slope", "se", "p", "last", "last_se", "se_known", "p_known"], rows)


def orders(folder):
    """Kendall's exact test of values against their order is the test of Mann."""
    rows = []
    for name, _, y in series():
        ties = len(set(y)) < len(y)
        if ties:
            continue
        found = stats.kendalltau(np.arange(len(y)), y, method="exact")
        rows.append([name.replace(",", ";"), spaced(y), f"{found.pvalue:.12g}"])
    write(folder, "trend_orders.csv",
          ["chance of a trend by order alone: scipy.stats.kendalltau, method exact, against 0, 1, 2 …"],
          ["series", "y", "p"], rows)


def holm(folder):
    """Corrections for many looks."""
    rng = np.random.default_rng(3)
    sets = [[.01, .04, .03, .005], [.2], [.5, .5, .5]]
    sets += [list((rng.uniform(0, 1, n) ** 3).round(4)) for n in (5, 12)]
    rows = [[spaced(p), spaced(multipletests(p, method="holm")[1])] for p in sets]
    write(folder, "holm.csv", ["Holm's correction: statsmodels multipletests, method holm"],
          ["chances", "corrected"], rows)


def runs(folder):
    """Chance of n samples in a row beyond a threshold: orthants of the multivariate normal."""
    rows = []
    for fades in (0., .5, .9, .962):
        for threshold in (-1., 0., 1., 2.):
            for n in (2, 3, 5):
                lag = np.abs(np.subtract.outer(range(n), range(n)))
                cov = np.where(lag == 0, 1., float(fades) ** lag)
                chance = stats.multivariate_normal.cdf([-threshold] * n, np.zeros(n), cov,
                                                       maxpts=4_000_000, abseps=1e-9, releps=1e-7)
                rows.append([fades, threshold, n, f"{chance:.9f}"])
    write(folder, "runs_beyond.csv",
          ["n samples in a row beyond a threshold: scipy.stats.multivariate_normal.cdf over AR(1)"],
          ["fades", "threshold", "n", "chance"], rows)


def hours(offset_sd, noise_sd, memory, limit, delay, shift, rng, count):
    """Share of simulated hours with an alarm, sampled once a second."""
    fades = np.exp(-1 / memory)
    n = int(delay)
    alarmed = np.zeros(count, bool)
    offset = shift + offset_sd * rng.standard_normal(count)
    wander = rng.standard_normal(count)
    up, down = np.zeros(count, int), np.zeros(count, int)
    for _ in range(3600):
        at = offset + noise_sd * wander
        up = np.where(at > limit, up + 1, 0)
        down = np.where(at < -limit, down + 1, 0)
        alarmed |= (up >= n) | (down >= n)
        wander = fades * wander + np.sqrt(1 - fades**2) * rng.standard_normal(count)
    return alarmed.mean()


def alarms(folder):
    """A simulation of hours of running."""
    rng = np.random.default_rng(11)
    rows, count = [], 20_000
    for case in ((5, 4, 11, 14, 35, 0), (5, 4, 11, 10, 35, 0), (3, 4, 26, 12, 20, 0),
                 (0.5, 4, 5, 9, 10, 0), (5, 4, 11, 18, 35, 15), (5, 4, 11, 18, 35, -25)):
        share = hours(*case, rng, count)
        se = np.sqrt(share * (1 - share) / count)
        rows.append([*case, f"{share:.5f}", f"{se:.5f}"])
    write(folder, "false_alarms.csv",
          [f"share of hours with an alarm: numpy, {count} hours simulated second by second, seed 11"],
          ["offset_sd", "noise_sd", "memory", "limit", "delay", "shift", "share", "se"], rows)


def responses(folder):
    """Levels of sets, offsets of cylinders and slopes of trims at once, scatter known."""
    rng = np.random.default_rng(5)
    rows = []
    for name, n, moves in (("one", 4, [(2, 2.)]), ("two steps", 4, [(2, 2.), (2, 3.5)]),
                           ("two cylinders", 4, [(1, 2.), (3, 2.), (1, 3.), (3, 1.)]),
                           ("six", 6, [(5, 1.), (5, 2.), (4, 2.), (4, 0.)])):
        trims, sets = np.zeros(n), []
        for step in [None] + moves:
            if step:
                trims = trims.copy()
                trims[step[0]] = step[1]
            sets.append(trims)
        slopes, offsets = rng.normal(0, 3, n), rng.normal(0, 8, n)
        y = np.array([600 + 5 * s + offsets + slopes * t + rng.normal(0, 4, n)
                      for s, t in enumerate(sets)]).round(1)
        moved = [c for c in range(n) if any(t[c] != 0 for t in sets)]
        design = []
        for s, t in enumerate(sets):
            for c in range(n):
                level = [float(s == k) for k in range(len(sets))]
                # Offsets against the mean of all: the last is minus the sum of the others.
                offset = [float(c == k) - float(c == n - 1) for k in range(n - 1)]
                design.append(level + offset + [t[c] * (c == m) for m in moved])
        weights = np.full(y.size, 1 / 4.0**2)
        fit = sm.WLS(y.ravel(), np.array(design), weights=weights).fit(cov_type="fixed scale")
        first = len(sets) + n - 1
        for k, c in enumerate(moved):
            rows.append([name, n, "|".join(spaced(t) for t in sets),
                         "|".join(spaced(r) for r in y), c,
                         f"{fit.params[first + k]:.10g}", f"{fit.bse[first + k]:.10g}"])
    write(folder, "trim_responses.csv",
          ["slopes of trims with levels and offsets free: statsmodels WLS, fixed scale, sd 4"],
          ["case", "cylinders", "trims", "readings", "cylinder", "slope", "se"], rows)


def main():
    """Command line."""
    folder = Path(sys.argv[1])
    for record in (lines, orders, holm, runs, alarms, responses):
        record(folder)


main()
