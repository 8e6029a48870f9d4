//! One season: a farm worked through one weather year, event by event.
//!
//! What lives here: the [`Plan`] that a farm is made into, dispatch, teams at work, links between jobs,
//! the [`Policy`] that decides, and the [`Outcome`]. How many seasons there are is not known here.
//!
//! Events of one instant come in a total order: what is released (stops, lags, windows that open), the
//! morning with its weather and the windows that end, dispatch; within one of these, in the order in which
//! they were scheduled.

mod account;
mod begun;
mod choices;
mod crew;
mod dispatch;
mod job;
mod links;
mod moving;
mod outcome;
mod plan;
mod policy;
mod ranking;
mod run;
mod short_days;
mod state;
mod summary;
mod trace;

pub use outcome::{Cause, JobAccount, Outcome, RowOutcome};
pub use plan::{DAY, Plan};
pub use policy::{DayView, FieldView, JobView, Manager, Policy, PolicyError, Today};
pub use run::SeasonError;
pub use trace::{Entry, What, Why};

use crate::kernel::{Agenda, NoTrace, Trace, run as run_model};
use crate::weather::Sky;
use run::{Event, Run};
use state::State;

/// Works seasons one after another, in memory that it keeps.
#[derive(Debug)]
pub struct Season<'p> {
    plan: &'p Plan,
    agenda: Agenda<Event>,
    state: State,
    outcome: Outcome,
}

impl<'p> Season<'p> {
    /// A worker for the seasons of a plan.
    #[must_use]
    pub fn new(plan: &'p Plan) -> Self {
        Self { plan, agenda: Agenda::new(), state: State::new(plan), outcome: Outcome::default() }
    }

    /// Works one season under a sky. The outcome is a function of plan, sky and policy alone.
    ///
    /// # Errors
    ///
    /// When the policy cannot decide.
    ///
    /// # Panics
    ///
    /// If the sky has fewer keys or days than the farm.
    pub fn work(
        &mut self,
        season: u64,
        sky: &Sky,
        policy: &mut impl Policy,
    ) -> Result<&Outcome, SeasonError> {
        self.work_traced(season, sky, policy, &mut NoTrace)
    }

    /// Works one season and notes what happens.
    ///
    /// # Errors
    ///
    /// When the policy cannot decide.
    ///
    /// # Panics
    ///
    /// If the sky has fewer keys or days than the farm.
    pub fn work_traced(
        &mut self,
        season: u64,
        sky: &Sky,
        policy: &mut impl Policy,
        trace: &mut impl Trace<Entry>,
    ) -> Result<&Outcome, SeasonError> {
        policy.begin(season);
        self.state.reset();
        if self.plan.moves() {
            self.state.move_windows(self.plan, sky.source());
        }
        self.agenda.clear();
        let end = self.plan.days as i64 * DAY;
        let mut run = Run { season, plan: self.plan, sky, policy, trace, state: &mut self.state };
        run.begin(&mut self.agenda)?;
        run_model(&mut run, &mut self.agenda, end)?;
        run.end_season(end, &mut self.agenda)?;
        run.sum_up(&mut self.outcome);
        Ok(&self.outcome)
    }

    /// The accounts of the last season's jobs, in the order of the farm's jobs.
    pub fn accounts(&self) -> impl Iterator<Item = JobAccount> {
        self.state.jobs.iter().map(|job| job.account.told())
    }
}
