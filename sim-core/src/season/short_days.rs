//! Part-suitable days: what of its clock a short day leaves a lot, and the turns of such days, at which what is left
//! begins or ends. A sky without workable hours has none of it.

use super::plan::DAY;
use super::policy::Policy;
use super::run::{Event, Run, SeasonError, phase};
use super::trace::Entry;
use crate::kernel::{Agenda, Trace};
use crate::weather::Left;

impl<P: Policy, T: Trace<Entry>> Run<'_, P, T> {
    /// What a day, if it is suitable, leaves of the clock of a lot's class; nothing where suitable days are whole.
    #[inline(always)]
    pub(super) fn left_on(&self, lot: usize, day: usize) -> Option<Left> {
        // Most skies have no hours: nothing else is looked up for them.
        if self.sky.has_hours() { self.left_of_short(lot, day) } else { None }
    }

    #[inline(never)]
    fn left_of_short(&self, lot: usize, day: usize) -> Option<Left> {
        let of = &self.plan.lots[lot];
        let minutes = self.sky.minutes(of.key, day)?;
        let class = self.plan.rows[of.row].class;
        let loses = self.plan.farm.classes[class].short_day_loses;
        Some(Left::of(self.plan.class_hours[class].on(day), minutes, loses))
    }

    /// Whether the hours that a suitable day leaves a lot hold an instant.
    #[inline]
    pub(super) fn is_left_at(&self, lot: usize, now: i64) -> bool {
        self.left_on(lot, (now / DAY) as usize).is_none_or(|left| left.holding(now % DAY).is_some())
    }

    /// Puts the next turn of today on the agenda, unless one as soon is there.
    pub(super) fn plan_turn(&mut self, now: i64, agenda: &mut Agenda<Event>) {
        if !self.sky.has_hours() {
            return;
        }
        let (day, second) = ((now / DAY) as usize, now % DAY);
        let lots = self.state.open_rows.iter().flat_map(|row| &self.plan.rows[*row as usize].lots);
        let suited = lots.filter(|lot| self.state.lots[**lot].suitable);
        let turns = suited.filter_map(|lot| self.left_on(*lot, day)?.turn_after(second));
        let Some(turn) = turns.min().map(|turn| now - second + turn) else { return };
        if self.state.turn.is_none_or(|planned| turn < planned) {
            self.state.turn = Some(turn);
            agenda.schedule(turn, phase::DISPATCH, Event::Turn);
        }
    }

    /// What a short day leaves some work begins or ends: it may be taken up, or waits for another cause.
    pub(super) fn turn(&mut self, now: i64, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        if self.state.turn != Some(now) {
            // A sooner one was planned after this one, and went on from there.
            return Ok(());
        }
        self.state.turn = None;
        for index in 0..self.state.open_rows.len() {
            let row = self.state.open_rows[index] as usize;
            if self.has_hours(row) {
                self.row_changed(row);
            }
        }
        self.plan_turn(now, agenda);
        if self.state.awake && i64::from(self.state.day) == now / DAY && self.state.ready_jobs > 0 {
            self.dispatch(now, agenda)
        } else {
            self.set_row_causes(now);
            Ok(())
        }
    }

    /// Whether a row's suitable days may be short.
    pub(super) fn has_hours(&self, row: usize) -> bool {
        self.sky.has_hours()
            && self.plan.rows[row]
                .lots
                .iter()
                .any(|lot| self.sky.minutes(self.plan.lots[*lot].key, 0).is_some())
    }
}
