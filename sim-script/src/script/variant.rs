//! Variants that a script declares: farms to compare it with, each some other values of its parameters.

use super::error::ScriptError;
use super::evaluation::Evaluation;
use super::parameter::{Parameter, ParameterValue};
use super::read::{Mistake, describe};
use super::source::Mark;
use super::verb::{Argument, Gives, Kind, Verb};
use crate::words::nearest;
use rhai::{Dynamic, Map};

/// The most variants of a script: each is worked through every season.
const MOST: usize = 100;

/// What the farm as it is is called among its variants.
pub(crate) const BASE: &str = "base";

/// `variant`.
pub(super) const VARIANT: Verb = Verb {
    name: "variant",
    about: "A farm that `dryspell compare` compares with the farm as it is: in which parameters it differs.",
    gives: Gives::Nothing,
    arguments: &[
        Argument { name: "name", kind: Kind::Text, optional: false, about: "its name" },
        Argument {
            name: "values",
            kind: Kind::Settings,
            optional: false,
            about: "parameters of the script with their values on that farm, each of the kind of its default",
        },
    ],
    keys: &[],
    ranges: &[],
    example: "variant(\"wider drill\", #{ drill_width_m: 6.0 });",
};

/// A farm that a script compares with the farm as it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScriptVariant {
    /// Its name.
    pub name: String,
    /// The parameters in which it differs, by name and text.
    pub set: Vec<(String, String)>,
}

/// A variant as it was declared: its parameters may be declared only after it.
#[derive(Debug)]
pub(super) struct Declared {
    /// The first byte of the call.
    offset: usize,
    name: String,
    values: Vec<(String, ParameterValue)>,
}

/// Reads a call's arguments; `before` are the variants declared so far.
pub(super) fn declare(
    offset: usize,
    arguments: &[Dynamic],
    before: &[Declared],
) -> Result<Declared, Mistake> {
    let example = format!("for example {}", VARIANT.example);
    let given = arguments.first().cloned().unwrap_or(Dynamic::UNIT);
    let name = match given.as_immutable_string_ref() {
        Ok(name) if !name.trim().is_empty() => name.trim().to_string(),
        _ => {
            let message = format!("the name in variant must be a text, but this is {}", describe(&given));
            return Err(Mistake::new(Mark::Argument(0), message, example));
        }
    };
    if name == BASE {
        let message = format!("a variant cannot be called \"{BASE}\": the farm as it is is called so");
        return Err(Mistake::new(Mark::Argument(0), message, "give it the name of what is changed"));
    }
    if before.iter().any(|other| other.name == name) {
        let message = format!("there are two variants \"{name}\"");
        return Err(Mistake::new(Mark::Argument(0), message, "give each a name of its own"));
    }
    if before.len() == MOST {
        let message = format!("a script has at most {MOST} variants");
        return Err(Mistake::new(Mark::Call, message, "compare fewer at a time"));
    }
    let given = arguments.get(1).cloned().unwrap_or(Dynamic::UNIT);
    let described = describe(&given);
    let values = given.try_cast::<Map>().ok_or_else(|| {
        let message = format!("variant needs a map of parameters here, but this is {described}");
        Mistake::new(Mark::Argument(1), message, example)
    })?;
    if values.is_empty() {
        let message = format!("the variant \"{name}\" changes nothing");
        return Err(Mistake::new(Mark::Argument(1), message, "name a parameter with another value"));
    }
    let value = |(key, given): (_, Dynamic)| {
        let key = String::from(key);
        match ParameterValue::of(&given) {
            Some(value) => Ok((key, value)),
            None => Err(Mistake::new(
                Mark::Key(key.clone()),
                format!("`{key}` of the variant \"{name}\" is {}", describe(&given)),
                "give a number, a text in double quotes, true or false",
            )),
        }
    };
    let values = values.into_iter().map(value).collect::<Result<_, _>>()?;
    Ok(Declared { offset, name, values })
}

/// The variants of a script that has been evaluated.
///
/// # Errors
/// The first value that is for no parameter, or not of its kind.
pub(super) fn variants(evaluation: &Evaluation) -> Result<Vec<ScriptVariant>, ScriptError> {
    let parameters = evaluation.parameters.borrow();
    let declared = evaluation.variants.borrow();
    let variant = |of: &Declared| {
        let set = of.values.iter().map(|(key, value)| setting(&of.name, key, value, &parameters));
        let set = set.collect::<Result<_, _>>().map_err(|mistake| evaluation.error(of.offset, mistake))?;
        Ok(ScriptVariant { name: of.name.clone(), set })
    };
    declared.iter().map(variant).collect()
}

/// A value as it is set from outside.
fn setting(
    variant: &str,
    key: &str,
    value: &ParameterValue,
    parameters: &[Parameter],
) -> Result<(String, String), Mistake> {
    let mark = || Mark::Key(key.to_string());
    let Some(parameter) = parameters.iter().find(|parameter| parameter.name == key) else {
        let names = || parameters.iter().map(|parameter| parameter.name.as_str());
        let all = match parameters.is_empty() {
            true => "the script declares none".to_string(),
            false => format!("the script declares {}", names().collect::<Vec<_>>().join(", ")),
        };
        let help = match nearest(key, names()) {
            Some(near) => format!("did you mean `{near}`? {all}"),
            None => all,
        };
        let message = format!("the variant \"{variant}\" sets `{key}`, but the script has no such parameter");
        return Err(Mistake::new(mark(), message, help));
    };
    let text = match (&parameter.default, value) {
        (ParameterValue::Number(_) | ParameterValue::Whole(_), ParameterValue::Whole(whole)) => {
            whole.to_string()
        }
        (ParameterValue::Number(_), ParameterValue::Number(number)) => format!("{number:?}"),
        (ParameterValue::Flag(_), ParameterValue::Flag(flag)) => flag.to_string(),
        (ParameterValue::Text(_), ParameterValue::Text(text)) => text.clone(),
        (default, _) => {
            let kind = match default {
                ParameterValue::Number(_) => "a number",
                ParameterValue::Whole(_) => "a whole number",
                ParameterValue::Flag(_) => "true or false",
                ParameterValue::Text(_) => "a text",
            };
            let message = format!(
                "`{key}` of the variant \"{variant}\" is {value}: it must be {kind}, as its default {default} is"
            );
            let help = match (default, value) {
                (ParameterValue::Whole(default), ParameterValue::Number(_)) => {
                    format!("to allow fractions, write its default as {default}.0")
                }
                _ => format!("give {kind}"),
            };
            return Err(Mistake::new(mark(), message, help));
        }
    };
    Ok((key.to_string(), text))
}
