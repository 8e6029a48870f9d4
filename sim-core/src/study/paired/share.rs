//! How much more often one of two farms is late.

use super::super::interval::{Z_95, wilson_of_share};
use super::{apart, least};

/// With fewer pairs that differ than this Newcombe's interval is not to be trusted.
const FEW_DIFFER: f64 = 50.0;

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
    /// difference between binomial proportions based on paired data, Statistics in Medicine 17:2635-2650; where fewer
    /// than 50 pairs differ that of Tango T (1998), Equivalence test and confidence interval for the difference in
    /// proportions for the paired-sample design, Statistics in Medicine 17:891-908. -1 to 1 where there are no pairs.
    ///
    /// Method 10 rests on how often each was late, even where hardly any pair differs; where all that do differ the same
    /// way it then holds 88 to 93 % of the truths instead of 95 (tests/coverage.rs measures both).
    #[must_use]
    pub fn interval(&self) -> (f64, f64) {
        if self.pairs() <= 0.0 {
            (-1.0, 1.0)
        } else if self.only_variant + self.only_base < FEW_DIFFER {
            self.tango()
        } else {
            self.newcombe()
        }
    }

    /// With the shares `p1`, `p2` and their Wilson intervals `l1` to `u1`, `l2` to `u2` from `D - delta` to
    /// `D + epsilon`, where `delta^2 = (p1-l1)^2 - 2 phi (p1-l1)(u2-p2) + (u2-p2)^2` and `epsilon^2` is the same with
    /// `u1-p1` and `p2-l2`. `phi` is the correlation of the table with `n / 2` taken off a numerator above 0 (down to
    /// 0, not below); it is 0 where one of the four margins is.
    fn newcombe(&self) -> (f64, f64) {
        let n = self.pairs();
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

    /// All differences that the score test does not tell from what was seen: those `d` at which
    /// `(b - c - n d)^2 <= z^2 n (2 q + d (1 - d))`, where `b` pairs differ by the variant and `c` by the base, and `q`
    /// is the likeliest share of pairs that differ by the base if the difference is `d`.
    fn tango(&self) -> (f64, f64) {
        let n = self.pairs();
        let swapped = greatest_not_told(n, self.only_base, self.only_variant);
        (-swapped, greatest_not_told(n, self.only_variant, self.only_base))
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

/// The greatest difference that the score test does not tell from what was seen: of `n` pairs `more` differ one way,
/// `less` the other. Halving finds it, to the last digit: the test's statistic grows with the difference.
fn greatest_not_told(n: f64, more: f64, less: f64) -> f64 {
    let told = |d: f64| {
        // q is the greater root of 2 n q^2 + b q + c = 0.
        let b = (2.0 * n - more + less) * d - more - less;
        let c = -less * d * (1.0 - d);
        let root = libm::sqrt((b * b - 8.0 * n * c).max(0.0));
        let q = if b > 0.0 { -2.0 * c / (b + root) } else { (root - b) / (4.0 * n) };
        let apart = more - less - n * d;
        apart * apart > Z_95 * Z_95 * n * (2.0 * q + d * (1.0 - d))
    };
    let (mut low, mut high) = ((more - less) / n, 1.0);
    loop {
        let middle = (low + high) / 2.0;
        if middle <= low || middle >= high {
            return low;
        }
        if told(middle) {
            high = middle;
        } else {
            low = middle;
        }
    }
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
    }

    #[test]
    fn without_pairs_nothing_is_known() {
        assert_eq!(PairedShare::default().interval(), (-1.0, 1.0));
        assert_eq!(PairedShare::default().difference(), 0.0);
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
    }
}
