#!/usr/bin/env python3
"""Prints the table of effects of docs/numbers.md from what was recorded.

    python3 tests/reference/effects_table.py
"""
import csv
from pathlib import Path

FIXTURES = Path(__file__).resolve().parents[1] / "fixtures"
POINTS = ("idle", "cruise", "full")
# Words, kind of engine, change, and the change of the older cycle (cycle_check.py) where it has it.
ROWS = [
    ("fuel 10 % less", "port", "fuel-10", ("mixture", -0.10)), ("fuel 15 % less", "port", "fuel-15", ("mixture", -0.15)),
    ("fuel 10 % more", "port", "fuel+10", ("mixture", 0.10)),
    ("a third less fuel", "port", "fuel-33", None),
    ("fuel 10 % less, and burns slowly", "port", "lean-10-slow", None),
    ("fuel 10 % less, idles rich (carburettor)", "carburettor", "fuel-10", None),
    ("burn 5° later", "port", "burn+5", None), ("burn 7° later", "port", "burn+7", ("burn-later", 7)),
    ("burn 10° later", "port", "burn+10", ("burn-later", 10)),
    ("burn 10° earlier", "port", "burn-10", ("burn-later", -10)),
    ("burn half as long again", "port", "burn-long", None),
    ("no combustion", "port", "no-burn", None), ("one cycle in four missed", "port", "miss-1-in-4", None),
    ("the same, half of it burns in the runner", "port", "miss-1-in-4-half-lit", None),
    ("a fifth burns in the runner only", "port", "part-80-lit", None),
    ("leak 1 mm² to the crankcase", "port", "leak-crankcase-1mm2", None),
    ("leak 3 mm² to the crankcase", "port", "leak-crankcase-3mm2", None),
    ("leak 3 mm² past the exhaust valve", "port", "leak-exhaust-3mm2", None),
    ("air 10 % less, fuel kept", "port", "air-10", None), ("charge a fifth less", "port", "charge-20", None),
    ("burnt gas +10 %", "port", "dilution+10", None), ("the same, and burns slowly", "port", "dilution+10-slow", None),
    ("compression one less", "port", "ratio-1", None), ("exhaust opens 10° later", "port", "opens+10", None),
    ("exhaust pressure a third up, slower burn", "port", "exhaust-pressure+30-slow", None),
    ("air 5 % drawn into the runner", "port", "runner-air+5", None),
    ("direct, boosted: fuel 10 % less", "direct", "fuel-10", None), ("direct, boosted: burn 7° later", "direct", "burn+7", None),
    ("diesel: fuel 10 % more", "diesel", "fuel+10", None), ("diesel: fuel 12 % less", "diesel", "fuel-12", None),
    ("diesel: no fuel", "diesel", "no-fuel", None), ("diesel: air 10 % less", "diesel", "air-10", None),
    ("diesel: burn 5° later", "diesel", "burn+5", None), ("diesel: burn half as long again", "diesel", "burn-long", None),
    ("diesel: leak 1 mm²", "diesel", "leak-crankcase-1mm2", None), ("diesel: leak 3 mm²", "diesel", "leak-crankcase-3mm2", None),
    ("diesel: leak 1 mm² past the exhaust valve", "diesel", "leak-exhaust-1mm2", None),
    ("diesel: compression one less", "diesel", "ratio-1", None),
    ("boosted diesel: fuel 10 % more", "diesel-boosted", "fuel+10", None),
    ("boosted diesel: air 10 % less", "diesel-boosted", "air-10", None),
]


def read(name):
    """Rows of a recorded table without its header."""
    lines = (line for line in open(FIXTURES / name) if not line.startswith("#"))
    return list(csv.reader(lines))[1:]


def main():
    """Prints it."""
    own = {tuple(r[:3]): r[3:] for r in read("effects.csv")}
    second = {tuple(r[:3]): float(r[3]) for r in read("effects_cantera.csv")}
    base = {"idle": 1.0, "cruise": 1.0, "full": 1.15}
    old = {(r[0], r[1], round(float(r[2]), 3)): float(r[4]) for r in read("cycle_exhaust.csv")}

    def older(point, what, value):
        if what == "burn-later":
            return old[point, what, float(value)]
        at = base[point] * (1 + value)
        all_at = sorted(v for p, w, v in old if (p, w) == (point, what))
        low = max(v for v in all_at if v <= at + 1e-9)
        high = min(v for v in all_at if v >= at - 1e-9)
        part = 0.0 if high == low else (at - low) / (high - low)
        return old[point, what, low] * (1 - part) + old[point, what, high] * part
    print("| Change of one cylinder | ours: idle, cruise, full load | least to most | cycle on Cantera | first cycle |")
    print("|---|---:|---:|---:|---:|")
    for words, kind, change, earlier in ROWS:
        rows = [own[kind, p, change] for p in POINTS]
        ours = ", ".join(f"{float(r[0]):+.0f}" for r in rows)
        span = ", ".join(f"{float(r[3]):+.0f} to {float(r[4]):+.0f}" for r in rows)
        two = [second.get((kind, p, change)) for p in POINTS]
        other = ", ".join(f"{x:+.0f}" for x in two) if None not in two else ""
        first = ", ".join(f"{older(p, *earlier):+.0f}" for p in POINTS) if earlier else ""
        print(f"| {words} | {ours} | {span} | {other} | {first} |")


if __name__ == "__main__":
    main()
