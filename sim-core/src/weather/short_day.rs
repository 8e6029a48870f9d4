//! What a day with fewer workable hours than a clock has open leaves of that clock. How many hours a day has is in
//! [`part_days`](crate::weather::part_days).

use crate::weather::hours::{DailyHours, Stretch};

/// Which part of its clock a class loses on a short day.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Hash)]
pub enum Loses {
    /// The beginning: ground and crop dry during the morning (common practice, no source).
    #[default]
    Start,
    /// The end.
    End,
    /// The middle: the early and the late hours are calm, as spraying needs them (common practice, no source).
    Middle,
}

/// What a short day leaves of a clock: stretches in order and apart, then empty ones at midnight.
///
/// ```
/// use sim_core::weather::{Left, Loses, Stretch};
/// let clock = [Stretch { start: 6 * 3600, end: 20 * 3600 }];
/// let left = |loses| Left::of(&clock, 4 * 60, loses);
/// assert_eq!(left(Loses::Start).holding(17 * 3600), Some(Stretch { start: 16 * 3600, end: 20 * 3600 }));
/// assert_eq!(left(Loses::End).holding(17 * 3600), None);
/// // Two hours at either end.
/// assert_eq!(left(Loses::Middle).holding(7 * 3600), Some(Stretch { start: 6 * 3600, end: 8 * 3600 }));
/// assert_eq!(left(Loses::Middle).seconds_within(&clock, 19 * 3600), 3 * 3600);
/// ```
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Left([Stretch; DailyHours::MAX_STRETCHES + 1]);

/// The end of a day, in seconds.
const MIDNIGHT: i64 = 86_400;

impl Left {
    /// What `minutes` of a clock that loses this part on a short day are; all of it where it has no more. The clock's
    /// stretches are in order and apart, and at most [`DailyHours::MAX_STRETCHES`].
    ///
    /// # Panics
    /// When the clock has more stretches.
    #[must_use]
    pub fn of(clock: &[Stretch], minutes: u16, loses: Loses) -> Self {
        let total: i64 = clock.iter().map(|open| open.end - open.start).sum();
        let keep = (i64::from(minutes) * 60).min(total);
        // Open seconds kept from the clock's beginning, and those before the part kept up to its end.
        let (head, tail_from) = match loses {
            Loses::Start => (0, total - keep),
            Loses::End => (keep, total),
            Loses::Middle => (keep / 2, total - (keep - keep / 2)),
        };
        let mut left = [Stretch { start: MIDNIGHT, end: MIDNIGHT }; DailyHours::MAX_STRETCHES + 1];
        let (mut place, mut past) = (0, 0);
        let mut push = |start: i64, end: i64| {
            if start < end {
                left[place] = Stretch { start, end };
                place += 1;
            }
        };
        for open in clock {
            let length = open.end - open.start;
            let first = (head - past).clamp(0, length);
            let last = (past + length - tail_from).clamp(0, length);
            if first + last >= length {
                push(open.start, open.end);
            } else {
                push(open.start, open.start + first);
                push(open.end - last, open.end);
            }
            past += length;
        }
        Self(left)
    }

    /// The stretch that holds a second of the day.
    #[must_use]
    pub fn holding(&self, second: i64) -> Option<Stretch> {
        self.0.iter().find(|left| left.start <= second && second < left.end).copied()
    }

    /// Seconds before `until` that are left and within `open`.
    #[must_use]
    pub fn seconds_within(&self, open: &[Stretch], until: i64) -> i64 {
        let mut seconds = 0;
        for open in open {
            for left in &self.0 {
                seconds += (left.end.min(open.end).min(until) - left.start.max(open.start)).max(0);
            }
        }
        seconds
    }

    /// The first instant after `second`, before midnight, at which a stretch begins or ends.
    #[must_use]
    pub fn turn_after(&self, second: i64) -> Option<i64> {
        let turns = self.0.iter().flat_map(|left| [left.start, left.end]);
        turns.filter(|turn| second < *turn && *turn < MIDNIGHT).min()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn clock() -> impl Strategy<Value = Vec<Stretch>> {
        prop::collection::btree_set(0i64..=86_400, 0..=6).prop_map(|cuts| {
            let cuts: Vec<i64> = cuts.into_iter().collect();
            cuts.chunks_exact(2).map(|pair| Stretch { start: pair[0], end: pair[1] }).collect()
        })
    }

    proptest! {
        /// As many seconds are left as the day has, all of the clock, and those that the class does not lose; more
        /// minutes leave all that fewer leave.
        #[test]
        fn what_is_left_is_the_right_part_of_the_clock(clock in clock(), minutes in 0u16..=1440, more in 0u16..=300) {
            let total: i64 = clock.iter().map(|open| open.end - open.start).sum();
            let within = |clock: &[Stretch], second: i64| clock.iter().any(|o| o.start <= second && second < o.end);
            for loses in [Loses::Start, Loses::End, Loses::Middle] {
                let left = Left::of(&clock, minutes, loses);
                let keep = (i64::from(minutes) * 60).min(total);
                prop_assert_eq!(left.seconds_within(&[Stretch { start: 0, end: MIDNIGHT }], MIDNIGHT), keep);
                prop_assert_eq!(left.seconds_within(&clock, MIDNIGHT), keep);
                let longer = Left::of(&clock, minutes + more, loses);
                let edges = left.0.iter().chain(&clock).flat_map(|o| [o.start - 1, o.start, o.end - 1, o.end]);
                for second in edges.filter(|second| (0..MIDNIGHT).contains(second)) {
                    let open_before: i64 = clock.iter().map(|o| (second.min(o.end) - o.start).max(0)).sum();
                    let kept = match loses {
                        Loses::Start => open_before >= total - keep,
                        Loses::End => open_before < keep,
                        Loses::Middle => open_before < keep / 2 || open_before >= total - (keep - keep / 2),
                    };
                    let here = left.holding(second).is_some();
                    prop_assert_eq!(here, kept && within(&clock, second), "{:?} at {}", loses, second);
                    prop_assert!(!here || longer.holding(second).is_some());
                }
            }
        }
    }

    #[test]
    fn turns_come_one_after_another() {
        let clock = [Stretch { start: 0, end: 36_000 }, Stretch { start: 50_000, end: 86_400 }];
        let left = Left::of(&clock, 600, Loses::Middle);
        let mut turns = vec![-1];
        while let Some(turn) = left.turn_after(*turns.last().unwrap()) {
            turns.push(turn);
        }
        assert_eq!(turns[1..], [0, 18_000, 68_400]);
    }
}
