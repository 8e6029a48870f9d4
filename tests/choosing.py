"""Choosing the least of several a second time: reads cases on standard input and answers for each with who dropped out.

The procedure of Kim S-H, Nelson BL (2001), A fully sequential procedure for indifference-zone selection in simulation, ACM
TOMACS 11:251-273, with c = 1 and common random numbers, as the paper has it: for the greatest mean of values whose sign
is turned, screening on means, the constant found by solving its defining equation rather than in closed form.

A case has "values" (a list of batches, each with a value of every one), "zone", "error" and "first"; the answer is a list
of [who, after how many batches], and who is left in the end.
"""

import json
import sys

import numpy as np
from scipy import optimize


def choose(values, zone, error, first):
    x = -np.array(values, dtype=float)
    k = x.shape[1]
    # g(eta) = (1 + 2 eta)^(-(n0 - 1) / 2) / 2 = alpha / (k - 1)
    g = lambda eta: 0.5 * (1 + 2 * eta) ** (-(first - 1) / 2) - error / (k - 1)
    eta = optimize.brentq(g, 0, 1e6, xtol=1e-15, rtol=1e-14, maxiter=1000)
    h2 = 2 * eta * (first - 1)
    s2 = np.array([[np.var(x[:first, i] - x[:first, j], ddof=1) for j in range(k)] for i in range(k)])
    stays, out = list(range(k)), []
    # floor(h2 S2 / zone^2) batches of a pair are the most that can be needed.
    most = np.floor(h2 * s2 / zone**2).max()
    for r in range(first, len(x) + 1):
        means = x[:r].mean(axis=0)
        w = np.maximum(0, zone / (2 * r) * (h2 * s2 / zone**2 - r))
        keeps = [i for i in stays if all(means[i] >= means[j] - w[i, j] for j in stays if j != i)]
        out += [[i, r] for i in stays if i not in keeps]
        stays = keeps
        if len(stays) == 1 or r > most:
            break
    return {"out": out, "left": stays}


if __name__ == "__main__":
    json.dump([choose(**case) for case in json.load(sys.stdin)], sys.stdout)
