//! Every mistake that a record or its mapping can have: one variant each, with what to do about it.

use super::dates::DateFormat;
use crate::words::number;
use jiff::civil::Date;

/// A mistake; its `Display` is what is wrong, without the place.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub(crate) enum Mistake {
    // Of the mapping.
    #[error("the entry \"{entry}\" has no equals sign")]
    NoEquals { entry: String },
    #[error("\"{word}\" is no word of a mapping")]
    UnknownWord { word: String, near: Option<&'static str> },
    #[error("`{word}` is given no column")]
    NoColumnName { word: &'static str },
    #[error("`{word}` is given column \"{column}\" without a unit")]
    NoUnit { word: &'static str, column: String, fitting: String },
    #[error("\"{unit}\" of `{word}` is no unit known here")]
    UnknownUnit { word: &'static str, unit: String, near: Option<&'static str>, fitting: String },
    #[error("`{word}` cannot be in {unit}: that is {of}, and `{word}` is {is}")]
    UnitMisfit { word: &'static str, unit: &'static str, of: &'static str, is: &'static str, fitting: String },
    #[error("`{word}` is given twice")]
    WordTwice { word: &'static str },
    #[error("column \"{column}\" is given to `{first}` and to `{second}`")]
    ColumnForTwo { column: String, first: &'static str, second: &'static str },
    #[error("\"{pattern}\" is no pattern of dates known here")]
    UnknownPattern { pattern: String, near: Option<&'static str> },
    #[error("the column of `{word}` begins with a quote that does not end")]
    OpenQuote { word: &'static str },
    #[error("\"{after}\" stands after the quoted column of `{word}`")]
    AfterQuote { word: &'static str, after: String },
    #[error("the day is given in two ways: by `date` and by year, month and day")]
    TwoWaysOfDay,
    #[error("the day has no `{missing}`")]
    HalfADay { missing: &'static str },

    // Of the file.
    #[error("is not UTF-8 text: see line {line}")]
    NotUtf8 { line: usize },
    #[error("is empty")]
    Empty,
    #[error("ends its lines with carriage returns alone")]
    CarriageReturns,
    #[error("has a header and no days below it")]
    NoDays,
    #[error("is not a table: {why}")]
    NoTable { why: String },

    // Of the header.
    #[error("has no column `{name}`, which is to hold {}", held(word))]
    NoColumn {
        name: String,
        word: &'static str,
        near: Option<String>,
        columns: String,
        /// A line further down that has the column.
        line: Option<usize>,
    },
    #[error("has the column `{name}` {times} times")]
    ColumnTwice { name: String, times: usize },
    #[error("has no column that holds a quantity")]
    NoQuantity { columns: String, example: String },

    // Of a row or a cell.
    #[error("a line ends within a value in quotes")]
    LineBreak { column: String },
    #[error("has {has} values for {columns} columns")]
    Length { has: usize, columns: usize, separator: char },
    #[error("\"{text}\" is not a number")]
    NotANumber { column: String, text: String },
    #[error("\"{text}\" has a decimal comma, and commas stand between the values")]
    DecimalComma { column: String, text: String },
    #[error("\"{text}\" has another sign before its decimals than the numbers above")]
    MixedDecimals { column: String, text: String, above: char },
    #[error("\"{text}\" is not a date like {pattern}")]
    NotADate { column: String, text: String, pattern: &'static str, others: Vec<&'static str> },
    #[error("\"{text}\" is not a year, a month and a day in figures")]
    NotFigures { column: String, text: String },
    #[error("no calendar has a day \"{text}\"")]
    NoSuchDay { column: String, text: String, others: Vec<&'static str> },
    #[error("the day {date} is there twice")]
    Twice { column: String, date: Date },
    #[error("{date} comes after {above}")]
    OutOfOrder { column: String, date: Date, above: Date },
    #[error("the year {year} is not among {least} to {most}")]
    Year { column: String, year: i16, least: i16, most: i16 },
    #[error("{value} {own}{written} is impossible: a day can have {least} to {most}", value = number(*.value, 2),
        written = .written.map_or(String::new(), |unit| format!(" (\"{text}\" in {unit})")))]
    Impossible {
        column: String,
        text: String,
        /// The unit in which it is written, if it is another.
        written: Option<&'static str>,
        value: f64,
        own: &'static str,
        least: f64,
        most: f64,
        /// Units in which it would be possible, with what it would then be.
        others: Vec<(&'static str, f64)>,
        rain: bool,
    },
    #[error("{low} {own} is above the {high} {own} of column `{other}`", low = number(*.low, 2),
        high = number(*.high, 2))]
    Crossed { column: String, low: f64, other: String, high: f64, own: &'static str },

    // Of all rows together.
    #[error("has in column `{name}` {figure} {own} {per} from {first} to {last}: no place on earth has {bound}",
        figure = number(*.figure, 2))]
    Absurd {
        name: String,
        figure: f64,
        own: &'static str,
        per: &'static str,
        first: Date,
        last: Date,
        bound: String,
        written: &'static str,
        fitting: String,
    },
}

/// How an entry of a mapping is written.
const ENTRY: &str = "write entries as word=COLUMN:unit with commas between, as in rain=RAINFALL:inch";
const ALIKE: &str = "give every row one value for each column";

/// Whether a text is like -999 or -99.90, as files mark what is missing.
fn is_all_nines(text: &str) -> bool {
    let text = text.trim_start_matches('-');
    let decimals = text.contains(['.', ',']);
    let figures = if decimals { text.trim_end_matches('0').replace(['.', ','], "") } else { text.into() };
    figures.len() >= 2 && figures.bytes().all(|byte| byte == b'9')
}

/// What a column is to hold, for a sentence.
fn held(word: &str) -> String {
    match word {
        "date" | "year" | "month" | "day" => format!("the {word}"),
        word => format!("`{word}`"),
    }
}

fn perhaps(near: Option<&str>, rest: &str) -> String {
    near.map_or_else(|| rest.to_string(), |near| format!("did you mean `{near}`? {rest}"))
}

impl Mistake {
    /// The column of the cell that is wrong.
    pub(crate) fn column(&self) -> Option<&str> {
        match self {
            Self::LineBreak { column }
            | Self::NotFigures { column, .. }
            | Self::NotANumber { column, .. }
            | Self::DecimalComma { column, .. }
            | Self::MixedDecimals { column, .. }
            | Self::NotADate { column, .. }
            | Self::NoSuchDay { column, .. }
            | Self::Twice { column, .. }
            | Self::OutOfOrder { column, .. }
            | Self::Year { column, .. }
            | Self::Impossible { column, .. }
            | Self::Crossed { column, .. } => Some(column),
            _ => None,
        }
    }

    /// Whether it is a row's that has no cell to name.
    pub(crate) fn is_of_a_row(&self) -> bool {
        matches!(self, Self::Length { .. })
    }

    /// What to do about it.
    pub(crate) fn fix(&self) -> String {
        match self {
            Self::NoEquals { .. } => ENTRY.into(),
            Self::UnknownWord { near, .. } => {
                let all = super::mapping::words().collect::<Vec<_>>().join(", ");
                perhaps(*near, &format!("the words are {all}"))
            }
            Self::NoColumnName { word: word @ ("date" | "year" | "month" | "day") } => {
                format!("write {word}=COLUMN with the column's name as the header has it")
            }
            Self::NoColumnName { word } => format!("write {word}=COLUMN:unit"),
            Self::NoUnit { word, column, fitting } => {
                format!("write {word}={column}:unit with one of {fitting}")
            }
            Self::UnknownUnit { near, fitting, .. } => perhaps(*near, &format!("its units are {fitting}")),
            Self::UnitMisfit { fitting, .. } => format!("its units are {fitting}"),
            Self::WordTwice { .. } => "give each word one column".into(),
            Self::ColumnForTwo { .. } => "give each word a column of its own".into(),
            Self::UnknownPattern { near, .. } => {
                perhaps(*near, &format!("the patterns are {}", DateFormat::words()))
            }
            Self::OpenQuote { word } | Self::AfterQuote { word, .. } => match *word {
                "year" | "month" | "day" => format!("write {word}=\"COLUMN\""),
                "date" => "write date=\"COLUMN\":DD/MM/YYYY, or another pattern".into(),
                word => format!("write {word}=\"COLUMN\":unit"),
            },
            Self::TwoWaysOfDay => "give date=COLUMN, or year=COLUMN, month=COLUMN, day=COLUMN".into(),
            Self::HalfADay { .. } => {
                "give all three: year=COLUMN, month=COLUMN, day=COLUMN; or one: date=COLUMN".into()
            }
            Self::NotUtf8 { .. } => "save it as UTF-8".into(),
            Self::Empty => "give it a header and a row for each day".into(),
            Self::CarriageReturns => "save it with line feeds at the ends of its lines".into(),
            Self::NoDays => "give it a row for each day".into(),
            Self::NoTable { .. } => "write one row a line".into(),
            Self::NoColumn { line: Some(line), .. } => format!(
                "line {line} looks like the header: take out the lines above it, or begin them with #"
            ),
            Self::NoColumn { word, near, columns, .. } => {
                let unit = match *word {
                    "year" | "month" | "day" => "",
                    "date" => ":DD/MM/YYYY (or another pattern)",
                    _ => ":unit",
                };
                perhaps(
                    near.as_deref(),
                    &format!("the columns are {columns}; name the right one with {word}=COLUMN{unit}"),
                )
            }
            Self::ColumnTwice { .. } => "give the columns different names, so that one can be chosen".into(),
            Self::NoQuantity { columns, example } => format!(
                "say what they are, as in rain={example}:mm, or call them {}; the columns are {columns}",
                sim_core::weather::Quantity::NOTED.map(sim_core::weather::Quantity::name).join(", ")
            ),
            Self::LineBreak { .. } => {
                "is there a quote that does not end? write one row a line, each quote twice within quotes"
                    .into()
            }
            Self::Length { has, columns, separator: ',' } if has > columns => format!(
                "{ALIKE}; put a value with a comma in double quotes; where decimals have commas, put semicolons between \
                 values"
            ),
            Self::Length { .. } => format!("{ALIKE}; leave a cell empty where there is no value"),
            Self::NotANumber { text, .. } => format!(
                "write a number; if \"{text}\" stands for no value, name it as a marker of missing values"
            ),
            Self::DecimalComma { .. } => {
                "write numbers with a point, as in 4.5, or put semicolons between the values".into()
            }
            Self::MixedDecimals { above, .. } => {
                let sign = if *above == ',' { "commas" } else { "points" };
                format!("the numbers above have {sign} before their decimals: write all alike")
            }
            Self::NotADate { others, pattern, .. } if others.is_empty() => {
                format!(
                    "write every date like {pattern}; the patterns that a mapping can name are {}",
                    DateFormat::words()
                )
            }
            Self::NotADate { column, others, .. } => {
                format!(
                    "it looks like {}: name the pattern with date={column}:{}",
                    others.join(" or "),
                    others[0]
                )
            }
            Self::NotFigures { .. } => "write the three columns like 2020, 2 and 29".into(),
            Self::NoSuchDay { column, others, .. } => match others.first() {
                Some(other) => {
                    format!("are the dates {other}? then name the pattern with date={column}:{other}")
                }
                None => "mend the date, or take out the row".into(),
            },
            Self::Twice { .. } => "give each day one row".into(),
            Self::OutOfOrder { .. } => {
                "order the rows from the earliest day to the latest; or are day and month exchanged?".into()
            }
            Self::Year { .. } => "is the year right, with four figures?".into(),
            Self::Impossible { text, others, rain, value, own, .. } => {
                if is_all_nines(text) {
                    return format!(
                        "if \"{text}\" stands for no value, name it as a marker of missing values"
                    );
                }
                if *rain && *value < 0.0 {
                    return format!(
                        "if \"{text}\" stands for a trace, write 0; if it stands for no value, name it as a marker of \
                         missing values"
                    );
                }
                if others.is_empty() {
                    return "mend the value, or leave the cell empty".into();
                }
                let others: Vec<String> = others
                    .iter()
                    .take(4)
                    .map(|(unit, value)| format!("in {unit} it would be {} {own}", number(*value, 2)))
                    .collect();
                format!("is its unit right? {}", others.join(", "))
            }
            Self::Crossed { .. } => "are the two columns exchanged, or their units different?".into(),
            Self::Absurd { written, fitting, .. } => {
                format!("is its unit right? it was read as {written}; its units are {fitting}")
            }
        }
    }
}
