//! The accounts: every second of a job between the opening of its window and its end is work, travel or
//! waiting for one cause; every second of a row in which none of it is worked likewise.
//!
//! Waiting is split by look-ups in running sums, not second by second: what is outside the working hours
//! is closed hours, what is inside on a day that does not suit is weather, and the rest has the cause
//! that the last dispatch found.

use super::job::Stage;
use super::outcome::Cause;
use super::plan::DAY;
use super::policy::Policy;
use super::run::Run;
use super::state::{BEGUN, Clock, FRESH, LotCause};
use super::trace::Entry;
use crate::kernel::Trace;
use crate::weather::Left;

impl<P: Policy, T: Trace<Entry>> Run<'_, P, T> {
    /// Fills the running sums of suitable open seconds for this season's sky.
    pub(super) fn sum_suitable_hours(&mut self) {
        let stride = self.plan.days + 1;
        let used = &self.plan.used;
        for (pair, of) in self.plan.pairs.iter().enumerate() {
            let sums = &mut self.state.suitable_before[pair * stride..][used.start..=used.end];
            let open_s = &self.plan.hours[of.hours].on_day[used.clone()];
            // The sums are asked for from the first window's day to the midnight that ends the last.
            let mut sum = 0;
            sums[0] = sum;
            if self.sky.minutes(of.key, used.start).is_some() {
                self.sum_short_days(pair);
                continue;
            }
            let days = self.sky.over(of.key, used.clone());
            for ((after, open_s), suitable) in sums[1..].iter_mut().zip(open_s).zip(days) {
                sum += open_s & -i64::from(suitable);
                *after = sum;
            }
        }
    }

    /// The running sum of a pair whose suitable days may be short.
    fn sum_short_days(&mut self, pair: usize) {
        let plan = self.plan;
        let (of, stride) = (&plan.pairs[pair], plan.days + 1);
        let (hours, class) = (&plan.hours[of.hours], &plan.farm.classes[of.class]);
        let mut sum = 0;
        for day in plan.used.clone() {
            if let Some(minutes) = self.sky.minutes(of.key, day)
                && self.sky.suitable(of.key, day)
            {
                let clock = plan.class_hours[of.class].on(day);
                let left = Left::of(clock, minutes, class.short_day_loses);
                sum += left.seconds_within(hours.daily.on(day), DAY);
            }
            self.state.suitable_before[pair * stride + day + 1] = sum;
        }
    }

    /// A job begins to wait: ready for an outfit, or blocked by other work.
    pub(super) fn begin_wait(&mut self, job: usize, now: i64, stage: Stage) {
        let of = &self.plan.jobs[job];
        self.row_changed(of.row());
        let clock = self.settle_lot(of.lot(), now);
        let state = &mut *self.state;
        let (job, lot) = (&mut state.jobs[job], &mut state.lots[of.lot()]);
        if stage == Stage::Ready {
            lot.ready += 1;
            state.ready_jobs += 1;
            let begun = job.left_s < job.total_s;
            state.ready[of.word()][if begun { BEGUN } else { FRESH }] |= of.bit;
        } else {
            lot.blocked += 1;
        }
        job.stage = stage;
        job.waits_from(clock, &lot.waits);
    }

    /// A job's waiting ends, and is booked.
    pub(super) fn end_wait(&mut self, job: usize, now: i64) {
        let of = &self.plan.jobs[job];
        self.row_changed(of.row());
        let clock = self.settle_lot(of.lot(), now);
        let state = &mut *self.state;
        let (job, lot) = (&mut state.jobs[job], &mut state.lots[of.lot()]);
        let (waited, by_cause) = job.waited(clock, &lot.waits);
        job.account.wait(Cause::ClosedHours, waited.now - waited.open);
        job.account.wait(Cause::Weather, waited.open - waited.suitable);
        if job.stage == Stage::Ready {
            for (cause, wait_s) in [Cause::People, Cause::Machine, Cause::Policy].into_iter().zip(by_cause) {
                job.account.wait(cause, wait_s);
            }
            lot.ready -= 1;
            state.ready_jobs -= 1;
            let marks = &mut state.ready[of.word()];
            marks[BEGUN] &= !of.bit;
            marks[FRESH] &= !of.bit;
        } else {
            job.account.wait(Cause::Predecessor, waited.suitable);
            lot.blocked -= 1;
        }
    }

    /// The first ready job of a lot from a turn on, and the turn after its own: those begun come first, each
    /// kind the nearest first.
    pub(super) fn next_ready(&self, lot: usize, turn: usize) -> Option<(usize, usize)> {
        let of = &self.plan.lots[lot];
        let marks = &self.state.ready[of.words.clone()];
        let all = marks.len() * 64;
        if turn < all
            && let Some(place) = next_mark(marks, BEGUN, turn)
        {
            return Some((of.jobs[place] as usize, place + 1));
        }
        let place = next_mark(marks, FRESH, turn.saturating_sub(all))?;
        Some((of.jobs[place] as usize, all + place + 1))
    }

    /// One more job of a row has an open window.
    pub(super) fn open_row(&mut self, row: usize, now: i64) {
        self.settle_row(row, now);
        let state = &mut self.state.rows[row];
        state.open += 1;
        if state.open == 1 {
            self.state.open_rows.push(row as u32);
            // The morning has not looked at it.
            self.see_sky(row, (now / DAY) as usize);
        }
    }

    /// Notes which of a row's lots a day suits.
    pub(super) fn see_sky(&mut self, row: usize, day: usize) {
        let mut changed = false;
        for &lot in &self.plan.rows[row].lots {
            changed |= self.state.lots[lot].see(self.sky.suitable(self.plan.lots[lot].key, day));
        }
        if changed {
            self.row_changed(row);
        }
    }

    /// One job of a row with an open window has ended.
    pub(super) fn close_row(&mut self, row: usize, now: i64) {
        self.settle_row(row, now);
        let state = &mut self.state.rows[row];
        state.open -= 1;
        if state.open == 0 {
            self.state.open_rows.retain(|open| *open != row as u32);
        }
    }

    /// Books what a lot has waited up to `now`; gives the open and the suitable open seconds that it has had.
    #[inline]
    fn settle_lot(&mut self, lot: usize, now: i64) -> Clock {
        let clock = self.state.lots[lot].clock;
        if clock.now == now { clock } else { self.settle_lot_anew(lot, now) }
    }

    #[inline(never)]
    fn settle_lot_anew(&mut self, lot: usize, now: i64) -> Clock {
        let plan = self.plan;
        let of = &plan.lots[lot];
        let hours = &plan.hours[of.hours];
        let (day, second) = ((now / DAY) as usize, now % DAY);
        let left = if second > 0 { self.left_on(lot, day) } else { None };
        let all = &mut *self.state;
        let state = &mut all.lots[lot];
        let mut open = hours.before[day];
        let mut suitable = all.suitable_before[of.pair * (plan.days + 1) + day];
        if second > 0 {
            // Within a day a lot is looked at only after the morning, or the opening of its row, has seen the
            // sky.
            debug_assert_eq!(state.suitable, self.sky.suitable(of.key, day));
            let part = hours.part(day, second);
            open += part;
            if state.suitable {
                suitable += left.map_or(part, |left| left.seconds_within(hours.daily.on(day), second));
            }
        }
        state.waits[state.cause as usize] += suitable - state.clock.suitable;
        state.clock = Clock { now, open, suitable };
        state.clock
    }

    /// The cause for which a lot's ready jobs wait from now on.
    #[inline(always)]
    pub(super) fn set_lot_cause(&mut self, lot: usize, now: i64, cause: LotCause) {
        if self.state.lots[lot].cause != cause {
            self.change_lot_cause(lot, now, cause);
        }
    }

    #[cold]
    #[inline(never)]
    fn change_lot_cause(&mut self, lot: usize, now: i64, cause: LotCause) {
        self.settle_lot(lot, now);
        self.state.lots[lot].cause = cause;
        self.row_changed(self.plan.lots[lot].row);
    }

    /// Books a row's waiting up to `now`, which had one cause since it was last booked.
    #[inline]
    pub(super) fn settle_row(&mut self, row: usize, now: i64) {
        if self.state.rows[row].since != now {
            self.settle_row_anew(row, now);
        }
    }

    #[inline(never)]
    fn settle_row_anew(&mut self, row: usize, now: i64) {
        let state = &mut self.state.rows[row];
        let hours = &self.plan.hours[self.plan.rows[row].hours];
        let (day, second) = ((now / DAY) as usize, now % DAY);
        let open = hours.before[day] + if second == 0 { 0 } else { hours.part(day, second) };
        if state.open > 0 && state.working == 0 {
            let waited_open = open - state.since_open;
            state.out.waits_s[Cause::ClosedHours as usize] += now - state.since - waited_open;
            state.out.waits_s[state.cause as usize] += waited_open;
        }
        state.since = now;
        state.since_open = open;
    }

    /// Puts every waiting row's time from now on down to what now keeps it waiting.
    pub(super) fn set_row_causes(&mut self, now: i64) {
        while let Some(row) = self.state.changed_rows.pop() {
            let row = row as usize;
            let state = &mut self.state.rows[row];
            state.changed = false;
            if state.open == 0 || state.working > 0 {
                continue;
            }
            let known = state.cause;
            let cause = self.row_cause(row, now);
            if cause != known {
                self.settle_row(row, now);
                self.state.rows[row].cause = cause;
            }
        }
    }

    /// What a row waits for may have changed: it is looked at after the dispatch.
    pub(super) fn row_changed(&mut self, row: usize) {
        let changed = &mut self.state.rows[row].changed;
        if !*changed {
            *changed = true;
            self.state.changed_rows.push(row as u32);
        }
    }

    /// The first true cause: weather, if the day, or this hour of it, suits none of its waiting jobs; predecessor, if other
    /// work holds back all those that the day suits; else what the job that comes nearest to work waits for.
    fn row_cause(&self, row: usize, now: i64) -> Cause {
        let mut cause = Cause::Weather;
        for lot in &self.plan.rows[row].lots {
            let state = &self.state.lots[*lot];
            if !state.suitable || !self.is_left_at(*lot, now) {
                continue;
            }
            let of = match (state.ready, state.blocked) {
                (0, 0) => continue,
                (0, _) => Cause::Predecessor,
                _ => match state.cause {
                    LotCause::People => Cause::People,
                    LotCause::Machine => Cause::Machine,
                    LotCause::Policy => Cause::Policy,
                },
            };
            cause = cause.max(of);
        }
        cause
    }
}

/// The first mark of a kind from a place on.
fn next_mark(marks: &[[u64; 2]], kind: usize, from: usize) -> Option<usize> {
    let mut word = from / 64;
    let mut here = marks.get(word)?[kind] & (u64::MAX << (from % 64));
    while here == 0 {
        word += 1;
        here = marks.get(word)?[kind];
    }
    Some(word * 64 + here.trailing_zeros() as usize)
}
