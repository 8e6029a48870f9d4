//! The tables of verbs against what the verbs do: a key that the reader forgets, a default that is not the
//! one that is written, or an example that cannot be run would be seen here.

use super::super::part::PartData;
use super::super::*;
use std::collections::BTreeSet;

/// What the examples of the verbs refer to.
const PREAMBLE: &str = r#"
let ploughing = operation("ploughing", #{ class: "drilling", outfits: "drill", from: "09-01", due: "10-01" });
let drilling = operation("drilling", #{ class: "drilling", outfits: "drill", from: "09-01", due: "10-01" });
let combining = drilling;
let days = suitable(#{ class: "drilling", p_suitable: 0.5 });
let classes = work_class("drilling", #{ driver: "soil" });
let crops = crop("wheat", #{});
let fields = [];
"#;

/// Days with a gap, in the program's own columns and in others.
const RECORD: &str = "date,Day,tmin_c,tmax_c,rh_mean_pct,wind_m_s,radiation_mj_m2,rain_mm,RAIN\n\
    2024-03-01,01/03/2024,2,11,80,4,9,1.5,0.5\n\
    2024-03-03,03/03/2024,4,12,75,3,11,0.5,0.25\n";

const FILES: &[(&str, &str)] = &[
    ("record.csv", RECORD),
    ("some name", RECORD),
    ("days.csv", "class,soil,from,to,p_suitable,note\ndrilling,any,01-01,12-31,0.5,invented\n"),
    (
        "own.csv",
        "class,soil,from,to,p_suitable,spread\ndrilling,any,01-01,06-30,0.5,0.1\ndrilling,any,07-01,12-31,0.5,\n",
    ),
    (
        "drivers.csv",
        "driver,from,to,persistence,spread,spread_days,agreement\nsoil,01-01,06-30,0.5,0.2,20,0.5\nsoil,07-01,12-31,0.4,0.1,year,0.5\n",
    ),
];

/// Evaluates an expression to what the verb gives.
fn value(text: &str) -> Result<rhai::Dynamic, ScriptError> {
    let source = Arc::new(Source::new("t", format!("{PREAMBLE}{text}")));
    let evaluation = Rc::new(Evaluation::new(Arc::clone(&source), Folder::Embedded(FILES), &[]));
    let engine = engine::engine(&evaluation);
    let ast = engine.compile(&source.text).map_err(|error| explain::parse_error(&source, &error))?;
    engine.eval_ast(&ast).map_err(|error| explain::run_error(&evaluation, *error))
}

fn part(text: &str) -> PartData {
    let value = value(text).unwrap_or_else(|error| panic!("{error}"));
    read::part(&value).unwrap_or_else(|| panic!("{text} gives no part")).data().clone()
}

/// A part as text, without the numbers that say where its parts were written.
fn told(text: &str) -> String {
    let told = format!("{:?}", part(text));
    let mut pieces = told.split("Origin(");
    let mut plain = pieces.next().unwrap_or_default().to_string();
    for piece in pieces {
        plain += piece.split_once(')').map_or("", |(_, rest)| rest);
    }
    plain
}

/// A call with the keys that must be there and those given.
fn call(verb: &Verb, without: &str, with: &[(&str, &str)]) -> String {
    let mut keys: Vec<String> = verb
        .keys
        .iter()
        .filter(|key| key.need == Need::Required && key.name != without)
        .map(|key| format!("{}: {}", key.name, key.example))
        .collect();
    // An outfit has one of two keys.
    if verb.name == "outfit" && !with.iter().any(|(key, _)| *key == "units") {
        keys.push("machines: [\"a machine\"]".into());
    }
    let gives = |name: &str| with.iter().any(|(key, _)| *key == name);
    // A farm has a table of suitable days or a record.
    if verb.name == "farm" {
        keys.push(
            if gives("rules") { "weather: replay(\"record.csv\")" } else { "suitable_days: days" }.into(),
        );
        keys.retain(|key| !gives("weather") || !key.starts_with("suitable_days"));
    }
    // Height and anemometer count where evapotranspiration is worked out.
    if matches!(verb.name, "replay" | "resample" | "table") {
        keys.push("latitude_deg: 50.0".into());
    }
    if verb.name == "rule" {
        keys.push("rain_max_mm: 9".into());
        keys.push("rain_before_max_mm: 9".into());
        keys.push("wind_max_m_s: 4".into());
        keys.push("shuts_below_mm: -7".into());
        keys.push("hours_min: 2".into());
    }
    keys.sort();
    keys.dedup();
    keys.retain(|key| !with.iter().any(|(name, _)| key.split(':').next() == Some(name)));
    keys.extend(with.iter().map(|(key, value)| format!("{key}: {value}")));
    let name = if verb.arguments.len() == 2 { "\"some name\", " } else { "" };
    format!("{}({name}#{{ {} }})", verb.name, keys.join(", "))
}

fn with_maps() -> impl Iterator<Item = &'static Verb> {
    // The keys of a parameter make no part; what they do is in the checks of settings.
    let of_part = |verb: &&Verb| verb.gives == Gives::Part;
    all_verbs()
        .filter(of_part)
        .filter(|verb| verb.arguments.iter().any(|argument| argument.kind == Kind::Map))
}

#[test]
fn names_are_used_once() {
    let verbs: BTreeSet<&str> = all_verbs().map(|verb| verb.name).collect();
    assert_eq!(verbs.len(), all_verbs().count());
    for verb in all_verbs() {
        let keys: BTreeSet<&str> = verb.keys.iter().map(|key| key.name).collect();
        assert_eq!(keys.len(), verb.keys.len(), "{}", verb.name);
        assert_eq!(
            verb.keys.is_empty(),
            !verb.arguments.iter().any(|one| one.kind == Kind::Map),
            "{}",
            verb.name
        );
    }
}

#[test]
fn every_key_changes_its_part() {
    for verb in with_maps() {
        // A marker of missing values makes a record readable that is not without it.
        for key in verb.keys.iter().filter(|key| !matches!(key.name, "note" | "missing")) {
            // What must be there is compared with another value of its own.
            let other = match (key.need, key.kind) {
                (Need::Required, Kind::Number) => Some("0.125"),
                (Need::Required, Kind::Text | Kind::Texts) => Some("\"another\""),
                (Need::Required, Kind::When | Kind::Day) => Some("\"03-03\""),
                (Need::Required, Kind::Hours | Kind::Open) => Some("\"01:00-02:00\""),
                (Need::Required, Kind::Parts(_)) => Some("[]"),
                (Need::Required, kind) => panic!("no other value for {kind:?}"),
                _ => None,
            };
            let plain = match (other, key.name) {
                (Some(other), _) => call(verb, "", &[(key.name, other)]),
                (None, "rules" | "suitable_days") => call(verb, "", &[(key.name, "[]")]),
                (None, _) => call(verb, "", &[]),
            };
            let with = call(verb, "", &[(key.name, key.example)]);
            assert_ne!(told(&plain), told(&with), "{} does nothing in {}", key.name, verb.name);
        }
    }
    let marked = |missing: &str| {
        let files: &'static [(&str, &str)] = &[("record.csv", "date,rain_mm\n2024-03-01,1\n2024-03-02,NA\n")];
        let text = format!("replay(\"record.csv\", #{{ missing: [{missing}] }})");
        let source = Arc::new(Source::new("t", text));
        let evaluation = Rc::new(Evaluation::new(Arc::clone(&source), Folder::Embedded(files), &[]));
        let engine = engine::engine(&evaluation);
        let ast = engine.compile(&source.text).unwrap();
        engine.eval_ast::<rhai::Dynamic>(&ast).is_ok()
    };
    assert!(!marked("") && marked("\"NA\""));
    assert_eq!(
        told(&call(verb("machine").unwrap(), "", &[])),
        told("machine(\"some name\", #{ note: \"x\" })")
    );
}

#[test]
fn defaults_are_what_the_tables_say() {
    for verb in with_maps() {
        for key in verb.keys {
            let Need::Default(text) = key.need else { continue };
            let quoted = matches!(key.kind, Kind::Text | Kind::Choice(_) | Kind::Day | Kind::Date);
            let written = if quoted { format!("\"{text}\"") } else { text.to_string() };
            let with = call(verb, "", &[(key.name, &written)]);
            assert_eq!(told(&call(verb, "", &[])), told(&with), "{} of {}", key.name, verb.name);
        }
    }
}

#[test]
fn what_is_required_is_required() {
    for verb in with_maps() {
        for key in verb.keys.iter().filter(|key| key.need == Need::Required) {
            let error = value(&call(verb, key.name, &[])).map(|_| ()).unwrap_err();
            assert!(error.message().contains(&format!("needs `{}`", key.name)), "{error}");
            assert!(error.fix().is_some_and(|fix| fix.contains(key.example)), "{error}");
        }
    }
}

#[test]
fn examples_run() {
    for verb in all_verbs() {
        match value(verb.example) {
            Err(error) => panic!("{}: {error}", verb.name),
            Ok(given) => {
                // What is declared with `let` is looked at by its name.
                let given = if verb.name == "param" {
                    value(&format!("{} drill_width_m", verb.example)).unwrap()
                } else {
                    given
                };
                let fits = match verb.gives {
                    Gives::Part => read::part(&given).is_some(),
                    Gives::Number => given.is_float(),
                    Gives::Whole => given.is_int(),
                    Gives::Text => given.is_string(),
                    Gives::Flag => given.is_bool(),
                    Gives::Nothing => given.is_unit(),
                    Gives::Any => given.is_int() || given.is_float() || given.is_string() || given.is_bool(),
                    Gives::List | Gives::Memory => false,
                };
                assert!(fits, "{} gives {}", verb.name, read::describe(&given));
            }
        }
    }
}

#[test]
fn examples_of_keys_run() {
    for verb in with_maps() {
        for key in verb.keys {
            let text = call(verb, "", &[(key.name, key.example)]);
            if let Err(error) = value(&text) {
                panic!("{}: {error}", key.name);
            }
        }
    }
}

/// A range is that of one key with a number, and the key's example and default lie in it.
#[test]
fn ranges_are_those_of_keys() {
    for verb in all_verbs() {
        for range in verb.ranges {
            for name in range.what.split(" or ") {
                let key = verb.keys.iter().find(|key| key.name == name);
                let key = key.unwrap_or_else(|| panic!("{} has no key {name}", verb.name));
                assert!(matches!(key.kind, Kind::Number | Kind::Spell), "{name}");
                let texts = match key.need {
                    Need::Default(text) => vec![text, key.example],
                    _ => vec![key.example],
                };
                for text in texts.into_iter().filter(|text| *text != "\"year\"") {
                    assert!(range.holds(text.parse().unwrap()), "{name}: {text} is not {}", range.words);
                }
            }
        }
    }
}

/// What is beyond a range that the reference shows is refused, and what is at its ends is not.
#[test]
fn ranges_shown_of_rules_and_places_are_kept() {
    let station = ", latitude_deg: 50";
    for (verb, text) in [
        ("rule", "rule(\"drilling\", #{ KEY: VALUE })"),
        ("replay", "replay(\"record.csv\", #{ KEY: VALUESTATION })"),
    ] {
        for range in crate::script::verb(verb).unwrap().ranges {
            for (number, good) in [
                (range.least, true),
                (range.most, true),
                (range.least - 1.0, false),
                (range.most + 1.0, false),
            ] {
                let rest = if range.what == "latitude_deg" { "" } else { station };
                let text = text.replace("KEY", range.what).replace("STATION", rest);
                let given = value(&text.replace("VALUE", &format!("{number:?}")));
                assert_eq!(given.is_ok(), good, "{verb} {} {number}", range.what);
            }
        }
    }
    for range in crate::script::verb("farm").unwrap().ranges {
        for (number, good) in [(range.least, true), (range.most + 1.0, false)] {
            let text = include_str!("base.rhai").replace(
                "name: \"Home farm\",",
                &format!("name: \"Home farm\", {}: {number:?},", range.what),
            );
            let given = Script::embedded("t", &text, &[]).evaluate(&[]);
            assert_eq!(given.is_ok(), good, "farm {} {number}", range.what);
        }
    }
}

#[test]
fn hours_alone_are_off_on_holidays_for_people_and_every_day_for_classes() {
    use sim_core::weather::{EVERY_DAY, HOLIDAY};
    let masks = |text: &str| match part(text) {
        PartData::Person(person) => person.hours.iter().map(|rule| rule.weekdays).collect::<Vec<_>>(),
        PartData::Class(class) => class.hours.iter().map(|rule| rule.weekdays).collect(),
        other => panic!("{other:?}"),
    };
    let hours = "[\"07:00-12:00\", hours(#{ open: \"closed\" }), hours(#{ days: \"holidays\", open: \"08:00-10:00\" })]";
    let person = masks(&format!("person(\"a\", #{{ hours: {hours} }})"));
    assert_eq!(person, [EVERY_DAY & !HOLIDAY, EVERY_DAY & !HOLIDAY, HOLIDAY]);
    let class = masks(&format!("work_class(\"a\", #{{ driver: \"soil\", hours: {hours} }})"));
    assert_eq!(class, [EVERY_DAY, EVERY_DAY, HOLIDAY]);
}

#[test]
fn reckoning_verbs_give_texts_and_numbers() {
    let shown = |text: &str| value(text).unwrap_or_else(|error| panic!("{error}")).to_string();
    assert_eq!(shown("add_days(\"03-01\", 20)"), "03-21");
    assert_eq!(shown("add_days(\"01-01\", -1)"), "12-31");
    assert_eq!(shown("days_between(\"03-01\", \"03-21\")"), "20");
    assert_eq!(shown("hours_from(\"07:00\", 10.5)"), "07:00-17:30");
    assert_eq!(shown("hours_from(\"00:00\", 24)"), "00:00-24:00");
    assert_eq!(shown("6 / 3"), "2");
    assert_eq!(shown("let n = 7; n /= 7; n + 5 / 2.0"), "3.5");
}

#[test]
fn tables_are_rows_of_the_farm() {
    let PartData::Driver(rows) = part("drivers_from(\"drivers.csv\")") else { panic!("no drivers") };
    let spells: Vec<Option<f64>> = rows.iter().map(|row| row.spread_days).collect();
    assert_eq!(spells, [Some(20.0), None]);
    assert!(rows.iter().all(|row| row.agreement == 0.5 && row.driver == "soil"));
    let PartData::Suitable(rows) = part("suitable_days(\"days.csv\")") else { panic!("no days") };
    assert_eq!((rows.len(), rows[0].p_suitable, rows[0].soil.as_str()), (1, 0.5, "any"));
    assert_eq!(rows[0].spread, None);
    // Not every row of a table with spreads need have its own.
    let PartData::Suitable(rows) = part("suitable_days(\"own.csv\")") else { panic!("no days") };
    assert_eq!(rows.iter().map(|row| row.spread).collect::<Vec<_>>(), [Some(0.1), None]);
}

#[test]
fn a_driver_defaults_to_what_a_farm_without_drivers_has() {
    use sim_core::farm::spec::{DEFAULT_PERSISTENCE, DEFAULT_SPREAD, DEFAULT_SPREAD_DAYS};
    let driver = verb("driver").unwrap();
    for (name, value) in [
        ("persistence", DEFAULT_PERSISTENCE),
        ("spread", DEFAULT_SPREAD),
        ("spread_days", DEFAULT_SPREAD_DAYS),
    ] {
        let key = driver.keys.iter().find(|key| key.name == name).unwrap();
        let Need::Default(text) = key.need else { panic!("{name} has no default") };
        assert_eq!(text, value.to_string(), "{name}");
    }
}
