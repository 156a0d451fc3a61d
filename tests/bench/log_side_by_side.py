"""A large data log, summarised beside polars and DuckDB. Prints Markdown.

`log_side_by_side.py PROGRAM LOG`. The question: of every steady window and every display count, mean, standard
deviation and median. The program has to find the windows first, and hashes the file; the others are
given them. It is timed as a whole process from start to exit, with its document written; the others
from the first line of the query on, their start and import left out, in a fresh process each time.
Two threads each. Answers are compared. Peaks are those of whole processes.
"""
import json
import os
import pathlib
import subprocess
import sys
import time

RUNS = 9
POLARS = ("streaming", "in-memory")


def polars_answer(log, windows, names, time_name, engine):
    """The answer of polars, and the seconds it took."""
    import polars as pl
    start = time.perf_counter()
    spans = pl.DataFrame({"from": [w[0] for w in windows], "to": [w[1] for w in windows],
                          "w": list(range(len(windows)))}).lazy()
    rows = pl.scan_csv(log).select([time_name, *names])
    inside = rows.join_asof(spans, left_on=time_name, right_on="from", strategy="backward")
    figures = [f for n in names for f in (pl.col(n).count().alias(n + "/n"),
                                          pl.col(n).mean().alias(n + "/m"),
                                          pl.col(n).std().alias(n + "/s"),
                                          pl.col(n).median().alias(n + "/d"))]
    table = (inside.filter(pl.col(time_name) < pl.col("to")).group_by("w").agg(figures)
             .sort("w").collect(engine=engine).rows())
    return table, time.perf_counter() - start


def duckdb_answer(log, windows, names, time_name):
    """The answer of DuckDB, and the seconds it took."""
    import duckdb
    start = time.perf_counter()
    base = duckdb.connect()
    base.execute("set threads = 2")
    base.execute("create table spans (w int, a double, b double)")
    base.executemany("insert into spans values (?, ?, ?)",
                     [(i, a, b) for i, (a, b) in enumerate(windows)])
    figures = ", ".join(f'count("{n}"), avg("{n}"), stddev_samp("{n}"), median("{n}")'
                        for n in names)
    table = base.execute(
        f'select w, {figures} from read_csv(?) t asof join spans on t."{time_name}" >= spans.a '
        f'where t."{time_name}" < spans.b group by w order by w', [log]).fetchall()
    return table, time.perf_counter() - start


def child(log, who):
    """Answers as one of the others; windows come on standard input."""
    asked = json.load(sys.stdin)
    args = log, asked["windows"], asked["names"], asked["time"]
    table, took = duckdb_answer(*args) if who == "duckdb" else polars_answer(*args, who)
    json.dump({"seconds": took, "table": table}, sys.stdout)


def run(command, text, env):
    """Output, wall seconds, CPU seconds and peak in MB of one process."""
    start = time.perf_counter()
    process = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, env=env)
    process.stdin.write(text.encode())
    process.stdin.close()
    out = process.stdout.read()
    _, status, usage = os.wait4(process.pid, 0)
    took = time.perf_counter() - start
    process.returncode = os.waitstatus_to_exitcode(status)
    if process.returncode:
        raise SystemExit(f"{command} ended with {process.returncode}")
    return out, took, usage.ru_utime + usage.ru_stime, usage.ru_maxrss / 1024


def largest_difference(ours, theirs):
    """Largest differences of mean, sd and median; counts must be equal."""
    worst = [0.0, 0.0, 0.0]
    if len(ours) != len(theirs):
        raise SystemExit("not the same number of windows")
    for window, row in zip(ours, theirs):
        for i, display in enumerate(window["displays"]):
            count, *figures = row[1 + 4 * i:5 + 4 * i]
            if count != display["count"]:
                raise SystemExit(f"counts differ: {count} and {display['count']}")
            for k, name in enumerate(("mean", "sd", "median")):
                worst[k] = max(worst[k], abs(figures[k] - display[name]))
    return worst


def main():
    """The table."""
    program, log = pathlib.Path(sys.argv[1]).resolve(), pathlib.Path(sys.argv[2]).resolve()
    env = {**os.environ, "POLARS_MAX_THREADS": "2"}
    ours = [str(program), "log", str(log), "--json"]
    document = json.loads(run(ours, "", env)[0])
    windows = document["windows"]
    asked = json.dumps({"windows": [(w["from_s"], w["to_s"]) for w in windows],
                        "names": [d["column"] for d in document["form"]["displays"]],
                        "time": document["form"]["time"]["column"]})
    others = [*POLARS, "duckdb"]
    results = {who: [] for who in ["oddpot", *others]}
    for _ in range(RUNS):
        results["oddpot"].append(run(ours, "", env)[1:])
        for who in others:
            command = [sys.executable, __file__, "--as", who, str(log)]
            out, _, cpu, peak = run(command, asked, env)
            answer = json.loads(out)
            results[who].append((answer["seconds"], cpu, peak))
            if len(results[who]) == 1:
                worst = largest_difference(windows, answer["table"])
                results[who + "/worst"] = worst
    size, rows = document["bytes"] / 1e6, document["rows"]
    print(f"{size:.0f} MB, {rows} rows, {len(document['form']['columns'])} columns, "
          f"{len(windows)} windows of {len(document['form']['displays'])} displays; "
          f"median and least of {RUNS} runs, taken in turn.\n")
    print("| Program | median, s | least, s | CPU of the process, s | peak, MB | "
          "largest difference: mean, sd, median, °C |")
    print("|---|---:|---:|---:|---:|---|")
    middle = {}
    for who in ["oddpot", *others]:
        times = sorted(r[0] for r in results[who])
        cpus = sorted(r[1] for r in results[who])
        peak = max(r[2] for r in results[who])
        middle[who] = times[RUNS // 2], peak
        name = {"oddpot": "`oddpot log --json`", "duckdb": "DuckDB"}.get(who, f"polars, {who}")
        worst = results.get(who + "/worst")
        off = "" if worst is None else ", ".join(f"{w:.0e}" for w in worst)
        print(f"| {name} | {times[RUNS // 2]:.2f} | {times[0]:.2f} | {cpus[RUNS // 2]:.2f} | "
              f"{peak:.0f} | {off} |")
    best = min(middle[who][0] for who in others)
    bars = [("time", f"{middle['oddpot'][0]:.2f} s", f"{best:.2f} s, the fastest other",
             middle["oddpot"][0] <= best),
            ("peak memory", f"{middle['oddpot'][1]:.0f} MB", "50 MB", middle["oddpot"][1] < 50)]
    print("\n| Bar | measured | at most | kept |\n|---|---:|---:|---|")
    for name, got, bar, kept in bars:
        print(f"| {name} | {got} | {bar} | {'yes' if kept else 'no'} |")
    raise SystemExit(0 if all(bar[3] for bar in bars) else 1)


if sys.argv[1] == "--as":
    child(sys.argv[3], sys.argv[2])
else:
    main()
