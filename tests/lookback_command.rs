//! `dryspell lookback` from outside: the model's dates are those of a replay of the same year, and what is said of how far
//! apart farm and model are is what can be counted by hand.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use jiff::ToSpan as _;
use jiff::civil::Date;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

fn output(args: &[&str]) -> std::process::Output {
    let mut command = Command::cargo_bin("dryspell-under-test").unwrap();
    command.env_remove("CLICOLOR_FORCE").env_remove("COLUMNS").args(args).output().unwrap()
}

const RECORD: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/records/dublin-airport-daily.csv");
const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../scenarios/demo");

/// Exit status, standard output and error as one text, a folder's path taken out.
fn told(args: &[&str], folder: &Path) -> String {
    let output = output(args);
    let status = output.status.code().unwrap();
    let [out, error] = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap());
    format!("status {status}\n{out}{error}").replace(&folder.display().to_string(), "[folder]")
}

type Row = BTreeMap<String, String>;

fn rows(path: &Path) -> Vec<Row> {
    csv::Reader::from_path(path).unwrap().deserialize().map(Result::unwrap).collect()
}

/// The demo's script with the record as its weather, in the record's word.
fn demo_on_record(word: &str, folder: &Path) -> String {
    fs::copy(RECORD, folder.join("record.csv")).unwrap();
    let script = fs::read_to_string(Path::new(DEMO).join("farm.rhai")).unwrap();
    let script = script.replace("    drivers: drivers_from(\"drivers.csv\"),\n", "").replace(
        "suitable_days: suitable_days(\"suitable-days.csv\")",
        &format!("weather: {word}(\"record.csv\")"),
    );
    let path = folder.join(format!("{word}.rhai"));
    fs::write(&path, script).unwrap();
    path.display().to_string()
}

#[test]
fn a_year_reads_as_a_farmer_asks() {
    let folder = tempfile::tempdir().unwrap();
    let diary = format!("{DEMO}/diary.csv");
    let text = told(&["lookback", "--year", "2024", "--record", RECORD, "--diary", &diary], folder.path());
    for line in text.lines() {
        assert!(line.chars().count() <= 100, "{line}");
    }
    insta::assert_snapshot!(text);
}

#[test]
fn what_cannot_be_looked_back_on_is_a_wrong_request() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let path = folder.join("diary.csv");
    let name = path.display().to_string();
    let mut text = String::new();
    let mut ask = |diary: &str, args: &[&str]| {
        fs::write(&path, diary).unwrap();
        let all = [&["lookback", "--diary", &name], args].concat();
        let told = told(&all, folder);
        assert!(told.starts_with("status 2\n"), "{diary}{told}");
        text.push_str(&format!("{told}\n"));
    };
    let drilled = "crop,operation,finished\nwinter wheat,drilling,10-20\n";
    ask(drilled, &["--year", "2024"]);
    ask(drilled, &["--year", "2031", "--record", RECORD]);
    ask(drilled, &["--year", "2024", "--record", &name]);
    let year = ["--year", "2023", "--record", RECORD];
    ask("crop,operation,finished\nwinter wheat,drilling,2024-10-20\n", &year);
    ask("crop,operation,finished\nwinter wheat,driling,10-20\n", &year);
    ask("crop,operation,finished,begun\nwinter wheat,drilling,10-01,10-05\n", &year);
    ask("crop,operation,finished\nwinter wheat,drilling,10-01\nwinter wheat,drilling,10-05\n", &year);
    insta::assert_snapshot!(text);
}

/// The model's dates are those of the season that `run` works under a replay; which season that is, is said; and a table
/// or a resampling of the record, and the record beside any weather, give the same year.
#[test]
fn the_models_dates_are_those_of_a_replay() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let replay = demo_on_record("replay", folder);
    let run = folder.join("run").display().to_string();
    assert!(output(&["run", &replay, "--seasons", "45", "--out", &run]).status.success());
    let seasons = rows(&folder.join("run/seasons.csv"));
    let of_year: Vec<&Row> = seasons.iter().filter(|row| row["year"] == "1998").collect();
    assert!(of_year.len() > 40);
    let mut diary = String::from("crop,operation,finished\n");
    for row in &of_year {
        diary.push_str(&format!("{},{},09-09\n", row["crop"], row["operation"]));
    }
    let path = folder.join("diary.csv");
    fs::write(&path, diary).unwrap();
    let diary = path.display().to_string();
    let resample = demo_on_record("resample", folder);
    let demo = format!("{DEMO}/farm.rhai");
    let mut before: Option<Vec<Row>> = None;
    for (name, more) in [
        ("replay", vec![&replay[..]]),
        ("resample", vec![&resample]),
        ("record", vec![&demo, "--record", RECORD]),
    ] {
        let out = folder.join(name).display().to_string();
        let args = [&["lookback", "--year", "1998", "--diary", &diary, "--out", &out][..], &more].concat();
        let text = told(&args, folder);
        assert!(text.starts_with("status 0\n"), "{text}");
        let said = format!("season {}", of_year[0]["season"]);
        assert_eq!(
            text.split_whitespace().collect::<Vec<_>>().join(" ").contains(&said),
            name == "replay",
            "{text}"
        );
        let laid = rows(&folder.join(name).join("lookback.csv"));
        assert_eq!(laid.len(), of_year.len());
        let mut never = 0;
        for (row, of) in laid.iter().zip(&of_year) {
            let model = row["finished_model"].as_str();
            let run = of["finish"].replacen("2025", "1998", 1);
            // On land that other crops have given up spring barley's work is not the farm's own plan.
            if row["operation"] == "winter ploughing" && row["crop"] == "spring barley" {
                assert!(model <= run.as_str(), "{row:?}");
            } else {
                assert_eq!(model, run, "{row:?}");
            }
            never += usize::from(model == "never");
            let date = |text: &str| text.parse::<Date>().unwrap();
            let days = (model != "never").then(|| (date(model) - date("1998-09-09")).get_days().to_string());
            assert_eq!(row["days_apart"], days.unwrap_or_default());
        }
        assert!(never > 0 && never + 10 < laid.len(), "{never}");
        assert!(before.as_ref().is_none_or(|before| *before == laid));
        before = Some(laid);
        let package: serde_json::Value =
            serde_json::from_str(&fs::read_to_string(folder.join(name).join("datapackage.json")).unwrap())
                .unwrap();
        let fields = package["resources"][0]["schema"]["fields"].as_array().unwrap();
        let names: Vec<&str> = fields.iter().map(|field| field["name"].as_str().unwrap()).collect();
        let header = fs::read_to_string(folder.join(name).join("lookback.csv")).unwrap();
        assert_eq!(names.join(","), header.lines().next().unwrap());
        assert_eq!(package["year"], 1998);
    }
}

/// A farm that did what the model does is told so, field by field, and one that did all of it some days later gets these
/// days back.
#[test]
fn days_apart_are_counted_as_by_hand() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let path = folder.join("diary.csv");
    let name = path.display().to_string();
    let out = folder.join("out").display().to_string();
    let ask = |rows: &[(String, String, String, String)]| {
        let lines =
            rows.iter().map(|(crop, operation, field, day)| format!("{crop},{operation},{field},{day}\n"));
        fs::write(&path, format!("crop,operation,field,finished\n{}", lines.collect::<String>())).unwrap();
        let args = ["lookback", "--year", "2004", "--record", RECORD, "--diary", &name, "--out", &out];
        let text = told(&args, folder).split_whitespace().collect::<Vec<_>>().join(" ");
        (text, self::rows(&folder.join("out/lookback.csv")))
    };
    let mut of: Vec<(String, String, String, String)> = ["Low Moor", "Marsh End", "Station", "Dell"]
        .iter()
        .flat_map(|field| ["ploughing", "drilling"].map(|operation| (field, operation)))
        .map(|(field, operation)| ("winter wheat".into(), operation.into(), (*field).into(), "10-01".into()))
        .collect();
    of.push(("spring barley".into(), "drilling".into(), String::new(), "04-01".into()));
    let model: Vec<Date> = ask(&of).1.iter().map(|row| row["finished_model"].parse().unwrap()).collect();
    let mut shift = |days: &[i64]| {
        for ((row, date), days) in of.iter_mut().zip(&model).zip(days) {
            row.3 = date.saturating_add(days.days()).to_string();
        }
        ask(&of)
    };
    let (text, same) = shift(&[0; 9]);
    assert!(same.iter().all(|row| row["days_apart"] == "0"), "{same:?}");
    assert!(
        text.contains(
            "Of 9 operations the model has 0 done earlier than the farm, 9 on the same day and 0 later."
        ),
        "{text}"
    );
    assert!(text.contains("0 days apart in the middle (median) and 0 days on average"), "{text}");
    // Later by 1, 2, 3, 3, 5, 8 and 10 days, earlier by 4, once the same: the absolute days are 0 1 2 3 3 4 5 8 10.
    let (text, laid) = shift(&[1, 2, 3, 3, 5, 8, 10, -4, 0]);
    assert_eq!((laid[4]["days_apart"].as_str(), laid[7]["days_apart"].as_str()), ("-5", "4"));
    assert!(text.contains("has 7 done earlier than the farm, 1 on the same day and 1 later."), "{text}");
    assert!(text.contains("3 days apart in the middle (median) and 4 days on average."), "{text}");
    assert!(text.contains("The model is mostly early, by 3 days in the middle"), "{text}");
    let (text, _) = shift(&[-1, -2, -3, -3, -5, -8, -10, 4, 0]);
    assert!(text.contains("The model is mostly late, by 3 days in the middle"), "{text}");
    let (text, _) = shift(&[-1, 2, -3, 3, -5, 8, 10, -4, 0]);
    assert!(text.contains("The model is early about as often as late."), "{text}");
}
