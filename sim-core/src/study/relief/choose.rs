//! Which steps are worth working for a farm, from what is late on it.

use super::RankBy;
use crate::farm::spec::{CropSpec, FarmSpec};
use crate::farm::steps::{self, Step};
use crate::farm::{Farm, Row, SharedWeather};
use crate::season::{Cause, Plan};
use crate::study::bulk::VariantFindings;
use crate::study::risk::Risk;
use crate::weather::MonthDay;

/// Operations that are late less often than this take no part in the choice.
const LATE_FROM: f64 = 0.005;

/// How many steps of a kind are worked unless all are asked for: twenty together.
const MACHINES: usize = 7;
const WIDTHS: usize = 4;
const CONTRACTORS: usize = 2;

/// How many half-months a casual comes for.
const CASUAL_HALF_MONTHS: usize = 4;

/// The steps worth working for a farm.
#[derive(Debug, Clone, Default)]
pub struct ToTry {
    /// Each with its farm, made and checked.
    pub steps: Vec<(Step, Farm)>,
    /// What was not taken up.
    pub untried: Vec<Untried>,
}

/// A step that was not taken up.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Untried {
    /// What it would have been.
    pub what: String,
    /// Why it was not.
    pub why: String,
}

/// Chooses the steps for a farm from what was found of it: those that touch work that is late. A machine is in question
/// where an outfit of a late operation has it, whether or not it was ever waited for: one drill that is always at work
/// while fields wait is not seen to be short. The more is late in a year of what uses it, or the more of that waits
/// for machines and people, the sooner it is taken up; `all` takes up whatever touches late work. Where one operation
/// is the measure, it alone is looked at.
#[must_use]
pub fn choose(spec: &FarmSpec, plan: &Plan, found: &VariantFindings, measure: RankBy, all: bool) -> ToTry {
    let counts = |row: usize| measure == RankBy::LateOperations || measure == RankBy::Row(row);
    let mut p_late = vec![0.0; plan.farm().rows.len()];
    let mut short = p_late.clone();
    for risk in found.risks.iter().filter(|risk| risk.p_late() >= LATE_FROM && counts(risk.row)) {
        p_late[risk.row] = risk.p_late();
        short[risk.row] = risk.p_late() * share_of_means(plan, risk);
    }
    let one = measure != RankBy::LateOperations;
    let weather = SharedWeather::default();
    let mut chooser = Chooser { spec, plan, p_late, short, one, all, weather, chosen: ToTry::default() };
    if chooser.p_late.iter().all(|p_late| *p_late == 0.0) {
        if found.risks.iter().any(|risk| counts(risk.row) && risk.late > 0) {
            chooser.leave(
                "any step",
                chooser.told("nothing is late 1 year in 200", "it is late less than 1 year in 200"),
            );
        }
        return chooser.chosen;
    }
    chooser.machines();
    chooser.people();
    chooser.contractors();
    chooser.tillage();
    chooser.crop_mix();
    chooser.chosen
}

/// What has most of the first of two sizes, then what has most of the second, then the next of both by turns: a machine
/// may be short without anything being seen to wait for it, and waited for without being what is short.
fn by_turns(sized: &[(usize, [f64; 2])]) -> Vec<usize> {
    let by = |size: usize| {
        let mut order: Vec<&(usize, [f64; 2])> = sized.iter().collect();
        order.sort_by(|one, other| other.1[size].total_cmp(&one.1[size]).then(one.0.cmp(&other.0)));
        order.into_iter().map(|(index, _)| *index)
    };
    let mut turns = Vec::new();
    for index in by(0).zip(by(1)).flat_map(|(one, other)| [one, other]) {
        if !turns.contains(&index) {
            turns.push(index);
        }
    }
    turns
}

/// Of the hours of a late operation's open window, closed hours apart, the share in which it was worked or waited for
/// machines, people and supply; 0 to 1.
fn share_of_means(plan: &Plan, risk: &Risk) -> f64 {
    let farm = plan.farm();
    let jobs = farm.rows[risk.row].jobs.iter().map(|job| &farm.jobs[*job]);
    let work_h = jobs.filter(|job| !job.dormant).map(|job| job.work[0].total_s).sum::<i64>() as f64 / 3600.0;
    let waited_h = |causes: &[Cause]| causes.iter().map(|cause| risk.wait_hours_mean(*cause)).sum::<f64>();
    let means_h = work_h + waited_h(&[Cause::Machine, Cause::People, Cause::Supply]);
    let all_h = means_h + waited_h(&[Cause::Weather, Cause::Predecessor, Cause::Policy]);
    if all_h > 0.0 { means_h / all_h } else { 0.0 }
}

struct Chooser<'a> {
    spec: &'a FarmSpec,
    weather: SharedWeather,
    plan: &'a Plan,
    /// Of each row.
    p_late: Vec<f64>,
    /// How much of that is not put down to days and other work.
    short: Vec<f64>,
    /// Whether one operation is the measure.
    one: bool,
    all: bool,
    chosen: ToTry,
}

impl Chooser<'_> {
    fn most(&self, count: usize) -> usize {
        if self.all { usize::MAX } else { count }
    }

    /// Why something is not tried: of all work, or of the one operation.
    fn told(&self, of_all: &'static str, of_one: &'static str) -> &'static str {
        if self.one { of_one } else { of_all }
    }

    /// The rows that are late now and then, each with how often.
    fn late(&self) -> impl Iterator<Item = (&Row, f64)> {
        let rows = self.plan.farm().rows.iter().zip(self.p_late.iter().copied());
        rows.filter(|(_, p_late)| *p_late > 0.0)
    }

    /// Takes a step up, if there is one and the farm with it can be.
    fn take(&mut self, step: Option<Step>) {
        let Some(step) = step else { return };
        match Farm::sharing(&step.farm, &mut self.weather) {
            Ok(farm) => self.chosen.steps.push((step, farm)),
            Err(error) => self.leave(step.name, error.to_string()),
        }
    }

    fn leave(&mut self, what: impl Into<String>, why: impl Into<String>) {
        self.chosen.untried.push(Untried { what: what.into(), why: why.into() });
    }

    fn machines(&mut self) {
        let mut first = 0;
        // Of each kind how much late work hangs on it, and how much of that waits for machines and people.
        let mut kinds: Vec<(usize, [f64; 2])> = Vec::new();
        for (index, machine) in self.spec.machines.iter().enumerate() {
            let alike = first..first + machine.count;
            first += machine.count;
            let uses = |row: &Row| {
                let units = row.outfits.iter().flat_map(|outfit| &self.plan.farm().outfits[*outfit].units);
                units.flat_map(|unit| &unit.machines).any(|(mask, _)| alike.contains(&mask.trailing_zeros()))
            };
            let sum = |of: &[f64]| {
                let rows = self.plan.farm().rows.iter().zip(of);
                rows.filter(|(row, _)| uses(row)).map(|(_, size)| size).sum()
            };
            kinds.push((index, [sum(&self.p_late), sum(&self.short)]));
        }
        let names = |kinds: &[usize]| -> String {
            let names: Vec<&str> =
                kinds.iter().map(|index| self.spec.machines[*index].name.as_str()).collect();
            names.join(", ")
        };
        let (touched, idle): (Vec<_>, Vec<_>) = kinds.into_iter().partition(|(_, [late, _])| *late > 0.0);
        let idle: Vec<usize> = idle.iter().map(|(index, _)| *index).collect();
        let in_question = by_turns(&touched);
        let wide: Vec<usize> = in_question
            .iter()
            .filter(|index| self.spec.machines[**index].width_m.is_some())
            .copied()
            .collect();
        let (more, fewer) = in_question.split_at(self.most(MACHINES).min(in_question.len()));
        let (wider, not_wider) = wide.split_at(self.most(WIDTHS).min(wide.len()));
        let (fewer, not_wider, idle) = (names(fewer), names(not_wider), names(&idle));
        let steps: Vec<Option<Step>> = more
            .iter()
            .map(|index| steps::one_more_machine(self.spec, *index))
            .chain(wider.iter().map(|index| steps::one_metre_wider(self.spec, *index)))
            .collect();
        steps.into_iter().for_each(|step| self.take(step));
        for (which, what) in [(fewer, "one more of"), (not_wider, "wider")] {
            if !which.is_empty() {
                self.leave(
                    format!("{what}: {which}"),
                    "less late work hangs on it than on those tried; --all tries it",
                );
            }
        }
        let by_rate_alone = |index: &&usize| {
            let machine = &self.spec.machines[**index];
            machine.width_m.is_none() && machine.work_rate_ha_h.is_some()
        };
        let by_rate = names(&in_question.iter().filter(by_rate_alone).copied().collect::<Vec<_>>());
        if !by_rate.is_empty() {
            self.leave(
                format!("faster or wider: {by_rate}"),
                "the farm says how much it does in an hour, and not how wide it is",
            );
        }
        if !idle.is_empty() {
            self.leave(
                format!("more of: {idle}"),
                self.told("no work that needs it is late 1 year in 200", "the operation does not need it"),
            );
        }
    }

    fn people(&mut self) {
        let Some(person) = self.most_wanted() else {
            self.leave(
                "one more person, longer hours",
                self.told(
                    "nobody on the farm is needed for work that is late",
                    "nobody on the farm is needed for it",
                ),
            );
            return;
        };
        self.take(steps::one_more_person(self.spec, person));
        match self.weeks() {
            Some((from, to)) => self.take(steps::casual(self.spec, person, from, to)),
            None => self.leave(
                "a casual for some weeks",
                self.told("no work with dates of its own is late", "the operation has no dates of its own"),
            ),
        }
        self.take(steps::more_overtime(self.spec));
        match steps::week_ends(self.spec) {
            None => self.leave("week-ends worked", "everyone works them already"),
            step => self.take(step),
        }
    }

    /// The person who may work most of what is late; of two alike the one with more hours in the year.
    fn most_wanted(&self) -> Option<usize> {
        let farm = self.plan.farm();
        let worth = |person: usize| {
            let may =
                |row: &Row| row.outfits.iter().any(|outfit| farm.outfits[*outfit].anyone >> person & 1 == 1);
            let late: f64 = self.late().filter(|(row, _)| may(row)).map(|(_, p_late)| p_late).sum();
            let hours = &farm.people[person].hours;
            (late, (0..farm.span.days()).map(|day| hours.seconds_on(day)).sum::<i64>())
        };
        let people = (0..self.spec.people.len()).map(|person| (person, worth(person)));
        let wanted = people
            .filter(|(_, (late, _))| *late > 0.0)
            .min_by(|(one, a), (other, b)| b.0.total_cmp(&a.0).then(b.1.cmp(&a.1)).then(one.cmp(other)));
        wanted.map(|(person, _)| person)
    }

    /// The two months in whose windows most of the late work lies.
    fn weeks(&self) -> Option<(MonthDay, MonthDay)> {
        let plan = self.plan;
        let mut late = vec![0.0; plan.half_months()];
        for (row, p_late) in self.late() {
            let Some((from, due, _)) = row.dates else { continue };
            for day in from..=due {
                late[plan.half_month_of(day as usize)] += p_late / f64::from(due - from + 1);
            }
        }
        let length = CASUAL_HALF_MONTHS.min(late.len());
        let of = |first: usize| late[first..first + length].iter().sum::<f64>();
        let first = (0..=late.len() - length)
            .min_by(|one, other| of(*other).total_cmp(&of(*one)).then(one.cmp(other)))?;
        let span = plan.farm().span;
        let mut days = (0..span.days())
            .filter(|day| (first..first + length).contains(&plan.half_month_of(*day as usize)));
        let from = days.next().filter(|_| of(first) > 0.0)?;
        let on = |day| MonthDay::of(span.date(day));
        Some((on(from), on(days.next_back().unwrap_or(from))))
    }

    fn contractors(&mut self) {
        let farm = self.plan.farm();
        let mut late: Vec<(usize, f64)> =
            self.p_late.iter().copied().enumerate().filter(|(_, p_late)| *p_late > 0.0).collect();
        late.sort_by(|one, other| other.1.total_cmp(&one.1).then(one.0.cmp(&other.0)));
        let most = self.most(CONTRACTORS);
        let mut hired = 0;
        for (row, _) in late {
            let (crop, operation) = (&farm.crops[farm.rows[row].crop], &farm.rows[row].operation);
            if hired == most {
                self.leave(
                    "contractors for other work",
                    "it is late less often than the work for which one was tried; --all tries it",
                );
                break;
            }
            let before = self.chosen.steps.len();
            self.take(steps::contractor(self.spec, crop, operation));
            hired += self.chosen.steps.len() - before;
        }
    }

    /// How late a crop is in a year: its operations' chances added.
    fn late_of(&self, crop: &str) -> f64 {
        let farm = self.plan.farm();
        self.late().filter(|(row, _)| farm.crops[row.crop] == crop).map(|(_, p_late)| p_late).sum()
    }

    fn tillage(&mut self) {
        let sown = |crop: &&CropSpec| {
            let has =
                |field: &crate::farm::spec::FieldSpec| field.following.as_deref() == Some(crop.name.as_str());
            self.spec.fields.iter().any(has) && self.late_of(&crop.name) > 0.0
        };
        let mut crops: Vec<&CropSpec> = self
            .spec
            .crops
            .iter()
            .filter(sown)
            .filter(|crop| !steps::other_tillage(crop).is_empty())
            .collect();
        crops.sort_by(|one, other| self.late_of(&other.name).total_cmp(&self.late_of(&one.name)));
        let (taken, left) = crops.split_at(self.most(1).min(crops.len()));
        if taken.is_empty() {
            self.leave(
                "another tillage",
                self.told(
                    "no crop that is late has operations for more than one way of making a seedbed",
                    "its crop has operations for one way of making a seedbed, or is not sown in this season",
                ),
            );
        }
        for crop in taken {
            for way in steps::other_tillage(crop).into_iter().take(self.most(2)) {
                self.take(steps::tillage(self.spec, &crop.name, way));
            }
        }
        if !left.is_empty() {
            let names: Vec<&str> = left.iter().map(|crop| crop.name.as_str()).collect();
            self.leave(
                format!("another tillage for {}", names.join(", ")),
                "less of it is late; --all tries it",
            );
        }
    }

    /// A quarter of the largest crop sown in autumn to the largest sown in spring, and the other way; where the farm
    /// has not both, of the crop that is latest to the one that is least late.
    fn crop_mix(&mut self) {
        let grown = |crop: &&CropSpec| self.area_of(&crop.name) > 0.0;
        let crops: Vec<&CropSpec> = self.spec.crops.iter().filter(grown).collect();
        let largest = |spring: bool| {
            let of_season = crops.iter().filter(|crop| sown_in_spring(self.spec, crop) == Some(spring));
            of_season.min_by(|one, other| self.area_of(&other.name).total_cmp(&self.area_of(&one.name)))
        };
        let by_late = |one: &&&CropSpec, other: &&&CropSpec| {
            self.late_of(&one.name).total_cmp(&self.late_of(&other.name))
        };
        let pairs = match (largest(false), largest(true)) {
            (Some(autumn), Some(spring)) => vec![(*autumn, *spring), (*spring, *autumn)],
            _ => match (crops.iter().max_by(by_late), crops.iter().min_by(by_late)) {
                (Some(latest), Some(least)) if latest.name != least.name => vec![(*latest, *least)],
                _ => Vec::new(),
            },
        };
        if pairs.is_empty() {
            self.leave("another mix of crops", "the farm grows one crop");
        }
        for (from, to) in pairs {
            self.take(steps::crop_mix(self.spec, &from.name, &to.name));
        }
    }

    fn area_of(&self, crop: &str) -> f64 {
        let fields = self.spec.fields.iter();
        fields
            .flat_map(|field| [&field.standing, &field.following].map(|of| (of, field.area_ha)))
            .filter(|(of, _)| of.as_deref() == Some(crop))
            .map(|(_, area_ha)| area_ha)
            .sum()
    }
}

/// Whether a crop is sown in the calendar year of its harvest, as is seen from work that other crops have in the year
/// before theirs; `None` where no such work tells.
fn sown_in_spring(spec: &FarmSpec, crop: &CropSpec) -> Option<bool> {
    let elsewhere = |name: &str, following: bool| {
        let lists = spec.crops.iter().map(|other| if following { &other.following } else { &other.standing });
        lists.flatten().any(|operation| operation.name == name)
    };
    let spring = crop.standing.iter().any(|operation| elsewhere(&operation.name, true));
    let autumn = crop.following.iter().any(|operation| elsewhere(&operation.name, false));
    (spring != autumn).then_some(spring)
}
