//! What the farm leaves open of a field: when it is decided, and what then becomes of its jobs.
//!
//! Until it is decided the farm has the jobs of the usual way, and those of the others lie dormant. Whoever decides as
//! usual changes nothing.

use super::job::{Account, NEVER, Stage};
use super::plan::{DAY, Plan};
use super::policy::{FieldView, Policy};
use super::run::{Event, Run, SeasonError, phase};
use super::trace::{Entry, What, Why};
use crate::farm::{ChoiceOf, Way, Window};
use crate::kernel::{Agenda, Trace};

/// The choices that a job has to do with.
#[derive(Debug, Clone, Default)]
pub(super) struct Asked {
    /// Those that say whether it is done; made at the latest when it could be taken up.
    pub(super) whether: [Option<u32>; 2],
    /// The one that is made when it is first taken up.
    pub(super) at_start: Option<u32>,
    /// The one that is made when it has ended, and others with it.
    pub(super) at_end: Option<u32>,
}

impl Plan {
    /// For each job, the choices that it has to do with; nothing where all is settled.
    pub(super) fn asked(farm: &crate::farm::Farm) -> Vec<Asked> {
        if farm.choices.is_empty() {
            return Vec::new();
        }
        let mut asked = vec![Asked::default(); farm.jobs.len()];
        for (choice, of) in (0..).zip(&farm.choices) {
            for &job in &of.jobs {
                let [first, second] = &mut asked[job].whether;
                *if first.is_none() { first } else { second } = Some(choice);
            }
            for &job in &of.after {
                match of.of {
                    ChoiceOf::Straw { .. } => asked[job].at_start = Some(choice),
                    ChoiceOf::Tillage { .. } => asked[job].at_end = Some(choice),
                }
            }
        }
        asked
    }

    /// Whether something is left open.
    #[inline]
    pub(super) fn has_choices(&self) -> bool {
        !self.asked.is_empty()
    }
}

/// A choice as it stands: what is decided, or usual until then.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Chosen {
    pub(super) made: bool,
    way: Way,
}

impl Chosen {
    /// Before it is made.
    pub(super) fn usual(of: ChoiceOf) -> Self {
        let way = match of {
            ChoiceOf::Straw { usual } => Way::Straw(usual),
            ChoiceOf::Tillage { usual } => Way::Tillage(usual),
        };
        Self { made: false, way }
    }
}

impl<'r, P: Policy, T: Trace<Entry>> Run<'r, P, T> {
    /// Puts the choices on the agenda that no other work brings about.
    pub(super) fn plan_choices(&mut self, agenda: &mut Agenda<Event>) {
        for (choice, of) in (0..).zip(&self.plan.farm.choices) {
            if of.after.is_empty() {
                agenda.schedule(i64::from(of.day) * DAY, phase::DAY, Event::Choose(choice));
            }
        }
    }

    /// A job could be taken up: whether it is done at all must be decided. Says whether it still is to be.
    pub(super) fn decide_whether(
        &mut self,
        job: usize,
        now: i64,
        agenda: &mut Agenda<Event>,
    ) -> Result<bool, SeasonError> {
        for choice in self.plan.asked[job].whether.into_iter().flatten() {
            self.choose(choice as usize, now, agenda)?;
        }
        Ok(self.state.jobs[job].stage == Stage::Ready)
    }

    /// A job is taken up.
    pub(super) fn decide_at_start(
        &mut self,
        job: usize,
        now: i64,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        match self.plan.asked[job].at_start {
            Some(choice) => self.choose(choice as usize, now, agenda),
            None => Ok(()),
        }
    }

    /// A job has ended: with the last of those that stand before a choice it is made.
    pub(super) fn decide_at_end(
        &mut self,
        job: usize,
        now: i64,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        let plan = self.plan;
        let Some(choice) = plan.asked[job].at_end else { return Ok(()) };
        let over = |job: &usize| self.state.jobs[*job].is_out_of_the_way();
        let choice = choice as usize;
        if plan.farm.choices[choice].after.iter().all(over) {
            self.choose(choice, now, agenda)
        } else {
            Ok(())
        }
    }

    /// Has the policy make a choice, once a season.
    pub(super) fn choose(
        &mut self,
        choice: usize,
        now: i64,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        // What was to be decided before the season is taken up is asked then.
        if self.state.past || std::mem::replace(&mut self.state.chosen[choice].made, true) {
            return Ok(());
        }
        let plan = self.plan;
        let of = &plan.farm.choices[choice];
        // At the season's end nothing is left to decide.
        let day = (now / DAY) as usize;
        if day >= plan.days {
            return Ok(());
        }
        let view = self.field_view(of.field, of.crop, day as u32);
        let way = match of.of {
            ChoiceOf::Straw { usual } => self.policy.straw(&view, usual).map(Way::Straw),
            ChoiceOf::Tillage { usual } => self.policy.tillage(&view, usual).map(Way::Tillage),
        };
        let way = way.map_err(|error| self.policy_error_on(day as u32, error))?;
        self.settle(choice, way, now, agenda)
    }

    /// What is left open is decided so.
    pub(super) fn settle(
        &mut self,
        choice: usize,
        way: Way,
        now: i64,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        let of = &self.plan.farm.choices[choice];
        self.state.chosen[choice].made = true;
        if way == self.state.chosen[choice].way {
            return Ok(());
        }
        self.state.chosen[choice].way = way;
        for &job in &of.reckoned {
            let state = &self.state.jobs[job];
            if state.left_s == state.total_s && !state.ended() {
                self.reckon(job, state.choice as usize, !state.other);
            }
        }
        // What is taken on holds later work back before what is left out frees it.
        for &job in &of.jobs {
            if self.state.jobs[job].stage == Stage::Dormant && self.is_wanted(job) {
                self.take_on(job, now, agenda)?;
            }
        }
        for &job in &of.jobs {
            if self.state.jobs[job].stage != Stage::Dormant && !self.is_wanted(job) {
                self.leave_out(job, now, agenda)?;
            }
        }
        Ok(())
    }

    /// Whether a job is done the way things are decided.
    fn is_wanted(&self, job: usize) -> bool {
        let of = &self.plan.farm.jobs[job];
        let mut choices = self.plan.asked[job].whether.into_iter().flatten();
        choices.all(|choice| of.goes_with(self.state.chosen[choice as usize].way))
    }

    /// A job that lay dormant is to be done.
    fn take_on(&mut self, job: usize, now: i64, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        let plan = self.plan;
        let row = plan.jobs[job].row();
        let state = &mut self.state.jobs[job];
        state.stage = Stage::Closed;
        self.state.rows[row].left += 1;
        self.state.rows[row].needed_s += state.left_s;
        self.note(now, job, What::TakenOn, Why::None, None);
        for link in plan.links_out(job) {
            let later = &self.state.jobs[plan.farm.links[link].after];
            let begun = later.left_s < later.total_s || later.stage == Stage::Working;
            if self.state.links[link].open && !begun && !later.ended() {
                self.hold_link(link, now);
            }
        }
        if self.state.jobs[job].latest_end <= now {
            return self.give_up(job, now, Why::LatestPassed, agenda);
        }
        let opens = match self.window(job) {
            Window::Fixed { from, .. } => i64::from(from) * DAY,
            Window::After { job: first, from, .. } => match self.state.jobs[first].account.finish {
                NEVER => NEVER,
                finish => ((finish - 1) / DAY + i64::from(from)) * DAY,
            },
        };
        // Else its window opens as any other's does.
        if opens <= now { self.open_window(job, now, agenda) } else { Ok(()) }
    }

    /// A job is not to be done after all: as if it had never been there.
    fn leave_out(&mut self, job: usize, now: i64, agenda: &mut Agenda<Event>) -> Result<(), SeasonError> {
        let plan = self.plan;
        let row = plan.jobs[job].row();
        let state = &self.state.jobs[job];
        if state.ended() || state.stage == Stage::Working || state.left_s < state.total_s {
            return Ok(());
        }
        if matches!(state.stage, Stage::Ready | Stage::Blocked) {
            self.end_wait(job, now);
            self.close_row(row, now);
        }
        let state = &mut self.state.jobs[job];
        state.stage = Stage::Dormant;
        state.account = Account::new();
        self.state.rows[row].left -= 1;
        self.state.rows[row].needed_s -= state.left_s;
        self.note(now, job, What::LeftOut, Why::None, None);
        for link in plan.links_out(job) {
            self.open_link(link, now, agenda)?;
        }
        Ok(())
    }

    /// The field as a policy sees it on a day.
    fn field_view(&self, field: usize, crop: usize, day: u32) -> FieldView<'r> {
        let plan = self.plan;
        let jobs = plan.farm.jobs.iter().enumerate().filter(|(_, job)| job.field == field);
        let in_hand = jobs.filter_map(|(job, _)| {
            let state = &self.state.jobs[job];
            let known = state.due_end != NEVER && state.stage != Stage::Dormant && !state.ended();
            // Days are counted by the next one that has hours for the work.
            let row = plan.jobs[job].row();
            let last = (state.due_end / DAY).clamp(0, plan.days as i64) as u32;
            let open = (day..last).find(|day| plan.open_seconds(row, *day as usize) > 0);
            known.then(|| self.view(job, open.unwrap_or(day)).days_in_hand)
        });
        FieldView {
            farm: &plan.farm,
            field,
            crop,
            day,
            days_in_hand: in_hand.fold(f64::INFINITY, f64::min),
            least_days_in_hand: self.state.least_days_in_hand,
            today: self.today(day),
            yesterday: self.yesterday(day),
        }
    }
}
