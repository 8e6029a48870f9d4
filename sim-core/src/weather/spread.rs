//! Columns of Beta quantiles: the chance of a suitable day in a spell that is better or worse than usual.
//! Which spell a day is in is drawn in [`chain`](crate::weather::chain).
//!
//! A spell is a `q` in 0 to 1, cut into [`BINS`] equal bins. A column holds, for one spread and one mean `p` of a
//! fixed list of levels, the mean of the Beta's quantiles over each bin. Three things follow. The mean over the
//! bins is `p` itself, and stays so when a `p` between two levels is interpolated: the marginal is exact.
//! Every entry grows with `p`, so that keys of one spread are nested. And a column depends on its level and spread
//! alone, so that adding a key changes no other key's chances.

use libm::{exp, log, log1p, pow};

/// Bins of q, a power of two.
pub(crate) const BINS: usize = 256;

/// Below this the Beta is taken as its mean: its standard deviation is at most 0.0005.
const PHI_MIN: f64 = 1e-6;

/// The means at which quantiles are held: every hundredth (tables are mostly written so) and closer by 0 and 1.
fn levels() -> Vec<f64> {
    let edge = [0.0001, 0.0003, 0.001, 0.002, 0.003, 0.005, 0.007];
    let mut levels: Vec<f64> = (0..=100).map(|i| f64::from(i) / 100.0).collect();
    levels.extend(edge);
    levels.extend(edge.map(|p| 1.0 - p));
    levels.sort_by(f64::total_cmp);
    levels
}

/// Where a day's quantiles are: in bin `b` its chance is `table[at + b]`, and `share` of the way from it to
/// `table[at + BINS + b]`, which is the next level's entry unless `share` is 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Place {
    pub(crate) at: u32,
    pub(crate) share: f64,
}

/// A place that is never suitable, in every table.
pub(crate) const NEVER: Place = Place { at: 0, share: 0.0 };

/// The columns that the days of all keys need: first they are asked for, then made, then found again.
#[derive(Debug, Clone)]
pub(crate) struct Columns {
    levels: Vec<f64>,
    /// Each distinct phi with the columns of its levels, where they are needed: where they start, once made.
    spreads: Vec<(f64, Vec<Option<u32>>)>,
}

impl Columns {
    pub(crate) fn new() -> Self {
        Self { levels: levels(), spreads: Vec::new() }
    }

    /// The level at or below `p`, and how far `p` is from it to the next.
    fn level_of(&self, p: f64) -> (usize, f64) {
        let above = self.levels.partition_point(|level| *level <= p);
        let level = above.saturating_sub(1);
        let share = match self.levels.get(above) {
            Some(next) => (p - self.levels[level]) / (next - self.levels[level]),
            None => 0.0,
        };
        (level, share)
    }

    /// Asks for what a day of mean `p` (0 to 1) and spread `phi` (0 to below 1) needs.
    pub(crate) fn ask(&mut self, p: f64, phi: f64) {
        let (level, share) = self.level_of(p);
        let spread = self.spreads.iter().position(|spread| spread.0 == phi).unwrap_or_else(|| {
            self.spreads.push((phi, vec![None; self.levels.len()]));
            self.spreads.len() - 1
        });
        for needed in level..=level + usize::from(share > 0.0) {
            self.spreads[spread].1[needed] = Some(0);
        }
    }

    /// Asks for all that days of spread `phi` can need.
    pub(crate) fn ask_all(&mut self, phi: f64) {
        self.spreads.push((phi, vec![Some(0); self.levels.len()]));
    }

    /// Makes all columns asked for: the table that places refer to.
    pub(crate) fn make(&mut self) -> Vec<f64> {
        // The first column is that of NEVER; after the last comes another, so that a place always has a next.
        let mut table = vec![0.0; BINS];
        let last = self.levels.len() - 1;
        for (phi, starts) in &mut self.spreads {
            for (level, start) in starts.iter_mut().enumerate() {
                if start.is_some() {
                    *start = Some(table.len() as u32);
                    table.resize(table.len() + BINS, if level == last { 1.0 } else { 0.0 });
                }
            }
            for level in 1..=last / 2 {
                // The Beta of 1 - p is that of p seen from the other side.
                let (low, high) = (starts[level], starts[last - level]);
                if low.or(high).is_none() {
                    continue;
                }
                let mut means = [0.0; BINS];
                quantile_means(self.levels[level], *phi, &mut means);
                means = means.map(to_edge_when_near);
                if let Some(start) = high {
                    for (entry, mean) in table[start as usize..].iter_mut().zip(means.iter().rev()) {
                        *entry = 1.0 - mean;
                    }
                }
                if let Some(start) = low {
                    table[start as usize..][..BINS].copy_from_slice(&means);
                }
            }
        }
        table.resize(table.len() + BINS, 0.0);
        table
    }

    /// Where a day of mean `p` and spread `phi` that was asked for is in the table made.
    pub(crate) fn place(&self, p: f64, phi: f64) -> Place {
        let (level, share) = self.level_of(p);
        let starts = self.spreads.iter().find(|spread| spread.0 == phi).map(|(_, starts)| starts);
        starts.and_then(|starts| starts[level]).map_or(NEVER, |at| Place { at, share })
    }
}

/// An entry, or the edge where it is within 2^-40 of it: no fresh w lies between, and there the last digits of two
/// levels may cross.
fn to_edge_when_near(mean: f64) -> f64 {
    const EDGE: f64 = 1.0 / (1u64 << 40) as f64;
    if mean < EDGE {
        0.0
    } else if mean > 1.0 - EDGE {
        1.0
    } else {
        mean
    }
}

/// The mean of the quantiles of the Beta of mean `p` (inside 0 to 1) and variance `phi p (1 - p)` over each bin of q:
/// `p` in all bins when there is no spread.
pub(crate) fn quantile_means(p: f64, phi: f64, means: &mut [f64; BINS]) {
    if phi < PHI_MIN { means.fill(p) } else { bin_means(p, phi, means) }
}

/// Panels of the integration: enough for means right to 1e-8 (see the tests).
const PANELS: usize = 512;

/// Inner nodes of the four-point Gauss-Lobatto rule on 0 to 1, each of weight 5/12; the ends have 1/12.
const LOBATTO: [f64; 2] = [0.276_393_202_250_021, 0.723_606_797_749_979];

/// A point of the curve G(F): F is the chance of a value up to x, G the integral of x over that chance, so
/// that the slope is x itself and its change `bend` is 1 over the Beta's density.
#[derive(Clone, Copy)]
struct Point {
    f: f64,
    g: f64,
    x: f64,
    bend: f64,
}

/// The mean of the quantiles of the Beta of mean `p` (inside 0 to 1) and variance `phi p (1 - p)` over each
/// bin of q.
///
/// With F the distribution function and G(F) the integral of the quantile, a bin's mean is a difference of
/// G over the bin's width: no quantile has to be searched. F and G are integrated along y = log(x / (1 - x)),
/// in which the density has one peak and exponential tails whatever the Beta's shape, and G is
/// interpolated in F by quintics of known slopes and bends; outside the window it is a power law.
fn bin_means(p: f64, phi: f64, means: &mut [f64; BINS]) {
    let concentration = (1.0 - phi) / phi;
    let (a, b) = (p * concentration, (1.0 - p) * concentration);
    let peak_y = log(a / b);
    let peak = log_density(a, b, peak_y).0;
    let (low, high) = (edge(a, b, peak_y, peak, -FAR), edge(a, b, peak_y, peak, FAR));
    let step = (high - low) / PANELS as f64;

    let mut curve = [Point { f: 0.0, g: 0.0, x: 0.0, bend: 0.0 }; PANELS + 3];
    // Left of the window the density is that of a power of x, right of it that of a power of 1 - x.
    let (h, x) = log_density(a, b, low);
    let density = exp(h - peak);
    let (mut f, mut g) = (density / a, density * x / (a + 1.0));
    curve[1] = Point { f, g, x, bend: x * (1.0 - x) / density };
    let mut before = (density, x);
    for panel in 0..PANELS {
        let start = low + step * panel as f64;
        let mut add = |weight: f64, (density, x): (f64, f64)| {
            f += weight * step * density;
            g += weight * step * density * x;
        };
        let at = |y: f64| {
            let (h, x) = log_density(a, b, y);
            (exp(h - peak), x)
        };
        add(1.0 / 12.0, before);
        for node in LOBATTO {
            add(5.0 / 12.0, at(start + step * node));
        }
        before = at(start + step);
        add(1.0 / 12.0, before);
        let (density, x) = before;
        curve[panel + 2] = Point { f, g, x, bend: x * (1.0 - x) / density };
    }
    let (h, x) = log_density(a, b, high);
    let density = exp(h - peak);
    f += density / b;
    g += density / b - density * (1.0 - x) / (b + 1.0);
    curve[PANELS + 2] = Point { f, g, x: 1.0, bend: 0.0 };
    // The last digits are shared out so that the bins' mean is p.
    let (scale_f, scale_g) = (1.0 / f, p / g);
    for point in &mut curve {
        point.f *= scale_f;
        point.g *= scale_g;
        point.bend *= f;
    }

    const LAST: usize = PANELS + 1;
    let (mut panel, mut before) = (0, 0.0);
    for (bin, mean) in means.iter_mut().enumerate() {
        let after = if bin + 1 == BINS {
            p
        } else {
            let f = (bin + 1) as f64 / BINS as f64;
            while panel + 2 < curve.len() && curve[panel + 1].f < f {
                panel += 1;
            }
            let (from, to) = (curve[panel], curve[panel + 1]);
            match panel {
                0 => to.g * pow(f / to.f, 1.0 + 1.0 / a),
                LAST => {
                    let short = (1.0 - from.f) - (p - from.g);
                    p - (1.0 - f) + short * pow((1.0 - f) / (1.0 - from.f), 1.0 + 1.0 / b)
                }
                _ => between(from, to, f),
            }
        };
        *mean = ((after - before) * BINS as f64).clamp(0.0, 1.0);
        before = after;
    }
}

/// How far from 0 the integration goes in y at most: beyond, x or 1 - x is below 1e-13.
const FAR: f64 = 30.0;
/// How far below its peak the log density is taken as nothing.
const DEEP: f64 = 30.0;

/// The y between the peak and `far` at which the log density has fallen by [`DEEP`], or `far` if it does not.
fn edge(a: f64, b: f64, peak_y: f64, peak: f64, far: f64) -> f64 {
    let (mut inside, mut outside) = (peak_y, far);
    if log_density(a, b, far).0 > peak - DEEP {
        return far;
    }
    for _ in 0..24 {
        let middle = f64::midpoint(inside, outside);
        if log_density(a, b, middle).0 > peak - DEEP { inside = middle } else { outside = middle }
    }
    outside
}

/// The log of the Beta's density in y (up to a constant), and x.
fn log_density(a: f64, b: f64, y: f64) -> (f64, f64) {
    let small = exp(-y.abs());
    let log_sum = log1p(small);
    let x = if y >= 0.0 { 1.0 / (1.0 + small) } else { small / (1.0 + small) };
    (-a * (log_sum + (-y).max(0.0)) - b * (log_sum + y.max(0.0)), x)
}

/// The quintic through two points with their slopes and bends, at `f`.
fn between(from: Point, to: Point, f: f64) -> f64 {
    let width = to.f - from.f;
    if width <= 0.0 {
        return to.g;
    }
    let t = (f - from.f) / width;
    let (t2, t3, rest) = (t * t, t * t * t, 1.0 - t);
    let (rest2, rest3) = (rest * rest, rest * rest * rest);
    // Each term has one of the six values at the ends as 1 and the others as 0.
    from.g * rest3 * (1.0 + 3.0 * t + 6.0 * t2)
        + to.g * t3 * (1.0 + 3.0 * rest + 6.0 * rest2)
        + width * (from.x * t * rest3 * (1.0 + 3.0 * t) - to.x * rest * t3 * (1.0 + 3.0 * rest))
        + width * width * 0.5 * (from.bend * t2 * rest3 + to.bend * rest2 * t3)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;
    use statrs::distribution::{Beta, ContinuousCDF as _};

    fn logistic(y: f64) -> f64 {
        1.0 / (1.0 + exp(-y))
    }

    /// The quantile at `q` by halving on the distribution function of `statrs`, along log(x / (1 - x)):
    /// `statrs`' own inverse is right to some 5 digits only, which is too few to compare with.
    fn quantile(law: &Beta, q: f64) -> f64 {
        let (mut low, mut high) = (-200.0, 200.0);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if law.cdf(logistic(middle)) < q { low = middle } else { high = middle }
        }
        logistic(f64::midpoint(low, high))
    }

    /// The bins' means against an independent way: quantiles at the bin's edges from the distribution function
    /// of `statrs`, the bin's mean by I_x(a + 1, b), which `statrs` has as that of a second Beta.
    #[test]
    fn bin_means_agree_with_an_independent_inverse() {
        for phi in [0.001, 0.01, 0.05, 0.2, 0.5, 0.8] {
            for p in [0.01, 0.03, 0.2, 0.35, 0.5] {
                let mut means = [0.0; BINS];
                bin_means(p, phi, &mut means);
                let concentration = (1.0 - phi) / phi;
                let (a, b) = (p * concentration, (1.0 - p) * concentration);
                let law = Beta::new(a, b).unwrap();
                let shifted = Beta::new(a + 1.0, b).unwrap();
                let g = |bin: usize| match bin {
                    0 => 0.0,
                    BINS => p,
                    _ => {
                        let q = bin as f64 / BINS as f64;
                        let x = quantile(&law, q);
                        // To first order G moves by x dF.
                        p * shifted.cdf(x) + x * (q - law.cdf(x))
                    }
                };
                for (bin, mean) in means.iter().enumerate() {
                    let want = (g(bin + 1) - g(bin)) * BINS as f64;
                    let off = (mean - want).abs();
                    assert!(off < 1e-8, "phi {phi} p {p} bin {bin}: {mean} {want}");
                }
            }
        }
    }

    /// The columns of all levels of one spread, by level.
    fn all_levels(phi: f64) -> (Vec<f64>, Vec<[f64; BINS]>) {
        let mut columns = Columns::new();
        let levels = columns.levels.clone();
        levels.iter().for_each(|p| columns.ask(*p, phi));
        let table = columns.make();
        let column = |p: &f64| {
            let place = columns.place(*p, phi);
            assert_eq!(place.share, 0.0);
            table[place.at as usize..][..BINS].try_into().unwrap()
        };
        let all = levels.iter().map(column).collect();
        (levels, all)
    }

    #[test]
    fn columns_keep_the_mean_and_nearly_the_variance() {
        for (phi, most_lost) in [(0.001, 3e-3), (0.05, 3e-3), (0.3, 3e-3), (0.7, 3e-3), (0.99, 1e-2)] {
            let (levels, columns) = all_levels(phi);
            for (p, bins) in levels.iter().zip(&columns) {
                let mean = bins.iter().sum::<f64>() / BINS as f64;
                assert!((mean - p).abs() < 1e-12, "phi {phi} p {p}: {mean}");
                if (0.05..=0.95).contains(p) {
                    let variance = bins.iter().map(|x| (x - p) * (x - p)).sum::<f64>() / BINS as f64;
                    let lost = 1.0 - variance / (phi * p * (1.0 - p));
                    assert!((0.0..most_lost).contains(&lost), "phi {phi} p {p}: lost {lost}");
                }
            }
        }
    }

    /// Without this keys of one spread would not be nested. The spreads are close enough to find any that crosses.
    #[test]
    fn entries_grow_with_q_and_with_p() {
        let all = (1..=99).map(|percent| f64::from(percent) / 100.0);
        for phi in [0.0, 1e-6, 0.001, 0.985].into_iter().chain(all) {
            let (levels, columns) = all_levels(phi);
            for (level, column) in columns.iter().enumerate() {
                for (bin, here) in column.iter().enumerate() {
                    assert!((0.0..=1.0).contains(here));
                    assert!(level == 0 || columns[level - 1][bin] <= *here, "phi {phi} bin {bin} {level}");
                    if bin > 0 {
                        let below = column[bin - 1];
                        assert!(below <= here + 1e-12, "phi {phi} bin {bin} level {level}: {below} {here}");
                    }
                }
            }
            assert_eq!(columns[0], [0.0; BINS]);
            assert_eq!(columns[levels.len() - 1], [1.0; BINS]);
        }
    }

    proptest! {
        /// Columns are the same whichever others stand beside them, and a mean between two levels is kept.
        #[test]
        fn a_place_gives_its_mean_back(
            days in prop::collection::vec(
                (
                    prop_oneof![Just(0.0), Just(1.0), Just(0.5), 0.0f64..=1.0],
                    prop_oneof![Just(0.0), Just(0.3), 0.0f64..0.99],
                ),
                1..6,
            ),
        ) {
            let mut columns = Columns::new();
            days.iter().for_each(|(p, phi)| columns.ask(*p, *phi));
            let table = columns.make();
            let chance = |table: &[f64], place: Place, bin: usize| {
                let (here, next) = (table[place.at as usize + bin], table[place.at as usize + BINS + bin]);
                here + place.share * (next - here)
            };
            for (p, phi) in days {
                let place = columns.place(p, phi);
                prop_assert!((0.0..1.0).contains(&place.share));
                let mean = (0..BINS).map(|bin| chance(&table, place, bin)).sum::<f64>() / BINS as f64;
                prop_assert!((mean - p).abs() < 1e-12, "p {p} phi {phi}: {mean}");
                let mut alone = Columns::new();
                alone.ask(p, phi);
                let small = alone.make();
                for bin in 0..BINS {
                    prop_assert_eq!(chance(&small, alone.place(p, phi), bin), chance(&table, place, bin));
                    prop_assert_eq!(chance(&table, NEVER, bin), 0.0);
                }
            }
        }
    }
}
