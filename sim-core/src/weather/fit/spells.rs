//! Persistence and spread in spells, fitted to how alike days are that lie 1 to 25 days apart.
//!
//! For days alike in p the model's correlation at lag k is
//! `kappa^k (phi + (1 - phi) rho^k) + (1 - kappa^k) m rho^k`. Written out it is
//! `phi kappa^k + m rho^k + (1 - phi - m) (kappa rho)^k`: exchanging rho with kappa and phi with m changes nothing, so
//! each fit has a twin that the correlations cannot tell from it. Spread means the slow part, spells that outlast
//! day-to-day persistence; so rho is kept at or below kappa.

use super::least_squares::{Slopes, least_from, least_squares};
use super::series::{Block, Series};
use super::{FitError, Law};
use libm::{exp, lgamma, log, pow, sqrt};

/// Lags that are fitted: 1 to this many days. Beyond, a record of decades says little of a spell of weeks.
pub const LAGS: usize = 25;

/// Days whose chance is nearer to 0 or 1 say little about persistence.
pub(super) const P_FITTED: (f64, f64) = (0.1, 0.9);
/// Bounds of the fit. Spells of more than four months are not told from a lasting difference by lags of 25 days.
const RHO_MAX: f64 = 0.98;
const PHI_MAX: f64 = 0.6;
/// The keys of a driver differ more than drivers do: hard work has most.
pub(super) const KEY_PHI_MAX: f64 = 0.95;
pub(super) const SPREAD_DAYS_MAX: f64 = 120.0;
/// Three parameters, and one lag to spare.
const LAGS_NEEDED: usize = 4;

/// A fit of persistence and spread in spells, beside the correlations it was fitted to.
#[derive(Debug, Clone, PartialEq)]
pub struct SpellFit {
    /// The fitted law: `rho` at most `kappa` and 0.98, `phi` at most 0.6, `spread_days` 1 to 120.
    pub law: Law,
    /// Key-days that the fit used: known, in the block, of chance 0.1 to 0.9.
    pub days: usize,
    /// The record's correlation at lags of 1, 2, ... days, all keys together; `NAN` where there is no pair of days.
    pub observed: [f64; LAGS],
    /// The law's correlation at the same lags.
    pub modelled: [f64; LAGS],
    /// Pairs of days at each lag.
    pub pairs: [f64; LAGS],
}

/// Fits one law to all keys of a driver in a part of the year: weighted least squares of the correlations of the
/// deviations from p(d), the number of pairs as weight, from several starts, the best of which is kept.
///
/// # Errors
/// When hardly any day has a chance of 0.1 to 0.9, or the block is shorter than a few days.
///
/// # Panics
/// When the block reaches beyond the record.
///
/// ```
/// use sim_core::weather::fit::{Block, Series, fit_spells};
/// // Weeks that are all good or all bad.
/// let week = |index: u32| (index * index).wrapping_mul(2_654_435_761) >> 31 == 1;
/// let verdicts: Vec<_> = (0..7 * 1_000).map(|day| Some(week(day / 7))).collect();
/// let p = vec![0.5; verdicts.len()];
/// let fit = fit_spells(&Block::of_seasons(100, 70), &[Series::new(&verdicts, &p).unwrap()]).unwrap();
/// assert!(fit.observed[0] > 0.7 && fit.modelled[0] > 0.7);
/// ```
pub fn fit_spells(block: &Block, keys: &[Series<'_>]) -> Result<SpellFit, FitError> {
    fit_from(starts(), block, keys)
}

/// From where laws are searched: rho over kappa, phi, and the log of the spell.
pub(super) fn starts() -> impl Iterator<Item = [f64; 3]> {
    let shares = [(0.3, 0.1), (0.3, 0.4), (0.8, 0.1), (0.8, 0.4)];
    shares.into_iter().flat_map(|(share, phi)| [4.0, 20.0].map(|days| [share, phi, log(days)]))
}

/// The greatest that these parameters may be.
pub(super) fn bounds() -> [f64; 3] {
    [1.0, PHI_MAX, log(SPREAD_DAYS_MAX)]
}

/// As [`fit_spells`], from one start: the law of a record that differs little from this one.
pub(super) fn fit_spells_near(law: &Law, block: &Block, keys: &[Series<'_>]) -> Result<SpellFit, FitError> {
    // At an edge the slopes of the other parameters may vanish: begin a little inside.
    let start = [
        share_of(law).clamp(0.05, 0.95),
        law.phi.clamp(0.02, PHI_MAX - 0.02),
        log(law.spread_days.clamp(1.5, 100.0)),
    ];
    fit_from(std::iter::once(start), block, keys)
}

fn fit_from(
    starts: impl Iterator<Item = [f64; 3]>,
    block: &Block,
    keys: &[Series<'_>],
) -> Result<SpellFit, FitError> {
    let seen = Correlations::of(block, keys)?;
    let best = least_from(starts, [0.0; 3], bounds(), |x, out: &mut Slopes<3>| {
        let point = Point::of(x, &seen.pool);
        seen.residuals(&point, out, |slopes| slopes);
    });
    let point = Point::of(&best.map_or([0.0; 3], |best| best.at), &seen.pool);
    Ok(seen.fit(&point))
}

/// rho over kappa, as the fit holds it.
fn share_of(law: &Law) -> f64 {
    let kappa = law.kappa();
    if kappa > 0.0 { law.rho / kappa } else { 0.0 }
}

/// Fits the spread of one key alone, up to 0.95: persistence and `spread_days` stay those of `driver`, the law fitted
/// to all keys, so that the key keeps the driver's sky.
///
/// # Errors
/// As [`fit_spells`].
///
/// # Panics
/// When the block reaches beyond the record.
pub fn fit_spread(block: &Block, key: Series<'_>, driver: &Law) -> Result<SpellFit, FitError> {
    let seen = Correlations::of(block, &[key])?;
    let share = share_of(driver);
    let point = |phi: f64| Point::of(&[share, phi, log(driver.spread_days)], &seen.pool);
    let found = least_squares([driver.phi], [0.0], [KEY_PHI_MAX], |x, out: &mut Slopes<1>| {
        seen.residuals(&point(x[0]), out, |slopes| [slopes[1]]);
    });
    Ok(seen.fit(&point(found.at[0])))
}

/// What the record says: the correlations, the pairs behind them, and where the chances lie.
struct Correlations {
    observed: [f64; LAGS],
    pairs: [f64; LAGS],
    /// Root of each lag's share of the pairs: its weight on a residual.
    root: [f64; LAGS],
    days: usize,
    pool: Pool,
}

impl Correlations {
    fn of(block: &Block, keys: &[Series<'_>]) -> Result<Self, FitError> {
        let (mut top, mut scale, mut pairs) = ([0.0; LAGS], [0.0; LAGS], [0.0; LAGS]);
        let (mut days, mut count) = (0, [0.0; CELLS]);
        // Of each day of one occurrence: deviation, sd and whether it is used.
        let mut year: Vec<(f64, f64, f64)> = Vec::new();
        for key in keys {
            for occurrence in block.occurrences() {
                year.clear();
                for day in occurrence.days.clone() {
                    let p = key.p()[day];
                    let deviation = key.deviation(day).filter(|_| (P_FITTED.0..=P_FITTED.1).contains(&p));
                    year.push(deviation.map_or((0.0, 0.0, 0.0), |off| (off, sqrt(p * (1.0 - p)), 1.0)));
                    if deviation.is_some() {
                        days += 1;
                        count[cell(p)] += 1.0;
                    }
                }
                for lag in 1..=LAGS.min(year.len().saturating_sub(1)) {
                    for (first, second) in year.iter().zip(&year[lag..]) {
                        top[lag - 1] += first.0 * second.0;
                        scale[lag - 1] += first.1 * second.1;
                        pairs[lag - 1] += first.2 * second.2;
                    }
                }
            }
        }
        let lags = pairs.iter().filter(|pairs| **pairs > 0.0).count();
        if lags < LAGS_NEEDED {
            return Err(FitError::NothingVaries { lags, needed: LAGS_NEEDED });
        }
        let observed = std::array::from_fn(|lag| top[lag] / scale[lag]);
        let all_pairs: f64 = pairs.iter().sum();
        let root = pairs.map(|pairs| sqrt(pairs / all_pairs));
        Ok(Self { observed, pairs, root, days, pool: Pool::of(&count) })
    }

    /// Residuals at `point`; `slopes` picks those of the parameters that are fitted.
    fn residuals<const N: usize>(
        &self,
        point: &Point,
        out: &mut Slopes<N>,
        slopes: impl Fn([f64; 3]) -> [f64; N],
    ) {
        out.residuals.resize(LAGS, 0.0);
        out.slopes.resize(LAGS, [0.0; N]);
        for lag in (0..LAGS).filter(|lag| self.pairs[*lag] > 0.0) {
            let (correlation, slope) = point.at(lag + 1);
            out.residuals[lag] = self.root[lag] * (correlation - self.observed[lag]);
            out.slopes[lag] = slopes(slope).map(|slope| self.root[lag] * slope);
        }
    }

    fn fit(&self, point: &Point) -> SpellFit {
        SpellFit {
            law: point.law(),
            days: self.days,
            observed: self.observed,
            modelled: std::array::from_fn(|lag| point.at(lag + 1).0),
            pairs: self.pairs,
        }
    }
}

/// Cells in which the chances are pooled: m varies little within one.
const CELLS: usize = 32;

/// The chances in the pool, each cell with its share of the sum of p (1 - p).
pub(super) struct Pool {
    p: [f64; CELLS],
    weight: [f64; CELLS],
}

pub(super) fn cell(p: f64) -> usize {
    let place = (p - P_FITTED.0) / (P_FITTED.1 - P_FITTED.0) * CELLS as f64;
    (place as usize).min(CELLS - 1)
}

impl Pool {
    /// No chances yet, by cell.
    pub(super) const fn empty() -> [f64; CELLS] {
        [0.0; CELLS]
    }

    pub(super) fn of(count: &[f64; CELLS]) -> Self {
        let width = (P_FITTED.1 - P_FITTED.0) / CELLS as f64;
        let p: [f64; CELLS] = std::array::from_fn(|cell| P_FITTED.0 + width * (cell as f64 + 0.5));
        let weight: [f64; CELLS] = std::array::from_fn(|cell| count[cell] * p[cell] * (1.0 - p[cell]));
        let all: f64 = weight.iter().sum();
        Self { p, weight: weight.map(|weight| weight / all) }
    }

    /// One chance alone.
    #[cfg(test)]
    pub(super) fn one(p: f64) -> Self {
        let mut pool = Self::of(&std::array::from_fn(|at| f64::from(u8::from(at == cell(p)))));
        pool.p[cell(p)] = p;
        pool
    }

    /// m for spread `phi`, over the pool.
    fn shared_sky(&self, phi: f64) -> f64 {
        // Below this the Beta is a point for every purpose.
        let size = (1.0 - phi.max(1e-9)) / phi.max(1e-9);
        let whole = ln_beta_twice(size);
        let cells = self.p.iter().zip(&self.weight).filter(|(_, weight)| **weight > 0.0);
        cells.map(|(p, weight)| weight * shared_sky(*p, size, whole)).sum()
    }
}

/// m = (E min(P, P') - p^2) / (p (1 - p)) of two independent draws of the Beta of parameters `p size` and `(1 - p) size`.
///
/// E min = p - E|P - P'| / 2, and the Beta's mean difference is `4 / (a + b) B(a + b, a + b) / (B(a, a) B(b, b))`
/// (R package giniVarCI, after Kleiber and Kotz 2003); `whole` is the log of its numerator.
fn shared_sky(p: f64, size: f64, whole: f64) -> f64 {
    let difference = 4.0 / size * exp(whole - ln_beta_twice(p * size) - ln_beta_twice((1.0 - p) * size));
    1.0 - difference / (2.0 * p * (1.0 - p))
}

/// Log of B(x, x). For large x the difference of log gammas loses all digits, so the series of Stirling is used.
fn ln_beta_twice(x: f64) -> f64 {
    if x < 1e4 {
        return 2.0 * lgamma(x) - lgamma(2.0 * x);
    }
    (1.0 - 2.0 * x) * std::f64::consts::LN_2 + 0.5 * log(std::f64::consts::PI / x) + 1.0 / (8.0 * x)
}

/// The model at a point of the fit: `x` is rho over kappa, phi and the log of spread_days.
pub(super) struct Point {
    rho: f64,
    phi: f64,
    spread_days: f64,
    kappa: f64,
    m: f64,
    m_slope: f64,
    /// Slopes of rho over x0 and over kappa.
    rho_slopes: (f64, f64),
}

impl Point {
    pub(super) fn law(&self) -> Law {
        Law { rho: self.rho, phi: self.phi, spread_days: self.spread_days }
    }

    pub(super) fn of(x: &[f64; 3], pool: &Pool) -> Self {
        let spread_days = exp(x[2]);
        let kappa = 1.0 - 1.0 / spread_days;
        let (rho, rho_slopes) =
            if x[0] * kappa > RHO_MAX { (RHO_MAX, (0.0, 0.0)) } else { (x[0] * kappa, (kappa, x[0])) };
        let phi = x[1];
        let (low, high) = ((phi - 1e-5).max(0.0), phi + 1e-5);
        let (m_low, m_high) = (pool.shared_sky(low), pool.shared_sky(high));
        Self {
            rho,
            phi,
            spread_days,
            kappa,
            m: pool.shared_sky(phi),
            m_slope: (m_high - m_low) / (high - low),
            rho_slopes,
        }
    }

    /// Correlation at lag `lag` and its slopes over x.
    pub(super) fn at(&self, lag: usize) -> (f64, [f64; 3]) {
        let k = lag as f64;
        let (before_q, before_w) = (pow(self.kappa, k - 1.0), pow(self.rho, k - 1.0));
        let (same_q, same_w) = (before_q * self.kappa, before_w * self.rho);
        let (kept, lost) = (self.phi + (1.0 - self.phi) * same_w, self.m * same_w);
        let over_rho = (same_q * (1.0 - self.phi) + (1.0 - same_q) * self.m) * k * before_w;
        let over_kappa = (kept - lost) * k * before_q + over_rho * self.rho_slopes.1;
        let slopes = [
            over_rho * self.rho_slopes.0,
            same_q * (1.0 - same_w) + (1.0 - same_q) * same_w * self.m_slope,
            over_kappa / self.spread_days,
        ];
        (same_q * kept + (1.0 - same_q) * lost, slopes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::{DriverSpec, KeySpec, Sky, Weather, WeatherSpec};

    fn pool(p: f64) -> Pool {
        Pool::one(p)
    }

    #[test]
    fn slopes_are_those_of_the_correlations() {
        let pool = pool(0.35);
        let x = [0.5, 0.25, 2.0];
        for lag in [1, 3, 20] {
            let slopes = Point::of(&x, &pool).at(lag).1;
            for i in 0..3 {
                let (mut below, mut above) = (x, x);
                below[i] -= 1e-4;
                above[i] += 1e-4;
                let want = (Point::of(&above, &pool).at(lag).0 - Point::of(&below, &pool).at(lag).0) / 2e-4;
                assert!((slopes[i] - want).abs() < 1e-6, "lag {lag} slope {i}: {} {want}", slopes[i]);
            }
        }
    }

    #[test]
    fn both_ways_to_the_log_beta_meet_and_no_spread_shares_all() {
        let x = 1e4;
        let direct = 2.0 * lgamma(x) - lgamma(2.0 * x);
        assert!((ln_beta_twice(x) - direct).abs() < 1e-9, "{} {direct}", ln_beta_twice(x));
        assert!((pool(0.5).shared_sky(0.0) - 1.0).abs() < 1e-4);
    }

    /// Fitted alone, the key whose spread the driver's fit took has that spread again.
    #[test]
    fn the_spread_of_the_only_key_is_the_drivers() {
        let spec = WeatherSpec {
            span_days: 4_000,
            drivers: vec![DriverSpec::alike("soil", 1.0, 0.4, 0.9, 4_000)],
            keys: vec![KeySpec::alike(0, 0.5, 0.3, 4_000)],
            recorded: None,
        };
        let mut sky = Sky::default();
        Weather::new(&spec).unwrap().draw(1, 0, &mut sky);
        let verdicts: Vec<_> = (0..4_000).map(|day| Some(sky.suitable(0, day))).collect();
        let (block, key) = (Block::of_seasons(50, 80), Series::new(&verdicts, &spec.keys[0].p).unwrap());
        let both = fit_spells(&block, &[key]).unwrap();
        assert!(both.law.phi > 0.05, "{both:?}");
        let alone = fit_spread(&block, key, &Law { phi: 0.5, ..both.law }).unwrap();
        assert!((alone.law.phi - both.law.phi).abs() < 1e-5, "{alone:?} {both:?}");
        assert!((alone.law.rho - both.law.rho).abs() < 1e-12);
    }

    #[test]
    fn a_block_in_which_nothing_varies_says_so() {
        let (verdicts, p) = (vec![Some(true); 60], vec![0.95; 60]);
        let key = Series::new(&verdicts, &p).unwrap();
        assert_eq!(
            fit_spells(&Block::of_seasons(2, 30), &[key]).unwrap_err().to_string(),
            "the part of the year has 0 of the 4 lags needed with two days whose chance is 0.1 to 0.9: join it with a neighbour"
        );
    }
}
