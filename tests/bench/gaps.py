"""How far the advice at the start of five invented jobs is above its bound at most. Markdown.

`python3 tests/bench/gaps.py PROGRAM`. Nothing here was measured on an engine.
"""
import json
import pathlib
import subprocess
import sys
import tempfile

PROGRAM = pathlib.Path(sys.argv[1]).resolve()
JOBS = {
    "four in line, probes just fitted, one far hot at idle": [
        "open {} --engine inline-four-port --recent probes-new --state warm",
        "temps {} --at idle 200 200 320 200"],
    "V8, cold soak and idle read, one hot": [
        "open {} --cylinders 8 --layout v --fuel port --ignition coil-per-plug --state cold-soaked",
        "temps {} --at cold 14 14 15 14 14 14 15 14",
        "temps {} --at idle 498 511 503 507 561 495 507 501"],
    "six in line, carburettor, one cold at idle and cruise": [
        "open {} --cylinders 6 --layout inline --fuel carburettor --ignition distributor "
        "--state warm",
        "temps {} --at idle 420 428 330 425 419 431",
        "temps {} --at cruise 610 622 520 615 608 620"],
    "diesel four, injectors just serviced, one hot": [
        "open {} --cylinders 4 --layout inline --fuel diesel --ignition none --recent inj-serviced "
        "--state warm",
        "temps {} --at idle 180 182 179 214",
        "temps {} --at cruise 320 324 318 372"],
    "flat four, air cooled, head probes, one hot at cruise": [
        "open {} --cylinders 4 --layout flat --fuel carburettor --ignition distributor "
        "--cooling air --probes head --probe-type J --state warm",
        "temps {} --at cruise --head 165 168 205 163"],
}


def run(folder, line):
    """What the program says to a line."""
    done = subprocess.run([PROGRAM, *line.split(), "--now", "2026-03-02T08:00:00Z"], cwd=folder,
                          capture_output=True, text=True)
    if done.returncode:
        raise SystemExit(f"{line}: {done.stderr}")
    return done.stdout


def main():
    """The table."""
    print("| Job | first | expected, min | bound, min | at most above | thinking 2 s more |")
    print("|---|---|---:|---:|---:|---:|")
    with tempfile.TemporaryDirectory() as folder:
        for number, (name, lines) in enumerate(JOBS.items()):
            job = f"./job{number}.ron"
            for line in lines:
                run(folder, line.format(job))
            now = json.loads(run(folder, f"next {job} --json"))
            later = json.loads(run(folder, f"next {job} --think 2 --json"))
            first = now.get("id") or now["kind"]
            print(f"| {name} | {first} | {now['expected_total']:.1f} | {now['lower_bound']:.1f} | "
                  f"{now['gap']:.0%} | {later['gap']:.0%} |".replace("%", " %"))


main()
