"""Compare the fitted day model with the record it came from: yearly counts of suitable days in spans.

The fit of `derive_days.py` looks at lag correlations only. What a farm feels is how much the number of suitable days
in a span differs from year to year; this script prints its mean and variance in the record, in the fitted model (a
plain numpy simulation of it) and for independent days. Nothing is written; no table depends on this file.

Run `python check_days.py`.
"""

import numpy as np
from derive_days import SOILS, block_mask, class_driver, derive, read_record, year_day
from scipy.special import betaincinv

SPAN_STARTS = ("03-01", "08-01", "09-15")
SPAN_DAYS = (20, 30, 60)
SEASONS = 8000
Q_POINTS = 256
HEADINGS = ("class", "soil", "from", "days", "mean", "model mean", "var", "model var", "independent var")


def beta_quantiles(p, phi):
    """Quantiles at Q_POINTS mid-points of the Beta with mean p and variance phi*p*(1-p), one row a day."""
    level = (np.arange(Q_POINTS) + 0.5) / Q_POINTS
    rows = np.empty((len(p), Q_POINTS))
    for row, mean, spread in zip(rows, p, phi):
        size = (1 - spread) / spread if spread > 0 else np.inf
        row[:] = betaincinv(mean * size, (1 - mean) * size, level) if 0 < mean < 1 and spread > 0 else mean
    return rows


def driver_by_day(fits, driver):
    """rho, phi and kappa on each of 366 days."""
    rho, phi, kappa = np.zeros(366), np.zeros(366), np.zeros(366)
    for fit in (f for f in fits if f.driver == driver):
        inside = block_mask(np.arange(366), fit.start, fit.to)
        rho[inside], phi[inside], kappa[inside] = fit.persistence, fit.spread, 1 - 1 / fit.spread_days
    return rho, phi, kappa


def simulate(fits, driver, smooth, seasons=SEASONS, seed=1):
    """Suitable days of the model, seasons x 366, the draws fresh on 1 January."""
    rho, phi, kappa = driver_by_day(fits, driver)
    quantiles = beta_quantiles(smooth, phi)
    draw = np.random.default_rng(seed)
    days = np.empty((seasons, 366), dtype=bool)
    w, q = draw.random(seasons), draw.random(seasons)
    for d in range(366):
        if d:
            w = np.where(draw.random(seasons) < rho[d], w, draw.random(seasons))
            q = np.where(draw.random(seasons) < kappa[d], q, draw.random(seasons))
        days[:, d] = w < quantiles[d, (q * Q_POINTS).astype(int)]
    return days


def recorded(record, days):
    """Suitable days of the record, years x 366; 29 February of a common year repeats the 28th."""
    years = np.unique(record.year)
    table = np.full((len(years), 366), np.nan)
    table[record.year - years[0], record.year_day] = days
    leap = year_day("02-29")
    table[:, leap] = np.where(np.isnan(table[:, leap]), table[:, leap - 1], table[:, leap])
    return table


def compare(record, derived, work_classes):
    """Rows of HEADINGS for each of the classes, each soil and span."""
    for work_class, soil in (key for key in derived.days if key[0] in work_classes):
        p = derived.smooth[work_class, soil]
        real = recorded(record, derived.days[work_class, soil])
        model = simulate(derived.fits, class_driver(work_class), p)
        for start in SPAN_STARTS:
            for length in SPAN_DAYS:
                span = slice(year_day(start), year_day(start) + length)
                seen, made = real[:, span].sum(axis=1), model[:, span].sum(axis=1)
                independent = (p[span] * (1 - p[span])).sum()
                figures = (seen.mean(), made.mean(), seen.var(ddof=1), made.var(ddof=1), independent)
                yield (work_class, soil, start, length, *figures)


def main():
    record = read_record()
    derived = derive(record)
    work_classes = [work_class for work_class, soil in derived.days if soil == SOILS[0]]
    print("  ".join(HEADINGS) + "  model var / var")
    for work_class, soil, start, length, *figures in compare(record, derived, work_classes):
        shown = " ".join(f"{figure:7.2f}" for figure in figures)
        print(f"{work_class:11} {soil:7} {start} {length:3} {shown}   {figures[3] / figures[2]:.2f}")


if __name__ == "__main__":
    main()
