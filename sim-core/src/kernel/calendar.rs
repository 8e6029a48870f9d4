//! The working calendar: when work is possible, and when a piece of it will be finished.
//!
//! It is a list of open stretches in ticks. Where they come from (shifts, suitable days) is not its
//! business.

use super::agenda::Tick;

/// Why a list of open stretches is no calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CalendarError {
    /// A stretch that ends where or before it starts.
    #[error("stretch {index} runs from tick {start} to {end}: it must end after it starts")]
    EmptyStretch {
        /// Its place in the list, from 0.
        index: usize,
        /// Where it starts.
        start: Tick,
        /// Where it ends.
        end: Tick,
    },
    /// A stretch that starts before the previous one ends.
    #[error(
        "stretch {index} starts at tick {start}, before the previous one ends ({previous_end}): sort the stretches and merge those that overlap"
    )]
    OutOfOrder {
        /// Its place in the list, from 0.
        index: usize,
        /// Where it starts.
        start: Tick,
        /// Where the stretch before it ends.
        previous_end: Tick,
    },
    /// First start and last end lie further apart than a tick count can hold.
    #[error("the calendar spans more ticks than can be counted")]
    TooLong,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Stretch {
    start: Tick,
    end: Tick,
    /// Open ticks up to `end`, from the beginning of the calendar.
    worked: Tick,
}

impl Stretch {
    fn worked_at_start(&self) -> Tick {
        self.worked - (self.end - self.start)
    }
}

/// Open stretches of time, half-open: a stretch from 8 to 12 is open at 8 and no longer at 12.
///
/// Every question is one binary search over cumulative open time, however long the calendar.
///
/// ```
/// use sim_core::kernel::WorkCalendar;
/// let hours = WorkCalendar::new([(8, 12), (13, 17), (32, 36)])?;
/// assert_eq!(hours.open_between(10, 33), 2 + 4 + 1);
/// assert_eq!(hours.finish(10, 6), Some(17));
/// assert_eq!(hours.finish(10, 7), Some(33));
/// assert_eq!(hours.finish(10, 99), None);
/// # Ok::<(), sim_core::kernel::CalendarError>(())
/// ```
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct WorkCalendar {
    stretches: Vec<Stretch>,
}

impl WorkCalendar {
    /// The calendar of the given `(start, end)` stretches, sorted and not overlapping. Stretches that
    /// touch are one.
    ///
    /// # Errors
    ///
    /// [`CalendarError`] for an empty or backward stretch, for stretches out of order or overlapping,
    /// and for a span that overflows.
    pub fn new(stretches: impl IntoIterator<Item = (Tick, Tick)>) -> Result<Self, CalendarError> {
        let mut calendar = Self::default();
        let mut worked = 0;
        for (index, (start, end)) in stretches.into_iter().enumerate() {
            if start >= end {
                return Err(CalendarError::EmptyStretch { index, start, end });
            }
            if let Some(last) = calendar.stretches.last()
                && start < last.end
            {
                return Err(CalendarError::OutOfOrder { index, start, previous_end: last.end });
            }
            let first = calendar.stretches.first().map_or(start, |stretch| stretch.start);
            if end.checked_sub(first).is_none() {
                return Err(CalendarError::TooLong);
            }
            worked += end - start;
            match calendar.stretches.last_mut() {
                Some(last) if start == last.end => (last.end, last.worked) = (end, worked),
                _ => calendar.stretches.push(Stretch { start, end, worked }),
            }
        }
        Ok(calendar)
    }

    /// The open stretches, in order.
    pub fn stretches(&self) -> impl Iterator<Item = (Tick, Tick)> {
        self.stretches.iter().map(|stretch| (stretch.start, stretch.end))
    }

    /// The first stretch that ends after `t`: the open one or the next one.
    #[inline]
    fn at_or_after(&self, t: Tick) -> Option<&Stretch> {
        self.stretches.get(self.stretches.partition_point(|stretch| stretch.end <= t))
    }

    /// Open ticks before `t`, from the beginning of the calendar.
    #[inline]
    fn worked_by(&self, t: Tick) -> Tick {
        match self.at_or_after(t) {
            Some(stretch) => stretch.worked_at_start() + (t.max(stretch.start) - stretch.start),
            None => self.stretches.last().map_or(0, |last| last.worked),
        }
    }

    /// Open ticks from `a` to `b`; 0 where `b` is not after `a`.
    #[must_use]
    pub fn open_between(&self, a: Tick, b: Tick) -> Tick {
        if b <= a { 0 } else { self.worked_by(b) - self.worked_by(a) }
    }

    /// The earliest tick at which `work` open ticks have passed since `from`; `None` if the calendar
    /// ends before. No work (or less) is finished at `from`, open or not.
    #[must_use]
    pub fn finish(&self, from: Tick, work: Tick) -> Option<Tick> {
        if work <= 0 {
            return Some(from);
        }
        let target = self.worked_by(from).checked_add(work)?;
        let place = self.stretches.partition_point(|stretch| stretch.worked < target);
        self.stretches.get(place).map(|stretch| stretch.end - (stretch.worked - target))
    }

    /// Whether work is possible at `t`.
    #[must_use]
    pub fn is_open(&self, t: Tick) -> bool {
        self.at_or_after(t).is_some_and(|stretch| stretch.start <= t)
    }

    /// The first open tick at or after `t`; `None` if there is none.
    #[must_use]
    pub fn next_open(&self, t: Tick) -> Option<Tick> {
        self.at_or_after(t).map(|stretch| stretch.start.max(t))
    }

    /// Where the stretch that is open at `t` ends; `None` when closed at `t`.
    #[must_use]
    pub fn close_of(&self, t: Tick) -> Option<Tick> {
        self.at_or_after(t).filter(|stretch| stretch.start <= t).map(|stretch| stretch.end)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_mistake_in_a_list_of_stretches_has_its_error() {
        let cases: [(&[(Tick, Tick)], CalendarError); 6] = [
            (&[(0, 1), (3, 3)], CalendarError::EmptyStretch { index: 1, start: 3, end: 3 }),
            (&[(5, 2)], CalendarError::EmptyStretch { index: 0, start: 5, end: 2 }),
            (&[(0, 5), (4, 9)], CalendarError::OutOfOrder { index: 1, start: 4, previous_end: 5 }),
            (&[(10, 12), (0, 5)], CalendarError::OutOfOrder { index: 1, start: 0, previous_end: 12 }),
            (
                &[(10, 12), (Tick::MIN, Tick::MAX)],
                CalendarError::OutOfOrder { index: 1, start: Tick::MIN, previous_end: 12 },
            ),
            (&[(Tick::MIN, 0), (5, Tick::MAX)], CalendarError::TooLong),
        ];
        for (stretches, error) in cases {
            assert_eq!(WorkCalendar::new(stretches.iter().copied()), Err(error));
        }
    }

    #[test]
    fn stretches_that_touch_are_one() {
        let calendar = WorkCalendar::new([(0, 5), (5, 9), (10, 11)]).unwrap();
        assert_eq!(calendar.close_of(2), Some(9));
        assert_eq!(calendar.stretches().collect::<Vec<_>>(), [(0, 9), (10, 11)]);
    }

    #[test]
    fn an_empty_calendar_is_never_open() {
        let calendar = WorkCalendar::new([]).unwrap();
        assert_eq!(calendar.open_between(-5, 5), 0);
        assert_eq!((calendar.finish(3, 1), calendar.finish(3, 0)), (None, Some(3)));
        assert_eq!((calendar.is_open(0), calendar.next_open(0), calendar.close_of(0)), (false, None, None));
    }

    #[test]
    fn work_beyond_counting_never_finishes() {
        let calendar = WorkCalendar::new([(0, 5)]).unwrap();
        assert_eq!(calendar.finish(3, Tick::MAX), None);
    }
}
