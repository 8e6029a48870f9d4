//! How far two drivers share one sky: how alike the days of their keys are, in a record and as the day model says.
//!
//! # What agreement does to a pair of drivers
//!
//! On a day both drivers take the shared draws with the chance `a`, the product of their agreements. Then they keep or
//! renew `w` by the same bits: both renew with the chance `1 - max(rho)` and have one `w`; both keep with `min(rho)`; else
//! one renews alone, and they part. On any other day they go on with one `w` only if both keep, with the chance
//! `rho rho'`. So they have one `w` in the long run with the chance
//! `S = a (1 - max) / (1 - a min - (1 - a) rho rho')`, and one `q` likewise with kappa; both at once from the same
//! step for pairs, since one coin serves w and q. For days without memory S is `a`, and the product of the agreements
//! scales the covariance; where days persist it scales less than in proportion. Even at agreement 1 drivers of unlike
//! persistence are not always of one `w`.

use super::Law;
use super::pairs::{Nodes, Pair, Place, Spells};
use super::record::DAYS_ENOUGH;
use super::series::{Block, Series};
use super::spells::P_FITTED;
use crate::weather::bootstrap::interval;

/// Chances at which covariances are made.
const NODES: usize = 12;
/// Spells of a whole season never part or meet in the long run; they are taken as this long.
const KAPPA_MAX: f64 = 1.0 - 1e-6;

/// A key of a driver: its days, and its spread in the part of the year that is looked at.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Side<'a> {
    /// Its verdicts and chances.
    pub series: Series<'a>,
    /// Its spread, 0 to 0.99.
    pub phi: f64,
}

/// How alike the days of two drivers' keys are: correlations of the same day, as deviations from p(d), the mean over the
/// pairs of keys.
#[derive(Debug, Clone, PartialEq)]
pub struct Alike {
    /// Pairs of keys that have enough days whose chances are both 0.1 to 0.9.
    pub pairs: usize,
    /// The record's correlation.
    pub observed: f64,
    /// Its 95 % interval, from years drawn anew.
    pub interval: (f64, f64),
    /// The two drivers' laws.
    laws: [Law; 2],
    /// Correlation of two days with one w and one q; with one w; with one q.
    kinds: [f64; 3],
}

/// Compares the keys of two drivers in a part of the year: `pairs` has those that belong together, the first of each
/// of the driver of the law `laws[0]`. Nothing where no pair has enough days that say something.
///
/// # Panics
/// When the block reaches beyond a series.
#[must_use]
pub fn alike(block: &Block, pairs: &[(Side<'_>, Side<'_>)], laws: [Law; 2]) -> Option<Alike> {
    let nodes = Nodes::over([P_FITTED.0, P_FITTED.1].into_iter(), NODES);
    let mut spells: Vec<Spells> = Vec::new();
    let mut spell_of = |phi: f64| match spells.iter().position(|spells| spells.phi() == phi) {
        Some(at) => at,
        None => {
            spells.push(Spells::of(phi, &nodes));
            spells.len() - 1
        }
    };
    let which: Vec<[usize; 2]> = pairs.iter().map(|(a, b)| [spell_of(a.phi), spell_of(b.phi)]).collect();
    let all_days: usize = block.occurrences().iter().map(|year| year.days.len()).sum();
    // For each pair that has enough days and each year: products of the deviations and of the standard deviations.
    let mut seen: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut kinds = [0.0; 3];
    for ((a, b), which) in pairs.iter().zip(which) {
        let covariances = Pair::of(&nodes, &spells[which[0]], &spells[which[1]]);
        let (mut days, mut scale, mut of_kind) = (0, 0.0, [0.0; 3]);
        let mut years = Vec::with_capacity(block.occurrences().len());
        for year in block.occurrences() {
            let mut sums = [0.0; 2];
            for day in year.days.clone() {
                let Some((first, second)) = both(a, b, day, &nodes) else { continue };
                days += 1;
                sums[0] += first.1 * second.1;
                let sd = first.0.sd() * second.0.sd();
                sums[1] += sd;
                scale += sd;
                for (sum, kind) in of_kind.iter_mut().zip(covariances.kinds(first.0, second.0)) {
                    *sum += kind;
                }
            }
            years.push(sums);
        }
        if days * DAYS_ENOUGH >= all_days && days > 0 {
            seen.push(years);
            for (sum, kind) in kinds.iter_mut().zip(of_kind) {
                *sum += kind / scale;
            }
        }
    }
    if seen.is_empty() {
        return None;
    }
    let count = block.occurrences().len();
    let correlation = |years: &[usize]| {
        let of = |pair: &Vec<[f64; 2]>| {
            let [top, scale] = years
                .iter()
                .fold([0.0; 2], |[top, scale], year| [top + pair[*year][0], scale + pair[*year][1]]);
            top / scale
        };
        seen.iter().map(of).sum::<f64>() / seen.len() as f64
    };
    let all: Vec<usize> = (0..count).collect();
    let pairs = seen.len();
    Some(Alike {
        pairs,
        observed: correlation(&all),
        interval: interval(count, correlation)?,
        laws,
        kinds: kinds.map(|kind| kind / pairs as f64),
    })
}

/// Place and deviation of a day for each key, where both are known and their chances say something.
fn both(a: &Side<'_>, b: &Side<'_>, day: usize, nodes: &Nodes) -> Option<((Place, f64), (Place, f64))> {
    let of = |side: &Side<'_>| {
        let p = side.series.p()[day];
        let off = side.series.deviation(day).filter(|_| (P_FITTED.0..=P_FITTED.1).contains(&p))?;
        Some((nodes.place(p), off))
    };
    of(a).zip(of(b))
}

impl Alike {
    /// The correlation as the day model has it when the product of the two drivers' agreements is `product`, 0 to 1.
    #[must_use]
    pub fn modelled(&self, product: f64) -> f64 {
        let [both, w, q] = shared(product, &self.laws);
        both * self.kinds[0] + (w - both) * self.kinds[1] + (q - both) * self.kinds[2]
    }

    /// The product of the agreements at which the model has the record's correlation, 0 to 1: the nearest that it can
    /// come where that is not in reach.
    #[must_use]
    pub fn product(&self) -> f64 {
        let (mut low, mut high) = (0.0, 1.0);
        for _ in 0..40 {
            let middle = f64::midpoint(low, high);
            if self.modelled(middle) < self.observed { low = middle } else { high = middle }
        }
        f64::midpoint(low, high)
    }

    /// Whether the model with this product lies in the interval of the record.
    #[must_use]
    pub fn fits(&self, product: f64) -> bool {
        (self.interval.0..=self.interval.1).contains(&self.modelled(product))
    }
}

/// The chances, in the long run, that two drivers have one w and one q, one w, and one q.
fn shared(product: f64, laws: &[Law; 2]) -> [f64; 3] {
    // Of the shared draws: chance that both renew, and that both keep.
    let of = |one: f64, other: f64| (1.0 - one.max(other), one.min(other));
    let (rho, kappa) =
        (laws.each_ref().map(|law| law.rho), laws.each_ref().map(|law| law.kappa().min(KAPPA_MAX)));
    let ((renew_w, keep_w), (renew_q, keep_q)) = (of(rho[0], rho[1]), of(kappa[0], kappa[1]));
    let apart = 1.0 - product;
    let (apart_w, apart_q) = (rho[0] * rho[1], kappa[0] * kappa[1]);
    let w = product * renew_w / (1.0 - product * keep_w - apart * apart_w);
    let q = product * renew_q / (1.0 - product * keep_q - apart * apart_q);
    let both = product * (renew_w * renew_q + renew_w * keep_q * q + keep_w * w * renew_q)
        / (1.0 - product * keep_w * keep_q - apart * apart_w * apart_q);
    [both, w, q]
}

/// One agreement for each of `drivers` drivers, 0 to 1, such that the model comes as near as can be to all that was seen:
/// `seen` has the two drivers and what was found of them in a part of the year. The squares of the differences over the
/// widths of the record's intervals are least; a driver that was never compared has 1.
///
/// # Panics
/// When a driver is not below `drivers`.
#[must_use]
pub fn fit_agreement(drivers: usize, seen: &[([usize; 2], Alike)]) -> Vec<f64> {
    let mut agreement = vec![1.0; drivers];
    let cost = |agreement: &[f64]| -> f64 {
        let of = |(drivers, alike): &([usize; 2], Alike)| {
            let width = (alike.interval.1 - alike.interval.0).max(1e-3);
            let off =
                (alike.modelled(agreement[drivers[0]] * agreement[drivers[1]]) - alike.observed) / width;
            off * off
        };
        seen.iter().map(of).sum()
    };
    // The cost is smooth and there are few drivers: one after the other, with ever finer steps, settles it.
    let mut step = 0.1;
    let mut least = cost(&agreement);
    while step > 1e-4 {
        let before = least;
        for driver in 0..drivers {
            for change in [-step, step] {
                let mut tried = agreement.clone();
                tried[driver] = f64::clamp(tried[driver] + change, 0.0, 1.0);
                let found = cost(&tried);
                if found < least {
                    (agreement, least) = (tried, found);
                }
            }
        }
        if least >= before {
            step /= 2.0;
        }
    }
    agreement
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::weather::{Chain, DriverSpec, KeySpec, Sky, WeatherSpec};

    const SEASONS: usize = 1_500;
    const DAYS: usize = 90;
    /// Days before the first that is looked at, in which the drivers come to their long run.
    const BEFORE: usize = 110;

    /// Verdicts of three drivers' keys on drawn skies.
    fn drawn(agreement: [f64; 3], laws: [Law; 3]) -> Vec<Vec<Option<bool>>> {
        let days = BEFORE + DAYS;
        let spec = WeatherSpec {
            span_days: days,
            drivers: std::iter::zip(["soil", "air", "wind"], laws)
                .zip(agreement)
                .map(|((name, law), agreement)| {
                    DriverSpec::alike(name, agreement, law.rho, law.kappa(), days)
                })
                .collect(),
            keys: laws
                .iter()
                .enumerate()
                .map(|(driver, law)| KeySpec::alike(driver, 0.3 + 0.15 * driver as f64, law.phi, days))
                .collect(),
            recorded: None,
        };
        let chain = Chain::new(&spec).unwrap();
        let (mut sky, mut verdicts) = (Sky::default(), vec![Vec::new(); 3]);
        for season in 0..SEASONS as u64 {
            chain.draw(11, season, &mut sky);
            for (key, verdicts) in verdicts.iter_mut().enumerate() {
                verdicts.extend(sky.over(key, BEFORE..days).map(Some));
            }
        }
        verdicts
    }

    const LAWS: [Law; 3] = [
        Law { rho: 0.45, phi: 0.35, spread_days: 14.0 },
        Law { rho: 0.3, phi: 0.2, spread_days: 5.0 },
        Law { rho: 0.15, phi: 0.3, spread_days: 8.0 },
    ];

    fn compared(verdicts: &[Vec<Option<bool>>], laws: [Law; 3]) -> Vec<([usize; 2], Alike)> {
        let p: Vec<Vec<f64>> = (0..3).map(|key| vec![0.3 + 0.15 * key as f64; verdicts[key].len()]).collect();
        let block = Block::of_seasons(SEASONS, DAYS);
        let side =
            |key: usize| Side { series: Series::new(&verdicts[key], &p[key]).unwrap(), phi: laws[key].phi };
        [[0, 1], [0, 2], [1, 2]]
            .map(|[a, b]| ([a, b], alike(&block, &[(side(a), side(b))], [laws[a], laws[b]]).unwrap()))
            .to_vec()
    }

    /// Skies of known agreement: the model's correlation is that of the skies, and the agreements are found again.
    #[test]
    fn the_agreement_of_drawn_skies_is_found_again() {
        for agreement in [[1.0; 3], [0.9, 0.7, 0.5], [1.0, 0.0, 0.6]] {
            let seen = compared(&drawn(agreement, LAWS), LAWS);
            for (drivers, alike) in &seen {
                let product = agreement[drivers[0]] * agreement[drivers[1]];
                // Four standard deviations: the interval is 3.92 of them wide.
                let four = (alike.interval.1 - alike.interval.0) * 4.0 / 3.92;
                assert!(
                    (alike.modelled(product) - alike.observed).abs() < four && four < 0.03,
                    "{agreement:?} {drivers:?}: {} {alike:?}",
                    alike.modelled(product)
                );
            }
            let found = fit_agreement(3, &seen);
            let products =
                seen.iter().map(|(of, _)| (found[of[0]] * found[of[1]], agreement[of[0]] * agreement[of[1]]));
            for (found, want) in products {
                assert!((found - want).abs() < 0.06, "{agreement:?}: {found} {want}");
            }
        }
    }

    #[test]
    fn agreement_scales_days_without_memory_and_nothing_is_shared_at_none() {
        let plain = [Law { spread_days: 1.0, ..Law::INDEPENDENT }; 2];
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{a} {b}");
        let [both, w, q] = shared(0.3, &plain);
        [both, w, q].into_iter().for_each(|of| near(of, 0.3));
        assert_eq!(shared(0.0, &[LAWS[0], LAWS[1]]), [0.0; 3]);
        let [both, w, q] = shared(1.0, &[LAWS[0], LAWS[0]]);
        [both, w, q].into_iter().for_each(|of| near(of, 1.0));
        let kept = shared(1.0, &[LAWS[0], LAWS[1]]);
        near(kept[1], (1.0 - 0.45) / (1.0 - 0.3));
    }

    #[test]
    fn keys_without_enough_middling_days_are_not_compared() {
        let (verdicts, p) = (vec![Some(true); 60], vec![0.95; 60]);
        let side = Side { series: Series::new(&verdicts, &p).unwrap(), phi: 0.2 };
        assert_eq!(alike(&Block::of_seasons(2, 30), &[(side, side)], [LAWS[0], LAWS[1]]), None);
        assert_eq!(fit_agreement(2, &[]), [1.0, 1.0]);
    }
}
