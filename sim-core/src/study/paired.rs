//! How sure pairs make one of a difference: two farms worked under the same skies, season by season. What is paired is
//! not known here, nor who is which; differences are the variant's less the base's.

use super::interval::{Z_95, wilson_of_share};
use statrs::distribution::{Continuous as _, ContinuousCDF as _, StudentsT};

/// More than so many pairs nobody works: a difference that needs more counts as none.
const MOST_PAIRS: f64 = 1e12;

/// What happened to two farms in pairs of which each counts as much: a season, or a recorded year, which is then
/// counted by the share of its seasons.
///
/// ```
/// use sim_core::study::PairedShare;
/// let late = PairedShare { both: 480.0, only_variant: 10.0, only_base: 60.0, neither: 450.0 };
/// assert_eq!(late.difference(), -0.05);
/// let (low, high) = late.interval();
/// assert!(low < -0.05 && high > -0.05 && late.told_apart());
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PairedShare {
    /// Pairs in which both were late.
    pub both: f64,
    /// Pairs in which only the variant was.
    pub only_variant: f64,
    /// Pairs in which only the base was.
    pub only_base: f64,
    /// Pairs in which neither was.
    pub neither: f64,
}

impl PairedShare {
    /// How many pairs.
    #[must_use]
    pub fn pairs(&self) -> f64 {
        // Grouped so that nothing changes when base and variant do.
        (self.both + self.neither) + (self.only_variant + self.only_base)
    }

    /// The base's share; 0 without pairs.
    #[must_use]
    pub fn of_base(&self) -> f64 {
        self.share(self.both + self.only_base)
    }

    /// The variant's share; 0 without pairs.
    #[must_use]
    pub fn of_variant(&self) -> f64 {
        self.share(self.both + self.only_variant)
    }

    /// The variant's share less the base's; -1 to 1.
    #[must_use]
    pub fn difference(&self) -> f64 {
        self.share(self.only_variant - self.only_base)
    }

    /// The 95 % interval of the difference: method 10 of Newcombe RG (1998), Improved confidence intervals for the
    /// difference between binomial proportions based on paired data, Statistics in Medicine 17:2635-2650. -1 to 1
    /// where there are no pairs.
    ///
    /// With the shares `p1`, `p2` and their Wilson intervals `l1` to `u1`, `l2` to `u2` it is from `D - delta` to
    /// `D + epsilon`, where `delta^2 = (p1-l1)^2 - 2 phi (p1-l1)(u2-p2) + (u2-p2)^2` and `epsilon^2` is the same with
    /// `u1-p1` and `p2-l2`. `phi` is the correlation of the table with `n / 2` taken off a numerator above 0 (down to
    /// 0, not below); it is 0 where one of the four margins is.
    #[must_use]
    pub fn interval(&self) -> (f64, f64) {
        let n = self.pairs();
        if n <= 0.0 {
            return (-1.0, 1.0);
        }
        let (variant, base) = (self.of_variant(), self.of_base());
        let ((low_v, high_v), (low_b, high_b)) = (wilson_of_share(variant, n), wilson_of_share(base, n));
        let phi = self.phi();
        let leg = |one: f64, other: f64| {
            libm::sqrt(((one * one + other * other) - 2.0 * phi * (one * other)).max(0.0))
        };
        let difference = self.difference();
        let below = leg(variant - low_v, high_b - base);
        let above = leg(high_v - variant, base - low_b);
        (difference - below, difference + above)
    }

    /// Whether the interval leaves out 0.
    #[must_use]
    pub fn told_apart(&self) -> bool {
        apart(self.interval())
    }

    /// With how many pairs (at least as many as these) the same shares would be told apart, to a thousandth; `None`
    /// where there is no difference to be seen.
    #[must_use]
    pub fn pairs_to_tell_apart(&self) -> Option<f64> {
        // A share no other than 0 is no more than rounding where years' shares are added up.
        if self.difference().abs() < 1e-12 {
            return None;
        }
        let times = |factor: f64| Self {
            both: self.both * factor,
            only_variant: self.only_variant * factor,
            only_base: self.only_base * factor,
            neither: self.neither * factor,
        };
        least(self.pairs(), |pairs| times(pairs / self.pairs()).told_apart())
    }

    /// The correlation of the table, with Newcombe's correction for continuity.
    fn phi(&self) -> f64 {
        let Self { both, only_variant, only_base, neither } = *self;
        let of_variant = (both + only_variant) * (neither + only_base);
        let of_base = (both + only_base) * (neither + only_variant);
        let margins = of_variant * of_base;
        if margins <= 0.0 {
            return 0.0;
        }
        let product = both * neither - only_variant * only_base;
        let corrected = if product > 0.0 { (product - self.pairs() / 2.0).max(0.0) } else { product };
        corrected / libm::sqrt(margins)
    }

    fn share(&self, count: f64) -> f64 {
        let n = self.pairs();
        if n > 0.0 { count / n } else { 0.0 }
    }
}

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
}

impl PairedMean {
    /// Takes one more: Welford BP (1962), Note on a method for calculating corrected sums of squares and products,
    /// Technometrics 4:419-420.
    pub fn add(&mut self, difference: f64) {
        self.pairs += 1;
        let from = difference - self.mean;
        self.mean += from / self.pairs as f64;
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
    pub(super) fn variance(&self) -> Option<f64> {
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
pub(super) fn t_95(degrees: f64) -> f64 {
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

fn apart((low, high): (f64, f64)) -> bool {
    low > 0.0 || high < 0.0
}

/// The least number from `from` on that is enough, to a thousandth; `None` if none is.
fn least(from: f64, enough: impl Fn(f64) -> bool) -> Option<f64> {
    let (mut low, mut high) = (from, from);
    while !enough(high) {
        low = high;
        high *= 2.0;
        if high > MOST_PAIRS {
            return None;
        }
    }
    while high - low > low / 1000.0 {
        let middle = (low + high) / 2.0;
        if enough(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high.ceil())
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn table(both: u32, only_variant: u32, only_base: u32, neither: u32) -> PairedShare {
        let [both, only_variant, only_base, neither] =
            [both, only_variant, only_base, neither].map(f64::from);
        PairedShare { both, only_variant, only_base, neither }
    }

    #[test]
    fn farms_that_never_differ_have_no_difference() {
        for late in [0, 1, 700, 2000] {
            let alike = table(late, 0, 0, 2000 - late);
            let (low, high) = alike.interval();
            assert_eq!(alike.difference(), 0.0);
            assert!(low <= 0.0 && high >= 0.0 && high - low < 0.005, "{late}: {low} {high}");
            assert_eq!(alike.pairs_to_tell_apart(), None);
            assert!(!alike.told_apart());
        }
        let mut none = PairedMean::default();
        (0..50).for_each(|_| none.add(0.0));
        assert_eq!(none.interval(), Some((0.0, 0.0)));
        assert_eq!((none.told_apart(), none.pairs_to_tell_apart()), (false, None));
    }

    #[test]
    fn without_pairs_nothing_is_known() {
        assert_eq!(PairedShare::default().interval(), (-1.0, 1.0));
        assert_eq!(PairedShare::default().difference(), 0.0);
        let mut one = PairedMean::default();
        assert_eq!(one.interval(), None);
        one.add(3.0);
        assert_eq!((one.interval(), one.pairs_to_tell_apart()), (None, None));
    }

    #[test]
    fn so_many_pairs_tell_it_apart_and_hardly_fewer() {
        let few = table(30, 3, 5, 62);
        let pairs = few.pairs_to_tell_apart().unwrap();
        let scaled = |pairs: f64| {
            let of = |count: f64| count * pairs / few.pairs();
            let PairedShare { both, only_variant, only_base, neither } = few;
            PairedShare {
                both: of(both),
                only_variant: of(only_variant),
                only_base: of(only_base),
                neither: of(neither),
            }
        };
        assert!(!few.told_apart() && scaled(pairs).told_apart() && !scaled(pairs * 0.99).told_apart());
        // z^2 (b + c) / (b - c)^2 pairs by the plain variance, less the part of the mean: of the same size.
        let plain = Z_95 * Z_95 * (0.08 - 0.0004) / 0.0004;
        assert!((pairs / plain - 1.0).abs() < 0.05, "{pairs} against {plain}");
    }

    proptest! {
        /// Swapping base and variant turns every sign, to the bit.
        #[test]
        fn swapped_farms_turn_the_signs(both in 0u32..400, variant in 0u32..400, base in 0u32..400, neither in 0u32..400) {
            let (one, other) = (table(both, variant, base, neither), table(both, base, variant, neither));
            prop_assert_eq!(one.difference(), -other.difference());
            let ((low, high), (other_low, other_high)) = (one.interval(), other.interval());
            prop_assert_eq!((low, high), (-other_high, -other_low));
            prop_assert!(low <= one.difference() && one.difference() <= high);
            prop_assert_eq!(one.pairs_to_tell_apart(), other.pairs_to_tell_apart());
        }

        /// So do the means, and they are those of the sums.
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
        }
    }
}
