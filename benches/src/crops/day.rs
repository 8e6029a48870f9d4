//! An operation's day: what comes first, what is released meanwhile, what is worked.

use super::{ByHand, CropFarm, FRESH, Listed, NONE, Release, Today};
use crate::plain::{DAY, NEVER};

/// A kind of day is clearly more common than another if it comes this many times as often.
const CLEARLY: f64 = 1.5;

impl ByHand<'_> {
    /// An operation's day: what the operation before finishes in it comes from `releases`.
    pub(super) fn work_day(&mut self, operation: usize, day: usize, suits: u32) {
        let crops = self.farm.crops;
        let midnight = day as i64 * DAY;
        let hours = self.farm.hours[operation];
        let (begin, end) = (midnight + hours.0, midnight + hours.1);
        let p_later = self.scarcest_ready(operation + 1, day);
        let today = Today { operation, day, suits, begin, end, p_later };
        let rows = operation * crops;
        self.list.clear();
        for crop in 0..crops {
            let row = &mut self.rows[rows + crop];
            if row.left & suits == 0 {
                continue;
            }
            row.span_s += end - begin;
            let mut ready = row.ready & suits;
            if ready != 0 {
                row.waits_since = begin;
            }
            while ready != 0 {
                self.put_on_list(&today, crop, ready.trailing_zeros() as usize);
                ready &= ready - 1;
            }
        }
        let (mut now, mut next, mut worked_s) = (begin, 0, 0);
        while now < end {
            while next < self.releases.len() && self.releases[next].at <= now {
                self.release(&today, next);
                next += 1;
            }
            let of_operation = &self.rows[rows..][..crops];
            let ready = |of: &&Listed| of_operation[of.crop as usize].ready >> of.soil & 1 == 1;
            let Some(of) = self.list.iter().find(ready).copied() else {
                let Some(release) = self.releases.get(next) else { break };
                now = release.at;
                continue;
            };
            let Some(place) = self.first_ready(operation, of.lot as usize) else { break };
            let began = now;
            let left_s = self.take_up(&today, of, place, now);
            now += left_s.min(end - now);
            while let Some(release) = self.releases.get(next)
                && (release.at, release.began) <= (now, began)
            {
                self.release(&today, next);
                next += 1;
            }
            worked_s += now - began;
            self.put_down(&today, of, place, left_s, began, now);
        }
        for next in next..self.releases.len() {
            self.release(&today, next);
        }
        for row in &mut self.rows[rows..][..crops] {
            if row.waits_since < end {
                row.people_s += end - row.waits_since;
            }
            row.waits_since = NEVER;
        }
        self.use_s[operation][self.farm.half_month[day]] += worked_s;
    }

    /// Chance of a suitable day today of an operation's scarcest work that is ready and that today suits; 1 if there
    /// is none.
    fn scarcest_ready(&self, operation: usize, day: usize) -> f64 {
        let CropFarm { crops, soils, .. } = *self.farm;
        let Some(suits) = self.suits.get(operation) else { return 1.0 };
        let ready = self.rows[operation * crops..][..crops].iter().fold(0, |mask, row| mask | row.ready);
        let mut ready = ready & suits[day];
        let mut least: f64 = 1.0;
        while ready != 0 {
            least = least.min(self.farm.p[operation * soils + ready.trailing_zeros() as usize][day]);
            ready &= ready - 1;
        }
        least
    }

    /// Puts a lot with ready jobs on today's list: first that of which the middle hectare has the fewest days in hand,
    /// after all others what gives way to later work.
    fn put_on_list(&mut self, today: &Today, crop: usize, soil: usize) {
        let CropFarm { crops, soils, .. } = *self.farm;
        let lot = crop * soils + soil;
        let Today { operation, day, .. } = *today;
        let Some(place) = self.first_ready(operation, lot) else { return };
        let state = &mut self.lots[operation * crops * soils + lot];
        state.listed = day as u32;
        let tie = self.field[place as usize] | if state.begun == NONE { FRESH } else { 0 };
        let key = operation * soils + soil;
        let (expected, p) = (&self.expected[key], self.farm.p[key][day]);
        let due = self.farm.window[crop][operation].1;
        let hope_s = if due >= day { expected[due + 1] - expected[day] } else { 0.0 };
        let (needed_s, open_s) =
            (self.rows[operation * crops + crop].needed_s as f64, (today.end - today.begin) as f64);
        let (days_in_hand, days_needed) = ((hope_s - needed_s) / open_s, needed_s / open_s);
        let last = if today.p_later * CLEARLY <= p { 1e6 } else { 0.0 };
        let rank = last + days_in_hand + days_needed / 2.0;
        let listed = Listed { rank, tie, lot: lot as u32, crop: crop as u16, soil: soil as u16 };
        let mut at = self.list.len();
        self.list.push(listed);
        while at > 0 && listed.comes_before(&self.list[at - 1]) {
            self.list.swap(at, at - 1);
            at -= 1;
        }
    }

    /// A field is released by the operation before.
    fn release(&mut self, today: &Today, next: usize) {
        let CropFarm { crops, soils, .. } = *self.farm;
        let Release { at, place, .. } = self.releases[next];
        let operation = today.operation;
        let of = &self.farm.fields[self.field[place as usize] as usize];
        let (crop, soil) = (of.crop, of.soil);
        let lot = crop * soils + soil;
        let in_lot = (place - self.first[lot]) as usize;
        let word = self.words(operation, lot).start + in_lot / 64;
        self.ready[word] |= 1 << (in_lot % 64);
        let row = &mut self.rows[operation * crops + crop];
        let blocked_s = &mut self.accounts[operation * self.field.len() + place as usize].waits_s[2];
        *blocked_s = 0;
        if row.left == 0 {
            return;
        }
        row.ready |= 1 << soil;
        let state = &self.lots[operation * crops * soils + lot];
        *blocked_s =
            (self.suited[operation * soils + soil] - state.suited_before) * (today.end - today.begin);
        if today.suits >> soil & 1 == 0 {
            return;
        }
        *blocked_s += (at - today.begin).clamp(0, today.end - today.begin);
        row.waits_since = row.waits_since.min(at.max(today.begin));
        if state.listed != today.day as u32 && at < today.end {
            self.put_on_list(today, crop, soil);
        }
    }

    /// A job is taken up; gives its seconds left.
    fn take_up(&mut self, today: &Today, of: Listed, place: u32, now: i64) -> i64 {
        let CropFarm { crops, soils, .. } = *self.farm;
        let (crop, soil, lot) = (of.crop as usize, of.soil, of.lot as usize);
        let operation = today.operation;
        let row = &mut self.rows[operation * crops + crop];
        row.people_s += now - row.waits_since;
        let state = &mut self.lots[operation * crops * soils + lot];
        let left_s = if state.begun == NONE {
            let in_lot = (place - self.first[lot]) as usize;
            let words = self.words(operation, lot);
            self.ready[words.start + in_lot / 64] &= !(1 << (in_lot % 64));
            self.work_s[operation][place as usize]
        } else {
            state.begun = NONE;
            state.left_s
        };
        let words = self.words(operation, lot);
        let none = self.ready[words].iter().all(|word| *word == 0);
        let row = &mut self.rows[operation * crops + crop];
        row.ready &= !(u32::from(none) << soil);
        // Its own row does not wait; what becomes ready meanwhile waits from its end.
        row.waits_since = i64::MIN;
        left_s
    }

    /// A job is done, or its hours end.
    fn put_down(&mut self, today: &Today, of: Listed, place: u32, left_s: i64, began: i64, now: i64) {
        let CropFarm { crops, soils, .. } = *self.farm;
        let operation = today.operation;
        let (crop, soil, lot) = (of.crop as usize, of.soil as usize, of.lot as usize);
        let at = place as usize;
        let worked_s = now - began;
        let of = operation * crops + crop;
        let row = &mut self.rows[of];
        row.needed_s -= worked_s;
        row.worked_s += worked_s;
        if row.undone_since != NEVER {
            let done_ha = self.area_ha[at] * worked_s as f64 / self.work_s[operation][at] as f64;
            let flat = row.undone_ha * (now - row.undone_since) as f64;
            self.found[of].ha_days_late += flat - done_ha / 2.0 * worked_s as f64;
            row.undone_ha -= done_ha;
            row.undone_since = now;
        }
        let state = &mut self.lots[operation * crops * soils + lot];
        if worked_s < left_s {
            state.begun = place;
            state.left_s = left_s - worked_s;
            row.ready |= 1 << soil;
            row.waits_since = now;
            return;
        }
        row.waits_since = if row.ready & today.suits == 0 { NEVER } else { now };
        self.released.push(Release { at: now, began, place });
        let (from, due) = self.farm.window[crop][operation];
        let hours_s = today.end - today.begin;
        let open_s = (today.day - from) as i64 * hours_s + (now - today.begin);
        let suited_s =
            (self.suited[operation * soils + soil] - state.suited_before) * hours_s + (now - today.begin);
        let account = &mut self.accounts[operation * self.field.len() + at];
        account.close(from as i64 * DAY, now, self.work_s[operation][at], open_s, suited_s);
        account.done = true;
        let in_lot = at - self.first[lot] as usize;
        let words = self.words(operation, lot);
        self.left[words.start + in_lot / 64] &= !(1 << (in_lot % 64));
        if self.left[words].iter().any(|word| *word != 0) {
            return;
        }
        let row = &mut self.rows[of];
        row.left &= !(1 << soil);
        if row.left & today.suits == 0 {
            row.span_s -= today.end - now;
        }
        if row.left == 0 {
            self.found[of].finish = Some(now);
            self.found[of].days_late = today.day.saturating_sub(due) as u32;
            self.close_row(of, now - from as i64 * DAY, open_s);
        }
    }
}
