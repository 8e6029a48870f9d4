//! Mistakes that come up while a script runs.

use super::{lower, parse_error, unknown_variable};
use crate::script::engine::{
    DEEPEST_CALLS, LARGEST_MAP, LONGEST, LONGEST_LIST, LONGEST_TEXT, MOST_OPERATIONS,
};
use crate::script::error::ScriptError;
use crate::script::evaluation::Evaluation;
use crate::script::import::MOST_IMPORTS;
use crate::script::policy::known_of;
use crate::script::read::shorten_to;
use crate::script::source::Source;
use crate::script::verb::{Kind, Verb};
use crate::script::verbs::{all_verbs, verb};
use crate::words::nearest;
use rhai::{EvalAltResult, ParseError, Position};
use std::sync::Arc;

/// A mistake that came up while the script ran.
pub(crate) fn run_error(evaluation: &Evaluation, error: EvalAltResult) -> ScriptError {
    run_error_in(evaluation, &evaluation.script, error)
}

/// A mistake that came up while a file of the script ran.
pub(crate) fn run_error_in(
    evaluation: &Evaluation,
    source: &Arc<Source>,
    error: EvalAltResult,
) -> ScriptError {
    if let EvalAltResult::ErrorInModule(_, inner, _) = error {
        return run_error_in(evaluation, source, *inner);
    }
    if let EvalAltResult::ErrorInFunctionCall(name, file, inner, position) = error {
        let line = source.line(source.byte_of(position));
        let explained = run_error_in(evaluation, &evaluation.source_of(Some(&file)), *inner);
        // A hundred calls of one function by itself say no more than one.
        let note = format!("in the call of `{name}` on line {line}");
        return if explained.notes() < 3 { explained.note(note) } else { explained };
    }
    let position = error.position();
    let span = source.span_at(source.byte_of(position));
    let here = |message: String, help: String| ScriptError::new(message).at(source, span.clone()).help(help);
    match error {
        EvalAltResult::ErrorRuntime(thrown, _) => match thrown.try_cast_result::<ScriptError>() {
            Ok(ours) => ours,
            Err(thrown) => {
                let text = if thrown.is_unit() {
                    "the script stops here".into()
                } else {
                    shorten_to(&thrown.to_string(), LONGEST_THROWN)
                };
                ScriptError::new(text).at(source, span).help(None)
            }
        },
        EvalAltResult::ErrorParsing(kind, position) => {
            parse_error(source, &ParseError(Box::new(kind), position))
        }
        EvalAltResult::ErrorVariableNotFound(name, _) => unknown_variable(source, span, &name),
        EvalAltResult::ErrorFunctionNotFound(signature, _) => unknown_function(source, &signature, position),
        EvalAltResult::ErrorPropertyNotFound(name, _) => here(
            format!("the map has no key `{}`", name.split(' ').next().unwrap_or_default()),
            "check how the key is written where the map is made".into(),
        ),
        EvalAltResult::ErrorIndexNotFound(index, _) => here(
            format!("there is nothing under {index}"),
            "check how it is written where the map is made".into(),
        ),
        EvalAltResult::ErrorArrayBounds(length, index, _) => here(
            format!("the list has {length} items, but item {index} is asked for"),
            "items are counted from 0".into(),
        ),
        EvalAltResult::ErrorDotExpr(ref why, _) if property(why).is_some() => {
            let (name, of) = property(why).unwrap_or_default();
            let (all, near) = known_of(of, name).unwrap_or_default();
            if all.contains(&name) {
                return here(
                    format!("`{name}` of a {of} cannot be changed"),
                    "a decision only looks at it; to compare two values write ==".into(),
                );
            }
            here(
                format!("a {of} has no `{name}`"),
                near.map_or_else(
                    || format!("a {of} has {}", all.join(", ")),
                    |near| format!("did you mean `{near}`?"),
                ),
            )
        }
        EvalAltResult::ErrorDotExpr(..) | EvalAltResult::ErrorIndexingType(..) => here(
            "there is nothing to look up in this".into(),
            "only lists and maps can be looked into; parts of a farm cannot".into(),
        ),
        EvalAltResult::ErrorMismatchDataType(wanted, got, _)
        | EvalAltResult::ErrorMismatchOutputType(wanted, got, _) => here(
            format!("here must be {}, but this is {}", type_words(&wanted), type_words(&got)),
            String::new(),
        ),
        EvalAltResult::ErrorFor(_) => here(
            "`for` needs a list or a range to go through".into(),
            "for example for n in 1..=3 { ... }".into(),
        ),
        EvalAltResult::ErrorArithmetic(..) => here(
            "this cannot be reckoned: a division by zero, or a number too large".into(),
            "check the numbers in it".into(),
        ),
        EvalAltResult::ErrorTooManyOperations(_) => here(
            format!("the script does not end: it has taken {} million steps", MOST_OPERATIONS / 1_000_000),
            "see whether a loop goes on for ever".into(),
        ),
        EvalAltResult::ErrorTerminated(..) => here(
            format!("the script does not end: it has run for {} seconds", LONGEST.as_secs()),
            "see whether a loop goes on for ever".into(),
        ),
        EvalAltResult::ErrorStackOverflow(_) => here(
            format!("functions call one another more than {DEEPEST_CALLS} deep"),
            "see whether a function calls itself without end".into(),
        ),
        EvalAltResult::ErrorDataTooLarge(what, _) => {
            let what = match what.as_str() {
                what if what.contains("string") => format!("a text has more than {LONGEST_TEXT} letters"),
                what if what.contains("map") => format!("a map has more than {LARGEST_MAP} keys"),
                _ => format!("a list has more than {LONGEST_LIST} items"),
            };
            here(what, "see whether a loop adds to it for ever".into())
        }
        EvalAltResult::ErrorTooManyModules(_) => here(
            format!("the script imports more than {MOST_IMPORTS} times"),
            "import each file once, at the top of the script".into(),
        ),
        EvalAltResult::ErrorModuleNotFound(name, _) => here(
            format!("there is no `{name}` to look into with `::`"),
            format!("import it first, at the top of the script: import \"{name}\" as {name};"),
        ),
        EvalAltResult::ErrorTooManyVariables(_) => here(
            "the script has too many variables at one time".into(),
            "put them into a list or a map".into(),
        ),
        EvalAltResult::ErrorAssignmentToConstant(name, _) => here(
            format!("`{name}` is a `const` and cannot be changed"),
            format!("declare it with let {name} = ... if it has to change"),
        ),
        other => ScriptError::new(format!("this cannot be done: {}", lower(&short(&other))))
            .at(source, span)
            .help(None),
    }
}

/// Of what Rhai says of a property that a job or a day does not have: its name, and which of them.
fn property(why: &str) -> Option<(&str, &str)> {
    let mut quoted = why.split('\'').skip(1).step_by(2);
    let (name, of) = (quoted.next()?, quoted.next()?);
    known_of(of, name).map(|_| (name, of))
}

/// The most letters that are shown of what a script throws.
const LONGEST_THROWN: usize = 240;

fn short(error: &EvalAltResult) -> String {
    let text = error.to_string();
    text.split(" (line").next().unwrap_or_default().to_string()
}

/// Rhai's name of a type in words.
fn type_words(name: &str) -> String {
    let words = match name.trim_start_matches('&').trim_start_matches("mut ") {
        "i64" => "a whole number",
        "f64" => "a number",
        "bool" => "true or false",
        "()" => "nothing",
        "array" => "a list",
        "map" => "a map",
        "part" => "a part of a farm",
        "char" => "a letter",
        text if text.contains("tring") => "a text",
        other => return other.to_string(),
    };
    words.to_string()
}

fn unknown_function(source: &Arc<Source>, signature: &str, position: Position) -> ScriptError {
    let span = source.span_at(source.byte_of(position));
    let (name, given) = signature.split_once(" (").unwrap_or((signature, ""));
    let given: Vec<String> =
        given.trim_end_matches(')').split(", ").filter(|one| !one.is_empty()).map(type_words).collect();
    let given = given.join(" and ");
    if let Some(verb) = verb(name) {
        let given = if given.is_empty() { "nothing" } else { &given };
        let message = format!("{name} takes {} in its brackets, but here is {given}", arguments(verb));
        return ScriptError::new(message).at(source, span).help(format!("for example {}", verb.example));
    }
    if !name.starts_with(|c: char| c.is_alphabetic() || c == '_') {
        return ScriptError::new(format!("`{name}` cannot be worked out between {given}"))
            .at(source, span)
            .help(if name == "+" && given.contains("a text") {
                "a number goes into a text between backquotes, as in `operator ${number}`; to count on from a \
                 date write add_days(\"03-01\", 20)"
                    .to_string()
            } else {
                "check what stands on both sides; a text in quotes is not a number".to_string()
            });
    }
    if let Some((file, name)) = name.rsplit_once("::") {
        return ScriptError::new(format!(
            "`{file}` has no function `{name}` for what stands in the brackets"
        ))
        .at(source, span)
        .help("compare it with the file that is imported, and count the values".to_string());
    }
    let own: Vec<&str> = (source.tokens().windows(2))
        .filter(|pair| source.word(pair[0]) == "fn")
        .map(|pair| source.word(pair[1]))
        .collect();
    if own.contains(&name) {
        return ScriptError::new(format!(
            "the function `{name}` is called with another number of values than it has"
        ))
        .at(source, span)
        .help("compare the call with the line where the function is written".to_string());
    }
    let known = all_verbs().map(|verb| verb.name).chain(own);
    let help = match nearest(name, known) {
        Some(near) => format!("did you mean `{near}`?"),
        None => {
            let names: Vec<&str> = all_verbs().map(|verb| verb.name).collect();
            format!("the words of the language are {}", names.join(", "))
        }
    };
    ScriptError::new(format!("there is no `{name}`")).at(source, span).help(help)
}

/// What a verb takes, in words.
fn arguments(verb: &Verb) -> String {
    let words: Vec<String> = verb
        .arguments
        .iter()
        .map(|argument| {
            let kind = argument.kind.words();
            let kind = if argument.kind == Kind::Map { "#{ ... }".into() } else { kind };
            if argument.optional {
                format!("if wanted the {} ({kind})", argument.name)
            } else {
                format!("the {} ({kind})", argument.name)
            }
        })
        .collect();
    words.join(" and ")
}
