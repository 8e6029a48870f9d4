//! What a season needs to know of a farm and its weather before the first day: hours and expected hours
//! as running sums, the instants at which hours open, jobs in the order of their windows.

use crate::farm::{Farm, Window};
use crate::weather::{DailyHours, Stretch};

/// Ticks in a day: a farm's tick is one second.
pub const DAY: i64 = 86_400;

/// A farm made ready to be worked through seasons. One plan serves any number of them, on any thread.
#[derive(Debug, Clone)]
pub struct Plan {
    /// The farm.
    pub(super) farm: Farm,
    pub(super) days: usize,
    /// Open hours of a class for a set of people.
    pub(super) hours: Vec<OpenHours>,
    /// The hours of each class, and of each person.
    pub(super) class_hours: Vec<Days>,
    pub(super) person_hours: Vec<Days>,
    /// Index into `hours` of each row.
    pub(super) row_hours: Vec<usize>,
    /// For each class, a mask of the classes whose work comes directly after it on some field.
    pub(super) later_classes: Vec<u64>,
    /// Lots of each row.
    pub(super) row_lots: Vec<Vec<usize>>,
    /// Jobs of each lot, the nearest first, and where a job stands among them.
    pub(super) lot_jobs: Vec<Vec<u32>>,
    pub(super) place_in_lot: Vec<u32>,
    /// Where the marks of each lot's jobs begin, in words of 64.
    pub(super) lot_words: Vec<usize>,
    /// Index into `pairs` of each lot.
    pub(super) lot_pair: Vec<usize>,
    /// Open hours under a weather key.
    pub(super) pairs: Vec<Pair>,
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
    /// People in the order in which they are asked: those who may drive least come first.
    pub(super) people_order: Vec<u8>,
    /// Whether a job follows another in its field, and whether one follows it.
    pub(super) follows: Vec<bool>,
    pub(super) is_followed: Vec<bool>,
    /// Links that each job has to wait for at first.
    pub(super) links_in: Vec<u16>,
}

/// The stretches of every day, a fixed number of them so that a look-up needs no second one; those that a day
/// does not have are empty and lie at its end.
#[derive(Debug, Clone)]
pub(super) struct Days(Vec<[Stretch; DailyHours::MAX_STRETCHES]>);

impl Days {
    fn new(hours: &DailyHours, days: usize) -> Self {
        let none = Stretch { start: DAY, end: DAY };
        let of = |day: usize| {
            let mut all = [none; DailyHours::MAX_STRETCHES];
            for (place, open) in all.iter_mut().zip(hours.on(day as u32)) {
                *place = *open;
            }
            all
        };
        Self((0..days).map(of).collect())
    }

    /// The stretches of a day.
    #[inline]
    pub(super) fn on(&self, day: usize) -> &[Stretch; DailyHours::MAX_STRETCHES] {
        &self.0[day]
    }
}

/// Open hours, with their running sum.
#[derive(Debug, Clone)]
pub(super) struct OpenHours {
    pub(super) daily: Days,
    /// Open seconds before each day; one entry more than days.
    pub(super) before: Vec<i64>,
}

impl OpenHours {
    fn new(daily: &DailyHours, days: usize) -> Self {
        let mut before = Vec::with_capacity(days + 1);
        let mut sum = 0;
        before.push(0);
        for day in 0..days {
            sum += daily.seconds_on(day as u32);
            before.push(sum);
        }
        Self { daily: Days::new(daily, days), before }
    }

    /// Whether a stretch of `day` begins at `second`.
    pub(super) fn begin_at(&self, day: usize, second: i64) -> bool {
        self.daily.on(day).iter().any(|open| open.start == second && open.start < open.end)
    }

    /// Open seconds of `day` before `second`.
    #[inline]
    pub(super) fn part(&self, day: usize, second: i64) -> i64 {
        self.daily.on(day).iter().map(|open| (second.min(open.end) - open.start).max(0)).sum()
    }
}

/// Open hours under a weather key, with what may be expected of them.
#[derive(Debug, Clone)]
pub(super) struct Pair {
    pub(super) hours: usize,
    pub(super) key: usize,
    /// Expected suitable open seconds before each day; one entry more than days.
    pub(super) expected: Vec<f64>,
}

impl Plan {
    /// Makes a farm ready.
    #[must_use]
    pub fn new(farm: Farm) -> Self {
        let days = farm.span.days() as usize;
        let mut hours: Vec<OpenHours> = Vec::new();
        let mut known: Vec<(usize, u64)> = Vec::new();
        let row_hours: Vec<usize> = farm
            .rows
            .iter()
            .map(|row| {
                let anyone = row.outfits.iter().fold(0, |mask, outfit| mask | farm.outfits[*outfit].anyone);
                known.iter().position(|have| *have == (row.class, anyone)).unwrap_or_else(|| {
                    known.push((row.class, anyone));
                    hours.push(OpenHours::new(&open_hours(&farm, row.class, anyone), days));
                    known.len() - 1
                })
            })
            .collect();
        let mut pairs: Vec<Pair> = Vec::new();
        let lot_pair = farm
            .lots
            .iter()
            .map(|lot| {
                let of = row_hours[lot.row];
                let have = pairs.iter().position(|pair| pair.hours == of && pair.key == lot.key);
                have.unwrap_or_else(|| {
                    let p = &farm.weather.keys[lot.key].p;
                    pairs.push(Pair { hours: of, key: lot.key, expected: expected(&hours[of], p, days) });
                    pairs.len() - 1
                })
            })
            .collect();
        let class_of = |job: usize| farm.rows[farm.jobs[job].row].class;
        let mut later_classes = vec![0u64; farm.classes.len()];
        for link in farm.links.iter().filter(|link| link.required) {
            later_classes[class_of(link.before)] |= 1 << (class_of(link.after) & 63);
        }
        let lots = farm.lots.iter().enumerate();
        let row_lots = (0..farm.rows.len())
            .map(|row| lots.clone().filter(|(_, lot)| lot.row == row).map(|(index, _)| index).collect())
            .collect();
        let (lot_jobs, place_in_lot) = jobs_by_lot(&farm);
        let mut lot_words = vec![0];
        for jobs in &lot_jobs {
            lot_words.push(lot_words[lot_words.len() - 1] + jobs.len().div_ceil(64));
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
        let half_month = (0..days as u32)
            .map(|day| {
                let date = farm.span.date(day);
                let months =
                    i32::from(date.year() - first.year()) * 12 + i32::from(date.month() - first.month());
                (months * 2 + i32::from(date.day() > 15)) as u16
            })
            .collect();
        let has_follower = |links: &[usize]| links.iter().any(|link| farm.links[*link].follow_ha.is_some());
        let follows = farm.jobs.iter().map(|job| has_follower(&job.links_in)).collect();
        let is_followed = farm.jobs.iter().map(|job| has_follower(&job.links_out)).collect();
        let class_hours = farm.classes.iter().map(|class| Days::new(&class.hours, days)).collect();
        let person_hours: Vec<Days> =
            farm.people.iter().map(|person| Days::new(&person.hours, days)).collect();
        let (opens, open_ends) = opens(&person_hours, &hours, days);
        let links_in = farm.jobs.iter().map(|job| job.links_in.len() as u16).collect();
        Self {
            days,
            hours,
            class_hours,
            person_hours,
            row_hours,
            later_classes,
            row_lots,
            lot_jobs,
            place_in_lot,
            lot_words,
            lot_pair,
            pairs,
            opens,
            open_ends,
            used,
            by_from,
            by_latest,
            half_month,
            people_order,
            follows,
            is_followed,
            links_in,
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
        self.half_month.last().map_or(0, |last| *last as usize + 1)
    }

    /// The half-month of a day of the season.
    #[must_use]
    pub fn half_month_of(&self, day: usize) -> usize {
        self.half_month[day] as usize
    }

    /// Open seconds of a row's work on a day: its class's hours within those of its people.
    #[must_use]
    pub fn open_seconds(&self, row: usize, day: usize) -> i64 {
        let before = &self.hours[self.row_hours[row]].before;
        before[day + 1] - before[day]
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
        let hours = self.class_hours[self.farm.rows[row].class].on(day);
        hours.iter().find(|open| open.start <= second && second < open.end).copied()
    }
}

/// A class's hours within those of the people who could do it; contractors count where there is nobody else.
fn open_hours(farm: &Farm, class: usize, anyone: u64) -> DailyHours {
    let of = |contractor: bool| -> Vec<&DailyHours> {
        let people = farm.people.iter().enumerate();
        people
            .filter(|(index, person)| anyone >> index & 1 == 1 && person.contractor == contractor)
            .map(|(_, person)| &person.hours)
            .collect()
    };
    let own = of(false);
    let hull = DailyHours::hull(if own.is_empty() { of(true) } else { own }.as_slice());
    let class = &farm.classes[class].hours;
    hull.map_or_else(|| class.clone(), |hull| class.and(&hull))
}

fn expected(hours: &OpenHours, p: &[f64], days: usize) -> Vec<f64> {
    let mut sum = 0.0;
    let mut before = Vec::with_capacity(days + 1);
    before.push(0.0);
    for (day, p) in p.iter().enumerate().take(days) {
        sum += p * (hours.before[day + 1] - hours.before[day]) as f64;
        before.push(sum);
    }
    before
}

fn opens(people: &[Days], hours: &[OpenHours], days: usize) -> (Vec<i64>, Vec<u32>) {
    let mut all = Vec::new();
    let mut ends = vec![0];
    let mut today: Vec<i64> = Vec::new();
    for day in 0..days {
        today.clear();
        for daily in people.iter().chain(hours.iter().map(|open| &open.daily)) {
            today.extend(daily.on(day).iter().filter(|open| open.start < open.end).map(|open| open.start));
        }
        today.sort_unstable();
        today.dedup();
        all.extend_from_slice(&today);
        ends.push(all.len() as u32);
    }
    (all, ends)
}

/// The days in which any window lies; all to the season's end where one follows other work.
fn used_days(farm: &Farm, days: usize) -> std::ops::Range<usize> {
    let windows = || farm.jobs.iter().map(|job| job.window);
    let first = windows().filter_map(|window| match window {
        Window::Fixed { from, .. } => Some(from as usize),
        Window::After { .. } => None,
    });
    let past = windows().map(|window| match window {
        Window::Fixed { latest, .. } => latest as usize + 1,
        Window::After { .. } => days,
    });
    first.min().unwrap_or(0)..past.max().unwrap_or(days).min(days)
}

/// The jobs of each lot, the nearest first, and where each job stands among those of its lot.
fn jobs_by_lot(farm: &Farm) -> (Vec<Vec<u32>>, Vec<u32>) {
    let mut lots: Vec<Vec<u32>> = vec![Vec::new(); farm.lots.len()];
    for (index, job) in farm.jobs.iter().enumerate() {
        lots[job.lot].push(index as u32);
    }
    let mut places = vec![0; farm.jobs.len()];
    for jobs in &mut lots {
        let distance_km = |job: u32| farm.fields[farm.jobs[job as usize].field].distance_km;
        jobs.sort_by(|one, other| distance_km(*one).total_cmp(&distance_km(*other)).then(one.cmp(other)));
        for (place, job) in jobs.iter().enumerate() {
            places[*job as usize] = place as u32;
        }
    }
    (lots, places)
}

/// A day and a job.
type DayJob = (u32, u32);

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
