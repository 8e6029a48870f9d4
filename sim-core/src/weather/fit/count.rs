//! The variance of the number of suitable days of a span under the day model.

use super::Law;
use super::pairs::{Nodes, Pair, Place, Spells};

/// Chances at which covariances are made.
const NODES: usize = 32;
/// Days that share neither w nor q with more than this chance are independent for every purpose.
const SHARED_LEAST: f64 = 1e-9;

/// The variance, in days squared, of the number of suitable days of a span whose days have the chances `p` (0 to 1) and
/// the laws `laws`, first day first.
///
/// It is the sum of the covariances of all pairs of days in the weather as it is drawn, that is with the spells' bins of
/// [`chain`](crate::weather::chain), which hold some thousandths less variance than the Beta. A day's law says whether
/// it keeps yesterday's w and q, as there.
///
/// # Panics
/// When there is not one law for each chance.
///
/// ```
/// use sim_core::weather::fit::{Law, count_variance};
/// // The rain chain of Tel Aviv: wet days in 30 have variance 17.024 (Gabriel and Neumann 1962, as quoted later).
/// let (rho, days) = (0.662 - 0.250, 30);
/// let p = vec![0.250 / (1.0 - rho); days];
/// assert!((count_variance(&p, &vec![Law::chain(rho); days]) - 17.024).abs() < 5e-4);
/// assert!((count_variance(&p, &vec![Law::INDEPENDENT; days]) - 7.332).abs() < 5e-4);
/// ```
#[must_use]
pub fn count_variance(p: &[f64], laws: &[Law]) -> f64 {
    assert_eq!(p.len(), laws.len(), "one law for each chance");
    let nodes = Nodes::over(p.iter().copied(), NODES);
    let places: Vec<Place> = p.iter().map(|p| nodes.place(*p)).collect();
    let mut phis: Vec<f64> = Vec::new();
    let mut which = Vec::with_capacity(laws.len());
    for law in laws {
        let at = phis.iter().position(|phi| *phi == law.phi);
        which.push(at.unwrap_or(phis.len()));
        if at.is_none() {
            phis.push(law.phi);
        }
    }
    let spells: Vec<Spells> = phis.iter().map(|phi| Spells::of(*phi, &nodes)).collect();
    let pairs: Vec<Vec<Pair>> = spells
        .iter()
        .map(|first| spells.iter().map(|second| Pair::of(&nodes, first, second)).collect())
        .collect();
    let mut variance = 0.0;
    for (first, p) in p.iter().enumerate() {
        variance += p * (1.0 - p);
        let (mut same_q, mut same_w) = (1.0, 1.0);
        for second in first + 1..laws.len() {
            same_q *= laws[second].kappa();
            same_w *= laws[second].rho;
            if same_q < SHARED_LEAST && same_w < SHARED_LEAST {
                break;
            }
            let pair = &pairs[which[first]][which[second]];
            variance += 2.0 * pair.covariance(places[first], places[second], same_q, same_w);
        }
    }
    variance
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A law that changes only in name changes nothing; days of chance 0 and 1 add nothing.
    #[test]
    fn borders_between_laws_and_certain_days_are_seamless() {
        let law = |phi| Law { rho: 0.4, phi, spread_days: 12.0 };
        let p: Vec<f64> = (0..40).map(|day| 0.3 + 0.01 * f64::from(day)).collect();
        let one = count_variance(&p, &[law(0.3); 40]);
        let mut two = [law(0.3); 40];
        two[20..].fill(law(0.3 + 1e-9));
        assert!((count_variance(&p, &two) / one - 1.0).abs() < 2e-3);
        assert_eq!(count_variance(&[0.0, 1.0, 0.0], &[law(0.3); 3]), 0.0);
        assert_eq!(count_variance(&[], &[]), 0.0);
    }
}
