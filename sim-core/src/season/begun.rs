//! A season that has begun: what was done before it is taken up is done once more, at its dates, by the same steps that
//! end a job whose outfit is done, so that links, windows and lags stand as they would. Nobody is sent out before then.

use super::job::{Account, Stage, day_end};
use super::plan::{DAY, Plan};
use super::policy::Policy;
use super::run::{Event, Run, SeasonError, phase};
use super::trace::{Entry, What, Why};
use crate::farm::{ChoiceOf, Farm};
use crate::kernel::{Agenda, Trace};

impl Plan {
    /// For each job its place among what was done before the season is taken up.
    pub(super) fn done_before(farm: &Farm) -> Vec<Option<u32>> {
        let Some(begun) = &farm.begun else { return Vec::new() };
        let mut places = vec![None; farm.jobs.len()];
        (0..).zip(&begun.done).for_each(|(place, done)| places[done.job] = Some(place));
        places
    }
}

impl<P: Policy, T: Trace<Entry>> Run<'_, P, T> {
    /// Puts what was done before the season is taken up on the agenda.
    pub(super) fn plan_past(&mut self, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        let plan = self.plan;
        let Some(begun) = plan.farm.begun.as_ref().filter(|begun| begun.day > 0) else { return Ok(()) };
        self.state.past = true;
        for (choice, way) in &begun.decided {
            self.settle(*choice, *way, 0, agenda)?;
        }
        for (place, done) in (0..).zip(&begun.done) {
            agenda.schedule(day_end(done.day), phase::RELEASE, Event::DoneBefore(place));
        }
        agenda.schedule(i64::from(begun.day) * DAY, phase::RELEASE, Event::Today);
        Ok(())
    }

    /// Whether a job, or some of it, is still to be done before the season is taken up: it cannot be given up till then.
    pub(super) fn is_done_later(&self, job: usize) -> bool {
        let place =
            || self.plan.done_before[job].is_some_and(|place| place as usize >= self.state.done_before);
        self.state.past && place()
    }

    /// Work that was done before the season is taken up.
    pub(super) fn done_before(
        &mut self,
        place: usize,
        now: i64,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        let plan = self.plan;
        self.state.done_before = place + 1;
        let Some(done) = plan.farm.begun.as_ref().map(|begun| begun.done[place]) else { return Ok(()) };
        let job = done.job;
        if self.state.jobs[job].is_out_of_the_way() {
            return Ok(());
        }
        self.open_window(job, now, agenda)?;
        self.end_wait(job, now);
        self.state.jobs[job].count_idle(now);
        if done.whole && self.state.jobs[job].live_ha < done.area_ha {
            self.shrink_to(job, done.area_ha);
        }
        let state = &mut self.state.jobs[job];
        let left = 1.0 - done.area_ha / state.live_ha;
        let left_s = if done.whole { 0 } else { (left * state.total_s as f64).round().max(0.0) as i64 };
        self.state.rows[plan.jobs[job].row()].needed_s -= state.left_s - left_s;
        state.left_s = left_s;
        if left_s == 0 {
            self.note(now, job, What::Done, Why::BeforeToday, None);
            self.end(job, now, Stage::Done);
            return self.tell_later_work(job, now, agenda);
        }
        self.note(now, job, What::Stops, Why::BeforeToday, None);
        let stage = if self.state.jobs[job].pending == 0 { Stage::Ready } else { Stage::Blocked };
        self.begin_wait(job, now, stage);
        if plan.jobs[job].follows {
            self.close_links_caught_up(job, now, agenda);
        }
        for link in plan.links_out(job) {
            let of = plan.farm.links[link];
            let ahead_ha = self.state.jobs[job].done_ha() - self.state.jobs[of.after].done_ha();
            if of.follow_ha.is_some_and(|follow_ha| ahead_ha >= follow_ha) {
                self.open_link(link, now, agenda)?;
            }
        }
        if self.state.jobs[job].latest_end <= now {
            self.give_up(job, now, Why::LatestPassed, agenda)?;
        }
        Ok(())
    }

    /// The season is taken up: what is left to decide is decided, and waiting counts from here on.
    pub(super) fn take_up(&mut self, now: i64, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        let plan = self.plan;
        let day = (now / DAY) as u32;
        self.state.past = false;
        self.state.day = day;
        for (choice, of) in plan.farm.choices.iter().enumerate() {
            let over = |job: &usize| self.state.jobs[*job].is_out_of_the_way();
            let asked_at_end = matches!(of.of, ChoiceOf::Tillage { .. }) && of.after.iter().all(over);
            if if of.after.is_empty() { of.day < day } else { asked_at_end } {
                self.choose(choice, now, agenda)?;
            }
        }
        for job in 0..self.state.jobs.len() {
            let stage = self.state.jobs[job].stage;
            if matches!(stage, Stage::Ready | Stage::Blocked) {
                self.end_wait(job, now);
                let mut account = Account::new();
                account.ready = now;
                self.state.jobs[job].account = account;
                self.begin_wait(job, now, stage);
            }
        }
        for row in 0..self.state.rows.len() {
            self.settle_row(row, now);
            self.state.rows[row].out.waits_s = [0; 7];
        }
        if !self.state.open_rows.is_empty() {
            self.plan_morning(day, agenda);
        }
        Ok(())
    }
}
