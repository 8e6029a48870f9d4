//! A plain farm by hand: one machine and one driver to each operation, no way to go, a chain of operations on every
//! field. The loop that a careful person writes for this one farm, to see what the season's generality costs.

use sim_core::weather::Sky;

/// Seconds in a day.
pub(crate) const DAY: i64 = 86_400;
/// Operations.
pub const OPERATIONS: usize = 3;
/// The instant that nothing reaches.
pub const NEVER: i64 = i64::MAX;

/// The farm in numbers.
#[derive(Debug, Clone)]
pub struct PlainFarm {
    /// Seconds of work by field and operation.
    pub work_s: Vec<[i64; OPERATIONS]>,
    /// Area by field in ha.
    pub area_ha: Vec<f64>,
    /// First second and end of each operation's hours.
    pub hours: [(i64, i64); OPERATIONS],
    /// Each operation's first and due day of the season; all are abandoned after `latest`.
    pub window: [(usize, usize); OPERATIONS],
    /// The last day.
    pub latest: usize,
    /// The half-month of each day.
    pub half_month: Vec<usize>,
}

/// What an operation comes to: the figures of a season's row.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Found {
    /// When all was done; `None` = never.
    pub finish: Option<i64>,
    /// Days from due to the day on which it was done, or to the last.
    pub days_late: u32,
    /// Area not done by the end of the due day, in ha.
    pub area_late_ha: f64,
    /// Area never done, in ha.
    pub area_unfinished_ha: f64,
    /// Undone area over the time after the due day, in ha x days.
    pub ha_days_late: f64,
    /// Suitable days from the first day to the due day.
    pub suitable_days: u32,
    /// Seconds in its window without work: outside its hours, on days that do not suit, for the operation before, for
    /// the driver.
    pub waits_s: [i64; 4],
}

/// An operation on its way through the season.
#[derive(Debug, Clone, Copy, Default)]
struct Under {
    /// The field it is at or goes to next, and the seconds left there.
    field: usize,
    left: i64,
    /// After the due day: the area undone, and since when it has been so.
    undone_ha: f64,
    since: i64,
}

/// Works seasons of the farm one after another, in memory that it keeps.
#[derive(Debug)]
pub struct ByHand<'f> {
    farm: &'f PlainFarm,
    /// When each job was done, by operation and field.
    pub finish: [Vec<i64>; OPERATIONS],
    /// The last season's figures.
    pub found: [Found; OPERATIONS],
    /// Seconds in use of each operation's machine, which are its driver's, by half-month.
    pub use_s: [Vec<i64>; OPERATIONS],
}

impl<'f> ByHand<'f> {
    /// A worker.
    #[must_use]
    pub fn new(farm: &'f PlainFarm) -> Self {
        let half_months = farm.half_month.last().map_or(0, |last| last + 1);
        Self {
            farm,
            finish: std::array::from_fn(|_| vec![NEVER; farm.work_s.len()]),
            found: [Found::default(); OPERATIONS],
            use_s: std::array::from_fn(|_| vec![0; half_months]),
        }
    }

    /// Works a season whose operation `k` follows key `k` of the sky.
    pub fn work(&mut self, sky: &Sky) {
        let farm = self.farm;
        let fields = farm.work_s.len();
        let mut under: [Under; OPERATIONS] =
            std::array::from_fn(|operation| Under { left: farm.work_s[0][operation], ..Under::default() });
        for (finish, use_s) in self.finish.iter_mut().zip(&mut self.use_s) {
            finish.fill(NEVER);
            use_s.fill(0);
        }
        self.found = [Found { finish: Some(0), ..Found::default() }; OPERATIONS];
        for day in farm.window[0].0..=farm.latest {
            for (operation, under) in under.iter_mut().enumerate() {
                let (from, due) = farm.window[operation];
                if day < from {
                    continue;
                }
                if under.field < fields {
                    if sky.suitable(operation, day) {
                        self.work_day(operation, day, under);
                    } else {
                        let (begin, end) = farm.hours[operation];
                        let waits = &mut self.found[operation].waits_s;
                        waits[0] += DAY - (end - begin);
                        waits[1] += end - begin;
                    }
                }
                if day == due {
                    under.undone_ha = self.undone_ha(operation, under);
                    under.since = (day as i64 + 1) * DAY;
                    self.found[operation].area_late_ha = under.undone_ha;
                    self.found[operation].suitable_days = sky.count(operation, from, due + 1);
                }
            }
        }
        let end = (farm.latest as i64 + 1) * DAY;
        for (operation, under) in under.iter().enumerate() {
            if under.field < fields {
                let undone_ha = self.undone_ha(operation, under);
                let found = &mut self.found[operation];
                found.finish = None;
                found.days_late = (farm.latest - farm.window[operation].1) as u32;
                found.area_unfinished_ha = undone_ha;
                found.ha_days_late += under.undone_ha * (end - under.since) as f64;
            }
            self.found[operation].ha_days_late /= DAY as f64;
        }
    }

    /// A suitable day of an operation that is not done. Fields become ready in the order in which the operation
    /// before leaves them, which is their own order.
    #[inline]
    fn work_day(&mut self, operation: usize, day: usize, under: &mut Under) {
        let farm = self.farm;
        let due = farm.window[operation].1;
        let midnight = day as i64 * DAY;
        let (begin, end) = (midnight + farm.hours[operation].0, midnight + farm.hours[operation].1);
        let fields = farm.work_s.len();
        let mut now = begin;
        let mut worked = 0;
        while under.field < fields {
            if operation > 0 {
                now = now.max(self.finish[operation - 1][under.field]);
            }
            if now >= end {
                break;
            }
            let work = under.left.min(end - now);
            if day > due {
                let done_ha =
                    farm.area_ha[under.field] * work as f64 / farm.work_s[under.field][operation] as f64;
                let flat = under.undone_ha * (now + work - under.since) as f64;
                self.found[operation].ha_days_late += flat - done_ha / 2.0 * work as f64;
                under.undone_ha -= done_ha;
                under.since = now + work;
            }
            now += work;
            worked += work;
            under.left -= work;
            if under.left > 0 {
                break;
            }
            self.finish[operation][under.field] = now;
            under.field += 1;
            under.left = farm.work_s.get(under.field).map_or(0, |work| work[operation]);
        }
        self.use_s[operation][farm.half_month[day]] += worked;
        let found = &mut self.found[operation];
        if under.field == fields {
            found.finish = Some(now);
            found.days_late = (((now - 1) / DAY) as usize).saturating_sub(due) as u32;
            found.waits_s[0] += begin - midnight;
            found.waits_s[2] += now - begin - worked;
        } else {
            found.waits_s[0] += DAY - (end - begin);
            found.waits_s[2] += end - begin - worked;
        }
    }

    fn undone_ha(&self, operation: usize, under: &Under) -> f64 {
        let farm = self.farm;
        let Some(area_ha) = farm.area_ha.get(under.field) else { return 0.0 };
        let here = area_ha * (under.left as f64 / farm.work_s[under.field][operation] as f64);
        here + farm.area_ha[under.field + 1..].iter().sum::<f64>()
    }
}
