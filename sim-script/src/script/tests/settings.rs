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

/// What a script with this one parameter says of it, or what is wrong with it.
fn declared(parameter: &str) -> Result<Parameter, ScriptError> {
    let text = format!(
        "let x = {parameter};\nfarm(#{{ name: \"f\", suitable_days: [], classes: [], crops: [], fields: [] }})"
    );
    Script::embedded("farm.rhai", &text, &[]).evaluate(&[]).map(|said| said.parameters[0].clone())
}

#[test]
fn a_script_says_what_its_parameters_can_be() {
    let range = |text: &str| declared(text).unwrap_or_else(|error| panic!("{error}")).range;
    let numbers = |from, to| Some(ParameterRange::Numbers { from, to });
    assert_eq!(range("param(\"x\", 4.0, \"width\", #{ from: 3, to: 6.5 })"), numbers(3.0, 6.5));
    assert_eq!(range("param(\"x\", 2, \"people\", #{ from: 1, to: 3 })"), numbers(1.0, 3.0));
    let texts = Some(ParameterRange::Texts(vec!["loam".into(), "clay".into()]));
    assert_eq!(range("param(\"x\", \"loam\", \"soil\", #{ one_of: [\"loam\", \"clay\"] })"), texts);
    assert_eq!(range("param(\"x\", true, \"ploughed\", #{})"), None);
    assert_eq!(range("param(\"x\", 4.0, \"width\", #{})"), None);
}

#[test]
fn a_wrong_range_says_what_and_where() {
    let wrong = [
        "param(\"x\", 4.0, #{ from: 3.0, to: 6.0 })",
        "param(\"x\", 4.0, \"width\", 6.0)",
        "param(\"x\", 4.0, \"width\", #{ form: 3.0, to: 6.0 })",
        "param(\"x\", 4.0, \"width\", #{ from: \"three\", to: 6.0 })",
        "param(\"x\", 4.0, \"width\", #{ from: 3.0 })",
        "param(\"x\", 4.0, \"width\", #{ from: 6.0, to: 3.0 })",
        "param(\"x\", 4.0, \"width\", #{ from: 5.0, to: 6.0 })",
        "param(\"x\", 4.0, \"width\", #{ one_of: [\"wide\", \"narrow\"] })",
        "param(\"x\", 2, \"people\", #{ from: 1, to: 2.5 })",
        "param(\"x\", \"loam\", \"soil\", #{ from: 1, to: 3 })",
        "param(\"x\", \"loam\", \"soil\", #{ one_of: [\"clay\", \"sand\"] })",
        "param(\"x\", true, \"ploughed\", #{ from: 0, to: 1 })",
    ];
    let all: Vec<String> = wrong
        .iter()
        .map(|text| {
            let error = declared(text).unwrap_err();
            assert_eq!(error.place(), Some(("farm.rhai", 1)), "{error}");
            error.to_string()
        })
        .collect();
    insta::assert_snapshot!(all.join("\n\n"));
}
