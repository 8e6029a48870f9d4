//! Stages with which windows move: from what was said of them to their shift in every season.

use jiff::civil::Date;

use super::error::{FarmError, FarmErrorKind};
use super::jobs::FieldJobs;
use super::model::MovingStage;
use super::spec::{FarmSpec, OperationSpec, StageSpec};
use super::{check, tables};
use crate::weather::{MonthDay, Record, Stage, StageError, Warmth};

/// The error of a name that no stage has.
pub(super) fn named<'a>(
    spec: &'a FarmSpec,
    operation: &OperationSpec,
    name: &str,
) -> Result<&'a StageSpec, FarmError> {
    spec.stages.iter().find(|stage| stage.name == name).ok_or_else(|| {
        let known = spec.stages.iter().map(|stage| stage.name.as_str());
        check::unknown(operation.origin, "stage", name, known)
    })
}

/// Refuses a stage whose warmth is summed from a day that is not before it.
pub(super) fn check_order(stage: &StageSpec) -> Result<(), FarmError> {
    if stage.from < stage.normally {
        return Ok(());
    }
    Err(FarmError {
        origin: stage.origin,
        word: stage.normally.to_string(),
        kind: FarmErrorKind::Conflict {
            of: format!("the stage \"{}\"", stage.name),
            why: "its warmth is summed from a day that is not before `normally`",
            fix: "give a `from` earlier in the year than `normally`",
        },
    })
}

impl FieldJobs<'_> {
    /// Index of the stage that an operation moves with, if it moves: that of the calendar year in which it is due.
    pub(super) fn stage(
        &mut self,
        crop: usize,
        operation: &OperationSpec,
        dates: Option<(u32, u32, u32)>,
    ) -> Result<Option<usize>, FarmError> {
        let Some(name) = &operation.moves_with else { return Ok(None) };
        let spec = named(self.spec, operation, name)?;
        let Some((_, due, _)) = dates else {
            return Err(FarmError {
                origin: operation.origin,
                word: "moves_with".into(),
                kind: FarmErrorKind::Conflict {
                    of: self.label(crop, operation),
                    why: "its window is counted from other work, and moves with that already",
                    fix: "take `moves_with` out, or give `from`, `due` and `latest` as dates",
                },
            });
        };
        let span = self.farm.span;
        let year = span.date(due).year();
        let normally = spec.normally.in_year_or_before(year).unwrap_or(span.last());
        let known = |stage: &MovingStage| stage.name == *name && stage.normally == normally;
        if let Some(stage) = self.farm.stages.iter().position(known) {
            return Ok(Some(stage));
        }
        let later = year - span.first().year();
        let warmth = Warmth { from: spec.from, normally: spec.normally, base_c: spec.base_c };
        let said =
            |error: StageError| tables::weather_error(spec.origin, &format!("the stage \"{name}\""), &error);
        let recorded = |record: &Record, years: Vec<i16>| {
            warmth.shifts(record, years.into_iter()).map(Stage::Recorded).map_err(said)
        };
        let shifts = match (&self.farm.weather.recorded, &self.spec.record) {
            (Some(worked), Some(of)) => {
                recorded(&of.record, worked.years().iter().map(|of| of.year + later).collect())?
            }
            (_, record) => {
                let sd_days = match record {
                    // Days are drawn from a table fitted to the record: years differ by as much as the record's do.
                    Some(of) if spec.sd_days == 0.0 => {
                        let years = of.record.years(MonthDay::of(Date::ZERO)).into_iter().map(|of| of.year);
                        recorded(&of.record, years.collect())?.sd_days().unwrap_or(0.0)
                    }
                    _ => spec.sd_days,
                };
                Stage::Drawn { sd_days, year: u32::try_from(later).unwrap_or_default() }
            }
        };
        self.farm.stages.push(MovingStage { name: name.clone(), normally, shifts });
        Ok(Some(self.farm.stages.len() - 1))
    }
}
