//! The reference as a person and an editor read it.

use super::page::laid_out;
use super::{contents, editor, find, whole};
use crate::script::{GROUND, VIEWS, all_verbs};
use std::collections::BTreeSet;

#[test]
fn a_machine() {
    insta::assert_snapshot!(find::word("machine(...)").unwrap());
}

#[test]
fn a_day_counted_from_other_work() {
    insta::assert_snapshot!(find::word("days_after").unwrap());
}

#[test]
fn the_subjects_with_their_words() {
    insta::assert_snapshot!(contents());
}

#[test]
fn what_decisions_read() {
    insta::assert_snapshot!(super::readable(&["job", "day", "field", "memory"]));
}

#[test]
fn a_tank_for_the_sprayer_is_found() {
    let words = |words: &[&str]| find::mentions(words).unwrap();
    assert!(words(&["sprayer", "tanks"]).contains("tank_l"));
    assert!(words(&["spraying", "tank"]).contains("tank_l"));
    assert!(find::word("tank").unwrap().contains("tank_l"));
    insta::assert_snapshot!(find::word("tank_l").unwrap());
}

#[test]
fn a_key_of_several_words_is_shown_for_each_meaning() {
    insta::assert_snapshot!(find::word("distance_km:").unwrap());
    let text = find::word("latitude_deg").unwrap();
    assert!(
        text.contains("a key of farm\n") && text.contains("a key of replay, resample and table\n"),
        "{text}"
    );
}

#[test]
fn what_there_is_not_gets_what_is_nearest() {
    insta::assert_snapshot!(find::word("mashine").unwrap_err());
    insta::assert_snapshot!(find::word("helicopter").unwrap_err());
}

#[test]
fn everything_is_there_within_a_hundred_columns() {
    let text = whole();
    for line in text.lines() {
        assert!(line.chars().count() <= 100, "{line}");
        assert_eq!(line, line.trim_end());
    }
    let lines: BTreeSet<&str> = text.lines().filter_map(|line| line.split_whitespace().next()).collect();
    for verb in all_verbs() {
        assert!(lines.iter().any(|line| line.starts_with(&format!("{}(", verb.name))), "{}", verb.name);
        for key in verb.keys {
            assert!(lines.contains(key.name), "{} of {}", key.name, verb.name);
        }
    }
    for property in VIEWS.iter().flat_map(|view| view.properties).chain(GROUND) {
        assert!(lines.iter().any(|line| line.starts_with(property.name)), "{}", property.name);
    }
}

/// What is printed is the example that the tests of the script run, but for its breaks.
#[test]
fn examples_are_only_broken_into_lines() {
    for verb in all_verbs() {
        let printed = laid_out(verb.example);
        assert_eq!(printed.lines().map(str::trim_start).collect::<Vec<_>>().join(" "), verb.example);
        assert!(printed.lines().all(|line| line.starts_with("    ")));
    }
}

/// Definitions are functions of the engine: with bodies they are a script, and by name and number of arguments they are
/// those that Rhai itself writes of the engine.
#[test]
fn definitions_are_those_of_the_engine() {
    let with_brackets = |name: &str| {
        let mut all = VIEWS.iter().flat_map(|view| view.properties);
        all.any(|property| property.name == name && !property.takes.is_empty())
    };
    let is_read = |name: &str| name.starts_with("get ") || with_brackets(name);
    let text = editor::definitions();
    assert!(text.starts_with("module static;\n"));
    let functions: Vec<&str> = text.lines().filter(|line| line.starts_with("fn ")).collect();
    for line in text.lines().filter(|line| !line.is_empty() && !line.starts_with("//")) {
        assert!(line == "module static;" || functions.contains(&line), "{line}");
    }
    let mut ours = BTreeSet::new();
    for line in &functions {
        let (name, rest) = line["fn ".len()..].split_once('(').unwrap();
        let (arguments, gives) = rest.strip_suffix(';').unwrap().split_once(") -> ").unwrap();
        let arguments: Vec<(&str, &str)> =
            arguments.split(", ").map(|argument| argument.split_once(": ").unwrap()).collect();
        let known = [
            "String", "Map", "Array", "FnPtr", "int", "float", "bool", "part", "job", "day", "field",
            "memory", "()", "?",
        ];
        assert!(known.contains(&gives) && arguments.iter().all(|(_, of)| known.contains(of)), "{line}");
        let names: Vec<&str> = arguments.iter().map(|(name, _)| *name).collect();
        let script = format!("fn {}({}) {{}}", name.trim_start_matches("get "), names.join(", "));
        rhai::Engine::new_raw().compile(&script).unwrap_or_else(|error| panic!("{script}: {error}"));
        let of = if is_read(name) { arguments[0].1 } else { "" };
        assert!(ours.insert((name.to_string(), arguments.len(), of.to_string())), "twice: {line}");
    }
    let rhai = crate::script::definitions();
    let theirs: BTreeSet<(String, usize, String)> = rhai
        .lines()
        .filter_map(|line| line.strip_prefix("fn ")?.split_once('('))
        .filter(|(name, _)| is_read(name) || all_verbs().any(|verb| verb.name == *name))
        .map(|(name, rest)| {
            let arguments: Vec<&str> = rest.split(") -> ").next().unwrap().split(", ").collect();
            let of = if is_read(name) { arguments[0].split_once(": ").unwrap().1 } else { "" };
            (name.to_string(), arguments.len(), of.to_string())
        })
        .collect();
    assert_eq!(ours, theirs);
    // What stands in the documentation is what the reference says.
    assert!(text.contains("/// - `tank_l: 2000.0`: a number (l), above 0 and at most 1000000; "));
}
