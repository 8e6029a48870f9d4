//! The whole program from outside: messages, exit status, files that appear whole or not at all.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

use assert_cmd::Command;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Output, Stdio};

/// The program, away from a terminal.
fn dryspell() -> Command {
    let mut command = Command::cargo_bin("dryspell-under-test").unwrap();
    command.env_remove("CLICOLOR_FORCE");
    command
}

fn output(args: &[&str]) -> Output {
    dryspell().args(args).output().unwrap()
}

/// Exit status, standard output and error as one text; the folder's own path is taken out.
fn told(args: &[&str], folder: &Path) -> String {
    let output = output(args);
    let text = format!(
        "status {}\n{}{}",
        output.status.code().unwrap(),
        String::from_utf8(output.stdout).unwrap(),
        String::from_utf8(output.stderr).unwrap()
    );
    text.replace(&folder.display().to_string(), "[folder]").replace(&scenario(""), "[scenarios]")
}

fn scenario(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios").join(name);
    path.canonicalize().unwrap().display().to_string()
}

fn csv_rows(path: PathBuf) -> Vec<BTreeMap<String, String>> {
    let mut reader = csv::Reader::from_path(path).unwrap();
    reader.deserialize().map(Result::unwrap).collect()
}

#[test]
fn a_missing_script_is_a_wrong_request() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("no-such-farm.rhai").display().to_string();
    for command in ["run", "check"] {
        let text = told(&[command, &path], folder.path());
        insta::assert_snapshot!("a_missing_script_is_a_wrong_request", text);
    }
}

#[test]
fn an_unknown_parameter_is_a_wrong_request() {
    let folder = tempfile::tempdir().unwrap();
    let args = ["run", &scenario("one-operation.rhai"), "--set", "aera_ha=10"];
    insta::assert_snapshot!(told(&args, folder.path()));
    let args = ["run", "--set", "drill_width_m"];
    insta::assert_snapshot!(told(&args, folder.path()));
}

#[test]
fn a_folder_that_cannot_be_written_is_found_before_anything_is_run() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a file");
    fs::write(&file, "mine").unwrap();
    for out in [file.clone(), file.join("below")] {
        // So many seasons would take hours.
        let out = out.display().to_string();
        let text = told(&["run", "--seasons", "1000000000", "--out", &out], folder.path());
        assert!(text.starts_with("status 2\nerror: cannot write to the folder [folder]/a file"), "{text}");
    }
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
}

#[test]
fn a_new_farm_runs_and_is_never_overwritten() {
    let folder = tempfile::tempdir().unwrap();
    let farm = folder.path().join("my farm");
    let farm_path = farm.display().to_string();
    insta::assert_snapshot!(told(&["new", &farm_path], folder.path()));
    let script = farm.join("farm.rhai").display().to_string();
    for command in [["check", &script].as_slice(), &["run", &script, "--seasons", "30"]] {
        let output = output(command);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    }
    fs::write(farm.join("farm.rhai"), "mine").unwrap();
    fs::remove_file(farm.join("days.csv")).unwrap();
    let text = told(&["new", &farm_path], folder.path());
    assert!(text.starts_with("status 2\nerror: [folder]/my farm/farm.rhai is already there"), "{text}");
    assert_eq!(fs::read_to_string(farm.join("farm.rhai")).unwrap(), "mine");
    assert!(!farm.join("days.csv").exists());
}

#[test]
fn the_same_request_writes_the_same_bytes_on_any_threads() {
    let folder = tempfile::tempdir().unwrap();
    let files = |threads: &str| -> BTreeMap<String, Vec<u8>> {
        let out = folder.path().join(threads);
        let path = out.display().to_string();
        let output = output(&["run", "--seasons", "150", "--threads", threads, "--out", &path]);
        assert!(output.status.success());
        let files = fs::read_dir(out).unwrap().map(|entry| entry.unwrap());
        files.map(|file| (file.file_name().into_string().unwrap(), fs::read(file.path()).unwrap())).collect()
    };
    let one = files("1");
    let names: Vec<&str> = one.keys().map(String::as_str).collect();
    assert_eq!(names, ["datapackage.json", "finish.csv", "risk.csv", "seasons.csv", "use.csv", "waits.csv"]);
    assert!(one == files("3"));
}

#[test]
fn the_tables_agree_with_each_other() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().display().to_string();
    let seasons = 150;
    assert!(output(&["run", "--seasons", "150", "--out", &out, "--trace", "2"]).status.success());
    let rows = |name: &str| csv_rows(folder.path().join(name));
    let key = |row: &BTreeMap<String, String>| (row["crop"].clone(), row["operation"].clone());
    let (risk, finish, by_season) = (rows("risk.csv"), rows("finish.csv"), rows("seasons.csv"));
    assert!(risk.len() > 20);
    for row in &risk {
        let millionths = |text: &str| (text.parse::<f64>().unwrap() * 1e6).round() as i64;
        if !row["due"].is_empty() {
            let on_due = finish.iter().find(|of| key(of) == key(row) && of["date"] == row["due"]).unwrap();
            assert_eq!(millionths(&row["p_late"]) + millionths(&on_due["p_done"]), 1_000_000);
        }
        // Written seasons give the written risk.
        let own: Vec<_> = by_season.iter().filter(|of| key(of) == key(row)).collect();
        let unfinished = own.iter().filter(|of| of["finish"] == "never").count();
        assert_eq!(
            row["p_unfinished"],
            format!("{:.6}", unfinished as f64 / f64::from(seasons)).trim_zeros()
        );
        let area: f64 = own.iter().map(|of| of["area_late_ha"].parse::<f64>().unwrap()).sum();
        assert!((row["area_late_ha_mean"].parse::<f64>().unwrap() - area / f64::from(seasons)).abs() < 2e-4);
    }
    for (file, columns) in [("use.csv", 9), ("waits.csv", 6), ("trace.csv", 7)] {
        assert_eq!(rows(file)[0].len(), columns, "{file}");
    }
    // The descriptor names every file with its bytes and every column in order.
    let text = fs::read_to_string(folder.path().join("datapackage.json")).unwrap();
    let descriptor: serde_json::Value = serde_json::from_str(&text).unwrap();
    assert_eq!((&descriptor["seed"], &descriptor["seasons"]), (&1.into(), &seasons.into()));
    let resources = descriptor["resources"].as_array().unwrap();
    assert_eq!(resources.len(), 6);
    for resource in resources {
        let bytes = fs::read(folder.path().join(resource["path"].as_str().unwrap())).unwrap();
        assert_eq!(resource["bytes"], bytes.len());
        let header = String::from_utf8_lossy(&bytes).lines().next().unwrap().to_string();
        let fields = resource["schema"]["fields"].as_array().unwrap();
        let names: Vec<&str> = fields.iter().map(|field| field["name"].as_str().unwrap()).collect();
        assert_eq!(names.join(","), header);
    }
}

trait TrimZeros {
    fn trim_zeros(&self) -> &str;
}

impl TrimZeros for String {
    fn trim_zeros(&self) -> &str {
        self.trim_end_matches('0').trim_end_matches('.')
    }
}

#[test]
fn a_trace_without_a_folder_is_a_table_on_standard_output() {
    let output = output(&["run", "--trace", "5"]);
    assert!(output.status.success() && output.stderr.is_empty());
    let text = String::from_utf8(output.stdout).unwrap();
    assert!(text.starts_with("time,year,field,operation,outfit,what,why\n20"), "{}", &text[..200]);
    let mut times: Vec<&str> = text.lines().skip(1).map(|line| &line[..19]).collect();
    assert!(times.len() > 100 && times.is_sorted());
    times.dedup();
    assert!(times.iter().all(|time| time.parse::<jiff::civil::DateTime>().is_ok()));
}

#[test]
fn nothing_is_coloured_away_from_a_terminal() {
    let output = output(&["run", "--seasons", "20"]);
    assert!(output.status.success() && output.stderr.is_empty());
    assert!(!output.stdout.contains(&0x1b));
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let mut child = std::process::Command::new(env!("CARGO_BIN_EXE_dryspell-under-test"))
        .args(["run", "--trace", "1"])
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!((output.status.code(), String::from_utf8_lossy(&output.stderr).as_ref()), (Some(0), ""));
}

/// Ctrl-C: the seasons that are done count, and the files are whole.
#[cfg(unix)]
#[test]
fn an_interrupted_run_gives_what_it_has() {
    let folder = tempfile::tempdir().unwrap();
    let child = std::process::Command::new(env!("CARGO_BIN_EXE_dryspell-under-test"))
        .args(["run", "--seasons", "1000000000", "--threads", "2", "--out"])
        .arg(folder.path())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // Seasons are being written once a file without a name of its own has something in it.
    let written = || {
        let files = fs::read_dir(folder.path()).unwrap();
        files.filter_map(|file| file.ok()?.metadata().ok()).any(|file| file.len() > 0)
    };
    while !written() {
        std::thread::yield_now();
    }
    let pid = child.id().to_string();
    assert!(std::process::Command::new("kill").args(["-INT", &pid]).status().unwrap().success());
    let output = child.wait_with_output().unwrap();
    let error = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1), "{error}");
    assert!(
        error.starts_with("error: stopped after ") && error.contains(" of 1 000 000 000 seasons"),
        "{error}"
    );
    let text = fs::read_to_string(folder.path().join("datapackage.json")).unwrap();
    let descriptor: serde_json::Value = serde_json::from_str(&text).unwrap();
    let seasons = descriptor["seasons"].as_u64().unwrap();
    let rows = csv_rows(folder.path().join("seasons.csv"));
    assert_eq!(rows.last().unwrap()["season"], (seasons - 1).to_string());
    assert!(csv_rows(folder.path().join("risk.csv")).iter().all(|row| row["seasons"] == seasons.to_string()));
}

#[test]
fn completions_name_every_command() {
    let help = String::from_utf8(output(&["--help"]).stdout).unwrap();
    let commands: Vec<&str> = help
        .lines()
        .skip_while(|line| *line != "Commands:")
        .skip(1)
        .take_while(|line| line.starts_with("  "))
        .filter(|line| !line.starts_with("   "))
        .filter_map(|line| line.split_whitespace().next())
        .collect();
    assert!(commands.contains(&"run") && commands.contains(&"completions"), "{commands:?}");
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let output = output(&["completions", shell]);
        assert!(output.status.success(), "{shell}");
        let text = String::from_utf8(output.stdout).unwrap();
        for command in &commands {
            let named = text.split(|letter: char| !letter.is_alphanumeric()).any(|word| word == *command);
            assert!(named, "{shell}: {command}");
        }
    }
    assert_eq!(output(&["completions", "abacus"]).status.code(), Some(2));
}

/// What a command does is one sentence.
#[test]
fn help_is_a_sentence_for_each_command() {
    let help = String::from_utf8(output(&["--help"]).stdout).unwrap();
    let about = help.split("Commands:\n").nth(1).unwrap().split("\n\n").next().unwrap();
    assert!(about.lines().count() >= 6 && !about.contains(". "), "{about}");
}

#[test]
fn a_word_that_there_is_not_is_a_wrong_request() {
    let folder = tempfile::tempdir().unwrap();
    insta::assert_snapshot!(told(&["reference", "mashine"], folder.path()));
    for args in [&["reference"][..], &["reference", "sprayer", "tank"], &["reference", "--editor"]] {
        let output = output(args);
        assert!(output.status.success() && output.stderr.is_empty());
    }
}

#[test]
fn wrong_usage_is_status_two_and_help_is_status_zero() {
    for args in [&["run", "--seasons", "0"][..], &["run", "--threads", "0"], &["fly"], &[]] {
        let output = output(args);
        assert_eq!(output.status.code(), Some(2), "{args:?}");
        assert!(output.stdout.is_empty() && !output.stderr.is_empty());
    }
    for args in [&["--help"][..], &["run", "--help"], &["--version"]] {
        let output = output(args);
        assert_eq!(output.status.code(), Some(0), "{args:?}");
        assert!(!output.stdout.is_empty() && output.stderr.is_empty());
    }
}
