#!/usr/bin/env python3
"""How much each number of the knowledge base moves the advice on a few small invented jobs.

    python3 tests/reference/weigh.py table                     fifty heaviest and shares by basis, at once
    python3 tests/reference/weigh.py measure PROGRAM [JOB...]  measures anew, a minute or two of processor a job

Each record that has numbers and a basis is written otherwise in a folder of `--knowledge`, one at a
time, as far as it may well be: means of an effect by half their sd, weights by a factor 1.6, rows of
tables to half again their odds against the default, times by 1.4, constants by 1.3. What is then said is
held against what was said: the distance of all suspects' probabilities (total variation), whether the
next step is another, and by what share the expected price changes, a half each at most. The weight of a
record is the mean over all jobs that were measured of its share in the job; causes that a job has no suspect of and tests that it
neither names as a next step nor has an answer of weigh nothing there. They are kept in `weights.csv` beside this file, a column
a job; the table reads bases and numbers from `knowledge/` as it is. No network, no random numbers; the
folders are temporary.
"""
import csv
import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2] / "knowledge"
KEPT = Path(__file__).with_name("weights.csv")
# What a workshop chooses and no source can say.
CHOSEN = {f"constant {name}" for name in ("comeback", "part_in_vain", "wait_weight", "labour_per_minute", "proof",
                                         "chain_share", "heat_share", "balance_share")}
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
    ("inline-six-port", [["temps", "--at", "cold", "20", "20", "21", "35", "20", "20"],
                         ["temps", "--at", "idle", "401", "399", "400", "352", "402", "398"]]),
    ("inline-four-diesel", [["temps", "--at", "idle", "126", "124", "127", "70"],
                            ["temps", "--at", "cruise", "326", "324", "327", "240"]]),
    ("flat-four-air-head", [["temps", "--at", "cruise", "142", "140", "170", "138"]]),
    ("inline-four-individual", [["temps", "--at", "idle", "400", "404", "360", "398"],
                                ["temps", "--at", "cruise", "620", "622", "612", "619"]]),
    ("v8-port", [["temps", "--at", "cruise", "623", "616", "560", "619", "624", "617", "621", "620"]]),
]
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
WRITTEN = r'\w+(?:\((?:"[^"]*"(?:,\s*)?)+\))?'
BASIS = rf"basis: ({WRITTEN})"


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
            basis = re.findall(BASIS, row)[-1]
            new = re.sub(r"\bweight: ([\d.]+)", lambda m: f"weight: {float(m[1]) * 1.6:g}", row, count=1)
            yield f"cause {name} weight", basis, f"causes/{path.name}", f"(causes: [{new}])", 1
            for n, found in enumerate(re.finditer(r"exhaust: \(", row)):
                end = closing(row, found.end() - 1)
                effect = row[found.start():end + 1]
                after = row[end:]
                stop = after.index("basis: ")
                own = re.match(BASIS, after[stop:])[1]
                rest = shifted(effect, 0.5) + re.sub(
                    r"(mixture|head|physics): (\(.*\)|\w+\(.*\))",
                    lambda m: m[0] if m[1] == "physics" else f"{m[1]}: {shifted(m[2], 0.5)}", after[1:stop])
                text = row[:found.start()] + rest + after[stop:]
                yield f"cause {name} effect {n}", own, f"causes/{path.name}", f"(causes: [{text}])", \
                    len(NUMBER.findall(effect))
    for path in sorted((ROOT / "tests").glob("*.ron")):
        for row in blocks(path.read_text(), "tests"):
            name = re.search(r'id: "([^"]+)"', row)[1]
            basis = re.findall(BASIS, row)[-1]
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
        name = re.match(r'\(\s*"([^"]+)"', row)[1]
        values = re.search(r"\[([^\]]*)\]", row)
        new = ", ".join(f"{min(float(x) * 1.3, 0.98) if 0 < float(x) < 1 else float(x) * 1.3:g}"
                        for x in values[1].split(",") if x.strip())
        basis = re.search(rf"\],\s*({WRITTEN})", row)[1]
        yield f"constant {name}", basis, "model.ron", \
            f"(constants: [{row[:values.start(1)]}{new}{row[values.end(1):]}])", len(values[1].split(","))
    # The first that applies is used and one's own come first: so all of them, in their order, with one changed.
    spreads = list(blocks((ROOT / "spreads.ron").read_text(), "spreads"))
    for n, row in enumerate(spreads):
        new = re.sub(r"sd: \(([^)]*)\)", lambda m: "sd: (" + ", ".join(
            f"{float(x) * 1.3:g}" for x in m[1].split(",")) + ")", row)
        every = ", ".join([*spreads[:n], new, *spreads[n + 1:]])
        yield f"spread {n}", re.search(BASIS, row)[1], "spreads.ron", f"(spreads: [{every}])", 5


def ask(program, store, extra, *words):
    """A document of the program, or nothing where it refuses."""
    done = subprocess.run([program, "--memory", "off", "--jobs", store, *extra, *words, "--json"],
                          capture_output=True, text=True, check=False)
    return json.loads(done.stdout) if done.stdout.startswith("{") else None


def said(program, store, job, extra=(), known=None):
    """Suspects (those that are known where it cannot change them), next step, expected price, tests that are named."""
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
    named = {step.get("id"), *(other.get("id") for other in step.get("alternatives", []))}
    return own, (step.get("id"), step.get("kind"), step.get("cylinder")), step.get("expected_total") or 0.0, named


def moved(before, after):
    """Between nothing and two: distance of suspects, and of the step."""
    keys = set(before[0]) | set(after[0])
    apart = sum(abs(before[0].get(k, 0) - after[0].get(k, 0)) for k in keys) / 2
    price = abs(after[2] - before[2]) / max(before[2], 1.0)
    return apart + 0.5 * (before[1] != after[1]) + min(price, 0.5)


def measured(program, n, only=()):
    """The weight of each record in one job (or of some alone), without those that weigh nothing."""
    weights = {}
    with tempfile.TemporaryDirectory() as folder:
        job, store = f"w{n}", f"{folder}/jobs"
        engine, entries = JOBS[n]
        state = "cold-soaked" if "cold" in entries[0] else "warm"
        for words in [["open", job, "--engine", engine, "--state", state],
                      *([words[0], job, *words[1:]] for words in entries)]:
            subprocess.run([program, "--memory", "off", "--jobs", store, *words], capture_output=True, check=True)
        before = said(program, store, job)
        here = {key[0] for key in before[0] if key != "healthy"} | {"natural-spread"}
        found = {words[1] for words in entries if words[0] == "found"}
        for name, _, file, text, _ in variants():
            kind, row = name.split()[:2]
            if only and name not in only:
                continue
            if kind == "cause" and row not in here or kind == "test" and row not in before[3] | found:
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
            elif (moves := moved(before, after)) > 0.00005:
                weights[name] = moves
    return weights


def measure(program, jobs, path=KEPT):
    """Puts a column for each of the jobs into what is kept, after each job."""
    for n in jobs:
        weights = measured(program, n)
        columns = kept(path) if path.exists() else {}
        columns[n] = weights
        columns = dict(sorted(columns.items()))
        names = sorted({name for column in columns.values() for name in column})
        with open(path, "w", newline="") as to:
            out = csv.writer(to, lineterminator="\n")
            out.writerow(["record", *(f"job {n}" for n in columns)])
            for name in names:
                out.writerow([name, *(f"{column.get(name, 0):.4f}" for column in columns.values())])
        print(f"job {n}, {JOBS[n][0]}: done", file=sys.stderr, flush=True)


def kept(path=KEPT):
    """The weights that were measured, by job and record."""
    with open(path, newline="") as text:
        rows = list(csv.reader(text))
    jobs = [int(word.split()[1]) for word in rows[0][1:]]
    return {n: {row[0]: float(row[i + 1]) for row in rows[1:]} for i, n in enumerate(jobs)}


KINDS = ["cited", "cited in part", "computed", "computed, judgement in it", "judgement beside a source", "judgement",
         "practice", "memory"]


def sorted_basis(basis):
    """Which of the kinds a written basis is of."""
    word, text = re.match(r"\w+", basis)[0], basis.lower()
    if word in ("source", "cited"):
        return "cited in part" if "partly:" in text else "cited"
    if word == "computed":
        unsure = any(said in text for said in ("judgement", "practice", "assumed"))
        return "computed, judgement in it" if unsure else "computed"
    if word == "judgement" and re.search(r"\[[a-z0-9-]+\]", basis):
        return "judgement beside a source"
    return word


def table():
    """The fifty heaviest records, and the shares by basis."""
    columns = kept()
    records = {name: (sorted_basis(basis), numbers) for name, basis, _, _, numbers in variants()}
    # Each job counts alike: where two steps are all but equal, anything makes the other the next one.
    sums = {n: sum(column.get(name, 0) for name in records) for n, column in columns.items()}
    weight = {name: sum(column.get(name, 0) / sums[n] for n, column in columns.items()) for name in records}
    whole = sum(weight.values())
    print(f"{len(records)} records, {len(columns)} jobs\n")
    for name in sorted(records, key=lambda name: -weight[name])[:50]:
        chosen = ", a choice of value" if name in CHOSEN else ""
        print(f"{weight[name] / whole:7.2%}  {name}: {records[name][0]}{chosen}")
    def part(name):
        words = name.split()
        return {"constant": "constants", "spread": "natural spreads"}.get(words[0]) or f"{words[0]} {words[2]}"

    parts = sorted({part(name) for name in records})
    shares = {one: sum(weight[name] for name in records if part(name) == one) / whole for one in parts}
    print("\n" + ", ".join(f"{one} {share:.0%}" for one, share in shares.items()))
    print(f"fifty heaviest {sum(sorted(weight.values())[-50:]) / whole:.0%}")
    print(f"\n{'basis':<26} numbers  by weight  without choices of value")
    facts = sum(w for name, w in weight.items() if name not in CHOSEN)
    for kind in KINDS:
        mine = [name for name in records if records[name][0] == kind]
        print(f"{kind:<26} {sum(records[name][1] for name in mine):>7} {sum(weight[name] for name in mine) / whole:>10.1%}"
              f" {sum(weight[name] for name in mine if name not in CHOSEN) / facts:>24.1%}")


def main():
    """Which of the two."""
    if sys.argv[1:2] == ["measure"]:
        measure(sys.argv[2], [int(n) for n in sys.argv[3:]] or range(len(JOBS)))
    else:
        table()


if __name__ == "__main__":
    main()
