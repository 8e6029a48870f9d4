//! Definitions for editors, in the format in which Rhai itself writes those of an engine: `fn name(argument: type) ->
//! type;` with documentation before it.

use super::page::told;
use crate::script::{Argument, GROUND, Gives, Key, Kind, Property, TOPICS, VIEWS, Verb, about_memory};
use std::fmt::Write as _;

/// The name of a type in Rhai.
const fn gives(of: Gives) -> &'static str {
    match of {
        Gives::Part => "part",
        Gives::Number => "float",
        Gives::Whole => "int",
        Gives::Text => "String",
        Gives::Flag => "bool",
        Gives::List => "Array",
        Gives::Memory => "memory",
        Gives::Nothing => "()",
        Gives::Any => "?",
    }
}

/// The type of an argument in Rhai.
const fn holds(of: Kind) -> &'static str {
    match of {
        Kind::Number => "float",
        Kind::Whole { .. } => "int",
        Kind::Flag => "bool",
        Kind::Text | Kind::Choice(_) | Kind::Day | Kind::Date | Kind::Open | Kind::Weekdays | Kind::Clock => {
            "String"
        }
        Kind::Numbers | Kind::Groups | Kind::Days => "Array",
        Kind::Map | Kind::Settings => "Map",
        Kind::Closure(_) => "FnPtr",
        Kind::Texts | Kind::When | Kind::Hours | Kind::Spell | Kind::Links | Kind::Parts(_) | Kind::Any => {
            "?"
        }
    }
}

/// All definitions.
pub(super) fn definitions() -> String {
    let mut text = "module static;\n".to_string();
    for topic in TOPICS {
        let _ = write!(text, "\n// {}\n", topic.heading);
        for verb in topic.verbs {
            functions(&mut text, verb);
        }
    }
    text.push_str("\n// What decisions can read\n");
    for view in VIEWS {
        for property in view.properties.iter().chain(GROUND) {
            getter(&mut text, view.name, property);
        }
    }
    text
}

/// A verb, once for each number of arguments that it takes.
fn functions(text: &mut String, verb: &Verb) {
    let least = verb.arguments.iter().filter(|argument| !argument.optional).count();
    for count in least..=verb.arguments.len() {
        let arguments = &verb.arguments[..count];
        let _ = write!(text, "\n/// {}\n", verb.about);
        for argument in arguments.iter().filter(|argument| argument.kind != Kind::Map) {
            let Argument { name, kind, about, .. } = argument;
            let _ = write!(text, "///\n/// `{name}`: {}; {about}\n", kind.words());
        }
        if arguments.iter().any(|argument| argument.kind == Kind::Map) {
            text.push_str("///\n/// Keys:\n");
            for key in verb.keys {
                documented(text, verb, key);
            }
        }
        let _ = write!(text, "///\n/// ```rhai\n/// {}\n/// ```\n", verb.example);
        let typed = |argument: &Argument| format!("{}: {}", argument.name, holds(argument.kind));
        let typed: Vec<String> = arguments.iter().map(typed).collect();
        let _ = writeln!(text, "fn {}({}) -> {};", verb.name, typed.join(", "), gives(verb.gives));
    }
}

fn documented(text: &mut String, verb: &Verb, key: &Key) {
    let [holds, unit, permitted, unless, about] = told(verb, key);
    let unit = if unit.is_empty() { unit } else { format!(" ({unit})") };
    let permitted = if permitted.is_empty() { permitted } else { format!(", {permitted}") };
    let unless = match unless.as_str() {
        "" => String::new(),
        "needed" => "; needed".into(),
        text => format!("; {text} unless given"),
    };
    let _ =
        writeln!(text, "/// - `{}: {}`: {holds}{unit}{permitted}{unless}; {about}", key.name, key.example);
}

fn getter(text: &mut String, of: &str, property: &Property) {
    let unit = if property.unit.is_empty() { String::new() } else { format!(" ({})", property.unit) };
    let _ = write!(text, "\n/// {}{unit}\n", property.about);
    if property.gives == Gives::Memory {
        let _ = write!(text, "///\n/// {}\n", about_memory());
    }
    let (name, given) = (property.name, gives(property.gives));
    let _ = match property.takes {
        "" => writeln!(text, "fn get {name}({of}: {of}) -> {given};"),
        takes => writeln!(text, "fn {name}({of}: {of}, {}: String) -> {given};", takes.replace(' ', "_")),
    };
}
