"""The demo farm's suitable-day tables against the record they come from.

Protects: that the committed tables are what the script makes of the record; that the record is the one its descriptor
names; figures worked out from the same record elsewhere; the law of the day model that the fit rests on; and that the
fitted model tells more about good and bad years than independent days do. Needs tests/requirements.txt.
"""

import csv
import hashlib
import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from scipy.special import betainc

DEMO = Path(__file__).resolve().parents[1] / "scenarios" / "demo"
sys.path.insert(0, str(DEMO))

import check_days  # noqa: E402
import derive_days  # noqa: E402

MADE = ("suitable-days.csv", "drivers.csv", "datapackage.json")


@pytest.fixture(scope="module")
def record():
    return derive_days.read_record()


@pytest.fixture(scope="module")
def derived(record):
    return derive_days.derive(record)


@pytest.fixture(scope="module")
def regenerated(tmp_path_factory):
    """A folder with the tables as the script writes them now, through its command line."""
    folder = tmp_path_factory.mktemp("days")
    subprocess.run([sys.executable, str(DEMO / "derive_days.py"), "--out", str(folder)], check=True)
    return folder


def rows(path):
    with open(path, newline="", encoding="utf-8") as file:
        return list(csv.reader(file))


# --- The committed files ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", MADE)
def test_committed_file_is_what_the_script_makes(regenerated, name):
    if name.endswith(".csv"):  # cell by cell first: a difference then names its row
        for made, committed in zip(rows(regenerated / name), rows(DEMO / name), strict=True):
            assert made == committed
    assert (regenerated / name).read_bytes() == (DEMO / name).read_bytes()


@pytest.mark.parametrize("folder", (DEMO, DEMO / "record"), ids=("tables", "record"))
def test_descriptor_matches_its_files(folder):
    package = json.loads((folder / "datapackage.json").read_text(encoding="utf-8"))
    assert package["licenses"][0]["name"] == "CC-BY-4.0"
    assert "Met Éireann" in package["attribution"] and "modified" in package["attribution"]
    described = {resource["path"] for resource in package["resources"]}
    # The diary is no table of the record's: it is invented with the farm.
    assert described == {path.name for path in folder.glob("*.csv")} - {"diary.csv"}
    for resource in package["resources"]:
        raw = (folder / resource["path"]).read_bytes()
        assert resource["bytes"] == len(raw)
        assert resource["hash"] == "sha256:" + hashlib.sha256(raw).hexdigest()
        header, *body = rows(folder / resource["path"])
        schema = resource["schema"]
        assert header == [field["name"] for field in schema["fields"]]
        key = [header.index(name) for name in schema["primaryKey"]]
        assert len({tuple(row[i] for i in key) for row in body}) == len(body)
        for field, column in zip(schema["fields"], zip(*body), strict=True):
            check_column(field, column)


def check_column(field, column):
    """Every cell present, of the declared type, inside the declared limits, and of a declared unit if a number."""
    limits = field["constraints"]
    assert "" not in column
    if "enum" in limits:
        assert set(column) == set(limits["enum"])
    if field["type"] == "number":
        assert field["unit"]
        values = [float(cell) for cell in column]
        assert limits.get("minimum", -np.inf) <= min(values) <= max(values) <= limits.get("maximum", np.inf)
    if field["type"] == "date":
        assert (min(column), max(column)) == (limits["minimum"], limits["maximum"])


def test_record_is_small_and_whole(record):
    assert (DEMO / "record" / "dublin-airport-daily.csv").stat().st_size < 1_000_000
    assert len(record.rain_mm) == 45 * 365 + 12  # leap years 1980 to 2024
    assert (record.year[0], record.year[-1]) == (1980, 2024)


def test_every_class_and_soil_covers_the_leap_year_once():
    table = {}
    for work_class, soil, start, to, _ in rows(DEMO / "suitable-days.csv")[1:]:
        table.setdefault((work_class, soil), []).append((start, to))
    assert len(table) == 16
    for spans in table.values():
        assert days_covered(spans) == list(range(366))


def test_every_driver_covers_the_leap_year_once():
    table = {}
    for driver, start, to, *_ in rows(DEMO / "drivers.csv")[1:]:
        table.setdefault(driver, []).append((start, to))
    assert set(table) == set(derive_days.DRIVERS)
    for spans in table.values():
        assert days_covered(spans) == list(range(366))


def days_covered(spans):
    return [d for a, b in spans for d in range(derive_days.year_day(a), derive_days.year_day(b) + 1)]


# --- What the tables say ---------------------------------------------------------------------------------------


def test_heavy_land_never_works_when_medium_does_not(derived):
    for work_class in {key[0] for key in derived.days}:
        heavy, medium = derived.days[work_class, "heavy"][1:], derived.days[work_class, "medium"][1:]
        assert (heavy <= medium).all(), work_class
        assert (derived.shares[work_class, "heavy"] <= derived.shares[work_class, "medium"]).all(), work_class


def test_heavy_land_shuts_in_autumn(derived):
    share = dict(zip((start for start, _ in derive_days.half_months()), derived.shares["drilling", "heavy"]))
    assert share["09-01"] > 0.3
    assert share["10-01"] > share["10-16"] > share["11-01"] > share["11-16"]
    assert share["11-01"] < 0.1 and share["11-16"] < 0.03 and share["12-01"] < 0.01


def test_interpolation_keeps_each_half_month(derived):
    period = derive_days.period_of_year_day()
    for key, smooth in derived.smooth.items():
        kept = np.bincount(period, smooth) / np.bincount(period)
        # only the clip at 0 and 1, next to a share of nearly nothing, moves a mean
        assert np.abs(kept - derived.shares[key]).max() < 0.003, key


# --- Figures worked out from the same record elsewhere (Dublin Airport, moderately drained, 1980-2024: a day suits when
# --- its deficit is 5 mm or more and its rain under 2 mm) -------------------------------------------------------


def plain_days(record):
    return (record.deficit_mm["medium"] >= 5) & (record.rain_mm < 2)


def test_monthly_shares_of_the_plain_rule(record):
    days = plain_days(record)
    shares = [f"{days[record.month == month].mean():.2f}" for month in range(1, 13)]
    assert shares == "0.03 0.20 0.38 0.58 0.68 0.71 0.72 0.68 0.63 0.33 0.10 0.02".split()


@pytest.mark.parametrize(
    ("start", "to", "chain", "variances"),
    [
        ("03-01", "04-30", ".475 .158 .836", "114 76 15"),
        ("08-01", "09-30", ".656 .398 .787", "75 31 14"),
        ("09-01", "11-30", ".353 .105 .789", "231 108 21"),
    ],
)
def test_two_state_chain_of_the_plain_rule(record, start, to, chain, variances):
    inside = derive_days.block_mask(record.year_day, start, to)
    years = plain_days(record)[inside].reshape(45, -1)
    before, after, n = years[:, :-1], years[:, 1:], years.shape[1]
    p, after_bad, after_good = years.mean(), after[~before].mean(), after[before].mean()
    assert [f"{x:.3f}".lstrip("0") for x in (p, after_bad, after_good)] == chain.split()
    r, binomial = after_good - after_bad, n * p * (1 - p)
    two_state = binomial * ((1 + r) / (1 - r) - 2 * r * (1 - r**n) / (n * (1 - r) ** 2))
    observed = years.sum(axis=1).var(ddof=1)
    assert [f"{x:.0f}" for x in (observed, two_state, binomial)] == variances.split()


# --- The law behind the fit ------------------------------------------------------------------------------------


@pytest.mark.parametrize(("p", "phi"), [(0.1, 0.05), (0.3, 0.002), (0.5, 0.3), (0.8, 0.6)])
def test_shared_sky_equals_its_integral(p, phi):
    """E min(P,P') is the integral of (1 - F)^2; x = sin^2 t takes the steep ends of the Beta gently."""
    nodes, weights = np.polynomial.legendre.leggauss(300)
    t, size = (nodes + 1) * np.pi / 4, (1 - phi) / phi
    above = 1 - betainc(p * size, (1 - p) * size, np.sin(t) ** 2)
    lesser = (above**2) @ (weights * np.pi / 4 * np.sin(2 * t))
    assert derive_days.shared_sky(p, phi) == pytest.approx((lesser - p * p) / (p * (1 - p)), abs=1e-9)


def test_simulated_days_have_the_modelled_correlations():
    p, rho, phi, spread_days, seasons = 0.4, 0.45, 0.3, 9.0, 6000
    fit = derive_days.Fit("soil", "01-01", "12-31", rho, phi, spread_days, 0, np.empty(0), np.empty(0))
    deviation = check_days.simulate([fit], "soil", np.full(366, p), seasons) - p
    modelled = derive_days.model_correlations(rho, phi, spread_days, derive_days.shared_sky(p, phi))
    for lag in (1, 2, 5, 12, 25):
        by_season = (deviation[:, :-lag] * deviation[:, lag:]).mean(axis=1) / (p * (1 - p))
        error = by_season.std(ddof=1) / np.sqrt(seasons)
        assert abs(by_season.mean() - modelled[lag - 1]) < 4 * error, lag


def test_spread_outlasts_persistence(derived):
    """Of the two equal fits the slow part is called spread; and no parameter lies on a bound of its own."""
    for fit in derived.fits:
        assert 0 < fit.persistence <= 1 - 1 / fit.spread_days
        assert fit.persistence < derive_days.RHO_MAX and 0 < fit.spread < derive_days.PHI_MAX
        assert 1 < fit.spread_days < derive_days.SPREAD_DAYS_MAX


def test_yearly_counts_are_nearer_the_record_than_independent_days(record, derived):
    for *span, mean, model_mean, var, model_var, independent in check_days.compare(
        record, derived, ("drilling", "combining")
    ):
        assert abs(model_mean - mean) < 2 * np.sqrt(var / 45), span  # two standard errors of the record's mean
        assert abs(np.log(model_var / var)) < abs(np.log(independent / var)), span
