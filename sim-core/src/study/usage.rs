//! What machines and people are used for, half-month by half-month: hours at work over all seasons, hours
//! that the work needs, and hours that there are in a middling and in a bad year.

use super::bulk::Variant;
use super::interval::{quantile_is_supported, quantile_of_counts, quantile_of_sorted};
use super::need::{hours_needed, window_of};
use crate::farm::Farm;
use crate::season::{DAY, Outcome, Plan};
use crate::weather::{DailyHours, Left, Loses, Sky, Weather};

/// The hours that there are in a middling and in a bad year come from the first so many seasons' skies, or
/// from all of them if they are fewer.
pub const SKIES_FOR_HOURS: u64 = 1000;

/// What kind of resource it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ResourceKind {
    /// A machine.
    Machine,
    /// A person of the farm.
    Person,
    /// A contractor.
    Contractor,
}

/// A machine, or a person or contractor.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Resource {
    /// Which of them.
    pub kind: ResourceKind,
    /// Index into the farm's machines or people.
    pub index: usize,
}

impl Resource {
    /// Its name.
    ///
    /// # Panics
    ///
    /// If it is not of this farm.
    #[must_use]
    pub fn name(self, farm: &Farm) -> &str {
        match self.kind {
            ResourceKind::Machine => &farm.machines[self.index].name,
            ResourceKind::Person | ResourceKind::Contractor => &farm.people[self.index].name,
        }
    }

    /// The machine or person of a number that counts machines first.
    fn of(farm: &Farm, number: usize) -> Self {
        match number.checked_sub(farm.machines.len()) {
            None => Self { kind: ResourceKind::Machine, index: number },
            Some(index) if farm.people[index].contractor => Self { kind: ResourceKind::Contractor, index },
            Some(index) => Self { kind: ResourceKind::Person, index },
        }
    }
}

/// The use of a machine or a person in one half-month.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Usage {
    /// The machine or person.
    pub resource: Resource,
    /// Number of the half-month, as in [`Plan::half_month_of`].
    pub half_month: usize,
    /// Hours that the work needs: each job's by its row's first outfit, spread over from..due in proportion to
    /// expected suitable open hours, shared evenly among machines alike and among those who may drive.
    pub hours_needed: f64,
    /// Hours there are in a middling year, of [`SKIES_FOR_HOURS`]: suitable open hours within the person's own
    /// (a machine's: within those of the people who can drive it) of the days on which an operation that can
    /// use it is between from and due; each day those of the operation that has the most. `None`: too few
    /// seasons to say.
    pub hours_available_middling: Option<f64>,
    /// The same in a bad year, as one in five is or worse. `None`: too few seasons to say.
    pub hours_available_bad: Option<f64>,
    /// Mean hours at work and on the road.
    pub hours_mean: f64,
    /// Hours at work and on the road that nine seasons in ten do not exceed, to the nearest whole hour.
    /// `None`: too few seasons to say.
    pub hours_p90: Option<u32>,
}

/// One more than the hours of the longest half-month, 16 days.
const HOURS: usize = 16 * 24 + 1;

/// Hours of use as they are counted.
pub(super) struct Uses {
    sums_s: Vec<i64>,
    /// Seasons by whole hours of each machine or person and half-month.
    hours: Vec<u32>,
    seasons: u64,
}

impl Uses {
    pub(super) fn new(plan: &Plan) -> Self {
        let farm = plan.farm();
        let cells = (farm.machines.len() + farm.people.len()) * plan.half_months();
        Self { sums_s: vec![0; cells], hours: vec![0; cells * HOURS], seasons: 0 }
    }

    pub(super) fn add(&mut self, outcome: &Outcome) {
        self.seasons += 1;
        for (cell, used_s) in outcome.use_s.iter().enumerate() {
            self.sums_s[cell] += used_s;
            let hour = ((used_s + 1800) / 3600).clamp(0, HOURS as i64 - 1) as usize;
            self.hours[cell * HOURS + hour] += 1;
        }
    }

    pub(super) fn findings(self, variant: &Variant, seed: u64, threads: usize) -> Vec<Usage> {
        let (plan, farm) = (&variant.plan, variant.plan.farm());
        let needed = hours_needed(plan);
        let skies = self.seasons.min(SKIES_FOR_HOURS);
        let available = Openings::new(plan).years(&variant.weather, seed, skies, threads);
        let cells = needed.len();
        let mut years: Vec<u32> = Vec::with_capacity(skies as usize);
        (0..cells)
            .map(|cell| {
                years.clear();
                years.extend(available.iter().skip(cell).step_by(cells.max(1)));
                years.sort_unstable();
                let hours_in = |percent: usize| {
                    let supported = quantile_is_supported(percent as u32, skies);
                    let seconds = supported.then(|| quantile_of_sorted(&years, percent)).flatten();
                    seconds.map(|seconds| f64::from(seconds) / 3600.0)
                };
                let counts = &self.hours[cell * HOURS..][..HOURS];
                let supported = quantile_is_supported(90, self.seasons);
                let hours_p90 = supported.then(|| quantile_of_counts(counts, 90, self.seasons)).flatten();
                Usage {
                    resource: Resource::of(farm, cell / plan.half_months()),
                    half_month: cell % plan.half_months(),
                    hours_needed: needed[cell],
                    hours_available_middling: hours_in(50),
                    hours_available_bad: hours_in(20),
                    hours_mean: self.sums_s[cell] as f64 / 3600.0 / self.seasons.max(1) as f64,
                    hours_p90: hours_p90.map(|hours| hours as u32),
                }
            })
            .collect()
    }
}

/// For each machine and person and day, what could be done with it: open seconds under a weather key, the most
/// open first.
struct Openings {
    /// Number of machines and people x days, plus one: where each day's list ends.
    ends: Vec<u32>,
    open: Vec<Opening>,
    hours: Vec<Open>,
    half_month: Vec<usize>,
    half_months: usize,
    resources: usize,
}

/// Open seconds under a weather key, and which of the [`Openings::hours`] they are.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Opening {
    seconds: u32,
    key: u32,
    hours: u32,
}

/// The clock of a work class, and what of it lies within the hours of some people from their first day on.
struct Open {
    class: usize,
    people: u64,
    clock: DailyHours,
    loses: Loses,
    within: DailyHours,
    first_day: u32,
}

impl Openings {
    fn new(plan: &Plan) -> Self {
        let farm = plan.farm();
        let days = farm.span.days() as usize;
        let resources = farm.machines.len() + farm.people.len();
        let mut lists: Vec<Vec<Opening>> = vec![Vec::new(); resources * days];
        let mut known: Vec<Open> = Vec::new();
        for (index, lot) in farm.lots.iter().enumerate() {
            let on = window_days(farm, index);
            let row = &farm.rows[lot.row];
            for (resource, people) in row.outfits.iter().flat_map(|outfit| users(farm, *outfit)) {
                let at = known.iter().position(|open| (open.class, open.people) == (row.class, people));
                let at = at.unwrap_or_else(|| {
                    known.push(Open::new(farm, row.class, people));
                    known.len() - 1
                });
                for day in (0..days).filter(|day| on[*day]) {
                    let opening =
                        Opening { seconds: known[at].seconds(day), key: lot.key as u32, hours: at as u32 };
                    let list = &mut lists[resource * days + day];
                    if opening.seconds > 0 && !list.contains(&opening) {
                        list.push(opening);
                    }
                }
            }
        }
        let mut openings = Self {
            ends: vec![0],
            open: Vec::new(),
            hours: known,
            half_month: (0..days).map(|day| plan.half_month_of(day)).collect(),
            half_months: plan.half_months(),
            resources,
        };
        for list in &mut lists {
            list.sort_unstable_by(|one, other| other.cmp(one));
            openings.open.extend_from_slice(list);
            openings.ends.push(openings.open.len() as u32);
        }
        openings
    }

    /// Open suitable seconds of the first `seasons` seasons: `[season][resource * half_months + half_month]`.
    fn years(&self, weather: &Weather, seed: u64, seasons: u64, threads: usize) -> Vec<u32> {
        let cells = self.resources * self.half_months;
        let mut years = vec![0; cells * seasons as usize];
        if years.is_empty() {
            return years;
        }
        let part = (seasons as usize).div_ceil(threads.max(1));
        std::thread::scope(|scope| {
            for (worker, years) in years.chunks_mut(part * cells).enumerate() {
                scope.spawn(move || {
                    let mut sky = Sky::default();
                    for (offset, year) in years.chunks_exact_mut(cells).enumerate() {
                        weather.draw(seed, (worker * part + offset) as u64, &mut sky);
                        self.year(&sky, year);
                    }
                });
            }
        });
        years
    }

    fn year(&self, sky: &Sky, year: &mut [u32]) {
        let days = self.half_month.len();
        for (resource, year) in year.chunks_exact_mut(self.half_months).enumerate() {
            for (day, half_month) in self.half_month.iter().enumerate() {
                let at = resource * days + day;
                let today = &self.open[self.ends[at] as usize..self.ends[at + 1] as usize];
                let mut suited = today.iter().filter(|open| sky.suitable(open.key as usize, day));
                let most = if sky.has_hours() {
                    suited.map(|open| self.seconds(open, sky, day)).max()
                } else {
                    suited.next().map(|open| open.seconds)
                };
                year[*half_month] += most.unwrap_or(0);
            }
        }
    }
}

impl Openings {
    /// The open seconds of a suitable day.
    fn seconds(&self, open: &Opening, sky: &Sky, day: usize) -> u32 {
        let of = &self.hours[open.hours as usize];
        sky.minutes(open.key as usize, day).map_or(open.seconds, |minutes| {
            let left = Left::of(of.clock.on(day as u32), minutes, of.loses);
            left.seconds_within(of.within.on(day as u32), DAY) as u32
        })
    }
}

/// Whether each day is between from and due of a job of the lot that no fallback brings.
fn window_days(farm: &Farm, lot: usize) -> Vec<bool> {
    let mut on = vec![false; farm.span.days() as usize];
    let own = farm.jobs.iter().enumerate().filter(|(_, job)| job.lot == lot && !job.dormant);
    for (index, _) in own {
        if let Some((from, due)) = window_of(farm, index) {
            on[from..=due].fill(true);
        }
    }
    on
}

/// The machines and people that can be in an outfit, each with the mask of those whose hours bound it: a
/// person's own, a machine's drivers' (the outfit's, where it needs none).
fn users(farm: &Farm, outfit: usize) -> Vec<(usize, u64)> {
    let outfit = &farm.outfits[outfit];
    let mut users = Vec::new();
    for unit in &outfit.units {
        let people = unit.drivers.unwrap_or(outfit.anyone);
        for (mask, _) in &unit.machines {
            let machines = (0..farm.machines.len()).filter(|bit| mask >> bit & 1 == 1);
            users.extend(machines.map(|machine| (machine, people)));
        }
        let drivers = unit.drivers.unwrap_or(0);
        let drivers = (0..farm.people.len()).filter(|bit| drivers >> bit & 1 == 1);
        users.extend(drivers.map(|person| (farm.machines.len() + person, 1 << person)));
    }
    users
}

impl Open {
    /// The hours of a work class within those of some people.
    fn new(farm: &Farm, class: usize, people: u64) -> Self {
        let persons = farm.people.iter().enumerate().filter(|(bit, _)| people >> bit & 1 == 1);
        let persons: Vec<_> = persons.map(|(_, person)| person).collect();
        let hull = DailyHours::hull(&persons.iter().map(|person| &person.hours).collect::<Vec<_>>());
        let of = &farm.classes[class];
        Self {
            class,
            people,
            clock: of.hours.clone(),
            loses: of.short_day_loses,
            within: hull.map_or_else(|| of.hours.clone(), |hull| of.hours.and(&hull)),
            first_day: persons.iter().map(|person| person.from_day).min().unwrap_or(0),
        }
    }

    /// Open seconds of a day.
    fn seconds(&self, day: usize) -> u32 {
        let day = day as u32;
        if day < self.first_day { 0 } else { self.within.seconds_on(day) as u32 }
    }
}
