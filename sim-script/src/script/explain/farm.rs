//! Mistakes that the farm finds, at the word in the call or in the row that they are about.

use crate::script::csv_rows;
use crate::script::error::ScriptError;
use crate::script::evaluation::Place;
use crate::script::source::Mark;
use sim_core::farm::{FarmError, FarmErrorKind};
use std::ops::Range;

/// A mistake that the farm found, at the word in the call or in the row that it is about.
pub(crate) fn farm_error(places: &[Place], error: &FarmError) -> ScriptError {
    let shown = match &error.kind {
        FarmErrorKind::Weather { of, why } if of == "the season" => ScriptError::new(why.clone())
            .help("let `last_day` be after `first_day`, in the same year or the next".to_string()),
        kind => ScriptError::new(kind.to_string()).help(kind.fix()),
    };
    let Some(place) = places.get(error.origin.0 as usize) else { return shown };
    let span = if place.row { in_row(place, error) } else { in_call(place, error) };
    shown.at(&place.source, span)
}

fn in_row(place: &Place, error: &FarmError) -> Range<usize> {
    let header = place.source.text.lines().find(|line| !line.starts_with('#') && !line.trim().is_empty());
    let mut columns = header.unwrap_or_default().split(',').map(str::trim);
    if let Some(column) = columns.position(|column| column.trim_matches('"') == error.word) {
        return csv_rows::field_span(&place.source, place.offset, column);
    }
    let rest = &place.source.text[place.offset..];
    let line = rest.find('\n').map_or(rest, |end| &rest[..end]);
    match line.find(&error.word) {
        Some(at) => place.offset + at..place.offset + at + error.word.len(),
        None => place.offset..place.offset + line.len(),
    }
}

fn in_call(place: &Place, error: &FarmError) -> Range<usize> {
    let word = error.word.as_str();
    let value = |key: &str, word: Option<String>| Mark::Value { key: key.into(), word };
    let marks: Vec<Mark> = match &error.kind {
        FarmErrorKind::OutOfRange { what, .. } => what.split(" or ").map(|key| value(key, None)).collect(),
        FarmErrorKind::Unknown { kind, .. } => {
            let keys: &[&str] = match *kind {
                "work class" => &["class"],
                "machine" => &["machines", "units", "drives"],
                "outfit" => &["outfits"],
                "crop" => &["standing", "following", "fallback_crop"],
                "stage" => &["moves_with"],
                "operation" => &["after", "from", "due", "latest"],
                _ => &[],
            };
            keys.iter().map(|key| value(key, Some(word.into()))).collect()
        }
        FarmErrorKind::NoDays { .. } => vec![value("class", None)],
        FarmErrorKind::NoRate { .. } => vec![value("outfits", Some(word.into()))],
        FarmErrorKind::BeyondSeason { which, .. } => vec![value(which, None)],
        FarmErrorKind::WindowOrder { earlier, .. } => {
            let key = earlier.trim_start_matches('`').split('`').next().unwrap_or_default();
            vec![value(key, None)]
        }
        // One quantity of the farm under two keys.
        FarmErrorKind::Missing { .. } if word == "tank_l" => {
            vec![Mark::Key("tank_l".into()), Mark::Key("hopper_kg".into())]
        }
        FarmErrorKind::Twice { .. } => vec![Mark::Argument(0)],
        FarmErrorKind::Weather { of, .. } if of == "the season" => {
            vec![value("last_day", None), value("first_day", None)]
        }
        FarmErrorKind::Weather { of, .. } if of.starts_with("the hours") => {
            vec![value("hours", None), Mark::Argument(0)]
        }
        FarmErrorKind::Weather { .. } => vec![Mark::Argument(0)],
        _ => Vec::new(),
    };
    let word_of = |mark: &Mark| match mark {
        Mark::Value { word: Some(word), .. } => place.source.find_exactly(place.offset, mark, word),
        _ => place.source.try_find(place.offset, mark),
    };
    marks
        .iter()
        .find_map(word_of)
        .unwrap_or_else(|| place.source.find(place.offset, &Mark::Word(word.into())))
}
