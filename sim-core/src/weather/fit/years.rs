//! Persistence and spread with one q a season, fitted to lag-1 correlation and to the variance between years.
//!
//! With q kept all season the lag-1 correlation is `r1 = rho + phi (1 - rho)`: it fixes phi for each rho. The lower rho,
//! the more of r1 is spread, which does not fade with the lag, and the larger the variance of the season's count; so
//! the variance picks rho.

use super::pairs::{Grid, Nodes, Place, Spells};
use super::series::{Block, Counts, Series};
use super::{FitError, Law};
use libm::pow;

/// Chances at which the covariances of spells are made.
const NODES: usize = 16;
/// The most spread that the day model draws.
const PHI_MAX: f64 = 0.99;

/// A fit of persistence and of spread with one q a season.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YearFit {
    /// The fitted law; `spread_days` is infinity.
    pub law: Law,
    /// The record's correlation of neighbouring days, as deviations from p(d), all years and keys together.
    pub lag_1: f64,
    /// The record's variance of the season's count about its chances, summed over the keys, days squared.
    pub observed_variance: f64,
    /// The law's.
    pub modelled_variance: f64,
}

/// Fits one law with one q a season to all keys of a driver in a part of the year.
///
/// Deviations are taken from p(d), not from each year's own mean, which would hide the years' differences. When the
/// variance is no more than persistence `lag_1` alone explains, there is no spread; when even spread without persistence
/// falls short of it, the variance alone is matched.
///
/// # Errors
/// When a key has fewer than two years that are whole and known.
///
/// # Panics
/// When the block reaches beyond the record.
///
/// ```
/// use sim_core::weather::fit::{Block, Series, fit_years};
/// // Good years and bad years, otherwise three days of four or one of four.
/// let day = |index: usize| (index % 4 == 0) != (index / 40 % 2 == 0);
/// let verdicts: Vec<_> = (0..1_600).map(|index| Some(day(index))).collect();
/// let p = vec![0.5; 1_600];
/// let fit = fit_years(&Block::of_seasons(40, 40), &[Series::new(&verdicts, &p).unwrap()]).unwrap();
/// assert!(fit.law.phi > 0.2 && fit.law.rho == 0.0);
/// ```
pub fn fit_years(block: &Block, keys: &[Series<'_>]) -> Result<YearFit, FitError> {
    let mut observed = 0.0;
    for key in keys {
        let counts = Counts::of(block, *key);
        if counts.years < 2 {
            return Err(FitError::TooFewYears { years: counts.years });
        }
        observed += counts.variance_about_p;
    }
    let lag_1 = lag_1(block, keys);
    let mut sums = Sums::of(block, keys);
    let most_rho = lag_1.clamp(0.0, 0.999);
    let mut law = Law::chain(most_rho);
    if observed > sums.variance(&law) {
        // How alike the chances of two days are in a spell depends a little on phi: a few rounds settle it.
        let mut phi = most_rho.max(0.01);
        for _ in 0..4 {
            sums.set_spread(phi);
            law = sums.matching(observed, most_rho);
            if (law.phi - phi).abs() < 1e-3 * phi {
                break;
            }
            phi = law.phi;
        }
    }
    Ok(YearFit { law, lag_1, observed_variance: observed, modelled_variance: sums.variance(&law) })
}

fn lag_1(block: &Block, keys: &[Series<'_>]) -> f64 {
    let (mut top, mut scale) = (0.0, 0.0);
    let sd = |p: f64| (p * (1.0 - p)).sqrt();
    for key in keys {
        for year in block.occurrences() {
            for day in year.days.start + 1..year.days.end {
                if let (Some(yesterday), Some(today)) = (key.deviation(day - 1), key.deviation(day)) {
                    top += yesterday * today;
                    scale += sd(key.p()[day - 1]) * sd(key.p()[day]);
                }
            }
        }
    }
    if scale > 0.0 { top / scale } else { 0.0 }
}

/// Sums over the pairs of days of a season by lag, over all keys: the variance for any law is made of them.
struct Sums {
    nodes: Nodes,
    /// Distinct seasons (29 February makes two) with their share of the years of their key.
    seasons: Vec<(Vec<Place>, f64)>,
    /// Covariance of two days that share w.
    one_sky: Vec<f64>,
    /// Covariance of two days' chances in one spell, over phi.
    one_spell: Vec<f64>,
}

impl Sums {
    fn of(block: &Block, keys: &[Series<'_>]) -> Self {
        let mut distinct: Vec<(&[f64], f64)> = Vec::new();
        for key in keys {
            let years = block.known(*key).count() as f64;
            let before = distinct.len();
            for days in block.known(*key) {
                let p = &key.p()[days];
                match distinct[before..].iter_mut().find(|season| season.0 == p) {
                    Some(season) => season.1 += 1.0 / years,
                    None => distinct.push((p, 1.0 / years)),
                }
            }
        }
        let nodes = Nodes::over(distinct.iter().flat_map(|season| season.0.iter().copied()), NODES);
        let seasons: Vec<(Vec<Place>, f64)> = distinct
            .into_iter()
            .map(|(p, share)| (p.iter().map(|p| nodes.place(*p)).collect(), share))
            .collect();
        let one_sky = by_lag(&seasons, |first, second| first.lesser_covariance(second));
        Self { nodes, seasons, one_spell: vec![0.0; one_sky.len()], one_sky }
    }

    fn set_spread(&mut self, phi: f64) {
        let spells = Spells::of(phi, &self.nodes);
        let grid = Grid::one_spell(&self.nodes, &spells, &spells);
        self.one_spell = by_lag(&self.seasons, |first, second| grid.at(first, second) / phi);
    }

    /// Sum over the keys of the variance of the season's count.
    fn variance(&self, law: &Law) -> f64 {
        let mut variance = 0.0;
        for (lag, (one_sky, one_spell)) in self.one_sky.iter().zip(&self.one_spell).enumerate() {
            let same_w = pow(law.rho, lag as f64);
            variance += same_w * one_sky + (1.0 - same_w) * law.phi * one_spell;
        }
        variance
    }

    /// The law of variance `observed` whose lag-1 correlation is `most_rho`, or that without persistence if it has less.
    fn matching(&self, observed: f64, most_rho: f64) -> Law {
        let law = |rho: f64| Law { phi: ((most_rho - rho) / (1.0 - rho)).max(0.0), ..Law::chain(rho) };
        if self.variance(&law(0.0)) < observed {
            let plain = self.variance(&Law::INDEPENDENT);
            let all = self.variance(&Law { phi: 1.0, ..Law::INDEPENDENT });
            let phi = ((observed - plain) / (all - plain)).clamp(0.0, PHI_MAX);
            return Law { phi, ..Law::INDEPENDENT };
        }
        let (mut low, mut high) = (0.0, most_rho);
        for _ in 0..50 {
            let middle = f64::midpoint(low, high);
            if self.variance(&law(middle)) > observed { low = middle } else { high = middle }
        }
        law(f64::midpoint(low, high))
    }
}

/// Sums by lag, both orders of a pair, over the seasons.
fn by_lag(seasons: &[(Vec<Place>, f64)], covariance: impl Fn(Place, Place) -> f64) -> Vec<f64> {
    let longest = seasons.iter().map(|season| season.0.len()).max().unwrap_or(0);
    let mut sums = vec![0.0; longest];
    for (days, share) in seasons {
        for (lag, sum) in sums.iter_mut().enumerate().take(days.len()) {
            let pairs: f64 = days.iter().zip(&days[lag..]).map(|(a, b)| covariance(*a, *b)).sum();
            *sum += share * if lag == 0 { pairs } else { 2.0 * pairs };
        }
    }
    sums
}

#[cfg(test)]
mod tests {
    use super::super::count_variance;
    use super::*;

    /// The sums by lag against the sum over all pairs, where p varies over the season.
    #[test]
    fn the_sums_have_the_variance_of_the_model() {
        let p: Vec<f64> = (0..76).map(|day| 0.15 + 0.6 * f64::from(day) / 75.0).collect();
        let verdicts = vec![Some(true); 76];
        let mut sums = Sums::of(&Block::of_seasons(1, 76), &[Series::new(&verdicts, &p).unwrap()]);
        for (rho, phi) in [(0.0, 0.2), (0.5, 0.1), (0.3, 0.6)] {
            let law = Law { phi, ..Law::chain(rho) };
            sums.set_spread(phi);
            let (got, want) = (sums.variance(&law), count_variance(&p, &[law; 76]));
            assert!((got / want - 1.0).abs() < 2e-3, "{law:?}: {got} {want}");
        }
    }

    /// n days alike with R times the variance of one: below V_n(r1) no spread, above it bisected, beyond reach phi alone.
    #[test]
    fn each_case_of_the_fit_matches_its_variance() {
        let (verdicts, p) = (vec![Some(true); 60], vec![0.5; 60]);
        let mut sums = Sums::of(&Block::of_seasons(1, 60), &[Series::new(&verdicts, &p).unwrap()]);
        sums.set_spread(0.3);
        let n = 60.0;
        let v = |rho: f64| {
            n * (1.0 + rho) / (1.0 - rho) - 2.0 * rho * (1.0 - pow(rho, n)) / ((1.0 - rho) * (1.0 - rho))
        };
        let r = |law: &Law| sums.variance(law) / 0.25;
        assert!((r(&Law::chain(0.6)) - v(0.6)).abs() < 1e-9);
        let law = sums.matching(0.25 * 500.0, 0.4);
        assert!((r(&law) - 500.0).abs() < 1e-6 && law.rho > 0.0);
        assert!((law.phi * n * n + (1.0 - law.phi) * v(law.rho) - 500.0).abs() < 3.0, "{law:?}");
        let law = sums.matching(0.25 * 2_000.0, 0.4);
        assert!(law.rho == 0.0 && (law.phi - (2_000.0 - n) / (n * n - n)).abs() < 3e-3, "{law:?}");
    }

    #[test]
    fn one_year_has_no_variance() {
        let (verdicts, p) = (vec![Some(true); 30], vec![0.5; 30]);
        let key = Series::new(&verdicts, &p).unwrap();
        assert_eq!(
            fit_years(&Block::of_seasons(1, 30), &[key]).unwrap_err().to_string(),
            "the part of the year is whole and known in 1 years: a variance needs at least 2"
        );
    }
}
