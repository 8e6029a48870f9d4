//! What a parameter is varied over, as it is asked for: NAME=FROM..TO:STEP, NAME=FROM..TO, NAME=a,b,c. Ranges are
//! reckoned in decimals, so that 3..6:0.1 gives 3.3 and not 3.3000000000000003. Which parameters there are is not known
//! here.

use super::Failure;
use crate::script::{Parameter, ParameterValue};
use std::fmt;

/// How it is written, for messages.
const WRITE: &str =
    "Write NAME=FROM..TO:STEP, as in drill_width_m=3..6:0.5, or NAME=a,b,c, as in operators=1,2,4.";

/// The most digits of a number in a range: as many as a number of the farm holds exactly.
const MOST_DIGITS: usize = 15;

/// A parameter with what it is varied over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Vary {
    pub(super) name: String,
    pub(super) over: Over,
}

/// What a parameter is varied over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Over {
    /// What the script says that it can be.
    Declared,
    /// From one number to another.
    Range { from: Decimal, to: Decimal, step: Option<Decimal> },
    /// These.
    List(Vec<String>),
}

/// A number with an end to its decimals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Decimal {
    units: i128,
    decimals: u32,
}

impl Decimal {
    fn read(text: &str) -> Option<Self> {
        let text = text.trim();
        let (sign, digits) = match text.strip_prefix('-') {
            Some(digits) => (-1, digits),
            None => (1, text),
        };
        let (whole, part) = digits.split_once('.').unwrap_or((digits, ""));
        let count = whole.len() + part.len();
        let all_digits = format!("{whole}{part}").bytes().all(|byte| byte.is_ascii_digit());
        if count == 0 || count > MOST_DIGITS || !all_digits {
            return None;
        }
        let units: i128 = format!("{whole}{part}").parse().ok()?;
        Some(Self { units: sign * units, decimals: part.len() as u32 })
    }

    /// In units of so many decimals, which are at least its own.
    fn in_units(self, decimals: u32) -> i128 {
        self.units * 10i128.pow(decimals - self.decimals)
    }

    /// The number as the farm holds it.
    pub(super) fn number(self) -> f64 {
        self.to_string().parse().unwrap_or_default()
    }
}

impl fmt::Display for Decimal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (all, scale) = (self.units.unsigned_abs(), 10u128.pow(self.decimals));
        let sign = if self.units < 0 { "-" } else { "" };
        let width = self.decimals as usize;
        let part = format!("{:0width$}", all % scale);
        match part.trim_end_matches('0') {
            "" => write!(f, "{sign}{}", all / scale),
            part => write!(f, "{sign}{}.{part}", all / scale),
        }
    }
}

impl Vary {
    /// Reads what is asked for; else what is wrong and what to do, in two lines.
    pub(super) fn read(text: &str) -> Result<Self, String> {
        let Some((name, values)) = text.split_once('=') else {
            return Ok(Self { name: text.trim().into(), over: Over::Declared });
        };
        let (name, values) = (name.trim(), values.trim());
        if name.is_empty() || values.is_empty() {
            return Err(format!(
                "{text} says no {}\n{WRITE}",
                if name.is_empty() { "name" } else { "value" }
            ));
        }
        let over = match values.split_once("..") {
            Some((from, rest)) => {
                let (to, step) = match rest.split_once(':') {
                    Some((to, step)) => (to, Some(step)),
                    None => (rest, None),
                };
                let read = |number: &str| {
                    Decimal::read(number).ok_or_else(|| {
                        format!(
                            "\"{}\" in {text} is not a number with a point and at most {MOST_DIGITS} digits\nA range goes from \
                             number to number, as in drill_width_m=3..6:0.5; days and other texts are listed: {name}=a,b,c.",
                            number.trim()
                        )
                    })
                };
                let (from, to, step) = (read(from)?, read(to)?, step.map(read).transpose()?);
                let decimals = from.decimals.max(to.decimals);
                if from.in_units(decimals) >= to.in_units(decimals) {
                    let step = step.map_or_else(String::new, |step| format!(":{step}"));
                    return Err(format!(
                        "{text} does not go up\nWrite the lesser end first: {name}={to}..{from}{step}"
                    ));
                }
                if step.is_some_and(|step| step.units <= 0) {
                    return Err(format!(
                        "the step of {text} is not above 0\nWrite how far it is from one value to the next: {name}={from}..{to}:1"
                    ));
                }
                Over::Range { from, to, step }
            }
            None => {
                let list: Vec<String> = values.split(',').map(|value| value.trim().to_string()).collect();
                if list.iter().any(String::is_empty) {
                    return Err(format!("{text} has a comma without a value\n{WRITE}"));
                }
                Over::List(list)
            }
        };
        Ok(Self { name: name.into(), over })
    }
}

/// The numbers from one to another in steps, as texts; the last is left out where it is not a whole number of steps
/// away. `Err` with their count if there are more than `most`.
pub(super) fn stepped(from: Decimal, to: Decimal, step: Decimal, most: usize) -> Result<Vec<String>, u128> {
    let decimals = from.decimals.max(to.decimals).max(step.decimals);
    let [first, last, step] = [from, to, step].map(|number| number.in_units(decimals));
    let steps = (last - first) / step;
    match usize::try_from(steps) {
        Ok(steps) if steps < most => {}
        _ => return Err(steps.unsigned_abs() + 1),
    }
    Ok((0..=steps).map(|at| Decimal { units: first + at * step, decimals }.to_string()).collect())
}

/// A value in a table or a sentence: no quotes, no point that need not be.
pub(super) fn plain(value: &ParameterValue) -> String {
    match value {
        ParameterValue::Number(number) => number.to_string(),
        ParameterValue::Text(text) => text.clone(),
        other => other.to_string(),
    }
}

/// A value of a parameter's kind from a text.
pub(super) fn value_of(parameter: &Parameter, text: &str) -> Result<ParameterValue, Failure> {
    let read = parameter.default.parse_alike(&parameter.name, text);
    read.map_err(|(message, help)| Failure::Request(format!("{message}\n{}.", capital(&help))))
}

/// What stands in the way of a range, if the parameter has none.
pub(super) fn no_range(parameter: &Parameter) -> Option<Failure> {
    let (is, list) = match &parameter.default {
        ParameterValue::Number(_) | ParameterValue::Whole(_) => return None,
        ParameterValue::Flag(_) => ("true or false", "false,true".to_string()),
        ParameterValue::Text(text) => ("a text", format!("{text},...")),
    };
    let name = &parameter.name;
    Some(Failure::Request(format!(
        "the parameter {name} is {is}: it does not go from one number to another\nList its values: {name}={list}"
    )))
}

/// A sentence's first letter.
fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn values(text: &str) -> Vec<String> {
        match Vary::read(text).unwrap().over {
            Over::Range { from, to, step: Some(step) } => stepped(from, to, step, 1000).unwrap(),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn ranges_are_exact_in_decimals() {
        assert_eq!(values("x=3..6:0.5"), ["3", "3.5", "4", "4.5", "5", "5.5", "6"]);
        assert_eq!(values("x=0.1..0.5:0.1"), ["0.1", "0.2", "0.3", "0.4", "0.5"]);
        // 6 is not on the grid.
        assert_eq!(values("x = 3 .. 6 : 2"), ["3", "5"]);
        assert_eq!(values("x=-1..1:.5"), ["-1", "-0.5", "0", "0.5", "1"]);
        assert_eq!(values("x=1..2:5"), ["1"]);
        assert_eq!(values("x=0..0.999:0.001").len(), 1000);
    }

    #[test]
    fn lists_are_taken_as_they_are() {
        let list = |text: &str| Vary::read(text).unwrap().over;
        assert_eq!(list("x=a, b,c"), Over::List(vec!["a".into(), "b".into(), "c".into()]));
        assert_eq!(list("from=10-15,10-22"), Over::List(vec!["10-15".into(), "10-22".into()]));
        assert_eq!(list("ploughed"), Over::Declared);
    }

    #[test]
    fn what_cannot_be_read_is_said() {
        for wrong in [
            "=1,2",
            "x=",
            "x=1,,2",
            "x=1..wide:1",
            "x=6..3:1",
            "x=3..3:1",
            "x=3..6:0",
            "x=3..6:-1",
            "x=..6",
            "x=1e3..2:1",
        ] {
            let told = Vary::read(wrong).unwrap_err();
            assert_eq!(told.lines().count(), 2, "{told}");
        }
    }

    #[test]
    fn too_many_are_counted_and_not_made() {
        let Over::Range { from, to, step: Some(step) } = Vary::read("x=0..999999999:0.00001").unwrap().over
        else {
            panic!("no range")
        };
        assert_eq!(stepped(from, to, step, 1000), Err(99_999_999_900_001));
    }
}
