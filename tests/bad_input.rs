//! Wrong requests and wrong scripts, given to the program as a user gives them: one message that names the place and
//! the fix, exit status 2 (1 for what fails in the run itself), nothing on standard output, nothing half-written.
//!
//! The messages are snapshots: read a changed one as its user would.

use std::fs;
use std::path::Path;

use assert_cmd::Command;
use tempfile::TempDir;

/// A sound script, one thing to a line, so that a mistake has a line of its own.
const SOUND: &str = r#"let area_ha = param("area_ha", 40.0, "area of the field, ha");
farm(#{
    name: "Small farm",
    suitable_days: [suitable(#{ class: "field work", p_suitable: 0.6 })],
    drivers: [driver("soil", #{ persistence: 0.5, spread: 0.1, spread_days: 10.0 })],
    classes: [work_class("field work", #{ driver: "soil" })],
    people: [person("Driver", #{ hours: "08:00-18:00", drives: ["tractor"] })],
    machines: [
        machine("tractor", #{ needs_driver: true }),
        machine("plough", #{ width_m: 2.4, speed_km_h: 7.0, efficiency: 0.8 }),
        machine("drill", #{ work_rate_ha_h: 3.0 }),
    ],
    outfits: [
        outfit("ploughing", #{ machines: ["tractor", "plough"] }),
        outfit("drilling", #{ machines: ["tractor", "drill"] }),
    ],
    crops: [crop("wheat", #{
        following: [
            operation("ploughing", #{
                class: "field work", outfits: ["ploughing"], from: "09-01", due: "10-01",
            }),
            operation("drilling", #{
                class: "field work", outfits: ["drilling"], from: "09-20", due: "10-15",
                after: ["ploughing"],
            }),
        ],
    })],
    fields: [
        field("Long Acre", #{ area_ha: area_ha, soil: "loam", following: "wheat" }),
    ],
})
"#;

/// A folder with the sound script changed in one place, and the program run in it.
struct Trial {
    folder: TempDir,
}

struct Answer {
    status: i32,
    out: String,
    error: String,
}

impl Trial {
    fn new(from: &str, to: &str) -> Self {
        assert!(SOUND.contains(from), "the sound script has no `{from}`");
        Self::of(SOUND.replacen(from, to, 1).as_bytes())
    }

    fn of(script: &[u8]) -> Self {
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("farm.rhai"), script).unwrap();
        Self { folder }
    }

    fn run(&self, arguments: &[&str]) -> Answer {
        let mut command = Command::cargo_bin("dryspell-under-test").unwrap();
        let output = command.args(arguments).current_dir(self.folder.path()).output().unwrap();
        let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
        Answer { status: output.status.code().unwrap(), out: text(output.stdout), error: text(output.stderr) }
    }

    /// The folder's files and those below it, by name.
    fn files(&self) -> Vec<String> {
        let mut names: Vec<String> = below(self.folder.path());
        names.sort();
        names
    }
}

fn below(folder: &Path) -> Vec<String> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            names.extend(below(&path));
        } else {
            names.push(path.file_name().unwrap().to_str().unwrap().to_owned());
        }
    }
    names
}

/// Name, what is changed in the sound script, into what, the line that must be named, words that must be there.
type Mistake = (&'static str, &'static str, &'static str, usize, &'static [&'static str]);

const MISTAKES: [Mistake; 22] = [
    ("unknown_key", "area_ha: area_ha", "area: 12.0", 29, &["area", "area_ha"]),
    ("unknown_verb", "machine(\"drill\"", "machin(\"drill\"", 11, &["machin", "machine"]),
    ("wrong_type", "work_rate_ha_h: 3.0", "work_rate_ha_h: \"fast\"", 11, &["work_rate_ha_h", "number"]),
    ("missing_key", "area_ha: area_ha, ", "", 29, &["area_ha"]),
    ("negative", "area_ha: area_ha", "area_ha: -4.0", 29, &["area_ha", "-4", "above 0"]),
    ("absurd", "width_m: 2.4", "width_m: 2400.0", 10, &["width_m", "2400", "100 m"]),
    ("percent_for_share", "efficiency: 0.8", "efficiency: 80", 10, &["efficiency", "80", "at most 1"]),
    ("half_a_rate", ", speed_km_h: 7.0", "", 10, &["speed_km_h"]),
    ("probability", "p_suitable: 0.6", "p_suitable: 1.6", 4, &["p_suitable", "1.6", "between 0 and 1"]),
    ("persistence", "persistence: 0.5", "persistence: 1.0", 5, &["persistence", "0.999"]),
    (
        "window_ends_first",
        "from: \"09-20\", due: \"10-15\"",
        "from: \"10-15\", due: \"09-20\"",
        23,
        &["due", "from"],
    ),
    ("no_such_day", "due: \"10-01\"", "due: \"09-31\"", 20, &["09-31", "two digits"]),
    ("date_as_arithmetic", "due: \"10-01\"", "due: 10-01", 20, &["due", "\""]),
    ("hours_end_first", "\"08:00-18:00\"", "\"18:00-08:00\"", 7, &["18:00"]),
    ("no_outfit", "outfits: [\"drilling\"]", "outfits: []", 22, &["outfit"]),
    ("unknown_outfit", "outfits: [\"drilling\"]", "outfits: [\"driling\"]", 23, &["driling", "drilling"]),
    ("unknown_crop", "following: \"wheat\"", "following: \"weat\"", 29, &["weat", "wheat"]),
    ("nobody_drives", "drives: [\"tractor\"]", "drives: []", 14, &["drive"]),
    ("whole_division", "efficiency: 0.8", "efficiency: 4/5", 10, &["4.0 / 5"]),
    (
        "brackets",
        "soil: \"loam\", following: \"wheat\" }),",
        "soil: \"loam\", following: \"wheat\" ),",
        29,
        &["}"],
    ),
    (
        "no_table",
        "suitable_days: [suitable(#{ class: \"field work\", p_suitable: 0.6 })]",
        "suitable_days: suitable_days(\"days.csv\")",
        4,
        &["days.csv"],
    ),
    ("runaway", "farm(#{", "let n = 0; loop { n += 1; }\nfarm(#{", 2, &["step"]),
];

/// One error, its place and a fix; the status; nothing printed, nothing written.
fn is_refused(trial: &Trial, arguments: &[&str], status: i32) -> String {
    let before = trial.files();
    let answer = trial.run(arguments);
    assert_eq!(answer.status, status, "{arguments:?}: {}{}", answer.out, answer.error);
    assert_eq!(answer.out, "", "{arguments:?} printed results");
    assert_eq!(answer.error.matches("error:").count(), 1, "not one message: {}", answer.error);
    assert!(!answer.error.contains("panicked"), "{}", answer.error);
    assert!(!answer.error.contains('\u{1b}'), "colours in a pipe: {}", answer.error);
    assert_eq!(trial.files(), before, "{arguments:?} left files behind");
    answer.error
}

#[test]
fn the_sound_script_is_sound() {
    let trial = Trial::new("", "");
    let answer = trial.run(&["check", "farm.rhai"]);
    assert_eq!((answer.status, answer.error.as_str()), (0, ""));
    let answer = trial.run(&["run", "farm.rhai", "--seasons", "20", "--out", "results"]);
    assert_eq!(answer.status, 0, "{}", answer.error);
    assert!(trial.files().contains(&"risk.csv".to_owned()));
}

#[test]
fn mistakes_in_a_script() {
    let mut wrong = Vec::new();
    for (name, from, to, line, words) in MISTAKES {
        let trial = Trial::new(from, to);
        let error = is_refused(&trial, &["check", "farm.rhai"], 2);
        let place = format!(":{line}:");
        for word in words.iter().chain([&place.as_str()]) {
            if !error.contains(word) {
                wrong.push(format!("{name}: no `{word}` in\n{error}"));
            }
        }
        insta::assert_snapshot!(name, error);
        // A run says the same, and writes nothing.
        let from_run = is_refused(&trial, &["run", "farm.rhai", "--seasons", "5", "--out", "results"], 2);
        assert_eq!(from_run, error, "{name}: run and check differ");
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn operations_that_wait_for_each_other() {
    let trial = Trial::new(
        "from: \"09-01\", due: \"10-01\",",
        "from: \"09-01\", due: \"10-01\", after: [\"drilling\"],",
    );
    let error = is_refused(&trial, &["check", "farm.rhai"], 2);
    assert!(
        error.contains("ploughing -> drilling -> ploughing")
            || error.contains("drilling -> ploughing -> drilling")
    );
    insta::assert_snapshot!("predecessor_cycle", error);
}

#[test]
fn wrong_requests() {
    let trial = Trial::new("", "");
    fs::write(trial.folder.path().join("a-file"), "in the way").unwrap();
    let requests: [(&str, &[&str], &[&str]); 14] = [
        ("missing_file", &["check", "nowhere.rhai"], &["nowhere.rhai"]),
        ("folder_for_script", &["check", "."], &["."]),
        ("unknown_parameter", &["check", "farm.rhai", "--set", "aera_ha=3"], &["aera_ha", "area_ha"]),
        ("parameter_of_wrong_type", &["check", "farm.rhai", "--set", "area_ha=big"], &["area_ha", "big"]),
        ("absurd_parameter", &["check", "farm.rhai", "--set", "area_ha=-3"], &["area_ha", "-3"]),
        ("set_without_value", &["check", "farm.rhai", "--set", "area_ha"], &["NAME=VALUE"]),
        ("unknown_command", &["runn"], &["runn", "run"]),
        ("unknown_option", &["run", "farm.rhai", "--saesons", "5"], &["--saesons", "--seasons"]),
        ("no_seasons", &["run", "farm.rhai", "--seasons", "0"], &["--seasons", "0"]),
        ("seasons_in_words", &["run", "farm.rhai", "--seasons", "many"], &["--seasons", "many"]),
        ("negative_seed", &["run", "farm.rhai", "--seed=-1"], &["--seed", "-1"]),
        ("no_threads", &["run", "farm.rhai", "--threads", "0"], &["--threads", "0"]),
        ("out_below_a_file", &["run", "farm.rhai", "--out", "a-file/results"], &["a-file", "--out"]),
        ("out_is_a_file", &["run", "farm.rhai", "--out", "a-file"], &["a-file", "--out"]),
    ];
    for (name, arguments, words) in requests {
        let error = is_refused(&trial, arguments, 2);
        for word in words {
            assert!(error.contains(word), "{name}: no `{word}` in\n{error}");
        }
        insta::assert_snapshot!(name, error);
    }
    assert_eq!(fs::read_to_string(trial.folder.path().join("a-file")).unwrap(), "in the way");
}

/// Where nobody can write, not even root.
#[cfg(target_os = "linux")]
#[test]
fn an_unwritable_folder() {
    let error =
        is_refused(&Trial::new("", ""), &["run", "farm.rhai", "--seasons", "5", "--out", "/proc/results"], 2);
    insta::assert_snapshot!("out_unwritable", error);
}

/// The request is right, but results cannot be printed: the run itself fails.
#[cfg(target_os = "linux")]
#[test]
fn a_full_disk() {
    let trial = Trial::new("", "");
    let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = std::process::Command::new(assert_cmd::cargo::cargo_bin("dryspell-under-test"))
        .args(["run", "farm.rhai", "--seasons", "5"])
        .current_dir(trial.folder.path())
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(1));
    insta::assert_snapshot!("output_full", String::from_utf8(output.stderr).unwrap());
}

#[test]
fn bytes_that_are_no_text() {
    let mut bytes = SOUND.as_bytes().to_vec();
    bytes[700] = 0xff;
    let error = is_refused(&Trial::of(&bytes), &["check", "farm.rhai"], 2);
    insta::assert_snapshot!("not_utf8", error);
}

/// What was written by an earlier run is still whole after a request that fails.
#[test]
fn earlier_results_stay_whole() {
    let trial = Trial::new("", "");
    assert_eq!(trial.run(&["run", "farm.rhai", "--seasons", "20", "--out", "results"]).status, 0);
    let read = |trial: &Trial| {
        let mut names = trial.files();
        names.retain(|name| name != "farm.rhai");
        let contents = |name: &String| fs::read(trial.folder.path().join("results").join(name)).unwrap();
        names.iter().map(|name| (name.clone(), contents(name))).collect::<Vec<_>>()
    };
    let before = read(&trial);
    assert!(before.len() >= 5, "{} files", before.len());
    fs::write(trial.folder.path().join("farm.rhai"), SOUND.replace("p_suitable: 0.6", "p_suitable: 6"))
        .unwrap();
    assert_eq!(trial.run(&["run", "farm.rhai", "--seasons", "20", "--out", "results"]).status, 2);
    assert!(read(&trial) == before, "earlier results have changed");
}
