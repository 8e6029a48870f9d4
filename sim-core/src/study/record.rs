//! What few recorded years leave open: ten thousand seasons drawn from forty-five years are forty-five years. Years are
//! clusters, so the interval comes from drawing whole years anew.

use super::interval::wilson;
use crate::kernel::draw::{Stream, name_hash};

/// How often the years are drawn anew.
const DRAWS: u64 = 2_000;

/// The seed of these draws: they say how sure a figure is and must not change with the seed of the seasons.
const SEED: u64 = 20;

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
    if shares.is_empty() {
        return None;
    }
    let count = shares.len();
    let draws = Stream::new(SEED, 0, name_hash("record bootstrap"));
    let mut means: Vec<f64> = (0..DRAWS)
        .map(|draw| {
            let year = |at: usize| {
                let uniform = draws.uniform(draw * count as u64 + at as u64);
                shares[((uniform * count as f64) as usize).min(count - 1)]
            };
            (0..count).map(year).sum::<f64>() / count as f64
        })
        .collect();
    means.sort_by(f64::total_cmp);
    let late_years = shares.iter().sum::<f64>().round() as u64;
    let (low, high) = wilson(late_years, count as u64);
    let at = |share: f64| means[((DRAWS - 1) as f64 * share).round() as usize];
    Some((at(0.025).min(low), at(0.975).max(high)))
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
