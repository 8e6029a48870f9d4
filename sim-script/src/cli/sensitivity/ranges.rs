//! Which parameters are screened, and what each can be.

use crate::cli::Failure;
use crate::cli::vary::{Over, Vary, no_range, plain, value_of};
use crate::script::{Parameter, ParameterRange, ParameterValue};
use sim_core::study::screen::{Factor, Levels};

/// Levels of a number: as many as Morris (1991) takes in his examples.
const LEVELS: usize = 4;

/// The most texts of a parameter.
const MOST_TEXTS: usize = 50;

/// A parameter with the values at its levels, as they are set.
#[derive(Debug)]
pub(super) struct Screened {
    pub(super) name: String,
    pub(super) values: Vec<String>,
    pub(super) levels: Levels,
}

impl Screened {
    pub(super) fn factor(&self) -> Factor {
        Factor { name: self.name.clone(), levels: self.levels.clone() }
    }

    /// Whether its values have an order.
    pub(super) fn ordered(&self) -> bool {
        matches!(self.levels, Levels::Ordered(_))
    }

    /// The ends of its range; of texts without an order all of them, and nothing.
    pub(super) fn ends(&self) -> (String, String) {
        match (self.ordered(), self.values.as_slice()) {
            (true, [from, .., to]) => (from.clone(), to.clone()),
            _ => (self.values.join(", "), String::new()),
        }
    }

    /// Its range in words: `3 to 6`.
    pub(super) fn in_words(&self) -> String {
        match self.ends() {
            (all, to) if to.is_empty() => all,
            (from, to) => format!("{from} to {to}"),
        }
    }

    fn list(name: &str, values: Vec<String>) -> Self {
        // Of two values the first is the beginning and the second the end.
        let levels = if values.len() == 2 { Levels::even(2) } else { Levels::Unordered(values.len()) };
        Self { name: name.into(), values, levels }
    }

    fn numbers(name: &str, whole: bool, from: f64, to: f64) -> Self {
        // Two neighbouring whole numbers have nothing between them.
        let count = if whole && to - from < 2.0 { 2 } else { LEVELS };
        let at = |level: usize| {
            let value = from + (to - from) * level as f64 / (count - 1) as f64;
            if level + 1 == count {
                to
            } else if whole {
                value.round()
            } else {
                value
            }
        };
        let values: Vec<f64> = (0..count).map(at).collect();
        let positions = values.iter().map(|value| (value - from) / (to - from)).collect();
        Self {
            name: name.into(),
            values: values.iter().map(f64::to_string).collect(),
            levels: Levels::Ordered(positions),
        }
    }
}

/// What is asked for, else what the script declares of the parameters that are not set: those are held.
pub(super) fn ranges(
    asked: &[Vary],
    parameters: &[Parameter],
    set: &[(String, String)],
) -> Result<Vec<Screened>, Failure> {
    let held = |name: &str| set.iter().find(|(other, _)| other == name);
    if asked.is_empty() {
        let free = parameters.iter().filter(|parameter| held(&parameter.name).is_none());
        let declared: Vec<Screened> = free.filter_map(declared).collect();
        if declared.is_empty() {
            let but = if set.is_empty() { "" } else { " other than those set" };
            let example = parameters.first().map_or("drill_width_m", |parameter| parameter.name.as_str());
            return Err(Failure::Request(format!(
                "the script does not say what its parameters{but} can be\nSay it with --vary {example}=FROM..TO, or in the script: \
                 param(\"{example}\", ..., \"what it means\", #{{ from: ..., to: ... }})."
            )));
        }
        return Ok(declared);
    }
    for (index, vary) in asked.iter().enumerate() {
        if let Some((name, value)) = held(&vary.name) {
            return Err(Failure::Request(format!(
                "--vary {name} and --set {name}={value}: what varies has no one value\nLeave one of them out."
            )));
        }
        if asked[..index].iter().any(|before| before.name == vary.name) {
            return Err(Failure::Request(format!(
                "--vary {} is given twice\nLeave one of them out.",
                vary.name
            )));
        }
    }
    let known = asked.iter().filter_map(|vary| {
        // A name that the script does not have is told by the script itself, when it is set.
        let parameter = parameters.iter().find(|parameter| parameter.name == vary.name)?;
        Some(screened(vary, parameter))
    });
    known.collect()
}

/// A flag can be both; of all else the script has to say it.
fn declared(parameter: &Parameter) -> Option<Screened> {
    let name = &parameter.name;
    match (&parameter.range, &parameter.default) {
        (Some(ParameterRange::Numbers { from, to }), default) => {
            Some(Screened::numbers(name, matches!(default, ParameterValue::Whole(_)), *from, *to))
        }
        (Some(ParameterRange::Texts(texts)), _) => Some(Screened::list(name, texts.clone())),
        (None, ParameterValue::Flag(_)) => Some(Screened::list(name, vec!["false".into(), "true".into()])),
        (None, _) => None,
    }
}

fn screened(vary: &Vary, parameter: &Parameter) -> Result<Screened, Failure> {
    let name = &vary.name;
    match &vary.over {
        Over::Declared => declared(parameter).ok_or_else(|| {
            Failure::Request(format!(
                "the script does not say what {name} can be\nSay it here: --vary {name}=FROM..TO, or --vary {name}=a,b,c."
            ))
        }),
        Over::Range { step: Some(_), from, to } => Err(Failure::Request(format!(
            "--vary {name} has no steps: a range has {LEVELS} levels\nWrite --vary {name}={from}..{to}."
        ))),
        Over::Range { from, to, step: None } => {
            if let Some(refused) = no_range(parameter) {
                return Err(refused);
            }
            // A whole number's ends are whole.
            for end in [from, to] {
                value_of(parameter, &end.to_string())?;
            }
            let whole = matches!(parameter.default, ParameterValue::Whole(_));
            Ok(Screened::numbers(name, whole, from.number(), to.number()))
        }
        Over::List(texts) => {
            let values: Vec<ParameterValue> =
                texts.iter().map(|text| value_of(parameter, text)).collect::<Result<_, _>>()?;
            let twice = values.iter().enumerate().any(|(index, value)| values[..index].contains(value));
            if values.len() < 2 || values.len() > MOST_TEXTS || twice {
                return Err(Failure::Request(format!(
                    "--vary {name} needs 2 to {MOST_TEXTS} values, none of them twice\nWrite --vary {name}=a,b,c, or \
                     {name}=FROM..TO for a number."
                )));
            }
            Ok(Screened::list(name, values.iter().map(plain).collect()))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_have_four_levels_and_whole_ones_are_rounded() {
        let plain = Screened::numbers("x", false, 3.0, 6.0);
        assert_eq!(plain.values, ["3", "4", "5", "6"]);
        let whole = Screened::numbers("x", true, 1.0, 3.0);
        assert_eq!(whole.values, ["1", "2", "2", "3"]);
        assert_eq!(whole.levels, Levels::Ordered(vec![0.0, 0.5, 0.5, 1.0]));
        assert_eq!(Screened::numbers("x", true, 1.0, 2.0).values, ["1", "2"]);
        // No range of whole numbers has a step without length.
        for to in 1..60 {
            let of = Screened::numbers("x", true, 0.0, f64::from(to));
            let half = of.values.len() / 2;
            assert!((0..half).all(|low| of.values[low] != of.values[low + half]), "{of:?}");
        }
    }
}
