"""The published and constructed fixtures that the program's unit tests carry, worked out again.

F1   four faults, probabilities and prices; constructed; every order is tried.
F7b  three diseases and a fever with a leak, noisy-OR by enumeration; inhibitors of Russell and
     Norvig's fever example (from memory), priors and leak constructed.
F12  two fair coins whose exclusive or is the cause; constructed; every plan is tried.
F13  imperfect repairs .9 and .8 of one fault at unit price; "A* Wars" on troubleshooting.
F15  four cylinders, parts of 2 and 3 exchanged between two reading sets; constructed.
F16  the network of 61 causes and 40 tests; made and solved in `network.py`.
"""
import itertools
import json
import math
import pathlib

import numpy as np

import network
from checks import Checks
from reading_check import contrasts, log_normal, log_t

FOLDER = pathlib.Path(__file__).resolve().parent.parent / "fixtures"


def sequence(order, chances, prices):
    """Expected price of trying repairs in an order, each certain to end its own fault."""
    return sum(p * sum(prices[r] for r in order[:order.index(h) + 1])
               for h, p in enumerate(chances))


def f1(checks):
    """Order 3, 2, 1, 4 at 10.2."""
    chances, prices = (.4, .3, .2, .1), (9, 4, 2, 5)
    cost = {order: sequence(order, chances, prices) for order in itertools.permutations(range(4))}
    best = min(cost, key=cost.get)
    checks.holds("F1 order", best == (2, 1, 0, 3))
    checks.near("F1 least", cost[best], 10.2)
    checks.near("F1 likeliest first", cost[0, 1, 2, 3], 12.5)
    checks.near("F1 cheapest first", cost[2, 1, 3, 0], 11.3)


def f7b(checks):
    """Posterior of each disease given fever."""
    quiet, priors, leak = (.6, .2, .1), (.1, .05, .02), .05
    fever, each = 0.0, np.zeros(3)
    for present in itertools.product((False, True), repeat=3):
        weight = math.prod(p if on else 1 - p for p, on in zip(priors, present))
        silent = (1 - leak) * math.prod(q for q, on in zip(quiet, present) if on)
        fever += weight * (1 - silent)
        each += weight * (1 - silent) * np.array(present)
    checks.near("F7b fever", fever, .14023936, 1e-8)
    for got, want in zip(each / fever, (.3298999653, .2926721856, .1301272339)):
        checks.near("F7b disease", got, want)


def f12(checks):
    """15 now, 16 after one coin, 12 after both."""
    def plan(worlds, tests, depth):
        """Least price from a set of equally likely worlds `(u, v)`; unit price a test."""
        one = sum(u ^ v for u, v in worlds) / len(worlds)
        best = 10 + 10 * min(one, 1 - one)
        if depth:
            for test in tests:
                halves = [[w for w in worlds if w[test] == face] for face in (0, 1)]
                best = min(best, 1 + sum(
                    len(half) / len(worlds) * plan(half, tests - {test}, depth - 1)
                    for half in halves if half))
        return best
    worlds = list(itertools.product((0, 1), repeat=2))
    checks.near("F12 now", plan(worlds, {0, 1}, 0), 15)
    after_one = 1 + sum(.5 * plan([w for w in worlds if w[0] == f], set(), 0) for f in (0, 1))
    checks.near("F12 one test", after_one, 16)
    checks.near("F12 two tests", plan(worlds, {0, 1}, 2), 12)


def f13(checks):
    """The better first: 1 + .1."""
    works = {"first": .9, "second": .8}
    costs = {order: 1 + (1 - works[order[0]]) for order in itertools.permutations(works)}
    checks.holds("F13 order", min(costs, key=costs.get)[0] == "first")
    checks.near("F13 least", min(costs.values()), 1.1)


F15 = {
    "none": ((), -61.068340839, -32.085962),
    "part from 2 follows": ((1, 6), -21.395377161, -20.005391),
    "stays at 2": ((1, 5), -61.003986574, -32.385562),
    "joint at 2 cured": ((1,), -38.759127771, -29.128784),
    "new fault at 3 after": ((6,), -32.808427070, -27.450657),
    "part from 3": ((2, 5), -41.507272323, -30.063380),
    "stays at 3": ((2, 6), -62.630143981, -32.568920),
}


def f15(checks):
    """Restricted likelihood and t with four degrees of freedom for where the oddness goes."""
    y = np.array([652., 691., 648., 657., 655., 660., 688., 652.])
    base = contrasts([0] * 4 + [1] * 4)
    shared = 100. * np.kron(np.ones((2, 2)), np.eye(4)) + 16. * np.eye(8)
    for name, (rows, restricted, student) in F15.items():
        touched = np.isin(np.arange(8), rows).astype(float)
        mean, covariance = 35. * touched, shared + 144. * np.outer(touched, touched)
        # The level integrated over the line instead of taken out: ½ log|MᵀM|, two sets of four.
        got = log_normal(y, mean, covariance, base) - .5 * 2 * math.log(4)
        checks.near(f"F15 {name}", got, restricted, 1e-8)
        checks.near(f"F15 {name}, t", log_t(y, mean, covariance, base, 4.), student, 1e-6)


def alike(a, b):
    """Same shape, numbers equal to 1e-12 of themselves."""
    if isinstance(a, dict):
        return a.keys() == b.keys() and all(alike(a[k], b[k]) for k in a)
    if isinstance(a, list):
        return len(a) == len(b) and all(map(alike, a, b))
    return math.isclose(a, b, rel_tol=1e-12)


def f16(checks):
    """The stored network is the one the script makes, and its answers are the closed form's."""
    made = network.make(60, 40, 6)
    answer = network.closed_form(made)
    stored = json.loads((FOLDER / "f16.json").read_text())
    # The exponential of numpy differs in the last digit from processor to processor.
    checks.holds("F16 stored network", alike(stored["network"], made))
    checks.near("F16 repairing at once", answer["stop"], 138.564331, 1e-8)
    best = max(answer["values"], key=answer["values"].get)
    checks.holds("F16 best test", best == "14")
    checks.near("F16 its value", answer["values"][best], 18.887383, 1e-7)
    checks.near("F16 leader", max(answer["posterior"]), .301763, 1e-6)
    for test, value in answer["values"].items():
        checks.near(f"F16 value of {test}", stored["values"][test], value)


def run():
    """All of them."""
    checks = Checks("fixtures")
    for fixture in (f1, f7b, f12, f13, f15, f16):
        fixture(checks)
    return checks
