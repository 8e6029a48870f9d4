//! What a season needs to know of a farm and its weather before the first day: hours and expected hours
//! as running sums, the instants at which hours open, jobs in the order of their windows.

mod duty;
mod hours;
mod parts;

use super::choices::Asked;
use crate::farm::{Farm, Job, Window};
use crate::weather::{FURTHEST_DAYS, Stretch};
use duty::Duties;
pub(super) use duty::Duty;
use hours::Hours;
pub(super) use hours::{Days, OpenHours, Pair};
pub(super) use parts::{JobPlan, LotPlan, RowPlan};

/// Ticks in a day: a farm's tick is one second.
pub const DAY: i64 = 86_400;

/// A farm made ready to be worked through seasons. One plan serves any number of them, on any thread.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The farm.
    pub(super) farm: Farm,
    pub(super) days: usize,
    pub(super) rows: Vec<RowPlan>,
    pub(super) lots: Vec<LotPlan>,
    pub(super) jobs: Vec<JobPlan>,
    shared: parts::Shared,
    /// Open hours of a class for a set of people.
    pub(super) hours: Vec<OpenHours>,
    /// Open hours under a weather key.
    pub(super) pairs: Vec<Pair>,
    /// The hours of each class, and of each person.
    pub(super) class_hours: Vec<Days>,
    person_hours: Vec<Days>,
    duties: Duties,
    /// The longest overtime that anyone does.
    pub(super) longest_overtime_s: i64,
    /// For each class, the others whose work comes directly after it on some field.
    pub(super) later_classes: Vec<Vec<usize>>,
    /// Starts of all hours of each day, ascending, seconds of the day; day `d` has
    /// `opens[open_ends[d]..open_ends[d + 1]]`.
    opens: Vec<i64>,
    open_ends: Vec<u32>,
    /// Days from the first on which a window can open until after the last on which one can end.
    pub(super) used: std::ops::Range<usize>,
    /// Jobs with dated windows by the day on which they may start.
    pub(super) by_from: Vec<DayJob>,
    /// Jobs with dated windows by the day after their last.
    pub(super) by_latest: Vec<DayJob>,
    /// Half-month of the season of each day.
    pub(super) half_month: Vec<u16>,
    half_months: usize,
    /// Whether any way between yard and fields takes time.
    pub(super) has_ways: bool,
    /// People in the order in which they are asked: those who may drive least come first.
    pub(super) people_order: Vec<u8>,
    /// For each job the choices that it has to do with; nothing where all is settled.
    pub(super) asked: Vec<Asked>,
    /// For each job its place among what was done before the season is taken up; nothing where it begins anew.
    pub(super) done_before: Vec<Option<u32>>,
}

impl Plan {
    /// Makes a farm ready.
    #[must_use]
    pub fn new(farm: Farm) -> Self {
        let days = farm.span.days() as usize;
        let hours = Hours::new(&farm, days);
        let pairs = hours::pairs(&farm, &hours, days);
        let rows = parts::rows(&farm, &hours);
        let lots = parts::lots(&farm, &hours, &pairs);
        let (jobs, shared) = parts::jobs(&farm, &lots);
        let class_of = |job: usize| farm.rows[farm.jobs[job].row].class;
        let mut later_classes = vec![Vec::new(); farm.classes.len()];
        for link in farm.links.iter().filter(|link| link.required) {
            let (class, later) = (class_of(link.before), class_of(link.after));
            if class != later && !later_classes[class].contains(&later) {
                later_classes[class].push(later);
            }
        }
        let (by_from, by_latest) = by_window(&farm);
        let used = used_days(&farm, days);
        let drives = |person: usize| {
            let units = farm.outfits.iter().flat_map(|outfit| &outfit.units);
            units.filter(|unit| unit.drivers.is_some_and(|mask| mask >> person & 1 == 1)).count()
        };
        let mut people_order: Vec<u8> = (0..farm.people.len() as u8).collect();
        people_order.sort_by_key(|person| (drives(*person as usize), *person));
        let first = farm.span.first();
        let half_month: Vec<u16> = (0..days as u32)
            .map(|day| {
                let date = farm.span.date(day);
                let months =
                    i32::from(date.year() - first.year()) * 12 + i32::from(date.month() - first.month());
                (months * 2 + i32::from(date.day() > 15)) as u16
            })
            .collect();
        let class_hours = farm.classes.iter().map(|class| Days::new(&class.hours, days)).collect();
        let person_hours: Vec<Days> =
            farm.people.iter().map(|person| Days::new(&person.hours, days)).collect();
        let (opens, open_ends) = hours::opens(&person_hours, &hours.all, days);
        Self {
            days,
            rows,
            lots,
            jobs,
            shared,
            hours: hours.all,
            pairs,
            class_hours,
            duties: Duties::new(&farm, &person_hours, days),
            longest_overtime_s: farm.people.iter().map(|person| person.overtime_s).max().unwrap_or(0),
            person_hours,
            later_classes,
            opens,
            open_ends,
            used,
            by_from,
            by_latest,
            half_months: half_month.last().map_or(0, |last| *last as usize + 1),
            half_month,
            people_order,
            asked: Self::asked(&farm),
            done_before: Self::done_before(&farm),
            has_ways: !farm.plenty
                && farm.fields.iter().any(|field| field.distance_km > 0.0)
                && farm.outfits.iter().any(|outfit| outfit.road_speed_km_h.is_finite()),
            farm,
        }
    }

    /// The farm.
    #[must_use]
    pub fn farm(&self) -> &Farm {
        &self.farm
    }

    /// How many half-months the season touches; the first is that of the season's first day's month.
    #[must_use]
    pub fn half_months(&self) -> usize {
        self.half_months
    }

    /// The half-month of a day of the season.
    #[must_use]
    pub fn half_month_of(&self, day: usize) -> usize {
        self.half_month[day] as usize
    }

    /// Open seconds of a row's work on a day: its class's hours within those of its people.
    #[must_use]
    pub fn open_seconds(&self, row: usize, day: usize) -> i64 {
        self.hours[self.rows[row].hours].on_day[day]
    }

    /// The day on which the season is taken up: 0, unless it has begun.
    #[must_use]
    pub fn first_day(&self) -> usize {
        self.farm.begun.as_ref().map_or(0, |begun| begun.day as usize)
    }

    /// Whether any window moves with a stage.
    #[inline]
    pub(super) fn moves(&self) -> bool {
        !self.farm.stages.is_empty()
    }

    /// Seconds of a lot's work to be expected on a day if it is suitable: all that are open, unless such a day may be
    /// short.
    #[must_use]
    pub fn suitable_seconds(&self, lot: usize, day: usize) -> f64 {
        let of = &self.lots[lot];
        let part = self.pairs[of.pair].if_suitable.get(day);
        part.copied().unwrap_or(self.hours[of.hours].on_day[day] as f64)
    }

    /// A job in words: operation, crop, field.
    #[must_use]
    pub fn job_label(&self, job: usize) -> String {
        let of = &self.farm.jobs[job];
        let row = &self.farm.rows[of.row];
        format!("{} of {} on {}", row.operation, self.farm.crops[row.crop], self.farm.fields[of.field].name)
    }

    /// The instants of a day at which some hours begin, seconds of the day, ascending.
    #[inline]
    pub(super) fn opens_on(&self, day: usize) -> &[i64] {
        &self.opens[self.open_ends[day] as usize..self.open_ends[day + 1] as usize]
    }

    /// The open stretch of a row's class that holds a second of a day.
    #[inline]
    pub(super) fn stretch_at(&self, row: usize, day: usize, second: i64) -> Option<Stretch> {
        let hours = self.class_hours[self.rows[row].class].on(day);
        hours.iter().find(|open| open.start <= second && second < open.end).copied()
    }
}

/// The days in which any window lies; all to the season's end where one follows other work.
fn used_days(farm: &Farm, days: usize) -> std::ops::Range<usize> {
    // Days by which a window can move.
    let reach = |job: &Job| if farm.rows[job.row].stage.is_some() { FURTHEST_DAYS as usize } else { 0 };
    let windows = || farm.jobs.iter().map(|job| (job.window, reach(job)));
    let first = windows().filter_map(|(window, reach)| match window {
        Window::Fixed { from, .. } => Some((from as usize).saturating_sub(reach)),
        Window::After { .. } => None,
    });
    let past = windows().map(|(window, reach)| match window {
        Window::Fixed { latest, .. } => latest as usize + 1 + reach,
        Window::After { .. } => days,
    });
    // What was done before a window, or after it, counts too.
    let done = || farm.begun.iter().flat_map(|begun| begun.done.iter().map(|done| done.day as usize + 1));
    let today = farm.begun.iter().map(|begun| begun.day as usize);
    let first = first.chain(done()).chain(today.clone()).min().unwrap_or(0);
    first..past.chain(done()).chain(today.map(|day| day + 1)).max().unwrap_or(days).min(days)
}

/// A day and a job.
pub(super) type DayJob = (u32, u32);

/// Jobs by the first and by the last day of their windows; dormant ones are woken otherwise.
fn by_window(farm: &Farm) -> (Vec<DayJob>, Vec<DayJob>) {
    let mut from = Vec::new();
    let mut latest = Vec::new();
    for (index, job) in farm.jobs.iter().enumerate() {
        if let Window::Fixed { from: first, latest: last, .. } = job.window {
            from.push((first, index as u32));
            latest.push((last + 1, index as u32));
        }
    }
    from.sort_unstable();
    latest.sort_unstable();
    (from, latest)
}
