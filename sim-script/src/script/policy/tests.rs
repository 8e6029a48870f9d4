//! The tables of properties against what closures can read: a property that is listed and cannot be read, or can be
//! read and is not listed, would be seen here.

use super::property::{OF_DAY, OF_GROUND, OF_JOB, Property};
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
        _ => Gives::Memory,
    }
}

#[test]
fn closures_read_what_is_listed() {
    let engine = engine();
    let mut scope = Scope::new();
    let (job, day) = ready_to_read();
    scope.push_constant("job", job);
    scope.push_constant("day", day);
    let of = |name, own: &'static [Property]| own.iter().chain(OF_GROUND).map(move |one| (name, one));
    for (name, property) in of("job", OF_JOB).chain(of("day", OF_DAY)) {
        let text = format!("let read = |{name}| {name}.{}; read.call({name})", property.name);
        let value = engine.eval_with_scope::<Dynamic>(&mut scope, &text);
        let value = value.unwrap_or_else(|error| panic!("{name}.{}: {error}", property.name));
        assert_eq!(gives(&value), property.gives, "{name}.{}", property.name);
        scope.rewind(2);
    }
}

#[test]
fn what_closures_can_read_is_listed() {
    let definitions = engine().definitions().include_standard_packages(false).static_module();
    let readable: BTreeSet<(String, String)> = definitions
        .lines()
        .filter_map(|line| line.strip_prefix("fn get "))
        .map(|line| {
            let (name, rest) = line.split_once('(').unwrap();
            let of = rest.split_once(": ").unwrap().1.split_once(')').unwrap().0;
            (of.to_string(), name.to_string())
        })
        .collect();
    let of = |name: &'static str, own: &'static [Property]| {
        own.iter().chain(OF_GROUND).map(move |one| (name.to_string(), one.name.to_string()))
    };
    let listed: BTreeSet<(String, String)> = of("job", OF_JOB).chain(of("day", OF_DAY)).collect();
    assert_eq!(readable, listed);
    assert_eq!(listed.len(), OF_JOB.len() + OF_DAY.len() + 2 * OF_GROUND.len(), "a property is listed twice");
}
