//! One step that a farm can buy, hire or decide, as a pure change of what was said of it: the same farm with one
//! tractor more, a wider drill, another driver, longer days, hired work, another tillage, another mix of crops.
//!
//! Each says in words what it changes and what it takes for granted, and is `None` where the farm has nothing to take
//! it on. Which steps are worth working is not known here, nor what comes of them.

use super::outfits;
use super::spec::{ContractorSpec, CropSpec, FarmSpec, Moves, OperationSpec, PersonSpec};
use crate::weather::{EVERY_DAY, HoursRule, MonthDay, WEEKDAYS, WEEKEND};

/// What kind of step it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum StepKind {
    /// One more of a machine.
    Machine,
    /// A wider machine.
    Width,
    /// One more person all year.
    Person,
    /// One more person for some weeks.
    Casual,
    /// More overtime.
    Overtime,
    /// Week-ends worked.
    WeekEnds,
    /// A contractor for one operation.
    Contractor,
    /// Another way of making the seedbed of one crop.
    Tillage,
    /// Another mix of crops.
    CropMix,
}

impl StepKind {
    /// The word for it in tables.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Machine => "machine",
            Self::Width => "width",
            Self::Person => "person",
            Self::Casual => "casual",
            Self::Overtime => "overtime",
            Self::WeekEnds => "week-ends",
            Self::Contractor => "contractor",
            Self::Tillage => "tillage",
            Self::CropMix => "crop mix",
        }
    }
}

/// A farm that differs from another in one step.
#[derive(Debug, Clone, PartialEq)]
pub struct Step {
    /// What kind of step it is.
    pub kind: StepKind,
    /// What it is, as a person says it: "one more tractor".
    pub name: String,
    /// What it takes for granted, in a sentence.
    pub assumes: String,
    /// Whether the farm says what all that it adds or takes away costs.
    pub priced: bool,
    /// The farm with it.
    pub farm: FarmSpec,
}

/// How much wider a wider machine is, in m.
const WIDER_M: f64 = 1.0;

/// How much more overtime a day there is, in h.
const LONGER_H: f64 = 1.0;

/// The part of a crop's area that goes to another.
const MIX: f64 = 0.25;

/// One more of the machine of this index.
#[must_use]
pub fn one_more_machine(farm: &FarmSpec, index: usize) -> Option<Step> {
    let mut farm = farm.clone();
    let machine = farm.machines.get_mut(index)?;
    machine.count += 1;
    let priced = machine.cost_year.is_some() || machine.cost_m_year.is_some();
    let name = format!("one more {}", machine.name);
    let who = if machine.needs_driver { ", driven by the people who drive the others" } else { "" };
    let assumes =
        format!("Like the one that there is{who}; whoever works it must be free, and what it works with.");
    Some(Step { kind: StepKind::Machine, name, assumes, priced, farm })
}

/// The machine of this index one metre wider.
#[must_use]
pub fn one_metre_wider(farm: &FarmSpec, index: usize) -> Option<Step> {
    let mut farm = farm.clone();
    let machine = farm.machines.get_mut(index)?;
    let wider_m = machine.width_m? + WIDER_M;
    machine.width_m = Some(wider_m);
    let name = if machine.count > 1 {
        format!("{}: each 1 m wider ({} m)", machine.name, short(wider_m))
    } else {
        format!("{} 1 m wider ({} m)", machine.name, short(wider_m))
    };
    let mut assumes = if machine.needs_driver {
        "At the same speed.".to_string()
    } else {
        "Pulled at the same speed by the tractor that there is.".to_string()
    };
    if machine.throughput_t_h.is_some() {
        assumes.push_str(" What goes through it in an hour stays as it is.");
    }
    let priced = machine.cost_m_year.is_some();
    Some(Step { kind: StepKind::Width, name, assumes, priced, farm })
}

/// One more person like the one of this index, all year.
#[must_use]
pub fn one_more_person(farm: &FarmSpec, index: usize) -> Option<Step> {
    let like = farm.people.get(index)?.clone();
    let priced = like.cost_year.is_some() || like.cost_h.is_some();
    let mut assumes = format!("With the hours of \"{}\" and what that one may drive.", like.name);
    if like.cost_h.is_some() && like.cost_year.is_none() {
        assumes.push_str(" Paid for the hours worked, and for no others.");
    }
    let name = format!("one more person like \"{}\"", like.name);
    let farm = with_person(farm, PersonSpec { name: format!("another like {}", like.name), ..like });
    Some(Step { kind: StepKind::Person, name, assumes, priced, farm })
}

/// A person like the one of this index who comes only from one day to another, both counted, and does no overtime.
#[must_use]
pub fn casual(farm: &FarmSpec, index: usize, from: MonthDay, to: MonthDay) -> Option<Step> {
    let like = farm.people.get(index)?.clone();
    let mut hours = like.hours.clone();
    if to.next() != from {
        hours.push(HoursRule {
            from: to.next(),
            to: day_before(from),
            weekdays: EVERY_DAY,
            open: Vec::new(),
        });
    }
    let name = format!("a casual from {} to {}", day_in_words(from), day_in_words(to));
    let mut assumes =
        format!("With the hours of \"{}\" and what that one may drive, without overtime.", like.name);
    // Whoever is paid by the year costs nothing an hour, but a casual does.
    let priced = like.cost_h.is_some_and(|cost_h| cost_h > 0.0);
    if priced {
        assumes.push_str(" Paid for the hours worked, and for no others.");
    }
    let person = PersonSpec {
        name: format!("casual like {}", like.name),
        hours,
        overtime_h: 0.0,
        cost_year: None,
        ..like
    };
    let farm = with_person(farm, person);
    Some(Step { kind: StepKind::Casual, name, assumes, priced, farm })
}

/// Up to an hour more of overtime for everyone.
#[must_use]
pub fn more_overtime(farm: &FarmSpec) -> Option<Step> {
    let mut farm = farm.clone();
    let can = |person: &PersonSpec| person.overtime_h + LONGER_H <= 12.0;
    if !farm.people.iter().any(can) {
        return None;
    }
    farm.people.iter_mut().filter(|person| can(person)).for_each(|person| person.overtime_h += LONGER_H);
    let priced = farm.people.iter().all(|person| person.cost_h.is_some());
    let assumes = "Done on days on which work has no days in hand, or as the script decides; never beyond the hours of the \
                   kind of work."
        .into();
    Some(Step { kind: StepKind::Overtime, name: "up to an hour more overtime".into(), assumes, priced, farm })
}

/// Saturdays and Sundays worked as the days of the week are, by everyone; holidays stay as they are.
#[must_use]
pub fn week_ends(farm: &FarmSpec) -> Option<Step> {
    let mut changed = farm.clone();
    for rule in changed.people.iter_mut().flat_map(|person| &mut person.hours) {
        if rule.weekdays & WEEKDAYS != 0 {
            rule.weekdays |= WEEKEND;
        }
    }
    let priced = farm.people.iter().all(|person| person.cost_h.is_some());
    let assumes = "Everyone works Saturdays and Sundays with the hours of the other days, unless they have hours of their own."
        .into();
    let farm = (changed != *farm).then_some(changed)?;
    Some(Step { kind: StepKind::WeekEnds, name: "week-ends worked".into(), assumes, priced, farm })
}

/// A contractor for an operation of a crop, called when it has no days in hand: at the rate of a contractor that the
/// farm has for such work, or else at that of the farm's own outfit.
#[must_use]
pub fn contractor(farm: &FarmSpec, crop: &str, operation: &str) -> Option<Step> {
    let mut changed = farm.clone();
    let of = farm.crops.iter().find(|other| other.name == crop)?;
    let wanted = of.standing.iter().chain(&of.following).find(|other| other.name == operation)?;
    let hired =
        |of: &OperationSpec| farm.contractors.iter().find(|contractor| of.outfits.contains(&contractor.name));
    let always = |contractor: &ContractorSpec| contractor.from.is_none();
    if hired(wanted).is_some_and(always) {
        return None;
    }
    let operations = || farm.crops.iter().flat_map(|crop| crop.standing.iter().chain(&crop.following));
    let alike = operations().filter(|other| other.class == wanted.class).find_map(hired);
    let name = free_name(farm, &format!("contractor for {operation}, {crop}"));
    let (contractor, assumes) = match alike {
        Some(like) => {
            let assumes = format!(
                "Rate, hours and price of \"{}\"; comes from the window's first day on, when the operation has no days in hand.",
                like.name
            );
            (ContractorSpec { name: name.clone(), from: None, only_if_behind: true, ..like.clone() }, assumes)
        }
        None => {
            let rate = own_rate_ha_h(farm, of, wanted)?;
            let hours = wanted.outfits.iter().find_map(|outfit| hours_of_drivers(farm, outfit))?;
            let assumes = format!(
                "{} ha/h and the hours of the farm's own people; comes when the operation has no days in hand.",
                short(rate)
            );
            let contractor = ContractorSpec {
                origin: wanted.origin,
                name: name.clone(),
                work_rate_ha_h: rate,
                from: None,
                hours,
                only_if_behind: true,
                cost_ha: None,
            };
            (contractor, assumes)
        }
    };
    let priced = contractor.cost_ha.is_some();
    changed.contractors.push(contractor);
    let lists = changed.crops.iter_mut().find(|other| other.name == crop)?;
    let of = lists.standing.iter_mut().chain(&mut lists.following).find(|other| other.name == operation)?;
    of.outfits.push(name.clone());
    Some(Step { kind: StepKind::Contractor, name: format!("a {name}"), assumes, priced, farm: changed })
}

/// The ways of making a seedbed other than its own that a crop has operations for.
#[must_use]
pub fn other_tillage<'a>(crop: &'a CropSpec) -> Vec<&'a str> {
    let mut ways: Vec<&'a str> = Vec::new();
    for way in crop.standing.iter().chain(&crop.following).flat_map(|operation| &operation.tillage) {
        if *way != crop.tillage && !ways.contains(&way.as_str()) {
            ways.push(way);
        }
    }
    ways
}

/// The seedbed of a crop made in another way, on all its fields that have no way of their own.
#[must_use]
pub fn tillage(farm: &FarmSpec, crop: &str, way: &str) -> Option<Step> {
    let mut farm = farm.clone();
    let of = farm.crops.iter_mut().find(|other| other.name == crop)?;
    if of.tillage == way {
        return None;
    }
    let was = std::mem::replace(&mut of.tillage, way.to_owned());
    let assumes = format!(
        "In the place of {}, on every field that says nothing else, with the machines that there are. Whether yield, weeds and \
         soil bear it is not counted.",
        way_in_words(&was)
    );
    let name = format!("{} for {crop}", way_in_words(way));
    Some(Step { kind: StepKind::Tillage, name, assumes, priced: false, farm })
}

/// About a quarter of a crop's area given to another, in whole fields: both of what stands and of what follows, so that
/// the year has one mix from end to end.
#[must_use]
pub fn crop_mix(farm: &FarmSpec, from: &str, to: &str) -> Option<Step> {
    let mut farm = farm.clone();
    if from == to || !farm.crops.iter().any(|crop| crop.name == to) {
        return None;
    }
    let stood = give_away(&mut farm, from, to, false);
    let followed = give_away(&mut farm, from, to, true);
    if stood + followed == 0.0 {
        return None;
    }
    let assumes = format!(
        "{} ha of what stands and {} ha of what follows, in whole fields. Whether the rotation bears it, and what the crops \
         earn, is not counted.",
        short(stood),
        short(followed)
    );
    let name = format!("a quarter of {from} to {to}");
    Some(Step { kind: StepKind::CropMix, name, assumes, priced: false, farm })
}

/// Gives a quarter of a crop's area to another, field by field in the farm's order as long as that comes nearer to it;
/// the area given.
fn give_away(farm: &mut FarmSpec, from: &str, to: &str, following: bool) -> f64 {
    let of = |field: &super::spec::FieldSpec| {
        if following { field.following.clone() } else { field.standing.clone() }
    };
    let all_ha: f64 = farm
        .fields
        .iter()
        .filter(|field| of(field).as_deref() == Some(from))
        .map(|field| field.area_ha)
        .sum();
    let mut left_ha = all_ha * MIX;
    let mut given_ha = 0.0;
    for field in &mut farm.fields {
        let has = if following { &mut field.following } else { &mut field.standing };
        if has.as_deref() == Some(from) && field.area_ha < 2.0 * left_ha {
            *has = Some(to.to_owned());
            left_ha -= field.area_ha;
            given_ha += field.area_ha;
        }
    }
    given_ha
}

fn way_in_words(way: &str) -> &str {
    match way {
        "plough" => "ploughing",
        "min_till" => "min-till",
        "direct" => "direct drilling",
        other => other,
    }
}

fn with_person(farm: &FarmSpec, person: PersonSpec) -> FarmSpec {
    let mut farm = farm.clone();
    let name = free_name(&farm, &person.name);
    farm.people.push(PersonSpec { name, ..person });
    farm
}

/// A name that no person, contractor or outfit has.
fn free_name(farm: &FarmSpec, wanted: &str) -> String {
    let taken = |name: &str| {
        farm.people.iter().any(|person| person.name == name)
            || farm.contractors.iter().any(|contractor| contractor.name == name)
            || farm.outfits.iter().any(|outfit| outfit.name == name)
    };
    let numbered = (2..).map(|number| format!("{wanted} {number}"));
    std::iter::once(wanted.to_owned()).chain(numbered).find(|name| !taken(name)).unwrap_or_default()
}

fn day_in_words(day: MonthDay) -> String {
    const MONTHS: [&str; 12] =
        ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    format!("{} {}", day.day(), MONTHS[usize::from(day.month().unsigned_abs()) - 1])
}

fn day_before(day: MonthDay) -> MonthDay {
    let date = day.in_year_or_before(2024).and_then(|date| date.yesterday().ok());
    date.map_or(day, MonthDay::of)
}

/// What the first outfit does in an hour in a field at the mean distance of the farm's, the straw baled.
fn own_rate_ha_h(farm: &FarmSpec, crop: &CropSpec, operation: &OperationSpec) -> Option<f64> {
    let made = outfits::outfits(farm).ok()?;
    let outfit = operation.outfits.iter().find_map(|name| made.iter().find(|outfit| outfit.name == *name))?;
    let area_ha: f64 = farm.fields.iter().map(|field| field.area_ha).sum();
    let distance_km =
        farm.fields.iter().map(|field| field.area_ha * field.distance_km).sum::<f64>() / area_ha;
    let (moved_t_ha, brought_kg_ha) = match operation.moves {
        Some(Moves::Grain) => (Some(crop.yield_t_ha), None),
        Some(Moves::Straw) => (Some(crop.straw_t_ha), None),
        Some(Moves::Brought { kg_ha }) => (None, Some(kg_ha)),
        None => (None, None),
    };
    let limits = outfits::limits(farm, outfit, distance_km, 1.0, moved_t_ha, brought_kg_ha);
    limits.work_rate().map(|rate| rate.with_supply_ha_h)
}

/// The hours of the first person who may drive an outfit's first machine that is driven.
fn hours_of_drivers(farm: &FarmSpec, outfit: &str) -> Option<Vec<HoursRule>> {
    let outfit = farm.outfits.iter().find(|other| other.name == outfit)?;
    let driven =
        |name: &&String| farm.machines.iter().any(|machine| machine.name == **name && machine.needs_driver);
    let machine = outfit.units.iter().flatten().find(driven)?;
    let person = farm.people.iter().find(|person| person.drives.contains(machine))?;
    Some(person.hours.clone())
}

/// A number with at most two decimals.
fn short(value: f64) -> String {
    let text = format!("{value:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
