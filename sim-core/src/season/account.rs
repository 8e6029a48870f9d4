//! The accounts: every second of a job between the opening of its window and its end is work, travel or
//! waiting for one cause; every second of a row in which none of it is worked likewise.
//!
//! Waiting is split by look-ups in running sums, not second by second: what is outside the working hours
//! is closed hours, what is inside on a day that does not suit is weather, and the rest has the cause
//! that the last dispatch found.

use super::outcome::Cause;
use super::plan::DAY;
use super::policy::Policy;
use super::run::Run;
use super::state::{Clock, LotCause, Stage};
use super::trace::Entry;
use crate::kernel::Trace;

impl<P: Policy, T: Trace<Entry>> Run<'_, P, T> {
    /// The open and the suitable open seconds that a lot has had before `now`.
    pub(super) fn clock(&self, lot: usize, now: i64) -> Clock {
        let pair = self.plan.lot_pair[lot];
        let of = &self.plan.pairs[pair];
        let hours = &self.plan.hours[of.hours];
        let (day, second) = ((now / DAY) as usize, now % DAY);
        let before = self.state.suitable_before[pair * (self.plan.days + 1) + day];
        if second == 0 {
            return Clock { now, open: hours.before[day], suitable: before };
        }
        let part = hours.part(day, second);
        // Within a day a lot is looked at only after the morning, or the opening of its row, has seen the sky.
        let suits = self.state.lots[lot].suitable;
        debug_assert_eq!(suits, self.sky.suitable(of.key, day));
        let suitable = if suits { before + part } else { before };
        Clock { now, open: hours.before[day] + part, suitable }
    }

    /// Fills the running sums of suitable open seconds for this season's sky.
    pub(super) fn sum_suitable_hours(&mut self) {
        let stride = self.plan.days + 1;
        for (pair, of) in self.plan.pairs.iter().enumerate() {
            let before = &self.plan.hours[of.hours].before;
            let sums = &mut self.state.suitable_before[pair * stride..(pair + 1) * stride];
            let mut sum = 0;
            for day in self.plan.used.clone() {
                sums[day] = sum;
                let suitable = (self.sky.word(of.key, day / 64) >> (day % 64) & 1) as i64;
                sum += (before[day + 1] - before[day]) & -suitable;
            }
            // The sums are asked for from the first window's day to the midnight that ends the last.
            sums[self.plan.used.end] = sum;
        }
    }

    /// A job begins to wait: ready for an outfit, or blocked by other work.
    pub(super) fn begin_wait(&mut self, job: usize, now: i64, stage: Stage) {
        let lot = self.plan.farm.jobs[job].lot;
        self.row_changed(self.plan.farm.jobs[job].row);
        let clock = self.settle_lot(lot, now);
        let state = &mut self.state.lots[lot];
        if stage == Stage::Ready {
            state.ready += 1;
            self.state.ready_jobs += 1;
            let (word, bit) = self.mark(job, lot);
            let of = &self.state.jobs[job];
            let begun = of.left_s < of.total_s;
            let marks = if begun { &mut self.state.ready_begun } else { &mut self.state.ready_fresh };
            marks[word] |= bit;
        } else {
            state.blocked += 1;
        }
        let waits = self.state.lots[lot].waits;
        let job = &mut self.state.jobs[job];
        job.stage = stage;
        job.waits_from(clock, waits);
    }

    /// A job's waiting ends, and is booked.
    pub(super) fn end_wait(&mut self, job: usize, now: i64) {
        let lot = self.plan.farm.jobs[job].lot;
        self.row_changed(self.plan.farm.jobs[job].row);
        let clock = self.settle_lot(lot, now);
        let waits = self.state.lots[lot].waits;
        let stage = self.state.jobs[job].stage;
        let (since, lot_waits) = self.state.jobs[job].waited();
        let booked = &mut self.state.jobs[job].account.waits_s;
        let open = clock.open - since.open;
        let suitable = clock.suitable - since.suitable;
        booked[Cause::ClosedHours as usize] += clock.now - since.now - open;
        booked[Cause::Weather as usize] += open - suitable;
        if stage == Stage::Ready {
            booked[Cause::People as usize] += waits[0] - lot_waits[0];
            booked[Cause::Machine as usize] += waits[1] - lot_waits[1];
            booked[Cause::Policy as usize] += waits[2] - lot_waits[2];
            self.state.lots[lot].ready -= 1;
            self.state.ready_jobs -= 1;
            let (word, bit) = self.mark(job, lot);
            self.state.ready_begun[word] &= !bit;
            self.state.ready_fresh[word] &= !bit;
        } else {
            booked[Cause::Predecessor as usize] += suitable;
            self.state.lots[lot].blocked -= 1;
        }
    }

    /// Where a job is marked as ready.
    fn mark(&self, job: usize, lot: usize) -> (usize, u64) {
        let place = self.plan.place_in_lot[job] as usize;
        (self.plan.lot_words[lot] + place / 64, 1 << (place % 64))
    }

    /// The first ready job of a lot from a turn on, and the turn after its own: those begun come first, each
    /// kind the nearest first.
    pub(super) fn next_ready(&self, lot: usize, turn: usize) -> Option<(usize, usize)> {
        let (first, last) = (self.plan.lot_words[lot], self.plan.lot_words[lot + 1]);
        let all = (last - first) * 64;
        for (marks, before) in [(&self.state.ready_begun, 0), (&self.state.ready_fresh, all)] {
            let from = turn.saturating_sub(before);
            for word in from / 64..last - first {
                let here =
                    marks[first + word] & if word == from / 64 { u64::MAX << (from % 64) } else { u64::MAX };
                if here != 0 {
                    let place = word * 64 + here.trailing_zeros() as usize;
                    return Some((self.plan.lot_jobs[lot][place] as usize, before + place + 1));
                }
            }
        }
        None
    }

    /// One more job of a row has an open window.
    pub(super) fn open_row(&mut self, row: usize, now: i64) {
        self.settle_row(row, now);
        self.state.rows[row].open += 1;
        if self.state.rows[row].open == 1 {
            self.state.open_rows.push(row as u32);
            // The morning has not looked at it.
            self.see_sky(row, (now / DAY) as usize);
        }
    }

    /// Notes which of a row's lots a day suits.
    pub(super) fn see_sky(&mut self, row: usize, day: usize) {
        for &lot in &self.plan.row_lots[row] {
            let suitable = self.sky.suitable(self.plan.farm.lots[lot].key, day);
            if self.state.lots[lot].suitable != suitable {
                self.state.lots[lot].suitable = suitable;
                self.row_changed(row);
            }
        }
    }

    /// One job of a row with an open window has ended.
    pub(super) fn close_row(&mut self, row: usize, now: i64) {
        self.settle_row(row, now);
        self.state.rows[row].open -= 1;
        if self.state.rows[row].open == 0 {
            self.state.open_rows.retain(|open| *open != row as u32);
        }
    }

    /// Books what a lot has waited up to `now`.
    fn settle_lot(&mut self, lot: usize, now: i64) -> Clock {
        let known = self.state.lots[lot].clock;
        if known.now == now {
            return known;
        }
        let clock = self.clock(lot, now);
        let state = &mut self.state.lots[lot];
        state.waits[state.cause as usize] += clock.suitable - known.suitable;
        state.clock = clock;
        clock
    }

    /// The cause for which a lot's ready jobs wait from now on.
    pub(super) fn set_lot_cause(&mut self, lot: usize, now: i64, cause: LotCause) {
        if self.state.lots[lot].cause != cause {
            self.settle_lot(lot, now);
            self.state.lots[lot].cause = cause;
            self.row_changed(self.plan.farm.lots[lot].row);
        }
    }

    /// Books a row's waiting up to `now`, which had one cause since it was last booked.
    pub(super) fn settle_row(&mut self, row: usize, now: i64) {
        if self.state.rows[row].since == now {
            return;
        }
        let hours = &self.plan.hours[self.plan.row_hours[row]];
        let (day, second) = ((now / DAY) as usize, now % DAY);
        let open = hours.before[day] + if second == 0 { 0 } else { hours.part(day, second) };
        let state = &mut self.state.rows[row];
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
            self.state.rows[row].changed = false;
            if self.state.rows[row].open == 0 || self.state.rows[row].working > 0 {
                continue;
            }
            let cause = self.row_cause(row);
            if cause != self.state.rows[row].cause {
                self.settle_row(row, now);
                self.state.rows[row].cause = cause;
            }
        }
    }

    /// What a row waits for may have changed: it is looked at after the dispatch.
    pub(super) fn row_changed(&mut self, row: usize) {
        if !self.state.rows[row].changed {
            self.state.rows[row].changed = true;
            self.state.changed_rows.push(row as u32);
        }
    }

    /// The first true cause: weather, if the day suits none of its waiting jobs; predecessor, if other
    /// work holds back all those that the day suits; else what the job that comes nearest to work waits for.
    fn row_cause(&self, row: usize) -> Cause {
        let mut cause = Cause::Weather;
        for lot in &self.plan.row_lots[row] {
            let state = &self.state.lots[*lot];
            if !state.suitable {
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
