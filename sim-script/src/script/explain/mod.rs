//! Rhai's errors and the farm's in the words of a farm script, each at the word that is wrong.

mod farm;
mod parse;
mod run;

pub(crate) use farm::farm_error;
pub(crate) use parse::{parse_error, shadowed_verb};
pub(crate) use run::{run_error, run_error_in};

use super::error::ScriptError;
use super::source::Source;
use super::verbs::verb;
use crate::words::nearest;
use std::ops::Range;
use std::sync::Arc;

/// A sentence of Rhai's to go on after a colon.
fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

/// The mistake of a name that no variable has.
fn unknown_variable(source: &Arc<Source>, span: Range<usize>, name: &str) -> ScriptError {
    if let Some((file, name)) = name.rsplit_once("::") {
        return ScriptError::new(format!("`{file}` has no variable `{name}`"))
            .at(source, span)
            .help(format!("in the file that is imported write export let {name} = ..."));
    }
    let tokens = source.tokens();
    let declared = tokens.windows(2).filter(|pair| matches!(source.word(pair[0]), "let" | "const" | "for"));
    let names: Vec<&str> = declared.map(|pair| source.word(pair[1])).filter(|known| *known != name).collect();
    let help = match (nearest(name, names.iter().copied()), verb(name)) {
        (Some(near), _) => format!("did you mean `{near}`?"),
        (None, Some(verb)) => format!("for example {}", verb.example),
        (None, None) => {
            format!("declare it first with let {name} = ..., or put it in double quotes if it is a text")
        }
    };
    ScriptError::new(format!("there is no variable `{name}`")).at(source, span).help(help)
}
