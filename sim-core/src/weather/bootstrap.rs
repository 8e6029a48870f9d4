//! Whole years drawn anew: how sure a figure of recorded years is. Years are clusters; days within one are not drawn.

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
    // Tables ask for thousands of these: no list of the years drawn is made.
    let draws = draws();
    let mean = |draw| (0..count).map(|at| years[year(draws, draw, at, count)]).sum::<f64>() / count as f64;
    ends((0..DRAWS).map(mean).collect())
}

/// The 95 % percentile interval of any figure `of` so many years, which is given the indices of the years drawn, as many
/// as there are; nothing without years. Draws whose figure is `NAN` are left out.
///
/// ```
/// use sim_core::weather::bootstrap::{interval, mean_interval};
/// let years = [1.0, 2.0, 4.0, 8.0];
/// let mean = interval(4, |drawn| drawn.iter().map(|year| years[*year]).sum::<f64>() / 4.0);
/// assert_eq!(mean, mean_interval(&years));
/// assert_eq!(interval(3, |_| f64::NAN), None);
/// ```
#[must_use]
pub fn interval(count: usize, mut of: impl FnMut(&[usize]) -> f64) -> Option<(f64, f64)> {
    if count == 0 {
        return None;
    }
    let draws = draws();
    let mut drawn = vec![0; count];
    let figure = |draw| {
        for (at, drawn) in drawn.iter_mut().enumerate() {
            *drawn = year(draws, draw, at, count);
        }
        of(&drawn)
    };
    ends((0..DRAWS).map(figure).filter(|figure| !figure.is_nan()).collect())
}

fn draws() -> Stream {
    Stream::new(SEED, 0, name_hash("years drawn anew"))
}

/// The year that is the `at`-th of a draw.
fn year(draws: Stream, draw: u64, at: usize, count: usize) -> usize {
    draws.below(draw * count as u64 + at as u64, count)
}

/// The ends between which 95 % of the figures lie.
fn ends(mut figures: Vec<f64>) -> Option<(f64, f64)> {
    figures.sort_by(f64::total_cmp);
    let last = figures.len().checked_sub(1)?;
    let at = |share: f64| figures[(last as f64 * share).round() as usize];
    Some((at(0.025), at(0.975)))
}
