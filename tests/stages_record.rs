//! Early and late years on an open record: how far accumulated temperature moves a stage, counted a second time here, and
//! what the whole program says of work that moves with it.
//!
//! Found on Dublin Airport 1980-2024, summed from 1 January, in days:
//!
//! | stage's day, base | mean | standard deviation | earliest | latest |
//! | --- | --- | --- | --- | --- |
//! | 20 April, 0 degrees | -0.2 | 10.9 | -22 | 28 |
//! | 5 August, 0 degrees | 0.6 | 7.8 | -14 | 20 |
//! | 5 August, 5 degrees | 1.0 | 8.8 | -16 | 24 |
//!
//! Cold years take longer to make up what they lack than warm ones are ahead, so the mean is a little above 0. Spring's
//! and harvest's days correlate by 0.87: a year is early or late throughout, as drawn seasons have it. The springs show no
//! trend: those of 1988 to 1998 are as early as the last ten.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use jiff::civil::{Date, date};
use sim_core::weather::{Quantity, Record, Warmth};
use sim_script::tables::record::{Reading, read_record};
use std::collections::BTreeMap;
use std::path::Path;

const RECORD: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/records/dublin-airport-daily.csv");

fn dublin() -> Record {
    read_record("dublin", &std::fs::read(RECORD).unwrap(), &Reading::default()).unwrap().record
}

fn shifts(record: &Record, from: &str, normally: &str, base_c: f64) -> Vec<i32> {
    let warmth = Warmth { from: from.parse().unwrap(), normally: normally.parse().unwrap(), base_c };
    let shifts = warmth.shifts(record, 1980..=2024).unwrap();
    // None is missing.
    shifts.into_iter().map(|days| i32::from(days.unwrap())).collect()
}

fn mean(days: &[i32]) -> f64 {
    days.iter().map(|days| f64::from(*days)).sum::<f64>() / days.len() as f64
}

fn sd(days: &[i32]) -> f64 {
    let middle = mean(days);
    (days.iter().map(|days| (f64::from(*days) - middle).powi(2)).sum::<f64>() / (days.len() - 1) as f64)
        .sqrt()
}

/// The sum of a year up to the close of a date, from the columns as they are.
fn degree_days(record: &Record, from: Date, to: Date, base_c: f64) -> f64 {
    let (low, high) =
        (record.of(Quantity::TemperatureMin).unwrap(), record.of(Quantity::TemperatureMax).unwrap());
    let days = record.day_of(from).unwrap()..=record.day_of(to).unwrap();
    days.map(|day| f64::max(0.0, (low[day] + high[day]) / 2.0 - base_c)).sum()
}

#[test]
fn early_and_late_years_on_a_record_of_45() {
    let record = dublin();
    for (normally, day, base_c) in [("04-20", (4, 20), 0.0), ("08-05", (8, 5), 0.0), ("08-05", (8, 5), 5.0)] {
        let found = shifts(&record, "01-01", normally, base_c);
        let (middle, spread) = (mean(&found), sd(&found));
        println!(
            "{normally} above {base_c}: mean {middle:.2}, sd {spread:.2}, {:?} to {:?}",
            found.iter().min(),
            found.iter().max()
        );
        // Within a standard error of 0.
        assert!(middle.abs() < spread / 45f64.sqrt(), "{normally}: {middle}");
        assert!((4.0..13.0).contains(&spread), "{normally}: {spread}");
        assert!(*found.iter().min().unwrap() < -7 && *found.iter().max().unwrap() > 7, "{found:?}");
        // Counted anew: at the close of the day found a year's sum is within a day's warmth of the middling one.
        let close = |year: i16| date(year, day.0, day.1);
        // 2025 has all of both stretches as well.
        let years = 1980..=2025i16;
        let sums = years.map(|year| degree_days(&record, date(year, 1, 1), close(year), base_c));
        let middling = sums.sum::<f64>() / 46.0;
        for (year, shift) in (1980..=2024i16).zip(&found) {
            let off = |days: i32| {
                let to = close(year).saturating_add(jiff::Span::new().days(days));
                (degree_days(&record, date(year, 1, 1), to, base_c) - middling).abs()
            };
            assert!(off(*shift) <= off(shift - 1) && off(*shift) <= off(shift + 1), "{year}");
        }
    }
    // The three latest springs are known as cold ones: February 1986, the winter into 2010, March 2013 (from memory).
    let mut latest: Vec<(i32, i16)> =
        shifts(&record, "01-01", "04-20", 0.0).into_iter().zip(1980..).collect();
    latest.sort_unstable();
    assert_eq!(latest.iter().rev().take(3).map(|(_, year)| *year).collect::<Vec<_>>(), [2010, 1986, 2013]);
    // A year is early or late throughout, more or less: spring's and harvest's days go together.
    let (spring, harvest) = (shifts(&record, "01-01", "04-20", 0.0), shifts(&record, "01-01", "08-05", 0.0));
    let products = spring.iter().zip(&harvest).map(|(one, other)| f64::from(one * other)).sum::<f64>() / 44.0;
    let correlation = (products - mean(&spring) * mean(&harvest)) / (sd(&spring) * sd(&harvest));
    println!("correlation {correlation:.2}");
    assert!((0.4..0.95).contains(&correlation), "{correlation}");
}

/// A farm with one operation that moves and one that does not. Invented.
const FARM: &str = r#"
farm(#{
    name: "Early and late",
    WEATHER,
    stages: [stage("ripeness", #{ normally: "08-05", sd_days: 7 }), stage("heading", #{ normally: "06-01" })],
    classes: [work_class("combining", #{ driver: "air", hours: "11:30-21:00" }), work_class("spraying", #{ driver: "air" })],
    people: [person("Ann", #{ hours: "07:00-21:00", drives: ["combine", "sprayer"] })],
    machines: [
        machine("combine", #{ needs_driver: true, work_rate_ha_h: 2.0 }),
        machine("sprayer", #{ needs_driver: true, work_rate_ha_h: 8.0 }),
    ],
    outfits: [outfit("combine", #{ machines: ["combine"] }), outfit("sprayer", #{ machines: ["sprayer"] })],
    crops: [crop("wheat", #{ standing: [
        operation("ear spray", #{ class: "spraying", outfits: "sprayer", from: "06-10", due: "06-20", moves_with: "heading" }),
        operation("combining", #{ class: "combining", outfits: "combine", from: "08-05", due: "08-16", moves_with: "ripeness" }),
        operation("stubble spray", #{ class: "spraying", outfits: "sprayer", from: "09-05", due: "09-25", after: ["combining"] }),
    ] })],
    fields: [field("Long Acre", #{ area_ha: 90.0, soil: "medium", standing: "wheat" })],
})
"#;

fn program(args: &[&str]) -> String {
    let output = Command::cargo_bin("dryspell-under-test").unwrap().args(args).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// The farm's script in a folder, with the record beside it.
fn script(folder: &Path, weather: &str) -> String {
    std::fs::copy(RECORD, folder.join("record.csv")).unwrap();
    let path = folder.join("farm.rhai");
    std::fs::write(&path, FARM.replace("WEATHER", weather)).unwrap();
    path.display().to_string()
}

const TABLE: &str = "suitable_days: [suitable(#{ class: \"combining\", p_suitable: 0.45 }), suitable(#{ class: \"spraying\", p_suitable: 0.4 })]";

#[test]
fn check_says_what_moves_and_how_far() {
    let folder = tempfile::tempdir().unwrap();
    let moves = |weather: &str| {
        let told = program(&["check", &script(folder.path(), weather)]);
        let from = told.find("Windows that move").unwrap();
        told[from..told.find("People\n").unwrap()].to_string()
    };
    insta::assert_snapshot!(format!("{}{}", moves("weather: replay(\"record.csv\")"), moves(TABLE)));
}

fn rows(path: &Path) -> Vec<BTreeMap<String, String>> {
    csv::Reader::from_path(path).unwrap().deserialize().map(Result::unwrap).collect()
}

/// The chance of being late is the share of seasons that were late by their own due day.
#[test]
fn what_moves_has_no_due_day_of_all_seasons_and_is_judged_by_each() {
    let folder = tempfile::tempdir().unwrap();
    for (weather, seasons) in [("weather: replay(\"record.csv\")", 45), (TABLE, 400)] {
        let out = folder.path().join(format!("out{seasons}"));
        let (script, count) = (script(folder.path(), weather), seasons.to_string());
        let told =
            program(&["run", &script, "--seasons", &count, "--out", &out.display().to_string(), "--all"]);
        assert!(
            told.contains("about 16 Aug") && told.contains("about 20 Jun") && told.contains(" 25 Sep"),
            "{told}"
        );
        let of_seasons = rows(&out.join("seasons.csv"));
        for risk in rows(&out.join("risk.csv")) {
            let own = of_seasons.iter().filter(|row| row["operation"] == risk["operation"]);
            let late = own.filter(|row| row["area_late_ha"].parse::<f64>().unwrap() > 0.0).count();
            let p_late: f64 = risk["p_late"].parse().unwrap();
            assert!((p_late - late as f64 / f64::from(seasons)).abs() < 1e-6, "{risk:?}: {late}");
            let moves = risk["operation"] != "stubble spray";
            assert_eq!(risk["due"], if moves { "" } else { "2025-09-25" });
        }
    }
}
