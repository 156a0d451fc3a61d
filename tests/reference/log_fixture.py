"""Writes the invented data log of the tests: `log_fixture.py > tests/fixtures/log-six.csv`.

An in-line six diesel that nobody built: cold start, idle, cruise, full load, idle. The probe of
cylinder 5 sits too shallow: it reads low, and takes twice as long as its mates. Semicolons, decimal
commas, a row of units, windows-1252, as a logger set up in German might write. Seeded; all numbers
are invented.
"""
import math
import random
import sys

POINTS = [(10, 0, 0, 15), (250, 700, 9, 165), (240, 1500, 46, 345), (150, 2200, 94, 515),
          (150, 700, 9, 165)]
OFFSETS = [4, -7, 9, -3, -58, 6]
LAGS = [11, 12, 10.5, 11.5, 24, 12.5]


def main():
    """The file."""
    shake = random.Random(5)
    rows = ["Invented log of an invented engine, for tests",
            "Zeit;Drehzahl;Last;" + ";".join(f"Abgas Zyl {i}" for i in range(1, 7)),
            "s;1/min;%;" + ";".join(["°C"] * 6)]
    shown, speed, load, at = [15.0] * 6, 0.0, 0.0, 0
    for length, aim_speed, aim_load, level in POINTS:
        for _ in range(length):
            speed += (aim_speed - speed) * (1 - math.exp(-1 / 0.8))
            load += (aim_load - load) * (1 - math.exp(-1 / 0.6))
            for i in range(6):
                aim = level if level < 100 else level + OFFSETS[i] * level / 400
                quick = 26 / 11 if level == 165 else 1 if level == 345 else 0.6
                shown[i] += (aim - shown[i]) * (1 - math.exp(-1 / (LAGS[i] * quick)))
            noise = 0 if aim_speed == 0 else 0.6
            cells = [f"{at}", f"{speed + shake.gauss(0, 6 * (aim_speed > 0)):.0f}", f"{load:.1f}"]
            cells += [f"{value + shake.gauss(0, noise):.1f}" for value in shown]
            rows.append(";".join(cells).replace(".", ","))
            at += 1
    sys.stdout.buffer.write(("\r\n".join(rows) + "\r\n").encode("cp1252"))


main()
