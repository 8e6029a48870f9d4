//! Which column of a record holds what, in which unit. The file itself is not here.

use super::dates::DateFormat;
use super::error::RecordReadError;
use super::mistake::Mistake;
use super::units::{Dimension, Unit};
use crate::words::nearest;
use sim_core::weather::Quantity;

/// Which column holds which quantity in which unit, and which holds the date.
///
/// A column that is called as the record's own (`rain_mm`, see [`Quantity::name`]) and a column `date` of ISO dates
/// need no word here. Everything else is an entry `word=COLUMN:unit`; the words are `tmin`, `tmax`, `tmean`, `rain`,
/// `rh_mean`, `rh_min`, `wind`, `radiation`, `sunshine`, `et_ref`, `smd_well`, `smd_moderate` and `smd_poor`. The day
/// is `date=COLUMN:DD/MM/YYYY` (or another pattern; without one YYYY-MM-DD), or `year=`, `month=` and `day=` with a
/// column each. A column with a comma, a colon or a quote in its name stands in double quotes.
///
/// ```
/// use sim_script::tables::record::Mapping;
/// let mapping = Mapping::parse(r#"date=Day:DD/MM/YYYY, rain="Rain, total":inch, tmax=TX:F"#)?;
/// let mut same = Mapping::default();
/// same.add("date", "Day:DD/MM/YYYY")?;
/// same.add("rain", r#""Rain, total":inch"#)?;
/// same.add("tmax", "TX:F")?;
/// assert_eq!(mapping, same);
/// # Ok::<(), sim_script::tables::record::RecordReadError>(())
/// ```
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Mapping {
    date: Option<(String, DateFormat)>,
    /// Columns of year, month and day.
    parts: [Option<String>; 3],
    columns: Vec<Mapped>,
}

/// A column with a quantity.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Mapped {
    pub(crate) quantity: Quantity,
    pub(crate) column: String,
    pub(crate) unit: &'static Unit,
}

/// Which columns hold the day.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum DayColumns {
    One(String, DateFormat),
    /// Year, month and day.
    Three([String; 3]),
}

/// The words of a day in three columns.
pub(crate) const PARTS: [&str; 3] = ["year", "month", "day"];

/// The word for a quantity in a mapping: its name without the unit.
pub(crate) fn word(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::TemperatureMin => "tmin",
        Quantity::TemperatureMax => "tmax",
        Quantity::TemperatureMean => "tmean",
        Quantity::Rain => "rain",
        Quantity::HumidityMean => "rh_mean",
        Quantity::HumidityMin => "rh_min",
        Quantity::Wind => "wind",
        Quantity::Radiation => "radiation",
        Quantity::Sunshine => "sunshine",
        Quantity::EtRef => "et_ref",
        Quantity::DeficitWell => "smd_well",
        Quantity::DeficitModerate => "smd_moderate",
        Quantity::DeficitPoor => "smd_poor",
        Quantity::Topsoil => "topsoil",
        Quantity::DeltaT => "delta_t",
    }
}

/// All words that an entry may begin with.
pub(crate) fn words() -> impl Iterator<Item = &'static str> {
    ["date"].into_iter().chain(PARTS).chain(Quantity::NOTED.map(word))
}

impl Mapping {
    /// Reads entries with commas between them; a text without entries maps nothing.
    ///
    /// # Errors
    /// When an entry cannot be read, its word or unit is unknown or does not fit, something is said twice, or the
    /// day is given by half.
    pub fn parse(text: &str) -> Result<Self, RecordReadError> {
        let mut mapping = Self::default();
        for entry in entries(text) {
            let Some((word, what)) = entry.split_once('=') else {
                return Err(Mistake::NoEquals { entry: entry.into() }.into());
            };
            mapping.add(word.trim(), what)?;
        }
        mapping.day_columns()?;
        Ok(mapping)
    }

    /// Adds the entry `word=what`, as a map gives it: the word, and the column with its unit or pattern.
    ///
    /// # Errors
    /// As for [`parse`](Self::parse), but for a day given by half, which reading a record finds.
    pub fn add(&mut self, word_given: &str, what: &str) -> Result<(), RecordReadError> {
        let quantity = Quantity::NOTED.into_iter().find(|quantity| word(*quantity) == word_given);
        let part = PARTS.iter().position(|part| *part == word_given);
        let word = words().find(|known| *known == word_given).ok_or_else(|| Mistake::UnknownWord {
            word: word_given.into(),
            near: Quantity::NOTED
                .into_iter()
                .find(|quantity| quantity.name() == word_given)
                .map(word)
                .or_else(|| nearest(word_given, words())),
        })?;
        let (column, unit) = column_and_unit(word, what, part.is_none())?;
        if column.is_empty() {
            return Err(Mistake::NoColumnName { word }.into());
        }
        if let Some(other) = self.word_of(&column) {
            return Err(match other == word {
                true => Mistake::WordTwice { word },
                false => Mistake::ColumnForTwo { column, first: other, second: word },
            }
            .into());
        }
        if let Some(quantity) = quantity {
            if self.columns.iter().any(|mapped| mapped.quantity == quantity) {
                return Err(Mistake::WordTwice { word }.into());
            }
            let unit = unit_for(word, &column, unit, quantity)?;
            self.columns.push(Mapped { quantity, column, unit });
        } else if let Some(part) = part {
            if self.parts[part].replace(column).is_some() {
                return Err(Mistake::WordTwice { word }.into());
            }
        } else {
            let format = match unit {
                None => DateFormat::Iso,
                Some(text) => DateFormat::named(text).ok_or_else(|| Mistake::UnknownPattern {
                    pattern: text.into(),
                    near: nearest(text, DateFormat::ALL.iter().map(|format| format.word())),
                })?,
            };
            if self.date.replace((column, format)).is_some() {
                return Err(Mistake::WordTwice { word }.into());
            }
        }
        Ok(())
    }

    /// The word that already has the column.
    fn word_of(&self, column: &str) -> Option<&'static str> {
        let date = self.date.as_ref().filter(|(name, _)| name == column).map(|_| "date");
        let part = || self.parts.iter().position(|name| name.as_deref() == Some(column)).map(|at| PARTS[at]);
        let quantity = || self.columns.iter().find(|mapped| mapped.column == column);
        date.or_else(part).or_else(|| quantity().map(|mapped| word(mapped.quantity)))
    }

    /// The columns with quantities.
    pub(crate) fn columns(&self) -> &[Mapped] {
        &self.columns
    }

    /// The columns of the day.
    pub(crate) fn day_columns(&self) -> Result<DayColumns, RecordReadError> {
        match (&self.date, &self.parts) {
            (None, [None, None, None]) => Ok(DayColumns::One("date".into(), DateFormat::Iso)),
            (Some((column, format)), [None, None, None]) => Ok(DayColumns::One(column.clone(), *format)),
            (None, [Some(year), Some(month), Some(day)]) => {
                Ok(DayColumns::Three([year.clone(), month.clone(), day.clone()]))
            }
            (Some(_), _) => Err(Mistake::TwoWaysOfDay.into()),
            (None, parts) => {
                let missing = parts.iter().position(Option::is_none).unwrap_or_default();
                Err(Mistake::HalfADay { missing: PARTS[missing] }.into())
            }
        }
    }
}

/// The entries of a text: what stands between commas outside quotes, empty ones left out.
fn entries(text: &str) -> Vec<&str> {
    let mut quoted = false;
    let parts = text.split(|letter| {
        quoted ^= letter == '"';
        letter == ',' && !quoted
    });
    parts.map(str::trim).filter(|entry| !entry.is_empty()).collect()
}

/// Splits `COLUMN:unit` at its last colon, or after the closing quote. A column without a unit has no colon unless it
/// stands in quotes.
fn column_and_unit<'a>(
    word: &'static str,
    what: &'a str,
    has_unit: bool,
) -> Result<(String, Option<&'a str>), Mistake> {
    let what = what.trim();
    if let Some(rest) = what.strip_prefix('"') {
        let (column, after) = rest.split_once('"').ok_or(Mistake::OpenQuote { word })?;
        let after = after.trim();
        let unit = after.strip_prefix(':').map(str::trim);
        if !after.is_empty() && (unit.is_none() || !has_unit) {
            return Err(Mistake::AfterQuote { word, after: after.into() });
        }
        return Ok((column.trim().into(), unit));
    }
    if !has_unit {
        return Ok((what.into(), None));
    }
    Ok(match what.rsplit_once(':') {
        Some((column, unit)) => (column.trim().into(), Some(unit.trim())),
        None => (what.into(), None),
    })
}

/// The unit of a quantity's column.
fn unit_for(
    word: &'static str,
    column: &str,
    unit: Option<&str>,
    quantity: Quantity,
) -> Result<&'static Unit, Mistake> {
    let dimension = Dimension::of(quantity);
    let fitting = dimension.unit_names();
    let Some(text) = unit.filter(|text| !text.is_empty()) else {
        return Err(Mistake::NoUnit { word, column: column.into(), fitting });
    };
    let Some(unit) = Unit::named(text) else {
        let near = Unit::like(text, dimension);
        return Err(Mistake::UnknownUnit { word, unit: text.into(), near, fitting });
    };
    if unit.dimension != dimension {
        let (of, is) = (unit.dimension.words(), dimension.words());
        return Err(Mistake::UnitMisfit { word, unit: unit.name, of, is, fitting });
    }
    Ok(unit)
}
