//! The parameters of a script: what can be set from outside, of the kind that the default is.

use super::read::{Mistake, Values};
use super::source::Mark;
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
    /// What it can sensibly be, if the script says so.
    pub range: Option<ParameterRange>,
}

/// What a parameter can sensibly be, for commands that vary it. A value that is set need not keep to it.
#[derive(Debug, Clone, PartialEq)]
pub enum ParameterRange {
    /// Numbers, the ends counted.
    Numbers {
        /// The least.
        from: f64,
        /// The greatest.
        to: f64,
    },
    /// One of these texts.
    Texts(Vec<String>),
}

impl ParameterRange {
    /// That of the keys of a call of `param`; `None` where they are empty.
    pub(super) fn of(
        name: &str,
        default: &ParameterValue,
        keys: &mut Values,
    ) -> Result<Option<Self>, Mistake> {
        let at = |key: &str| Mark::Key(key.to_string());
        let (from, to, texts) = (keys.number("from"), keys.number("to"), keys.texts("one_of"));
        let number = match default {
            ParameterValue::Number(number) => *number,
            ParameterValue::Whole(whole) => *whole as f64,
            ParameterValue::Text(text) => {
                if from.is_some() || to.is_some() {
                    let key = if from.is_some() { "from" } else { "to" };
                    let why = format!("the parameter \"{name}\" is a text: it has no `{key}`");
                    return Err(Mistake::new(
                        at(key),
                        why,
                        "write its texts, as in one_of: [\"plough\", \"direct\"]",
                    ));
                }
                let Some(texts) = texts else { return Ok(None) };
                let twice = |(index, text): (usize, &String)| texts[..index].contains(text);
                if texts.len() < 2 || texts.iter().enumerate().any(twice) || !texts.contains(text) {
                    let why = format!(
                        "`one_of` of the parameter \"{name}\" must be two texts or more, its default {default} among \
                                       them, and none twice"
                    );
                    return Err(Mistake::new(
                        at("one_of"),
                        why,
                        format!("add {default}, and what else it can be"),
                    ));
                }
                return Ok(Some(Self::Texts(texts)));
            }
            ParameterValue::Flag(_) => {
                let key = [("from", from.is_some()), ("to", to.is_some()), ("one_of", texts.is_some())];
                return match key.iter().find(|(_, given)| *given) {
                    None => Ok(None),
                    Some((key, _)) => Err(Mistake::new(
                        at(key),
                        format!(
                            "the parameter \"{name}\" is true or false: there is nothing else that it can be"
                        ),
                        format!("take `{key}` out"),
                    )),
                };
            }
        };
        if texts.is_some() {
            let why = format!("the parameter \"{name}\" is a number: it is not one of some texts");
            return Err(Mistake::new(
                at("one_of"),
                why,
                format!("write from what to what it goes, as in from: {default}"),
            ));
        }
        let (from, to) = match (from, to) {
            (None, None) => return Ok(None),
            (Some(from), Some(to)) => (from, to),
            (given, _) => {
                let (key, other) = if given.is_some() { ("from", "to") } else { ("to", "from") };
                let why = format!("the range of the parameter \"{name}\" has `{key}` but no `{other}`");
                return Err(Mistake::new(at(key), why, format!("add, for example, {other}: {default}")));
            }
        };
        let whole = |value: f64| value.fract() == 0.0 && value.abs() < 1e15;
        if let (ParameterValue::Whole(_), Some((key, _))) =
            (default, [("from", from), ("to", to)].iter().find(|(_, value)| !whole(*value)))
        {
            let why = format!("the parameter \"{name}\" is a whole number: so must `{key}` be");
            return Err(Mistake::new(
                at(key),
                why,
                format!("to allow fractions, write its default as {default}.0"),
            ));
        }
        if from >= to || number < from || number > to {
            let why = format!(
                "the parameter \"{name}\" goes from {from} to {to}: it must go up, and its default {default} lie within"
            );
            return Err(Mistake::new(at("from"), why, "widen it, or give another default"));
        }
        Ok(Some(Self::Numbers { from, to }))
    }
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
