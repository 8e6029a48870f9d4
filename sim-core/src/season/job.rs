//! One job on its way through a season: what it is at, what is left of it, how late it is, its account.

use super::outcome::{Cause, JobAccount};
use super::plan::DAY;
use super::state::{Clock, LOT_CAUSES};
use crate::farm::{Job, Window};

/// What a job is at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Stage {
    /// Exists only if other work is given up.
    Dormant,
    /// Its window has not opened.
    Closed,
    /// Its window is open, but other work must come first.
    Blocked,
    /// It waits for hours, weather, people or machines.
    Ready,
    /// An outfit is at it, or on its way.
    Working,
    /// All that is left of its area is done.
    Done,
    /// Given up.
    Dropped,
}

/// The instant that nothing reaches.
pub(super) const NEVER: i64 = i64::MAX;

/// The instant at which a day of the season ends.
pub(super) fn day_end(day: u32) -> i64 {
    (i64::from(day) + 1) * DAY
}

#[derive(Debug, Clone, Copy)]
pub(super) struct JobState {
    pub(super) stage: Stage,
    /// Links that still hold it back.
    pub(super) pending: u16,
    /// Which of the row's outfits `left_s` is counted for.
    pub(super) choice: u16,
    /// Whether it is counted for straw that is not treated as usual.
    pub(super) other: bool,
    /// Seconds of work left.
    pub(super) left_s: i64,
    /// Seconds of work for the whole area.
    pub(super) total_s: i64,
    /// Area in ha that can still be done: what earlier work left undone has dropped out.
    pub(super) live_ha: f64,
    /// Area that it was to do.
    pub(super) area_ha: f64,
    /// Ends of the days due and latest, once known.
    pub(super) due_end: i64,
    pub(super) latest_end: i64,
    /// While it waits: the lot's clock when it began, and while it is ready the lot's account then.
    since: [Seconds; 3],
    lot_waits: [Seconds; LOT_CAUSES],
    /// Undone area after the due day has been counted up to here.
    counted: i64,
    pub(super) area_late_ha: f64,
    pub(super) ha_days_late: f64,
    pub(super) account: Account,
}

/// Seconds within one season, which a span holds to fewer than 2^31: jobs are gone through all the time, and as
/// many as can be are to lie side by side.
type Seconds = i32;

/// A job's account so far.
#[derive(Debug, Clone, Copy)]
pub(super) struct Account {
    /// When its window opened, and when it was done or given up; [`NEVER`] until then.
    pub(super) ready: i64,
    pub(super) finish: i64,
    work_s: Seconds,
    travel_s: Seconds,
    waits_s: [Seconds; 7],
    /// Whether all of its area was done.
    pub(super) done: bool,
}

impl Account {
    /// Of a job whose window has not opened.
    pub(super) fn new() -> Self {
        Self { ready: NEVER, finish: NEVER, work_s: 0, travel_s: 0, waits_s: [0; 7], done: false }
    }

    pub(super) fn work(&mut self, work_s: i64, travel_s: i64) {
        self.work_s += work_s as Seconds;
        self.travel_s += travel_s as Seconds;
    }

    pub(super) fn wait(&mut self, cause: Cause, wait_s: i64) {
        self.waits_s[cause as usize] += wait_s as Seconds;
    }

    /// The account as others see it.
    pub(super) fn told(&self) -> JobAccount {
        let known = |instant: i64| (instant != NEVER).then_some(instant);
        JobAccount {
            ready: known(self.ready),
            finish: known(self.finish),
            work_s: i64::from(self.work_s),
            travel_s: i64::from(self.travel_s),
            waits_s: self.waits_s.map(i64::from),
            done: self.done,
        }
    }
}

impl JobState {
    /// A job before the first day, which so many links hold back.
    pub(super) fn new(job: &Job, held_by: u16) -> Self {
        let (due_end, latest_end) = match job.window {
            Window::Fixed { due, latest, .. } => (day_end(due), day_end(latest)),
            Window::After { .. } => (NEVER, NEVER),
        };
        Self {
            stage: if job.dormant { Stage::Dormant } else { Stage::Closed },
            pending: held_by,
            choice: 0,
            other: false,
            left_s: job.work[0].total_s,
            total_s: job.work[0].total_s,
            live_ha: job.area_ha,
            area_ha: job.area_ha,
            due_end,
            latest_end,
            since: [0; 3],
            lot_waits: [0; LOT_CAUSES],
            counted: due_end,
            area_late_ha: 0.0,
            ha_days_late: 0.0,
            account: Account::new(),
        }
    }

    /// Area done by now in ha; while it is worked, by when it was last stopped.
    pub(super) fn done_ha(&self) -> f64 {
        self.live_ha * ((self.total_s - self.left_s) as f64 / self.total_s as f64)
    }

    /// Area done by `now` in ha, that of an outfit at it since `begins` included.
    pub(super) fn done_ha_at(&self, begins: Option<i64>, now: i64) -> f64 {
        let worked = begins.map_or(0, |begins| (now - begins).clamp(0, self.left_s));
        self.live_ha * ((self.total_s - self.left_s + worked) as f64 / self.total_s as f64)
    }

    /// Hectares a second at work.
    pub(super) fn ha_s(&self) -> f64 {
        self.live_ha / self.total_s as f64
    }

    /// Whether it has come to its end.
    pub(super) fn ended(&self) -> bool {
        matches!(self.stage, Stage::Done | Stage::Dropped)
    }

    /// Whether no work on it is to be expected: it has ended, or lies dormant.
    pub(super) fn is_out_of_the_way(&self) -> bool {
        self.ended() || self.stage == Stage::Dormant
    }

    /// Counts the area undone after the due day for the time up to `now`, in which it stood still.
    pub(super) fn count_idle(&mut self, now: i64) {
        self.count(now, now);
    }

    /// Counts the area undone after the due day up to `now`: nothing was done until `begins`, then
    /// steadily, and `left_s` is still that of `begins`.
    #[inline]
    pub(super) fn count(&mut self, begins: i64, now: i64) {
        if now >= self.due_end {
            self.count_late(begins, now);
        }
    }

    fn count_late(&mut self, begins: i64, now: i64) {
        let end = now.min(self.latest_end);
        let (before, ha_s, left_s) = (self.area_ha - self.done_ha(), self.ha_s(), self.left_s);
        let undone_at = |instant: i64| before - ha_s * (instant - begins).clamp(0, left_s) as f64;
        let from = self.counted;
        if from == self.due_end {
            self.area_late_ha = undone_at(from).max(0.0);
        }
        let bend = begins.clamp(from, end);
        let flat = before * (bend - from) as f64;
        let sloping = (undone_at(bend) + undone_at(end)) / 2.0 * (end - bend) as f64;
        self.ha_days_late += (flat + sloping) / DAY as f64;
        self.counted = end;
    }

    /// Starts the count when the due day becomes known, or has moved before the first day.
    pub(super) fn set_due(&mut self, due_end: i64, latest_end: i64) {
        self.due_end = due_end;
        self.latest_end = latest_end;
        self.counted = due_end;
    }

    /// It begins to wait, when its lot's clock and account stand so.
    pub(super) fn waits_from(&mut self, clock: Clock, lot_waits: &[i64; LOT_CAUSES]) {
        self.since = [clock.now, clock.open, clock.suitable].map(|seconds| seconds as Seconds);
        self.lot_waits = lot_waits.map(|seconds| seconds as Seconds);
    }

    /// What it has waited when its lot's clock and account stand so: as a clock, and by cause.
    pub(super) fn waited(&self, clock: Clock, lot_waits: &[i64; LOT_CAUSES]) -> (Clock, [i64; LOT_CAUSES]) {
        let [now, open, suitable] = self.since.map(i64::from);
        let waited =
            Clock { now: clock.now - now, open: clock.open - open, suitable: clock.suitable - suitable };
        (waited, std::array::from_fn(|cause| lot_waits[cause] - i64::from(self.lot_waits[cause])))
    }
}
