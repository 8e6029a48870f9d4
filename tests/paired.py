"""Differences between pairs a second time: reads a list of cases on standard input and answers for each.

A case with "table" (both, only the first, only the second, neither) is answered with the interval of Newcombe RG (1998),
Statistics in Medicine 17:2635-2650, method 10. None of the packages pinned here has it: it is written below from the
published formula, with Wilson's limits as the roots of the quadratic equation that defines them.

A case with "differences" is answered with the interval of scipy's paired t test.
"""

import json
import sys

import numpy as np
from scipy import stats


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


def paired_t(differences):
    values = np.array(differences, dtype=float)
    ends = stats.ttest_rel(values, np.zeros(len(values))).confidence_interval(0.95)
    return float(ends.low), float(ends.high)


def answer(case):
    return newcombe_10(*case["table"]) if "table" in case else paired_t(case["differences"])


if __name__ == "__main__":
    json.dump([[float(end) for end in answer(case)] for case in json.load(sys.stdin)], sys.stdout)
