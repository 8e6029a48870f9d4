//! Which of several is least, when each can be tried as often as one likes: those that fall behind drop out, and only
//! the others are tried on. What is tried, and what is counted, is not known here.
//!
//! The procedure is that of Kim S-H, Nelson BL (2001), A fully sequential procedure for indifference-zone selection in
//! simulation, ACM Transactions on Modeling and Computer Simulation 11:251-273, in the form that holds for common
//! random numbers, with c = 1, turned from the greatest mean to the least.
//!
//! With `k` to choose from, an error of `alpha`, a zone of `delta` and `n0` batches to begin with, let `S2_ij` be the
//! variance of the differences of the first `n0` batch means of `i` and `j`,
//! `eta = ((2 alpha / (k - 1))^(-2 / (n0 - 1)) - 1) / 2` and `h2 = 2 eta (n0 - 1)`. After `r >= n0` batches `i` drops
//! out when its mean is above that of any `j` still in by more than `W_ij(r) = max(0, delta / (2 r) (h2 S2_ij / delta^2
//! - r))`.
//!
//! Why this holds: let `j` be better than `i` by `delta` or more. The sum of their differences leaves the triangle of
//! height `a = h2 S2 / (2 delta)` and slope `delta / 2` on the wrong side with a chance of at most
//! `exp(-a delta / s2) / 2`, `s2` being the true variance of a difference (Fabian V 1974, Note on Anderson's sequential
//! procedures with triangular boundary, Annals of Statistics 2:170-176). Since `(n0 - 1) S2 / s2` is chi-square with
//! `n0 - 1` degrees, whose mean of `exp(-eta x)` is `(1 + 2 eta)^(-(n0 - 1) / 2)`, that is at most `alpha / (k - 1)`
//! over all first stages; and the best meets `k - 1` others. Nothing of it asks that batches of different farms owe
//! nothing to one another; that batch means are normal, and one batch owes nothing to the next, it does ask.

/// What is asked of a [`Selection`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SelectionRule {
    zone: f64,
    error: f64,
    first_batches: u64,
}

/// Why a rule is none.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum SelectionError {
    /// The zone is not above 0.
    #[error("the difference worth knowing is {0}, but must be above 0")]
    Zone(f64),
    /// The error is not a chance below one half.
    #[error("the chance of a wrong choice is {0}, but must be above 0 and below 0.5")]
    Error(f64),
    /// Fewer than two batches have no variance.
    #[error("{0} batches to begin with tell nothing of how batches differ; 2 is the least")]
    Batches(u64),
}

impl SelectionRule {
    /// The one that is least by `zone` or more (in the measure's own unit) shall be left with a chance of at least
    /// `1 - error`; `first_batches` of all are tried before any drops out.
    ///
    /// # Errors
    ///
    /// When `zone` is not above 0, `error` not between 0 and 0.5, or `first_batches` below 2.
    pub fn new(zone: f64, error: f64, first_batches: u64) -> Result<Self, SelectionError> {
        if !(zone > 0.0 && zone.is_finite()) {
            return Err(SelectionError::Zone(zone));
        }
        if !(error > 0.0 && error < 0.5) {
            return Err(SelectionError::Error(error));
        }
        if first_batches < 2 {
            return Err(SelectionError::Batches(first_batches));
        }
        Ok(Self { zone, error, first_batches })
    }

    /// `h2`, for so many to choose from, at least 2.
    fn height(&self, of: usize) -> f64 {
        let degrees = self.first_batches as f64 - 1.0;
        let each = 2.0 * self.error / (of as f64 - 1.0);
        let eta = (libm::pow(each, -2.0 / degrees) - 1.0) / 2.0;
        2.0 * eta * degrees
    }
}

/// One that dropped out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dropped {
    /// Which.
    pub which: usize,
    /// After how many batches.
    pub batches: u64,
    /// Its mean then.
    pub mean: f64,
    /// The one that was least then, of those still in.
    pub behind: usize,
    /// The mean of that one.
    pub least_mean: f64,
}

/// A choice under way.
///
/// ```
/// use sim_core::study::{Selection, SelectionRule};
/// let mut choice = Selection::new(3, SelectionRule::new(0.1, 0.05, 10)?);
/// for batch in 0..200 {
///     let luck = f64::from(batch * 7 % 10) / 10.0;
///     let means: Vec<f64> = choice.left().iter().map(|which| luck + [0.0, 0.3, -0.2][*which]).collect();
///     if choice.take(&means) {
///         break;
///     }
/// }
/// assert_eq!((choice.left(), choice.batches()), (&[2][..], 10));
/// # Ok::<(), sim_core::study::SelectionError>(())
/// ```
#[derive(Debug, Clone)]
pub struct Selection {
    rule: SelectionRule,
    /// The first batches: each one's means in a row.
    first: Vec<f64>,
    /// `h2 S2_ij`, at `i * count + j`; empty until the first batches are in.
    heights: Vec<f64>,
    /// Sums of batch means, of those that dropped out up to then.
    sums: Vec<f64>,
    batches: u64,
    left: Vec<usize>,
    dropped: Vec<Dropped>,
}

impl Selection {
    /// A choice between so many, numbered from 0.
    #[must_use]
    pub fn new(count: usize, rule: SelectionRule) -> Self {
        Self {
            rule,
            first: Vec::new(),
            heights: Vec::new(),
            sums: vec![0.0; count],
            batches: 0,
            left: (0..count).collect(),
            dropped: Vec::new(),
        }
    }

    /// Those still in, in ascending order.
    #[must_use]
    pub fn left(&self) -> &[usize] {
        &self.left
    }

    /// Those that dropped out, in that order.
    #[must_use]
    pub fn dropped(&self) -> &[Dropped] {
        &self.dropped
    }

    /// How many batches were taken.
    #[must_use]
    pub fn batches(&self) -> u64 {
        self.batches
    }

    /// The mean of one over the batches in which it was tried.
    ///
    /// # Panics
    ///
    /// If there is no such one.
    #[must_use]
    pub fn mean(&self, which: usize) -> f64 {
        match self.dropped.iter().find(|dropped| dropped.which == which) {
            Some(dropped) => dropped.mean,
            None => self.sums[which] / self.batches.max(1) as f64,
        }
    }

    /// Takes one batch mean of each that is [`left`](Self::left), in that order, and says whether the choice is made:
    /// one is left, or those left had the same mean when each pair had been tried for as long as it takes.
    ///
    /// # Panics
    ///
    /// If there are not as many means as are left.
    pub fn take(&mut self, means: &[f64]) -> bool {
        assert_eq!(means.len(), self.left.len(), "a batch mean of each that is left");
        self.batches += 1;
        for (which, mean) in self.left.iter().zip(means) {
            self.sums[*which] += mean;
        }
        let first = self.rule.first_batches;
        if self.batches <= first {
            self.first.extend_from_slice(means);
        }
        if self.batches == first {
            self.heights = self.heights_of_first();
            self.first = Vec::new();
        }
        if self.batches >= first {
            self.drop_out();
        }
        self.made()
    }

    /// `h2 S2_ij` of each pair.
    fn heights_of_first(&self) -> Vec<f64> {
        let count = self.sums.len();
        let height = self.rule.height(count.max(2));
        let mut heights = vec![0.0; count * count];
        for (one, other) in (0..count).flat_map(|one| (0..count).map(move |other| (one, other))) {
            let differences = || self.first.chunks_exact(count).map(|batch| batch[one] - batch[other]);
            let batches = self.rule.first_batches as f64;
            let mean = differences().sum::<f64>() / batches;
            let squares: f64 =
                differences().map(|difference| (difference - mean) * (difference - mean)).sum();
            heights[one * count + other] = height * squares / (batches - 1.0);
        }
        heights
    }

    /// By how much the sum of one may be above that of another: `r W_ij(r)`.
    fn margin(&self, one: usize, other: usize) -> f64 {
        let (zone, batches) = (self.rule.zone, self.batches as f64);
        (self.heights[one * self.sums.len() + other] / (2.0 * zone) - batches * zone / 2.0).max(0.0)
    }

    fn drop_out(&mut self) {
        let falls = |one: &usize| {
            let behind = |other: &usize| self.sums[*one] - self.sums[*other] > self.margin(*one, *other);
            self.left.iter().any(behind)
        };
        let (fall, stay): (Vec<usize>, Vec<usize>) = self.left.iter().copied().partition(falls);
        let least = stay.iter().copied().reduce(
            |one, other| {
                if self.sums[other] < self.sums[one] { other } else { one }
            },
        );
        let batches = self.batches as f64;
        for which in fall {
            // The least of all is behind none, and stays.
            let behind = least.unwrap_or(which);
            self.dropped.push(Dropped {
                which,
                batches: self.batches,
                mean: self.sums[which] / batches,
                behind,
                least_mean: self.sums[behind] / batches,
            });
        }
        self.left = stay;
    }

    /// Whether there is nothing left to wait for.
    fn made(&self) -> bool {
        let pairs = || self.left.iter().flat_map(|one| self.left.iter().map(move |other| (*one, *other)));
        self.left.len() < 2
            || (self.batches >= self.rule.first_batches
                && pairs().all(|(one, other)| self.margin(one, other) == 0.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rule(zone: f64) -> SelectionRule {
        SelectionRule::new(zone, 0.05, 4).unwrap()
    }

    #[test]
    fn a_rule_that_is_none_is_refused() {
        assert_eq!(SelectionRule::new(0.0, 0.05, 4), Err(SelectionError::Zone(0.0)));
        assert!(SelectionRule::new(f64::NAN, 0.05, 4).is_err());
        assert_eq!(SelectionRule::new(0.1, 0.5, 4), Err(SelectionError::Error(0.5)));
        assert_eq!(SelectionRule::new(0.1, 0.05, 1), Err(SelectionError::Batches(1)));
    }

    /// By hand: differences of batch means 0.3, 0.1, 0.3, 0.1 have mean 0.2 and S2 = 4 x 0.01 / 3; eta with n0 = 4 and
    /// k = 2 is (0.1^(-2/3) - 1) / 2 = 1.8208; h2 = 6 eta = 10.925. With a zone of 0.2 the margin after 4 batches is
    /// 10.925 x 0.01333 / 0.4 - 0.4 < 0: 0.8 of the sums is enough. With 0.05 it is 1.4567 - 0.1 = 1.3567, and falls by
    /// 0.025 a batch: at 0.2 more a batch the second drops out when 0.2 r > 1.4567 - 0.025 r, at r = 7.
    #[test]
    fn margins_by_hand() {
        for (zone, batches) in [(0.2, 4), (0.05, 7)] {
            let mut choice = Selection::new(2, rule(zone));
            let mut made = false;
            while !made {
                let more = if choice.batches().is_multiple_of(2) { 0.3 } else { 0.1 };
                made = choice.take(&[0.5, 0.5 + more]);
            }
            assert_eq!((choice.left(), choice.batches()), (&[0][..], batches), "zone {zone}");
            let dropped = choice.dropped()[0];
            assert_eq!((dropped.which, dropped.behind, dropped.batches), (1, 0, batches));
            assert!(dropped.mean > dropped.least_mean);
        }
    }

    #[test]
    fn those_that_never_differ_are_left_together() {
        let mut choice = Selection::new(3, rule(0.1));
        let luck = [0.2, 0.7, 0.4, 0.4];
        let made: Vec<bool> = luck
            .iter()
            .map(|luck| {
                let means: Vec<f64> =
                    choice.left().iter().map(|which| luck + [0.0, 0.4, 0.0][*which]).collect();
                choice.take(&means)
            })
            .collect();
        assert_eq!(made, [false, false, false, true]);
        assert_eq!(choice.left(), [0, 2]);
        assert_eq!(choice.mean(0), choice.mean(2));
    }

    #[test]
    fn one_alone_is_chosen_at_once() {
        assert!(Selection::new(1, rule(0.1)).take(&[0.3]));
    }
}
