"""Rows of test tables held against what the writers of the casebook said.

Some fifty people wrote the complaints in tests/casebook/ without sight of the knowledge base: what is wrong, and what each
test would show of it. So each answer is a second opinion on a row. Printed is, for rows of causes that a test speaks to and
for those that it does not, the share of rows that had best be taken to say nothing of their cause (maximum likelihood), and
the answers that the rows call next to impossible, by how often they were given: what is missing or wrong in a table.

Writers say what is typical, workshops show what comes: the share is a lower bound, not the value of `row_doubt`.

    python3 tests/reference/elicited.py PROGRAM [HIGHEST NUMBER]
"""

import collections
import glob
import json
import math
import os
import re
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
SHARES = [0, 0.005, 0.01, 0.02, 0.03, 0.05, 0.07, 0.1, 0.15, 0.2, 0.3, 0.5]
# Chance of a report below which a row calls an answer next to impossible.
IMPOSSIBLE = 0.06
SLIP = 0.02


def faults(text):
    """Cure and answers of each fault of a complaint; the cause that the writer named first."""
    block = text.split("faults: [", 1)[1].split("crossed: ", 1)[0]
    for part in re.split(r'[\n(]\s*what: "', block)[1:]:
        cured = re.search(r"cured_by: \[(.*?)\]", part, re.S)
        answers = re.search(r"\banswers: \[(.*?)\],\n", part, re.S)
        causes = re.findall(r'"([^"]+)"', cured.group(1)) if cured else []
        if causes and answers:
            yield causes[0], re.findall(r'\("([\w-]+)", "([\w-]+)"\)', answers.group(1))


def reported(chance, outcomes):
    return chance * (1 - SLIP) + (1 - chance) * SLIP / (outcomes - 1)


def main():
    listed = subprocess.run([sys.argv[1], "knowledge", "list", "--json"], capture_output=True, check=True, text=True)
    known = json.loads(listed.stdout)
    highest = int(sys.argv[2]) if len(sys.argv) > 2 else 10**9
    weights = {cause["id"]: cause["weight"] for cause in known["causes"]}
    tests = {test["id"]: test for test in known["tests"] if test["default"]}
    average = {}
    for name, test in tests.items():
        rows = [(weight, test["given"].get(cause, test["default"])) for cause, weight in weights.items()]
        total = sum(weight for weight, _ in rows)
        average[name] = [sum(w * row[o] for w, row in rows) / total for o in range(len(test["default"]))]
    answers = collections.defaultdict(list)
    never = collections.Counter()
    for path in sorted(glob.glob(os.path.join(HERE, "..", "casebook", "*", "*.ron"))):
        if int(re.match(r"\d+", os.path.basename(path)).group()) > highest:
            continue
        with open(path, encoding="utf-8") as file:
            for cause, given in faults(file.read()):
                for name, outcome in given:
                    test = tests.get(name)
                    follows = test and test["kind"] in ("exchange", "reseat", "substitute")
                    if not test or follows or outcome not in test["outcomes"] or cause not in weights:
                        continue
                    place, count = test["outcomes"].index(outcome), len(test["outcomes"])
                    row = test["given"].get(cause, test["default"])
                    own = reported(row[place], count)
                    answers[cause in test["given"]].append((own, reported(average[name][place], count)))
                    if own < IMPOSSIBLE:
                        never[name, cause, outcome] += 1
    for spoken in (True, False):
        pairs = answers[spoken]
        best = max(SHARES, key=lambda s: sum(math.log((1 - s) * own + s * other) for own, other in pairs))
        said = "the test speaks to" if spoken else "the test does not speak to"
        print(f"{len(pairs)} answers of causes that {said}: likeliest with {best} of the rows saying nothing")
    print("given, and next to impossible by the row:")
    for (name, cause, outcome), times in never.most_common(25):
        print(f"  {times:3} x {name} {outcome} of {cause}")


if __name__ == "__main__":
    main()
