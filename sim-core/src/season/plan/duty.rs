//! Who is on duty when.

use super::hours::Days;
use super::{DAY, Plan};
use crate::farm::{Farm, Person};

/// Who is on duty, and while that holds: seconds of a day from `from` until before `until`.
#[derive(Debug, Clone, Copy, Default)]
pub(in super::super) struct Duty {
    pub(in super::super) from: i64,
    pub(in super::super) until: i64,
    pub(in super::super) people: u64,
}

/// The duties of every day without overtime, in order.
#[derive(Debug, Clone)]
pub(super) struct Duties {
    all: Vec<Duty>,
    /// The first of each day.
    first: Vec<u32>,
}

impl Duties {
    pub(super) fn new(farm: &Farm, hours: &[Days], days: usize) -> Self {
        let mut duties = Self { all: Vec::new(), first: Vec::new() };
        for day in 0..days {
            duties.first.push(duties.all.len() as u32);
            let mut second = 0;
            while second <= DAY {
                let duty = duty_at(farm, hours, day, second, 0);
                duties.all.push(duty);
                second = duty.until;
            }
        }
        duties
    }
}

impl Plan {
    /// Who is on duty at a second of a day on which so much overtime is allowed.
    pub(in super::super) fn duty_at(&self, day: usize, second: i64, overtime_s: i64) -> Duty {
        if overtime_s > 0 {
            return duty_at(&self.farm, &self.person_hours, day, second, overtime_s);
        }
        // The last of a day lasts beyond its end.
        let mut at = self.duties.first[day] as usize;
        while self.duties.all[at].until <= second {
            at += 1;
        }
        self.duties.all[at]
    }

    /// When a person who is on duty at a second of a day goes off it.
    pub(in super::super) fn off_duty_at(
        &self,
        person: usize,
        day: usize,
        second: i64,
        overtime_s: i64,
    ) -> Option<i64> {
        match shift_at(&self.farm.people[person], &self.person_hours[person], day, second, overtime_s) {
            Shift::Ends(end) => Some(end),
            Shift::Begins(_) => None,
        }
    }
}

/// A person's shift: the one at hand, or the next.
enum Shift {
    Ends(i64),
    Begins(i64),
}

fn shift_at(person: &Person, hours: &Days, day: usize, second: i64, overtime_s: i64) -> Shift {
    if day >= person.from_day as usize {
        let hours = hours.on(day);
        for (index, open) in hours.iter().enumerate() {
            if second < open.start {
                return Shift::Begins(open.start);
            }
            let last = hours.get(index + 1).is_none_or(|next| next.start == next.end);
            let end = (open.end + if last { overtime_s.min(person.overtime_s) } else { 0 }).min(DAY);
            if second < end {
                return Shift::Ends(end);
            }
        }
    }
    Shift::Begins(DAY + 1)
}

fn duty_at(farm: &Farm, hours: &[Days], day: usize, second: i64, overtime_s: i64) -> Duty {
    let mut duty = Duty { from: second, until: DAY + 1, people: 0 };
    for (index, (person, hours)) in farm.people.iter().zip(hours).enumerate() {
        let until = match shift_at(person, hours, day, second, overtime_s) {
            Shift::Ends(end) => {
                duty.people |= 1 << index;
                end
            }
            Shift::Begins(start) => start,
        };
        duty.until = duty.until.min(until);
    }
    duty
}
