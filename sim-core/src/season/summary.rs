//! From where everything stands at the season's end to what it came to.

use super::job::{NEVER, Stage, day_end};
use super::outcome::{Outcome, RowOutcome};
use super::plan::DAY;
use super::policy::Policy;
use super::run::{Event, Run, SeasonError};
use super::trace::{Entry, Why};
use crate::kernel::{Agenda, Trace};

impl<P: Policy, T: Trace<Entry>> Run<'_, P, T> {
    /// Gives up what the season's end leaves undone.
    pub(super) fn end_season(&mut self, end: i64, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        for job in 0..self.state.jobs.len() {
            if self.state.jobs[job].ended() {
                continue;
            }
            self.give_up(job, end, Why::LatestPassed, agenda)?;
        }
        Ok(())
    }

    /// Writes the season's outcome.
    pub(super) fn sum_up(&mut self, outcome: &mut Outcome) {
        outcome.season = self.season;
        outcome.rows.clear();
        for row in 0..self.plan.farm.rows.len() {
            let out = self.sum_up_row(row);
            outcome.rows.push(out);
        }
        outcome.use_s.clear();
        outcome.use_s.extend_from_slice(&self.state.use_s);
        outcome.hired_ha.clear();
        outcome.hired_ha.extend_from_slice(&self.state.hired_ha);
    }

    fn sum_up_row(&mut self, row: usize) -> RowOutcome {
        let plan = self.plan;
        let of = &plan.farm.rows[row];
        let season_end = plan.days as i64 * DAY;
        let mut out = self.state.rows[row].out;
        for &job in &of.jobs {
            let state = &mut self.state.jobs[job];
            // What is due only after the season's end has not been judged by then.
            let unjudged = state.due_end > season_end && state.due_end != NEVER && !state.account.done;
            if state.stage == Stage::Dormant || unjudged {
                continue;
            }
            let finish = state.account.finish.min(season_end);
            if state.account.done && finish <= state.due_end {
                out.finish = out.finish.map(|latest| latest.max(finish));
                continue;
            }
            out.late = true;
            state.count_idle(state.latest_end.min(season_end));
            let undone_ha = if state.account.done { 0.0 } else { state.area_ha - state.done_ha() };
            let day = |instant: i64| (instant - 1).div_euclid(DAY).max(0);
            if state.account.done {
                out.finish = out.finish.map(|latest| latest.max(finish));
                out.days_late = out.days_late.max((day(finish) - day(state.due_end)) as u32);
            } else {
                out.finish = None;
                if state.due_end == NEVER {
                    // Its window never came to be counted: all of it is late, by no known number of days.
                    state.area_late_ha = undone_ha;
                } else {
                    let last = state.latest_end.min(season_end);
                    out.days_late = out.days_late.max((day(last) - day(state.due_end)) as u32);
                }
            }
            out.area_late_ha += state.area_late_ha;
            out.area_unfinished_ha += undone_ha;
            out.ha_days_late += state.ha_days_late;
        }
        let dates = of.dates.map(|dates| self.state.moved.dates(plan, row, dates));
        out.suitable_days = dates.map(|(from, due, _)| {
            let keys = plan.rows[row].lots.iter().map(|lot| plan.lots[*lot].key);
            let end = due as usize + 1;
            self.sky.count_all(keys, (from as usize).max(plan.first_day()).min(end), end)
        });
        debug_assert!(
            dates.is_none_or(|(_, due, _)| out.late == out.finish.is_none_or(|t| t > day_end(due)))
        );
        out
    }
}
