//! How many suitable days a span has in a bad, a middling and a good year: recorded, and under the day model.

use super::Law;
use crate::weather::chain::Chain;
use crate::weather::error::WeatherError;
use crate::weather::sky::Sky;
use crate::weather::spec::{DriverSpec, KeySpec, WeatherSpec};

/// The seed of the drawn seasons: a figure of a law must not change with the seed of anything else.
const SEED: u64 = 21;
/// Shares that differ by less are one.
const ALIKE: f64 = 1e-9;

/// The number of suitable days of a span over the years: the chance that it is at most so many.
#[derive(Debug, Clone, PartialEq)]
pub struct CountDistribution {
    /// For each number from 0 on, the chance of at most that many; the last is 1.
    at_most: Vec<f64>,
}

impl CountDistribution {
    /// That of recorded years, each as likely as the other: also that of years drawn anew from them. Nothing without
    /// years.
    #[must_use]
    pub fn of_years(counts: &[u32]) -> Option<Self> {
        let most = counts.iter().max()?;
        let mut years = vec![0.0; *most as usize + 1];
        for count in counts {
            years[*count as usize] += 1.0 / counts.len() as f64;
        }
        Some(Self::of(years))
    }

    /// That of independent days of the chances `p`, each 0 to 1: exact.
    #[must_use]
    pub fn independent(p: &[f64]) -> Self {
        let mut chances = vec![1.0];
        for p in p {
            let mut next = vec![0.0; chances.len() + 1];
            for (count, chance) in chances.iter().enumerate() {
                next[count] += chance * (1.0 - p);
                next[count + 1] += chance * p;
            }
            chances = next;
        }
        Self::of(chances)
    }

    /// That of days of the chances `p` under the laws `laws`, with the chances that their land is shut where it can shut,
    /// from so many drawn seasons. The same seasons are drawn every
    /// time; of `n` seasons a chance is off by `sqrt(chance (1 - chance) / n)` or so.
    ///
    /// # Errors
    /// When a chance or a law is outside its range.
    ///
    /// # Panics
    /// When there is not one law for each chance, or no season.
    pub fn drawn(p: &[f64], shut: Option<&[f64]>, laws: &[Law], seasons: u64) -> Result<Self, WeatherError> {
        assert!(p.len() == laws.len() && seasons > 0, "one law for each chance, and seasons");
        if p.is_empty() {
            return Ok(Self { at_most: vec![1.0] });
        }
        let chain = Chain::new(&WeatherSpec {
            span_days: p.len(),
            drivers: vec![DriverSpec {
                name: "any".into(),
                agreement: 1.0,
                rho: laws.iter().map(|law| law.rho).collect(),
                kappa: laws.iter().map(Law::kappa).collect(),
            }],
            keys: vec![KeySpec {
                driver: 0,
                p: p.to_vec(),
                phi: laws.iter().map(|law| law.phi).collect(),
                shut: shut.map(<[f64]>::to_vec),
                hours: None,
            }],
            recorded: None,
        })?;
        let (mut sky, mut chances) = (Sky::default(), vec![0.0; p.len() + 1]);
        for season in 0..seasons {
            chain.draw(SEED, season, &mut sky);
            chances[sky.count(0, 0, p.len()) as usize] += 1.0 / seasons as f64;
        }
        Ok(Self::of(chances))
    }

    fn of(mut chances: Vec<f64>) -> Self {
        for count in 1..chances.len() {
            chances[count] += chances[count - 1];
        }
        Self { at_most: chances }
    }

    /// The chance of at most so many days.
    #[must_use]
    pub fn chance_of_at_most(&self, days: u32) -> f64 {
        self.at_most[(days as usize).min(self.at_most.len() - 1)].min(1.0)
    }

    /// The number that a share (0 to 1) of the years do not exceed: the least of which that is true.
    ///
    /// ```
    /// use sim_core::weather::fit::CountDistribution;
    /// let years = CountDistribution::of_years(&[9, 3, 7, 5, 1, 4, 8, 6, 2, 10]).unwrap();
    /// assert_eq!([0.1, 0.5, 0.9].map(|share| years.not_exceeded_by(share)), [1, 5, 9]);
    /// assert!((years.chance_of_at_most(3) - 0.3).abs() < 1e-12);
    /// ```
    #[must_use]
    pub fn not_exceeded_by(&self, share: f64) -> u32 {
        let last = self.at_most.len() - 1;
        self.at_most.iter().position(|chance| *chance >= share - ALIKE).unwrap_or(last) as u32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn independent_days_are_binomial_exact_and_drawn() {
        let exact = CountDistribution::independent(&[0.25; 8]);
        // 0.75^8, and the binomial's median for n p = 2.
        assert!((exact.chance_of_at_most(0) - 0.100_112_915).abs() < 1e-9);
        assert_eq!(exact.not_exceeded_by(0.5), 2);
        let p: Vec<f64> = (0..60).map(|day| 0.2 + 0.01 * f64::from(day)).collect();
        let exact = CountDistribution::independent(&p);
        let drawn = CountDistribution::drawn(&p, None, &[Law::INDEPENDENT; 60], 20_000).unwrap();
        for days in 20..40 {
            let chance = exact.chance_of_at_most(days);
            // Four standard deviations of 20 000 seasons, at most 0.0142.
            assert!((chance - drawn.chance_of_at_most(days)).abs() < 0.0142, "{days}: {chance}");
        }
    }

    /// One q a season and no persistence is beta-binomial: with p 0.5 and phi 1/3 the Beta is flat, and so are the counts.
    #[test]
    fn one_spell_a_season_is_beta_binomial() {
        let law = Law { rho: 0.0, phi: 1.0 / 3.0, spread_days: f64::INFINITY };
        let drawn = CountDistribution::drawn(&[0.5; 9], None, &[law; 9], 20_000).unwrap();
        for days in 0..10 {
            let want = f64::from(days + 1) / 10.0;
            assert!((drawn.chance_of_at_most(days) - want).abs() < 0.0142, "{days}");
        }
    }

    #[test]
    fn nothing_counted_is_nothing_or_none() {
        assert_eq!(CountDistribution::of_years(&[]), None);
        let none = CountDistribution::drawn(&[], None, &[], 1).unwrap();
        assert_eq!((none.not_exceeded_by(0.9), none.chance_of_at_most(0)), (0, 1.0));
    }
}
