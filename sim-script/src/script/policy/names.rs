//! Texts and numbers of a farm as scripts read them, made once.

use rhai::ImmutableString;
use sim_core::farm::{Farm, Job};
use sim_core::weather::MonthDay;

/// Days of the week, Monday first.
pub(super) const WEEKDAYS: [&str; 7] = ["mon", "tue", "wed", "thu", "fri", "sat", "sun"];

/// What a farm's parts are called.
#[derive(Debug, Default)]
pub(super) struct Names {
    pub(super) jobs: Vec<JobNames>,
    pub(super) fields: Vec<FieldNames>,
    pub(super) crops: Vec<ImmutableString>,
    pub(super) classes: Vec<ImmutableString>,
    /// The outfits of each row.
    pub(super) outfits: Vec<Vec<ImmutableString>>,
    /// Each day of the season, "MM-DD".
    pub(super) days: Vec<ImmutableString>,
    pub(super) weekdays: Vec<ImmutableString>,
    /// How many soils there are.
    pub(super) soils: usize,
}

#[derive(Debug)]
pub(super) struct JobNames {
    pub(super) row: usize,
    pub(super) crop: usize,
    pub(super) field: usize,
    pub(super) class: usize,
    pub(super) operation: ImmutableString,
}

#[derive(Debug)]
pub(super) struct FieldNames {
    pub(super) name: ImmutableString,
    pub(super) soil: ImmutableString,
    /// Index of the soil.
    pub(super) soil_at: usize,
    pub(super) area_ha: f64,
    pub(super) distance_km: f64,
}

impl Names {
    pub(super) fn of(farm: &Farm) -> Self {
        let job = |job: &Job| {
            let row = &farm.rows[job.row];
            JobNames {
                row: job.row,
                crop: row.crop,
                field: job.field,
                class: row.class,
                operation: row.operation.as_str().into(),
            }
        };
        let soil_of = |field: usize| {
            let job = farm.jobs.iter().find(|job| job.field == field);
            job.map_or(0, |job| farm.lots[job.lot].soil)
        };
        let field = |(index, field): (usize, &sim_core::farm::Field)| {
            let soil_at = soil_of(index);
            FieldNames {
                name: field.name.as_str().into(),
                soil: farm.soils.get(soil_at).map(String::as_str).unwrap_or_default().into(),
                soil_at,
                area_ha: field.area_ha,
                distance_km: field.distance_km,
            }
        };
        let dates = || (0..farm.span.days()).map(|day| farm.span.date(day));
        let weekday = |date: jiff::civil::Date| {
            WEEKDAYS[usize::try_from(date.weekday().to_monday_zero_offset()).unwrap_or_default()]
        };
        let outfits = farm
            .rows
            .iter()
            .map(|row| row.outfits.iter().map(|outfit| farm.outfits[*outfit].name.as_str().into()).collect());
        Self {
            jobs: farm.jobs.iter().map(job).collect(),
            fields: farm.fields.iter().enumerate().map(field).collect(),
            crops: farm.crops.iter().map(|crop| crop.as_str().into()).collect(),
            classes: farm.classes.iter().map(|class| class.name.as_str().into()).collect(),
            outfits: outfits.collect(),
            days: dates().map(|date| MonthDay::of(date).to_string().into()).collect(),
            weekdays: dates().map(|date| weekday(date).into()).collect(),
            soils: farm.soils.len(),
        }
    }
}
