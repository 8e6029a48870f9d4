//! Today's list: which of the ready work goes first, as the policy ranks it.

use super::job::{JobState, Stage};
use super::plan::{DAY, Duty, LotPlan};
use super::policy::{DayView, JobView, Policy, Today};
use super::run::{Run, SeasonError};
use super::state::Ranked;
use super::trace::Entry;
use crate::kernel::Trace;
use crate::weather::{SkySource, Yesterday};

/// A kind of day is clearly more common than another if it comes this many times as often.
const CLEARLY: f64 = 1.5;

impl<'r, P: Policy, T: Trace<Entry>> Run<'r, P, T> {
    /// The morning's list: today's ready jobs by rank, and the overtime.
    pub(super) fn rank_today(&mut self, day: u32) -> Result<(), SeasonError> {
        self.state.queue.clear();
        self.look_out(day);
        let mut least = f64::INFINITY;
        for index in 0..self.state.suited_lots.len() {
            let lot = self.state.suited_lots[index] as usize;
            self.list_lot(lot, day, &mut least)?;
        }
        if self.state.queue.len() > 1 {
            self.state.queue.sort_unstable_by(Ranked::order);
        }
        self.state.least_days_in_hand = least;
        self.state.overtime_s = None;
        self.state.duty = Duty::default();
        // On a morning without work nobody asks; the first job that becomes ready does.
        if self.state.queue.is_empty() { Ok(()) } else { self.ask_overtime(day, least) }
    }

    /// Has the policy say how much overtime there is today, from the fewest days in hand this morning.
    fn ask_overtime(&mut self, day: u32, least_days_in_hand: f64) -> Result<(), SeasonError> {
        let view = DayView {
            farm: &self.plan.farm,
            day,
            least_days_in_hand,
            overtime_week_h: self.state.overtime_week_s(day) as f64 / 3600.0,
            today: self.today(day),
            yesterday: self.yesterday(day),
        };
        let hours = self.policy.overtime_h(&view).map_err(|error| self.policy_error(error))?;
        let allowed_s = (hours.clamp(0.0, 24.0) * 3600.0).round() as i64;
        self.state.allow_overtime(day, allowed_s.min(self.plan.longest_overtime_s));
        Ok(())
    }

    /// Notes which lots today suits, which of these have ready work, and for each class of these its
    /// probability of a suitable day; 1 for the others.
    pub(super) fn look_out(&mut self, day: u32) {
        let plan = self.plan;
        self.state.suited_lots.clear();
        self.state.ready_p.fill(1.0);
        for index in 0..self.state.open_rows.len() {
            let row = self.state.open_rows[index] as usize;
            debug_assert_eq!(self.state.rows[row].needed_s, self.left_in_row(row));
            let of = &plan.rows[row];
            let mut changed = false;
            for &lot in &of.lots {
                let (key, state) = (plan.lots[lot].key, &mut self.state.lots[lot]);
                changed |= state.see(self.sky.suitable(key, day as usize));
                // Yesterday may have ended in what it had lost.
                changed |= self.sky.has_hours() && self.sky.minutes(key, day as usize).is_some();
                if state.suitable && state.ready > 0 {
                    self.state.suited_lots.push(lot as u32);
                    let p = plan.farm.weather.keys[key].p[day as usize];
                    let least = &mut self.state.ready_p[of.class];
                    *least = least.min(p);
                }
            }
            if changed {
                self.row_changed(row);
            }
        }
    }

    /// Seconds of work left in a row's jobs, added up: what `needed_s` keeps as a running sum.
    fn left_in_row(&self, row: usize) -> i64 {
        let jobs = self.plan.farm.rows[row].jobs.iter().map(|job| &self.state.jobs[*job]);
        jobs.filter(|job| !job.ended() && job.stage != Stage::Dormant).map(|job| job.left_s).sum()
    }

    /// Whether work that comes after a class's on some field is ready today, and has clearly fewer days.
    fn gives_way(&self, class: usize, p_today: f64) -> bool {
        self.plan.later_classes[class].iter().any(|later| self.state.ready_p[*later] * CLEARLY <= p_today)
    }

    /// Whether the fields of a lot rank alike, so that it stands on the list as a whole: not where each has
    /// a window of its own.
    fn ranks_whole(&self, lot: usize) -> bool {
        self.plan.rows[self.plan.lots[lot].row].dated && self.policy.fields_rank_alike()
    }

    /// Puts a lot's ready jobs on the list, as a whole or one by one.
    fn list_lot(&mut self, lot: usize, day: u32, least: &mut f64) -> Result<(), SeasonError> {
        let whole = self.ranks_whole(lot);
        let mut turn = 0;
        while let Some((job, next)) = self.next_ready(lot, turn) {
            turn = next;
            let Some(ranked) = self.rank(job, day, whole, least)? else { return Ok(()) };
            self.state.queue.push(ranked);
            if whole {
                self.state.lots[lot].listed = day;
                return Ok(());
            }
        }
        Ok(())
    }

    /// Adds a job that has become ready to today's list, if its lot is not on it.
    pub(super) fn join_queue(&mut self, job: usize) -> Result<(), SeasonError> {
        let day = self.state.day;
        let lot = self.plan.jobs[job].lot();
        let whole = self.ranks_whole(lot);
        if whole && self.state.lots[lot].listed == day
            || !whole && self.state.queue.iter().any(|ranked| ranked.job == job as u32)
        {
            return Ok(());
        }
        let mut least = f64::INFINITY;
        if let Some(ranked) = self.rank(job, day, whole, &mut least)? {
            let at = self.state.queue.partition_point(|other| other.order(&ranked).is_lt());
            self.state.queue.insert(at, ranked);
            if whole {
                self.state.lots[lot].listed = day;
            }
            if self.state.overtime_s.is_none() {
                self.ask_overtime(day, f64::INFINITY)?;
            }
        }
        Ok(())
    }

    /// The job's rank today, or nothing if today cannot suit it.
    fn rank(
        &mut self,
        job: usize,
        day: u32,
        whole_lot: bool,
        least: &mut f64,
    ) -> Result<Option<Ranked>, SeasonError> {
        let of = &self.plan.jobs[job];
        if !self.state.lots[of.lot()].suitable || self.plan.open_seconds(of.row(), day as usize) == 0 {
            return Ok(None);
        }
        let view = self.view(job, day);
        *least = least.min(view.days_in_hand);
        let rank = self.policy.rank(&view).map_err(|error| self.policy_error(error))?;
        if rank.is_nan() {
            let date = self.plan.farm.span.date(day);
            return Err(SeasonError::NoRank { season: self.season, date, job: self.plan.job_label(job) });
        }
        let held = self.policy.hold(&view).map_err(|error| self.policy_error(error))?;
        let distance_km = self.plan.farm.fields[of.field()].distance_km;
        let (lot, row) = (of.lot() as u32, of.row() as u32);
        let (job, begun) = (job as u32, view.started);
        Ok(Some(Ranked { rank, begun, distance_km, job, lot, row, whole_lot, held }))
    }

    /// The job as a policy sees it on a day.
    pub(super) fn view(&self, job: usize, day: u32) -> JobView<'r> {
        let plan = self.plan;
        let of = &plan.jobs[job];
        let (in_lot, in_row) = (&plan.lots[of.lot()], &plan.rows[of.row()]);
        let state = &self.state.jobs[job];
        let needed_s = if in_row.dated { self.state.rows[of.row()].needed_s } else { state.left_s } as f64;
        let slack_s = self.hope_s(state, in_lot, day as usize) - needed_s;
        let open_s = plan.suitable_seconds(of.lot(), day as usize).max(1.0);
        let p_today = plan.farm.weather.keys[in_lot.key].p[day as usize];
        JobView {
            farm: &plan.farm,
            job,
            day,
            slack_h: slack_s / 3600.0,
            days_in_hand: slack_s / open_s,
            days_needed: needed_s / open_s,
            p_today,
            gives_way: self.gives_way(in_row.class, p_today),
            started: state.left_s < state.total_s,
            area_left_ha: state.live_ha - state.done_ha(),
            today: self.today(day),
            yesterday: self.yesterday(day),
        }
    }

    pub(super) fn today(&self, day: u32) -> Today<'r> {
        Today { plan: self.plan, sky: self.sky, day: day as usize }
    }

    /// Rain and soil before a day, where the season is a recorded year.
    pub(super) fn yesterday(&self, day: u32) -> Option<Yesterday<'r>> {
        let SkySource::Recorded { year } = self.sky.source() else { return None };
        self.plan.farm.weather.recorded.as_ref()?.ground()?.before(year as usize, day)
    }

    /// Expected suitable seconds from today to the due day's end.
    fn hope_s(&self, job: &JobState, lot: &LotPlan, day: usize) -> f64 {
        let expected = &self.plan.pairs[lot.pair].expected;
        let due = (job.due_end / DAY).clamp(0, self.plan.days as i64) as usize;
        if due > day { expected[due] - expected[day] } else { 0.0 }
    }
}
