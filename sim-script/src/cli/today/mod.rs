//! A season from a day on: what `--today` and `--done` make of a farm, and what is said of it. How a season is taken up
//! is in `sim_core::season`; what diaries look like in `script::diary`.

mod standing;
mod told;

pub(super) use told::told;

use super::Failure;
use super::args::TodayArgs;
use crate::script::{Diary, DiaryDay, DiarySeason, ScriptError};
use crate::words::{nearest, one_after_another};
use sim_core::farm::{BegunError, BegunErrorKind, BegunSpec, DoneSpec, Farm};
pub(super) use standing::settled;
use std::path::Path;

/// What is asked for: a day, and what is done by then.
#[derive(Debug)]
pub(super) struct Today {
    day: DiaryDay,
    diary: Option<Diary>,
    rest_done: bool,
}

impl Today {
    /// Reads what is asked for; nothing where seasons are worked from their first day.
    pub(super) fn of(args: &TodayArgs) -> Result<Option<Self>, Failure> {
        let Some(day) = args.today else { return Ok(None) };
        Ok(Some(Self { day, diary: args.done.as_deref().map(diary).transpose()?, rest_done: args.rest_done }))
    }

    /// The farm from that day on.
    pub(super) fn take_up(&self, farm: Farm) -> Result<Farm, Failure> {
        let mut season = DiarySeason::new(farm.span, None);
        let today = season
            .day(self.day)
            .map_err(|wrong| Failure::Request(format!("--today {}: {}", self.day, wrong.why)))?;
        let mut done = Vec::new();
        let rows = self.diary.iter().flat_map(|diary| (0..).zip(&diary.rows).map(move |of| (diary, of)));
        for (diary, (row, of)) in rows {
            let day = match of.finished {
                Some(day) => {
                    season.day(day).map_err(|wrong| diary.mistake(row, "finished", &wrong.why, wrong.fix))?
                }
                // What goes on was last worked yesterday.
                None => today.saturating_sub(1),
            };
            done.push(DoneSpec {
                crop: of.crop.clone(),
                operation: of.operation.clone(),
                field: of.field.clone(),
                area_ha: of.area_done_ha,
                day,
            });
        }
        farm.begun(&BegunSpec { today, done, rest_done: self.rest_done })
            .map_err(|error| self.explain(&error))
    }

    fn explain(&self, error: &BegunError) -> Failure {
        match (&self.diary, error.entry) {
            (Some(diary), Some(row)) => explain(diary, row, &error.kind).into(),
            _ => Failure::Request(error.to_string()),
        }
    }
}

/// Reads a diary.
pub(super) fn diary(path: &Path) -> Result<Diary, Failure> {
    let text = std::fs::read(path).map_err(|error| {
        Failure::Request(format!(
            "cannot read {}: {error}\nName a CSV file with the columns crop, operation and finished.",
            path.display()
        ))
    })?;
    let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
    let text = String::from_utf8(text)
        .map_err(|_| Failure::Request(format!("{} is not text in UTF-8", path.display())))?;
    // A mark of the encoding, which some programs put in front.
    let text = text.strip_prefix('\u{feff}').map(str::to_string).unwrap_or(text);
    Ok(Diary::read(&name, text)?)
}

/// A mistake that the farm found in a row of a diary.
pub(super) fn explain(diary: &Diary, row: usize, kind: &BegunErrorKind) -> ScriptError {
    let known = |name: &str, names: &[String], what: &str| {
        let all = format!("{what} {}", one_after_another(names));
        match nearest(name, names.iter().map(String::as_str)) {
            Some(near) => format!("did you mean \"{near}\"? {all}"),
            None => all,
        }
    };
    let (column, fix) = match kind {
        BegunErrorKind::Crop { name, known: names } => ("crop", known(name, names, "the crops are")),
        BegunErrorKind::Operation { name, known: names, .. } => {
            ("operation", known(name, names, "its operations are"))
        }
        BegunErrorKind::Field { name, known: names, .. } => ("field", known(name, names, "it is done on")),
        BegunErrorKind::OnlyTakesOver { .. } => {
            ("crop", "write the crop that the script puts on the field, or change the script".into())
        }
        BegunErrorKind::Twice { first, .. } => (
            "operation",
            format!(
                "it is in row {} already: keep one of them, or give each its own field",
                diary.line(*first)
            ),
        ),
        BegunErrorKind::NotBeforeToday => {
            ("finished", "leave it out, or give a later day with --today".into())
        }
        BegunErrorKind::Area { .. } => {
            ("area_done_ha", "give the hectares that are done, or leave it empty where all is".into())
        }
        BegunErrorKind::Order { .. } => ("finished", "look at the days of both".into()),
        BegunErrorKind::Ways { .. } => {
            ("operation", "name fields where they were not all treated alike".into())
        }
        BegunErrorKind::Today => ("finished", "give a day of the season with --today".into()),
    };
    diary.mistake(row, column, &kind.to_string(), fix)
}
