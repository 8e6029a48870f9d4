//! Windows that move with stages: what each season makes of them before its first day. Farms without stages do not come
//! here.

use super::job::day_end;
use super::plan::{DayJob, Plan};
use super::policy::Policy;
use super::run::Run;
use super::state::State;
use super::trace::Entry;
use crate::farm::Window;
use crate::kernel::Trace;
use crate::weather::SkySource;

/// What a season has of its own where windows move; its memory is kept.
#[derive(Debug, Clone, Default)]
pub(super) struct Moved {
    /// Days by which each stage is later.
    shifts: Vec<i32>,
    /// As [`Plan::by_from`] and [`Plan::by_latest`].
    by_from: Vec<DayJob>,
    by_latest: Vec<DayJob>,
}

/// from, due and latest moved by a shift, each to a day of the season: a window that leaves the season ends, or begins,
/// with it. Their order stays.
fn moved(days: usize, shift: i32, (from, due, latest): (u32, u32, u32)) -> (u32, u32, u32) {
    let last = days as i32 - 1;
    let day = |day: u32| (day as i32 + shift).clamp(0, last) as u32;
    (day(from), day(due), day(latest))
}

impl Moved {
    /// The window of a row given by dates, as it is this season.
    pub(super) fn dates(&self, plan: &Plan, row: usize, dates: (u32, u32, u32)) -> (u32, u32, u32) {
        match plan.farm.rows[row].stage {
            Some(stage) => moved(plan.days, self.shifts[stage], dates),
            None => dates,
        }
    }
}

impl State {
    /// Moves the windows as the season's sky says.
    pub(super) fn move_windows(&mut self, plan: &Plan, source: SkySource) {
        let of = &mut self.moved;
        of.shifts.clear();
        of.shifts.extend(plan.farm.stages.iter().map(|stage| stage.shifts.shift_days(source)));
        of.by_from.clear();
        of.by_latest.clear();
        for (index, job) in plan.farm.jobs.iter().enumerate() {
            let Window::Fixed { from, due, latest } = job.window else { continue };
            let (from, due, latest) = self.moved.dates(plan, job.row, (from, due, latest));
            self.moved.by_from.push((from, index as u32));
            self.moved.by_latest.push((latest + 1, index as u32));
            self.jobs[index].set_due(day_end(due), day_end(latest));
        }
        self.moved.by_from.sort_unstable();
        self.moved.by_latest.sort_unstable();
    }
}

impl<P: Policy, T: Trace<Entry>> Run<'_, P, T> {
    /// Jobs with dated windows by the day on which they may start.
    pub(super) fn by_from(&self) -> &[DayJob] {
        if self.plan.moves() { &self.state.moved.by_from } else { &self.plan.by_from }
    }

    /// Jobs with dated windows by the day after their last.
    pub(super) fn by_latest(&self) -> &[DayJob] {
        if self.plan.moves() { &self.state.moved.by_latest } else { &self.plan.by_latest }
    }

    /// The window of a job as it is this season.
    pub(super) fn window(&self, job: usize) -> Window {
        let of = &self.plan.farm.jobs[job];
        match of.window {
            Window::Fixed { from, due, latest } => {
                let (from, due, latest) = self.state.moved.dates(self.plan, of.row, (from, due, latest));
                Window::Fixed { from, due, latest }
            }
            after @ Window::After { .. } => after,
        }
    }
}
