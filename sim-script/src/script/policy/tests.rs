//! The tables of properties against what closures can read: a property that is listed and cannot be read, or can be
//! read and is not listed, would be seen here.

use super::property::{GROUND, Property, SUITS_TODAY, VIEWS};
use super::views::ready_to_read;
use crate::script::verb::Gives;
use rhai::{Dynamic, Engine, Scope};
use std::collections::BTreeSet;

fn engine() -> Engine {
    let mut engine = Engine::new_raw();
    super::register(&mut engine);
    engine
}

fn gives(value: &Dynamic) -> Gives {
    match value.type_name() {
        "i64" => Gives::Whole,
        "f64" => Gives::Number,
        "bool" => Gives::Flag,
        "string" => Gives::Text,
        "array" => Gives::List,
        _ => Gives::Memory,
    }
}

/// Every property with what it is of.
fn listed() -> impl Iterator<Item = (&'static str, &'static Property)> {
    VIEWS.iter().flat_map(|view| view.properties.iter().chain(GROUND).map(|property| (view.name, property)))
}

#[test]
fn closures_read_what_is_listed() {
    let engine = engine();
    let mut scope = Scope::new();
    let seen = ready_to_read();
    scope.push_constant("job", seen.job.clone());
    scope.push_constant("day", seen.day.clone());
    scope.push_constant("field", seen.field.clone());
    for (name, property) in listed() {
        let written = property.written().replace(property.takes, "drilling");
        let written = if property.takes.is_empty() { property.name } else { &written };
        let text = format!("let read = |{name}| {name}.{written}; read.call({name})");
        let value = engine.eval_with_scope::<Dynamic>(&mut scope, &text);
        let value = value.unwrap_or_else(|error| panic!("{name}.{}: {error}", property.name));
        assert_eq!(gives(&value), property.gives, "{name}.{}", property.name);
        scope.rewind(3);
    }
}

#[test]
fn what_closures_can_read_is_listed() {
    let definitions = engine().definitions().include_standard_packages(false).static_module();
    let readable: BTreeSet<(String, String)> = definitions
        .lines()
        .filter_map(|line| line.strip_prefix("fn get ").or_else(|| line.strip_prefix("fn suits")))
        .map(|line| {
            let (name, rest) = line.split_once('(').unwrap();
            let of = rest.split_once(": ").unwrap().1.split([',', ')']).next().unwrap();
            (of.to_string(), if name == "_today" { SUITS_TODAY.to_string() } else { name.to_string() })
        })
        .collect();
    let all: BTreeSet<(String, String)> =
        listed().map(|(name, one)| (name.to_string(), one.name.to_string())).collect();
    assert_eq!(readable, all);
    assert_eq!(all.len(), listed().count(), "a property is listed twice");
}

/// What a decision depends on is looked up by name, whatever it looks at.
#[test]
fn properties_of_one_name_depend_on_as_much_unless_they_are_of_a_field() {
    for (of, property) in listed().filter(|(of, _)| *of != "field") {
        let first = super::property::property(property.name).unwrap();
        assert_eq!(
            (first.by_field, first.by_season),
            (property.by_field, property.by_season),
            "{of} {}",
            property.name
        );
    }
}
