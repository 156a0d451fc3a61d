#!/usr/bin/env python3
"""A log of 16 displays at a thousand rows a second, followed by `oddpot watch` while it is written.

Says processor time and peak memory, whether STOP came with the row that asks for it, and whether what settled is
what `oddpot log` finds in the finished file. `live.py PROGRAM ROWS`; the log is invented and is kept nowhere.
"""

import json
import os
import random
import subprocess
import sys
import tempfile
import threading

program, rows = os.path.realpath(sys.argv[1]), int(sys.argv[2])
DISPLAYS, HOT = 16, rows * 3 // 4
# Held for two minutes of the log, then moved on: (speed, load, level).
HOLDS = [(800, 12, 210.0), (2400, 45, 420.0), (1600, 30, 330.0)]
HOLD = 120_000


def block(begin, end, draw):
    """Rows as text; displays come to rest in the first quarter of each hold."""
    out = []
    for at in range(begin, end):
        speed, load, level = HOLDS[at // HOLD % len(HOLDS)]
        before = HOLDS[(at // HOLD - 1) % len(HOLDS)][2] if at >= HOLD else level
        level += (before - level) * 2.718281828 ** (-(at % HOLD) / 4000)
        shown = [level + 3 * d + draw() for d in range(DISPLAYS)]
        if at == HOT:
            shown[4] = 905.0
        out.append(f"{at / 1000:.3f},{speed},{load}," + ",".join(f"{v:.1f}" for v in shown))
    return ("\n".join(out) + "\n").encode()


def main():
    random.seed(5)
    noise = [random.gauss(0, 0.4) for _ in range(100_003)]
    place = 0

    def draw():
        nonlocal place
        place = (place + 1) % len(noise)
        return noise[place]

    with tempfile.TemporaryDirectory() as folder:
        jobs = ["--jobs", folder, "--memory", "off"]
        opened = ["open", "rig", "--cylinders", str(DISPLAYS), "--state", "warm", "--builder-limit", "900"]
        subprocess.run([program, *jobs, *opened], check=True, capture_output=True)
        path = os.path.join(folder, "run.csv")
        watch = subprocess.Popen(
            [program, *jobs, "watch", "-", "--job", "rig", "--json"], stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        told = []
        reader = threading.Thread(target=lambda: told.extend(
            json.loads(line) for line in watch.stdout if line.startswith(b'{"')))
        reader.start()
        names = "time,rpm,load %," + ",".join(f"EGT {d + 1}" for d in range(DISPLAYS)) + "\n"
        with open(path, "wb") as file:
            for text in [names.encode()] + [None] * (-(-rows // 10_000)):
                if text is None:
                    begin = main.at
                    main.at = min(rows, begin + 10_000)
                    text = block(begin, main.at, draw)
                file.write(text)
                watch.stdin.write(text)
        watch.stdin.close()
        _, _, used = os.wait4(watch.pid, 0)
        reader.join()
        stops = [d["seconds"] for d in told if d["event"] == "stop"]
        settled = [[float(v) for v in d["readings"]] for d in told if d["event"] == "settled"]
        whole = json.loads(subprocess.run(
            [program, *jobs, "log", path, "--json"], check=True, capture_output=True).stdout)
        found = [[round(d["mean"], 1) for d in w["displays"]] for w in whole["windows"]]
        same = len(found) == len(settled) and all(
            abs(a - b) < 0.051 for f, s in zip(found, settled) for a, b in zip(f, s))
        print(f"{rows} rows, {os.path.getsize(path) / 1e6:.0f} MB: {used.ru_utime + used.ru_stime:.1f} s of processor "
              f"time, {used.ru_maxrss / 1024:.1f} MB at most")
        print(f"STOP at {stops} s, asked for at {HOT / 1000} s; {len(settled)} sets settled, {len(found)} in the file, "
              f"{'the same' if same else 'NOT the same'}")
        return 0 if same and stops[:1] == [HOT / 1000] else 1


main.at = 0
sys.exit(main())
