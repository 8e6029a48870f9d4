//! Exact laws of days that are all alike: how many of them are suitable, and when the n-th suitable one comes.
//! They use no random draw and none of the weather's tables, so that simulated seasons can be checked
//! against them. Days whose chance varies are not here.

use libm::{exp, lgamma, pow, sqrt};

/// Days that are all alike: chance `p` of a suitable day (0 to 1), persistence `rho` (0 to 1), spread `phi` (0
/// to below 1) with one q a season, as in [`chain`](crate::weather::chain).
///
/// Given the season's chance P, which is `p` when `phi` is 0 and otherwise Beta distributed, the days are a
/// two-state Markov chain: P first, then `P + rho (1 - P)` after a suitable day and `P (1 - rho)` after
/// an unsuitable one. The counts are polynomials in P, and a Gauss rule of the Beta's own weight integrates them
/// exactly (to rounding), whatever the Beta's shape.
///
/// ```
/// use sim_core::study::exact::AlikeDays;
/// // Ten suitable days needed, independent, every second day suitable: late after 20 days?
/// let independent = AlikeDays { p: 0.5, rho: 0.0, phi: 0.0 };
/// assert!((independent.p_late(10, 20) - 0.4119).abs() < 5e-5);
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct AlikeDays {
    /// Chance of a suitable day.
    pub p: f64,
    /// Chance that a day keeps yesterday's w.
    pub rho: f64,
    /// Variance of the season's chance over `p (1 - p)`.
    pub phi: f64,
}

/// When the last suitable day that is needed comes.
#[derive(Debug, Clone, PartialEq)]
pub struct Finish {
    /// Chance that it is day d, at index d - 1, for the days from 1.
    pub on_day: Vec<f64>,
    /// Chance that it is none of these days.
    pub not_done: f64,
}

impl AlikeDays {
    /// The chance of 0, 1, ... `days` suitable days among `days`.
    #[must_use]
    pub fn suitable_days(&self, days: usize) -> Vec<f64> {
        let mut law = vec![0.0; days + 1];
        for (chance, weight) in self.seasons(days) {
            for (law, given) in law.iter_mut().zip(self.chain_count(chance, days)) {
                *law += weight * given;
            }
        }
        law
    }

    /// The day on which the `needed`-th suitable day comes, among the first `days` days. `needed` 0 is done
    /// before the first day: all chances are 0.
    #[must_use]
    pub fn finish(&self, needed: usize, days: usize) -> Finish {
        let mut finish = Finish { on_day: vec![0.0; days], not_done: 0.0 };
        for (chance, weight) in self.seasons(days) {
            finish.not_done += weight * self.chain_finish(chance, needed, &mut finish.on_day, weight);
        }
        finish
    }

    /// The chance of fewer than `needed` suitable days among `allowed` days.
    #[must_use]
    pub fn p_late(&self, needed: usize, allowed: usize) -> f64 {
        self.suitable_days(allowed).iter().take(needed).sum()
    }

    /// Correlation of the suitability of two days `lag` days apart when q is kept from a day to the next with
    /// chance `kappa` (1: one q a season).
    ///
    /// With q kept all the way (`kappa^k`) the two days share P, and either the same w, which makes them equal
    /// (`rho^k`), or two; with a new q they can still share w, and are then both suitable below the lesser of
    /// two independent P: `r_k = kappa^k (phi + (1 - phi) rho^k) + (1 - kappa^k) m rho^k`,
    /// `m = (E min(P, P') - p^2) / (p (1 - p))`.
    #[must_use]
    pub fn lag_correlation(&self, kappa: f64, lag: u32) -> f64 {
        let (same_q, same_w) = (pow(kappa, f64::from(lag)), pow(self.rho, f64::from(lag)));
        let variance = self.p * (1.0 - self.p);
        let m = (self.mean_lesser() - self.p * self.p) / variance;
        same_q * (self.phi + (1.0 - self.phi) * same_w) + (1.0 - same_q) * m * same_w
    }

    /// Variance of the number of suitable days among `days` when q is kept with chance `kappa`.
    #[must_use]
    pub fn count_variance(&self, kappa: f64, days: u32) -> f64 {
        let pairs = |lag: u32| 2.0 * f64::from(days - lag) * self.lag_correlation(kappa, lag);
        self.p * (1.0 - self.p) * (f64::from(days) + (1..days).map(pairs).sum::<f64>())
    }

    /// The two parameters of the Beta.
    fn shape(&self) -> (f64, f64) {
        let concentration = (1.0 - self.phi) / self.phi;
        (self.p * concentration, (1.0 - self.p) * concentration)
    }

    /// E min(P, P') of two independent P: the mean less half their mean difference, which for the Beta is
    /// `4 / (a + b) B(a + b, a + b) / (B(a, a) B(b, b))` (R package giniVarCI, after Kleiber and Kotz 2003).
    fn mean_lesser(&self) -> f64 {
        if self.phi == 0.0 || self.p == 0.0 || self.p == 1.0 {
            return self.p;
        }
        let (a, b) = self.shape();
        let ln_beta = |x: f64| 2.0 * lgamma(x) - lgamma(2.0 * x);
        self.p - 2.0 / (a + b) * exp(ln_beta(a + b) - ln_beta(a) - ln_beta(b))
    }

    /// The season's chances with their weights, right for polynomials up to degree `degree`.
    fn seasons(&self, degree: usize) -> Vec<(f64, f64)> {
        if self.phi == 0.0 || self.p == 0.0 || self.p == 1.0 {
            return vec![(self.p, 1.0)];
        }
        let (a, b) = self.shape();
        gauss_beta(a, b, degree / 2 + 1)
    }

    fn after_suitable(&self, chance: f64) -> f64 {
        chance + self.rho * (1.0 - chance)
    }

    fn after_unsuitable(&self, chance: f64) -> f64 {
        chance * (1.0 - self.rho)
    }

    /// The count's law in a season of chance `chance`.
    fn chain_count(&self, chance: f64, days: usize) -> Vec<f64> {
        let (up, down) = (self.after_suitable(chance), self.after_unsuitable(chance));
        // By count: chance of it with today suitable, and unsuitable. Before the first day there is no today.
        let (mut suitable, mut unsuitable) = (vec![0.0; days + 1], vec![0.0; days + 1]);
        if days == 0 {
            return vec![1.0];
        }
        suitable[1] = chance;
        unsuitable[0] = 1.0 - chance;
        for day in 1..days {
            for count in (0..=day + 1).rev() {
                let (s, u) = (suitable[count], unsuitable[count]);
                let (s_less, u_less) =
                    if count > 0 { (suitable[count - 1], unsuitable[count - 1]) } else { (0.0, 0.0) };
                suitable[count] = s_less * up + u_less * down;
                unsuitable[count] = s * (1.0 - up) + u * (1.0 - down);
            }
        }
        suitable.iter().zip(&unsuitable).map(|(s, u)| s + u).collect()
    }

    /// Adds `weight` times the finishing day's law to `on_day`; returns the chance of not finishing.
    fn chain_finish(&self, chance: f64, needed: usize, on_day: &mut [f64], weight: f64) -> f64 {
        if needed == 0 {
            return 0.0;
        }
        let (up, down) = (self.after_suitable(chance), self.after_unsuitable(chance));
        let (mut suitable, mut unsuitable) = (vec![0.0; needed], vec![0.0; needed]);
        for (day, done) in on_day.iter_mut().enumerate() {
            if day == 0 {
                unsuitable[0] = 1.0 - chance;
                if needed == 1 {
                    *done += weight * chance;
                } else {
                    suitable[1] = chance;
                }
                continue;
            }
            *done += weight * (suitable[needed - 1] * up + unsuitable[needed - 1] * down);
            for count in (0..needed).rev() {
                let (s, u) = (suitable[count], unsuitable[count]);
                let (s_less, u_less) =
                    if count > 0 { (suitable[count - 1], unsuitable[count - 1]) } else { (0.0, 0.0) };
                suitable[count] = s_less * up + u_less * down;
                unsuitable[count] = s * (1.0 - up) + u * (1.0 - down);
            }
        }
        if on_day.is_empty() { 1.0 } else { suitable.iter().chain(&unsuitable).sum() }
    }
}

/// Nodes and weights (of sum 1) of the Gauss rule with `n` nodes for the Beta of parameters `a` and `b`: exact
/// for polynomials up to degree `2 n - 1`.
///
/// The nodes are the eigenvalues of the symmetric tridiagonal matrix of the Jacobi polynomials' recurrence
/// (Golub and Welsch 1969; recurrence from memory, checked by the Beta's moments), found by halving on the number
/// of eigenvalues below a point; a weight is 1 over the sum of the squared orthonormal polynomials.
fn gauss_beta(a: f64, b: f64, n: usize) -> Vec<(f64, f64)> {
    // On -1 to 1 the weight is (1 - t)^alpha (1 + t)^beta.
    let (alpha, beta) = (b - 1.0, a - 1.0);
    let sum = alpha + beta;
    let diagonal: Vec<f64> = (0..n)
        .map(|k| {
            if k == 0 {
                return (beta - alpha) / (sum + 2.0);
            }
            let twice = 2.0 * k as f64 + sum;
            (beta - alpha) * sum / (twice * (twice + 2.0))
        })
        .collect();
    // The squared entry between k - 1 and k; the first is not used.
    let beside: Vec<f64> = (0..n)
        .map(|k| {
            let k = k as f64;
            let twice = 2.0 * k + sum;
            if k == 0.0 {
                0.0
            } else if k == 1.0 {
                4.0 * (1.0 + alpha) * (1.0 + beta) / (twice * twice * (twice + 1.0))
            } else {
                4.0 * k * (k + alpha) * (k + beta) * (k + sum) / (twice * twice * (twice * twice - 1.0))
            }
        })
        .collect();
    let below = |t: f64| {
        let mut count = 0;
        let mut pivot = 1.0;
        for k in 0..n {
            pivot = diagonal[k] - t - if k == 0 { 0.0 } else { beside[k] / pivot };
            if pivot == 0.0 {
                pivot = f64::MIN_POSITIVE;
            }
            count += usize::from(pivot < 0.0);
        }
        count
    };
    let weight = |t: f64| {
        let (mut before, mut now, mut squares) = (0.0, 1.0, 1.0);
        for k in 0..n - 1 {
            let next = ((t - diagonal[k]) * now - sqrt(beside[k]) * before) / sqrt(beside[k + 1]);
            (before, now) = (now, next);
            squares += now * now;
        }
        1.0 / squares
    };
    (0..n)
        .map(|index| {
            let (mut low, mut high) = (-1.0, 1.0);
            for _ in 0..56 {
                let middle = f64::midpoint(low, high);
                if below(middle) > index { high = middle } else { low = middle }
            }
            let t = f64::midpoint(low, high);
            (f64::midpoint(1.0, t), weight(t))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use statrs::distribution::{Beta, Binomial, ContinuousCDF as _, Discrete as _, NegativeBinomial};

    fn days(p: f64, rho: f64, phi: f64) -> AlikeDays {
        AlikeDays { p, rho, phi }
    }

    fn mean_and_variance(law: &[f64]) -> (f64, f64) {
        let mean: f64 = law.iter().enumerate().map(|(n, p)| n as f64 * p).sum();
        let variance = law.iter().enumerate().map(|(n, p)| (n as f64 - mean).powi(2) * p).sum();
        (mean, variance)
    }

    /// Ten days needed of p 0.5: a negative binomial; figures by exact arithmetic.
    #[test]
    fn the_finishing_day_of_independent_days() {
        let finish = days(0.5, 0.0, 0.0).finish(10, 400);
        let day = |weight: &dyn Fn(f64) -> f64| -> f64 {
            finish.on_day.iter().enumerate().map(|(d, p)| weight((d + 1) as f64) * p).sum()
        };
        let mean = day(&|d| d);
        assert!((mean - 20.0).abs() < 1e-9);
        assert!((sqrt(day(&|d| (d - mean) * (d - mean))) - 4.472).abs() < 5e-4);
        assert!((day(&|d| f64::from(d > 20.0)) - 0.4119).abs() < 5e-5);
        assert!((day(&|d| (d - 20.0).max(0.0)) - 1.762).abs() < 5e-4);
        let mut done = 0.0;
        let eighty = finish.on_day.iter().position(|p| {
            done += p;
            done >= 0.8
        });
        assert_eq!(eighty, Some(23));
        let reference = NegativeBinomial::new(10.0, 0.5).unwrap();
        for d in 10..60 {
            assert!((finish.on_day[d - 1] - reference.pmf(d as u64 - 10)).abs() < 1e-12);
        }
    }

    /// Twelve days needed of 24, p 0.6: independent, with persistence 0.4, with spread 0.05 (figures derived
    /// by exact arithmetic outside this program).
    #[test]
    fn lateness_with_persistence_and_with_spread() {
        for (law, want) in
            [(days(0.6, 0.0, 0.0), 0.1143), (days(0.6, 0.4, 0.0), 0.2121), (days(0.6, 0.0, 0.05), 0.2086)]
        {
            assert!((law.p_late(12, 24) - want).abs() < 5e-5, "{law:?}: {}", law.p_late(12, 24));
            assert!((law.finish(12, 24).not_done - want).abs() < 5e-5);
        }
    }

    /// Persistence 0.6 raises the sd of the suitable days among 20 (p 0.5) from 2.24 to 4.26.
    #[test]
    fn persistence_widens_the_count() {
        for (rho, want) in [(0.0, 2.24), (0.6, 4.26)] {
            let (mean, variance) = mean_and_variance(&days(0.5, rho, 0.0).suitable_days(20));
            assert!((mean - 10.0).abs() < 1e-12);
            assert!((sqrt(variance) - want).abs() < 5e-3, "{}", sqrt(variance));
        }
    }

    /// The rain chain of Tel Aviv, P(wet | dry) 0.250, P(wet | wet) 0.662 (Gabriel and Neumann 1962, as quoted
    /// by later publications), as a chain of p and rho.
    #[test]
    fn the_tel_aviv_chain() {
        let rho = 0.662 - 0.250;
        let wet = days(0.250 / (1.0 - rho), rho, 0.0);
        assert!((wet.p - 0.4252).abs() < 5e-5);
        assert!((1.0 / (1.0 - wet.after_suitable(wet.p)) - 2.959).abs() < 5e-4);
        assert!((1.0 / wet.after_unsuitable(wet.p) - 4.0).abs() < 1e-9);
        let (mean, variance) = mean_and_variance(&wet.suitable_days(30));
        assert!((mean - 12.755).abs() < 5e-4, "{mean}");
        assert!((variance - 17.024).abs() < 5e-4, "{variance}");
        assert!((30.0 * wet.p * (1.0 - wet.p) - 7.332).abs() < 5e-4);
        assert!((wet.count_variance(1.0, 30) - variance).abs() < 1e-9);
    }

    #[test]
    fn without_persistence_the_count_is_binomial_or_beta_binomial() {
        let plain = days(0.37, 0.0, 0.0).suitable_days(40);
        let reference = Binomial::new(0.37, 40).unwrap();
        for (n, p) in plain.iter().enumerate() {
            assert!((p - reference.pmf(n as u64)).abs() < 1e-13);
        }
        for phi in [0.01, 0.05, 0.3, 0.6, 0.9] {
            let law = days(0.37, 0.0, phi);
            let (a, b) = law.shape();
            let ln_beta = |x: f64, y: f64| lgamma(x) + lgamma(y) - lgamma(x + y);
            let ln_choose = |n: f64, k: f64| lgamma(n + 1.0) - lgamma(k + 1.0) - lgamma(n - k + 1.0);
            for (n, p) in law.suitable_days(40).iter().enumerate() {
                let n = n as f64;
                let want = exp(ln_choose(40.0, n) + ln_beta(n + a, 40.0 - n + b) - ln_beta(a, b));
                assert!((p - want).abs() < 1e-12, "phi {phi}, {n} days: {p} {want}");
            }
        }
    }

    /// Persistence and spread together, against the plain way: quantiles at 20 000 middles of q.
    #[test]
    fn persistence_and_spread_against_a_sum_over_quantiles() {
        for (phi, rho) in [(0.05, 0.4), (0.4, 0.7)] {
            let law = days(0.6, rho, phi);
            let (a, b) = law.shape();
            let beta = Beta::new(a, b).unwrap();
            let n = 20_000;
            let sum: f64 = (0..n)
                .map(|i| {
                    let chance = beta.inverse_cdf((f64::from(i) + 0.5) / f64::from(n));
                    law.chain_count(chance, 24).iter().take(12).sum::<f64>()
                })
                .sum();
            let want = sum / f64::from(n);
            assert!((law.p_late(12, 24) - want).abs() < 2e-5, "{} {want}", law.p_late(12, 24));
        }
    }

    /// E min(P, P') in closed form against the integral of (1 - F)^2.
    #[test]
    fn the_lesser_of_two_chances() {
        for (p, phi) in [(0.5, 1.0 / 3.0), (0.6, 0.05), (0.2, 0.3), (0.7, 0.001)] {
            let law = days(p, 0.0, phi);
            let (a, b) = law.shape();
            let beta = Beta::new(a, b).unwrap();
            let n = 20_000;
            let want: f64 =
                (0..n).map(|i| (1.0 - beta.cdf((f64::from(i) + 0.5) / f64::from(n))).powi(2)).sum::<f64>()
                    / f64::from(n);
            assert!((law.mean_lesser() - want).abs() < 1e-6, "p {p} phi {phi}: {} {want}", law.mean_lesser());
        }
    }

    proptest! {
        /// Chances sum to 1, the mean is p a day, the variance is that of the correlations, and the
        /// finishing day agrees with the count.
        #[test]
        fn the_laws_agree_with_each_other(
            p in 0.02f64..0.98,
            rho in 0.0f64..0.95,
            phi in prop_oneof![Just(0.0), 0.001f64..0.9],
            span in 1usize..60,
            needed in 1usize..30,
        ) {
            let law = days(p, rho, phi);
            let count = law.suitable_days(span);
            let (mean, variance) = mean_and_variance(&count);
            prop_assert!((count.iter().sum::<f64>() - 1.0).abs() < 1e-11);
            prop_assert!((mean - p * span as f64).abs() < 1e-9);
            let closed = law.count_variance(1.0, span as u32);
            prop_assert!((variance - closed).abs() < 1e-8 * closed.max(1.0));
            let finish = law.finish(needed, span);
            prop_assert!((finish.on_day.iter().sum::<f64>() + finish.not_done - 1.0).abs() < 1e-11);
            prop_assert!((finish.not_done - law.p_late(needed, span)).abs() < 1e-11);
        }

        /// The Gauss rule has the Beta's moments.
        #[test]
        fn the_gauss_rule_has_the_moments_of_the_beta(a in 0.01f64..200.0, b in 0.01f64..200.0) {
            let rule = gauss_beta(a, b, 12);
            let mut want = 1.0;
            for power in 0..24 {
                let got: f64 = rule.iter().map(|(x, w)| w * x.powi(power)).sum();
                prop_assert!((got - want).abs() < 1e-11, "moment {power}: {got} {want}");
                want *= (a + f64::from(power)) / (a + b + f64::from(power));
            }
        }
    }
}
