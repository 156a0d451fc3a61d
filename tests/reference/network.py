"""A network of one cause node and many tests, drawn from a seeded generator, and its answers.

Fixture F16 is the one of 60 causes and a leak, 40 tests, 6 of them done; the draws and their
order are fixed by the fixture. Written to JSON for the program; run as a script to store F16.
"""
import json
import pathlib

import numpy as np

SEED = 20240607


def make(causes, tests, done, seed=SEED):
    """Prior, tables `[outcome][cause]`, prices of repairs and tests, outcomes already seen."""
    draw = np.random.default_rng(seed)
    states = causes + 1
    prior = draw.gamma(0.6, size=states) + 1e-3
    prior = prior / prior.sum()
    tables = []
    for index in range(tests):
        parts = (0.6, 0.4) if index % 4 == 0 else (1.0,)
        alarm = draw.uniform(0.02, 0.12)
        table = np.empty((1 + len(parts), states))
        table[0] = 1 - alarm
        for outcome, part in enumerate(parts, 1):
            table[outcome] = alarm * part
        many = int(draw.integers(4, 16)) * max(1, causes // 60)
        for cause in draw.choice(causes, size=many, replace=False):
            seen = draw.uniform(0.6, 0.98)
            table[0, cause] = 1 - seen
            if len(parts) == 1:
                table[1, cause] = seen
            else:
                first = draw.uniform(0.1, 0.9)
                table[1, cause], table[2, cause] = seen * first, seen * (1 - first)
        tables.append(table)
    repairs = np.exp(draw.uniform(np.log(5.0), np.log(120.0), states))
    prices = np.exp(draw.uniform(np.log(1.0), np.log(45.0), tests))
    truth = int(draw.integers(causes))
    chosen = draw.choice(tests, size=done, replace=False)
    seen = {str(t): int(draw.choice(len(tables[t]), p=tables[t][:, truth])) for t in chosen}
    return {"prior": prior.tolist(), "tables": [t.tolist() for t in tables],
            "repairs": repairs.tolist(), "tests": prices.tolist(), "seen": seen}


def stop(belief, repairs):
    """Expected price of repairing in order of probability per price."""
    order = np.argsort(-belief / repairs, kind="stable")
    left = 1.0 - np.concatenate(([0.0], np.cumsum(belief[order])[:-1]))
    return float(repairs[order] @ left)


def closed_form(net):
    """Posterior, price of repairing at once, value of every test not done."""
    belief, repairs = np.array(net["prior"]), np.array(net["repairs"])
    for test, outcome in net["seen"].items():
        belief = belief * np.array(net["tables"][int(test)][outcome])
    belief /= belief.sum()
    now, values = stop(belief, repairs), {}
    for index, table in enumerate(net["tables"]):
        if str(index) not in net["seen"]:
            joint = np.array(table) * belief
            chance = joint.sum(axis=1)
            then = sum(c * stop(j / c, repairs) for c, j in zip(chance, joint) if c > 0)
            values[str(index)] = now - then - net["tests"][index]
    return {"posterior": belief.tolist(), "stop": now, "values": values}


if __name__ == "__main__":
    made = make(60, 40, 6)
    to = pathlib.Path(__file__).resolve().parent.parent / "fixtures" / "f16.json"
    to.write_text(json.dumps({"network": made, **closed_form(made)}) + "\n")
