//! Dispatch: today's ready jobs by rank, each taken up if an outfit can be put together.
//!
//! An outfit is taken whole or not at all. When the hours of a job's class open, it may call machines and
//! people away from jobs of worse rank; at other times it takes what is free.

use super::crew::{Found, Means, Start};
use super::plan::DAY;
use super::policy::Policy;
use super::run::{Event, Run, SeasonError, phase, resources};
use super::state::{LotCause, NEVER, Ranked, Stage};
use super::trace::{Entry, What, Why};
use crate::kernel::{Agenda, Trace};

impl<P: Policy, T: Trace<Entry>> Run<'_, P, T> {
    /// Goes through today's list once; `opening` says that some hours of the day begin at this instant.
    pub(super) fn dispatch(
        &mut self,
        now: i64,
        opening: bool,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        let plan = self.plan;
        self.state.dispatches += 1;
        let mut this = self.state.dispatches;
        let day = self.state.day as usize;
        let midnight = day as i64 * DAY;
        let second = now - midnight;
        let on_duty = self.on_duty(second);
        let mut index = 0;
        while index < self.state.queue.len() {
            let ranked = self.state.queue[index];
            let (lot, row) = (ranked.lot as usize, ranked.row as usize);
            index += 1;
            let state = &self.state.lots[lot];
            if state.ready == 0 || state.tried == this {
                continue;
            }
            if ranked.held {
                self.set_lot_cause(lot, now, LotCause::Policy);
                continue;
            }
            if !opening && let Some(cause) = self.plainly_short(row, self.free(on_duty)) {
                // Outside the hours, too, where the cause does not count yet.
                self.set_lot_cause(lot, now, cause);
                continue;
            }
            let Some(stretch) = plan.stretch_at(row, day, second) else { continue };
            let opens_now = opening && plan.hours[plan.row_hours[row]].begin_at(day, second);
            let close = midnight + stretch.end;
            let mut turn = 0;
            loop {
                let free = self.free(on_duty);
                if !opens_now && let Some(cause) = self.plainly_short(row, free) {
                    if self.state.lots[lot].ready > 0 {
                        self.set_lot_cause(lot, now, cause);
                        self.state.lots[lot].tried = this;
                    }
                    break;
                }
                let Some(job) = self.candidate(&ranked, &mut turn) else { break };
                let mut found = self.find_outfit(job, now, close, free, free)?;
                if opens_now && matches!(found, Found::Short(_)) {
                    let reach = self.with_worse(free, ranked.rank);
                    let wider = self.find_outfit(job, now, close, reach, free)?;
                    if let Found::Start(start) = wider {
                        self.call_away(start.means, now, agenda);
                        found = wider;
                        // What was short may now be free.
                        self.state.dispatches += 1;
                        this = self.state.dispatches;
                    }
                }
                match found {
                    // The next of the lot may find another outfit.
                    Found::Start(start) => self.set_out(job, ranked.rank, now, start, agenda),
                    // Another field of the lot may lie nearer.
                    Found::TooLate => self.set_lot_cause(lot, now, LotCause::People),
                    Found::Short(cause) => {
                        self.set_lot_cause(lot, now, cause);
                        self.state.lots[lot].tried = this;
                        break;
                    }
                }
            }
        }
        self.set_row_causes(now);
        Ok(())
    }

    /// The next ready job of an entry of the list: of a whole lot one after another.
    fn candidate(&self, ranked: &Ranked, turn: &mut usize) -> Option<usize> {
        let job = ranked.job as usize;
        if ranked.whole_lot {
            let (job, next) = self.next_ready(ranked.lot as usize, *turn)?;
            *turn = next;
            return Some(job);
        }
        let first = *turn == 0 && self.state.jobs[job].stage == Stage::Ready;
        *turn = 1;
        first.then_some(job)
    }

    /// Stops the jobs that hold any of these machines and people.
    fn call_away(&mut self, means: Means, now: i64, agenda: &mut Agenda<Event>) {
        let mut index = 0;
        while index < self.state.working.len() {
            let job = self.state.working[index] as usize;
            let state = &mut self.state.jobs[job];
            if state.machines & means.machines == 0 && state.people & means.people == 0 {
                index += 1;
                continue;
            }
            if let Some(stop) = state.stop.take() {
                agenda.cancel(stop);
            }
            self.leave(job, now, agenda);
            self.pause(job, now, Why::CalledAway, agenda);
        }
    }

    /// An outfit sets out for a job.
    fn set_out(&mut self, job: usize, rank: f64, now: i64, start: Start, agenda: &mut Agenda<Event>) {
        let plan = self.plan;
        let of = &plan.farm.jobs[job];
        self.end_wait(job, now);
        self.settle_row(of.row, now);
        self.state.rows[of.row].working += 1;
        let state = &mut self.state.jobs[job];
        if state.choice != start.choice {
            let share = state.live_ha / of.area_ha;
            let total = ((of.work[start.choice].total_s as f64 * share).round() as i64).max(1);
            let left = state.left_s as f64 / state.total_s as f64 * total as f64;
            let left = (left.ceil() as i64).clamp(1, total);
            self.state.rows[of.row].needed_s += left - state.left_s;
            state.left_s = left;
            state.total_s = total;
            state.choice = start.choice;
        }
        state.stage = Stage::Working;
        state.start = now;
        state.at_work = now + start.travel_s;
        state.machines = start.means.machines;
        state.people = start.means.people;
        state.close = start.close;
        state.rank = rank;
        self.state.busy_machines |= start.means.machines;
        self.state.busy_people |= start.means.people;
        self.state.working.push(job as u32);
        // From here on they are there, also for whoever calls them away on the road.
        for resource in resources(start.means.machines, start.means.people, plan.farm.machines.len()) {
            self.state.places[resource] = of.field as u32;
        }
        let outfit = self.outfit_of(job);
        self.note(now, job, Some(outfit), What::Starts, Why::None);
        self.plan_stop(job, now, agenda);
        if self.plan.is_followed[job] {
            self.followers_after_start(job, now, agenda);
        }
    }

    /// Puts a working job's stop on the agenda: when it is done, its hours end, or it has caught up.
    pub(super) fn plan_stop(&mut self, job: usize, now: i64, agenda: &mut Agenda<Event>) {
        let caught_up = if self.plan.follows[job] { self.catches_up_at(job, now) } else { NEVER };
        let state = &mut self.state.jobs[job];
        if let Some(stop) = state.stop.take() {
            agenda.cancel(stop);
        }
        let at = (state.at_work + state.left_s).min(state.close).min(caught_up);
        state.stop_at = at;
        state.stop = Some(agenda.schedule(at, phase::RELEASE, Event::Stop(job as u32)));
    }
}
