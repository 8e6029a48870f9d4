"""The independent laws of `exact_law.py` against each other, and against figures derived by exact arithmetic.

`exact_law.rs` holds the program to the same laws.
"""

from fractions import Fraction
from math import comb

import numpy as np
import pytest
from exact_law import chances, fewer_than, finishing_day
from scipy import stats

DAYS = np.arange(1, 401)


def late(needed, allowed, p, rho=0.0, phi=0.0):
    return 1 - finishing_day(p, rho, phi, needed, allowed).sum()


def test_ten_days_of_one_half():
    """n 10, p 0.5: mean 20, sd 4.472, P(day > 20) 0.4119, 1.762 days late on average after day 20, 80 % day 24."""
    law = finishing_day(0.5, 0.0, 0.0, 10, 400)
    mean = law @ DAYS
    assert mean == pytest.approx(20, abs=1e-9)
    assert np.sqrt(law @ (DAYS - mean) ** 2) == pytest.approx(4.472, abs=5e-4)
    assert law[20:].sum() == pytest.approx(0.4119, abs=5e-5)
    assert law @ np.maximum(DAYS - 20, 0) == pytest.approx(1.762, abs=5e-4)
    assert np.argmax(np.cumsum(law) >= 0.8) + 1 == 24
    # Exactly, in whole numbers: fewer than ten heads in twenty tosses.
    assert law[20:].sum() == pytest.approx(float(Fraction(sum(comb(20, k) for k in range(10)), 2**20)), abs=1e-13)


@pytest.mark.parametrize(("rho", "phi", "want"), [(0, 0, 0.1143), (0.4, 0, 0.2121), (0, 0.05, 0.2086)])
def test_twelve_days_of_twenty_four(rho, phi, want):
    assert late(12, 24, 0.6, rho, phi) == pytest.approx(want, abs=5e-5)


@pytest.mark.parametrize(("rho", "want"), [(0.0, 2.24), (0.6, 4.26)])
def test_persistence_widens_the_count(rho, want):
    count = count_law(0.5, rho, 20)
    mean, variance = moments(count)
    assert mean == pytest.approx(10, abs=1e-12)
    assert np.sqrt(variance) == pytest.approx(want, abs=5e-3)


def test_tel_aviv_rain():
    """P(wet|dry) 0.250, P(wet|wet) 0.662 (Gabriel and Neumann 1962, as quoted by later publications)."""
    rho = 0.662 - 0.250
    wet = 0.250 / (1 - rho)
    assert wet == pytest.approx(0.4252, abs=5e-5)
    assert 1 / (1 - 0.662) == pytest.approx(2.959, abs=5e-4)
    mean, variance = moments(count_law(wet, rho, 30))
    assert mean == pytest.approx(12.755, abs=5e-4)
    assert variance == pytest.approx(17.024, abs=5e-4)
    assert 30 * wet * (1 - wet) == pytest.approx(7.332, abs=5e-4)


def count_law(p, rho, days):
    below = [fewer_than(needed, p, rho, 0.0, days)[-1] for needed in range(1, days + 2)]
    return np.diff(below, prepend=0.0)


def moments(law):
    count = np.arange(len(law))
    return law @ count, law @ (count - law @ count) ** 2


@pytest.mark.parametrize(("p", "phi"), [(0.5, 0.05), (0.3, 0.3), (0.8, 0.6)])
def test_integral_and_generating_function_give_the_beta_binomial(p, phi):
    """Protects the two means used for persistence with spread, where scipy has no law of its own."""
    x, weights = chances(p, phi)
    assert weights.sum() == pytest.approx(1, abs=1e-12)
    assert weights @ x == pytest.approx(p, abs=1e-12)
    assert weights @ (x - p) ** 2 == pytest.approx(phi * p * (1 - p), abs=1e-12)
    size = (1 - phi) / phi
    want = stats.betabinom.cdf(6, np.arange(1, 41), p * size, (1 - p) * size)
    assert fewer_than(7, p, 0.0, phi, 40) == pytest.approx(want, abs=1e-11)
    assert fewer_than(7, p, 0.0, 0.0, 40) == pytest.approx(stats.binom.cdf(6, np.arange(1, 41), p), abs=1e-12)


def test_persistence_and_spread_against_seasons_drawn_here():
    """A plain simulation of the stated chain, so that the law is not only consistent with itself."""
    rng = np.random.default_rng(5)
    p, rho, phi, seasons = 0.6, 0.7, 0.1, 200_000
    size = (1 - phi) / phi
    chance = rng.beta(p * size, (1 - p) * size, seasons)
    w = rng.random(seasons)
    count = (w < chance).astype(int)
    for _ in range(23):
        w = np.where(rng.random(seasons) < rho, w, rng.random(seasons))
        count += w < chance
    want = late(12, 24, p, rho, phi)
    assert abs((count < 12).mean() - want) < 4 * np.sqrt(want * (1 - want) / seasons)
