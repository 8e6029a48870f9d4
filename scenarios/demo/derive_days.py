"""Derive the demo farm's suitable-day tables from the open Dublin Airport daily record.

The demo farm is invented; its weather should not be. This script judges every day of
`record/dublin-airport-daily.csv` by the workability rules below and writes, beside itself (or into --out):

    suitable-days.csv  share of suitable days by work class, soil and half-month
    drivers.csv        persistence, spread and spread_days by weather driver and part of the year
    datapackage.json   units, attribution and method of both tables

Run `python derive_days.py` after changing a rule; `--report` prints the tables and the fit instead of writing.
The same record and the same rules always give the same bytes (no random numbers are drawn here).

What does not live here: the cut of the record itself (described in `record/datapackage.json`) and the
comparison of the fitted model with the record (`check_days.py`).
"""

import argparse
import csv
import datetime
import hashlib
import json
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.optimize import least_squares
from scipy.special import betaln

HERE = Path(__file__).resolve().parent
RECORD = HERE / "record" / "dublin-airport-daily.csv"
ANY = float("inf")  # no limit


# --- The rules -------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Rule:
    """When a day suits a work class on a soil. A day suits when it keeps every limit of the row."""

    work_class: str
    driver: str  # which part of the weather stops this work first: soil, air or wind
    soil: str
    deficit_min_mm: float  # soil moisture deficit at yesterday's close: the soil as the morning finds it
    rain_max_mm: float  # rain of the day itself
    rain_yesterday_max_mm: float
    wind_max_m_s: float  # daily mean at 10 m
    et_min_mm: float  # the day's reference evapotranspiration: drying power for ears and straw


# Every limit is common practice, no source, except where a note under the table says more. Yesterday's closing deficit
# is the state in which the morning finds the soil; rain of the day itself then stops the work. The record does not say
# at which hour its rain day begins, so "today" may be some hours off. The deficits are those of grass: a bare seedbed
# dries faster at its skin and more slowly below, which these limits leave aside.
RULES = (
    # class         driver  soil      deficit  rain  rain y.  wind   et
    Rule("ploughing", "soil", "medium", -2.0, 5.0, 10.0, ANY, 0.0),
    Rule("ploughing", "soil", "heavy", 0.0, 3.0, 5.0, ANY, 0.0),
    Rule("cultivating", "soil", "medium", 1.0, 2.0, 5.0, ANY, 0.0),
    Rule("cultivating", "soil", "heavy", 3.0, 1.0, 3.0, ANY, 0.0),
    Rule("drilling", "soil", "medium", 2.0, 1.0, 5.0, ANY, 0.0),
    Rule("drilling", "soil", "heavy", 5.0, 0.5, 3.0, ANY, 0.0),
    Rule("carting", "soil", "medium", 5.0, 2.0, 5.0, ANY, 0.0),
    Rule("carting", "soil", "heavy", 10.0, 1.0, 3.0, ANY, 0.0),  # note 1
    Rule("combining", "air", "medium", -6.0, 0.5, 3.0, ANY, 1.0),  # note 2
    Rule("combining", "air", "heavy", -5.0, 0.5, 3.0, ANY, 1.0),
    Rule("baling", "air", "medium", -6.0, 0.2, 1.0, ANY, 1.0),
    Rule("baling", "air", "heavy", -5.0, 0.2, 1.0, ANY, 1.0),
    Rule("spraying", "wind", "medium", -6.0, 1.0, ANY, 5.0, 0.0),  # note 3
    Rule("spraying", "wind", "heavy", -5.0, 1.0, ANY, 5.0, 0.0),
    Rule("spreading", "wind", "medium", -2.0, 2.0, ANY, 4.5, 0.0),  # note 4
    Rule("spreading", "wind", "heavy", 0.0, 1.0, ANY, 4.5, 0.0),
)
# 1. Heavy loads travel from a deficit of 10 mm: from memory. Medium land is asked for half of it.
# 2. Air decides combining and baling: a dry day after a day without much rain, and some drying power. The deficit asked
#    for keeps them off waterlogged land only; what soft land costs the harvest shows in carting, which soil decides.
# 3. Extension guides read: spray up to 5 m/s at boom height. 5 m/s as a daily mean at 10 m is 3.7 m/s at 2 m
#    (factor 0.748, FAO Irrigation and Drainage Paper 56). A daily mean misjudges spraying, which uses the calm early
#    and late hours: it refuses days with a calm evening and admits days with a gusty noon.
# 4. An extension guide read: granular fertiliser below Beaufort 3, 3.4 m/s. That is the wind while spreading; in the
#    calm hours it is about three quarters of the daily mean (common practice, no source), hence 4.5 m/s. Its driver
#    is wind, not air: wind is what spoils a 24 m bout, so a day too windy to spray is too windy to spread as well,
#    while rain matters little and only stops the work when it runs off or the land will not carry.

SOILS = ("medium", "heavy")
DRIVERS = ("soil", "air", "wind")

# Parts of the year with parameters of their own. The air driver has a harvest of its own and is joined over the rest,
# since its classes have days neither nearly always nor nearly never suitable only from March to October.
FIVE_SEASONS = (("02-15", "05-15"), ("05-16", "07-31"), ("08-01", "09-15"), ("09-16", "11-30"), ("12-01", "02-14"))
BLOCKS = {
    "soil": FIVE_SEASONS,
    "air": (("02-15", "07-31"), ("08-01", "09-15"), ("09-16", "02-14")),
    "wind": FIVE_SEASONS,
}

LAGS = np.arange(1, 26)
P_FITTED = (0.1, 0.9)  # class-days nearly always or never suitable say little about persistence
RHO_MAX, PHI_MAX, SPREAD_DAYS_MAX = 0.98, 0.6, 120.0  # bounds of the fit; the least are 0, 0 and 1


# --- The record ------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Record:
    """The daily record as arrays of one length. `year_day` is 0..365 in a leap year, so a date keeps its number."""

    year: np.ndarray
    month: np.ndarray
    year_day: np.ndarray
    rain_mm: np.ndarray
    wind_m_s: np.ndarray
    et_ref_mm: np.ndarray
    deficit_mm: dict  # by soil, at the day's close


def year_day(month_day):
    """0..365, the place of an MM-DD in a leap year."""
    return datetime.date.fromisoformat(f"2024-{month_day}").timetuple().tm_yday - 1


def read_record(path=RECORD):
    """Read the record; raises ValueError when a day is missing or a cell is empty, since the rules need every day."""
    with open(path, newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    dates = [datetime.date.fromisoformat(row["date"]) for row in rows]
    if any((b - a).days != 1 for a, b in zip(dates, dates[1:])):
        raise ValueError(f"{path}: the dates do not follow one another day by day")
    column = {name: np.array([float(row[name]) for row in rows]) for name in rows[0] if name != "date"}
    moderate, poor = column["smd_moderate_mm"], column["smd_poor_mm"]
    return Record(
        year=np.array([d.year for d in dates]),
        month=np.array([d.month for d in dates]),
        year_day=np.array([year_day(f"{d:%m-%d}") for d in dates]),
        rain_mm=column["rain_mm"],
        wind_m_s=column["wind_m_s"],
        et_ref_mm=column["et_ref_mm"],
        # The poorly drained series passes the moderate one on some summer days (it transpires at the full rate for
        # longer). Heavy land takes the wetter of the two, so that it never carries where medium land does not.
        deficit_mm={"medium": moderate, "heavy": np.minimum(moderate, poor)},
    )


def suitable(record, rule):
    """1.0 or 0.0 for each day; NaN on the record's first day, whose yesterday is unknown."""
    keeps = (
        (record.deficit_mm[rule.soil][:-1] >= rule.deficit_min_mm)
        & (record.rain_mm[:-1] <= rule.rain_yesterday_max_mm)
        & (record.rain_mm[1:] <= rule.rain_max_mm)
        & (record.wind_m_s[1:] <= rule.wind_max_m_s)
        & (record.et_ref_mm[1:] >= rule.et_min_mm)
    )
    return np.concatenate(([np.nan], keeps.astype(float)))


# --- The table of suitable-day shares --------------------------------------------------------------------------


def half_months():
    """The 24 periods as (from, to) MM-DD, both inclusive; February ends on the 29th."""
    ends = (31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    parts = [((1, 15), (16, end)) for end in ends]
    return [(f"{m:02}-{a:02}", f"{m:02}-{b:02}") for m, part in enumerate(parts, 1) for a, b in part]


def period_of_year_day():
    """For each of 366 days the number of its half-month."""
    lengths = [year_day(to) - year_day(start) + 1 for start, to in half_months()]
    return np.repeat(np.arange(24), lengths)


def period_shares(record, days):
    """Share of suitable days in each half-month, all years together."""
    period = period_of_year_day()[record.year_day]
    known = ~np.isnan(days)
    return np.bincount(period[known], days[known]) / np.bincount(period[known])


def smooth_mean(shares):
    """p(d) on 366 days: straight lines between the periods' mid-points, with node values such that each period keeps
    its share. The clip to 0..1 bites only where a share is 0 or 1 next to one that is not."""
    period = period_of_year_day()
    mids = np.array([(year_day(a) + year_day(b)) / 2 for a, b in half_months()])
    ring = np.concatenate((mids[-1:] - 366, mids, mids[:1] + 366))
    day = np.arange(366)
    weights = np.array([np.interp(day, ring, np.concatenate((unit[-1:], unit, unit[:1]))) for unit in np.eye(24)])
    means = np.array([weights[:, period == i].mean(axis=1) for i in range(24)])
    return np.clip(np.linalg.solve(means, shares) @ weights, 0.0, 1.0)


# --- Persistence and spread ------------------------------------------------------------------------------------


def block_mask(days, start, to):
    """Which of the year-days lie in start..to, inclusive; a block may pass the year's end."""
    a, b = year_day(start), year_day(to)
    return (days >= a) & (days <= b) if a <= b else (days >= a) | (days <= b)


def lag_correlations(record, series, start, to):
    """Pooled correlation of the deviations from p(d) at each lag, both days inside the block.

    `series` holds (days, smooth p on 366 days) of each class and soil. Returns the correlations, the number of pairs
    behind each, and the pooled p (one value for each class-day used, with p*q as its weight in the fit).
    """
    top, scale, pairs, pool = np.zeros(len(LAGS)), np.zeros(len(LAGS)), np.zeros(len(LAGS)), []
    inside = block_mask(record.year_day, start, to)
    for days, smooth in series:
        p = smooth[record.year_day]
        use = inside & (p >= P_FITTED[0]) & (p <= P_FITTED[1]) & ~np.isnan(days)
        deviation, sd = np.where(use, days - p, 0.0), np.where(use, np.sqrt(p * (1 - p)), 0.0)
        pool.append(p[use])
        for i, lag in enumerate(LAGS):
            top[i] += deviation[:-lag] @ deviation[lag:]
            scale[i] += sd[:-lag] @ sd[lag:]
            pairs[i] += np.count_nonzero(use[:-lag] & use[lag:])
    return top / scale, pairs, np.concatenate(pool)


def shared_sky(p, phi):
    """m = (E min(P,P') - p^2)/(p*q) for two independent draws of the Beta with mean p and variance phi*p*q.

    E min = p - E|P-P'|/2, and the Beta's mean absolute difference E|P-P'| is 4/(a+b) * B(a+b,a+b)/(B(a,a)*B(b,b)), so
    no quadrature is needed here (the test of this script does one). Without spread the draws are equal and m is 1.
    """
    phi = np.maximum(phi, 1e-9)  # below this the Beta is a point for every purpose
    size = (1 - phi) / phi
    a, b = p * size, (1 - p) * size
    difference = 4 / size * np.exp(betaln(size, size) - betaln(a, a) - betaln(b, b))
    return 1 - difference / (2 * p * (1 - p))


def pooled_shared_sky(pool):
    """m as a function of phi, averaged over the pooled p with p*q as weight."""
    count, edges = np.histogram(pool, np.linspace(*P_FITTED, 33))
    grid = (edges[:-1] + edges[1:]) / 2
    weight = count * grid * (1 - grid)
    return lambda phi: shared_sky(grid, phi) @ weight / weight.sum()


def model_correlations(rho, phi, spread_days, m):
    """r_k of the model at LAGS, for constant p."""
    kept_w, kept_q = rho**LAGS, (1 - 1 / spread_days) ** LAGS
    return kept_q * (phi + (1 - phi) * kept_w) + (1 - kept_q) * m * kept_w


@dataclass(frozen=True)
class Fit:
    """One block's parameters beside the correlations they were fitted to."""

    driver: str
    start: str
    to: str
    persistence: float
    spread: float
    spread_days: float
    class_days: int
    observed: np.ndarray
    modelled: np.ndarray


def fit_block(record, driver, series, start, to):
    """Weighted least squares of the model's r_k to the record's, the number of pairs as weight, from several starts.

    r_k is phi*kappa^k + m*rho^k + (1-phi-m)*(kappa*rho)^k: exchanging rho with kappa and phi with m leaves it as it is,
    so each fit has a twin that the correlations cannot tell from it. Spread means the slow part, spells that outlast
    day-to-day persistence; so rho is kept at or below kappa.
    """
    observed, pairs, pool = lag_correlations(record, series, start, to)
    m_of, root = pooled_shared_sky(pool), np.sqrt(pairs / pairs.sum())

    def unpack(x):
        """rho = x0 * kappa, phi = x1, spread_days = exp(x2)."""
        spread_days = np.exp(x[2])
        return min(x[0] * (1 - 1 / spread_days), RHO_MAX), x[1], spread_days

    def model(x):
        rho, phi, spread_days = unpack(x)
        return model_correlations(rho, phi, spread_days, m_of(phi))

    starts = [(share, phi, np.log(days)) for share in (0.3, 0.8) for phi in (0.1, 0.4) for days in (4.0, 20.0)]
    fits = [
        least_squares(
            lambda x: root * (model(x) - observed),
            start_at,
            bounds=((0.0, 0.0, 0.0), (1.0, PHI_MAX, np.log(SPREAD_DAYS_MAX))),
            xtol=1e-10,
            ftol=1e-10,
            gtol=1e-10,
        )
        for start_at in starts
    ]
    best = min(fits, key=lambda fit: fit.cost).x
    rho, phi, spread_days = unpack(best)
    return Fit(driver, start, to, rho, phi, spread_days, len(pool), observed, model(best))


# --- All of it, and the files ----------------------------------------------------------------------------------


@dataclass(frozen=True)
class Derived:
    """What the record says: verdicts and p by (class, soil), and the fitted blocks."""

    days: dict
    shares: dict
    smooth: dict
    fits: list


def derive(record):
    """Judge the record, tabulate it and fit the drivers."""
    keys = {(rule.work_class, rule.soil): rule for rule in RULES}
    days = {key: suitable(record, rule) for key, rule in keys.items()}
    shares = {key: period_shares(record, value) for key, value in days.items()}
    smooth = {key: smooth_mean(value) for key, value in shares.items()}
    fits = []
    for driver in DRIVERS:
        series = [(days[key], smooth[key]) for key, rule in keys.items() if rule.driver == driver]
        fits += [fit_block(record, driver, series, start, to) for start, to in BLOCKS[driver]]
    return Derived(days, shares, smooth, fits)


def suitable_days_rows(derived):
    """Rows of suitable-days.csv, in the order of RULES and of the calendar."""
    yield ("class", "soil", "from", "to", "p_suitable")
    for (work_class, soil), shares in derived.shares.items():
        for (start, to), share in zip(half_months(), shares):
            yield (work_class, soil, start, to, f"{share:.4f}")


def drivers_rows(derived):
    """Rows of drivers.csv. A block over the year's end becomes two rows, so that no row runs backwards."""
    yield ("driver", "from", "to", "persistence", "spread", "spread_days")
    for driver in DRIVERS:
        rows = []
        for fit in (f for f in derived.fits if f.driver == driver):
            figures = (f"{fit.persistence:.3f}", f"{fit.spread:.3f}", f"{fit.spread_days:.1f}")
            spans = [(fit.start, fit.to)] if fit.start <= fit.to else [("01-01", fit.to), (fit.start, "12-31")]
            rows += [(driver, start, to, *figures) for start, to in spans]
        yield from sorted(rows, key=lambda row: row[1])


def csv_text(rows):
    """Comma-separated, LF: no cell needs quoting."""
    return "".join(",".join(row) + "\n" for row in rows)


def fields(*descriptions):
    """Field descriptors of a table schema from (name, type, unit or None, text, constraints)."""
    made = []
    for name, kind, unit, text, constraints in descriptions:
        field = {"name": name, "type": kind, "description": text, "constraints": {"required": True, **constraints}}
        made.append(field | ({"unit": unit} if unit else {}))
    return made


def descriptor(tables, record_descriptor):
    """The data package of the two tables; licence and attribution come from the record's own descriptor."""
    month_day = {"pattern": "[01][0-9]-[0-3][0-9]"}
    share = {"minimum": 0, "maximum": 1}
    first = ("from", "string", None, "First day, MM-DD, inclusive.", month_day)
    last = ("to", "string", None, "Last day, MM-DD, inclusive; February ends on the 29th.", month_day)
    classes = list(dict.fromkeys(rule.work_class for rule in RULES))
    schemas = {
        "suitable-days.csv": fields(
            ("class", "string", None, "Work class: operations limited by the same kind of day.", {"enum": classes}),
            ("soil", "string", None, "medium: moderately drained. heavy: poorly drained.", {"enum": list(SOILS)}),
            first,
            last,
            ("p_suitable", "number", "1", "Share of the period's days that suited the class, 1980-2024.", share),
        ),
        "drivers.csv": fields(
            ("driver", "string", None, "The part of the weather that stops the class first.", {"enum": list(DRIVERS)}),
            first,
            last,
            ("persistence", "number", "1", "rho: chance that the sky keeps yesterday's draw.", share),
            ("spread", "number", "1", "phi: variance of the day's p as a share of p*(1-p).", share),
            ("spread_days", "number", "d", "Mean length of a wet or dry spell; one day at least.", {"minimum": 1}),
        ),
    }
    keys = {"suitable-days.csv": ["class", "soil", "from"], "drivers.csv": ["driver", "from"]}
    titles = {"suitable-days.csv": "Suitable days by class, soil and half-month", "drivers.csv": "Weather drivers"}
    drivers = "; ".join(f"{d}: {', '.join(c for c in classes if class_driver(c) == d)}" for d in DRIVERS)
    return {
        "$schema": "https://datapackage.org/profiles/2.0/datapackage.json",
        "name": "demo-farm-suitable-days",
        "title": "Suitable days of the demo farm",
        "description": (
            "Derived by derive_days.py from the daily record in record/ by the workability rules at its top. The farm "
            "is invented; most thresholds are common practice without a source, so the tables serve the demo and are "
            "no advice for a real farm. A day is judged by the soil moisture deficit at yesterday's close, by rain of "
            "the day and of yesterday, and by daily mean wind or evapotranspiration where the class needs them. "
            f"Classes by driver: {drivers}. Persistence, spread and spread_days are fitted together, by weighted least "
            "squares, to the correlations at lags of 1 to 25 days of the deviations from the many-year mean, pooled "
            "over the driver's classes and soils on days where that mean is 0.1 to 0.9. One set of parameters serves all "
            "classes of a driver: the yearly differences of easy work (ploughing medium land) come out larger than in "
            "the record, up to 2.7 times the variance, those of hard work (carting on heavy land) smaller, down to "
            "0.55 times; check_days.py prints them."
        ),
        "licenses": record_descriptor["licenses"],
        "attribution": record_descriptor["attribution"] + " Further modified: judged by workability rules, shares and "
        "correlations computed.",
        "sources": record_descriptor["sources"],
        "resources": [
            {
                "name": name.removesuffix(".csv"),
                "title": titles[name],
                "type": "table",
                "path": name,
                "format": "csv",
                "mediatype": "text/csv",
                "encoding": "utf-8",
                "bytes": len(text.encode()),
                "hash": "sha256:" + hashlib.sha256(text.encode()).hexdigest(),
                "schema": {"fields": schemas[name], "primaryKey": keys[name]},
            }
            for name, text in tables.items()
        ],
    }


def class_driver(work_class):
    """The driver of a class; one for all its soils."""
    return next(rule.driver for rule in RULES if rule.work_class == work_class)


def write_all(derived, folder):
    """Write the two tables and their descriptor into `folder`."""
    tables = {
        "suitable-days.csv": csv_text(suitable_days_rows(derived)),
        "drivers.csv": csv_text(drivers_rows(derived)),
    }
    record_descriptor = json.loads((RECORD.parent / "datapackage.json").read_text(encoding="utf-8"))
    package = json.dumps(descriptor(tables, record_descriptor), indent=2, ensure_ascii=False) + "\n"
    for name, text in (tables | {"datapackage.json": package}).items():
        (folder / name).write_text(text, encoding="utf-8", newline="\n")


def print_report(derived):
    """Both tables in a form a person reads, and the fit at a few lags."""
    print("p_suitable by half-month (a: 1st to 15th, b: the rest), in hundredths")
    print(f"{'':19}" + "".join(f"{a[:2]}{'ab'[i % 2]} " for i, (a, _) in enumerate(half_months())))
    for (work_class, soil), shares in derived.shares.items():
        print(f"{work_class:12}{soil:7}" + "".join(f"{100 * p:3.0f} " for p in shares))
    shown = (1, 2, 3, 5, 10, 15, 25)
    print("\nfitted blocks; correlations observed/modelled at lags " + " ".join(map(str, shown)))
    for fit in derived.fits:
        pairs = " ".join(f"{fit.observed[k - 1]:.2f}/{fit.modelled[k - 1]:.2f}" for k in shown)
        figures = f"{fit.persistence:.3f} {fit.spread:.3f} {fit.spread_days:6.1f}"
        print(f"{fit.driver:5} {fit.start}..{fit.to} {figures} n={fit.class_days:6}  {pairs}")


def main():
    parser = argparse.ArgumentParser(description="Derive the demo farm's suitable-day tables from its daily record.")
    parser.add_argument("--out", type=Path, default=HERE, help="folder to write to (default: beside this script)")
    parser.add_argument("--report", action="store_true", help="print tables and fit, write nothing")
    arguments = parser.parse_args()
    derived = derive(read_record())
    if arguments.report:
        print_report(derived)
    else:
        write_all(derived, arguments.out)


if __name__ == "__main__":
    main()
