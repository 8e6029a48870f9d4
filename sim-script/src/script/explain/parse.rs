//! Mistakes in how a script is written, found before it runs.

use super::{lower, unknown_variable};
use crate::script::error::ScriptError;
use crate::script::read::shorten;
use crate::script::source::{Source, TokenKind};
use crate::script::verbs::verb;
use rhai::{LexError, ParseError, ParseErrorType};
use std::ops::Range;
use std::sync::Arc;

/// A mistake that the parser found.
pub(crate) fn parse_error(source: &Arc<Source>, error: &ParseError) -> ScriptError {
    if let Some(error) = open_text(source) {
        return error;
    }
    if let Some(error) = brackets(source) {
        return error;
    }
    let offset = source.byte_of(error.position());
    let span = source.span_at(offset);
    let found = source.text.get(span.clone()).unwrap_or_default().to_string();
    let here = |message: String, help: &str| {
        let help = (!help.is_empty()).then(|| help.to_string());
        ScriptError::new(message).at(source, span.clone()).help(help)
    };
    if let Some(error) = likely_slip(source, &span, &found) {
        return error;
    }
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
        ParseErrorType::ModuleUndefined(name) => here(
            format!("nothing is imported as `{name}`"),
            &format!("write at the top, for example, import \"{name}\" as {name};"),
        ),
        ParseErrorType::Reserved(word) if word == "eval" => {
            here(format!("`{word}` is switched off in farm scripts"), "write everything into the script")
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
        _ => here(format!("this cannot be read: {}", lower(&error.err_type().to_string())), ""),
    }
}

/// What people write who are used to another way of writing.
fn likely_slip(source: &Arc<Source>, span: &Range<usize>, found: &str) -> Option<ScriptError> {
    let tokens = source.tokens();
    let at = source.token_at(span.start);
    let word = |back: usize| {
        at.checked_sub(back).and_then(|at| tokens.get(at)).map(|token| (*token, source.word(*token)))
    };
    let is_number = |text: &str| text.starts_with(|c: char| c.is_ascii_digit());
    if found.starts_with('|') {
        return Some(
            ScriptError::new("functions without a name are switched off in farm scripts")
                .at(source, span.clone())
                .help("write fn name(value) { ... } and call it by its name".to_string()),
        );
    }
    match (word(2), word(1)) {
        (Some((whole, before)), Some((_, ","))) if is_number(before) && is_number(found) => Some(
            ScriptError::new(format!("the number {before},{found} is written with a comma"))
                .at(source, whole.start..span.end)
                .help(format!("write it with a point: {before}.{found}")),
        ),
        (Some((_, outside)), Some((brace, "{")))
            if matches!(outside, "(" | "," | ":" | "[" | "=")
                && tokens.get(at + 1).is_some_and(|next| source.word(*next) == ":") =>
        {
            Some(
                ScriptError::new("a map begins with `#{`, not with `{`")
                    .at(source, brace.start..brace.end)
                    .help("write #{ key: value, ... }".to_string()),
            )
        }
        _ => None,
    }
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
        let help = format!("choose another name, such as {word}_value");
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
    // The quote that is missing may belong to a text before, whose end the next text's quote then was.
    let line = source.line(token.start);
    let run_on = source.tokens().windows(2).map(|pair| (pair[0], pair[1])).find(|(text, next)| {
        text.kind == TokenKind::Text
            && next.kind == TokenKind::Word
            && text.end == next.start
            && source.line(text.start) == line
    });
    let span = run_on.map_or(token.start..token.end, |(text, _)| text.start..text.end);
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
    for (at, token) in source.tokens().iter().enumerate() {
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
                let mut after = source.tokens()[at + 1..].iter();
                let next = after.find(|next| !matches!(source.word(**next), "," | ";"));
                let stray = next.is_some_and(|next| source.word(*next) == closing(source.word(before)));
                if closing(source.word(before)) != close && stray {
                    return Some(
                        ScriptError::new(format!("this `{close}` closes nothing"))
                            .at(source, token.start..token.end)
                            .help("take it out, or write the opening bracket".to_string()),
                    );
                }
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

/// Refuses a function of the script that has the name of a verb: it would hide the verb.
pub(crate) fn shadowed_verb(source: &Arc<Source>, ast: &rhai::AST) -> Result<(), ScriptError> {
    let Some(function) = ast.iter_functions().find(|function| verb(function.name).is_some()) else {
        return Ok(());
    };
    let tokens = source.tokens();
    let written =
        tokens.windows(2).find(|pair| source.word(pair[0]) == "fn" && source.word(pair[1]) == function.name);
    let span = written.map_or(0..0, |pair| pair[1].start..pair[1].end);
    let name = function.name;
    Err(ScriptError::new(format!("`{name}` is a word of the language and cannot be a function of your own"))
        .at(source, span)
        .help(format!("choose another name, such as my_{name}")))
}
