//! The text of one word: what it makes, its brackets, its keys, an example; and of what decisions can read.

use crate::cli::plain::{Fit, Plain, wrapped};
use crate::script::{GROUND, Gives, Key, Kind, Need, Property, VIEWS, Verb, about_memory};

/// Columns of a terminal within which examples are laid out.
const EXAMPLE_WIDTH: usize = 96;

/// A heading with a line under it.
pub(super) fn heading(text: &mut String, heading: &str, line: char) {
    text.push_str(heading);
    text.push('\n');
    text.extend(std::iter::repeat_n(line, heading.chars().count()));
    text.push('\n');
}

/// A table without the columns that are empty in every row.
fn table(columns: &[(&str, Fit)], rows: &[Vec<String>]) -> String {
    let filled: Vec<usize> =
        (0..columns.len()).filter(|column| rows.iter().any(|row| !row[*column].is_empty())).collect();
    let kept: Vec<(&str, Fit)> = filled.iter().map(|column| columns[*column]).collect();
    let mut table = Plain::new(&kept);
    for row in rows {
        table.row(filled.iter().map(|column| row[*column].clone()));
    }
    table.text()
}

/// A kind in words, and the range that it has of its own.
fn kind(of: Kind) -> (String, String) {
    match of {
        Kind::Whole { least, most } => ("a whole number".into(), format!("from {least} to {most}")),
        other => (other.words(), String::new()),
    }
}

/// What a key holds, its unit, its range, what stands in its place, and its meaning.
pub(super) fn told(verb: &Verb, key: &Key) -> [String; 5] {
    let (holds, mut permitted) = kind(key.kind);
    if let Some(range) = verb.range(key.name) {
        permitted = range.words.into();
    }
    let unless = match key.need {
        Need::Required => "needed",
        Need::Optional => "",
        Need::Default(text) => text,
    };
    [holds, key.unit.into(), permitted, unless.into(), key.about.into()]
}

/// Keys in a table.
pub(super) fn keys<'a>(verb: &Verb, keys: impl Iterator<Item = &'a Key>) -> String {
    let rows: Vec<Vec<String>> =
        keys.map(|key| std::iter::once(key.name.to_string()).chain(told(verb, key)).collect()).collect();
    let columns = [
        ("Key", Fit::Whole),
        ("Holds", Fit::Text),
        ("Unit", Fit::Text),
        ("Permitted", Fit::Text),
        ("Unless given", Fit::Text),
        ("Meaning", Fit::Text),
    ];
    table(&columns, &rows)
}

/// A word as it is called: `machine(name, #{ ... })`.
fn called(verb: &Verb) -> String {
    let arguments = verb.arguments.iter().map(|argument| {
        let text = if argument.kind == Kind::Map { "#{ ... }" } else { argument.name };
        if argument.optional { format!("[{text}]") } else { text.to_string() }
    });
    format!("{}({})", verb.name, arguments.collect::<Vec<_>>().join(", "))
}

/// All of a word; its keys are left out where they are those of `keys_of`.
pub(super) fn verb_page(verb: &Verb, keys_of: Option<&str>) -> String {
    let mut text = String::new();
    heading(&mut text, &called(verb), '-');
    wrapped(&mut text, verb.about);
    if verb.gives != Gives::Part {
        wrapped(&mut text, &format!("Gives {}.", verb.gives.words()));
    }
    let arguments: Vec<Vec<String>> = verb
        .arguments
        .iter()
        .filter(|argument| argument.kind != Kind::Map)
        .map(|argument| {
            let (holds, permitted) = kind(argument.kind);
            let unless = if argument.optional { "may be left out" } else { "" };
            vec![argument.name.into(), holds, permitted, unless.into(), argument.about.into()]
        })
        .collect();
    if !arguments.is_empty() {
        let columns = [
            ("In brackets", Fit::Whole),
            ("Holds", Fit::Text),
            ("Permitted", Fit::Text),
            ("", Fit::Text),
            ("Meaning", Fit::Text),
        ];
        text.push('\n');
        text.push_str(&table(&columns, &arguments));
    }
    match keys_of {
        Some(other) => text.push_str(&format!("\nIts keys are those of {other}.\n")),
        None if verb.keys.is_empty() => {}
        None => {
            text.push('\n');
            text.push_str(&keys(verb, verb.keys.iter()));
        }
    }
    text.push_str("\nFor example\n\n");
    text.push_str(&laid_out(verb.example));
    text
}

/// An example in lines, broken only where a script may break.
pub(super) fn laid_out(example: &str) -> String {
    let (mut text, mut width, mut quoted, mut piece) = (String::new(), 0, false, String::new());
    let mut put = |piece: &str| {
        let long = piece.chars().count();
        if width > 0 && width + 1 + long > EXAMPLE_WIDTH {
            text.push('\n');
            width = 0;
        }
        let before = match (width, text.is_empty()) {
            (0, true) => "    ",
            (0, false) => "        ",
            _ => " ",
        };
        text.push_str(before);
        text.push_str(piece);
        width += before.len() + long;
    };
    for letter in example.chars() {
        quoted ^= letter == '"';
        if letter == ' ' && !quoted {
            put(&piece);
            piece.clear();
        } else {
            piece.push(letter);
        }
    }
    put(&piece);
    text.push('\n');
    text
}

fn properties(of: &[Property]) -> String {
    let row =
        |one: &Property| vec![one.written(), one.gives.words().into(), one.unit.into(), one.about.into()];
    let rows: Vec<Vec<String>> = of.iter().map(row).collect();
    let columns = [("Name", Fit::Whole), ("Gives", Fit::Text), ("Unit", Fit::Text), ("Meaning", Fit::Text)];
    table(&columns, &rows)
}

/// What decisions can read of what they look at, and of their memory.
pub(super) fn readable(of: &[&str]) -> String {
    let mut text = String::new();
    heading(&mut text, "What decisions can read", '=');
    let part = |text: &mut String, name: &str, about: &str| {
        text.push('\n');
        heading(text, name, '-');
        wrapped(text, about);
    };
    let asked = || VIEWS.iter().filter(|view| of.contains(&view.name));
    for view in asked() {
        part(&mut text, view.name, view.about);
        text.push('\n');
        text.push_str(&properties(view.properties));
    }
    if asked().next().is_some() {
        part(
            &mut text,
            "rain and soil, of a job, a day and a field",
            "Known only where a season is a recorded year, weather: replay(...) or resample(...), from the record's second day \
             on.",
        );
        text.push('\n');
        text.push_str(&properties(GROUND));
    }
    if of.contains(&"memory") {
        part(&mut text, "memory", &about_memory());
    }
    text
}

/// One property.
pub(super) fn property_page(of: &str, property: &Property) -> String {
    let mut text = String::new();
    heading(&mut text, &format!("{of}.{}, read by decisions", property.written()), '-');
    text.push_str(&properties(std::slice::from_ref(property)));
    text
}
