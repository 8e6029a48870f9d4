//! Tallies: what a run observed, kept as a few numbers.
//!
//! Intervals and comparisons between runs are made elsewhere, from the figures of many runs.

use super::agenda::Tick;

/// A whole-numbered value that changes over time (a queue, a number at work): its mean over time, its
/// maximum, and how long it stood at or above a mark. The integral is exact.
///
/// ```
/// use sim_core::kernel::TimeTally;
/// let mut queue = TimeTally::new(0, 0).with_mark(2);
/// queue.set(10, 2);
/// queue.add(15, -1);
/// assert_eq!(queue.integral(20), 5 * 2 + 5 * 1);
/// assert_eq!(queue.mean(20), 0.75);
/// assert_eq!(queue.time_at_or_above(20), 5);
/// assert_eq!(queue.max(), 2);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TimeTally {
    value: i64,
    max: i64,
    mark: i64,
    start: Tick,
    /// Up to where `area` and `above` count.
    since: Tick,
    area: i128,
    above: Tick,
}

impl TimeTally {
    /// A tally that begins at tick `start` with the given value. Its mark is the value 1.
    #[must_use]
    pub fn new(start: Tick, value: i64) -> Self {
        Self { value, max: value, mark: 1, start, since: start, area: 0, above: 0 }
    }

    /// The same with another mark for [`time_at_or_above`](Self::time_at_or_above). To be set before the
    /// first change.
    #[must_use]
    pub fn with_mark(self, mark: i64) -> Self {
        Self { mark, ..self }
    }

    /// The value is `value` from `now` on.
    ///
    /// # Panics
    ///
    /// If `now` lies before the last change.
    #[inline]
    pub fn set(&mut self, now: Tick, value: i64) {
        assert!(now >= self.since, "a tally changed at tick {now}, after tick {}", self.since);
        let span = now - self.since;
        self.area += i128::from(self.value) * i128::from(span);
        self.above += if self.value >= self.mark { span } else { 0 };
        (self.value, self.since) = (value, now);
        self.max = self.max.max(value);
    }

    /// The value changes by `change` at `now`.
    ///
    /// # Panics
    ///
    /// If `now` lies before the last change.
    #[inline]
    pub fn add(&mut self, now: Tick, change: i64) {
        self.set(now, self.value + change);
    }

    /// Forgets all before `now` but the value, as at the end of a warm-up.
    ///
    /// # Panics
    ///
    /// If `now` lies before the last change.
    pub fn reset(&mut self, now: Tick) {
        assert!(now >= self.since, "a tally reset at tick {now}, after tick {}", self.since);
        *self = Self::new(now, self.value).with_mark(self.mark);
    }

    /// The value now.
    #[must_use]
    pub fn value(&self) -> i64 {
        self.value
    }

    /// The largest value since the start.
    #[must_use]
    pub fn max(&self) -> i64 {
        self.max
    }

    /// Value times ticks from the start to `now`, exact. `now` is not before the last change.
    #[must_use]
    pub fn integral(&self, now: Tick) -> i128 {
        self.area + i128::from(self.value) * i128::from(now - self.since)
    }

    /// The mean over time from the start to `now`; not a number where no time has passed.
    #[must_use]
    pub fn mean(&self, now: Tick) -> f64 {
        self.integral(now) as f64 / (now - self.start) as f64
    }

    /// How many ticks from the start to `now` the value stood at the mark or above.
    #[must_use]
    pub fn time_at_or_above(&self, now: Tick) -> Tick {
        self.above + if self.value >= self.mark { now - self.since } else { 0 }
    }
}

/// Separate observations (a wait, a yield): number, mean, standard deviation, extremes.
///
/// One pass by the recurrence of Welford (1962), "Note on a method for calculating corrected sums of
/// squares and products" (from memory), which does not lose digits where the mean is large against the spread.
///
/// ```
/// use sim_core::kernel::CountTally;
/// let mut waits = CountTally::default();
/// for wait in [2.0, 4.0, 9.0] {
///     waits.add(wait);
/// }
/// assert_eq!((waits.count(), waits.mean(), waits.sd()), (3, 5.0, 13.0_f64.sqrt()));
/// assert_eq!((waits.min(), waits.max()), (2.0, 9.0));
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CountTally {
    count: u64,
    mean: f64,
    squares: f64,
    min: f64,
    max: f64,
}

impl Default for CountTally {
    fn default() -> Self {
        Self { count: 0, mean: f64::NAN, squares: 0.0, min: f64::NAN, max: f64::NAN }
    }
}

impl CountTally {
    /// Counts one observation.
    #[inline]
    pub fn add(&mut self, value: f64) {
        self.count += 1;
        if self.count == 1 {
            (self.mean, self.min, self.max) = (value, value, value);
            return;
        }
        let off = value - self.mean;
        self.mean += off / self.count as f64;
        self.squares += off * (value - self.mean);
        self.min = self.min.min(value);
        self.max = self.max.max(value);
    }

    /// Forgets everything, as at the end of a warm-up.
    pub fn reset(&mut self) {
        *self = Self::default();
    }

    /// How many observations.
    #[must_use]
    pub fn count(&self) -> u64 {
        self.count
    }

    /// Their mean; not a number where there is none.
    #[must_use]
    pub fn mean(&self) -> f64 {
        self.mean
    }

    /// Their standard deviation (n - 1 in the denominator); not a number below two observations.
    #[must_use]
    pub fn sd(&self) -> f64 {
        if self.count < 2 { f64::NAN } else { (self.squares / (self.count - 1) as f64).sqrt() }
    }

    /// The smallest; not a number where there is none.
    #[must_use]
    pub fn min(&self) -> f64 {
        self.min
    }

    /// The largest; not a number where there is none.
    #[must_use]
    pub fn max(&self) -> f64 {
        self.max
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_warm_up_is_forgotten_but_not_the_value() {
        let mut tally = TimeTally::new(0, 9).with_mark(3);
        tally.set(5, 4);
        tally.reset(10);
        assert_eq!((tally.value(), tally.max(), tally.time_at_or_above(10)), (4, 4, 0));
        tally.set(12, 2);
        assert_eq!((tally.integral(20), tally.time_at_or_above(20)), (24, 2));
        assert_eq!(tally.mean(20), 2.4);

        let mut tally = CountTally::default();
        tally.add(1.0);
        tally.reset();
        assert!(tally.mean().is_nan() && tally.sd().is_nan() && tally.min().is_nan() && tally.max().is_nan());
    }

    #[test]
    #[should_panic(expected = "a tally changed at tick 4, after tick 5")]
    fn a_tally_never_goes_back() {
        let mut tally = TimeTally::new(0, 0);
        tally.set(5, 1);
        tally.set(4, 1);
    }

    #[test]
    #[should_panic(expected = "a tally reset at tick 4, after tick 5")]
    fn a_tally_is_never_reset_in_the_past() {
        let mut tally = TimeTally::new(5, 0);
        tally.reset(4);
    }

    #[test]
    fn a_large_mean_costs_no_digits() {
        // The sample standard deviation of 4, 7, 13, 16 is the root of 30 whatever is added to all.
        let mut tally = CountTally::default();
        for value in [4.0, 7.0, 13.0, 16.0] {
            tally.add(1.0e9 + value);
        }
        assert!((tally.sd() - 30.0_f64.sqrt()).abs() < 1e-12, "{}", tally.sd());
    }

    #[test]
    fn an_integral_beyond_64_bits_is_exact() {
        let tally = TimeTally::new(0, i64::MAX);
        assert_eq!(tally.integral(i64::MAX), i128::from(i64::MAX) * i128::from(i64::MAX));
    }
}
