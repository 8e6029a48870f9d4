//! What is swept: which parameters, over which values.

use crate::cli::Failure;
use crate::cli::args::{FarmArgs, SweepArgs};
use crate::cli::points;
use crate::cli::vary::{Over, Vary, no_range, plain, stepped, value_of};
use crate::script::{Parameter, ParameterValue};
use crate::words::thousands;
use std::path::{Path, PathBuf};

/// The most values, or pairs of values: each is a farm that is worked through every season.
pub(super) const MOST: usize = 1000;

/// The most parameters.
const MOST_PARAMETERS: usize = 2;

/// A parameter with its values.
#[derive(Debug)]
pub(super) struct Axis {
    pub(super) name: String,
    pub(super) values: Vec<String>,
    /// Whether the values are numbers that go up.
    pub(super) rising: bool,
    /// Which of them the farm as it is has, if one is.
    pub(super) as_it_is: Option<usize>,
    /// The value of the farm as it is.
    pub(super) base: String,
}

/// What is swept over.
#[derive(Debug)]
pub(super) struct Grid {
    pub(super) axes: Vec<Axis>,
}

impl Grid {
    /// How many values or pairs of values.
    pub(super) fn len(&self) -> usize {
        self.axes.iter().map(|axis| axis.values.len()).product()
    }

    /// The parameters with their values at a point; the last parameter goes fastest.
    pub(super) fn at(&self, mut point: usize) -> Vec<(String, String)> {
        let mut set = Vec::with_capacity(self.axes.len());
        for axis in self.axes.iter().rev() {
            set.push((axis.name.clone(), axis.values[point % axis.values.len()].clone()));
            point /= axis.values.len();
        }
        set.reverse();
        set
    }

    /// The point before this one, that differs from it in the last parameter alone.
    pub(super) fn before(&self, point: usize) -> Option<usize> {
        let last = self.axes.last().map_or(1, |axis| axis.values.len());
        (!point.is_multiple_of(last)).then(|| point - 1)
    }

    /// A point in words: `drill_width_m=4.5`.
    pub(super) fn label(&self, point: usize) -> String {
        points::label(&self.at(point))
    }
}

/// The script and what is varied, from what stands on the command line.
pub(super) fn split(args: &SweepArgs) -> Result<(FarmArgs, Vec<Vary>), Failure> {
    let is_script = |text: &String| !text.contains('=') || Path::new(text).is_file();
    let (script, asked) = match args.what.as_slice() {
        [first, rest @ ..] if is_script(first) => (Some(PathBuf::from(first)), rest),
        all => (None, all),
    };
    let vary = asked.iter().map(|text| match text.contains('=') {
        true => Vary::read(text).map_err(Failure::Request),
        false => Err(Failure::Request(format!(
            "{text} says no values\nThe script stands first, then what is swept, as in drill_width_m=3..6:0.5."
        ))),
    });
    Ok((FarmArgs { script, set: args.set.clone() }, vary.collect::<Result<_, _>>()?))
}

/// The grid of what is asked for.
pub(super) fn grid(asked: &[Vary], parameters: &[Parameter]) -> Result<Grid, Failure> {
    if asked.is_empty() || asked.len() > MOST_PARAMETERS {
        let names: Vec<&str> = parameters.iter().map(|parameter| parameter.name.as_str()).collect();
        let (what, example) = match asked.first() {
            None => ("there is nothing to sweep", names.first().copied().unwrap_or("drill_width_m")),
            Some(first) => ("a sweep is over one or two parameters", first.name.as_str()),
        };
        return Err(Failure::Request(format!(
            "{what}\nWrite {example}=FROM..TO:STEP, or {example}=a,b,c. The script's parameters are {}.",
            if names.is_empty() { "none".into() } else { names.join(", ") }
        )));
    }
    if let [one, other] = asked
        && one.name == other.name
    {
        return Err(Failure::Request(format!(
            "{} is swept twice\nWrite all its values in one list: {}=a,b,c.",
            one.name, one.name
        )));
    }
    let axes = asked.iter().filter_map(|vary| {
        // A name that the script does not have is told by the script itself, when it is set.
        let parameter = parameters.iter().find(|parameter| parameter.name == vary.name);
        parameter.map(|parameter| axis(vary, parameter))
    });
    let grid = Grid { axes: axes.collect::<Result<_, _>>()? };
    if let [axis] = grid.axes.as_slice()
        && let [only] = axis.values.as_slice()
        && asked.len() == 1
    {
        let name = &axis.name;
        return Err(Failure::Request(format!(
            "{name} has one value, {only}: there is no way from value to value\nGive two or more, or work that one alone: \
             dryspell run --set {name}={only}"
        )));
    }
    if grid.len() > MOST {
        return Err(too_many(grid.len() as u128));
    }
    Ok(grid)
}

fn too_many(count: u128) -> Failure {
    let count = u64::try_from(count).map_or_else(|_| count.to_string(), thousands);
    let most = thousands(MOST as u64);
    Failure::Request(format!(
        "{count} values are too many: each is a farm that is worked through every season, and {most} is the most\nTake \
         longer steps, or sweep a part at a time."
    ))
}

fn axis(vary: &Vary, parameter: &Parameter) -> Result<Axis, Failure> {
    let texts = match &vary.over {
        Over::Range { from, to, step } => {
            if let Some(refused) = no_range(parameter) {
                return Err(refused);
            }
            let Some(step) = step else {
                return Err(Failure::Request(format!(
                    "{}={from}..{to} says no step\nWrite how far it is from one value to the next: {}={from}..{to}:1",
                    vary.name, vary.name
                )));
            };
            stepped(*from, *to, *step, MOST).map_err(too_many)?
        }
        Over::List(texts) => texts.clone(),
        Over::Declared => Vec::new(),
    };
    let values: Vec<ParameterValue> =
        texts.iter().map(|text| value_of(parameter, text)).collect::<Result<_, _>>()?;
    let twice = |(index, value): (usize, &ParameterValue)| values[..index].contains(value);
    if let Some((_, value)) = values.iter().enumerate().find(|(index, value)| twice((*index, value))) {
        return Err(Failure::Request(format!(
            "{} has the value {} twice\nLeave one of them out.",
            vary.name,
            plain(value)
        )));
    }
    let number = |value: &ParameterValue| match value {
        ParameterValue::Number(number) => Some(*number),
        ParameterValue::Whole(whole) => Some(*whole as f64),
        _ => None,
    };
    let numbers: Option<Vec<f64>> = values.iter().map(number).collect();
    Ok(Axis {
        name: vary.name.clone(),
        rising: numbers.is_some_and(|numbers| numbers.is_sorted()),
        as_it_is: values.iter().position(|value| *value == parameter.value),
        base: plain(&parameter.value),
        values: values.iter().map(plain).collect(),
    })
}
