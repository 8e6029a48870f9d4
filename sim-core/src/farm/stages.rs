//! Stages with which windows move: from what was said of them to their shift in every season.

use jiff::civil::Date;

use super::error::{FarmError, FarmErrorKind};
use super::jobs::FieldJobs;
use super::model::MovingStage;
use super::spec::{FarmSpec, OperationSpec, StageSpec};
use super::{check, tables};
use crate::weather::{MonthDay, Stage, StageError, Warmth};

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
        let normally =
            spec.normally.in_year(year).or_else(|| Date::new(year, 2, 28).ok()).unwrap_or(span.last());
        let known = |stage: &MovingStage| stage.name == *name && stage.normally == normally;
        if let Some(stage) = self.farm.stages.iter().position(known) {
            return Ok(Some(stage));
        }
        let later = year - span.first().year();
        let warmth = Warmth { from: spec.from, normally: spec.normally, base_c: spec.base_c };
        let said =
            |error: StageError| tables::weather_error(spec.origin, &format!("the stage \"{name}\""), &error);
        let shifts = match (&self.farm.weather.recorded, &self.spec.record) {
            (Some(recorded), Some(of)) => {
                let years = recorded.years().iter().map(|of| of.year + later);
                Stage::Recorded(warmth.shifts(&of.record, years).map_err(said)?)
            }
            // Days are drawn from a table fitted to the record: years differ by as much as the record's do.
            (None, Some(of)) if spec.sd_days == 0.0 => {
                let years = of.record.years(MonthDay::of(Date::ZERO)).into_iter().map(|of| of.year);
                let shifts = warmth.shifts(&of.record, years).map_err(said)?;
                let sd_days = standard_deviation(&shifts);
                Stage::Drawn { sd_days, year: u32::try_from(later).unwrap_or_default() }
            }
            _ => Stage::Drawn { sd_days: spec.sd_days, year: u32::try_from(later).unwrap_or_default() },
        };
        self.farm.stages.push(MovingStage { name: name.clone(), normally, shifts });
        Ok(Some(self.farm.stages.len() - 1))
    }
}

/// By how many days years differ; those without a known shift are left out.
fn standard_deviation(shifts: &[Option<i16>]) -> f64 {
    let known = || shifts.iter().flatten().map(|days| f64::from(*days));
    let count = known().count() as f64;
    if count < 2.0 {
        return 0.0;
    }
    let mean = known().sum::<f64>() / count;
    libm::sqrt(known().map(|days| (days - mean) * (days - mean)).sum::<f64>() / (count - 1.0))
}
