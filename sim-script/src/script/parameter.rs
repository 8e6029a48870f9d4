//! The parameters of a script: what can be set from outside, of the kind that the default is.

use rhai::Dynamic;
use std::fmt;

/// A parameter that a script declares with `param`.
#[derive(Debug, Clone, PartialEq)]
pub struct Parameter {
    /// Its name; a quantity ends in its unit.
    pub name: String,
    /// Its value unless it is set.
    pub default: ParameterValue,
    /// Its value in this evaluation.
    pub value: ParameterValue,
    /// What it means, if the script says so.
    pub about: Option<String>,
}

/// The value of a parameter.
#[derive(Debug, Clone, PartialEq)]
pub enum ParameterValue {
    /// A number.
    Number(f64),
    /// A whole number.
    Whole(i64),
    /// True or false.
    Flag(bool),
    /// A text.
    Text(String),
}

impl ParameterValue {
    pub(crate) fn of(given: &Dynamic) -> Option<Self> {
        if let Ok(whole) = given.as_int() {
            return Some(Self::Whole(whole));
        }
        if let Ok(number) = given.as_float() {
            return number.is_finite().then_some(Self::Number(number));
        }
        if let Ok(flag) = given.as_bool() {
            return Some(Self::Flag(flag));
        }
        given.as_immutable_string_ref().ok().map(|text| Self::Text(text.to_string()))
    }

    pub(crate) fn to_dynamic(&self) -> Dynamic {
        match self {
            Self::Number(number) => (*number).into(),
            Self::Whole(whole) => (*whole).into(),
            Self::Flag(flag) => (*flag).into(),
            Self::Text(text) => text.clone().into(),
        }
    }

    /// Reads a text as a value of the same kind; else what is wrong and what to do.
    pub(crate) fn parse_alike(&self, name: &str, text: &str) -> Result<Self, (String, String)> {
        let text = text.trim();
        let number = text.parse::<f64>().ok().filter(|number| number.is_finite());
        let wrong = |must: &str| format!("the parameter \"{name}\" cannot be \"{text}\": it must be {must}");
        match self {
            Self::Number(_) => number.map(Self::Number).ok_or_else(|| {
                (wrong("a number"), format!("give a number, with a point for fractions: {name}={self}"))
            }),
            Self::Whole(default) => text.parse().map(Self::Whole).map_err(|_| {
                let help = match number {
                    Some(_) => format!("to allow fractions, write its default as {default}.0 in the script"),
                    None => format!("give a whole number: {name}={default}"),
                };
                (wrong("a whole number, as its default is"), help)
            }),
            Self::Flag(_) => text
                .parse()
                .map(Self::Flag)
                .map_err(|_| (wrong("true or false"), format!("give {name}=true or {name}=false"))),
            Self::Text(_) => Ok(Self::Text(text.to_string())),
        }
    }
}

impl fmt::Display for ParameterValue {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            // With a point, so that the reader sees that fractions are allowed.
            Self::Number(number) => write!(f, "{number:?}"),
            Self::Whole(whole) => write!(f, "{whole}"),
            Self::Flag(flag) => write!(f, "{flag}"),
            Self::Text(text) => write!(f, "{text:?}"),
        }
    }
}
