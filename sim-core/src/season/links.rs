//! What comes before what: lags, work that follows in the same field, and what happens to later work when
//! earlier work ends.

use super::job::{NEVER, Stage, day_end};
use super::plan::DAY;
use super::policy::Policy;
use super::run::{Event, Run, SeasonError, phase};
use super::trace::{Entry, Why};
use crate::farm::Window;
use crate::kernel::{Agenda, Trace};

/// Areas in ha below this are none: what is left of rounding to whole seconds.
const NO_AREA_HA: f64 = 1e-9;

impl<P: Policy, T: Trace<Entry>> Run<'_, P, T> {
    /// A link no longer holds its later job back.
    pub(super) fn open_link(
        &mut self,
        link: usize,
        now: i64,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        if self.state.links[link].open {
            return Ok(());
        }
        self.state.links[link].open = true;
        let job = self.plan.farm.links[link].after;
        self.state.jobs[job].pending -= 1;
        if self.state.jobs[job].pending == 0 && self.state.jobs[job].stage == Stage::Blocked {
            self.end_wait(job, now);
            self.begin_wait(job, now, Stage::Ready);
            self.became_ready(job, now, agenda)?;
        }
        Ok(())
    }

    /// A link holds its later job back again.
    pub(super) fn hold_link(&mut self, link: usize, now: i64) {
        self.state.links[link].open = false;
        let job = self.plan.farm.links[link].after;
        self.state.jobs[job].pending += 1;
        if self.state.jobs[job].stage == Stage::Ready {
            self.end_wait(job, now);
            self.begin_wait(job, now, Stage::Blocked);
        }
    }

    /// A job has ended, done or not: later work may begin, shrink, or be given up.
    pub(super) fn tell_later_work(
        &mut self,
        job: usize,
        now: i64,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        let plan = self.plan;
        if plan.has_choices() {
            self.decide_at_end(job, now, agenda)?;
        }
        let done = self.state.jobs[job].stage == Stage::Done;
        let done_ha = self.state.jobs[job].done_ha();
        if done_ha > NO_AREA_HA {
            for later in plan.dated_by(job) {
                self.set_window(later, now, agenda);
            }
        }
        for link in plan.links_out(job) {
            let of = plan.farm.links[link];
            if let Some(event) = self.state.links[link].event.take() {
                agenda.cancel(event);
            }
            let later = of.after;
            if self.state.jobs[later].ended() {
                continue;
            }
            if of.required && done_ha <= NO_AREA_HA {
                self.give_up(later, now, Why::Predecessor, agenda)?;
                continue;
            }
            if of.required && done_ha < self.state.jobs[later].live_ha - NO_AREA_HA {
                self.shrink_later(later, done_ha, now, agenda)?;
            }
            if done && of.min_lag_s > 0 {
                agenda.schedule(now + of.min_lag_s, phase::RELEASE, Event::LagOver(link as u32));
            } else {
                self.open_link(link, now, agenda)?;
            }
            if self.state.jobs[later].stage == Stage::Working {
                self.plan_stop(later, now, agenda);
            }
            if let Some(days) = of.max_lag_days
                && done
            {
                let day = ((now - 1) / DAY) as u32;
                agenda.schedule(day_end(day + days), phase::DAY, Event::LagEnds(link as u32));
            }
        }
        Ok(())
    }

    /// Area that earlier work left undone drops out of later work.
    fn shrink_later(
        &mut self,
        later: usize,
        area_ha: f64,
        now: i64,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        if self.state.jobs[later].stage == Stage::Working {
            let outfit = self.leave(later, now, agenda);
            self.pause(later, now, Why::Predecessor, &outfit, agenda);
            self.state.dispatch_wanted = true;
        }
        let begun = self.state.jobs[later].left_s < self.state.jobs[later].total_s;
        self.shrink_to(later, area_ha);
        if begun && self.state.jobs[later].left_s == 0 {
            self.end_wait(later, now);
            self.state.jobs[later].count_idle(now);
            self.finish(later, now, None, agenda)?;
        }
        Ok(())
    }

    /// The window of a job that is counted from the day on which other work was done.
    fn set_window(&mut self, job: usize, now: i64, agenda: &mut Agenda<Event>) {
        let Window::After { from, due, latest, .. } = self.plan.farm.jobs[job].window else { return };
        let state = &mut self.state.jobs[job];
        if state.due_end != NEVER || state.ended() {
            return;
        }
        let day = ((now - 1) / DAY) as u32;
        state.set_due(day_end(day + due), day_end(day + latest));
        let opens = (i64::from(day + from) * DAY).max(now);
        agenda.schedule(opens, phase::RELEASE, Event::WindowOpens(job as u32));
        agenda.schedule(day_end(day + latest), phase::DAY, Event::WindowEnds(job as u32));
    }

    /// When a working job will have caught up with the work before it in the field.
    pub(super) fn catches_up_at(&self, job: usize, now: i64) -> i64 {
        let state = &self.state.jobs[job];
        let mut at = NEVER;
        // Both go on steadily from then, unless the one before stands still.
        let Some(from) = self.outfit_at(job).map(|outfit| outfit.begins) else { return at };
        for link in self.plan.links_in(job) {
            let of = self.plan.farm.links[link];
            let before = &self.state.jobs[of.before];
            if of.follow_ha.is_none() || before.is_out_of_the_way() {
                continue;
            }
            let moving = self.outfit_at(of.before).filter(|outfit| outfit.begins <= from.max(now));
            let (ahead_ha, closing_ha_s) = if let Some(outfit) = moving {
                let ahead = before.done_ha() + before.ha_s() * (from - outfit.begins) as f64;
                (ahead - state.done_ha(), state.ha_s() - before.ha_s())
            } else {
                (before.done_ha() - state.done_ha(), state.ha_s())
            };
            if closing_ha_s > 0.0 {
                let seconds = (ahead_ha.max(0.0) / closing_ha_s).floor().min(1e12) as i64;
                at = at.min((from + seconds).max(now));
            }
        }
        at
    }

    /// A job has started: work that follows in its field gets its moment, or a later stop.
    pub(super) fn followers_after_start(&mut self, job: usize, now: i64, agenda: &mut Agenda<Event>) {
        let plan = self.plan;
        for link in plan.links_out(job) {
            let of = plan.farm.links[link];
            if of.follow_ha.is_none() {
                continue;
            }
            if self.state.jobs[of.after].stage == Stage::Working {
                self.plan_stop(of.after, now, agenda);
            } else if !self.state.links[link].open {
                self.plan_far_ahead(link, now, agenda);
            }
        }
    }

    /// A job has stopped: work that follows in its field must not overtake it.
    pub(super) fn followers_after_stop(&mut self, job: usize, now: i64, agenda: &mut Agenda<Event>) {
        let plan = self.plan;
        for link in plan.links_out(job) {
            let of = plan.farm.links[link];
            if of.follow_ha.is_none() {
                continue;
            }
            if let Some(event) = self.state.links[link].event.take() {
                agenda.cancel(event);
            }
            if self.state.jobs[of.after].stage == Stage::Working && self.state.jobs[job].left_s > 0 {
                self.plan_stop(of.after, now, agenda);
            }
        }
    }

    /// A job that stops close behind the work before it must let that go ahead again.
    pub(super) fn close_links_caught_up(&mut self, job: usize, now: i64, agenda: &mut Agenda<Event>) {
        let plan = self.plan;
        for link in plan.links_in(job) {
            let of = plan.farm.links[link];
            let Some(follow_ha) = of.follow_ha else { continue };
            let before = &self.state.jobs[of.before];
            if before.is_out_of_the_way() || !self.state.links[link].open {
                continue;
            }
            let begins = self.outfit_at(of.before).map(|outfit| outfit.begins);
            if before.done_ha_at(begins, now) - self.state.jobs[job].done_ha() < follow_ha {
                self.hold_link(link, now);
                self.plan_far_ahead(link, now, agenda);
            }
        }
    }

    /// Puts the instant on the agenda at which a working job is far enough ahead of what follows it.
    fn plan_far_ahead(&mut self, link: usize, now: i64, agenda: &mut Agenda<Event>) {
        let of = self.plan.farm.links[link];
        let before = &self.state.jobs[of.before];
        if self.state.links[link].event.is_some() {
            return;
        }
        let Some(outfit) = self.outfit_at(of.before) else { return };
        let need_ha = self.state.jobs[of.after].done_ha() + of.follow_ha.unwrap_or(0.0) - before.done_ha();
        let seconds = (need_ha.max(0.0) / before.ha_s()).ceil().min(1e12) as i64;
        let at = (outfit.begins + seconds).max(now);
        // Later than its stop: either it is done by then, or it starts again and this is planned anew.
        if at < outfit.stop_at {
            let event = agenda.schedule(at, phase::RELEASE, Event::FarAhead(link as u32));
            self.state.links[link].event = Some(event);
        }
    }
}
