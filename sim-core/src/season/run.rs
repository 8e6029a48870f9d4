//! One season as a model of the kernel: mornings, openings, starts and stops.

use super::crew::resources;
use super::job::{NEVER, Stage, day_end};
use super::outcome::Cause;
use super::plan::{DAY, Plan};
use super::policy::{Policy, PolicyError};
use super::state::{AtWork, State};
use super::trace::{Entry, What, Why};
use crate::farm::{Missed, Window};
use crate::kernel::{Agenda, Model, Tick, Trace};
use crate::weather::Sky;

/// What can happen in a season. Indices are of jobs and links.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Event {
    /// A day begins.
    Morning(u32),
    /// Some hours of the day open; the number counts the instants of the day.
    Opening(u32),
    /// What a short day leaves some work begins or ends.
    Turn,
    /// Something was freed or became ready.
    Dispatch,
    /// An outfit stops: done, at the end of its hours, or behind the work before it.
    Stop(u32),
    /// A minimum lag is over.
    LagOver(u32),
    /// The work before has gone far enough ahead.
    FarAhead(u32),
    /// A maximum lag ends.
    LagEnds(u32),
    /// A window that is counted from other work opens.
    WindowOpens(u32),
    /// Such a window ends.
    WindowEnds(u32),
    /// A choice of this index is to be made.
    Choose(u32),
    /// What was done before the season is taken up, by its place in the list.
    DoneBefore(u32),
    /// The season is taken up.
    Today,
}

/// Phases of an instant, in order: what is released, then the day and its weather, then dispatch.
pub(super) mod phase {
    /// Stops and releases.
    pub(in super::super) const RELEASE: u8 = 0;
    /// The morning and the ends of windows.
    pub(in super::super) const DAY: u8 = 1;
    /// Taking up work.
    pub(in super::super) const DISPATCH: u8 = 2;
}

/// Why a season could not be worked to its end.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum SeasonError {
    /// The policy could not decide.
    #[error("season {season}, {date}: the policy failed: {error}")]
    Policy {
        /// The season.
        season: u64,
        /// The date.
        date: jiff::civil::Date,
        /// What went wrong.
        error: PolicyError,
    },
    /// The policy gave a rank that is not a number.
    #[error("season {season}, {date}: the rank of {job} is not a number")]
    NoRank {
        /// The season.
        season: u64,
        /// The date.
        date: jiff::civil::Date,
        /// Operation and field.
        job: String,
    },
}

impl SeasonError {
    /// The season that could not be worked.
    #[must_use]
    pub fn season(&self) -> u64 {
        match self {
            Self::Policy { season, .. } | Self::NoRank { season, .. } => *season,
        }
    }
}

/// A season at work: a plan, a sky, a policy, and where everything stands.
pub(super) struct Run<'r, P, T> {
    pub(super) season: u64,
    pub(super) plan: &'r Plan,
    pub(super) sky: &'r Sky,
    pub(super) policy: &'r mut P,
    pub(super) trace: &'r mut T,
    pub(super) state: &'r mut State,
}

impl<P: Policy, T: Trace<Entry>> Model for Run<'_, P, T> {
    type Event = Event;
    type Error = SeasonError;

    fn handle(&mut self, now: Tick, event: Event, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        match event {
            Event::Morning(day) => self.morning(day, now, agenda)?,
            Event::Opening(number) => self.opening(number, now, agenda)?,
            Event::Turn => self.turn(now, agenda)?,
            Event::Dispatch => {
                self.state.dispatch_pending = false;
                self.dispatch(now, agenda)?;
            }
            Event::Stop(job) => self.stopped(job as usize, now, agenda)?,
            Event::LagOver(link) => self.open_link(link as usize, now, agenda)?,
            Event::FarAhead(link) => {
                self.state.links[link as usize].event = None;
                self.open_link(link as usize, now, agenda)?;
            }
            Event::LagEnds(link) => self.lag_ends(link as usize, now, agenda)?,
            Event::WindowOpens(job) => self.open_window(job as usize, now, agenda)?,
            Event::Choose(choice) => self.choose(choice as usize, now, agenda)?,
            Event::DoneBefore(number) => self.done_before(number as usize, now, agenda)?,
            Event::Today => self.take_up(now, agenda)?,
            Event::WindowEnds(job) => self.give_up(job as usize, now, Why::LatestPassed, agenda)?,
        }
        if std::mem::take(&mut self.state.dispatch_wanted) {
            // Dispatch is the last phase of an instant: what else happens now comes first.
            if agenda.peek_time() != Some(now) {
                self.dispatch(now, agenda)?;
            } else if !self.state.dispatch_pending {
                self.state.dispatch_pending = true;
                agenda.schedule(now, phase::DISPATCH, Event::Dispatch);
            }
        }
        Ok(())
    }
}

impl<P: Policy, T: Trace<Entry>> Run<'_, P, T> {
    /// Puts the first morning on the agenda.
    pub(super) fn begin(&mut self, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        self.sum_suitable_hours();
        self.plan_choices(agenda);
        self.plan_past(agenda)?;
        self.plan_morning(0, agenda);
        Ok(())
    }

    /// Notes what happens to a job, and which outfit is at it.
    pub(super) fn note(&mut self, now: i64, job: usize, what: What, why: Why, at_work: Option<&AtWork>) {
        let (farm, state) = (&self.plan.farm, &*self.state);
        self.trace.row(now, || {
            let choice = state.jobs[job].choice as usize;
            let outfit = at_work.map(|_| farm.rows[farm.jobs[job].row].outfits[choice]);
            let (machines, people) = at_work.map_or((0, 0), |of| (of.means.machines, of.means.people));
            Entry { job, outfit, machines, people, what, why }
        });
    }

    pub(super) fn policy_error(&self, error: PolicyError) -> SeasonError {
        self.policy_error_on(self.state.day, error)
    }

    pub(super) fn policy_error_on(&self, day: u32, error: PolicyError) -> SeasonError {
        SeasonError::Policy { season: self.season, date: self.plan.farm.span.date(day), error }
    }

    pub(super) fn plan_morning(&mut self, day: u32, agenda: &mut Agenda<Event>) {
        let sooner = self.state.morning.is_none_or(|planned| day < planned);
        if sooner && (day as usize) < self.plan.days {
            self.state.morning = Some(day);
            agenda.schedule(i64::from(day) * DAY, phase::DAY, Event::Morning(day));
        }
    }

    fn morning(&mut self, day: u32, now: i64, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        if self.state.morning != Some(day) {
            // An earlier morning was planned after this one, and went on from there.
            return Ok(());
        }
        self.state.morning = None;
        self.state.day = day;
        self.state.awake = false;
        self.state.opening = false;
        self.state.queue.clear();
        self.state.places.fill(super::state::YARD);
        while let Some((at, job)) = self.by_latest().get(self.state.next_latest).copied()
            && at <= day
        {
            self.state.next_latest += 1;
            self.give_up(job as usize, now, Why::LatestPassed, agenda)?;
        }
        while let Some((at, job)) = self.by_from().get(self.state.next_from).copied()
            && at <= day
        {
            self.state.next_from += 1;
            if self.state.jobs[job as usize].stage == Stage::Closed {
                self.open_window(job as usize, now, agenda)?;
            }
        }
        if self.state.open_rows.is_empty() {
            // Nothing to do: sleep until the next window opens.
            if let Some((at, _)) = self.by_from().get(self.state.next_from).copied() {
                self.plan_morning(at.max(day + 1), agenda);
            }
            return Ok(());
        }
        if self.state.past {
            // The days go by, and nobody is sent out.
            self.look_out(day);
            self.plan_morning(day + 1, agenda);
            return Ok(());
        }
        self.rank_today(day)?;
        self.set_row_causes(now);
        self.state.awake = true;
        self.plan_turn(now, agenda);
        if !self.state.queue.is_empty() {
            self.plan_opening(now, agenda);
        }
        self.plan_morning(day + 1, agenda);
        Ok(())
    }

    /// Puts the next instant from `now` on at which hours open on the agenda, if it is not there.
    fn plan_opening(&mut self, now: i64, agenda: &mut Agenda<Event>) {
        if self.state.opening {
            return;
        }
        let midnight = i64::from(self.state.day) * DAY;
        let opens = self.plan.opens_on(self.state.day as usize);
        let next = opens.partition_point(|open| midnight + open < now);
        if let Some(open) = opens.get(next) {
            self.state.opening = true;
            agenda.schedule(midnight + open, phase::DISPATCH, Event::Opening(next as u32));
        }
    }

    fn opening(&mut self, number: u32, now: i64, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        self.state.opening = false;
        if self.state.ready_jobs == 0 {
            return Ok(());
        }
        let midnight = i64::from(self.state.day) * DAY;
        let opens = self.plan.opens_on(self.state.day as usize);
        if let Some(next) = opens.get(number as usize + 1) {
            self.state.opening = true;
            agenda.schedule(midnight + next, phase::DISPATCH, Event::Opening(number + 1));
        }
        self.dispatch(now, agenda)
    }

    /// A job's window opens.
    pub(super) fn open_window(
        &mut self,
        job: usize,
        now: i64,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        let day = (now / DAY) as usize;
        let state = &mut self.state.jobs[job];
        if state.stage != Stage::Closed || day >= self.plan.days {
            return Ok(());
        }
        state.account.ready = now;
        let stage = if state.pending == 0 { Stage::Ready } else { Stage::Blocked };
        self.open_row(self.plan.jobs[job].row(), now);
        self.plan_turn(now, agenda);
        self.note(now, job, What::WindowOpens, Why::None, None);
        self.begin_wait(job, now, stage);
        if stage == Stage::Ready {
            self.became_ready(job, now, agenda)?;
        } else if !self.state.awake {
            self.plan_morning(((now + DAY - 1) / DAY) as u32, agenda);
        }
        Ok(())
    }

    /// A job has become ready: on a day that is under way it joins the list.
    pub(super) fn became_ready(
        &mut self,
        job: usize,
        now: i64,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        if self.state.awake && now < day_end(self.state.day) {
            self.join_queue(job)?;
            self.plan_opening(now + 1, agenda);
            self.state.dispatch_wanted = true;
        } else {
            // Work can turn up while the farm sleeps.
            self.plan_morning(((now + DAY - 1) / DAY) as u32, agenda);
        }
        Ok(())
    }

    /// An outfit stops of itself: the job is done, its hours end, or it has caught up.
    fn stopped(&mut self, job: usize, now: i64, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        let outfit = self.leave(job, now, agenda);
        if self.state.jobs[job].left_s == 0 {
            self.finish(job, now, Some(&outfit), agenda)?;
        } else {
            let why = if now >= outfit.close { Why::HoursEnd } else { Why::CaughtUp };
            self.pause(job, now, why, &outfit, agenda);
        }
        self.state.dispatch_wanted = true;
        Ok(())
    }

    /// Books what was worked and frees the outfit.
    ///
    /// # Panics
    /// When no outfit is at the job.
    pub(super) fn leave(&mut self, job: usize, now: i64, agenda: &mut Agenda<Event>) -> AtWork {
        let plan = self.plan;
        let of = &plan.jobs[job];
        let row = of.row();
        self.settle_row(row, now);
        self.row_changed(row);
        let all = &mut *self.state;
        let at = all.working.iter().position(|outfit| outfit.job == job as u32);
        let outfit = all.working.remove(at.expect("only a job at which an outfit is can be left"));
        agenda.cancel(outfit.stop);
        let (state, in_row) = (&mut all.jobs[job], &mut all.rows[row]);
        state.count(outfit.begins, now);
        let worked = (now - outfit.begins).clamp(0, state.left_s);
        let work = plan.work(job, state.choice as usize, state.other);
        let supply = if work.supply_s == 0 { 0 } else { worked * work.supply_s / work.total_s };
        state.account.work(worked - supply, now.min(outfit.begins) - outfit.start);
        state.account.wait(Cause::Supply, supply);
        if let Some(person) = plan.farm.outfits[plan.farm.rows[row].outfits[state.choice as usize]].contractor
        {
            all.hired_ha[person] += state.ha_s() * worked as f64;
        }
        state.left_s -= worked;
        in_row.needed_s -= worked;
        in_row.out.waits_s[Cause::Supply as usize] += supply;
        in_row.working -= 1;
        all.busy_machines &= !outfit.means.machines;
        all.busy_people &= !outfit.means.people;
        let half_month = plan.half_month[((now - 1) / DAY) as usize] as usize;
        let half_months = plan.half_months();
        resources(outfit.means.machines, outfit.means.people, plan.farm.machines.len()).for_each(
            |resource| {
                all.use_s[resource * half_months + half_month] += now - outfit.start;
            },
        );
        if of.is_followed {
            self.followers_after_stop(job, now, agenda);
        }
        outfit
    }

    /// A job stops with some left.
    pub(super) fn pause(
        &mut self,
        job: usize,
        now: i64,
        why: Why,
        outfit: &AtWork,
        agenda: &mut Agenda<Event>,
    ) {
        self.note(now, job, What::Stops, why, Some(outfit));
        if self.plan.jobs[job].follows {
            self.close_links_caught_up(job, now, agenda);
        }
        let stage = if self.state.jobs[job].pending == 0 { Stage::Ready } else { Stage::Blocked };
        self.begin_wait(job, now, stage);
        // Nobody may have waited for the day's other openings.
        if self.state.awake && now < day_end(self.state.day) {
            self.plan_opening(now, agenda);
        }
    }

    /// All that could be done of a job is done.
    pub(super) fn finish(
        &mut self,
        job: usize,
        now: i64,
        outfit: Option<&AtWork>,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        self.note(now, job, What::Done, Why::None, outfit);
        self.end(job, now, Stage::Done);
        self.tell_later_work(job, now, agenda)
    }

    /// A job ends, done or not.
    pub(super) fn end(&mut self, job: usize, now: i64, stage: Stage) {
        let row = self.plan.jobs[job].row();
        let (state, in_row) = (&mut self.state.jobs[job], &mut self.state.rows[row]);
        let was_open = state.account.ready != NEVER;
        in_row.needed_s -= state.left_s;
        in_row.left -= 1;
        state.stage = stage;
        state.account.finish = now;
        state.account.done = stage == Stage::Done && state.live_ha >= state.area_ha;
        if was_open {
            self.close_row(row, now);
        }
    }

    /// A job is given up: what is left of it stays undone.
    pub(super) fn give_up(
        &mut self,
        job: usize,
        now: i64,
        why: Why,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        if self.is_done_later(job) {
            return Ok(());
        }
        match self.state.jobs[job].stage {
            Stage::Dormant | Stage::Done | Stage::Dropped => return Ok(()),
            Stage::Working => {
                self.leave(job, now, agenda);
                self.state.dispatch_wanted = true;
            }
            Stage::Ready | Stage::Blocked => {
                self.end_wait(job, now);
                self.state.jobs[job].count_idle(now);
            }
            Stage::Closed => {}
        }
        self.note(now, job, What::GivenUp, why, None);
        self.end(job, now, Stage::Dropped);
        self.wake_fallbacks(job, now, agenda)?;
        self.tell_later_work(job, now, agenda)
    }

    /// Land that was given up goes to another crop.
    fn wake_fallbacks(
        &mut self,
        job: usize,
        now: i64,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        let plan = self.plan;
        let undone_ha = self.state.jobs[job].area_ha - self.state.jobs[job].done_ha();
        for &woken in &plan.farm.jobs[job].wakes {
            let of = &plan.farm.jobs[woken];
            let twin_undone_ha = of.twin.map_or(undone_ha, |twin| {
                let twin = &self.state.jobs[twin];
                twin.area_ha - twin.done_ha()
            });
            let area_ha = undone_ha.min(twin_undone_ha);
            let window = self.window(woken);
            let last = match window {
                Window::Fixed { latest, .. } => day_end(latest),
                Window::After { .. } => i64::MAX,
            };
            if self.state.jobs[woken].stage != Stage::Dormant || last <= now {
                continue;
            }
            if area_ha <= 0.0 {
                // Its work was done for the crop that was planned: later work need not wait for it.
                for &link in &of.links_out {
                    self.open_link(link, now, agenda)?;
                }
                continue;
            }
            let state = &mut self.state.jobs[woken];
            state.stage = Stage::Closed;
            state.area_ha = area_ha;
            self.state.rows[of.row].left += 1;
            self.state.rows[of.row].needed_s += state.left_s;
            self.shrink_to(woken, area_ha);
            self.note(now, woken, What::TakesOver, Why::None, None);
            if let Window::Fixed { from, .. } = window
                && i64::from(from) * DAY <= now
            {
                self.open_window(woken, now, agenda)?;
            }
        }
        Ok(())
    }

    /// What can still be done of a job shrinks to an area.
    pub(super) fn shrink_to(&mut self, job: usize, area_ha: f64) {
        let whole = self.plan.farm.jobs[job].area_ha;
        let state = &mut self.state.jobs[job];
        let total = self.plan.work(job, state.choice as usize, state.other).total_s;
        let done = state.total_s - state.left_s;
        state.total_s = (((total as f64) * area_ha / whole).round() as i64).max(1);
        state.live_ha = area_ha;
        let left = (state.total_s - done).max(0);
        if state.stage != Stage::Dormant {
            self.state.rows[self.plan.jobs[job].row()].needed_s += left - state.left_s;
        }
        state.left_s = left;
    }

    /// A maximum lag ends: was the later work begun?
    fn lag_ends(&mut self, link: usize, now: i64, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        let of = self.plan.farm.links[link];
        let later = &self.state.jobs[of.after];
        let begun = later.left_s < later.total_s || later.stage == Stage::Working;
        let over = now >= self.plan.days as i64 * DAY;
        if begun || over || later.ended() || later.stage == Stage::Dormant {
            return Ok(());
        }
        let row = self.plan.jobs[of.after].row();
        self.state.rows[row].out.missed_lags += 1;
        self.note(now, of.after, What::LagMissed, Why::None, None);
        match of.if_missed {
            Missed::Continue => Ok(()),
            Missed::Drop => self.give_up(of.after, now, Why::LagMissed, agenda),
            // Whether it was done again before that is not known.
            Missed::Repeat if self.is_done_later(of.after) => Ok(()),
            Missed::Repeat => self.do_again(link, now, agenda),
        }
    }

    /// Earlier work is to be done again, if its window still allows it.
    fn do_again(&mut self, link: usize, now: i64, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        let of = self.plan.farm.links[link];
        let job = of.before;
        if self.state.jobs[job].stage != Stage::Done || self.state.jobs[job].latest_end <= now {
            return Ok(());
        }
        if self.state.links[link].open {
            self.hold_link(link, now);
        }
        let row = self.plan.jobs[job].row();
        self.open_row(row, now);
        self.plan_turn(now, agenda);
        let state = &mut self.state.jobs[job];
        self.state.rows[row].needed_s += state.total_s - state.left_s;
        state.left_s = state.total_s;
        // The account leaves out the time for which it stood done.
        state.account.ready += now - state.account.finish;
        state.account.finish = NEVER;
        state.account.done = false;
        self.state.rows[row].left += 1;
        self.note(now, job, What::DoneAgain, Why::LagMissed, None);
        self.begin_wait(job, now, Stage::Ready);
        self.became_ready(job, now, agenda)
    }
}
