//! What few recorded years leave open: ten thousand seasons drawn from forty-five years are forty-five years. Years are
//! clusters, so the interval comes from drawing whole years anew.

use super::interval::{wilson, wilson_of_share};
use crate::weather::bootstrap::mean_interval;

/// Seasons and late seasons of one recorded year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct YearCount {
    pub(super) seasons: u64,
    pub(super) late: u64,
}

/// The 95 % interval of a share for the sampling of its years: the hull of the percentile interval of bootstrapped
/// years and of Wilson's interval for as many years as were worked. The bootstrap alone would call a thing that never
/// happened in 45 years impossible. Nothing if no year was worked.
pub(super) fn interval(years: &[YearCount]) -> Option<(f64, f64)> {
    let shares: Vec<f64> = years
        .iter()
        .filter(|year| year.seasons > 0)
        .map(|year| year.late as f64 / year.seasons as f64)
        .collect();
    let (low, high) = mean_interval(&shares)?;
    let count = shares.len();
    let late_years = shares.iter().sum::<f64>().round() as u64;
    let (wilson_low, wilson_high) = wilson(late_years, count as u64);
    Some((low.min(wilson_low), high.max(wilson_high)))
}

/// What fitting a table again to years drawn anew says of a chance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Refitted {
    /// The record's years.
    pub(super) years: usize,
    /// The variance of the chance that is due to which years the record happens to have.
    pub(super) variance: f64,
}

/// The record's variance of a chance: that of the shares of late seasons in several fits, each of `seasons` (at least
/// 2) seasons, less what so few seasons add to it: `p (1 - p) / (seasons - 1)`, which is that without bias. `late` has
/// the late seasons of each fit.
pub(super) fn variance(late: &[u32], seasons: u64) -> f64 {
    let (count, each) = (late.len() as f64, seasons as f64);
    if late.len() < 2 || seasons < 2 {
        return 0.0;
    }
    let shares = || late.iter().map(|late| f64::from(*late) / each);
    let mean = shares().sum::<f64>() / count;
    let seen = shares().map(|p| (p - mean) * (p - mean)).sum::<f64>() / (count - 1.0);
    let simulated = shares().map(|p| p * (1.0 - p) / (each - 1.0)).sum::<f64>() / count;
    (seen - simulated).max(0.0)
}

/// The 95 % interval of `late` in `seasons` with the record's variance added to the simulation's: Wilson's for as many
/// seasons as would leave the two together.
pub(super) fn with_variance(late: u64, seasons: u64, variance: f64) -> (f64, f64) {
    let n = seasons as f64;
    // A share of 0 or 1 would leave no variance: two of each are added, as in Agresti and Coull's interval.
    let near = (late as f64 + 2.0) / (n + 4.0);
    let one = near * (1.0 - near);
    let share = late as f64 / n;
    wilson_of_share(share, (one / (one / n + variance)).max(1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn years(late: usize, count: usize) -> Vec<YearCount> {
        (0..count).map(|year| YearCount { seasons: 20, late: if year < late { 20 } else { 0 } }).collect()
    }

    #[test]
    fn what_never_happened_is_not_impossible() {
        let (low, high) = interval(&years(0, 45)).unwrap();
        let (wilson_low, wilson_high) = wilson(0, 45);
        assert_eq!((low, high), (wilson_low, wilson_high));
        assert!(high > 0.07, "{high}");
        assert_eq!(interval(&[YearCount::default()]), None);
    }

    #[test]
    fn the_years_count_and_not_the_seasons() {
        let (low, high) = interval(&years(15, 45)).unwrap();
        // One third of 45 years: sd 0.0703; normal 95 % interval 0.196 to 0.471.
        assert!((low - 0.196).abs() < 0.03 && (high - 0.471).abs() < 0.03, "{low} {high}");
    }

    #[test]
    fn the_simulations_part_is_taken_off() {
        // Every fit has a chance of 1/2: among 8 seasons 0 to 8 are late as the binomial says. Nothing is left but
        // what 256 fits make of it, 1/255.
        let ways = [1, 8, 28, 56, 70, 56, 28, 8, 1];
        let late: Vec<u32> =
            ways.iter().enumerate().flat_map(|(late, ways)| vec![late as u32; *ways]).collect();
        assert!((variance(&late, 8) - 0.25 / 8.0 / 255.0).abs() < 1e-12);
        assert_eq!(variance(&[3; 50], 8), 0.0);
        // Half of the fits never late, half always: all of it is the record's.
        let apart: Vec<u32> = (0..200).map(|fit| fit % 2 * 50).collect();
        assert!((variance(&apart, 50) - 0.25 * 200.0 / 199.0).abs() < 1e-12);
    }

    #[test]
    fn a_variance_widens_the_interval_as_fewer_seasons_would() {
        assert_eq!(with_variance(3_000, 10_000, 0.0), wilson(3_000, 10_000));
        // 0.3 x 0.7 / 45: as from 45 years and hardly more.
        let (low, high) = with_variance(3_000, 10_000, 0.21 / 45.0);
        let (few_low, few_high) = wilson(15, 50);
        assert!(
            low < few_low && high > few_high && low > few_low - 0.02 && high < few_high + 0.02,
            "{low} {high}"
        );
        let (low, high) = with_variance(0, 10_000, 1e-5);
        assert!(low == 0.0 && high > wilson(0, 10_000).1, "{high}");
    }

    #[test]
    fn years_that_all_say_the_same_share_leave_wilson() {
        let alike = vec![YearCount { seasons: 10, late: 3 }; 40];
        let (low, high) = interval(&alike).unwrap();
        assert_eq!((low, high), wilson(12, 40));
    }
}
