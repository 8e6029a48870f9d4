//! Least squares of a few bounded parameters (Levenberg and Marquardt's damping, steps cut at the bounds). What is
//! fitted is not here.

/// Residuals and their slopes at a point.
pub(super) struct Slopes<const N: usize> {
    pub(super) residuals: Vec<f64>,
    pub(super) slopes: Vec<[f64; N]>,
}

/// A minimum.
#[derive(Debug, Clone, Copy)]
pub(super) struct Minimum<const N: usize> {
    pub(super) at: [f64; N],
    /// Sum of the squared residuals.
    pub(super) cost: f64,
}

/// Rounds at most: a dozen are usual.
const ROUNDS: usize = 300;
/// Beyond this damping a step no longer moves anything.
const DAMPING_MAX: f64 = 1e14;

/// The least sum of squares from any of the starts, as [`least_squares`] finds it near each; nothing without one.
pub(super) fn least_from<const N: usize>(
    starts: impl Iterator<Item = [f64; N]>,
    low: [f64; N],
    high: [f64; N],
    mut of: impl FnMut(&[f64; N], &mut Slopes<N>),
) -> Option<Minimum<N>> {
    let found = starts.map(|start| least_squares(start, low, high, &mut of));
    // Of equals the first.
    found.reduce(|best, found| if found.cost < best.cost { found } else { best })
}

/// The least sum of squares near `start` with each parameter in `low` to `high`; `of` fills in residuals and slopes.
pub(super) fn least_squares<const N: usize>(
    start: [f64; N],
    low: [f64; N],
    high: [f64; N],
    mut of: impl FnMut(&[f64; N], &mut Slopes<N>),
) -> Minimum<N> {
    let mut here = Slopes { residuals: Vec::new(), slopes: Vec::new() };
    let mut there = Slopes { residuals: Vec::new(), slopes: Vec::new() };
    let mut at = start;
    of(&at, &mut here);
    let mut cost = squares(&here.residuals);
    let mut damping = 1e-3;
    for _ in 0..ROUNDS {
        let (gradient, matrix) = normal(&here);
        // A parameter on a bound that the slope pushes it against stays there.
        let held: [bool; N] = std::array::from_fn(|i| {
            (at[i] <= low[i] && gradient[i] > 0.0) || (at[i] >= high[i] && gradient[i] < 0.0)
        });
        let mut moved = 0.0_f64;
        let mut gained = 0.0;
        while damping < DAMPING_MAX {
            let step = solve(&matrix, &gradient, &held, damping);
            let next: [f64; N] = std::array::from_fn(|i| (at[i] - step[i]).clamp(low[i], high[i]));
            of(&next, &mut there);
            let next_cost = squares(&there.residuals);
            if next_cost <= cost {
                moved = (0..N).map(|i| (next[i] - at[i]).abs()).fold(0.0, f64::max);
                gained = cost - next_cost;
                (at, cost) = (next, next_cost);
                std::mem::swap(&mut here, &mut there);
                damping = (damping / 5.0).max(1e-12);
                break;
            }
            damping *= 4.0;
        }
        if moved < 1e-9 || gained <= 1e-15 * cost {
            break;
        }
    }
    Minimum { at, cost }
}

fn squares(residuals: &[f64]) -> f64 {
    residuals.iter().map(|r| r * r).sum()
}

/// Gradient (half) and matrix of the normal equations.
fn normal<const N: usize>(of: &Slopes<N>) -> ([f64; N], [[f64; N]; N]) {
    let (mut gradient, mut matrix) = ([0.0; N], [[0.0; N]; N]);
    for (residual, slope) in of.residuals.iter().zip(&of.slopes) {
        for i in 0..N {
            gradient[i] += slope[i] * residual;
            for j in 0..N {
                matrix[i][j] += slope[i] * slope[j];
            }
        }
    }
    (gradient, matrix)
}

/// The damped step; a held parameter has none.
fn solve<const N: usize>(
    matrix: &[[f64; N]; N],
    gradient: &[f64; N],
    held: &[bool; N],
    damping: f64,
) -> [f64; N] {
    // A held parameter has a row of its own; one without any slope still gets a pivot.
    let entry = |i: usize, j: usize| match (i == j, held[i] || held[j]) {
        (true, true) => 1.0,
        (false, true) => 0.0,
        (true, false) => matrix[i][i] * (1.0 + damping) + 1e-30,
        (false, false) => matrix[i][j],
    };
    let mut a: [[f64; N]; N] = std::array::from_fn(|i| std::array::from_fn(|j| entry(i, j)));
    let mut b: [f64; N] = std::array::from_fn(|i| if held[i] { 0.0 } else { gradient[i] });
    // The matrix is positive definite: elimination needs no exchange of rows.
    for i in 0..N {
        let pivot = a[i];
        for j in i + 1..N {
            let factor = a[j][i] / pivot[i];
            for (entry, above) in a[j].iter_mut().zip(&pivot).skip(i) {
                *entry -= factor * above;
            }
            b[j] -= factor * b[i];
        }
    }
    for i in (0..N).rev() {
        let known: f64 = (i + 1..N).map(|j| a[i][j] * b[j]).sum();
        b[i] = (b[i] - known) / a[i][i];
    }
    b
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rosenbrock's valley: free, and with a bound in the way, where the least on the bound is known.
    #[test]
    fn a_curved_valley_is_followed_to_its_end_or_to_the_bound() {
        let valley = |x: &[f64; 2], out: &mut Slopes<2>| {
            out.residuals = vec![10.0 * (x[1] - x[0] * x[0]), 1.0 - x[0]];
            out.slopes = vec![[-20.0 * x[0], 10.0], [-1.0, 0.0]];
        };
        let free = least_squares([-1.2, 1.0], [-2.0, -2.0], [2.0, 2.0], valley);
        assert!(free.at.iter().all(|x| (x - 1.0).abs() < 1e-6) && free.cost < 1e-12, "{free:?}");
        let bounded = least_squares([-1.2, 1.0], [-2.0, -2.0], [0.5, 2.0], valley);
        assert!((bounded.at[0] - 0.5).abs() < 1e-12 && (bounded.at[1] - 0.25).abs() < 1e-6, "{bounded:?}");
    }
}
