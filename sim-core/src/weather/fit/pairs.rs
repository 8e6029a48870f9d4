//! How two days vary together, for any two chances and spreads: covariances over the spells of the day model.
//!
//! A spell is one of the equal bins of q in [`spread`](crate::weather::spread), from whose quantiles skies are drawn; so
//! what is summed here is the weather as it is simulated, to the bin. Quantiles are made for a few chances only. Between
//! them each covariance, divided by the two days' own standard deviations, changes little, and is interpolated.

use crate::weather::spread::{BINS, quantile_means};
use libm::{asin, sin, sqrt};

/// Chances nearer to 0 or 1 are taken as this near when quantiles are made.
const P_LEAST: f64 = 1e-4;

/// Chances at which quantiles are made, evenly apart in the angle whose squared sine is the chance.
#[derive(Debug, Clone, Copy)]
pub(super) struct Nodes {
    first: f64,
    step: f64,
    count: usize,
}

/// A chance among the nodes, with its standard deviation.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    node: usize,
    share: f64,
    p: f64,
    sd: f64,
}

impl Nodes {
    /// At most `count` nodes from the least to the greatest of the chances.
    pub(super) fn over(p: impl Iterator<Item = f64>, count: usize) -> Self {
        let (low, high) = p.fold((1.0, 0.0), |(low, high): (f64, f64), p| (low.min(p), high.max(p)));
        let (first, last) = (angle(low.min(high)), angle(high));
        let count = if last > first { count } else { 1 };
        let step = if count > 1 { (last - first) / (count - 1) as f64 } else { 0.0 };
        Self { first, step, count }
    }

    pub(super) fn place(&self, p: f64) -> Place {
        let steps = if self.count > 1 { (angle(p) - self.first) / self.step } else { 0.0 };
        let node = (steps.max(0.0) as usize).min(self.count.saturating_sub(2));
        Place { node, share: (steps - node as f64).clamp(0.0, 1.0), p, sd: sqrt(p * (1.0 - p)) }
    }

    fn p(&self, node: usize) -> f64 {
        let sine = sin(self.first + self.step * node as f64);
        sine * sine
    }
}

fn angle(p: f64) -> f64 {
    asin(sqrt(p.clamp(P_LEAST, 1.0 - P_LEAST)))
}

impl Place {
    pub(super) fn sd(self) -> f64 {
        self.sd
    }

    /// Covariance of two days of equal spread that share q and w: both suit when the lesser chance does.
    pub(super) fn lesser_covariance(self, other: Self) -> f64 {
        self.p.min(other.p) - self.p * other.p
    }
}

/// The quantiles of one spread at each node.
pub(super) struct Spells {
    phi: f64,
    rows: Vec<[f64; BINS]>,
}

impl Spells {
    pub(super) fn of(phi: f64, nodes: &Nodes) -> Self {
        let row = |node| {
            let mut means = [0.0; BINS];
            quantile_means(nodes.p(node), phi, &mut means);
            means
        };
        Self { phi, rows: (0..nodes.count).map(row).collect() }
    }

    pub(super) fn phi(&self) -> f64 {
        self.phi
    }
}

/// A covariance over both days' standard deviations, by node of the earlier and the later day.
pub(super) struct Grid {
    values: Vec<f64>,
    nodes: usize,
}

impl Grid {
    fn of(
        nodes: &Nodes,
        first: &Spells,
        second: &Spells,
        product: impl Fn(&[f64; BINS], &[f64; BINS]) -> f64,
    ) -> Self {
        let mut values = Vec::with_capacity(nodes.count * nodes.count);
        for (i, a) in first.rows.iter().enumerate() {
            for (j, b) in second.rows.iter().enumerate() {
                let (p, other) = (nodes.p(i), nodes.p(j));
                let scale = sqrt(p * (1.0 - p) * other * (1.0 - other));
                values.push((product(a, b) - p * other) / scale);
            }
        }
        Self { values, nodes: nodes.count }
    }

    /// Covariance of the two days' chances in one spell.
    pub(super) fn one_spell(nodes: &Nodes, first: &Spells, second: &Spells) -> Self {
        Self::of(nodes, first, second, |a, b| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>() / BINS as f64)
    }

    pub(super) fn at(&self, first: Place, second: Place) -> f64 {
        let row = |node: usize| {
            let start = node.min(self.nodes - 1) * self.nodes;
            let here = self.values[start + second.node];
            let next = self.values[start + (second.node + 1).min(self.nodes - 1)];
            here + second.share * (next - here)
        };
        let here = row(first.node);
        (here + first.share * (row(first.node + 1) - here)) * first.sd * second.sd
    }
}

/// The covariances of two days of given spreads.
pub(super) struct Pair {
    chances: Grid,
    /// With one w in one spell; nothing where both spreads are equal, for then the lesser chance is known.
    one_sky: Option<Grid>,
    one_sky_two_spells: Grid,
}

impl Pair {
    pub(super) fn of(nodes: &Nodes, first: &Spells, second: &Spells) -> Self {
        let lesser = |a: &[f64; BINS], b: &[f64; BINS]| {
            a.iter().zip(b).map(|(a, b)| a.min(*b)).sum::<f64>() / BINS as f64
        };
        Self {
            chances: Grid::one_spell(nodes, first, second),
            one_sky: (first.phi != second.phi).then(|| Grid::of(nodes, first, second, lesser)),
            one_sky_two_spells: Grid::of(nodes, first, second, mean_lesser),
        }
    }

    fn one_sky(&self, first: Place, second: Place) -> f64 {
        match &self.one_sky {
            Some(grid) => grid.at(first, second),
            None => first.lesser_covariance(second),
        }
    }

    /// Covariance of the suitability of two days that share w and q, only w, only q.
    pub(super) fn kinds(&self, first: Place, second: Place) -> [f64; 3] {
        let apart = self.one_sky_two_spells.at(first, second);
        [self.one_sky(first, second), apart, self.chances.at(first, second)]
    }

    /// Covariance of the suitability of two days that share q with chance `same_q` and w with chance `same_w`.
    pub(super) fn covariance(&self, first: Place, second: Place, same_q: f64, same_w: f64) -> f64 {
        let one_sky = self.one_sky(first, second);
        let one_spell = same_w * one_sky + (1.0 - same_w) * self.chances.at(first, second);
        same_q * one_spell + (1.0 - same_q) * same_w * self.one_sky_two_spells.at(first, second)
    }
}

/// The mean of the lesser of two independent draws, one of each row; both rows grow.
fn mean_lesser(a: &[f64; BINS], b: &[f64; BINS]) -> f64 {
    let (mut passed, mut sum_passed, mut sum) = (0, 0.0, 0.0);
    for a in a {
        while passed < BINS && b[passed] <= *a {
            sum_passed += b[passed];
            passed += 1;
        }
        sum += sum_passed + (BINS - passed) as f64 * a;
    }
    sum / (BINS * BINS) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_mean_of_the_lesser_is_that_of_all_pairs() {
        let (mut a, mut b) = ([0.0; BINS], [0.0; BINS]);
        quantile_means(0.3, 0.4, &mut a);
        quantile_means(0.45, 0.1, &mut b);
        let slow: f64 = a.iter().flat_map(|a| b.iter().map(move |b| a.min(*b))).sum();
        assert!((mean_lesser(&a, &b) - slow / (BINS * BINS) as f64).abs() < 1e-14);
    }

    /// Between the nodes, against nodes that lie on the chances asked for.
    #[test]
    fn covariances_between_nodes_are_those_of_the_chances_there() {
        let wide = Nodes::over([0.02, 0.9].into_iter(), 32);
        for (phi, other) in [(0.05, 0.05), (0.3, 0.3), (0.6, 0.6), (0.1, 0.5), (0.0, 0.3)] {
            let spells = [Spells::of(phi, &wide), Spells::of(other, &wide)];
            let pair = Pair::of(&wide, &spells[0], &spells[1]);
            for (p, q) in [(0.05, 0.06), (0.33, 0.35), (0.5, 0.7), (0.8, 0.8)] {
                let near = Nodes::over([p, q].into_iter(), 2);
                let exact = [Spells::of(phi, &near), Spells::of(other, &near)];
                let exact = Pair::of(&near, &exact[0], &exact[1]);
                for (same_q, same_w) in [(1.0, 0.0), (1.0, 0.5), (0.3, 0.2), (0.0, 0.9)] {
                    let want = exact.covariance(near.place(p), near.place(q), same_q, same_w);
                    let got = pair.covariance(wide.place(p), wide.place(q), same_q, same_w);
                    let off = (got - want).abs() / sqrt(p * (1.0 - p) * q * (1.0 - q));
                    assert!(off < 3e-3, "phi {phi} {other} p {p} {q} q {same_q} w {same_w}: {got} {want}");
                }
            }
        }
    }
}
