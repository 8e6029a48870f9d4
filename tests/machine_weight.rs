//! Heavy and light machines on an open record, through the program: what `dryspell days` says of their days, and how many a
//! farm has that works the record's years. Heavier machines never have more days on medium and heavy land, and on light
//! land as many.
//!
//! Found on Dublin Airport for drilling, mean suitable days from 15 September to 15 November of 1980-2024:
//!
//! | land | light machines | middling | heavy |
//! | --- | --- | --- | --- |
//! | light | 24.1 | 24.1 | 24.1 |
//! | medium | 21.2 | 21.0 | 17.6 |
//! | heavy | 11.6 | 11.0 | 10.3 |
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use std::collections::{BTreeMap, HashMap};
use std::path::Path;

const RECORD: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/records/dublin-airport-daily.csv");
const WEIGHTS: [&str; 3] = ["light", "middling", "heavy"];
const SOILS: [&str; 3] = ["light", "medium", "heavy"];

/// Standard output and error of the program, run in a folder, with its status.
fn said(folder: &Path, arguments: &[&str]) -> (Option<i32>, String, String) {
    let mut command = Command::cargo_bin("dryspell-under-test").unwrap();
    let output = command.args(arguments).current_dir(folder).output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (output.status.code(), text(output.stdout), text(output.stderr))
}

fn printed(folder: &Path, arguments: &[&str]) -> String {
    let (status, out, error) = said(folder, arguments);
    assert_eq!(status, Some(0), "{arguments:?}: {error}");
    out
}

fn rows(path: &Path) -> Vec<HashMap<String, String>> {
    csv::Reader::from_path(path).unwrap().deserialize().map(Result::unwrap).collect()
}

/// A folder with the record and a script: drilling and spraying on one soil, with parameters for it, for the weight of the
/// drilling machines and for the farm's weather.
fn farm(weather: &str, rules: &str) -> tempfile::TempDir {
    let folder = tempfile::tempdir().unwrap();
    std::fs::copy(RECORD, folder.path().join("record.csv")).unwrap();
    let script = r#"
farm(#{
    name: "Weights",
    weather: WEATHER("record.csv"),RULES
    classes: [
        work_class("drilling", #{ driver: "soil", machine_weight: param("weight", "middling") }),
        work_class("spraying", #{ driver: "wind" }),
    ],
    people: [person("Driver", #{ hours: "07:00-17:00", drives: ["tractor"] })],
    machines: [machine("tractor", #{ work_rate_ha_h: 2.0, needs_driver: true })],
    outfits: [outfit("tractor", #{ machines: ["tractor"] })],
    crops: [crop("wheat", #{ following: [
        operation("drilling", #{ class: "drilling", outfits: ["tractor"], from: "09-15", due: "11-15" }),
        operation("spraying", #{ class: "spraying", outfits: ["tractor"], from: "09-15", due: "11-15" }),
    ] })],
    fields: [field("Long Acre", #{ area_ha: 10, soil: param("soil", "medium"), following: "wheat" })],
})
"#;
    let script = script.replace("WEATHER", weather).replace("RULES", rules);
    std::fs::write(folder.path().join("farm.rhai"), script).unwrap();
    folder
}

/// Suitable days of an operation in each season.
fn suitable_days(folder: &Path, soil: &str, weight: &str, operation: &str) -> Vec<u32> {
    let out = format!("{soil}-{weight}");
    let set = [format!("soil={soil}"), format!("weight={weight}")];
    let at_out = folder.join(&out);
    if !at_out.exists() {
        let arguments = ["run", "farm.rhai", "--set", &set[0], "--set", &set[1], "--out", &out];
        printed(folder, &[&arguments[..], &["--seasons", "45"]].concat());
    }
    let rows = rows(&at_out.join("seasons.csv")).into_iter().filter(|row| row["operation"] == operation);
    rows.map(|row| row["suitable_days"].parse().unwrap()).collect()
}

/// In every year of the record, and in every season drawn from it, heavier machines have no more days.
#[test]
fn a_farm_with_heavier_machines_has_no_more_days() {
    for weather in ["replay", "resample"] {
        let folder = farm(weather, "");
        for soil in SOILS {
            let [light, middling, heavy] =
                WEIGHTS.map(|weight| suitable_days(folder.path(), soil, weight, "drilling"));
            let means = [&light, &middling, &heavy].map(|days| f64::from(days.iter().sum::<u32>()) / 45.0);
            println!("{weather}, {soil} land: {means:.1?}");
            if soil == "light" {
                assert!(light.len() == 45 && light == middling && middling == heavy, "{weather}");
                continue;
            }
            let no_more = |heavier: &[u32], lighter: &[u32]| {
                assert!(heavier.len() == 45 && lighter.len() == 45);
                heavier.iter().zip(lighter).all(|(heavier, lighter)| heavier <= lighter)
            };
            assert!(no_more(&heavy, &middling) && no_more(&middling, &light), "{weather}, {soil} land");
            assert!(means[0] > means[1] && means[1] > means[2], "{weather}, {soil} land: {means:?}");
            if weather == "replay" {
                // As above and in the README.
                let written = if soil == "medium" { "[21.2, 21.0, 17.6]" } else { "[11.6, 11.0, 10.3]" };
                assert_eq!(format!("{means:.1?}"), written, "{soil} land");
            }
            // The class beside it has machines of its own.
            let sprayed = WEIGHTS.map(|weight| suitable_days(folder.path(), soil, weight, "spraying"));
            assert!(sprayed[0] == sprayed[1] && sprayed[1] == sprayed[2], "{weather}, {soil} land");
        }
    }
}

/// Of a table fitted to the record the days to be expected of the window: those drawn differ in their law too, which is
/// fitted to the days of each weight.
#[test]
fn a_fitted_table_expects_no_more_days_for_heavier_machines() {
    let folder = farm("table", "");
    for soil in SOILS {
        let expected = WEIGHTS.map(|weight| {
            let set = [format!("soil={soil}"), format!("weight={weight}")];
            let page = printed(folder.path(), &["check", "farm.rhai", "--set", &set[0], "--set", &set[1]]);
            let row = page.lines().find(|line| line.starts_with("drilling  ")).unwrap();
            row.split_whitespace().last().unwrap().parse::<f64>().unwrap()
        });
        println!("table, {soil} land: {expected:?}");
        if soil == "light" {
            assert!(expected[0] == expected[1] && expected[1] == expected[2], "{expected:?}");
        } else {
            assert!(expected[0] > expected[1] && expected[1] > expected[2], "{soil}: {expected:?}");
        }
    }
}

/// A rule of the farm's own stands as written: on its soil the weight changes nothing, on another it does.
#[test]
fn a_rule_of_ones_own_is_the_same_for_all_machines() {
    let own = r#" rules: [rule("drilling", #{ soil: "medium", deficit_min_mm: 2, rain_max_mm: 1 })],"#;
    let folder = farm("replay", own);
    let days = |soil, weight| suitable_days(folder.path(), soil, weight, "drilling");
    assert_ne!(days("heavy", "middling"), days("heavy", "heavy"));
    // Where it judges all of the land the weight has nothing to act on.
    let (status, _, error) = said(folder.path(), &["check", "farm.rhai"]);
    assert!(
        status == Some(2) && error.contains("changes the rules to start from, and none of these"),
        "{error}"
    );
    // With land of both kinds it acts on the one and leaves the other alone.
    let path = folder.path().join("farm.rhai");
    let script = std::fs::read_to_string(&path).unwrap();
    let low = r#"field("Low Field", #{ area_ha: 10, soil: "heavy" }), field("Long"#;
    std::fs::write(&path, script.replace(r#"field("Long"#, low)).unwrap();
    let [light, middling, heavy] = WEIGHTS.map(|weight| days("medium", weight));
    assert!(light == middling && middling == heavy && heavy.iter().sum::<u32>() > 0);
}

/// The share of suitable days by class, soil and first day of the period.
fn shares(out: &Path) -> BTreeMap<[String; 3], f64> {
    let key = |row: &HashMap<String, String>| ["class", "soil", "from"].map(|name| row[name].clone());
    rows(&out.join("days.csv")).iter().map(|row| (key(row), row["p_suitable"].parse().unwrap())).collect()
}

/// All work of the rules to start from, on every soil and in every part of the year.
#[test]
fn days_says_which_machines_it_is_for_and_gives_heavier_ones_no_more() {
    let folder = tempfile::tempdir().unwrap();
    let of = WEIGHTS.map(|weight| {
        let arguments = ["days", RECORD, "--machine-weight", weight, "--out", weight];
        let page = printed(folder.path(), &arguments);
        let machines = match weight {
            "middling" => "for machines of middling weight.".to_string(),
            _ => format!("for {weight} machines."),
        };
        assert!(page.contains(&format!("Judged by the rules to start from, {machines}")), "{page}");
        let out = folder.path().join(weight);
        let package = std::fs::read_to_string(out.join("datapackage.json")).unwrap();
        let package: serde_json::Value = serde_json::from_str(&package).unwrap();
        assert_eq!(package["settings"]["machine_weight"], weight);
        let rules = package["rules"].as_array().unwrap();
        assert!(rules.len() == 24 && rules.iter().all(|rule| rule["machine_weight"] == weight));
        shares(&out)
    });
    assert_eq!(of[0].len(), 24 * 72);
    let mut fewer = BTreeMap::<[&str; 2], usize>::new();
    for ([class, soil, from], light) in &of[0] {
        let key = [class.clone(), soil.clone(), from.clone()];
        let (middling, heavy) = (of[1][&key], of[2][&key]);
        if soil == "light" {
            assert_eq!((*light, middling), (middling, heavy), "{key:?}");
        }
        assert!(*light >= middling && middling >= heavy, "{key:?}: {light} {middling} {heavy}");
        *fewer.entry([class.as_str(), soil.as_str()]).or_default() += usize::from(*light > heavy);
    }
    println!("periods with fewer days for heavy machines than for light ones: {fewer:?}");
    // Work in the soil and loads on it feel the weight; what waits for dry air finds medium land drained by then.
    for class in ["ploughing", "cultivating", "drilling", "carting"] {
        assert!(fewer[&[class, "medium"]] > 0 && fewer[&[class, "heavy"]] > 0, "{class}: {fewer:?}");
    }
    // Without a word they are middling.
    printed(folder.path(), &["days", RECORD, "--out", "plain"]);
    assert_eq!(shares(&folder.path().join("plain")), of[1]);
}

/// A script's classes say it for `dryspell days` too, each for itself; its own rules are for no weight.
#[test]
fn days_takes_the_weights_of_a_script() {
    let folder = farm("replay", r#" rules: [rule("spraying", #{ wind_max_m_s: 4 })],"#);
    let path = folder.path().join("farm.rhai");
    let script = std::fs::read_to_string(&path).unwrap();
    std::fs::write(&path, script.replace(r#"param("weight", "middling")"#, r#""heavy""#)).unwrap();
    let page = printed(folder.path(), &["days", "record.csv", "--rules", "farm.rhai", "--out", "script"]);
    assert!(
        page.contains(
            "Where it has no rule of its own, one to start from judges: heavy machines for drilling."
        ),
        "{page}"
    );
    let out = folder.path().join("script");
    let package: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(out.join("datapackage.json")).unwrap()).unwrap();
    let weights: Vec<_> =
        package["rules"].as_array().unwrap().iter().map(|rule| &rule["machine_weight"]).collect();
    assert_eq!(weights, [&serde_json::json!("heavy"), &serde_json::Value::Null]);
    assert!(package["settings"].get("machine_weight").is_none());
    let option = ["--class", "drilling", "--soil", "medium", "--machine-weight", "heavy", "--out", "option"];
    printed(folder.path(), &[&["days", "record.csv"][..], &option[..]].concat());
    let mut of_script = shares(&out);
    of_script.retain(|[class, ..], _| class == "drilling");
    assert_eq!(of_script, shares(&folder.path().join("option")));
    let checked = printed(folder.path(), &["check", "farm.rhai"]);
    assert!(
        checked.contains("Days judged by the rules to start from are for heavy machines for drilling."),
        "{checked}"
    );
}

#[test]
fn mistakes_say_what_to_do() {
    let folder = farm("replay", "");
    for (arguments, words) in [
        (
            &["days", "record.csv", "--rules", "farm.rhai", "--machine-weight", "heavy"][..],
            "Give machine_weight: \"heavy\" to the work classes of the script",
        ),
        (&["days", "record.csv", "--machine-weight", "havy"], "'heavy'"),
        (&["days", "record.csv", "--machine-weight", "havy"], "light, middling, heavy"),
        (&["run", "farm.rhai", "--set", "weight=havy"], "did you mean \"heavy\"?"),
    ] {
        let (status, out, error) = said(folder.path(), arguments);
        assert!(status == Some(2) && error.contains(words) && out.is_empty(), "{arguments:?}: {error}");
    }
}
