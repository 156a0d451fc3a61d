"""Posterior and one-step value of every test of a dumped job, by pyagrum and by pgmpy.

The network has one cause node. For the posterior its states are hypotheses with their history
of presence, weighed by prior times likelihood of the readings, and the tests entered are its
children; for the values its states are the cases and its children the tests still to be done.
"""
import logging
import warnings

import numpy as np
import pyagrum as gum

from checks import Checks
from planning import Planning

logging.disable(logging.WARNING)
warnings.filterwarnings("ignore")
from pgmpy.factors.discrete import TabularCPD  # noqa: E402
from pgmpy.inference import VariableElimination  # noqa: E402
from pgmpy.models import DiscreteBayesianNetwork  # noqa: E402


def by_agrum(prior, tables):
    """A network `C` with children `T0`, `T1` ... of tables `[outcome][state]`."""
    net = gum.BayesNet("job")
    net.add(gum.LabelizedVariable("C", "C", len(prior)))
    net.cpt("C").fillWith(list(map(float, prior)))
    for index, table in enumerate(tables):
        child = net.add(gum.LabelizedVariable(f"T{index}", f"T{index}", len(table)))
        net.addArc("C", f"T{index}")
        net.cpt(child)[:] = np.ascontiguousarray(np.array(table).T)
    return net


def by_pgmpy(prior, tables):
    """The same."""
    net = DiscreteBayesianNetwork()
    net.add_node("C")
    net.add_edges_from(("C", f"T{index}") for index in range(len(tables)))
    net.add_cpds(TabularCPD("C", len(prior), np.reshape(prior, (-1, 1))))
    for index, table in enumerate(tables):
        net.add_cpds(TabularCPD(f"T{index}", len(table), np.array(table), ["C"], [len(prior)]))
    return net


def posterior(dump, checks):
    """Posterior of the kept hypotheses from everything entered."""
    logs = np.array([s["log_weight"] + s["log_readings"] for s in dump["states"]])
    prior = np.exp(logs - logs.max())
    prior /= prior.sum()
    tables = [e["rows"] for e in dump["evidence"]]
    seen = {f"T{index}": e["seen"] for index, e in enumerate(dump["evidence"])}
    owner = np.array([s["hypothesis"] for s in dump["states"]])
    engine = gum.LazyPropagation(by_agrum(prior, tables))
    engine.setEvidence(seen)
    engine.makeInference()
    agrum = np.array(engine.posterior("C").tolist())
    if tables:
        query = VariableElimination(by_pgmpy(prior, tables))
        pgmpy = query.query(["C"], evidence=seen, show_progress=False).values
    else:
        pgmpy = prior
    for library, states in (("pyagrum", agrum), ("pgmpy", pgmpy)):
        by_hypothesis = np.bincount(owner, states, len(dump["hypotheses"]))
        for index, hypothesis in enumerate(dump["hypotheses"]):
            what = f"posterior of {'+'.join(hypothesis['faults']) or 'healthy'} by {library}"
            checks.near(what, by_hypothesis[index], hypothesis["posterior"])


def values(dump, checks):
    """Expected price of each test followed by repairs, and what it saves."""
    plan = dump["plan"]
    planning, belief, now = Planning(plan), np.array(plan["belief"]), plan["now"]
    stop = planning.stop(belief, now)
    checks.near("repairing at once", stop, plan["stop"]["total"])
    tables = [test["probe"]["rows"] for test in plan["tests"]]
    network = by_agrum(belief, tables)
    engine = gum.LazyPropagation(network)
    engine.makeInference()
    chances = [np.array(engine.posterior(f"T{t}").tolist()) for t in range(len(tables))]
    engine = gum.LazyPropagation(network)
    engine.addTarget("C")
    for index, test in enumerate(plan["tests"]):
        name = f"T{index}"
        price, after = planning.doing(test["probe"], now)
        checks.near(f"price of {test['id']}", price, test["doing"]["total"])
        agrum = price
        for outcome, chance in enumerate(chances[index]):
            if chance > 0:
                engine.setEvidence({name: outcome})
                engine.makeInference()
                then = np.array(engine.posterior("C").tolist())
                agrum += chance * planning.stop(then, after)
        # For pgmpy a network of this test alone: it takes its time over the others.
        query = VariableElimination(by_pgmpy(belief, [tables[index]]))
        factor = query.query(["C", "T0"], show_progress=False)
        joint = factor.values if factor.variables[0] == "C" else factor.values.T
        chance = joint.sum(axis=0)
        pgmpy = price + sum(chance[o] * planning.stop(joint[:, o] / chance[o], after)
                            for o in range(len(chance)) if chance[o] > 0)
        for library, one_step in (("pyagrum", agrum), ("pgmpy", pgmpy)):
            checks.near(f"value of {test['id']} by {library}", stop - one_step, test["value"])


def run(dump):
    """All of it."""
    checks = Checks("posterior and values of the job")
    posterior(dump, checks)
    values(dump, checks)
    return checks
