"""Posterior and one-step value of all tests: the program's planner beside pyagrum, in one run.

Every way pyagrum offers is tried (two inference engines; one posterior for each outcome with all
variables or only the cause as target; joint posteriors of cause and test; one or two threads)
and the quickest counts; lazy propagation of all variables is left out for the larger network, for
which it takes minutes. Both sides are timed without building their models. Prints Markdown;
exits with 1 when an answer is off by 1e-9 or a bar is missed.
"""
import json
import pathlib
import subprocess
import sys
import tempfile
import time

import numpy as np
import pyagrum as gum

ROOT = pathlib.Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "reference"))
import network  # noqa: E402

SIZES = ((60, 40, 6, 50), (600, 200, 10, 20))


def build(net):
    """The network in pyagrum."""
    bayes = gum.BayesNet("side")
    bayes.add(gum.LabelizedVariable("C", "C", len(net["prior"])))
    bayes.cpt("C").fillWith(net["prior"])
    for index, table in enumerate(net["tables"]):
        name = f"T{index}"
        bayes.add(gum.LabelizedVariable(name, name, len(table)))
        bayes.addArc("C", name)
        bayes.cpt(name)[:] = np.ascontiguousarray(np.array(table).T)
    return bayes


def engine(bayes, kind, threads, seen, target=None):
    """An inference engine with what is seen."""
    made = getattr(gum, kind)(bayes)
    if hasattr(made, "setNumberOfThreads"):
        made.setNumberOfThreads(threads)
    if target:
        made.addTarget(target)
    made.setEvidence(seen)
    return made


def by_outcome(bayes, net, kind, threads, only_cause):
    """One posterior of the cause for each outcome of each test."""
    repairs, seen = np.array(net["repairs"]), {f"T{t}": o for t, o in net["seen"].items()}
    plain = engine(bayes, kind, threads, seen)
    plain.makeInference()
    belief = np.array(plain.posterior("C").tolist())
    now, values = network.stop(belief, repairs), {}
    open_tests = [t for t in range(len(net["tables"])) if str(t) not in net["seen"]]
    chances = {t: plain.posterior(f"T{t}").tolist() for t in open_tests}
    asked = engine(bayes, kind, threads, seen, "C") if only_cause else plain
    for test in open_tests:
        then = 0.0
        for outcome, chance in enumerate(chances[test]):
            asked.addEvidence(f"T{test}", outcome)
            asked.makeInference()
            then += chance * network.stop(np.array(asked.posterior("C").tolist()), repairs)
            asked.eraseEvidence(f"T{test}")
        values[str(test)] = now - then - net["tests"][test]
    return belief, values


def by_joint(bayes, net, kind, threads):
    """One joint posterior of cause and test for each test."""
    repairs, seen = np.array(net["repairs"]), {f"T{t}": o for t, o in net["seen"].items()}
    plain = engine(bayes, kind, threads, seen, "C")
    plain.makeInference()
    belief = np.array(plain.posterior("C").tolist())
    now, values = network.stop(belief, repairs), {}
    for test in (t for t in range(len(net["tables"])) if str(t) not in net["seen"]):
        both = {"C", f"T{test}"}
        asked = engine(bayes, kind, threads, seen)
        asked.addJointTarget(both)
        asked.makeInference()
        joint = np.array(asked.jointPosterior(both).tolist())
        joint = joint if joint.shape[1] == len(belief) else joint.T
        chance = joint.sum(axis=1)
        then = sum(c * network.stop(j / c, repairs) for c, j in zip(chance, joint) if c > 0)
        values[str(test)] = now - then - net["tests"][test]
    return belief, values


def ways(bayes, net):
    """Every way, by name."""
    for kind in ("LazyPropagation", "VariableElimination"):
        for threads in (1, 2):
            rest = f"{kind}, {threads} thread" + "s" * (threads > 1)
            if len(net["prior"]) < 100 or kind != "LazyPropagation":
                yield f"per outcome, {rest}", lambda k=kind, t=threads: by_outcome(bayes, net, k, t, False)
            yield f"cause as target, {rest}", lambda k=kind, t=threads: by_outcome(bayes, net, k, t, True)
            yield f"joint, {rest}", lambda k=kind, t=threads: by_joint(bayes, net, k, t)


def timed(way, least=5, seconds=4.0):
    """Median in milliseconds of at least some runs; one run that takes long is enough."""
    times, start = [], time.perf_counter()
    while (len(times) < least and sum(times) < 10) or time.perf_counter() - start < seconds / 4:
        at = time.perf_counter()
        way()
        times.append(time.perf_counter() - at)
    return sorted(times)[len(times) // 2] * 1e3


def main():
    """The table."""
    good = True
    print("| Network | oddpot, ms | quickest way of pyagrum | ms | times | bar | largest difference |")
    print("|---|---:|---|---:|---:|---:|---:|")
    for causes, tests, done, bar in SIZES:
        net = network.make(causes, tests, done)
        answer = network.closed_form(net)
        with tempfile.TemporaryDirectory() as folder:
            file = pathlib.Path(folder) / "network.json"
            file.write_text(json.dumps({"network": net, **answer}))
            said = subprocess.run(["cargo", "bench", "--quiet", "--bench", "value", "--", str(file)],
                                  cwd=ROOT, check=True, capture_output=True, text=True).stdout
        ours = json.loads(said)
        best, off, bayes = None, ours["off"], build(net)
        for name, way in ways(bayes, net):
            belief, values = way()
            error = max([np.abs(belief - answer["posterior"]).max()]
                        + [abs(values[t] - v) for t, v in answer["values"].items()])
            off = max(off, float(error))
            took = timed(way)
            print(f"{causes + 1} × {tests}, {name}: {took:.2f} ms", file=sys.stderr)
            if best is None or took < best[1]:
                best = name, took
        times = best[1] / ours["median_ms"]
        good &= bool(off < 1e-9 and times >= bar)
        print(f"| {causes + 1} × {tests} | {ours['median_ms']:.3f} | {best[0]} | {best[1]:.2f} | "
              f"{times:.0f} | {bar} | {off:.0e} |", flush=True)
    raise SystemExit(0 if good else 1)


if __name__ == "__main__":
    main()
