"""The likelihood of the readings of a dumped job, by scipy.

The unknown level of each reading set is taken out with orthonormal contrasts (the null space of
the sets' indicator columns); the density of the contrasts is scipy's multivariate t or normal.
The guard is the plain sum over "no number wrong" and "exactly this number wrong".
"""
import numpy as np
from scipy.linalg import null_space
from scipy.special import logsumexp
from scipy.stats import multivariate_normal, multivariate_t

from checks import Checks


def contrasts(sets):
    """Columns orthonormal and orthogonal to a common level in each set."""
    sets = np.asarray(sets)
    levels = np.equal.outer(sets, np.unique(sets)).astype(float)
    return null_space(levels.T)


def log_t(y, mean, covariance, base, freedom):
    """Log density of the contrasts with Student's tails."""
    shape = base.T @ covariance @ base
    return multivariate_t.logpdf(base.T @ y, loc=base.T @ mean, shape=shape, df=freedom)


def log_normal(y, mean, covariance, base):
    """The same with normal tails."""
    return multivariate_normal.logpdf(base.T @ y, mean=base.T @ mean, cov=base.T @ covariance @ base)


def run(dump):
    """All cases laid open in the dump."""
    checks = Checks("reading likelihood")
    readings = dump["readings"]
    y, extra = np.array(readings["y"]), np.array(readings["misread_extra"])
    base, freedom, n = contrasts(readings["set"]), readings["freedom"], len(readings["y"])
    chance = readings["misread_chance"]
    checks.holds("some cases are laid open", readings["cases"])
    for number, case in enumerate(readings["cases"]):
        mean = np.zeros(n)
        factor = np.zeros((n, len(case["factor"][0]) if case["factor"] else 0))
        for (row, shift), columns in zip(case["shift"], case["factor"]):
            mean[row] += shift
            factor[row] += columns
        covariance = np.array(case["v0"]) + factor @ factor.T
        what = f"case {number} of {dump['hypotheses'][case['hypothesis']]['faults']}"
        checks.near(f"{what}, t", log_t(y, mean, covariance, base, freedom), case["log_density"])
        checks.near(f"{what}, normal", log_normal(y, mean, covariance, base),
                    case["log_density_normal"])
        terms = [n * np.log1p(-chance) + log_t(y, mean, covariance, base, freedom)]
        for wrong in range(n):
            wide = covariance.copy()
            wide[wrong, wrong] += extra[wrong]
            terms.append((n - 1) * np.log1p(-chance) + np.log(chance)
                         + log_t(y, mean, wide, base, freedom))
        checks.near(f"{what}, guarded", logsumexp(terms), case["log_density_guarded"])
    return checks
