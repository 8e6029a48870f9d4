"""Differences between pairs a second time: reads a list of cases on standard input and answers for each.

A case with "table" (both, only the first, only the second, neither) is answered by its "method": the interval of Newcombe
RG (1998), Statistics in Medicine 17:2635-2650, method 10, or the score interval of Tango T (1998), Statistics in Medicine
17:891-908. None of the packages pinned here has them. The first is written below from the published formula, with
Wilson's limits as the roots of the quadratic equation that defines them; the second from what it is, without the formula:
what must be estimated beside the difference is where scipy finds the likelihood greatest.

A case with "differences" is answered with the interval of scipy's paired t test and from how many pairs on it can be
trusted: 28 + 25 times the square of scipy's skewness.
"""

import json
import sys

import numpy as np
from scipy import optimize, stats


def wilson(count, n, z):
    """p with (x - p)^2 = z^2 p (1 - p) / n, where x is the share seen."""
    x = count / n
    low, high = sorted(np.roots([1 + z**2 / n, -2 * x - z**2 / n, x**2]).real)
    return max(low, 0.0), min(high, 1.0)


def newcombe_10(e, f, g, h):
    n, z = e + f + g + h, stats.norm.ppf(0.975)
    p1, p2 = (e + f) / n, (e + g) / n
    l1, u1 = wilson(e + f, n, z)
    l2, u2 = wilson(e + g, n, z)
    margins = [e + f, g + h, e + g, f + h]
    if min(margins) == 0:
        phi = 0.0
    else:
        numerator = e * h - f * g
        if numerator > n / 2:
            numerator -= n / 2
        elif numerator >= 0:
            numerator = 0.0
        phi = numerator / np.sqrt(np.prod(np.array(margins, dtype=float)))
    delta = np.sqrt((p1 - l1) ** 2 - 2 * phi * (p1 - l1) * (u2 - p2) + (u2 - p2) ** 2)
    epsilon = np.sqrt((u1 - p1) ** 2 - 2 * phi * (u1 - p1) * (p2 - l2) + (p2 - l2) ** 2)
    return p1 - p2 - delta, p1 - p2 + epsilon


def score(more, less, n, d):
    """The score statistic of a difference d: more pairs than it says, in standard errors."""
    lowest, highest = max(0.0, -d), (1 - d) / 2

    def slope(q):
        """How the log likelihood falls where less / n is expected to be q, more / n q + d; it is concave, so this rises."""
        terms = [(more, 1, q + d), (less, 1, q), (n - more - less, -2, 1 - 2 * q - d)]
        return -sum(count * by / chance for count, by, chance in terms if count > 0)

    if highest <= lowest:
        q = lowest
    else:
        near = 1e-13 * (highest - lowest)
        ends = lowest + near, highest - near
        slopes = slope(ends[0]), slope(ends[1])
        if slopes[0] >= 0:
            q = lowest
        elif slopes[1] <= 0:
            q = highest
        else:
            q = optimize.brentq(slope, *ends, xtol=1e-16, rtol=1e-15)
    variance = n * (2 * q + d - d * d)
    apart = more - less - n * d
    if variance <= 0:
        return 0.0 if apart == 0 else np.copysign(np.inf, apart)
    return apart / np.sqrt(variance)


def tango(both, more, less, neither):
    n, z = both + more + less + neither, stats.norm.ppf(0.975)
    seen = (more - less) / n

    def end(sign, bound):
        if seen == bound:
            return bound
        at = lambda d: min(max(sign * score(more, less, n, d), -1e3), 1e3) - z
        return optimize.brentq(at, seen, bound, xtol=1e-12)

    return end(1, -1.0), end(-1, 1.0)


def paired_t(differences):
    values = np.array(differences, dtype=float)
    ends = stats.ttest_rel(values, np.zeros(len(values))).confidence_interval(0.95)
    return float(ends.low), float(ends.high), 28 + 25 * float(stats.skew(values)) ** 2


def answer(case):
    if "differences" in case:
        return paired_t(case["differences"])
    return {"newcombe": newcombe_10, "tango": tango}[case["method"]](*case["table"])


if __name__ == "__main__":
    json.dump([[float(end) for end in answer(case)] for case in json.load(sys.stdin)], sys.stdout)
