//! Which operations move with stages in early and late years, and how far.

use crate::words::{day_month, number, one_after_another};
use sim_core::farm::{Farm, MovingStage, Row};
use sim_core::weather::{FURTHEST_DAYS, Stage};

/// A sentence or two for each stage.
pub(super) fn moves(farm: &Farm) -> Vec<String> {
    let told = |(index, stage): (usize, &MovingStage)| {
        let rows = farm.rows.iter().filter(|row| row.stage == Some(index));
        let label = |row: &Row| format!("{} of {}", row.operation, farm.crops[row.crop]);
        let who = one_after_another(&rows.map(label).collect::<Vec<_>>());
        format!(
            "With {}, normally {}: {who}. {}",
            stage.name,
            day_month(stage.normally),
            how_far(farm, stage)
        )
    };
    farm.stages.iter().enumerate().map(told).collect()
}

fn how_far(farm: &Farm, stage: &MovingStage) -> String {
    let shifts = match &stage.shifts {
        Stage::Drawn { sd_days, .. } if *sd_days > 0.0 => {
            return format!(
                "Seasons differ by {} days (standard deviation), at most {FURTHEST_DAYS} either way.",
                number(*sd_days, 1)
            );
        }
        Stage::Drawn { .. } => return "All seasons have it on that day: the stage has no `sd_days`.".into(),
        Stage::Recorded(shifts) => shifts,
    };
    let years = farm.weather.recorded.iter().flat_map(|recorded| recorded.years());
    let known: Vec<(i16, i16)> =
        years.zip(shifts).filter_map(|(of, days)| Some(((*days)?, of.year))).collect();
    let unknown = match shifts.len() - known.len() {
        0 => String::new(),
        1 => " In 1 year temperatures are missing before it, and it is left where it is.".into(),
        count => format!(" In {count} years temperatures are missing before it, and it is left where it is."),
    };
    let (Some(earliest), Some(latest)) = (known.iter().min(), known.iter().max()) else {
        return unknown.trim_start().into();
    };
    let sd = stage
        .shifts
        .sd_days()
        .map_or_else(String::new, |sd_days| format!(", standard deviation {} days", number(sd_days, 1)));
    let when = |(days, year): &(i16, i16)| format!("{} ({year})", shift(*days));
    format!("Over the recorded years from {} to {}{sd}.{unknown}", when(earliest), when(latest))
}

fn shift(days: i16) -> String {
    let plural = if days.abs() == 1 { "" } else { "s" };
    match days {
        0 => "that day".into(),
        ..0 => format!("{} day{plural} earlier", -days),
        _ => format!("{days} day{plural} later"),
    }
}
