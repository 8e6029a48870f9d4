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
        let given = Given { from: keys.number("from"), to: keys.number("to"), one_of: keys.texts("one_of") };
        match default {
            ParameterValue::Number(number) => given.numbers(name, default, *number, false),
            ParameterValue::Whole(whole) => given.numbers(name, default, *whole as f64, true),
            ParameterValue::Text(text) => given.texts(name, text),
            ParameterValue::Flag(_) => given.nothing(name),
        }
    }
}

/// What the keys of a call of `param` say of the range.
struct Given {
    from: Option<f64>,
    to: Option<f64>,
    one_of: Option<Vec<String>>,
}

impl Given {
    /// The range of a number whose default is this.
    fn numbers(
        self,
        name: &str,
        default: &ParameterValue,
        number: f64,
        whole: bool,
    ) -> Result<Option<ParameterRange>, Mistake> {
        if self.one_of.is_some() {
            let why = format!("the parameter \"{name}\" is a number: it is not one of some texts");
            return Err(at("one_of", why, format!("write from what to what it goes, as in from: {default}")));
        }
        let (from, to) = match (self.from, self.to) {
            (None, None) => return Ok(None),
            (Some(from), Some(to)) => (from, to),
            (given, _) => {
                let (key, other) = if given.is_some() { ("from", "to") } else { ("to", "from") };
                let why = format!("the range of the parameter \"{name}\" has `{key}` but no `{other}`");
                return Err(at(key, why, format!("add, for example, {other}: {default}")));
            }
        };
        let is_whole = |value: f64| value.fract() == 0.0 && value.abs() < 1e15;
        let broken = [("from", from), ("to", to)].into_iter().find(|(_, value)| !is_whole(*value));
        if let Some((key, _)) = broken.filter(|_| whole) {
            let why = format!("the parameter \"{name}\" is a whole number: so must `{key}` be");
            return Err(at(key, why, format!("to allow fractions, write its default as {default}.0")));
        }
        if from >= to || number < from || number > to {
            let why = format!(
                "the parameter \"{name}\" goes from {from} to {to}: it must go up, and its default {default} lie within"
            );
            return Err(at("from", why, "widen it, or give another default"));
        }
        Ok(Some(ParameterRange::Numbers { from, to }))
    }

    /// What a text can be whose default is this.
    fn texts(self, name: &str, default: &str) -> Result<Option<ParameterRange>, Mistake> {
        if let Some((key, _)) = [("from", self.from), ("to", self.to)].iter().find(|(_, end)| end.is_some()) {
            let why = format!("the parameter \"{name}\" is a text: it has no `{key}`");
            return Err(at(key, why, "write its texts, as in one_of: [\"plough\", \"direct\"]"));
        }
        let Some(texts) = self.one_of else { return Ok(None) };
        let twice = |(index, text): (usize, &String)| texts[..index].contains(text);
        let has_default = texts.iter().any(|text| text == default);
        if texts.len() < 2 || texts.iter().enumerate().any(twice) || !has_default {
            let why = format!(
                "`one_of` of the parameter \"{name}\" must be two texts or more, its default {default:?} among them, and none \
                 twice"
            );
            return Err(at("one_of", why, format!("add {default:?}, and what else it can be")));
        }
        Ok(Some(ParameterRange::Texts(texts)))
    }

    /// True or false has no range.
    fn nothing(&self, name: &str) -> Result<Option<ParameterRange>, Mistake> {
        let keys =
            [("from", self.from.is_some()), ("to", self.to.is_some()), ("one_of", self.one_of.is_some())];
        match keys.iter().find(|(_, given)| *given) {
            None => Ok(None),
            Some((key, _)) => {
                let why = format!(
                    "the parameter \"{name}\" is true or false: there is nothing else that it can be"
                );
                Err(at(key, why, format!("take `{key}` out")))
            }
        }
    }
}

/// A mistake in the value of a key.
fn at(key: &str, why: impl Into<String>, help: impl Into<String>) -> Mistake {
    Mistake::new(Mark::Key(key.to_string()), why, help)
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
