//! What few recorded years leave open: ten thousand seasons drawn from forty-five years are forty-five years. Years are
//! clusters, so the interval comes from drawing whole years anew.

use super::interval::wilson;
use crate::weather::bootstrap::mean_interval;

/// Seasons and late seasons of one recorded year.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(super) struct YearCount {
    pub(super) seasons: u64,
    pub(super) late: u64,
}

/// The 95 % interval of a share for the sampling of its years: the hull of the percentile interval of bootstrapped years
/// and of Wilson's interval for as many years as were worked. The bootstrap alone would call a thing that never
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
    fn years_that_all_say_the_same_share_leave_wilson() {
        let alike = vec![YearCount { seasons: 10, late: 3 }; 40];
        let (low, high) = interval(&alike).unwrap();
        assert_eq!((low, high), wilson(12, 40));
    }
}
