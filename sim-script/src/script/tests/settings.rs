//! Parameters: declared in the script, set from outside, of the kind that their default is.

use super::super::*;
use super::set;

const SCRIPT: &str = r#"
let width_m = param("width_m", 4.0, "width");
let count = param("count", 2);
let ploughed = param("ploughed", true);
let soil = param("soil", "loam");
let again = param("width_m", 4.0);
farm(#{
    name: `${width_m} ${count} ${ploughed} ${soil} ${again}`,
    suitable_days: [], classes: [], crops: [], fields: [],
})
"#;

fn told(pairs: &[(&str, &str)]) -> String {
    match Script::embedded("farm.rhai", SCRIPT, &[]).evaluate(&set(pairs)) {
        Ok(evaluated) => evaluated.farm.name,
        Err(error) => error.to_string(),
    }
}

#[test]
fn settings_are_read_as_their_defaults_are() {
    assert_eq!(told(&[]), "4.0 2 true loam 4.0");
    let all = [("width_m", "6"), ("count", "3"), ("ploughed", "false"), ("soil", "heavy clay")];
    assert_eq!(told(&all), "6.0 3 false heavy clay 6.0");
    assert_eq!(told(&[("width_m", "5"), ("width_m", "6.5")]), "6.5 2 true loam 6.5");
}

#[test]
fn parameters_say_what_they_are() {
    let evaluated = Script::embedded("f", SCRIPT, &[]).evaluate(&set(&[("count", "5")])).unwrap();
    let told: Vec<String> = evaluated
        .parameters
        .iter()
        .map(|one| format!("{} {} {} {:?}", one.name, one.default, one.value, one.about))
        .collect();
    let wanted = [
        "width_m 4.0 4.0 Some(\"width\")",
        "count 2 5 None",
        "ploughed true true None",
        "soil \"loam\" \"loam\" None",
    ];
    assert_eq!(told, wanted);
}

#[test]
fn wrong_settings_say_what_to_set() {
    let wrong = [
        ("width", "6"),
        ("colour", "red"),
        ("width_m", "wide"),
        ("width_m", "inf"),
        ("count", "2.5"),
        ("count", "many"),
        ("ploughed", "yes"),
    ];
    let all: Vec<String> = wrong.iter().map(|pair| told(&[*pair])).collect();
    insta::assert_snapshot!(all.join("\n\n"));
}
