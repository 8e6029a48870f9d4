//! `dryspell days` on weekly statistics: North Dakota's days suitable for field work (USDA NASS, public domain;
//! records/datapackage.json), against figures computed beforehand from the same record by other hands: the days a week that
//! 80, 50 and 20 % of the years have at least are 4.82, 5.75 and 6.38 in mid September, 4.00, 5.70 and 6.50 in mid October,
//! 3.68, 5.00 and 6.32 in late October.

#[path = "support/python.rs"]
mod python;

use assert_cmd::Command;
use std::collections::BTreeSet;
use std::path::Path;

const RECORD: &str = "north-dakota-days-suitable.csv";

fn days(arguments: &[&str]) -> std::process::Output {
    Command::cargo_bin("dryspell-under-test")
        .unwrap()
        .current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/records"))
        .arg("days")
        .args(arguments)
        .output()
        .unwrap()
}

fn printed(arguments: &[&str]) -> String {
    let output = days(arguments);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// These are the ISO weeks 37, 41 and 43, with quantiles by straight lines between the years; all nine figures agree.
#[test]
fn the_weeks_of_north_dakota_have_the_days_computed_before() {
    let text = printed(&[RECORD]);
    for (week, first_day, figures) in [
        ("37", "9 Sep", ["4.82", "5.75", "6.38"]),
        ("41", "7 Oct", ["4.00", "5.70", "6.50"]),
        ("43", "21 Oct", ["3.68", "5.00", "6.32"]),
    ] {
        let is_week = |line: &&str| line.split_whitespace().next() == Some(week);
        let line = text.lines().find(is_week).unwrap();
        assert!(line.contains(first_day), "{line}");
        let cells: Vec<&str> = line.split_whitespace().collect();
        assert_eq!(cells[cells.len() - 3..], figures, "{line}");
    }
    let wide: Vec<&str> = text.lines().filter(|line| line.chars().count() > 100).collect();
    assert!(wide.is_empty(), "{wide:#?}");
    insta::assert_snapshot!(text);
}

/// The correlation of successive weeks, here by another way: Pearson's over all pairs of neighbouring weeks' deviations from
/// the mean of their week. The program weighs by chances, so they agree only nearly.
#[test]
fn successive_weeks_hang_together_as_printed() {
    let record = Path::new(env!("CARGO_MANIFEST_DIR")).join("records").join(RECORD);
    let mut reader = csv::Reader::from_path(record).unwrap();
    let rows: Vec<(jiff::civil::Date, f64)> = reader
        .records()
        .map(|row| {
            let row = row.unwrap();
            (row[1].parse().unwrap(), row[2].parse().unwrap())
        })
        .collect();
    let week = |date: jiff::civil::Date| date.iso_week_date().week();
    let off = |(date, days): (jiff::civil::Date, f64)| {
        let same: Vec<f64> = rows.iter().filter(|row| week(row.0) == week(date)).map(|row| row.1).collect();
        days - same.iter().sum::<f64>() / same.len() as f64
    };
    let (mut top, mut first, mut second) = (0.0, 0.0, 0.0);
    for pair in rows.windows(2).filter(|pair| (pair[1].0 - pair[0].0).get_days() == 7) {
        let (a, b) = (off(pair[0]), off(pair[1]));
        (top, first, second) = (top + a * b, first + a * a, second + b * b);
    }
    let pearson = top / (first * second).sqrt();
    let text = printed(&[RECORD]);
    let line = text.lines().skip_while(|line| !line.starts_with("Weeks apart")).nth(2).unwrap();
    let told: f64 = line.split_whitespace().nth(2).unwrap().parse().unwrap();
    assert!((told - pearson).abs() < 0.03, "{told} {pearson}");
}

/// A script takes the tables: one job of a fieldwork class within the weeks that are reported.
#[test]
fn a_script_can_use_the_weeks() {
    let folder = tempfile::tempdir().unwrap();
    printed(&[RECORD, "--class", "combining", "--out", folder.path().to_str().unwrap()]);
    let script = r#"
farm(#{
    name: "Weeks",
    suitable_days: suitable_days("days.csv"),
    drivers: drivers_from("drivers.csv"),
    classes: [work_class("combining", #{ driver: "soil" })],
    people: [person("Driver", #{ hours: "09:00-19:00", drives: ["combine"] })],
    machines: [machine("combine", #{ work_rate_ha_h: 2.0, needs_driver: true })],
    outfits: [outfit("combine", #{ machines: ["combine"] })],
    crops: [crop("maize", #{
        standing: [operation("combining", #{
            class: "combining", outfits: ["combine"], from: "09-20", due: "10-31",
        })],
    })],
    fields: [field("North", #{ area_ha: 550, soil: "any soil", standing: "maize" })],
})
"#;
    std::fs::write(folder.path().join("farm.rhai"), script).unwrap();
    let run = Command::cargo_bin("dryspell-under-test")
        .unwrap()
        .args(["run", "farm.rhai", "--seasons", "200"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    assert!(String::from_utf8_lossy(&run.stdout).contains("with persistence and spread"));
    let package = std::fs::read_to_string(folder.path().join("datapackage.json")).unwrap();
    assert!(package.contains("404 weeks, 1995 to 2026") && package.contains("\"class\": \"combining\""));
}

/// The picture is XML, by a parser of Python's own library, and has every reported week once, each year by name, and a
/// mark for each week of a year that was not reported. The descriptor knows it.
#[test]
fn the_picture_has_every_week_once() {
    let folder = tempfile::tempdir().unwrap();
    let text = printed(&[RECORD, "--out", folder.path().to_str().unwrap()]);
    assert!(text.contains("fieldwork-any.svg"));
    let svg = std::fs::read_to_string(folder.path().join("fieldwork-any.svg")).unwrap();
    let read = python::ask("picture_parts.py", &serde_json::json!(svg));
    let places = |class: &str| -> Vec<String> {
        read[class].as_array().unwrap().iter().map(ToString::to_string).collect()
    };
    let (weeks, missing) = (places("week"), places("missing"));
    assert_eq!((weeks.len(), missing.len()), (404, 32 * 16 - 404), "1995 to 2026, weeks 34 to 49");
    assert_eq!(weeks.iter().chain(&missing).collect::<BTreeSet<_>>().len(), 32 * 16, "none upon another");
    let texts: Vec<&str> =
        read["texts"].as_array().unwrap().iter().filter_map(|text| text.as_str()).collect();
    for year in (1995..=2026).map(|year| year.to_string()) {
        assert_eq!(texts.iter().filter(|text| **text == year).count(), 1, "{year}");
    }
    let package = std::fs::read_to_string(folder.path().join("datapackage.json")).unwrap();
    assert!(package.contains("\"path\": \"fieldwork-any.svg\"") && package.contains("image/svg+xml"));
}

#[test]
fn what_is_for_days_is_refused_for_weeks_and_wrong_weeks_are_named() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("weeks.csv");
    std::fs::write(&file, "week_ending,days_suitable\n2024-09-01,3\n2024-09-08,8\n").unwrap();
    let wrong = file.to_str().unwrap();
    let short = folder.path().join("short.csv");
    std::fs::write(&short, "week_ending,days_suitable\n2024-09-01,3\n2024-09-08,4\n").unwrap();
    for (arguments, words) in [
        (&[RECORD, "--rules", "farm.rhai"][..], "--rules is for a daily record"),
        (&[RECORD, "--machine-weight", "heavy"], "--machine-weight is for a daily record"),
        (&[RECORD, "--columns", "rain=R"], "--columns is for a daily record"),
        (&[wrong], "row 3, column `days_suitable`: `8` is no number of days in a week"),
        (&[short.to_str().unwrap()], "no week of the year that 5 years report"),
    ] {
        let output = days(arguments);
        let error = String::from_utf8(output.stderr).unwrap();
        assert_eq!((output.status.code(), error.contains(words)), (Some(2), true), "{arguments:?}: {error}");
        assert!(output.stdout.is_empty());
    }
}
