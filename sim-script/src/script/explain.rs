//! Rhai's errors and the farm's in the words of a farm script, each at the word that is wrong.

use super::csv_rows;
use super::engine::{DEEPEST_CALLS, LONGEST, MOST_OPERATIONS};
use super::error::ScriptError;
use super::read::{nearest, shorten};
use super::session::{Place, Session};
use super::source::{Mark, Source, TokenKind};
use super::verb::Verb;
use super::verbs::{all_verbs, verb};
use rhai::{EvalAltResult, LexError, ParseError, ParseErrorType, Position};
use sim_core::farm::{FarmError, FarmErrorKind};
use std::ops::Range;
use std::sync::Arc;

/// A mistake that the parser found.
pub(crate) fn parse_error(session: &Session, error: &ParseError) -> ScriptError {
    let source = &session.script;
    if let Some(error) = open_text(source) {
        return error;
    }
    if let Some(error) = brackets(source) {
        return error;
    }
    let offset = session.offset(error.position());
    let span = source.span_at(offset);
    let found = source.text.get(span.clone()).unwrap_or_default().to_string();
    let here = |message: String, help: &str| {
        let help = (!help.is_empty()).then(|| help.to_string());
        ScriptError::new(message).at(source, span.clone()).help(help)
    };
    match error.err_type() {
        ParseErrorType::MissingToken(token, _) if found == "=" && matches!(token.as_str(), ":" | ",") => {
            here("`=` stands where a map needs `:`".into(), "write key: value, as in area_ha: 12.0")
        }
        ParseErrorType::MissingToken(token, _)
            if token == "," || token == ")" || token == "]" || token == "}" =>
        {
            missing_comma(source, &span, &found)
        }
        ParseErrorType::MissingToken(token, _) if token == ";" => {
            let before = before(source, &span);
            ScriptError::new(format!("a `;` is missing before `{}`", shorten(&found)))
                .at(source, before)
                .and_at(span.clone(), "before this")
                .help("end every `let` and every other line of its own with `;`".to_string())
        }
        ParseErrorType::MissingToken(token, _) if token == ":" => here(
            format!("`:` is missing before `{}`", shorten(&found)),
            "write key: value, as in area_ha: 12.0",
        ),
        ParseErrorType::Reserved(word) if word == "import" || word == "export" || word == "eval" => {
            here(format!("`{word}` is switched off in farm scripts"), "write everything into one script")
        }
        ParseErrorType::Reserved(word) => reserved(&here, word),
        ParseErrorType::VariableExpected
        | ParseErrorType::PropertyExpected
        | ParseErrorType::ExprExpected(_)
            if is_reserved(&found) =>
        {
            reserved(&here, &found)
        }
        ParseErrorType::VariableUndefined(name) => unknown_variable(source, span, name),
        ParseErrorType::DuplicatedProperty(name) => {
            here(format!("the key `{name}` is there twice in one map"), "take one of the two out")
        }
        ParseErrorType::BadInput(LexError::MalformedChar(_)) => {
            here("texts stand in double quotes, not in single ones".into(), "write \"...\" in place of '...'")
        }
        ParseErrorType::BadInput(LexError::UnexpectedInput(sign)) => here(
            format!("`{}` means nothing here", shorten(sign)),
            "texts stand in double quotes (\"), remarks after //",
        ),
        ParseErrorType::BadInput(LexError::ImproperSymbol(sign, _)) => {
            here(format!("`{}` means nothing here", shorten(sign)), "see whether another sign was meant")
        }
        ParseErrorType::BadInput(LexError::MalformedNumber(number)) => {
            here(format!("`{}` is not a number", shorten(number)), "write numbers as 12 or 0.45")
        }
        ParseErrorType::ExprTooDeep => here(
            "the brackets are nested too deeply here".into(),
            "give the inner parts names with `let` and use the names",
        ),
        ParseErrorType::AssignmentToConstant(_) => {
            here("a `const` cannot be changed".into(), "declare it with `let` if it has to change")
        }
        ParseErrorType::UnexpectedEOF => {
            here("the script ends too early".into(), "let the last line be farm(#{ ... })")
        }
        ParseErrorType::ExprExpected(_) | ParseErrorType::UnknownOperator(_) if found == "," => {
            here("there is a comma too many".into(), "take it out, or write what belongs before it")
        }
        ParseErrorType::FnMissingBody(_)
        | ParseErrorType::FnMissingParams(_)
        | ParseErrorType::FnMissingName => here(
            format!("this function is not whole: {}", lower(&error.err_type().to_string())),
            "write fn name(value) { ... }",
        ),
        _ if found == "|" || found == "||" => here(
            "functions without a name are switched off in farm scripts".into(),
            "write fn name(value) { ... } and call it by its name",
        ),
        _ => here(format!("this cannot be read: {}", lower(&error.err_type().to_string())), ""),
    }
}

/// A sentence of Rhai's to go on after a colon.
fn lower(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_lowercase().chain(letters).collect())
}

/// Words that Rhai keeps for itself and that are likely names on a farm or for a programmer.
const RESERVED: [&str; 40] = [
    "with",
    "default",
    "is",
    "use",
    "new",
    "shared",
    "go",
    "case",
    "match",
    "super",
    "async",
    "await",
    "yield",
    "var",
    "static",
    "void",
    "exit",
    "goto",
    "public",
    "protected",
    "each",
    "then",
    "module",
    "package",
    "nil",
    "null",
    "spawn",
    "thread",
    "sync",
    "in",
    "for",
    "while",
    "loop",
    "if",
    "else",
    "switch",
    "do",
    "until",
    "fn",
    "this",
];

fn is_reserved(word: &str) -> bool {
    RESERVED.contains(&word)
}

fn reserved(here: &dyn Fn(String, &str) -> ScriptError, word: &str) -> ScriptError {
    if word.chars().next().is_some_and(char::is_alphabetic) {
        let help =
            format!("choose another name, such as {word}_value, or put the word in quotes if it is a key");
        here(format!("`{word}` is a word of the language and cannot be a name"), &help)
    } else {
        here(format!("`{}` means nothing here", shorten(word)), "see whether another sign was meant")
    }
}

/// The last byte before a place, to mark where something is missing.
fn before(source: &Source, span: &Range<usize>) -> Range<usize> {
    let token = source.token_at(span.start);
    match token.checked_sub(1).and_then(|before| source.tokens().get(before)) {
        Some(before) => before.start..before.end,
        None => span.clone(),
    }
}

fn missing_comma(source: &Arc<Source>, span: &Range<usize>, found: &str) -> ScriptError {
    let before = before(source, span);
    ScriptError::new(format!("a comma is missing before `{}`", shorten(found)))
        .at(source, before)
        .and_at(span.clone(), "before this")
        .help(
            "put a comma between keys of a map, between items of a list, and between what stands in brackets"
                .to_string(),
        )
}

/// A text whose quotes are not closed.
fn open_text(source: &Arc<Source>) -> Option<ScriptError> {
    let token = source.tokens().iter().find(|token| {
        let word = source.word(**token);
        let quote = word.chars().next().unwrap_or(' ');
        token.kind == TokenKind::Text && (word.chars().count() < 2 || !word.ends_with(quote))
    })?;
    let span = token.start..token.end;
    Some(if source.word(*token).starts_with('\'') {
        ScriptError::new("a single quote begins a text here, but texts stand in double quotes")
            .at(source, span)
            .help("write \"...\" in place of '...'".to_string())
    } else {
        ScriptError::new("this text is not closed")
            .at(source, span)
            .help("put the closing quote where the text ends".to_string())
    })
}

/// A bracket that is not closed, or closed by one of another kind.
fn brackets(source: &Arc<Source>) -> Option<ScriptError> {
    let mut open = Vec::new();
    for token in source.tokens() {
        match token.kind {
            TokenKind::Open => open.push(*token),
            TokenKind::Close => {
                let close = source.word(*token);
                let Some(before) = open.pop() else {
                    return Some(
                        ScriptError::new(format!("this `{close}` closes nothing"))
                            .at(source, token.start..token.end)
                            .help("take it out, or write the opening bracket".to_string()),
                    );
                };
                if closing(source.word(before)) != close {
                    let opened = source.word(before);
                    return Some(
                        ScriptError::new(format!("the bracket `{opened}` is closed by `{close}`"))
                            .at(source, before.start..before.end)
                            .and_at(token.start..token.end, "closed here")
                            .help(format!("write `{}` to close it before this", closing(opened))),
                    );
                }
            }
            _ => {}
        }
    }
    let left = open.pop()?;
    let opened = source.word(left);
    Some(
        ScriptError::new(format!("the bracket `{opened}` is never closed"))
            .at(source, left.start..left.end)
            .help(format!("write `{}` where it ends", closing(opened))),
    )
}

fn closing(open: &str) -> &'static str {
    match open {
        "(" => ")",
        "[" => "]",
        _ => "}",
    }
}

fn unknown_variable(source: &Arc<Source>, span: Range<usize>, name: &str) -> ScriptError {
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

/// A mistake that came up while the script ran.
pub(crate) fn run_error(session: &Session, error: EvalAltResult) -> ScriptError {
    let source = &session.script;
    if let EvalAltResult::ErrorInFunctionCall(name, _, inner, position) = error {
        let line = source.line(session.offset(position));
        let explained = run_error(session, *inner);
        // A hundred calls of one function by itself say no more than one.
        let note = format!("in the call of `{name}` on line {line}");
        return if explained.notes() < 3 { explained.note(note) } else { explained };
    }
    let position = error.position();
    let offset = session.offset(position);
    let span = source.span_at(offset);
    let here = |message: String, help: String| ScriptError::new(message).at(source, span.clone()).help(help);
    match error {
        EvalAltResult::ErrorRuntime(thrown, _) => match thrown.try_cast_result::<ScriptError>() {
            Ok(ours) => ours,
            Err(thrown) => {
                let text = if thrown.is_unit() {
                    "the script stops here".into()
                } else {
                    shorten(&thrown.to_string())
                };
                ScriptError::new(text).at(source, span).help(None)
            }
        },
        EvalAltResult::ErrorParsing(kind, position) => {
            parse_error(session, &ParseError(Box::new(kind), position))
        }
        EvalAltResult::ErrorVariableNotFound(name, _) => unknown_variable(source, span, &name),
        EvalAltResult::ErrorFunctionNotFound(signature, _) => unknown_function(session, &signature, position),
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
        EvalAltResult::ErrorDataTooLarge(what, _) => here(
            format!("a value grows too large: {}", lower(&what)),
            "see whether a loop adds to it for ever".into(),
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

fn unknown_function(session: &Session, signature: &str, position: Position) -> ScriptError {
    let source = &session.script;
    let span = source.span_at(session.offset(position));
    let (name, given) = signature.split_once(" (").unwrap_or((signature, ""));
    let given: Vec<String> =
        given.trim_end_matches(')').split(", ").filter(|one| !one.is_empty()).map(type_words).collect();
    let given = given.join(" and ");
    if let Some(verb) = verb(name) {
        let message = format!("{name} takes {} in its brackets", arguments(verb));
        return ScriptError::new(message).at(source, span).help(format!("for example {}", verb.example));
    }
    if !name.starts_with(|c: char| c.is_alphabetic() || c == '_') {
        return ScriptError::new(format!("`{name}` cannot be worked out between {given}"))
            .at(source, span)
            .help("check what stands on both sides; a text in quotes is not a number".to_string());
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
    let known = all_verbs().iter().map(|verb| verb.name).chain(own);
    let help = match nearest(name, known) {
        Some(near) => format!("did you mean `{near}`?"),
        None => {
            let names: Vec<&str> = all_verbs().iter().map(|verb| verb.name).collect();
            format!("the words of the language are {}", names.join(", "))
        }
    };
    let of = if given.is_empty() { String::new() } else { format!(" for {given}") };
    ScriptError::new(format!("there is no `{name}`{of}")).at(source, span).help(help)
}

/// What a verb takes, in words.
fn arguments(verb: &Verb) -> String {
    let words: Vec<String> = verb
        .arguments
        .iter()
        .map(|argument| {
            let kind = argument.kind.words();
            if argument.optional {
                format!("if wanted the {} ({kind})", argument.name)
            } else {
                format!("the {} ({kind})", argument.name)
            }
        })
        .collect();
    words.join(", ")
}

/// A mistake that the farm found, at the word in the call or in the row that it is about.
pub(crate) fn farm_error(places: &[Place], error: &FarmError) -> ScriptError {
    let shown = ScriptError::new(error.kind.to_string()).help(error.kind.fix());
    let Some(place) = places.get(error.origin.0 as usize) else { return shown };
    let span = if place.row { in_row(place, error) } else { in_call(place, error) };
    shown.at(&place.source, span)
}

fn in_row(place: &Place, error: &FarmError) -> Range<usize> {
    let header = place.source.text.lines().find(|line| !line.starts_with('#') && !line.trim().is_empty());
    let mut columns = header.unwrap_or_default().split(',').map(str::trim);
    if let Some(column) = columns.position(|column| column.trim_matches('"') == error.word) {
        return csv_rows::field_span(&place.source, place.offset, column);
    }
    let rest = &place.source.text[place.offset..];
    let line = rest.find('\n').map_or(rest, |end| &rest[..end]);
    match line.find(&error.word) {
        Some(at) => place.offset + at..place.offset + at + error.word.len(),
        None => place.offset..place.offset + line.len(),
    }
}

fn in_call(place: &Place, error: &FarmError) -> Range<usize> {
    let word = error.word.as_str();
    let value = |key: &str, word: Option<String>| Mark::Value { key: key.into(), word };
    let marks: Vec<Mark> = match &error.kind {
        FarmErrorKind::OutOfRange { what, .. } => what.split(" or ").map(|key| value(key, None)).collect(),
        FarmErrorKind::Unknown { kind, .. } => {
            let keys: &[&str] = match *kind {
                "work class" => &["class"],
                "machine" => &["machines", "units", "drives"],
                "outfit" => &["outfits"],
                "crop" => &["standing", "following", "fallback_crop"],
                "operation" => &["after", "from", "due", "latest"],
                _ => &[],
            };
            keys.iter().map(|key| value(key, Some(word.into()))).collect()
        }
        FarmErrorKind::NoDays { .. } => vec![value("class", None)],
        FarmErrorKind::NoRate { .. } => vec![value("outfits", Some(word.into()))],
        FarmErrorKind::BeyondSeason { which, .. } => vec![value(which, None)],
        FarmErrorKind::WindowOrder { earlier, .. } => {
            let key = earlier.trim_start_matches('`').split('`').next().unwrap_or_default();
            vec![value(key, None)]
        }
        FarmErrorKind::Twice { .. } => vec![Mark::Argument(0)],
        FarmErrorKind::Weather { of, .. } if of == "the season" => {
            vec![value("last_day", None), value("first_day", None)]
        }
        FarmErrorKind::Weather { of, .. } if of.starts_with("the hours") => {
            vec![value("hours", None), Mark::Argument(0)]
        }
        FarmErrorKind::Weather { .. } => vec![Mark::Argument(0)],
        _ => Vec::new(),
    };
    let word_of = |mark: &Mark| match mark {
        Mark::Value { word: Some(word), .. } => place.source.find_exactly(place.offset, mark, word),
        _ => place.source.try_find(place.offset, mark),
    };
    marks
        .iter()
        .find_map(word_of)
        .unwrap_or_else(|| place.source.find(place.offset, &Mark::Word(word.into())))
}

/// Refuses a function of the script that has the name of a verb: it would hide the verb.
pub(crate) fn shadowed_verb(session: &Session, ast: &rhai::AST) -> Result<(), ScriptError> {
    let Some(function) = ast.iter_functions().find(|function| verb(function.name).is_some()) else {
        return Ok(());
    };
    let source = &session.script;
    let tokens = source.tokens();
    let written =
        tokens.windows(2).find(|pair| source.word(pair[0]) == "fn" && source.word(pair[1]) == function.name);
    let span = written.map_or(0..0, |pair| pair[1].start..pair[1].end);
    let name = function.name;
    Err(ScriptError::new(format!("`{name}` is a word of the language and cannot be a function of your own"))
        .at(source, span)
        .help(format!("choose another name, such as my_{name}")))
}
