//! Random farms for the laws of the season.
#![allow(dead_code, unreachable_pub)]

use super::common::*;
use proptest::prelude::*;
use sim_core::farm::Missed;
use sim_core::farm::spec::*;
use sim_core::season::{FieldView, JobView, Policy, PolicyError};
use sim_core::weather::{HoursRule, Loses, MonthDay, Sky, Stretch};

/// What a random farm is made of: numbers only, so that it shrinks well.
#[derive(Debug, Clone)]
pub struct Recipe {
    pub people: Vec<(u8, u8, u8)>,
    pub outfits: Vec<(u8, u8)>,
    pub operations: Vec<Step>,
    pub fields: Vec<(u8, u8, bool)>,
    pub days: Vec<(bool, bool)>,
    pub short: Option<Short>,
    pub decides: Decides,
}

/// What a policy decides, and how: by numbers that mean nothing.
#[derive(Debug, Clone, Copy, Default)]
pub struct Decides {
    pub straw: Option<u8>,
    pub tillage: Option<u8>,
    pub outfit: Option<u8>,
}

impl Decides {
    pub fn anything(self) -> bool {
        self.straw.is_some() || self.tillage.is_some() || self.outfit.is_some()
    }

    pub fn pick(number: u8, field: usize, ways: usize) -> usize {
        (usize::from(number) >> (field % 5)) % ways
    }
}

impl Policy for Decides {
    fn fields_rank_alike(&self) -> bool {
        true
    }

    fn names_outfits(&self) -> bool {
        self.outfit.is_some()
    }

    fn outfit(&mut self, job: &JobView<'_>) -> Result<Option<usize>, PolicyError> {
        let outfits = job.farm.rows[job.farm.jobs[job.job].row].outfits.len();
        let picked = Self::pick(self.outfit.unwrap_or(0), job.job + job.day as usize, outfits + 1);
        Ok((picked < outfits).then_some(picked))
    }

    fn straw(&mut self, field: &FieldView<'_>, usual: Straw) -> Result<Straw, PolicyError> {
        let other = self.straw.is_some_and(|number| Self::pick(number, field.field, 2) == 1);
        Ok(if other { usual.other() } else { usual })
    }

    fn tillage(&mut self, field: &FieldView<'_>, usual: usize) -> Result<usize, PolicyError> {
        Ok(self.tillage.map_or(usual, |number| Self::pick(number, field.field, TILLAGE.len())))
    }
}

/// Part-suitable days: a clock, what it loses, whether only the first soil has them, and their minutes.
#[derive(Debug, Clone)]
pub struct Short {
    pub clock: u8,
    pub loses: Loses,
    pub one_soil: bool,
    pub minutes: Vec<(u16, u16)>,
}

#[derive(Debug, Clone)]
pub struct Step {
    pub outfit: u8,
    pub second: Option<u8>,
    pub from: u8,
    pub due: u8,
    pub latest: u8,
    pub link: Option<(u8, u8)>,
    pub after_days: bool,
    /// Done only with some straw or on some seedbeds, or chopping slows it.
    pub only: u8,
}

pub fn loses() -> impl Strategy<Value = Loses> {
    prop_oneof![Just(Loses::Start), Just(Loses::End), Just(Loses::Middle)]
}

pub fn short() -> impl Strategy<Value = Short> {
    let minutes = prop_oneof![1 => Just(0), 1 => Just(1440), 6 => 1u16..1000];
    let minutes = prop::collection::vec((minutes.clone(), minutes), 80);
    (any::<u8>(), loses(), any::<bool>(), minutes).prop_map(|(clock, loses, one_soil, minutes)| Short {
        clock,
        loses,
        one_soil,
        minutes,
    })
}

/// A clock of one, two or three stretches.
pub fn clock(number: u8) -> HoursRule {
    let mut rule = hours(5.0, 21.0);
    let cuts: &[[f64; 2]] = match number % 3 {
        0 => &[[5.0, 21.0]],
        1 => &[[0.0, 11.5], [13.0, 24.0]],
        _ => &[[6.0, 9.0], [10.0, 12.0], [15.0, 22.0]],
    };
    let stretch = |cut: &[f64; 2]| Stretch { start: (cut[0] * 3600.0) as i64, end: (cut[1] * 3600.0) as i64 };
    rule.open = cuts.iter().map(stretch).collect();
    rule
}

pub fn recipe() -> impl Strategy<Value = Recipe> {
    let step = (
        any::<u8>(),
        prop::option::of(any::<u8>()),
        0u8..40,
        0u8..15,
        0u8..15,
        prop::option::of((any::<u8>(), 0u8..7)),
        prop::bool::weighted(0.2),
        0u8..12,
    )
        .prop_map(|(outfit, second, from, due, latest, link, after_days, only)| Step {
            outfit,
            second,
            from,
            due,
            latest,
            link,
            after_days,
            only,
        });
    let decided = || prop::option::weighted(0.3, any::<u8>());
    let decides = (decided(), decided(), decided()).prop_map(|(straw, tillage, outfit)| Decides {
        straw,
        tillage,
        outfit,
    });
    (
        prop::collection::vec((6u8..10, 4u8..12, any::<u8>()), 1..5),
        prop::collection::vec((1u8..4, any::<u8>()), 1..5),
        prop::collection::vec(step, 1..5),
        prop::collection::vec((1u8..40, 0u8..10, any::<bool>()), 1..7),
        prop::collection::vec((prop::bool::weighted(0.6), prop::bool::weighted(0.4)), 80),
        prop::option::of(short()),
        decides,
    )
        .prop_map(|(people, outfits, operations, fields, days, short, decides)| Recipe {
            people,
            outfits,
            operations,
            fields,
            days,
            short,
            decides,
        })
}

pub const MACHINES: u8 = 5;

pub fn day(number: u32) -> When {
    let date = jiff::civil::date(2025, 1, 1).saturating_add(jiff::Span::new().days(i64::from(number)));
    When::Date(MonthDay::of(date))
}

/// A farm of a season of 80 days. Machine `m` may be driven by everyone whose mask has bit `m`, and by the
/// first person, so that every outfit can be manned where it has no more units than there are people.
pub fn farm(recipe: &Recipe) -> FarmSpec {
    let mut spec = bare(0.5);
    spec.last_day = spec.first_day.saturating_add(jiff::Span::new().days(79));
    if let Some(short) = &recipe.short {
        spec.classes[0].hours = vec![clock(short.clock)];
        spec.classes[0].short_day_loses = short.loses;
    }
    for (index, (start, length, mask)) in recipe.people.iter().enumerate() {
        let drives: Vec<String> = (0..MACHINES)
            .filter(|m| index == 0 || mask >> m & 1 == 1)
            .map(|m| format!("machine {m}"))
            .collect();
        let names: Vec<&str> = drives.iter().map(String::as_str).collect();
        let mut someone = person(&format!("person {index}"), &names);
        someone.hours = vec![hours(f64::from(*start), f64::from(*start + *length))];
        someone.overtime_h = f64::from(mask % 3);
        spec.people.push(someone);
    }
    for m in 0..MACHINES {
        let mut one = machine(&format!("machine {m}"), f64::from(m + 1) * 0.7);
        one.road_speed_km_h = Some(20.0 + f64::from(m));
        spec.machines.push(one);
    }
    for (index, (units, first)) in recipe.outfits.iter().enumerate() {
        let units: Vec<Vec<String>> = (0..*units)
            .map(|unit| vec![format!("machine {}", (first.wrapping_add(unit)) % MACHINES)])
            .collect();
        spec.outfits.push(OutfitSpec { units, ..outfit(&format!("outfit {index}"), &[]) });
    }
    let outfit_name = |number: u8| format!("outfit {}", number as usize % recipe.outfits.len());
    let mut operations: Vec<OperationSpec> = Vec::new();
    for (index, step) in recipe.operations.iter().enumerate() {
        let name = format!("operation {index}");
        let mut one = operation(&name, &[&outfit_name(step.outfit)], ["01-01", "01-01", "01-01"]);
        if let Some(second) = step.second {
            one.outfits.push(outfit_name(second));
            one.outfits.dedup();
        }
        let due = u32::from(step.from) + u32::from(step.due);
        (one.from, one.due, one.latest) =
            (day(step.from.into()), day(due), Some(day(due + u32::from(step.latest))));
        if let Some((before, kind)) = step.link
            && index > 0
        {
            let before = before as usize % index;
            let mut to = link(&format!("operation {before}"));
            match kind {
                0 => to.required = false,
                1 => to.min_lag_h = 30.0,
                2 | 3 => to.follow_ha = Some(2.0),
                4 => (to.max_lag_days, to.if_missed) = (Some(3), Missed::Repeat),
                5 => (to.max_lag_days, to.if_missed) = (Some(3), Missed::Drop),
                _ => {}
            }
            if step.after_days {
                let after = |days| When::DaysAfter { operation: to.operation.clone(), days };
                one.from = after(step.from.into());
                one.due = after(due);
                one.latest = Some(after(due + u32::from(step.latest)));
            }
            one.after.push(to);
        }
        match step.only {
            0 => one.straw = Some(Straw::Bale),
            1 => one.straw = Some(Straw::Chop),
            2 | 3 => one.chopping_factor = 0.6,
            4..7 => one.tillage = vec![TILLAGE[usize::from(step.only - 4)].into()],
            7 => (one.straw, one.tillage) = (Some(Straw::Bale), vec![TILLAGE[1].into()]),
            8 => one.tillage = TILLAGE[..2].iter().map(|way| (*way).into()).collect(),
            _ => {}
        }
        operations.push(one);
    }
    spec.left_open =
        LeftOpen { straw: recipe.decides.straw.is_some(), tillage: recipe.decides.tillage.is_some() };
    spec.crops.push(crop("crop", operations));
    for (index, (area, distance, heavy)) in recipe.fields.iter().enumerate() {
        let mut one = field(&format!("field {index}"), f64::from(*area), "crop");
        one.distance_km = f64::from(*distance);
        one.soil = if *heavy { "heavy" } else { "medium" }.into();
        spec.fields.push(one);
    }
    spec
}

pub fn sky(recipe: &Recipe, keys: usize) -> Sky {
    let rows: Vec<Vec<bool>> = (0..keys)
        .map(|key| recipe.days.iter().map(|day| if key == 0 { day.0 } else { day.0 && day.1 }).collect())
        .collect();
    let mut sky = Sky::from_days(&rows);
    if let Some(short) = &recipe.short {
        for key in 0..if short.one_soil { 1 } else { keys } {
            for (day, minutes) in short.minutes.iter().enumerate() {
                sky.set_minutes(key, day, if key == 0 { minutes.0 } else { minutes.1 });
            }
        }
    }
    sky
}
