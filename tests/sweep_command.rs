//! `dryspell sweep` from outside: what can be asked, what is said, that it goes on where it was stopped, and that it is
//! the same to the byte however it came about.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

#[path = "support/command.rs"]
mod command;

use assert_cmd::Command;
use assert_cmd::cargo::CommandCargoExt as _;
use command::{Row, files, number, rows, scenario};
use std::fs;
use std::path::PathBuf;
use std::process::Output;
use std::time::{Duration, Instant};

const PARTIAL: &str = "sweep.partial";

fn told(args: &[&str]) -> String {
    command::told("sweep", args)
}

/// A sweep into a folder of its own.
struct Sweep {
    _folder: tempfile::TempDir,
    out: PathBuf,
    args: Vec<String>,
}

impl Sweep {
    fn new(args: &[&str]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let out = folder.path().join("out");
        let mut args: Vec<String> = args.iter().map(|arg| (*arg).to_string()).collect();
        args.extend(["--out".to_string(), out.display().to_string()]);
        Self { _folder: folder, out, args }
    }

    fn run(&self, more: &[&str]) -> Output {
        let args: Vec<&str> = self.args.iter().map(String::as_str).chain(more.iter().copied()).collect();
        command::output("sweep", &args)
    }

    /// Runs to the end: what was said, without the folder's name.
    fn whole(&self, more: &[&str]) -> (String, String) {
        let output = self.run(more);
        let [out, error] = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap());
        assert!(output.status.success(), "{error}");
        (out.replace(&self.out.display().to_string(), "[out]"), error)
    }

    /// Begins it and ends the program, as the loss of power would, once so many values are kept.
    fn kill_after(&self, values: usize) {
        let mut command = std::process::Command::cargo_bin("dryspell-under-test").unwrap();
        let mut child = command.arg("sweep").args(&self.args).spawn().unwrap();
        let begun = Instant::now();
        loop {
            let lines = fs::read(self.out.join(PARTIAL))
                .map_or(0, |bytes| bytes.iter().filter(|byte| **byte == b'\n').count());
            if lines > values {
                break;
            }
            assert!(child.try_wait().unwrap().is_none(), "it was whole before it could be stopped");
            assert!(begun.elapsed() < Duration::from_secs(300), "it does not come to {values} values");
            std::thread::sleep(Duration::from_millis(2));
        }
        child.kill().unwrap();
        child.wait().unwrap();
    }
}

/// 41 values that are kept four at a time, some seconds of work.
fn long() -> Sweep {
    Sweep::new(&[&scenario("one-operation.rhai"), "area_ha=60..140:2", "--seasons", "20000"])
}

#[test]
fn what_cannot_be_swept_is_a_wrong_request() {
    let farm = scenario("one-operation.rhai");
    let wrong: [&[&str]; 18] = [
        &[],
        &["area_ha"],
        &["aera_ha=10,20"],
        &["area_ha=10..20"],
        &["area_ha=20..10:1"],
        &["area_ha=10..20:0"],
        &["area_ha=10..wide:1"],
        &["area_ha=10,,20"],
        &["area_ha=10..20:15"],
        &["area_ha=10,wide"],
        &["area_ha=10,10.0"],
        &["area_ha=10,-20"],
        &["allowed_days=10..20:0.5"],
        &["area_ha=1..100:0.01"],
        &["area_ha=1..100:1", "allowed_days=1..100:1"],
        &["area_ha=10,20", "area_ha=30"],
        &["area_ha=10,20", "allowed_days=10,20", "persistence=0.1,0.2"],
        &["area_ha=10,20", "--seasons", "1"],
    ];
    let mut text = String::new();
    for args in wrong {
        let args: Vec<&str> = std::iter::once(farm.as_str()).chain(args.iter().copied()).collect();
        let told = told(&args);
        assert!(told.starts_with("status 2\n"), "{args:?}: {told}");
        text.push_str(&format!("$ dryspell sweep {}\n{told}\n", args[1..].join(" ")));
    }
    let told = told(&["contractor_from=10-10..10-20:1"]);
    text.push_str(&format!("$ dryspell sweep contractor_from=10-10..10-20:1\n{told}"));
    insta::assert_snapshot!(text);
}

#[test]
fn a_sweep_reads_as_a_farmer_asks() {
    let mut text = told(&["drill_width_m=3..6:0.5", "--seasons", "300"]);
    for more in [
        &["wheat_tillage=plough,min_till,direct", "--seasons", "200"][..],
        &["operators=1,2,3", "overtime_h=0..3:1.5", "--seasons", "200"],
        &["combine_width_m=4..9:0.25", "--set", "operators=3", "--seasons", "100"],
        // What is swept may be set: that is then the farm as it is.
        &["drill_width_m=4,6", "--set", "drill_width_m=5", "--seasons", "40"],
        // Another weather at every value, and other weathers than recorded years.
        &[&scenario("one-operation.rhai"), "p_suitable=0.3,0.5,0.7", "--seasons", "200"],
        &[&scenario("demo/independent-days.rhai"), "weather=independent,recorded", "--seasons", "200"],
        // So few seasons that not every recorded year is among them.
        &[&scenario("demo/independent-days.rhai"), "drill_ha_h=0.4..0.8:0.2", "--seasons", "10"],
    ] {
        text.push_str("\n--------\n");
        text.push_str(&told(more));
    }
    for line in text.lines() {
        assert!(line.chars().count() <= 100, "{line}");
    }
    insta::assert_snapshot!(text);
}

#[test]
fn a_sweep_that_was_stopped_goes_on_and_comes_to_the_same_bytes() {
    let (whole, stopped) = (long(), long());
    let (said, _) = whole.whole(&[]);
    let wanted = files(&whole.out);
    assert_eq!(wanted.keys().collect::<Vec<_>>(), ["datapackage.json", "sweep.csv"]);

    // The program is ended twice; of the second time a line is cut off.
    stopped.kill_after(4);
    assert!(!stopped.out.join("sweep.csv").exists());
    let kept = fs::read(stopped.out.join(PARTIAL)).unwrap();
    stopped.kill_after(kept.iter().filter(|byte| **byte == b'\n').count());
    let kept = fs::read(stopped.out.join(PARTIAL)).unwrap();
    let lines = kept.iter().filter(|byte| **byte == b'\n').count();
    assert!(lines < 42, "it was nearly whole");
    fs::write(stopped.out.join(PARTIAL), &kept[..kept.len() - 40]).unwrap();
    let (again, found) = stopped.whole(&["--threads", "3"]);
    assert!(found.contains(&format!("{} of 41 values were done before", lines - 2)), "{found}");
    assert!(found.contains("1 line of sweep.partial cut off or damaged"), "{found}");
    assert_eq!(said, again);
    assert!(files(&stopped.out) == wanted, "other bytes");
}

#[test]
fn damage_in_the_middle_costs_what_was_damaged() {
    let args = [scenario("one-operation.rhai"), "area_ha=60..140:5".into(), "--seasons".into(), "400".into()];
    let args: Vec<&str> = args.iter().map(String::as_str).collect();
    let (whole, damaged) = (Sweep::new(&args), Sweep::new(&args));
    let (said, _) = whole.whole(&[]);
    let wanted = files(&whole.out);
    // A sweep of fewer values leaves nothing; one that cannot write its last file leaves all that it has done.
    fs::create_dir_all(damaged.out.join("sweep.csv")).unwrap();
    let output = damaged.run(&[]);
    assert_eq!(output.status.code(), Some(1));
    let path = damaged.out.join(PARTIAL);
    let kept = fs::read_to_string(&path).unwrap();
    let lines: Vec<&str> = kept.lines().collect();
    assert_eq!(lines.len(), 18);
    fs::remove_dir(damaged.out.join("sweep.csv")).unwrap();
    let mut changed: Vec<String> = lines.iter().map(|line| (*line).to_string()).collect();
    changed[5] = changed[5].replacen("0.", "1.", 1);
    changed[9].truncate(50);
    changed.remove(14);
    changed.swap(1, 2);
    fs::write(&path, changed.join("\n")).unwrap();
    let (again, found) = damaged.whole(&[]);
    assert!(found.contains("14 of 17 values were done before"), "{found}");
    assert!(found.contains("2 lines of sweep.partial"), "{found}");
    assert_eq!(said, again);
    assert!(files(&damaged.out) == wanted, "other bytes");
}

#[test]
fn another_request_does_not_go_on_and_deletes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("farm.rhai");
    let text = fs::read_to_string(scenario("one-operation.rhai")).unwrap();
    fs::write(&script, &text).unwrap();
    let path = script.display().to_string();
    let sweep = Sweep::new(&[&path, "area_ha=60..140:20", "--seasons", "50"]);
    fs::create_dir_all(sweep.out.join("sweep.csv")).unwrap();
    assert_eq!(sweep.run(&[]).status.code(), Some(1));
    let kept = fs::read(sweep.out.join(PARTIAL)).unwrap();
    let mut told = String::new();
    let mut refused = |more: &[&str], change: &str| {
        fs::write(&script, format!("{text}{change}")).unwrap();
        let output = sweep.run(more);
        assert_eq!(output.status.code(), Some(2));
        told.push_str(&String::from_utf8(output.stderr).unwrap());
        assert_eq!(fs::read(sweep.out.join(PARTIAL)).unwrap(), kept);
    };
    refused(&[], "\n");
    refused(&["--seed", "2"], "");
    refused(&["--set", "persistence=0.5"], "");
    let told = told.replace(&sweep.out.display().to_string(), "[out]");
    insta::assert_snapshot!(told);
    fs::remove_dir(sweep.out.join("sweep.csv")).unwrap();
    let (_, found) = sweep.whole(&["--threads", "1"]);
    assert!(found.contains("5 of 5 values were done before"), "{found}");
}

/// On Ctrl-C the values in hand are given up, and all before them are kept.
#[cfg(unix)]
#[test]
fn control_c_keeps_what_is_done() {
    let sweep = long();
    let mut command = std::process::Command::cargo_bin("dryspell-under-test").unwrap();
    command.arg("sweep").args(&sweep.args);
    command.stdout(std::process::Stdio::piped()).stderr(std::process::Stdio::piped());
    let child = command.spawn().unwrap();
    let begun = Instant::now();
    let lines =
        || fs::read(sweep.out.join(PARTIAL)).map_or(0, |bytes| bytes.iter().filter(|b| **b == b'\n').count());
    while lines() < 2 {
        assert!(begun.elapsed() < Duration::from_secs(300));
        std::thread::sleep(Duration::from_millis(2));
    }
    let killed = std::process::Command::new("kill").args(["-INT", &child.id().to_string()]).status().unwrap();
    assert!(killed.success());
    let output = child.wait_with_output().unwrap();
    let error = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(1), "{error}");
    let done = lines() - 1;
    assert!(
        error.contains(&format!("stopped after {done} of 41 values; what is done is kept in ")),
        "{error}"
    );
    let (_, found) = sweep.whole(&[]);
    assert!(found.contains(&format!("{done} of 41 values were done before")), "{found}");
}

#[test]
fn any_number_of_threads_sweeps_to_the_same_bytes() {
    let written = |threads: &str| {
        let sweep =
            Sweep::new(&["drill_width_m=3,4,6", "operators=2,3", "--seasons", "100", "--threads", threads]);
        let (said, _) = sweep.whole(&[]);
        (said, files(&sweep.out))
    };
    let one = written("1");
    for threads in ["2", "7"] {
        assert!(one == written(threads), "{threads} threads");
    }
    let descriptor: serde_json::Value = serde_json::from_slice(&one.1["datapackage.json"]).unwrap();
    assert_eq!(
        descriptor["varied"],
        serde_json::json!([
            { "name": "drill_width_m", "values": ["3", "4", "6"] },
            { "name": "operators", "values": ["2", "3"] },
        ])
    );
    let fields = descriptor["resources"][0]["schema"]["fields"].as_array().unwrap();
    let names: Vec<&str> = fields.iter().map(|field| field["name"].as_str().unwrap()).collect();
    let header = String::from_utf8_lossy(&one.1["sweep.csv"]).lines().next().unwrap().to_string();
    assert_eq!(names.join(","), header);
}

/// A value's figures are those of a run with it, its difference that of a comparison, and its step that of a comparison
/// with the value before.
#[test]
fn a_sweep_says_what_runs_and_comparisons_say() {
    let sweep = Sweep::new(&["drill_width_m=3..6:1", "--seasons", "150"]);
    sweep.whole(&[]);
    let swept = rows(&fs::read(sweep.out.join("sweep.csv")).unwrap());
    let folder = tempfile::tempdir().unwrap();
    let table = |args: &[&str], name: &str| -> Vec<Row> {
        let path = folder.path().join("out").display().to_string();
        let mut command = Command::cargo_bin("dryspell-under-test").unwrap();
        command.args(args).args(["--seasons", "150", "--out", &path]).assert().success();
        rows(&fs::read(folder.path().join("out").join(name)).unwrap())
    };
    let same =
        |one: &Row, other: &Row| one["crop"] == other["crop"] && one["operation"] == other["operation"];
    let of = |value: &str| swept.iter().filter(|row| row["value_1"] == value).cloned().collect::<Vec<_>>();
    let run = table(&["run", "--set", "drill_width_m=5"], "risk.csv");
    assert_eq!(of("5").len(), run.len());
    for (own, run) in of("5").iter().zip(&run) {
        for column in run.keys().filter(|column| !matches!(column.as_str(), "variant" | "days_late_p90")) {
            assert_eq!(own[column], run[column], "{column}");
        }
    }
    let mut told = 0;
    for (args, figure) in [
        (&["compare", "--with", "drill_width_m=5"][..], "difference"),
        (&["compare", "--set", "drill_width_m=4", "--with", "drill_width_m=5"], "step"),
    ] {
        for compared in table(args, "compare.csv") {
            let own = of("5").into_iter().find(|row| same(row, &compared)).unwrap();
            for of in ["p_late", "days_late"] {
                for end in ["", "_low", "_high"] {
                    let (own, want) =
                        (&own[&format!("{of}_{figure}{end}")], &compared[&format!("{of}_difference{end}")]);
                    assert_eq!(own, want, "{of} {figure}{end}");
                    told += usize::from(own != "0");
                }
            }
        }
    }
    assert!(told > 20, "{told}");
    // The farm as it is stands beside every value, with recorded years too, which some seasons have more often.
    assert!(swept.iter().all(|row| {
        let as_it_is = of("4").into_iter().find(|other| same(other, row)).unwrap();
        row["p_late_as_it_is"] == as_it_is["p_late"]
    }));
    let years =
        Sweep::new(&[&scenario("demo/independent-days.rhai"), "drill_ha_h=0.4,0.5", "--seasons", "10"]);
    years.whole(&[]);
    let years = rows(&fs::read(years.out.join("sweep.csv")).unwrap());
    assert!(years.iter().all(|row| row["p_late_as_it_is"] == years[1]["p_late"]), "{years:?}");
    // The farm as it is differs from itself in nothing; the first value has none before it.
    assert!(of("4").iter().all(|row| number(row, "p_late_difference") == 0.0));
    assert!(of("3").iter().all(|row| row["p_late_step"].is_empty()));
}
