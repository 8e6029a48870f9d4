//! From what was said to a validated farm: names become indices, ranges are checked, and whoever
//! uses the farm afterwards need not ask again.

use super::costs::Costs;
use super::error::{FarmError, FarmErrorKind};
use super::model::{Farm, Field, MAX_MACHINES, MAX_PEOPLE, Machine, Person, WorkClass};
use super::shared::{Made, SharedWeather};
use super::spec::{ContractorSpec, FarmSpec, PersonSpec};
use super::{check, jobs, outfits, ruled, tables};
use crate::weather::{DailyHours, HoursRule, MonthDay, Span};
use jiff::civil::Date;

impl Farm {
    /// Checks a farm and resolves its names.
    ///
    /// # Errors
    ///
    /// The first mistake found, with where it was written and what to do about it.
    pub fn new(spec: &FarmSpec) -> Result<Self, FarmError> {
        Self::sharing(spec, &mut SharedWeather::default())
    }

    /// The same for one of several farms: what one has made of a record serves those after it that judge it alike.
    ///
    /// # Errors
    ///
    /// As [`Farm::new`].
    pub fn sharing(spec: &FarmSpec, shared: &mut SharedWeather) -> Result<Self, FarmError> {
        let span = Span::new(spec.first_day, spec.last_day)
            .map_err(|error| tables::weather_error(spec.origin, "the season", &error))?;
        check::names(spec)?;
        check::numbers(spec)?;
        check::references(spec)?;
        ruled::check_weights(spec)?;
        let soils: Vec<String> = spec.soils().into_iter().map(String::from).collect();
        let Made { weather, has_days, fitted } = shared.of(spec, &soils, span)?;
        let classes = classes(spec, span)?;
        let people = people(spec, span)?;
        let machines = machines(spec)?;
        let outfits = outfits::outfits(spec)?;
        let mut farm = Self {
            name: spec.name.clone(),
            span,
            weather,
            fitted,
            soils,
            stages: Vec::new(),
            classes,
            people,
            machines,
            outfits,
            crops: spec.crops.iter().map(|crop| crop.name.clone()).collect(),
            fields: fields(spec),
            rows: Vec::new(),
            lots: Vec::new(),
            jobs: Vec::new(),
            links: Vec::new(),
            choices: Vec::new(),
            begun: None,
            costs: Costs::of(spec),
            plenty: false,
        };
        jobs::lay_out(&mut farm, spec, &has_days)?;
        if farm.jobs.is_empty() {
            return Err(FarmError {
                origin: spec.origin,
                word: "fields".into(),
                kind: FarmErrorKind::Missing {
                    what: "work in the season",
                    of: format!("the farm \"{}\"", spec.name),
                    fix: "give its fields a `standing` or `following` crop with operations in the season"
                        .into(),
                },
            });
        }
        Ok(farm)
    }
}

fn classes(spec: &FarmSpec, span: Span) -> Result<Vec<WorkClass>, FarmError> {
    spec.classes
        .iter()
        .map(|class| {
            let of = format!("the hours of \"{}\"", class.name);
            let mut hours = if class.hours.is_empty() {
                DailyHours::always(span)
            } else {
                DailyHours::new(span, &class.hours, &[])
                    .map_err(|error| tables::weather_error(class.origin, &of, &error))?
            };
            if class.daylight {
                hours = hours.cut_to_daylight(&spec.site);
            }
            Ok(WorkClass { name: class.name.clone(), hours, short_day_loses: class.short_day_loses })
        })
        .collect()
}

fn people(spec: &FarmSpec, span: Span) -> Result<Vec<Person>, FarmError> {
    let count = spec.people.len() + spec.contractors.len();
    if count > MAX_PEOPLE {
        return Err(FarmError {
            origin: spec.origin,
            word: "people".into(),
            kind: FarmErrorKind::TooMany { what: "people and contractors", count, most: MAX_PEOPLE },
        });
    }
    let own = spec.people.iter().map(|person| person_of(spec, person, span));
    own.chain(spec.contractors.iter().map(|contractor| contractor_of(contractor, span))).collect()
}

fn person_of(spec: &FarmSpec, person: &PersonSpec, span: Span) -> Result<Person, FarmError> {
    let off: Vec<MonthDay> = spec.holidays.iter().chain(&person.holidays).copied().collect();
    let holidays: Vec<Date> = (0..span.days())
        .map(|day| span.date(day))
        .filter(|date| off.contains(&MonthDay::of(*date)))
        .collect();
    let rules: Vec<HoursRule> =
        person.hours.iter().map(|rule| after_servicing(rule, person.servicing_h)).collect();
    let of = format!("the hours of \"{}\"", person.name);
    let hours = DailyHours::new(span, &rules, &holidays)
        .map_err(|error| tables::weather_error(person.origin, &of, &error))?;
    Ok(Person {
        name: person.name.clone(),
        hours,
        overtime_s: (person.overtime_h * 3600.0).round() as i64,
        contractor: false,
        from_day: 0,
        only_if_behind: false,
    })
}

/// The rule with its first stretch begun later by the daily servicing.
fn after_servicing(rule: &HoursRule, servicing_h: f64) -> HoursRule {
    let mut rule = rule.clone();
    if let Some(first) = rule.open.first_mut() {
        first.start += (servicing_h * 3600.0).round() as i64;
        if first.start >= first.end {
            rule.open.remove(0);
        }
    }
    rule
}

fn contractor_of(contractor: &ContractorSpec, span: Span) -> Result<Person, FarmError> {
    let of = format!("the hours of \"{}\"", contractor.name);
    let hours = DailyHours::new(span, &contractor.hours, &[])
        .map_err(|error| tables::weather_error(contractor.origin, &of, &error))?;
    let from_day = contractor.from.map_or(0, |from| {
        (0..span.days()).find(|day| MonthDay::of(span.date(*day)) == from).unwrap_or(span.days())
    });
    Ok(Person {
        name: contractor.name.clone(),
        hours,
        overtime_s: 0,
        contractor: true,
        from_day,
        only_if_behind: contractor.only_if_behind,
    })
}

fn machines(spec: &FarmSpec) -> Result<Vec<Machine>, FarmError> {
    let mut machines = Vec::new();
    for machine in &spec.machines {
        for number in 1..=machine.count {
            let name =
                if machine.count == 1 { machine.name.clone() } else { format!("{} {number}", machine.name) };
            machines.push(Machine { name });
        }
    }
    if machines.len() > MAX_MACHINES {
        return Err(FarmError {
            origin: spec.origin,
            word: "machines".into(),
            kind: FarmErrorKind::TooMany { what: "machines", count: machines.len(), most: MAX_MACHINES },
        });
    }
    Ok(machines)
}

fn fields(spec: &FarmSpec) -> Vec<Field> {
    let mut blocks: Vec<&str> = Vec::new();
    let alone = spec.fields.len() as u32;
    spec.fields
        .iter()
        .enumerate()
        .map(|(index, field)| {
            let block = field.block.as_deref().map_or(index as u32, |name| {
                let known = blocks.iter().position(|block| *block == name);
                alone
                    + known.unwrap_or_else(|| {
                        blocks.push(name);
                        blocks.len() - 1
                    }) as u32
            });
            Field { name: field.name.clone(), area_ha: field.area_ha, distance_km: field.distance_km, block }
        })
        .collect()
}
