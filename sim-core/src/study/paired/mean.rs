//! How much more there is on one of two farms.

use super::super::interval::Z_95;
use super::{apart, least};
use statrs::distribution::{Continuous as _, ContinuousCDF as _, StudentsT};

/// The mean of differences between pairs, taken one after another; memory does not grow with them.
///
/// ```
/// use sim_core::study::PairedMean;
/// let mut days = PairedMean::default();
/// [-3.0, 0.0, -1.0, -2.0].into_iter().for_each(|difference| days.add(difference));
/// assert_eq!(days.mean(), -1.5);
/// let (low, high) = days.interval().unwrap();
/// assert!(low < -1.5 && high > -1.5);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PairedMean {
    pairs: u64,
    mean: f64,
    /// Sum of squares about the mean.
    squares: f64,
    /// Sum of cubes about the mean.
    cubes: f64,
}

impl PairedMean {
    /// Takes one more: Welford BP (1962), Note on a method for calculating corrected sums of squares and products,
    /// Technometrics 4:419-420; the cubes likewise.
    pub fn add(&mut self, difference: f64) {
        self.pairs += 1;
        let pairs = self.pairs as f64;
        let from = difference - self.mean;
        let step = from / pairs;
        self.cubes += step * (from * step * (pairs - 1.0) * (pairs - 2.0) - 3.0 * self.squares);
        self.mean += step;
        self.squares += from * (difference - self.mean);
    }

    /// How many pairs.
    #[must_use]
    pub fn pairs(&self) -> u64 {
        self.pairs
    }

    /// The mean difference; 0 without pairs.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.mean
    }

    /// The 95 % interval of the mean difference after the paired t test (Student 1908, The probable error of a mean,
    /// Biometrika 6:1-25): `mean +- t(0.975, n - 1) s / sqrt(n)`; `None` from fewer than two pairs. Where no pair
    /// differs from another it has no width: that says nothing of what was not seen.
    #[must_use]
    pub fn interval(&self) -> Option<(f64, f64)> {
        let half = self.half_width(self.pairs as f64)?;
        Some((self.mean - half, self.mean + half))
    }

    /// From how many pairs on the interval of differences as skew as these holds its 95 % to within about one:
    /// `28 + 25 g^2`, `g` the skewness (Sugden RA, Smith TMF, Jones RP 2000, Cochran's rule for simple random sampling,
    /// Journal of the Royal Statistical Society B 62:787-793; numbers from memory, as the terms of the Edgeworth
    /// expansion give them). `None` where no pair differs from another.
    ///
    /// Every interval of a mean needs such a condition: none holds for whatever law the differences may have (Bahadur
    /// RR, Savage LJ 1956, The nonexistence of certain statistical procedures in nonparametric problems, Annals of
    /// Mathematical Statistics 27:1115-1122).
    ///
    /// ```
    /// use sim_core::study::PairedMean;
    /// let mut days = PairedMean::default();
    /// (0..200).for_each(|season| days.add(if season < 10 { -4.0 } else { 0.0 }));
    /// // One in twenty: skewness -0.9 / sqrt(0.05 x 0.95).
    /// assert_eq!(days.pairs_for_interval(), Some(455.0));
    /// ```
    #[must_use]
    pub fn pairs_for_interval(&self) -> Option<f64> {
        if self.squares <= 0.0 {
            return None;
        }
        let skewness2 = self.cubes * self.cubes * self.pairs as f64 / self.squares.powi(3);
        Some((28.0 + 25.0 * skewness2).ceil())
    }

    /// Whether the interval leaves out 0.
    #[must_use]
    pub fn told_apart(&self) -> bool {
        self.interval().is_some_and(apart)
    }

    /// With how many pairs (at least as many as these) the same mean with the same variance would be told apart, to a
    /// thousandth; `None` where there is no difference to be seen.
    #[must_use]
    pub fn pairs_to_tell_apart(&self) -> Option<f64> {
        if self.mean == 0.0 || self.pairs < 2 {
            return None;
        }
        least(self.pairs as f64, |pairs| self.half_width(pairs).is_some_and(|half| half < self.mean.abs()))
    }

    /// The variance of the mean; `None` from fewer than two pairs.
    pub(in super::super) fn variance(&self) -> Option<f64> {
        let degrees = (self.pairs >= 2).then_some(self.pairs as f64 - 1.0)?;
        Some(self.squares / degrees / self.pairs as f64)
    }

    /// Half the interval's width if there were so many pairs.
    fn half_width(&self, pairs: f64) -> Option<f64> {
        let degrees = (self.pairs >= 2).then_some(self.pairs as f64 - 1.0)?;
        Some(t_95(pairs - 1.0) * libm::sqrt(self.squares / degrees / pairs))
    }
}

/// The quantile at 0.975 of Student's t.
pub(in super::super) fn t_95(degrees: f64) -> f64 {
    if degrees > 1000.0 {
        // Abramowitz M, Stegun IA (1964), Handbook of Mathematical Functions, 26.7.5: right to 1e-9 from here on, where
        // the inverse of the incomplete beta function is not.
        let z = Z_95;
        let z2 = z * z;
        let first = z * (z2 + 1.0) / 4.0;
        let second = z * ((5.0 * z2 + 16.0) * z2 + 3.0) / 96.0;
        let third = z * (((3.0 * z2 + 19.0) * z2 + 17.0) * z2 - 15.0) / 384.0;
        return z + (first + (second + third / degrees) / degrees) / degrees;
    }
    // Degrees of at least 1 are never refused; were they, an interval without end claims nothing.
    let t = StudentsT::new(0.0, 1.0, degrees.max(1.0)).map(|t| {
        // The inverse of `statrs` is right to some digits only: Newton's step from it, twice.
        let mut x = t.inverse_cdf(0.975);
        for _ in 0..2 {
            x -= (t.cdf(x) - 0.975) / t.pdf(x);
        }
        x
    });
    t.unwrap_or(f64::INFINITY)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn farms_that_never_differ_have_no_difference() {
        let mut none = PairedMean::default();
        (0..50).for_each(|_| none.add(0.0));
        assert_eq!(none.interval(), Some((0.0, 0.0)));
        assert_eq!((none.told_apart(), none.pairs_to_tell_apart()), (false, None));
    }

    #[test]
    fn of_one_pair_nothing_is_known() {
        let mut one = PairedMean::default();
        assert_eq!(one.interval(), None);
        one.add(3.0);
        assert_eq!((one.interval(), one.pairs_to_tell_apart()), (None, None));
    }

    proptest! {
        /// Swapping base and variant turns the signs of the means, and they are those of the sums.
        #[test]
        fn swapped_means_turn_the_signs(values in prop::collection::vec(-40.0..40.0f64, 2..200)) {
            let (mut one, mut other) = (PairedMean::default(), PairedMean::default());
            values.iter().for_each(|value| { one.add(*value); other.add(-value); });
            prop_assert_eq!(one.mean(), -other.mean());
            prop_assert_eq!(one.interval().unwrap().0, -other.interval().unwrap().1);
            let mean = values.iter().sum::<f64>() / values.len() as f64;
            prop_assert!((one.mean() - mean).abs() < 1e-12);
            let squares: f64 = values.iter().map(|value| (value - mean) * (value - mean)).sum();
            prop_assert!((one.squares - squares).abs() < 1e-9 * squares.max(1.0));
            let cubes: f64 = values.iter().map(|value| (value - mean).powi(3)).sum();
            let sizes: f64 = values.iter().map(|value| (value - mean).abs().powi(3)).sum();
            prop_assert!((one.cubes - cubes).abs() < 1e-9 * sizes.max(1.0));
            prop_assert_eq!(one.pairs_for_interval(), other.pairs_for_interval());
        }
    }
}
