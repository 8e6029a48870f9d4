"""Elementary effects a second time: reads a list of cases on standard input and answers each with what SALib's `morris.analyze`
makes of the same points and the same outputs. The points of 4 or 2 levels lie in 0 to 1.

A case with "function" instead of outputs is answered with the outputs too, from SALib's own test function of that name.
"""

import json
import sys

import numpy as np
from SALib.analyze import morris
from SALib.test_functions import Ishigami


def answer(case):
    points = np.array(case["points"], dtype=float)
    names = [f"x{at}" for at in range(points.shape[1])]
    problem = {"num_vars": len(names), "names": names, "bounds": [[0.0, 1.0]] * len(names)}
    if case.get("function") == "ishigami":
        outputs = Ishigami.evaluate((2.0 * points - 1.0) * np.pi)
    else:
        outputs = np.array(case["outputs"], dtype=float)
    found = morris.analyze(problem, points, outputs, num_levels=case["levels"], num_resamples=10, seed=1)
    return {
        "outputs": [float(value) for value in outputs],
        "mu": [float(value) for value in found["mu"]],
        "mu_star": [float(value) for value in found["mu_star"]],
        "sigma": [float(value) for value in found["sigma"]],
    }


if __name__ == "__main__":
    json.dump([answer(case) for case in json.load(sys.stdin)], sys.stdout)
