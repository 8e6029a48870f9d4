//! A plain farm by hand: one machine and one driver to each operation, no way to go, a chain of operations on every
//! field. The loop that a careful person writes for this one farm, to see what the season's generality costs.

use sim_core::weather::Sky;

/// Seconds in a day.
const DAY: i64 = 86_400;
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
}

/// What an operation comes to: the figures of a season's row, without what it waited for.
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
    /// Suitable days from the first day to the due day.
    pub suitable_days: u32,
}

/// Works seasons of the farm one after another, in memory that it keeps.
#[derive(Debug)]
pub struct ByHand<'f> {
    farm: &'f PlainFarm,
    /// When each job was done, by operation and field.
    pub finish: [Vec<i64>; OPERATIONS],
    /// The last season's figures.
    pub found: [Found; OPERATIONS],
}

impl<'f> ByHand<'f> {
    /// A worker.
    #[must_use]
    pub fn new(farm: &'f PlainFarm) -> Self {
        let none = vec![NEVER; farm.work_s.len()];
        Self { farm, finish: [none.clone(), none.clone(), none], found: [Found::default(); OPERATIONS] }
    }

    /// Works a season whose operation `k` follows key `k` of the sky.
    pub fn work(&mut self, sky: &Sky) {
        let farm = self.farm;
        let fields = farm.work_s.len();
        // The field each machine is at or will go to next, and the seconds left there. Fields become ready in the
        // order in which the operation before leaves them, which is their own order.
        let mut at = [0; OPERATIONS];
        let mut left = farm.work_s[0];
        for finish in &mut self.finish {
            finish.fill(NEVER);
        }
        self.found = [Found { finish: Some(0), ..Found::default() }; OPERATIONS];
        for day in farm.window[0].0..=farm.latest {
            let midnight = day as i64 * DAY;
            for operation in 0..OPERATIONS {
                let (from, due) = farm.window[operation];
                if day < from {
                    continue;
                }
                if at[operation] < fields && sky.suitable(operation, day) {
                    let (start, end) =
                        (midnight + farm.hours[operation].0, midnight + farm.hours[operation].1);
                    let mut now = start;
                    while at[operation] < fields {
                        let field = at[operation];
                        if operation > 0 {
                            now = now.max(self.finish[operation - 1][field]);
                        }
                        if now >= end {
                            break;
                        }
                        if left[operation] > end - now {
                            left[operation] -= end - now;
                            break;
                        }
                        now += left[operation];
                        self.finish[operation][field] = now;
                        at[operation] += 1;
                        left[operation] = farm.work_s.get(field + 1).map_or(0, |work| work[operation]);
                    }
                    if at[operation] == fields {
                        let found = &mut self.found[operation];
                        found.finish = Some(now);
                        found.days_late = (((now - 1) / DAY) as usize).saturating_sub(due) as u32;
                    }
                }
                if day == due {
                    self.found[operation].area_late_ha =
                        self.undone_ha(operation, at[operation], left[operation]);
                    self.found[operation].suitable_days = sky.count(operation, from, due + 1);
                }
            }
        }
        for operation in 0..OPERATIONS {
            if at[operation] < fields {
                let undone_ha = self.undone_ha(operation, at[operation], left[operation]);
                let found = &mut self.found[operation];
                found.finish = None;
                found.days_late = (farm.latest - farm.window[operation].1) as u32;
                found.area_unfinished_ha = undone_ha;
            }
        }
    }

    fn undone_ha(&self, operation: usize, at: usize, left: i64) -> f64 {
        let farm = self.farm;
        if at == farm.area_ha.len() {
            return 0.0;
        }
        let here = farm.area_ha[at] * (left as f64 / farm.work_s[at][operation] as f64);
        here + farm.area_ha[at + 1..].iter().sum::<f64>()
    }
}
