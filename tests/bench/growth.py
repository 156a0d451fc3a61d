"""Draws how long a recommendation takes by the size of the problem.

    cargo bench --bench plan -- times | growth.py PICTURE.svg

Reads the table of times, prints it on, and draws microseconds for a test against the number of
cases beside n log n through the first of them. The same table gives the same picture.
"""

import re
import sys

import matplotlib

matplotlib.use("svg")
matplotlib.rcParams["svg.hashsalt"] = "growth"
matplotlib.rcParams["svg.fonttype"] = "none"
import matplotlib.pyplot as plt  # noqa: E402
import numpy as np  # noqa: E402

ROW = re.compile(r"\| (\d+) × (\d+) \| \d+ \| ([\d.]+) \|")


def main():
    rows = []
    for line in sys.stdin:
        print(line, end="")
        if found := ROW.match(line):
            cases, tests, median = int(found[1]), int(found[2]), float(found[3])
            rows.append((cases, tests, median * 1000.0 / tests))
    cases = np.array([row[0] for row in rows], dtype=float)
    each = np.array([row[2] for row in rows])
    first = each[0] / (cases[0] * np.log2(cases[0]))
    fine = np.geomspace(cases[0], cases[-1], 60)
    figure, axes = plt.subplots(figsize=(5.2, 3.4), layout="constrained")
    axes.loglog(fine, first * fine * np.log2(fine), "--", color="#888888",
                label="n log n through the first")
    axes.loglog(cases, each, "o-", color="#1c1c1c", label="measured, median")
    for (n, tests, y) in rows:
        axes.annotate(f"{n} × {tests}", (n, y), xytext=(6, -12), textcoords="offset points",
                      fontsize=8)
    axes.set_xlabel("cases")
    axes.set_ylabel("µs on a core, for each test")
    axes.set_xlim(cases[0] * 0.7, cases[-1] * 2.2)
    axes.set_ylim(each.min() * 0.55, fine[-1] * np.log2(fine[-1]) * first * 1.4)
    axes.legend(frameon=False, fontsize=8, loc="upper left")
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    figure.savefig(sys.argv[1], metadata={"Date": None, "Title": "Time of a recommendation by size",
                   "Description": "Microseconds for each test against the number of cases, beside n log n."})


if __name__ == "__main__":
    main()
