#!/usr/bin/env python3
"""How much each number of the knowledge base moves the advice on a few small invented jobs.

    python3 tests/reference/weigh.py target/release/oddpot weights.csv [JOBS]

Each record that has numbers and a basis is written otherwise in a folder of `--knowledge`, one at a
time, as far as it may well be: means of an effect by half their sd, weights by a factor 1.6, rows of
tables to half again their odds against the default, times by 1.4, constants by 1.3. What is then said is
held against what was said: the distance of all suspects' probabilities (total variation), whether the
next step is another, and by what share the expected price changes, a half each at most. The weight of a
record is the mean over all jobs. No network, no random numbers; the folders are temporary.
"""
import csv
import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2] / "knowledge"
# Engine, words of `open`, then entries; all invented.
JOBS = [
    ("inline-four-port", [["temps", "--at", "idle", "400", "404", "352", "398"]]),
    ("inline-six-diesel", [["temps", "--at", "cruise", "330", "326", "372", "328", "331", "325"]]),
    ("inline-four-port", [["temps", "--at", "idle", "402", "455", "400", "398"],
                          ["temps", "--at", "cruise", "622", "660", "618", "621"]]),
    ("inline-four-carburettor", [["temps", "--at", "idle", "395", "400", "470", "402"],
                                 ["temps", "--at", "cruise", "610", "618", "560", "615"]]),
    ("inline-four-direct", [["temps", "--at", "idle", "398", "402", "350", "400"],
                            ["temps", "--at", "cruise", "620", "618", "560", "622"]]),
    ("inline-four-port", [["temps", "--at", "idle", "400", "404", "190", "398"]]),
    ("inline-four-port", [["temps", "--at", "idle", "400", "340", "402", "398"],
                          ["found", "look-fit", "alike", "--cylinder", "2"]]),
    ("inline-six-port", [["temps", "--at", "cold-soaked", "20", "20", "21", "35", "20", "20"],
                         ["temps", "--at", "idle", "401", "399", "400", "352", "402", "398"]]),
    ("inline-four-diesel", [["temps", "--at", "idle", "126", "124", "127", "70"],
                            ["temps", "--at", "cruise", "326", "324", "327", "240"]]),
    ("flat-four-air-head", [["temps", "--at", "cruise", "142", "140", "170", "138"]]),
    ("inline-four-individual", [["temps", "--at", "idle", "400", "404", "360", "398"],
                                ["temps", "--at", "cruise", "620", "622", "612", "619"]]),
    ("v8-port", [["temps", "--at", "cruise", "623", "616", "560", "619", "624", "617", "621", "620"]]),
]
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")


def blocks(text, key):
    """Rows of the list under a key, as spans."""
    start = text.index(f"{key}: [") + len(key) + 3
    depth, quoted, begun, i = 0, False, None, start
    while i < len(text):
        c = text[i]
        if quoted:
            i += c == "\\"
            quoted = c != '"'
        elif c == '"':
            quoted = True
        elif text.startswith("//", i):
            i = text.index("\n", i)
        elif c in "([{":
            if depth == 0:
                begun = i
            depth += 1
        elif c in ")]}":
            if depth == 0:
                return
            depth -= 1
            if depth == 0:
                yield text[begun:i + 1]
        i += 1


def closing(text, i):
    """Where the bracket at i closes."""
    depth = 0
    for j in range(i, len(text)):
        depth += (text[j] in "([{") - (text[j] in ")]}")
        if depth == 0:
            return j
    raise ValueError(text[i:i + 40])


def shifted(pairs, by):
    """Pairs of mean and sd, the mean moved by a share of the sd."""
    return re.sub(r"\(\s*(-?[\d.]+),\s*([\d.]+)\s*\)",
                  lambda m: f"({float(m[1]) + by * float(m[2]):g}, {m[2]})", pairs)


def sharper(row, default):
    """A row with half again its odds against the default."""
    weights = [r * (r / max(d, 0.002)) ** 0.5 for r, d in zip(row, default)]
    return [w / sum(weights) for w in weights]


def variants():
    """Name, basis, file, text of the row written otherwise, and how many numbers it has."""
    for path in sorted((ROOT / "causes").glob("*.ron")):
        for row in blocks(path.read_text(), "causes"):
            name = re.search(r'id: "([^"]+)"', row)[1]
            basis = re.findall(r"\n            basis: (\w+)", row)[-1]
            new = re.sub(r"\bweight: ([\d.]+)", lambda m: f"weight: {float(m[1]) * 1.6:g}", row, count=1)
            yield f"cause {name} weight", basis, f"causes/{path.name}", f"(causes: [{new}])", 1
            for n, found in enumerate(re.finditer(r"exhaust: \(", row)):
                end = closing(row, found.end() - 1)
                effect = row[found.start():end + 1]
                after = row[end:]
                stop = after.index("basis: ")
                own = re.match(r"basis: (\w+)", after[stop:])[1]
                rest = shifted(effect, 0.5) + re.sub(
                    r"(mixture|head|physics): (\(.*\)|\w+\(.*\))",
                    lambda m: m[0] if m[1] == "physics" else f"{m[1]}: {shifted(m[2], 0.5)}", after[1:stop])
                text = row[:found.start()] + rest + after[stop:]
                yield f"cause {name} effect {n}", own, f"causes/{path.name}", f"(causes: [{text}])", \
                    len(NUMBER.findall(effect))
    for path in sorted((ROOT / "tests").glob("*.ron")):
        for row in blocks(path.read_text(), "tests"):
            name = re.search(r'id: "([^"]+)"', row)[1]
            basis = re.findall(r"basis: (\w+)", row)[-1]
            new = re.sub(r"\btime: \(([\d.]+)", lambda m: f"time: ({float(m[1]) * 1.4:g}", row, count=1)
            yield f"test {name} time", basis, f"tests/{path.name}", f"(tests: [{new}])", 2
            default = re.search(r"default: \[([^\]]+)\]", row)
            if not default:
                continue
            usual = [float(x) for x in default[1].split(",") if x.strip()]
            for n, found in enumerate(re.finditer(r"\],\s*\[([\d., \n]+)\]\)", row)):
                given = [float(x) for x in found[1].split(",") if x.strip()]
                if len(given) != len(usual):
                    continue
                own = ", ".join(f"{x:.12f}" for x in sharper(given, usual))
                text = row[:found.start(1)] + own + row[found.end(1):]
                yield f"test {name} row {n}", basis, f"tests/{path.name}", f"(tests: [{text}])", len(given)
    text = (ROOT / "model.ron").read_text()
    for row in blocks(text, "constants"):
        name = re.match(r'\("([^"]+)"', row)[1]
        values = re.search(r"\[([^\]]*)\]", row)
        new = ", ".join(f"{min(float(x) * 1.3, 0.98) if 0 < float(x) < 1 else float(x) * 1.3:g}"
                        for x in values[1].split(",") if x.strip())
        basis = re.search(r"\],\s*(\w+)", row)[1]
        yield f"constant {name}", basis, "model.ron", \
            f"(constants: [{row[:values.start(1)]}{new}{row[values.end(1):]}])", len(values[1].split(","))
    # The first that applies is used and one's own come first: so all of them, in their order, with one changed.
    spreads = list(blocks((ROOT / "spreads.ron").read_text(), "spreads"))
    for n, row in enumerate(spreads):
        new = re.sub(r"sd: \(([^)]*)\)", lambda m: "sd: (" + ", ".join(
            f"{float(x) * 1.3:g}" for x in m[1].split(",")) + ")", row)
        every = ", ".join([*spreads[:n], new, *spreads[n + 1:]])
        yield f"spread {n}", re.search(r"basis: (\w+)", row)[1], "spreads.ron", f"(spreads: [{every}])", 5


def ask(program, store, extra, *words):
    """A document of the program, or nothing where it refuses."""
    done = subprocess.run([program, "--memory", "off", "--jobs", store, *extra, *words, "--json"],
                          capture_output=True, text=True, check=False)
    return json.loads(done.stdout) if done.stdout.startswith("{") else None


def said(program, store, job, extra=(), known=None):
    """Suspects (those that are known where it cannot change them), next step and expected price."""
    own = known
    if own is None:
        suspects = ask(program, store, extra, "suspects", job)
        if suspects is None or "causes" not in suspects:
            return None
        own = {(c["id"], c["place"]): c["probability"] for c in suspects["causes"]}
        own["healthy"] = suspects["healthy"] or 0.0
    step = ask(program, store, extra, "next", job)
    if step is None:
        return None
    return own, (step.get("id"), step.get("kind"), step.get("cylinder")), step.get("expected_total") or 0.0


def moved(before, after):
    """Between nothing and two: distance of suspects, and of the step."""
    keys = set(before[0]) | set(after[0])
    apart = sum(abs(before[0].get(k, 0) - after[0].get(k, 0)) for k in keys) / 2
    price = abs(after[2] - before[2]) / max(before[2], 1.0)
    return apart + 0.5 * (before[1] != after[1]) + min(price, 0.5)


def main():
    """Writes a row for each record, anew after each job."""
    program, to = sys.argv[1:3]
    jobs = JOBS[:int(sys.argv[3])] if len(sys.argv) > 3 else JOBS
    every = list(variants())
    total = {name: 0.0 for name, *_ in every}
    with tempfile.TemporaryDirectory() as folder:
        for n, (engine, entries) in enumerate(jobs):
            job, store = f"w{n}", f"{folder}/jobs"
            subprocess.run([program, "--memory", "off", "--jobs", store, "open", job, "--engine", engine, "--state", "warm"],
                           capture_output=True, check=True)
            for words in entries:
                subprocess.run([program, "--memory", "off", "--jobs", store, words[0], job, *words[1:]],
                               capture_output=True, check=True)
            before = said(program, store, job)
            here = {key[0] for key in before[0] if key != "healthy"}
            found = {words[2] for words in entries if words[0] == "found"}
            for name, _, file, text, _ in every:
                kind, row = name.split()[:2]
                if kind == "cause" and row not in here:
                    continue
                own = Path(folder) / "own" / file
                own.parent.mkdir(parents=True, exist_ok=True)
                own.write_text(text)
                # A test that nobody did yet says nothing of the suspects.
                known = before[0] if kind == "test" and row not in found else None
                after = said(program, store, job, ("--knowledge", f"{folder}/own"), known)
                own.unlink()
                if after is None:
                    print(f"refused: {name} in job {n}", file=sys.stderr)
                else:
                    total[name] += moved(before, after)
            with open(to, "w", newline="") as kept:
                out = csv.writer(kept, lineterminator="\n")
                out.writerow(["record", "basis", "numbers", "weight"])
                for name, basis, _, _, numbers in sorted(every, key=lambda v: -total[v[0]]):
                    out.writerow([name, basis, numbers, f"{total[name] / (n + 1):.4f}"])
            print(f"{engine}: done, {n + 1} of {len(jobs)}", file=sys.stderr, flush=True)


if __name__ == "__main__":
    main()
