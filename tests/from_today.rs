//! `--today` and `--done` from outside: what can be asked, what is said, and that the chance from a day on is the exact one
//! of the days that are left.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use sim_core::study::exact::AlikeDays;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

fn output(args: &[&str]) -> std::process::Output {
    let mut command = Command::cargo_bin("dryspell-under-test").unwrap();
    command.env_remove("CLICOLOR_FORCE").env_remove("COLUMNS").args(args).output().unwrap()
}

fn scenario(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios").join(name);
    path.canonicalize().unwrap().display().to_string()
}

/// Exit status, standard output and error as one text, a folder's path taken out.
fn told(args: &[&str], folder: &Path) -> String {
    let output = output(args);
    let status = output.status.code().unwrap();
    let [out, error] = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap());
    format!("status {status}\n{out}{error}").replace(&folder.display().to_string(), "[folder]")
}

fn diary(folder: &Path, rows: &str) -> String {
    let path = folder.join("diary.csv");
    fs::write(&path, rows).unwrap();
    path.display().to_string()
}

fn rows(path: &Path) -> Vec<BTreeMap<String, String>> {
    csv::Reader::from_path(path).unwrap().deserialize().map(Result::unwrap).collect()
}

#[test]
fn what_cannot_be_taken_up_is_a_wrong_request() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let mut text = String::new();
    let missing = folder.join("no-such.csv").display().to_string();
    let none = diary(folder, "crop,operation,finished\n");
    for args in [
        vec!["--today", "13-40"],
        vec!["--done", &none],
        vec!["--today", "10-10", "--done", &missing],
        vec!["--today", "10-10", "--done", &none],
    ] {
        let all = [&["run"][..], &args].concat();
        text.push_str(
            &format!("$ dryspell {}\n{}\n", all.join(" "), told(&all, folder))
                .replace(&folder.display().to_string(), "[folder]"),
        );
    }
    let header = "crop,operation,finished,field,area_done_ha\n";
    for rows in [
        "winter wheat,drilling\n",
        "winter wheat,driling,09-20,,\n",
        "winter whet,drilling,09-20,,\n",
        "winter wheat,drilling,09-20,Fenn,\n",
        "winter wheat,drilling,20 Sept,,\n",
        "winter wheat,drilling,,,\n",
        "winter wheat,drilling,10-10,,\n",
        "winter wheat,drilling,,,some\n",
        "winter wheat,drilling,09-20,,200\n",
        "winter wheat,drilling,09-20,,\nwinter wheat,drilling,09-22,Fen,\n",
        "winter wheat,drilling,2023-09-28,,\nwinter wheat,rolling,2024-09-29,,\n",
        "winter wheat,drilling,09-25,Fen,\nwinter wheat,ploughing,09-28,Fen,\n",
        "spring barley,winter ploughing,09-20,Fen,\n",
    ] {
        let path = diary(folder, &format!("{header}{rows}"));
        let told = told(&["run", "--today", "10-10", "--done", &path], folder);
        assert!(told.starts_with("status 2\n"), "{rows}: {told}");
        text.push_str(&format!("{told}\n"));
    }
    let path = diary(folder, "crop,work,finished\nwinter wheat,drilling,09-20\n");
    text.push_str(&told(&["compare", "--with", "operators=3", "--today", "10-10", "--done", &path], folder));
    insta::assert_snapshot!(text);
}

#[test]
fn a_season_from_today_reads_as_a_farmer_asks() {
    let folder = tempfile::tempdir().unwrap();
    let done = scenario("demo/diary.csv");
    let text = told(&["run", "--today", "2024-10-10", "--done", &done, "--seasons", "300"], folder.path());
    for line in text.lines() {
        assert!(line.chars().count() <= 100, "{line}");
    }
    insta::assert_snapshot!("with_the_demo_diary", text);
    // A short diary: what must have come before is assumed, and what is past is given up; both are said.
    let path = diary(
        folder.path(),
        "crop,operation,finished,area_done_ha\nwinter barley,drilling,10-02,\nwinter wheat,drilling,,34\n",
    );
    let compare =
        ["compare", "--today", "10-10", "--done", &path, "--seasons", "200", "--with", "drill_width_m=6"];
    let text = told(&compare, folder.path());
    insta::assert_snapshot!("a_short_diary_compared", text);
    let run = ["run", "--today", "10-10", "--done", &path, "--rest-done", "--seasons", "200"];
    insta::assert_snapshot!("a_short_diary_and_all_that_was_due", told(&run, folder.path()));
}

/// Taken up on its first day with nothing done, a run is the run to the byte.
#[test]
fn from_the_first_day_on_is_the_whole_season() {
    let folder = tempfile::tempdir().unwrap();
    let written = |name: &str, more: &[&str]| {
        let out = folder.path().join(name);
        let path = out.display().to_string();
        let output = output(&[&["run", "--seasons", "40", "--out", &path], more].concat());
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        ["risk.csv", "finish.csv", "seasons.csv", "use.csv", "waits.csv"]
            .map(|name| fs::read(out.join(name)).unwrap())
    };
    assert!(written("whole", &[]) == written("begun", &["--today", "01-01"]));
}

/// Days that are all alike are alike from any day on, persistence and spread included: the chance of being late from a day on
/// has the exact law of the days and the work that are left.
#[test]
fn the_chance_from_a_day_on_is_that_of_the_days_that_are_left() {
    const SEASONS: u64 = 20_000;
    // 4 standard errors, of three figures with one seed each: by chance once in 5 000.
    const BOUND: f64 = 4.0;
    let folder = tempfile::tempdir().unwrap();
    let script = scenario("one-operation.rhai");
    // 20 ha a day: 100 ha are 5 days' work. (today, hectares done, days left until the 14th, days of work left)
    for (today, done_ha, allowed, needed) in
        [("01-06", Some(30), 9, 4), ("01-09", Some(60), 6, 2), ("01-03", None, 12, 5)]
    {
        let out = folder.path().join(today);
        let path = out.display().to_string();
        let seasons = SEASONS.to_string();
        let mut args = vec!["run", &script, "--today", today, "--seasons", &seasons, "--out", &path];
        let table = done_ha.map(|ha| {
            diary(folder.path(), &format!("crop,operation,finished,area_done_ha\nwheat,ploughing,,{ha}\n"))
        });
        if let Some(table) = &table {
            args.extend(["--done", table]);
        }
        let output = output(&args);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let p_late: f64 = rows(&out.join("risk.csv"))[0]["p_late"].parse().unwrap();
        let law = AlikeDays { p: 0.5, rho: 0.4, phi: 0.1 }.p_late(needed, allowed);
        let error = (law * (1.0 - law) / SEASONS as f64).sqrt();
        assert!((p_late - law).abs() < BOUND * error, "{today}: {p_late}, exactly {law}, error {error}");
    }
}

/// Machines are used from today on only, on any number of threads alike, and the descriptor says what was taken as done.
#[test]
fn the_tables_count_from_today_on() {
    let folder = tempfile::tempdir().unwrap();
    let done = scenario("demo/diary.csv");
    let written = |threads: &str| {
        let out = folder.path().join(threads);
        let path = out.display().to_string();
        let args = [
            "run",
            "--today",
            "10-10",
            "--done",
            &done,
            "--seasons",
            "60",
            "--threads",
            threads,
            "--out",
            &path,
        ];
        let output = output(&args);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        let names = ["risk.csv", "seasons.csv", "use.csv", "waits.csv", "datapackage.json"];
        names.map(|name| fs::read_to_string(out.join(name)).unwrap())
    };
    let one = written("1");
    assert!(one == written("5"));
    let used = rows(&folder.path().join("1/use.csv"));
    for of in &used {
        let columns = ["hours_needed", "hours_mean"].map(|column| of[column].parse::<f64>().unwrap());
        let before = of.values().any(|cell| cell.starts_with("2025-") && cell.as_str() < "2025-10-01");
        assert!(!before || columns == [0.0; 2], "{of:?}");
    }
    assert!(used.iter().any(|of| of["hours_mean"].parse::<f64>().unwrap() > 1.0));
    let package: serde_json::Value = serde_json::from_str(&one[4]).unwrap();
    let taken_up = &package["taken_up"];
    assert_eq!(taken_up["from"], "2025-10-10");
    let drilled: Vec<(&str, f64)> = taken_up["done"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|of| of["crop"] == "winter wheat" && of["operation"] == "drilling")
        .map(|of| (of["field"].as_str().unwrap(), of["area_ha"].as_f64().unwrap()))
        .collect();
    // 0.5, 1.0 and 3.2 km from the yard.
    assert_eq!(drilled, [("Warren", 20.0), ("Dell", 10.0), ("Fen", 4.0)]);
}
