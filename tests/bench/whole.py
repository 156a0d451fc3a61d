"""Whole runs of the program: time, peak memory and instructions. Prints Markdown.

Two invented eight-cylinder jobs of ten reading sets are made with the program itself: one with
readings and tests only, one with exchanges and a re-seat between the readings, after which every
fault may have come or gone at every one of them. Times are medians of runs on one core; instructions are counted by valgrind's
callgrind where it is installed, and do not depend on what else the machine does. A peak cannot
be seen below that of this script itself, which is that shown for `true`.
"""
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile
import time

PROGRAM = pathlib.Path(sys.argv[1]).resolve()
RUNS = 41

OPEN = ("--cylinders 8 --layout v --fuel port --ignition coil-per-plug --recent probes-new "
        "--state cold-soaked")
PLAIN = """
temps --at cold 14 14 15 14 14 14 15 14
temps --at idle 498 511 503 507 561 495 507 501
temps --at cruise 641 655 640 650 702 638 650 644
found look-fit alike --cylinder 5
temps --at full 842 861 850 853 914 843 858 847
temps --at idle 500 509 504 506 564 494 508 500
temps --at cruise 642 653 641 651 700 640 649 645
temps --at idle 499 510 504 508 563 496 506 502
found look-part same --cylinder 5
temps --at cruise 640 656 642 649 703 637 651 643
temps --at full 840 862 851 852 911 845 857 849
temps --at idle 501 512 502 506 560 495 509 500
"""
MOVED = """
temps --at cold 14 14 15 14 14 14 15 14
temps --at idle 498 511 503 507 561 495 507 501
temps --at cruise 641 655 640 650 702 638 650 644
found look-fit alike --cylinder 5
temps --at full 842 861 850 853 914 843 858 847
exchange lead-at-box 5 3
temps --at idle 500 509 564 506 504 494 508 500
exchange lead-at-box 5 3
temps --at idle 499 510 504 508 563 496 506 502
remake probe 5
temps --at idle 501 512 502 506 560 495 509 500
temps --at cruise 642 653 641 651 700 640 649 645
exchange plug 5 7
temps --at idle 498 510 504 507 562 494 507 501
temps --at cruise 640 656 642 649 703 637 651 643
"""


def on_one_core():
    """Keeps a child on one core."""
    if hasattr(os, "sched_setaffinity"):
        os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})


def once(command, folder):
    """Seconds and peak memory in MB of one run."""
    start = time.perf_counter()
    child = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL,
                             stderr=subprocess.DEVNULL, preexec_fn=on_one_core)
    _, status, usage = os.wait4(child.pid, 0)
    took = time.perf_counter() - start
    child.returncode = os.waitstatus_to_exitcode(status)
    if child.returncode:
        raise SystemExit(f"{command} ended with {child.returncode}")
    return took, usage.ru_maxrss / 1024


def measure(command, folder):
    """Median and least milliseconds, and largest peak, of many runs."""
    runs = [once(command, folder) for _ in range(RUNS + 3)][3:]
    times = sorted(took for took, _ in runs)
    return times[RUNS // 2] * 1e3, times[0] * 1e3, max(memory for _, memory in runs)


def instructions(command, folder):
    """Millions of instructions, or nothing."""
    if not shutil.which("valgrind"):
        return None
    said = subprocess.run(["valgrind", "--tool=callgrind", "--callgrind-out-file=/dev/null",
                           *command], cwd=folder, capture_output=True, text=True).stderr
    found = re.search(r"Collected\s*:\s*(\d+)", said)
    return int(found[1]) / 1e6 if found else None


def make(folder, name, entries):
    """Makes a job with the program."""
    lines = [f"open {name} {OPEN}"] + [" ".join([words[0], name, *words[1:]])
                                       for words in map(str.split, entries.strip().splitlines())]
    for line in lines:
        done = subprocess.run([PROGRAM, *line.split(), "--now", "2026-03-02T08:00:00Z"],
                              cwd=folder, capture_output=True, text=True)
        if done.returncode:
            raise SystemExit(f"{line}: {done.stderr}")


def main():
    """The table."""
    with tempfile.TemporaryDirectory() as folder:
        make(folder, "./plain.ron", PLAIN)
        make(folder, "./moved.ron", MOVED)
        rows = [
            ("`suspects`", ["suspects", "./plain.ron"]),
            ("`next` (works the suspects out too)", ["next", "./plain.ron"]),
            ("`suspects`, parts moved four times", ["suspects", "./moved.ron"]),
            ("`next`, parts moved four times", ["next", "./moved.ron"]),
            ("`--help`", ["--help"]),
        ]
        commands = [(name, [str(PROGRAM), *words]) for name, words in rows]
        commands.append(("`true`", [shutil.which("true")]))
        print("| Run | median, ms | least, ms | peak, MB | instructions, millions |")
        print("|---|---:|---:|---:|---:|")
        medians = {}
        for name, command in commands:
            median, least, peak = measure(command, folder)
            count = instructions(command, folder)
            medians[name] = median, peak
            shown = "" if count is None else f"{count:.1f}"
            print(f"| {name} | {median:.1f} | {least:.1f} | {peak:.1f} | {shown} |", flush=True)
        plain, moved = (medians[rows[i][0]] for i in (1, 3))
        beyond = medians["`--help`"][0] - medians["`true`"][0]
        peak = max(plain[1], moved[1])
        bars = [
            ("suspects and next test, one process", f"{plain[0]:.1f} ms", "50 ms", plain[0] < 50),
            ("the same, parts moved", f"{moved[0]:.1f} ms", "50 ms", moved[0] < 50),
            ("peak memory", f"{peak:.1f} MB", "64 MB", peak < 64),
            ("`--help` beyond `true`", f"{beyond:.1f} ms", "3 ms", beyond < 3),
        ]
        print("\n| Bar | measured | at most | kept |\n|---|---:|---:|---|")
        for name, got, bar, kept in bars:
            print(f"| {name} | {got} | {bar} | {'yes' if kept else 'no'} |")
    raise SystemExit(0 if all(bar[3] for bar in bars) else 1)


main()
