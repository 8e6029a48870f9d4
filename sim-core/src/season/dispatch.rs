//! Dispatch: today's ready jobs by rank, each taken up if an outfit can be put together.
//!
//! An outfit is taken whole or not at all. When the hours of a job's class open, it may call machines and
//! people away from jobs of worse rank; at other times it takes what is free.

use super::plan::DAY;
use super::policy::{DayView, JobView, Policy};
use super::run::{Event, Run, SeasonError, phase, resources};
use super::state::{Duty, LotCause, NEVER, Ranked, Stage, YARD};
use super::trace::{Entry, What, Why};
use crate::farm::{Outfit, Unit};
use crate::kernel::{Agenda, Trace};

/// A kind of day is clearly more common than another if it comes this many times as often.
const CLEARLY: f64 = 1.5;

/// Machines and people: free ones, or those of an outfit.
#[derive(Debug, Clone, Copy)]
struct Means {
    machines: u128,
    people: u64,
}

/// What came of looking for an outfit.
#[derive(Debug, Clone, Copy)]
enum Found {
    /// This one can set out.
    Start(Start),
    /// One could, but would come too late to work today.
    TooLate,
    /// None could.
    Short(LotCause),
}

/// An outfit that can set out.
#[derive(Debug, Clone, Copy)]
struct Start {
    choice: usize,
    means: Means,
    travel_s: i64,
    close: i64,
}

impl<'r, P: Policy, T: Trace<Entry>> Run<'r, P, T> {
    /// The morning's list: today's ready jobs by rank, and the overtime.
    pub(super) fn rank_today(&mut self, day: u32) -> Result<(), SeasonError> {
        self.state.queue.clear();
        self.state.crews_listed = 0;
        self.state.hours_listed = 0;
        self.find_scarcest_ready(day);
        let mut least = f64::INFINITY;
        for index in 0..self.state.open_rows.len() {
            let row = self.state.open_rows[index] as usize;
            debug_assert_eq!(self.state.rows[row].needed_s, self.left_in_row(row));
            for &lot in &self.plan.row_lots[row] {
                self.list_lot(lot, day, &mut least)?;
            }
        }
        self.state.queue.sort_unstable_by(Ranked::order);
        let view = DayView { farm: &self.plan.farm, day, least_days_in_hand: least };
        let hours = self.policy.overtime_h(&view).map_err(|error| self.policy_error(error))?;
        self.state.overtime_s = (hours.clamp(0.0, 24.0) * 3600.0).round() as i64;
        self.state.duty = Duty::default();
        Ok(())
    }

    /// Seconds of work left in a row's jobs, added up: what `needed_s` keeps as a running sum.
    fn left_in_row(&self, row: usize) -> i64 {
        let jobs = self.plan.farm.rows[row].jobs.iter().map(|job| &self.state.jobs[*job]);
        jobs.filter(|job| !job.ended() && job.stage != Stage::Dormant).map(|job| job.left_s).sum()
    }

    /// For each class with ready work that today suits: its probability of a suitable day; 1 for the others.
    fn find_scarcest_ready(&mut self, day: u32) {
        let farm = &self.plan.farm;
        self.state.ready_p.fill(1.0);
        for &row in &self.state.open_rows {
            for &lot in &self.plan.row_lots[row as usize] {
                let state = &self.state.lots[lot];
                if state.ready > 0 && state.suitable {
                    let p = &mut self.state.ready_p[farm.rows[row as usize].class];
                    *p = p.min(farm.weather.keys[farm.lots[lot].key].p[day as usize]);
                }
            }
        }
    }

    /// Whether work that comes after a class's on some field is ready today, and has clearly fewer days.
    fn gives_way(&self, class: usize, p_today: f64) -> bool {
        let later = self.plan.later_classes[class];
        let mut ready = self.state.ready_p.iter().enumerate();
        ready.any(|(other, p)| other != class && later >> (other & 63) & 1 == 1 && p * CLEARLY <= p_today)
    }

    /// Whether the fields of a lot rank alike, so that it stands on the list as a whole: not where each has
    /// a window of its own.
    fn ranks_whole(&self, lot: usize) -> bool {
        self.plan.farm.rows[self.plan.farm.lots[lot].row].dates.is_some() && self.policy.fields_rank_alike()
    }

    /// Puts a lot's ready jobs on the list, as a whole or one by one.
    fn list_lot(&mut self, lot: usize, day: u32, least: &mut f64) -> Result<(), SeasonError> {
        if self.state.lots[lot].ready == 0 || !self.state.lots[lot].suitable {
            return Ok(());
        }
        let whole = self.ranks_whole(lot);
        let mut turn = 0;
        while let Some((job, next)) = self.next_ready(lot, turn) {
            turn = next;
            let Some(ranked) = self.rank(job, day, whole, least)? else { return Ok(()) };
            self.state.queue.push(ranked);
            if whole {
                self.state.lots[lot].listed = day;
                return Ok(());
            }
        }
        Ok(())
    }

    /// Adds a job that has become ready to today's list, if its lot is not on it.
    pub(super) fn join_queue(&mut self, job: usize) -> Result<(), SeasonError> {
        let day = self.state.day;
        let lot = self.plan.farm.jobs[job].lot;
        let whole = self.ranks_whole(lot);
        if whole && self.state.lots[lot].listed == day
            || !whole && self.state.queue.iter().any(|ranked| ranked.job == job as u32)
        {
            return Ok(());
        }
        let mut least = f64::INFINITY;
        if let Some(ranked) = self.rank(job, day, whole, &mut least)? {
            let at = self.state.queue.partition_point(|other| other.order(&ranked).is_lt());
            self.state.queue.insert(at, ranked);
            if whole {
                self.state.lots[lot].listed = day;
            }
        }
        Ok(())
    }

    /// The job's rank today, or nothing if today cannot suit it.
    fn rank(
        &mut self,
        job: usize,
        day: u32,
        whole_lot: bool,
        least: &mut f64,
    ) -> Result<Option<Ranked>, SeasonError> {
        let of = &self.plan.farm.jobs[job];
        if !self.state.lots[of.lot].suitable || self.plan.open_seconds(of.row, day as usize) == 0 {
            return Ok(None);
        }
        let view = self.view(job, day);
        *least = least.min(view.days_in_hand);
        let rank = self.policy.rank(&view).map_err(|error| self.policy_error(error))?;
        if rank.is_nan() {
            let date = self.plan.farm.span.date(day);
            return Err(SeasonError::NoRank { season: self.season, date, job: self.plan.job_label(job) });
        }
        let held = self.policy.hold(&view).map_err(|error| self.policy_error(error))?;
        let distance_km = self.plan.farm.fields[of.field].distance_km;
        let (lot, row) = (of.lot as u32, of.row as u32);
        let crew = self.plan.row_crew[of.row] as u32;
        let begun = view.started;
        let job = job as u32;
        let hours = self.plan.row_hours[of.row] as u32;
        let ranked = Ranked { rank, begun, distance_km, job, lot, row, crew, hours, whole_lot, held };
        self.state.hours_listed |= ranked.hours_bit();
        self.state.crews_listed |= ranked.crew_bit();
        self.state.crew_told[crew as usize] = None;
        Ok(Some(ranked))
    }

    /// The job as a policy sees it on a day.
    fn view(&mut self, job: usize, day: u32) -> JobView<'r> {
        let plan = self.plan;
        let of = &plan.farm.jobs[job];
        let slack_s = self.slack_s(job, day);
        let open_s = plan.open_seconds(of.row, day as usize).max(1);
        let state = &self.state.jobs[job];
        let p_today = plan.farm.weather.keys[plan.farm.lots[of.lot].key].p[day as usize];
        JobView {
            farm: &plan.farm,
            job,
            day,
            slack_h: slack_s / 3600.0,
            days_in_hand: slack_s / open_s as f64,
            p_today,
            gives_way: self.gives_way(plan.farm.rows[of.row].class, p_today),
            started: state.left_s < state.total_s,
            area_left_ha: state.live_ha - state.done_ha(),
        }
    }

    /// Expected suitable seconds from today to the due day's end, less what the operation still needs. A
    /// row with one window is looked at as a whole, once a day.
    fn slack_s(&mut self, job: usize, day: u32) -> f64 {
        let plan = self.plan;
        let of = &plan.farm.jobs[job];
        let expected = &plan.pairs[plan.lot_pair[of.lot]].expected;
        let due = (self.state.jobs[job].due_end / DAY).clamp(0, plan.days as i64) as usize;
        let hope = if due > day as usize { expected[due] - expected[day as usize] } else { 0.0 };
        if plan.farm.rows[of.row].dates.is_none() {
            return hope - self.state.jobs[job].left_s as f64;
        }
        hope - self.state.rows[of.row].needed_s as f64
    }

    /// Goes through today's list once; `opened` is the mask of the hours that open at this instant.
    pub(super) fn dispatch(
        &mut self,
        now: i64,
        opened: u64,
        agenda: &mut Agenda<Event>,
    ) -> Result<(), SeasonError> {
        let plan = self.plan;
        self.state.dispatches += 1;
        let mut this = self.state.dispatches;
        let day = self.state.day as usize;
        let midnight = day as i64 * DAY;
        let second = now - midnight;
        let on_duty = self.on_duty(second);
        let mut active = self.active_crews(on_duty);
        let calls = self.state.hours_listed & opened;
        let nothing = active & self.state.crews_listed == 0 && calls == 0;
        let mut index = if nothing { self.state.queue.len() } else { 0 };
        while index < self.state.queue.len() {
            let entry = &self.state.queue[index];
            index += 1;
            // The mask's last bit may stand for other hours: the stretches tell.
            let opens_now = calls & entry.hours_bit() != 0
                && plan.hours[entry.hours as usize].daily.on(day).iter().any(|open| open.start == second);
            if active & entry.crew_bit() == 0 && !opens_now {
                continue;
            }
            let (lot, row) = (entry.lot as usize, entry.row as usize);
            let state = &self.state.lots[lot];
            if state.ready == 0 || state.tried == this {
                continue;
            }
            if entry.held {
                self.set_lot_cause(lot, now, LotCause::Policy);
                continue;
            }
            if !opens_now {
                // Outside the hours, too, where the cause does not count yet.
                let free =
                    Means { machines: !self.state.busy_machines, people: on_duty & !self.state.busy_people };
                if let Some(cause) = self.crew_short(row, free) {
                    self.tell_lot(lot, row, now, cause);
                    continue;
                }
            }
            let Some(stretch) = plan.stretch_at(row, day, second) else { continue };
            let ranked = self.state.queue[index - 1];
            let mut turn = 0;
            loop {
                let close = midnight + stretch.end;
                let free =
                    Means { machines: !self.state.busy_machines, people: on_duty & !self.state.busy_people };
                if !opens_now && let Some(cause) = self.crew_short(row, free) {
                    if self.state.lots[lot].ready > 0 {
                        self.tell_lot(lot, row, now, cause);
                        self.state.lots[lot].tried = this;
                    }
                    break;
                }
                let Some(job) = self.candidate(&ranked, &mut turn) else { break };
                let mut found = self.find_outfit(job, now, close, free, free)?;
                if opens_now && matches!(found, Found::Short(_)) {
                    let reach = self.with_worse(free, ranked.rank);
                    let wider = self.find_outfit(job, now, close, reach, free)?;
                    if let Found::Start(start) = wider {
                        self.call_away(start.means, now, agenda);
                        found = wider;
                        // What was short may now be free.
                        self.state.dispatches += 1;
                        this = self.state.dispatches;
                    }
                }
                match found {
                    // The next of the lot may find another outfit.
                    Found::Start(start) => {
                        self.set_out(job, ranked.rank, now, start, agenda);
                        // What others further down are short of may have changed with it.
                        active = u64::MAX;
                    }
                    // Another field of the lot may lie nearer.
                    Found::TooLate => self.tell_lot(lot, row, now, LotCause::People),
                    Found::Short(cause) => {
                        self.tell_lot(lot, row, now, cause);
                        self.state.lots[lot].tried = this;
                        break;
                    }
                }
            }
        }
        self.set_row_causes(now);
        Ok(())
    }

    /// Tells a lot what it waits for from now on.
    fn tell_lot(&mut self, lot: usize, row: usize, now: i64, cause: LotCause) {
        let told = &mut self.state.crew_told[self.plan.row_crew[row]];
        if *told != Some(cause) {
            // Lots further up were told something else.
            *told = None;
        }
        self.set_lot_cause(lot, now, cause);
    }

    /// Mask of the crews whose jobs have to be gone through: those not plainly short, and those whose lots have
    /// not all been told of what they are short of now.
    fn active_crews(&mut self, on_duty: u64) -> u64 {
        let mut active = 0;
        let mut left = self.state.crews_listed & !(1 << 63);
        while left != 0 {
            let crew = left.trailing_zeros() as usize;
            left &= left - 1;
            let free =
                Means { machines: !self.state.busy_machines, people: on_duty & !self.state.busy_people };
            let short = self.crew_short(self.plan.crew_rows[crew], free);
            if short.is_none() || short != self.state.crew_told[crew] {
                active |= 1 << crew;
            }
            self.state.crew_told[crew] = short;
        }
        // Farms of so many crews are gone through as a whole.
        active | 1 << 63
    }

    /// What every outfit of a row is plainly short of; looked at anew only when someone or something was taken
    /// or freed since.
    fn crew_short(&mut self, row: usize, free: Means) -> Option<LotCause> {
        let crew = self.plan.row_crew[row];
        let version = self.state.means_version;
        if self.state.crew_short[crew].0 != version {
            self.state.crew_short[crew] = (version, self.plainly_short(row, free));
        }
        self.state.crew_short[crew].1
    }

    /// What every outfit of a row is short of, where that can be seen without putting any together.
    fn plainly_short(&self, row: usize, free: Means) -> Option<LotCause> {
        let mut short = LotCause::People;
        for &outfit in &self.plan.farm.rows[row].outfits {
            let outfit = &self.plan.farm.outfits[outfit];
            let [unit] = outfit.units.as_slice() else { return None };
            if unit.drivers.is_some_and(|drivers| drivers & free.people == 0) {
                continue;
            }
            if unit.machines.iter().all(|(alike, count)| (alike & free.machines).count_ones() >= *count) {
                return None;
            }
            short = LotCause::Machine;
        }
        Some(short)
    }

    /// The next ready job of an entry of the list: of a whole lot one after another.
    fn candidate(&self, ranked: &Ranked, turn: &mut usize) -> Option<usize> {
        let job = ranked.job as usize;
        if ranked.whole_lot {
            let (job, next) = self.next_ready(ranked.lot as usize, *turn)?;
            *turn = next;
            return Some(job);
        }
        let first = *turn == 0 && self.state.jobs[job].stage == Stage::Ready;
        *turn = 1;
        first.then_some(job)
    }

    /// Mask of the people on duty at a second of today; found anew only when someone comes or goes.
    fn on_duty(&mut self, second: i64) -> u64 {
        let known = self.state.duty;
        if known.from <= second && second < known.until {
            return known.people;
        }
        let mut duty = Duty { from: second, until: DAY + 1, people: 0 };
        for person in 0..self.plan.farm.people.len() {
            match self.off_duty_at(person, second) {
                Some(end) => {
                    duty.people |= 1 << person;
                    self.state.off_duty[person] = end;
                    duty.until = duty.until.min(end);
                }
                None => {
                    let hours = self.plan.person_hours[person].on(self.state.day as usize);
                    if let Some(next) = hours.iter().find(|open| open.start > second) {
                        duty.until = duty.until.min(next.start);
                    }
                }
            }
        }
        self.state.duty = duty;
        self.state.means_version += 1;
        duty.people
    }

    /// The end of the hours, overtime included, that a person is in at a second of today.
    fn off_duty_at(&self, person: usize, second: i64) -> Option<i64> {
        let of = &self.plan.farm.people[person];
        if self.state.day < of.from_day {
            return None;
        }
        let hours = self.plan.person_hours[person].on(self.state.day as usize);
        hours.iter().enumerate().find_map(|(index, open)| {
            let last = hours.get(index + 1).is_none_or(|next| next.start == next.end);
            let overtime = if last { self.state.overtime_s.min(of.overtime_s) } else { 0 };
            let end = (open.end + overtime).min(DAY);
            (open.start <= second && second < end).then_some(end)
        })
    }

    /// What is free, and what is at work on jobs of worse rank.
    fn with_worse(&self, free: Means, rank: f64) -> Means {
        let mut reach = free;
        for job in &self.state.working {
            let job = &self.state.jobs[*job as usize];
            if job.rank > rank {
                reach.machines |= job.machines;
                reach.people |= job.people;
            }
        }
        reach
    }

    /// Stops the jobs that hold any of these machines and people.
    fn call_away(&mut self, means: Means, now: i64, agenda: &mut Agenda<Event>) {
        let mut index = 0;
        while index < self.state.working.len() {
            let job = self.state.working[index] as usize;
            let state = &mut self.state.jobs[job];
            if state.machines & means.machines == 0 && state.people & means.people == 0 {
                index += 1;
                continue;
            }
            if let Some(stop) = state.stop.take() {
                agenda.cancel(stop);
            }
            self.leave(job, now, agenda);
            self.pause(job, now, Why::CalledAway, agenda);
        }
    }

    /// The first of the job's outfits that can be put together out of `reach` and still do some work
    /// today; what is in `free` is taken rather than the rest.
    fn find_outfit(
        &mut self,
        job: usize,
        now: i64,
        close: i64,
        reach: Means,
        free: Means,
    ) -> Result<Found, SeasonError> {
        let plan = self.plan;
        let of = &plan.farm.jobs[job];
        let mut short = LotCause::People;
        let mut too_late = false;
        for (choice, &outfit) in plan.farm.rows[of.row].outfits.iter().enumerate() {
            let outfit = &plan.farm.outfits[outfit];
            if outfit.contractor.is_some_and(|person| self.state.day < plan.farm.people[person].from_day) {
                continue;
            }
            let means = match put_together(outfit, reach, free, &plan.people_order) {
                Ok(means) => means,
                Err(cause) => {
                    short = short.max(cause);
                    continue;
                }
            };
            if let Some(person) = outfit.contractor {
                let view = self.view(job, self.state.day);
                let only_if_behind = plan.farm.people[person].only_if_behind;
                let hired =
                    self.policy.hire(&view, only_if_behind).map_err(|error| self.policy_error(error))?;
                if !hired {
                    continue;
                }
            }
            let midnight = i64::from(self.state.day) * DAY;
            let off_duty = resources(0, means.people, 0)
                .map(|person| self.state.off_duty[person])
                .min()
                .map_or(close, |end| midnight + end);
            let travel_s = self.travel_s(outfit, means, of.field);
            let close = close.min(off_duty);
            if now + travel_s < close {
                return Ok(Found::Start(Start { choice, means, travel_s, close }));
            }
            too_late = true;
        }
        Ok(if too_late { Found::TooLate } else { Found::Short(short) })
    }

    /// Seconds on the road until the last of an outfit is at a field.
    fn travel_s(&self, outfit: &Outfit, means: Means, field: usize) -> i64 {
        let fields = &self.plan.farm.fields;
        let to = &fields[field];
        let mut far_km: f64 = 0.0;
        for resource in resources(means.machines, means.people, self.plan.farm.machines.len()) {
            far_km = far_km.max(match self.state.places[resource] {
                YARD => to.distance_km,
                at if at as usize == field => 0.0,
                at => fields[at as usize].distance_to_km(to),
            });
        }
        if far_km > 0.0 { (far_km / outfit.road_speed_km_h * 3600.0).round() as i64 } else { 0 }
    }

    /// An outfit sets out for a job.
    fn set_out(&mut self, job: usize, rank: f64, now: i64, start: Start, agenda: &mut Agenda<Event>) {
        let plan = self.plan;
        let of = &plan.farm.jobs[job];
        self.end_wait(job, now);
        self.settle_row(of.row, now);
        self.state.rows[of.row].working += 1;
        let state = &mut self.state.jobs[job];
        if state.choice != start.choice {
            let share = state.live_ha / of.area_ha;
            let total = ((of.work[start.choice].total_s as f64 * share).round() as i64).max(1);
            let left = state.left_s as f64 / state.total_s as f64 * total as f64;
            let left = (left.ceil() as i64).clamp(1, total);
            self.state.rows[of.row].needed_s += left - state.left_s;
            state.left_s = left;
            state.total_s = total;
            state.choice = start.choice;
        }
        state.stage = Stage::Working;
        state.start = now;
        state.at_work = now + start.travel_s;
        state.machines = start.means.machines;
        state.people = start.means.people;
        state.close = start.close;
        state.rank = rank;
        self.state.means_version += 1;
        self.state.busy_machines |= start.means.machines;
        self.state.busy_people |= start.means.people;
        self.state.working.push(job as u32);
        // From here on they are there, also for whoever calls them away on the road.
        for resource in resources(start.means.machines, start.means.people, plan.farm.machines.len()) {
            self.state.places[resource] = of.field as u32;
        }
        let outfit = self.outfit_of(job);
        self.note(now, job, Some(outfit), What::Starts, Why::None);
        self.plan_stop(job, now, agenda);
        if self.plan.is_followed[job] {
            self.followers_after_start(job, now, agenda);
        }
    }

    /// Puts a working job's stop on the agenda: when it is done, its hours end, or it has caught up.
    pub(super) fn plan_stop(&mut self, job: usize, now: i64, agenda: &mut Agenda<Event>) {
        let caught_up = if self.plan.follows[job] { self.catches_up_at(job, now) } else { NEVER };
        let state = &mut self.state.jobs[job];
        if let Some(stop) = state.stop.take() {
            agenda.cancel(stop);
        }
        let at = (state.at_work + state.left_s).min(state.close).min(caught_up);
        state.stop_at = at;
        state.stop = Some(agenda.schedule(at, phase::RELEASE, Event::Stop(job as u32)));
    }
}

/// Machines and people for every unit of an outfit out of `reach`, what is in `free` first; or what is short.
fn put_together(outfit: &Outfit, reach: Means, free: Means, order: &[u8]) -> Result<Means, LotCause> {
    if outfit.anyone & reach.people == 0 && outfit.anyone != 0 {
        return Err(LotCause::People);
    }
    let people = man(&outfit.units, 0, reach.people, free.people, order).ok_or(LotCause::People)?;
    let mut machines = 0;
    for &(alike, count) in outfit.units.iter().flat_map(|unit| &unit.machines) {
        for _ in 0..count {
            let left = alike & reach.machines & !machines;
            let first = if left & free.machines != 0 { left & free.machines } else { left };
            if first == 0 {
                return Err(LotCause::Machine);
            }
            machines |= first & first.wrapping_neg();
        }
    }
    Ok(Means { machines, people })
}

/// A driver for each unit from `next` on that needs one, each another person.
fn man(units: &[Unit], next: usize, reach: u64, free: u64, order: &[u8]) -> Option<u64> {
    let Some(unit) = units.get(next) else { return Some(0) };
    let Some(drivers) = unit.drivers else { return man(units, next + 1, reach, free, order) };
    let may = drivers & reach;
    for pool in [may & free, may & !free] {
        if pool == 0 {
            continue;
        }
        for person in order {
            let bit = 1u64 << person;
            if pool & bit != 0
                && let Some(rest) = man(units, next + 1, reach & !bit, free & !bit, order)
            {
                return Some(rest | bit);
            }
        }
    }
    None
}
