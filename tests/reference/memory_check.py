"""What the memory's weighing of counts must come to, by scipy.

Dirichlet: means of `scipy.stats.dirichlet` with prior parameters plus counts.
Mixed: kinds of jobs with different odds and flags of recent work; the logarithm of posterior times
Jacobian is written down from its definition and climbed by `scipy.optimize.minimize` from 1, with
gamma priors of `scipy.stats.gamma`; the answer is taken where its gradient has vanished.

`memory_check.py` writes tests/fixtures/memory.json; seeds are fixed, so that it writes the same again.
Needs numpy and scipy as in requirements.txt.
"""
import json
import pathlib

import numpy as np
from scipy import optimize, stats

OUT = pathlib.Path(__file__).resolve().parent.parent / "fixtures" / "memory.json"


def dirichlet(random):
    """One kind of job, no flags."""
    count = int(random.integers(3, 9))
    prior = random.gamma(1.0, 4.0, count) + 0.05
    seen = random.multinomial(int(random.integers(1, 200)), random.dirichlet(np.ones(count)))
    mean = stats.dirichlet(prior + seen).mean()
    return {"prior": prior.tolist(), "seen": seen.tolist(), "mean": mean.tolist()}


def mixed(random):
    """Several kinds of jobs, three factors of flags."""
    causes, flag_prior, pairs = 5, 2.081, [[0, 0], [3, 0], [1, 1]]
    prior = random.gamma(1.5, 4.0, causes) + 0.1
    groups = []
    for _ in range(int(random.integers(2, 5))):
        odds = random.gamma(1.0, 1.0, causes) * (random.random(causes) > 0.2)
        odds[4] += 0.1
        jobs = int(random.integers(1, 60))
        seen = random.multinomial(jobs, odds / odds.sum())
        flags = [f for f in (0, 1) if random.random() < 0.5]
        groups.append({"odds": odds.tolist(), "flags": flags, "seen": seen.tolist()})

    def minus_log(x):
        cause, factor = np.exp(x[:causes]), np.exp(x[causes:])
        # x is the logarithm, so that the density carries the factor itself once more.
        total = np.sum(stats.gamma.logpdf(cause, prior, scale=1 / prior) + x[:causes])
        total += np.sum(stats.gamma.logpdf(factor, flag_prior, scale=1 / flag_prior) + x[causes:])
        for group in groups:
            share = np.array(group["odds"]) * cause
            for (c, f), by in zip(pairs, factor):
                if f in group["flags"]:
                    share[c] *= by
            share /= share.sum()
            seen = np.array(group["seen"])
            total += np.sum(seen[seen > 0] * np.log(share[seen > 0]))
        return -total

    x = np.zeros(causes + len(pairs))
    for _ in range(3):
        x = optimize.minimize(minus_log, x, method="BFGS", options={"gtol": 1e-9}).x
        x = optimize.minimize(minus_log, x, method="Nelder-Mead",
                              options={"xatol": 1e-10, "fatol": 1e-13, "maxiter": 20000}).x
    gradient = optimize.approx_fprime(x, minus_log, 1e-6)
    assert np.abs(gradient).max() < 1e-3, gradient
    return {"prior": prior.tolist(), "flag_prior": flag_prior, "pairs": pairs, "groups": groups,
            "causes": np.exp(x[:causes]).tolist(), "factors": np.exp(x[causes:]).tolist()}


def main():
    """Writes the fixture."""
    random = np.random.default_rng(20260425)
    data = {"dirichlet": [dirichlet(random) for _ in range(12)],
            "mixed": [mixed(random) for _ in range(6)]}
    OUT.write_text(json.dumps(data, indent=1) + "\n")
    print(f"wrote {OUT.name}")


main()
