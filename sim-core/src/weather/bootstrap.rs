//! Whole years drawn anew: how sure a mean over recorded years is. Years are clusters; days within one are not drawn.

use crate::kernel::draw::{Stream, name_hash};

/// How often the years are drawn anew.
const DRAWS: u64 = 2_000;

/// The seed of these draws: they say how sure a figure is, and must not change with the seed of the seasons.
const SEED: u64 = 20;

/// The 95 % percentile interval of a mean over years, each year one value; nothing without years. The same values give
/// the same interval.
///
/// ```
/// use sim_core::weather::bootstrap::mean_interval;
/// let (low, high) = mean_interval(&[4.0; 30]).unwrap();
/// assert_eq!((low, high), (4.0, 4.0));
/// let (low, high) = mean_interval(&[0.0, 1.0, 2.0, 3.0]).unwrap();
/// assert!(low < 1.0 && high > 2.0);
/// assert_eq!(mean_interval(&[]), None);
/// ```
#[must_use]
pub fn mean_interval(years: &[f64]) -> Option<(f64, f64)> {
    let count = years.len();
    if count == 0 {
        return None;
    }
    let draws = Stream::new(SEED, 0, name_hash("years drawn anew"));
    let mut means: Vec<f64> = (0..DRAWS)
        .map(|draw| {
            let year = |at: usize| {
                let uniform = draws.uniform(draw * count as u64 + at as u64);
                years[((uniform * count as f64) as usize).min(count - 1)]
            };
            (0..count).map(year).sum::<f64>() / count as f64
        })
        .collect();
    means.sort_by(f64::total_cmp);
    let at = |share: f64| means[((DRAWS - 1) as f64 * share).round() as usize];
    Some((at(0.025), at(0.975)))
}
