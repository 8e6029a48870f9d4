//! How sure pairs make one of a ratio of two means, as of what a change spares and what it costs.

use super::paired::{PairedMean, t_95};

/// Two quantities of the same pairs, taken one after another, and the ratio of their means; memory does not grow with
/// them.
///
/// ```
/// use sim_core::study::PairedRatio;
/// let mut spared_for_money = PairedRatio::default();
/// [(3.0, 200.0), (1.0, 190.0), (2.0, 210.0), (2.0, 200.0)].into_iter().for_each(|(over, under)| spared_for_money.add(over, under));
/// assert_eq!(spared_for_money.ratio(), Some(0.01));
/// let (low, high) = spared_for_money.interval().unwrap();
/// assert!(0.0 < low && low < 0.01 && high > 0.01);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct PairedRatio {
    over: PairedMean,
    under: PairedMean,
    /// Sum of products about the means.
    products: f64,
}

impl PairedRatio {
    /// Takes one more pair: what is divided, and what by.
    pub fn add(&mut self, over: f64, under: f64) {
        let from = over - self.over.mean();
        self.over.add(over);
        self.under.add(under);
        self.products += from * (under - self.under.mean());
    }

    /// The mean of what is divided.
    #[must_use]
    pub fn over(&self) -> &PairedMean {
        &self.over
    }

    /// The mean of what it is divided by.
    #[must_use]
    pub fn under(&self) -> &PairedMean {
        &self.under
    }

    /// The ratio of the means; `None` where the second is 0.
    #[must_use]
    pub fn ratio(&self) -> Option<f64> {
        (self.under.mean() != 0.0).then(|| self.over.mean() / self.under.mean())
    }

    /// The 95 % interval of the ratio: Fieller EC (1954), Some problems in interval estimation, Journal of the Royal
    /// Statistical Society B 16:175-185. It holds every ratio `r` for which the paired t test does not tell the mean of
    /// `over - r under` from 0. `None` from fewer than two pairs, and where the second mean is not told from 0: then
    /// these ratios have no end.
    #[must_use]
    pub fn interval(&self) -> Option<(f64, f64)> {
        let pairs = self.over.pairs() as f64;
        let (var_over, var_under) = (self.over.variance()?, self.under.variance()?);
        let covariance = self.products / (pairs - 1.0) / pairs;
        let (over, under) = (self.over.mean(), self.under.mean());
        let t2 = t_95(pairs - 1.0) * t_95(pairs - 1.0);
        // The ends are the roots of a r^2 - 2 b r + c.
        let a = under * under - t2 * var_under;
        let b = over * under - t2 * covariance;
        let c = over * over - t2 * var_over;
        if a <= 0.0 {
            return None;
        }
        let root = libm::sqrt((b * b - a * c).max(0.0));
        Some(((b - root) / a, (b + root) / a))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn of(pairs: &[(f64, f64)]) -> PairedRatio {
        let mut ratio = PairedRatio::default();
        pairs.iter().for_each(|(over, under)| ratio.add(*over, *under));
        ratio
    }

    #[test]
    fn what_costs_nearly_the_same_every_season_has_the_interval_of_what_it_spares() {
        let spared = [3.0, 0.0, 1.0, 4.0, 2.0, 2.0];
        let ratio = of(&spared.map(|spared| (spared, 500.0)));
        let (low, high) = ratio.over().interval().unwrap();
        let (low_ratio, high_ratio) = ratio.interval().unwrap();
        assert!((low_ratio - low / 500.0).abs() < 1e-15 && (high_ratio - high / 500.0).abs() < 1e-15);
    }

    #[test]
    fn a_cost_not_told_from_none_gives_no_end() {
        assert_eq!(of(&[(1.0, 5.0), (2.0, -5.0), (1.0, 1.0)]).interval(), None);
        assert_eq!(of(&[(1.0, 5.0)]).interval(), None);
        assert_eq!(of(&[(1.0, 0.0), (2.0, 0.0)]).ratio(), None);
    }

    proptest! {
        /// The definition: at the ends the mean of `over - r under` is just told from 0.
        #[test]
        fn the_ends_are_where_the_paired_t_test_turns(
            pairs in prop::collection::vec((-3.0..6.0f64, 50.0..150.0f64), 3..60),
        ) {
            let ratio = of(&pairs);
            let Some((low, high)) = ratio.interval() else {
                prop_assert!(!ratio.under().told_apart());
                return Ok(());
            };
            let middle = ratio.ratio().unwrap();
            prop_assert!(low <= middle && middle <= high);
            for end in [low, high] {
                let mut left = PairedMean::default();
                pairs.iter().for_each(|(over, under)| left.add(over - end * under));
                let (below, above) = left.interval().unwrap();
                let nearest = below.abs().min(above.abs());
                prop_assert!(nearest < 1e-6 * (above - below).max(1e-3), "{below} {above}");
            }
        }
    }
}
