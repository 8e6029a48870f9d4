//! The season from day to day: windows that open and end, what a row and its jobs come to.

use sim_core::weather::Sky;

use super::{Account, ByHand, Change, CropFarm, NO_LOT, NONE};
use crate::plain::{DAY, Found, OPERATIONS};

impl ByHand<'_> {
    /// Works a season whose operation `k` on soil `s` follows key `k * soils + s` of the sky.
    pub fn work(&mut self, sky: &Sky) {
        self.reset();
        let soils = self.farm.soils;
        let first = self.changes[0].0;
        let last = self.changes[self.changes.len() - 1].0;
        let see = |operation: usize, day: usize| {
            (0..soils)
                .fold(0, |mask, soil| mask | u32::from(sky.suitable(operation * soils + soil, day)) << soil)
        };
        // Up to the last due day, whose suitable days are counted in any case; later days only if they are needed.
        for (operation, (suits, (from, due))) in self.suits.iter_mut().zip(&self.judged).enumerate() {
            for (suits, day) in suits[*from..=*due].iter_mut().zip(*from..) {
                *suits = see(operation, day);
            }
        }
        let mut next = 0;
        for day in first..=last {
            while let Some(&(at, change, row)) = self.changes.get(next)
                && at == day
            {
                next += 1;
                match change {
                    Change::Opens => self.open_row(row),
                    Change::WasDue => self.was_due(row, day),
                    Change::Ends => self.give_up(row, day),
                }
            }
            for operation in (0..OPERATIONS).filter(|operation| day > self.judged[*operation].1) {
                self.suits[operation][day] = if self.open[operation] > 0 { see(operation, day) } else { 0 };
            }
            for operation in 0..OPERATIONS {
                // What the operation before has done today is released to this one.
                std::mem::swap(&mut self.released, &mut self.releases);
                self.released.clear();
                let suits = self.suits[operation][day];
                if self.releases.is_empty() && (suits == 0 || self.open[operation] == 0) {
                    continue;
                }
                self.work_day(operation, day, suits);
                if self.open[operation] > 0 {
                    let suited = &mut self.suited[operation * soils..][..soils];
                    for (soil, suited) in suited.iter_mut().enumerate() {
                        *suited += i64::from(suits >> soil & 1);
                    }
                }
            }
            self.released.clear();
        }
    }

    fn reset(&mut self) {
        self.rows.copy_from_slice(&self.fresh_rows);
        self.lots.fill(NO_LOT);
        let words = self.all.len();
        for left in self.left.chunks_exact_mut(words) {
            left.copy_from_slice(&self.all);
        }
        self.ready.fill(0);
        self.ready[..words].copy_from_slice(&self.all);
        self.suited.fill(0);
        self.open = [0; OPERATIONS];
        self.found.fill(Found { finish: Some(0), ..Found::default() });
        for use_s in &mut self.use_s {
            use_s.fill(0);
        }
    }

    /// Where the marks of an operation on a crop's soil are.
    pub(super) fn words(&self, operation: usize, lot: usize) -> std::ops::Range<usize> {
        let start = operation * self.all.len();
        start + self.first_word[lot] as usize..start + self.first_word[lot + 1] as usize
    }

    /// The first job of a lot that is ready: one begun, else the field that comes first.
    pub(super) fn first_ready(&self, operation: usize, lot: usize) -> Option<u32> {
        let begun = self.lots[operation * self.farm.crops * self.farm.soils + lot].begun;
        if begun != NONE {
            return Some(begun);
        }
        let marks = &self.ready[self.words(operation, lot)];
        let word = marks.iter().position(|word| *word != 0)?;
        Some(self.first[lot] + word as u32 * 64 + marks[word].trailing_zeros())
    }

    fn open_row(&mut self, row: usize) {
        let CropFarm { crops, soils, .. } = *self.farm;
        let (operation, crop) = (row / crops, row % crops);
        self.open[operation] += u32::from(self.soils_of[crop] != 0);
        self.rows[row].left = self.soils_of[crop];
        for soil in 0..soils {
            let lot = crop * soils + soil;
            self.lots[operation * crops * soils + lot].suited_before = self.suited[operation * soils + soil];
            let any = self.ready[self.words(operation, lot)].iter().any(|word| *word != 0);
            self.rows[row].ready |= u32::from(any) << soil;
        }
    }

    /// The row's due day is over.
    fn was_due(&mut self, row: usize, day: usize) {
        let CropFarm { crops, .. } = *self.farm;
        let (operation, crop) = (row / crops, row % crops);
        let (from, due) = self.farm.window[crop][operation];
        let soils = self.soils_of[crop];
        let suits = &self.suits[operation][from..=due];
        self.found[row].suitable_days = suits.iter().map(|suits| u32::from(suits & soils == soils)).sum();
        if self.rows[row].left == 0 {
            return;
        }
        let mut undone_ha = 0.0;
        self.each_left(operation, crop, |this, lot, place| {
            undone_ha += this.area_ha[place] * this.share_left(operation, lot, place);
        });
        self.found[row].area_late_ha = undone_ha;
        self.rows[row].undone_ha = undone_ha;
        self.rows[row].undone_since = day as i64 * DAY;
    }

    /// The share of a job not done that is left.
    fn share_left(&self, operation: usize, lot: usize, place: usize) -> f64 {
        let of = &self.lots[operation * self.farm.crops * self.farm.soils + lot];
        if of.begun == place as u32 { of.left_s as f64 / self.work_s[operation][place] as f64 } else { 1.0 }
    }

    /// Goes through the jobs of a row that are not done.
    fn each_left(&mut self, operation: usize, crop: usize, mut tell: impl FnMut(&mut Self, usize, usize)) {
        let soils = self.farm.soils;
        for lot in crop * soils..(crop + 1) * soils {
            for (word, at) in self.words(operation, lot).enumerate() {
                let mut marks = self.left[at];
                while marks != 0 {
                    let place = self.first[lot] as usize + word * 64 + marks.trailing_zeros() as usize;
                    marks &= marks - 1;
                    tell(self, lot, place);
                }
            }
        }
    }

    /// The row's last day is over.
    fn give_up(&mut self, row: usize, day: usize) {
        if self.rows[row].left == 0 {
            return;
        }
        let CropFarm { crops, soils, .. } = *self.farm;
        let (operation, crop) = (row / crops, row % crops);
        let (from, due) = self.farm.window[crop][operation];
        let midnight = day as i64 * DAY;
        let hours_s = self.farm.hours[operation].1 - self.farm.hours[operation].0;
        let fields = self.field.len();
        let open_s = (day - from) as i64 * hours_s;
        let total_s = (day - from) as i64 * DAY;
        self.each_left(operation, crop, |this, lot, place| {
            let of = &this.lots[operation * crops * soils + lot];
            let suited_s = (this.suited[operation * soils + lot % soils] - of.suited_before) * hours_s;
            let work_s = if of.begun == place as u32 { this.work_s[operation][place] - of.left_s } else { 0 };
            let blocked = operation > 0 && !this.accounts[(operation - 1) * fields + place].done;
            let account = &mut this.accounts[operation * fields + place];
            if blocked {
                account.waits_s[2] = suited_s;
            }
            account.close(from as i64 * DAY, midnight, work_s, open_s, suited_s);
            account.done = false;
            this.found[row].area_unfinished_ha +=
                this.area_ha[place] * this.share_left(operation, lot, place);
        });
        let state = self.rows[row];
        let found = &mut self.found[row];
        found.finish = None;
        found.days_late = (day - 1 - due) as u32;
        found.ha_days_late += state.undone_ha * (midnight - state.undone_since) as f64;
        self.close_row(row, total_s, open_s);
    }

    /// A row has ended `total_s` seconds, `open_s` of them open, after its window opened.
    pub(super) fn close_row(&mut self, row: usize, total_s: i64, open_s: i64) {
        let state = &mut self.rows[row];
        state.left = 0;
        state.ready = 0;
        let found = &mut self.found[row];
        found.ha_days_late /= DAY as f64;
        found.waits_s = [
            total_s - open_s,
            open_s - state.span_s,
            state.span_s - state.worked_s - state.people_s,
            state.people_s,
        ];
        self.open[row / self.farm.crops] -= 1;
    }
}

impl Account {
    /// A job has ended at `finish`, `open_s` open seconds and `suited_s` suitable ones after its window opened; what
    /// it has waited for the operation before is booked.
    pub(super) fn close(&mut self, ready: i64, finish: i64, work_s: i64, open_s: i64, suited_s: i64) {
        self.ready = ready;
        self.finish = finish;
        self.work_s = work_s;
        let blocked_s = self.waits_s[2];
        self.waits_s = [finish - ready - open_s, open_s - suited_s, blocked_s, suited_s - blocked_s - work_s];
    }
}
