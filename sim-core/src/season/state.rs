//! Where everything stands at an instant of a season: lots, rows, machines and people; of the jobs, that they are there.

use super::choices::Chosen;
use super::crew::Means;
use super::job::JobState;
use super::moving::Moved;
use super::outcome::{Cause, RowOutcome};
use super::plan::{Duty, Plan};
use crate::farm::{Farm, Job};
use crate::kernel::Handle;

/// Which of two marks a ready job has.
pub(super) const BEGUN: usize = 0;
pub(super) const FRESH: usize = 1;

/// An outfit at a job, or on its way to it.
#[derive(Debug, Clone, Copy)]
pub(super) struct AtWork {
    pub(super) job: u32,
    /// Its index among the farm's outfits.
    pub(super) outfit: u32,
    /// Set out, and at work from then on.
    pub(super) start: i64,
    pub(super) begins: i64,
    /// What it holds.
    pub(super) means: Means,
    /// The job's rank when it set out.
    pub(super) rank: f64,
    /// The end of its hours.
    pub(super) close: i64,
    /// When it will stop, and the event of that.
    pub(super) stop_at: i64,
    pub(super) stop: Handle,
}

/// An instant with the open and the suitable open seconds that a lot has had before it.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Clock {
    pub(super) now: i64,
    pub(super) open: i64,
    pub(super) suitable: i64,
}

/// Causes that are the same for every ready job of a lot: people, machine, policy.
pub(super) const LOT_CAUSES: usize = 3;

/// The cause's place in a lot's account.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum LotCause {
    People = 0,
    Machine = 1,
    Policy = 2,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct LotState {
    pub(super) suitable: bool,
    pub(super) cause: LotCause,
    /// Its clock when it was last looked at, up to which `waits` is booked.
    pub(super) clock: Clock,
    pub(super) waits: [i64; LOT_CAUSES],
    /// Ready jobs, and jobs that other work holds back.
    pub(super) ready: u16,
    pub(super) blocked: u16,
    /// The dispatch at which an outfit was last looked for in vain.
    pub(super) tried: u64,
    /// The day on whose list it stands as a whole.
    pub(super) listed: u32,
}

#[derive(Debug, Clone, Copy)]
pub(super) struct RowState {
    pub(super) out: RowOutcome,
    /// Jobs not yet ended, and those of them whose window is open.
    pub(super) left: u16,
    pub(super) open: u16,
    pub(super) working: u16,
    /// What its waiting since then is put down to.
    pub(super) since: i64,
    pub(super) since_open: i64,
    pub(super) cause: Cause,
    /// Whether it is among the rows to look at after the dispatch.
    pub(super) changed: bool,
    /// Seconds of work left in all its jobs that have not ended.
    pub(super) needed_s: i64,
}

#[derive(Debug, Clone, Copy, Default)]
pub(super) struct LinkState {
    /// Whether it no longer holds its job back.
    pub(super) open: bool,
    /// The event that will open it.
    pub(super) event: Option<Handle>,
}

/// The links before the first day: what may not be done at all holds nothing back until it is decided on.
fn fresh_links(farm: &Farm) -> Vec<LinkState> {
    let mut links = vec![LinkState::default(); farm.links.len()];
    for &job in farm.choices.iter().flat_map(|choice| &choice.jobs) {
        let of = &farm.jobs[job];
        of.links_out.iter().for_each(|link| links[*link].open = of.dormant);
    }
    links
}

/// The outfit that a policy names for a job: an index into those of its row.
#[derive(Debug, Clone, Copy)]
pub(super) struct Named {
    pub(super) day: u32,
    pub(super) choice: Option<u16>,
}

impl Default for Named {
    fn default() -> Self {
        Self { day: u32::MAX, choice: None }
    }
}

/// Work that may be done today, with its rank: a whole lot, or one job of it where its fields rank apart.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ranked {
    pub(super) rank: f64,
    pub(super) begun: bool,
    pub(super) distance_km: f64,
    /// The job; of a whole lot the one that would have come first in the morning.
    pub(super) job: u32,
    pub(super) lot: u32,
    pub(super) row: u32,
    pub(super) whole_lot: bool,
    pub(super) held: bool,
}

impl Ranked {
    pub(super) fn order(&self, other: &Self) -> std::cmp::Ordering {
        self.rank
            .total_cmp(&other.rank)
            .then(other.begun.cmp(&self.begun))
            .then(self.distance_km.total_cmp(&other.distance_km))
            .then(self.job.cmp(&other.job))
    }
}

/// Where a machine or a person is.
pub(super) const YARD: u32 = u32::MAX;

/// All that changes in a season. Its memory is kept from season to season.
#[derive(Debug, Clone)]
pub(super) struct State {
    /// Jobs, lots and rows as they are before the first day.
    fresh_jobs: Vec<JobState>,
    fresh_lots: Vec<LotState>,
    fresh_rows: Vec<RowState>,
    fresh_links: Vec<LinkState>,
    fresh_choices: Vec<Chosen>,
    pub(super) jobs: Vec<JobState>,
    pub(super) lots: Vec<LotState>,
    pub(super) rows: Vec<RowState>,
    pub(super) links: Vec<LinkState>,
    /// What is left open, as it stands.
    pub(super) chosen: Vec<Chosen>,
    /// Which outfit alone may take each job, and the day on which the policy said so.
    pub(super) named: Vec<Named>,
    /// For each pair of hours and key: suitable open seconds before each day.
    pub(super) suitable_before: Vec<i64>,
    pub(super) busy_machines: u128,
    pub(super) busy_people: u64,
    /// Field at which each machine, then each person, is; [`YARD`] at first every day.
    pub(super) places: Vec<u32>,
    /// Probability of a suitable day of each class with ready work that today suits; 1 for the others.
    pub(super) ready_p: Vec<f64>,
    /// Marks of the ready jobs of each lot, by place: those [`BEGUN`], and the [`FRESH`].
    pub(super) ready: Vec<[u64; 2]>,
    /// Today's duty that was last looked up.
    pub(super) duty: Duty,
    /// Rows whose cause of waiting may have changed.
    pub(super) changed_rows: Vec<u32>,
    /// Rows with open jobs, in no order.
    pub(super) open_rows: Vec<u32>,
    /// Lots with ready work that today suits, as the morning found them.
    pub(super) suited_lots: Vec<u32>,
    /// Today's jobs by rank.
    pub(super) queue: Vec<Ranked>,
    /// Outfits at work, as they set out.
    pub(super) working: Vec<AtWork>,
    /// Today: hours of overtime allowed.
    pub(super) overtime_s: Option<i64>,
    /// The last day of each of seven kinds on which overtime was spoken of, and how much was allowed.
    overtime_of_week: [(u32, i64); 7],
    /// The fewest days in hand of what this morning's list was made of.
    pub(super) least_days_in_hand: f64,
    pub(super) day: u32,
    /// Whether the season is not taken up yet, and how much of what was done before is.
    pub(super) past: bool,
    pub(super) done_before: usize,
    /// Jobs that wait for an outfit.
    pub(super) ready_jobs: u32,
    /// Windows that move with stages, as they are this season; not looked at where there are none.
    pub(super) moved: Moved,
    pub(super) next_from: usize,
    pub(super) next_latest: usize,
    /// The day for which a morning is on the agenda.
    pub(super) morning: Option<u32>,
    /// Whether today's morning has been, so that what becomes ready joins the list.
    pub(super) awake: bool,
    /// Whether the next instant at which hours open is on the agenda.
    pub(super) opening: bool,
    /// The turn of a short day that is on the agenda.
    pub(super) turn: Option<i64>,
    /// Something was freed or became ready at this instant.
    pub(super) dispatch_wanted: bool,
    /// A dispatch is on the agenda for this instant.
    pub(super) dispatch_pending: bool,
    pub(super) dispatches: u64,
    pub(super) use_s: Vec<i64>,
    pub(super) hired_ha: Vec<f64>,
}

impl State {
    pub(super) fn new(plan: &Plan) -> Self {
        let farm = &plan.farm;
        let resources = farm.machines.len() + farm.people.len();
        let fresh_links = fresh_links(farm);
        let held = |job: &Job| job.links_in.iter().filter(|link| !fresh_links[**link].open).count() as u16;
        let fresh_jobs: Vec<JobState> = farm.jobs.iter().map(|job| JobState::new(job, held(job))).collect();
        let fresh_lots: Vec<LotState> = farm
            .lots
            .iter()
            .map(|_| LotState {
                suitable: false,
                cause: LotCause::Machine,
                clock: Clock::default(),
                waits: [0; LOT_CAUSES],
                ready: 0,
                blocked: 0,
                tried: 0,
                listed: u32::MAX,
            })
            .collect();
        let fresh_rows: Vec<RowState> = farm
            .rows
            .iter()
            .map(|row| RowState {
                out: RowOutcome { finish: Some(0), ..RowOutcome::default() },
                left: row.jobs.iter().filter(|job| !farm.jobs[**job].dormant).count() as u16,
                open: 0,
                working: 0,
                since: 0,
                since_open: 0,
                cause: Cause::ClosedHours,
                changed: false,
                needed_s: row
                    .jobs
                    .iter()
                    .map(|job| &farm.jobs[*job])
                    .filter(|job| !job.dormant)
                    .map(|job| job.work[0].total_s)
                    .sum(),
            })
            .collect();
        Self {
            fresh_jobs,
            fresh_lots,
            fresh_rows,
            fresh_links,
            fresh_choices: farm.choices.iter().map(|choice| Chosen::usual(choice.of)).collect(),
            jobs: Vec::with_capacity(farm.jobs.len()),
            lots: Vec::with_capacity(farm.lots.len()),
            rows: Vec::with_capacity(farm.rows.len()),
            links: Vec::with_capacity(farm.links.len()),
            chosen: Vec::with_capacity(farm.choices.len()),
            named: vec![Named::default(); farm.jobs.len()],
            suitable_before: vec![0; plan.pairs.len() * (plan.days + 1)],
            busy_machines: 0,
            busy_people: 0,
            places: vec![YARD; resources],
            ready_p: vec![1.0; farm.classes.len()],
            ready: vec![[0; 2]; plan.lots.last().map_or(0, |lot| lot.words.end)],
            duty: Duty::default(),
            changed_rows: Vec::with_capacity(farm.rows.len()),
            open_rows: Vec::with_capacity(farm.rows.len()),
            suited_lots: Vec::with_capacity(farm.lots.len()),
            queue: Vec::with_capacity(farm.jobs.len()),
            working: Vec::with_capacity(farm.jobs.len()),
            overtime_s: None,
            overtime_of_week: [(0, 0); 7],
            least_days_in_hand: f64::INFINITY,
            day: 0,
            past: false,
            done_before: 0,
            ready_jobs: 0,
            moved: Moved::default(),
            next_from: 0,
            next_latest: 0,
            morning: None,
            awake: false,
            opening: false,
            turn: None,
            dispatch_wanted: false,
            dispatch_pending: false,
            dispatches: 0,
            use_s: vec![0; resources * plan.half_months()],
            hired_ha: vec![0.0; farm.people.len()],
        }
    }

    /// Puts everything back to before the first day.
    pub(super) fn reset(&mut self) {
        self.jobs.clear();
        self.jobs.extend_from_slice(&self.fresh_jobs);
        self.lots.clear();
        self.lots.extend_from_slice(&self.fresh_lots);
        self.rows.clear();
        self.rows.extend_from_slice(&self.fresh_rows);
        self.links.clear();
        self.links.extend_from_slice(&self.fresh_links);
        self.chosen.clear();
        self.chosen.extend_from_slice(&self.fresh_choices);
        self.named.fill(Named::default());
        self.least_days_in_hand = f64::INFINITY;
        self.busy_machines = 0;
        self.busy_people = 0;
        self.places.fill(YARD);
        self.ready.fill([0; 2]);
        self.duty = Duty::default();
        self.changed_rows.clear();
        self.open_rows.clear();
        self.queue.clear();
        self.working.clear();
        self.overtime_s = None;
        self.overtime_of_week = [(0, 0); 7];
        self.day = 0;
        self.past = false;
        self.done_before = 0;
        self.ready_jobs = 0;
        self.next_from = 0;
        self.next_latest = 0;
        self.morning = None;
        self.awake = false;
        self.opening = false;
        self.turn = None;
        self.dispatch_wanted = false;
        self.dispatch_pending = false;
        self.dispatches = 0;
        self.use_s.fill(0);
        self.hired_ha.fill(0.0);
    }
}

impl State {
    /// Notes how much overtime is allowed on a day.
    pub(super) fn allow_overtime(&mut self, day: u32, allowed_s: i64) {
        self.overtime_s = Some(allowed_s);
        self.overtime_of_week[day as usize % 7] = (day, allowed_s);
    }

    /// The overtime that was allowed on the six days before a day.
    pub(super) fn overtime_week_s(&self, day: u32) -> i64 {
        let lately = self.overtime_of_week.iter().filter(|(of, _)| *of < day && day - of < 7);
        lately.map(|(_, allowed_s)| allowed_s).sum()
    }
}

impl LotState {
    /// Notes whether today suits it; says whether that is news.
    pub(super) fn see(&mut self, suitable: bool) -> bool {
        std::mem::replace(&mut self.suitable, suitable) != suitable
    }
}
