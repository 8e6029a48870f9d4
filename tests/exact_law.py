"""Exact laws of days that are all alike, a second time and by other means than the program's.

Reads a list of cases on standard input (p, rho, phi, needed, days) and answers for each with the chance that the
`needed`-th suitable day is day 1, 2, ... `days`.

Given a season's chance P the days are a chain: the first suitable with P, each later one as the day before with
probability rho, else suitable with P afresh. P is p, or Beta distributed with mean p and variance phi p (1 - p) and the
same all season.

* independent days: the negative binomial of scipy;
* P spread, no persistence: the beta-binomial of scipy, by differences;
* persistence: the generating function of the number of suitable days, read off at roots of unity;
* both: that, integrated over P with the double exponential rule (trapezoids after x = 1 / (1 + exp(-pi sinh t))).
"""

import json
import sys

import numpy as np
from scipy import special, stats


def beta_shape(p, phi):
    size = (1 - phi) / phi
    return p * size, (1 - p) * size


def chances(p, phi):
    """Values of P and their weights."""
    if phi == 0:
        return np.array([p]), np.array([1.0])
    a, b = beta_shape(p, phi)
    step = 1 / 64
    t = np.arange(-5, 5 + step, step)
    u = np.pi * np.sinh(t)
    log_x, log_y = -np.logaddexp(0, -u), -np.logaddexp(0, u)
    weights = step * np.pi * np.cosh(t) * np.exp(a * log_x + b * log_y - special.betaln(a, b))
    return np.exp(log_x), weights


def fewer_than(needed, p, rho, phi, days):
    """The chance of fewer than `needed` suitable days among the first 1, 2, ... `days`."""
    x, weights = chances(p, phi)
    z = np.exp(2j * np.pi * np.arange(days + 1) / (days + 1))
    up, down = (x + rho * (1 - x))[:, None], (x * (1 - rho))[:, None]
    suitable, unsuitable = x[:, None] * z, (1 - x)[:, None] + 0 * z
    below = []
    for _ in range(days):
        generating = weights @ (suitable + unsuitable)
        law = np.fft.fft(generating).real / (days + 1)
        below.append(law[:needed].sum())
        suitable, unsuitable = (
            (suitable * up + unsuitable * down) * z,
            suitable * (1 - up) + unsuitable * (1 - down),
        )
    return np.array(below)


def finishing_day(p, rho, phi, needed, days):
    day = np.arange(1, days + 1)
    if rho == 0 and phi == 0:
        return stats.nbinom.pmf(day - needed, needed, p)
    if rho == 0:
        a, b = beta_shape(p, phi)
        below = stats.betabinom.cdf(needed - 1, day, a, b)
    else:
        below = fewer_than(needed, p, rho, phi, days)
    return -np.diff(below, prepend=1.0)


if __name__ == "__main__":
    json.dump([finishing_day(**case).tolist() for case in json.load(sys.stdin)], sys.stdout)
