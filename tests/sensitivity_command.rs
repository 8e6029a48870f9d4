//! `dryspell sensitivity` from outside: what can be asked, what is said, and that it is the same on any number of
//! threads.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

#[path = "support/command.rs"]
mod command;

use assert_cmd::Command;
use command::{Row, files, number, rows, scenario};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

fn told(args: &[&str]) -> String {
    command::told("sensitivity", args)
}

/// The tables and what was said of them.
fn written(args: &[&str]) -> (String, BTreeMap<String, Vec<u8>>) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("out").display().to_string();
    let output = command::output("sensitivity", &[args, &["--out", &path]].concat());
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    (String::from_utf8(output.stdout).unwrap().replace(&path, "[out]"), files(Path::new(&path)))
}

#[test]
fn what_cannot_be_screened_is_a_wrong_request() {
    let farm = scenario("one-operation.rhai");
    let wrong: [&[&str]; 15] = [
        &[],
        &["--vary", "area_ha"],
        &["--vary", "aera_ha=10..20"],
        &["--vary", "area_ha=10..20:1"],
        &["--vary", "area_ha=20..10"],
        &["--vary", "area_ha=10..wide"],
        &["--vary", "area_ha=10"],
        &["--vary", "area_ha=10,10.0"],
        &["--vary", "area_ha=10,wide"],
        &["--vary", "allowed_days=10..20.5"],
        &["--vary", "area_ha=-10..20"],
        &["--vary", "area_ha=10..20", "--vary", "area_ha=20..30"],
        &["--vary", "area_ha=10..20", "--set", "area_ha=15"],
        &["--vary", "area_ha=10..20", "--trajectories", "1"],
        &["--vary", "area_ha=10..20", "--seasons", "0"],
    ];
    let mut text = String::new();
    for args in wrong {
        let args: Vec<&str> = std::iter::once(farm.as_str()).chain(args.iter().copied()).collect();
        let told = told(&args);
        assert!(told.starts_with("status 2\n"), "{args:?}: {told}");
        text.push_str(&format!("$ dryspell sensitivity {}\n{told}\n", args[1..].join(" ")));
    }
    let told = told(&["--vary", "wheat_tillage=a..b"]);
    text.push_str(&format!("$ dryspell sensitivity --vary wheat_tillage=a..b\n{told}"));
    insta::assert_snapshot!(text);
}

#[test]
fn a_screening_reads_as_a_farmer_asks() {
    let mut text = told(&["--seasons", "40", "--trajectories", "4"]);
    text.push_str("\n--------\n");
    // What is set is held, and weathers are varied too.
    text.push_str(&told(&["--seasons", "20", "--trajectories", "2", "--set", "drill_width_m=5"]));
    text.push_str("\n--------\n");
    let farm = scenario("demo/independent-days.rhai");
    let vary = ["--vary", "drill_ha_h=0.3..1", "--vary", "weather=recorded,independent"];
    text.push_str(&told(&[&[farm.as_str(), "--seasons", "90"], vary.as_slice()].concat()));
    for line in text.lines() {
        assert!(line.chars().count() <= 100, "{line}");
    }
    insta::assert_snapshot!(text);
}

#[test]
fn any_number_of_threads_screens_to_the_same_bytes() {
    let args = [
        "--vary",
        "drill_width_m=3..6",
        "--vary",
        "operators=1..3",
        "--vary",
        "wheat_tillage=plough,min_till,direct",
    ];
    let with = |threads: &str| {
        written(&[&args[..], &["--seasons", "50", "--trajectories", "3", "--threads", threads]].concat())
    };
    let one = with("1");
    for threads in ["2", "7"] {
        assert!(one == with(threads), "{threads} threads");
    }
    let found = rows(&one.1["sensitivity.csv"]);
    // Direct drilling has no ploughing: a step to or from it says nothing of ploughing.
    let ploughing = |row: &&Row| row["operation"] == "ploughing" && row["crop"] == "winter wheat";
    assert!(found.iter().filter(ploughing).all(|row| number(row, "effects") <= 3.0));
    assert!(found.iter().filter(ploughing).any(|row| number(row, "effects") < 3.0));
    for row in &found {
        assert_eq!(row["mu"].is_empty(), row["parameter"] == "wheat_tillage");
        if !row["mu_star_low"].is_empty() {
            let [low, middle, high] = ["mu_star_low", "mu_star", "mu_star_high"].map(|end| number(row, end));
            assert!(low <= middle && middle <= high, "{row:?}");
        }
        if !row["mu"].is_empty() {
            assert!(number(row, "mu").abs() <= number(row, "mu_star") + 1e-6);
        }
    }
    let descriptor: serde_json::Value = serde_json::from_slice(&one.1["datapackage.json"]).unwrap();
    assert_eq!(
        descriptor["varied"][1],
        serde_json::json!({ "name": "operators", "values": ["1", "2", "2", "3"] })
    );
    let fields = descriptor["resources"][0]["schema"]["fields"].as_array().unwrap();
    let names: Vec<&str> = fields.iter().map(|field| field["name"].as_str().unwrap()).collect();
    let header = String::from_utf8_lossy(&one.1["sensitivity.csv"]).lines().next().unwrap().to_string();
    assert_eq!(names.join(","), header);
}

/// Of one parameter with two values the effect is what a comparison of the two says, whatever the way.
#[test]
fn the_effect_of_two_values_is_their_difference() {
    let farm = scenario("one-operation.rhai");
    let of = |row: &Row| {
        (row["response"].clone(), number(row, "mu"), number(row, "mu_star"), number(row, "sigma"))
    };
    let (_, files) =
        written(&[&farm, "--vary", "area_ha=100,140", "--seasons", "500", "--trajectories", "5"]);
    let found = rows(&files["sensitivity.csv"]);
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("out").display().to_string();
    let args = ["compare", &farm, "--with", "area_ha=140", "--seasons", "500", "--out", &path];
    Command::cargo_bin("dryspell-under-test").unwrap().args(args).assert().success();
    let compared = rows(&fs::read(folder.path().join("out/compare.csv")).unwrap());
    let [late, days] = ["p_late_difference", "days_late_difference"].map(|of| number(&compared[0], of));
    assert!(late > 0.05);
    assert_eq!(of(&found[0]), ("p_late".into(), late, late, 0.0));
    let (response, mu, mu_star, sigma) = of(&found[1]);
    assert_eq!((response.as_str(), mu_star, sigma), ("days_late_mean", mu, 0.0));
    assert!((mu - days).abs() < 1e-4);
}

/// What a script declares serves, and what is asked for stands instead.
#[test]
fn the_ranges_of_a_script_serve() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("farm.rhai");
    let text = fs::read_to_string(scenario("one-operation.rhai")).unwrap();
    let named = "\"area of the field, ha\"";
    assert!(text.contains(named));
    fs::write(&script, text.replace(named, &format!("{named}, #{{ from: 60, to: 140 }}"))).unwrap();
    let path = script.display().to_string();
    let told_of = told(&[&path, "--seasons", "100", "--trajectories", "3"]);
    assert!(told_of.contains("Varied: area_ha 60 to 140."), "{told_of}");
    let asked = told(&[&path, "--vary", "allowed_days=7..21", "--vary", "area_ha", "--seasons", "100"]);
    assert!(asked.contains("Varied: allowed_days 7 to 21; area_ha 60 to 140."), "{asked}");
}
