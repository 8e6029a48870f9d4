//! What a diary notes of a year beside what the model did in it.

use super::year::Worked;
use crate::cli::{Failure, today};
use crate::script::{Diary, DiaryDay, DiarySeason, ScriptError};
use crate::words::number;
use jiff::civil::Date;
use sim_core::farm::{BegunErrorKind, Farm};
use sim_core::season::{Cause, DAY, What};
use sim_core::weather::MonthDay;

/// What a diary notes.
#[derive(Debug, Default)]
pub(super) struct Noted {
    /// What was finished.
    pub(super) finished: Vec<Finished>,
    /// What only some of was done, or goes on: there is no day to compare.
    pub(super) left_out: Vec<String>,
}

/// An operation that was finished, on a field or on all.
#[derive(Debug)]
pub(super) struct Finished {
    pub(super) row: usize,
    pub(super) jobs: Vec<usize>,
    pub(super) field: Option<String>,
    pub(super) begun: Option<u32>,
    pub(super) day: u32,
}

/// What is noted beside what the model did.
#[derive(Debug)]
pub(super) struct Laid<'a> {
    pub(super) noted: &'a Finished,
    pub(super) model_begun: Option<u32>,
    /// The day on which the model had all of it done; nothing if it never had.
    pub(super) model_day: Option<u32>,
    /// Hours in which the model waited, by cause.
    pub(super) waits_h: [f64; 7],
}

impl Laid<'_> {
    /// Days by which the model was later, less than 0 where it was earlier.
    pub(super) fn apart(&self) -> Option<i64> {
        self.model_day.map(|day| i64::from(day) - i64::from(self.noted.day))
    }

    /// What the model waited longest for, closed hours left out, with its hours and all such hours.
    pub(super) fn waited(&self) -> Option<(Cause, f64, f64)> {
        let open = || Cause::ALL.into_iter().filter(|cause| *cause != Cause::ClosedHours);
        let hours = |cause: Cause| self.waits_h[cause as usize];
        let all: f64 = open().map(hours).sum();
        // Of equals the first in the causes' order.
        let most = open().reduce(|one, other| if hours(other) > hours(one) { other } else { one })?;
        (all > 0.0).then(|| (most, hours(most), all))
    }
}

/// Looks up what a diary notes.
pub(super) fn noted(diary: &Diary, farm: &Farm, year: i16) -> Result<Noted, Failure> {
    let mut season = DiarySeason::new(farm.span, Some(year));
    let mut noted = Noted::default();
    let mut taken: Vec<Option<usize>> = vec![None; farm.jobs.len()];
    for (index, row) in diary.rows.iter().enumerate() {
        let wrong = |kind| today::explain(diary, index, &kind);
        let jobs = farm.jobs_named(&row.crop, &row.operation, row.field.as_deref()).map_err(wrong)?;
        if let Some(first) = jobs.iter().find_map(|job| taken[*job]) {
            let what = format!("{} of {}", row.operation, row.crop);
            return Err(wrong(BegunErrorKind::Twice { what, first }).into());
        }
        jobs.iter().for_each(|job| taken[*job] = Some(index));
        let all_ha: f64 = jobs.iter().map(|job| farm.jobs[*job].area_ha).sum();
        if let Some(area_ha) = row.area_done_ha
            && !(area_ha > 0.0 && area_ha <= all_ha + 1e-6)
        {
            let what = format!("{} of {}", row.operation, row.crop);
            return Err(wrong(BegunErrorKind::Area { area_ha, all_ha, what }).into());
        }
        let mut on = |column: &str, day: Option<DiaryDay>| -> Result<Option<u32>, ScriptError> {
            let known = day.map(|day| season.day(day)).transpose();
            known.map_err(|wrong| diary.mistake(index, column, &wrong.why, wrong.fix))
        };
        let (begun, finished) = (on("begun", row.begun)?, on("finished", row.finished)?);
        let part = row.area_done_ha.is_some_and(|area_ha| area_ha < all_ha - 1e-6);
        let Some(day) = finished.filter(|_| !part) else {
            noted.left_out.push(format!("{}, {}", row.operation, row.crop));
            continue;
        };
        if begun.is_some_and(|begun| begun > day) {
            return Err(diary
                .mistake(index, "begun", "it is begun after it is finished", "look at both days".into())
                .into());
        }
        let field = row.field.clone();
        noted.finished.push(Finished { row: farm.jobs[jobs[0]].row, jobs, field, begun, day });
    }
    Ok(noted)
}

/// Lays what is noted beside what the model did.
pub(super) fn beside<'a>(noted: &'a Noted, worked: &Worked) -> Vec<Laid<'a>> {
    let day = |instant: i64| ((instant - 1).div_euclid(DAY)).max(0) as u32;
    let of = |noted: &'a Finished| {
        let own = || noted.jobs.iter().map(|job| &worked.accounts[*job]);
        let finish =
            own().map(|of| of.finish.filter(|_| of.done)).try_fold(0, |last, of| Some(last.max(of?)));
        let starts = worked.log.iter().filter(|(_, entry)| entry.what == What::Starts);
        let first = starts.filter(|(_, entry)| noted.jobs.contains(&entry.job)).map(|(now, _)| *now).min();
        let waits_s: [i64; 7] = match noted.field {
            None => worked.outcome.rows[noted.row].waits_s,
            Some(_) => std::array::from_fn(|cause| own().map(|of| of.waits_s[cause]).sum()),
        };
        Laid {
            noted,
            model_begun: first.map(|now| (now / DAY) as u32),
            model_day: finish.map(day),
            waits_h: waits_s.map(|seconds| seconds as f64 / 3600.0),
        }
    };
    noted.finished.iter().map(of).collect()
}

/// The date of a season's day in the year that is looked back on.
fn in_year(farm: &Farm, year: i16, day: u32) -> Date {
    let date = farm.span.date(day);
    let year = year + date.year() - farm.span.first().year();
    MonthDay::of(date).in_year_or_before(year).unwrap_or(date)
}

/// The rows of the table.
pub(super) fn cells(laid: &[Laid<'_>], farm: &Farm, year: i16) -> Vec<Vec<String>> {
    let date = |day: Option<u32>| day.map_or_else(String::new, |day| in_year(farm, year, day).to_string());
    let row = |of: &Laid<'_>| {
        let row = &farm.rows[of.noted.row];
        let due = row.dates.filter(|_| row.stage.is_none()).map(|(_, due, _)| due);
        let (cause, hours) = of
            .waited()
            .map_or_else(Default::default, |(cause, hours, _)| (cause.name().to_string(), number(hours, 4)));
        vec![
            year.to_string(),
            farm.crops[row.crop].clone(),
            row.operation.clone(),
            of.noted.field.clone().unwrap_or_default(),
            date(due),
            date(of.noted.begun),
            date(of.model_begun),
            date(Some(of.noted.day)),
            of.model_day.map_or_else(|| "never".to_string(), |day| date(Some(day))),
            of.apart().map_or_else(String::new, |days| days.to_string()),
            cause,
            hours,
        ]
    };
    laid.iter().map(row).collect()
}
