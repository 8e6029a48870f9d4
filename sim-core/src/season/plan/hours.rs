//! Hours as the season looks them up: by day, with running sums.

use super::DAY;
use crate::farm::{Farm, Row};
use crate::weather::{DailyHours, HoursTable, Left, Loses, Stretch, WorkableHours};

/// The stretches of every day, a fixed number of them so that a look-up needs no second one; those that a day
/// does not have are empty and lie at its end.
#[derive(Debug, Clone)]
pub(in super::super) struct Days(Vec<[Stretch; DailyHours::MAX_STRETCHES]>);

impl Days {
    pub(super) fn new(hours: &DailyHours, days: usize) -> Self {
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
    pub(in super::super) fn on(&self, day: usize) -> &[Stretch; DailyHours::MAX_STRETCHES] {
        &self.0[day]
    }
}

/// Open hours, with their running sum.
#[derive(Debug, Clone)]
pub(in super::super) struct OpenHours {
    pub(in super::super) daily: Days,
    /// Open seconds of each day.
    pub(in super::super) on_day: Vec<i64>,
    /// Open seconds before each day; one entry more than days.
    pub(in super::super) before: Vec<i64>,
}

impl OpenHours {
    fn new(daily: &DailyHours, days: usize) -> Self {
        let on_day: Vec<i64> = (0..days as u32).map(|day| daily.seconds_on(day)).collect();
        let sums = on_day.iter().scan(0, |sum, open_s| {
            *sum += open_s;
            Some(*sum)
        });
        let before = std::iter::once(0).chain(sums).collect();
        Self { daily: Days::new(daily, days), on_day, before }
    }

    /// Open seconds of `day` before `second`.
    #[inline]
    pub(in super::super) fn part(&self, day: usize, second: i64) -> i64 {
        let mut part = 0;
        for open in self.daily.on(day) {
            if second <= open.start {
                break;
            }
            part += second.min(open.end) - open.start;
        }
        part
    }
}

/// Open hours under a weather key, with what may be expected of them.
#[derive(Debug, Clone)]
pub(in super::super) struct Pair {
    /// The work class whose clock it is.
    pub(in super::super) class: usize,
    pub(in super::super) hours: usize,
    pub(in super::super) key: usize,
    /// Expected suitable open seconds before each day; one entry more than days.
    pub(in super::super) expected: Vec<f64>,
    /// Open seconds to be expected of each day if it is suitable; none where suitable days are whole.
    pub(in super::super) if_suitable: Vec<f64>,
}

/// The different open hours of a farm's rows.
pub(super) struct Hours {
    pub(super) all: Vec<OpenHours>,
    /// Index into `all` of each row.
    pub(super) of_row: Vec<usize>,
}

impl Hours {
    pub(super) fn new(farm: &Farm, days: usize) -> Self {
        let mut all = Vec::new();
        let mut known: Vec<(usize, u64)> = Vec::new();
        let of = |row: &Row| {
            let anyone = row.outfits.iter().fold(0, |mask, outfit| mask | farm.outfits[*outfit].anyone);
            known.iter().position(|have| *have == (row.class, anyone)).unwrap_or_else(|| {
                known.push((row.class, anyone));
                all.push(OpenHours::new(&open_hours(farm, row.class, anyone), days));
                known.len() - 1
            })
        };
        let of_row = farm.rows.iter().map(of).collect();
        Self { all, of_row }
    }
}

/// The different pairs of open hours and weather key of a farm's lots.
pub(super) fn pairs(farm: &Farm, hours: &Hours, days: usize) -> Vec<Pair> {
    let mut pairs: Vec<Pair> = Vec::new();
    for lot in &farm.lots {
        let (of, key) = (hours.of_row[lot.row], lot.key);
        if !pairs.iter().any(|pair| pair.hours == of && pair.key == key) {
            let class = &farm.classes[farm.rows[lot.row].class];
            let (open, weather) = (&hours.all[of], &farm.weather.keys[key]);
            let clock = Days::new(&class.hours, days);
            let part = |hours| if_suitable(open, &clock, class.short_day_loses, hours, days);
            let if_suitable = weather.hours.as_ref().map(part).unwrap_or_default();
            let expected = expected(open, &if_suitable, &weather.p, days);
            pairs.push(Pair { class: farm.rows[lot.row].class, hours: of, key, expected, if_suitable });
        }
    }
    pairs
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

/// Open seconds to be expected of each day if it is suitable, where such a day may be short.
fn if_suitable(open: &OpenHours, clock: &Days, loses: Loses, hours: &WorkableHours, days: usize) -> Vec<f64> {
    let table = HoursTable::new(hours);
    let on = |day: usize| (table.column(day), clock.on(day), open.daily.on(day));
    let mut all: Vec<f64> = Vec::with_capacity(days);
    for day in 0..days {
        let (column, clock, open) = on(day);
        // Days are mostly as the day before.
        if day > 0 && on(day - 1) == (column, clock, open) {
            all.push(all[day - 1]);
            continue;
        }
        let minutes = table.minutes(column);
        let seconds = minutes
            .iter()
            .map(|minutes| Left::of(clock, *minutes, loses).seconds_within(open, DAY))
            .sum::<i64>();
        all.push(seconds as f64 / minutes.len() as f64);
    }
    all
}

fn expected(hours: &OpenHours, if_suitable: &[f64], p: &[f64], days: usize) -> Vec<f64> {
    let mut sum = 0.0;
    let mut before = Vec::with_capacity(days + 1);
    before.push(0.0);
    for (day, p) in p.iter().enumerate().take(days) {
        sum += p * if_suitable.get(day).copied().unwrap_or(hours.on_day[day] as f64);
        before.push(sum);
    }
    before
}

pub(super) fn opens(people: &[Days], hours: &[OpenHours], days: usize) -> (Vec<i64>, Vec<u32>) {
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
