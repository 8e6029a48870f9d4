//! The lessons in sim-script/guide are done as a reader does them: every command in them is run and prints what the
//! page shows, every change to a script is made, and every excerpt is in the script that it is of.
//!
//! What a page's blocks mean:
//!
//! - `console`: a line that begins with `$ dryspell` is run where the repository is; the lines after it are what it prints,
//!   `...` standing for lines left out.
//! - `diff`: a change to the script named on its first line (`--- scenarios/farm.rhai`). It holds up to the next heading:
//!   every section begins with the scripts as they come.
//! - `rhai`: lines of a script whose path the page names, `...` standing for lines left out.
//!
//! After a change on purpose DRYSPELL_GOLDEN=write has the pages' outputs written anew. Read the difference, and whether
//! the words around it still hold.

#[path = "support/shown.rs"]
mod shown;

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

use jiff::civil::Date;

/// What the pages' commands may read, by folder of the repository.
const READ: [&str; 2] = ["scenarios", "tests/records"];

fn repository() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

fn pages() -> Vec<PathBuf> {
    let files = fs::read_dir(repository().join("sim-script/guide")).unwrap();
    let mut pages: Vec<PathBuf> = files.map(|file| file.unwrap().path()).collect();
    pages.sort();
    pages
}

/// One test at a time has the pages, since either may write them.
fn with_pages() -> MutexGuard<'static, ()> {
    static PAGES: Mutex<()> = Mutex::new(());
    PAGES.lock().unwrap_or_else(PoisonError::into_inner)
}

fn write_anew() -> bool {
    std::env::var_os("DRYSPELL_GOLDEN").is_some_and(|value| value == "write")
}

fn copy(from: &Path, to: &Path) {
    fs::create_dir_all(to).unwrap();
    for entry in fs::read_dir(from).unwrap().map(Result::unwrap) {
        let target = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &target);
        } else {
            fs::copy(entry.path(), target).unwrap();
        }
    }
}

/// A copy of what a page's commands read, which they may change.
struct Desk {
    folder: tempfile::TempDir,
    /// Scripts that are not as they come.
    changed: BTreeSet<String>,
    /// What was printed by commands on scripts as they come.
    known: BTreeMap<Vec<String>, String>,
}

impl Desk {
    fn new() -> Self {
        let folder = tempfile::tempdir().unwrap();
        READ.iter().for_each(|name| copy(&repository().join(name), &folder.path().join(name)));
        Self { folder, changed: BTreeSet::new(), known: BTreeMap::new() }
    }

    fn tidy(&mut self) {
        for script in std::mem::take(&mut self.changed) {
            fs::copy(repository().join(&script), self.folder.path().join(&script)).unwrap();
        }
    }

    fn printed(&mut self, arguments: &[String]) -> String {
        if let Some(known) = self.known.get(arguments).filter(|_| self.changed.is_empty()) {
            return known.clone();
        }
        let printed = shown::printed(arguments, self.folder.path());
        if self.changed.is_empty() {
            self.known.insert(arguments.to_vec(), printed.clone());
        }
        printed
    }

    /// Makes the change of a diff.
    fn change(&mut self, diff: &[String]) -> Result<(), String> {
        let script =
            diff.first().and_then(|line| line.strip_prefix("--- ")).ok_or("a diff names no script")?;
        let path = self.folder.path().join(script);
        let text = fs::read_to_string(&path).map_err(|error| format!("{script}: {error}"))?;
        let side = |without: char| -> String {
            let lines = diff[1..].iter().filter(|line| !line.starts_with(without));
            lines.map(|line| format!("{}\n", line.get(1..).unwrap_or_default())).collect()
        };
        let (before, after) = (side('+'), side('-'));
        match text.matches(&before).count() {
            1 => fs::write(&path, text.replace(&before, &after)).unwrap(),
            count => return Err(format!("{script} has these lines {count} times, not once:\n{before}")),
        }
        self.changed.insert(script.to_string());
        Ok(())
    }
}

/// A command's arguments; what is in double quotes is one.
fn arguments(command: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for letter in command.chars() {
        match letter {
            '"' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            _ => words.last_mut().unwrap().push(letter),
        }
    }
    words.retain(|word| !word.is_empty());
    words
}

/// The scripts whose paths a page names.
fn scripts_named(page: &str) -> Vec<String> {
    let words = page.split(|letter: char| !(letter.is_alphanumeric() || "/-_.".contains(letter)));
    let named: BTreeSet<&str> = words.filter(|word| word.ends_with(".rhai")).collect();
    named.into_iter().filter_map(|path| fs::read_to_string(repository().join(path)).ok()).collect()
}

fn is_in(excerpt: &[String], script: &str) -> bool {
    let trimmed = |text: &str| text.trim().to_string();
    let cut = std::iter::once("...".to_string());
    let excerpt: Vec<String> =
        cut.clone().chain(excerpt.iter().map(|line| trimmed(line))).chain(cut).collect();
    let script: Vec<String> = script.lines().map(trimmed).collect();
    shown::is_of(&excerpt, &script.join("\n")).is_ok()
}

/// What is done with a page's blocks: the page with its outputs anew, and what was wrong.
struct Reading {
    /// Whether outputs that differ are written anew in place of being wrong.
    anew: bool,
    desk: Desk,
    scripts: Vec<String>,
    text: String,
    wrong: Vec<String>,
    commands: usize,
}

impl Reading {
    fn block(&mut self, language: &str, block: &[String]) {
        let told = match language {
            "console" => return self.console(block),
            "diff" => self.desk.change(block),
            "rhai" if self.scripts.iter().any(|script| is_in(block, script)) => Ok(()),
            "rhai" => Err(format!("in no script that the page names:\n{}", block.join("\n"))),
            _ => Err(format!("blocks are console, diff or rhai, not `{language}`: {}", block.join("\n"))),
        };
        self.wrong.extend(told.err());
        self.text.push_str(&block.iter().map(|line| format!("{line}\n")).collect::<String>());
    }

    fn console(&mut self, block: &[String]) {
        let mut rest = block;
        while let [command, lines @ ..] = rest {
            self.text.push_str(&format!("{command}\n"));
            let Some(line) = command.strip_prefix("$ dryspell ") else {
                self.wrong.push(format!("not a command: {command}"));
                rest = lines;
                continue;
            };
            let end = lines.iter().position(|line| line.starts_with("$ ")).unwrap_or(lines.len());
            let (mut shown, next) = (lines[..end].to_vec(), &lines[end..]);
            let printed = self.desk.printed(&arguments(line));
            self.commands += 1;
            let mut told = shown::is_of(&shown, &printed);
            if told.is_err() && self.anew {
                told = shown::renewed(&shown, &printed).map(|lines| shown = lines);
            }
            self.wrong.extend(told.err().map(|why| format!("{command}\n{why}\n\nIt prints:\n{printed}")));
            self.text.push_str(&shown.iter().map(|line| format!("{line}\n")).collect::<String>());
            rest = next;
        }
    }
}

/// Does all that a page says.
fn read(page: &str, anew: bool) -> Reading {
    let mut reading = Reading {
        anew,
        desk: Desk::new(),
        scripts: scripts_named(page),
        text: String::new(),
        wrong: Vec::new(),
        commands: 0,
    };
    let mut lines = page.lines();
    while let Some(line) = lines.next() {
        reading.text.push_str(&format!("{line}\n"));
        if line.starts_with('#') {
            reading.desk.tidy();
        }
        if let Some(language) = line.strip_prefix("```") {
            let block: Vec<String> =
                lines.by_ref().take_while(|line| *line != "```").map(str::to_owned).collect();
            reading.block(language, &block);
            reading.text.push_str("```\n");
        }
    }
    reading
}

#[test]
fn the_lessons_are_as_the_program_has_them() {
    let _pages = with_pages();
    let mut wrong = Vec::new();
    let mut commands = 0;
    for path in pages() {
        let page = fs::read_to_string(&path).unwrap();
        let reading = read(&page, write_anew());
        commands += reading.commands;
        if reading.anew && reading.text != page {
            fs::write(&path, &reading.text).unwrap();
        }
        let name = path.file_name().unwrap().display().to_string();
        wrong.extend(reading.wrong.iter().map(|why| format!("{name}: {why}")));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n\n"));
    assert!(commands > 20, "only {commands} commands in all the lessons");
}

/// Whoever opens the crate's documentation finds every page.
#[test]
fn every_page_is_in_the_documentation() {
    let module = fs::read_to_string(repository().join("sim-script/src/guide.rs")).unwrap();
    for page in pages() {
        let name = page.file_name().unwrap().display().to_string();
        assert!(module.contains(&format!("include_str!(\"../guide/{name}\")")), "{name}");
    }
}

/// The scripts below a folder of the repository.
fn scripts_below(folder: &str) -> Vec<String> {
    let entries = fs::read_dir(repository().join(folder)).unwrap().map(Result::unwrap);
    let mut scripts = Vec::new();
    for entry in entries {
        let path = format!("{folder}/{}", entry.file_name().display());
        if entry.file_type().unwrap().is_dir() {
            scripts.extend(scripts_below(&path));
        } else if path.ends_with(".rhai") {
            scripts.push(path);
        }
    }
    scripts
}

/// Whoever takes a scenario as a pattern takes one that the program finds nothing odd in, in any of its forms.
#[test]
fn nothing_looks_odd_in_any_scenario() {
    let mut checks: Vec<String> = scripts_below("scenarios");
    assert!(checks.len() >= 6, "{checks:?}");
    let others = [
        ("demo/independent-days.rhai", "weather", "independent persistent spells"),
        ("drill-or-tractor/farm.rhai", "drill_width_m", "4 6"),
        ("drill-or-tractor/farm.rhai", "big_tractors", "2"),
        ("drill-or-tractor/farm.rhai", "drivers_more", "1"),
        ("drill-or-tractor/farm.rhai", "day_ends", "20:00"),
        ("class-farm/farm.rhai", "tillage", "min_till"),
        ("class-farm/farm.rhai", "helpers", "1"),
        ("class-farm/farm.rhai", "sundays", "true"),
    ];
    for (script, name, values) in others {
        checks.extend(values.split(' ').map(|value| format!("scenarios/{script} --set {name}={value}")));
    }
    for check in checks {
        let printed = shown::printed(&arguments(&format!("check {check}")), &repository());
        assert!(printed.ends_with("Nothing looks odd.\n"), "{check}: {printed}");
    }
}

/// Runs a command in the repository, which must succeed.
fn done(command: &str, out: &Path) {
    let out = ["--out".to_string(), out.display().to_string()];
    let printed = shown::printed(&[arguments(command), out.to_vec()].concat(), &repository());
    assert!(printed.contains("Wrote "), "{command}: {printed}");
}

/// The tables beside the adviser's script are what the program makes of the record that they are said to be of.
#[test]
fn the_days_of_three_gates_farm_are_those_of_the_record() {
    let out = tempfile::tempdir().unwrap();
    let folder = repository().join("scenarios/drill-or-tractor");
    done(
        "days tests/records/dublin-airport-daily.csv --rules scenarios/drill-or-tractor/farm.rhai",
        out.path(),
    );
    for name in ["days.csv", "drivers.csv"] {
        let read = |folder: &Path| fs::read_to_string(folder.join(name)).unwrap();
        assert!(read(out.path()) == read(&folder), "{name} is not what the program makes of the record");
    }
}

const WEATHERS: [&str; 4] = ["independent", "persistent", "spells", "recorded"];
const WEATHER_SEASONS: usize = 4_000;
/// The job of the lesson needs so many suitable days.
const NEEDED: u32 = 12;

/// The lesson on independent days rests on its four weathers having equally many days, and its table says how they differ.
#[test]
fn four_weathers_have_equally_many_days() {
    let _pages = with_pages();
    let page = repository().join("sim-script/guide/independent-days.md");
    let mut text = fs::read_to_string(&page).unwrap();
    let mut found = Vec::new();
    for weather in WEATHERS {
        let out = tempfile::tempdir().unwrap();
        let script = "scenarios/demo/independent-days.rhai";
        done(&format!("run {script} --set weather={weather} --seasons {WEATHER_SEASONS}"), out.path());
        let mut seasons = csv::Reader::from_path(out.path().join("seasons.csv")).unwrap();
        let rows: Vec<BTreeMap<String, String>> = seasons.deserialize().map(Result::unwrap).collect();
        let days: Vec<u32> = rows.iter().map(|row| row["suitable_days"].parse().unwrap()).collect();
        assert_eq!(days.len(), WEATHER_SEASONS);
        let few = days.iter().filter(|days| **days < NEEDED).count();
        // One man, one drill and nothing else to do: too few days are all that makes it late.
        assert_eq!(few, rows.iter().filter(|row| row["days_late"] != "0").count(), "{weather}");
        let count = days.len() as f64;
        let mean = days.iter().map(|days| f64::from(*days)).sum::<f64>() / count;
        let variance = days.iter().map(|days| (f64::from(*days) - mean).powi(2)).sum::<f64>() / (count - 1.0);
        let few = few as f64 / count * 100.0;
        let row = format!("| {weather} | {mean:.1} | {:.1} | {few:.1} |", variance.sqrt());
        let start = format!("| {weather} |");
        let shown = text.lines().find(|line| line.starts_with(&start)).unwrap().to_string();
        if write_anew() {
            text = text.replace(&shown, &row);
        } else {
            assert_eq!(shown, row);
        }
        found.push((mean, variance));
    }
    if write_anew() {
        fs::write(&page, text).unwrap();
    }
    // Four standard errors of a difference: one of 5 000 would be larger by chance.
    for (mean, variance) in &found[1..] {
        let error = ((variance + found[0].1) / WEATHER_SEASONS as f64).sqrt();
        assert!((mean - found[0].0).abs() < 4.0 * error, "{mean} days, not {}", found[0].0);
    }
    assert!(found[0].1 < found[1].1 && found[1].1 < found[3].1, "{found:?}");
}

/// What the script of that lesson says of the record: shares and law are those that the program finds, and the persistence
/// is worked out here, from the rule and the record alone.
#[test]
fn the_figures_of_independent_days_are_those_of_the_record() {
    let out = tempfile::tempdir().unwrap();
    let folder = repository().join("scenarios/demo");
    let script = fs::read_to_string(folder.join("independent-days.rhai")).unwrap();
    let record = "scenarios/demo/record/dublin-airport-daily.csv";
    done(&format!("days {record} --rules scenarios/demo/independent-days.rhai"), out.path());
    let rows = |path: PathBuf| -> Vec<BTreeMap<String, String>> {
        csv::Reader::from_path(path).unwrap().deserialize().map(Result::unwrap).collect()
    };
    let shares = rows(out.path().join("days.csv"));
    let told: Vec<_> = shares
        .iter()
        .filter(|row| row["from"].as_str() <= "12-05" && row["to"].as_str() >= "09-11")
        .collect();
    assert_eq!(script.matches("\n    [\"").count(), told.len());
    for row in told {
        let line = format!("    [\"{}\", \"{}\", {}],\n", row["from"], row["to"], row["p_suitable"]);
        assert!(script.contains(&line), "{line}");
    }
    let drivers = rows(out.path().join("drivers.csv"));
    let law = drivers.iter().find(|row| row["driver"] == "soil" && row["from"] == "09-16").unwrap();
    let law = ["persistence", "spread", "spread_days"].map(|key| format!("{key}: {}", law[key])).join(", ");
    assert!(script.contains(&law), "{law}");

    let days = rows(repository().join(record));
    let number = |at: usize, column: &str| -> f64 { days[at][column].parse().unwrap() };
    let rule =
        r#"rule("drilling", #{ soil: "medium", deficit_min_mm: 3, rain_max_mm: 2, rain_before_max_mm: 5 })"#;
    assert!(script.contains(rule));
    let suits = |at: usize| {
        number(at - 1, "smd_moderate_mm") >= 3.0
            && number(at, "rain_mm") <= 2.0
            && number(at - 1, "rain_mm") <= 5.0
    };
    let share = |at: usize| -> f64 {
        let day: Date = days[at]["date"].parse().unwrap();
        let day = day.strftime("%m-%d").to_string();
        let row = shares.iter().find(|row| row["from"] <= day && day <= row["to"]).unwrap();
        row["p_suitable"].parse().unwrap()
    };
    let (mut together, mut alone) = (0.0, 0.0);
    for at in (1..days.len() - 1).filter(|at| ("09-16".."11-30").contains(&&days[*at]["date"][5..])) {
        let [(off, variance), (next_off, next_variance)] = [at, at + 1].map(|at| {
            let share = share(at);
            (f64::from(u8::from(suits(at))) - share, share * (1.0 - share))
        });
        together += off * next_off;
        alone += (variance * next_variance).sqrt();
    }
    let persistence =
        format!("persistent: driver(\"soil\", #{{ persistence: {:.2}, spread: 0 }})", together / alone);
    assert!(script.contains(&persistence), "{persistence}");
}

/// The reading itself: a page that shows what is not so is found out, and written anew.
#[test]
fn a_page_that_is_wrong_is_found_out() {
    let command = "$ dryspell run scenarios/one-operation.rhai --seasons 100 --refits 0";
    let shown = |lines: &str| read(&format!("# Page\n\n```console\n{command}\n{lines}\n```\n"), false).wrong;
    assert_eq!(shown("..."), Vec::<String>::new());
    for wrong in ["", "no such line\n...", "...\nno such line"] {
        assert_eq!(shown(wrong).len(), 1, "{wrong:?}");
    }
    let others = [
        "```text\nwords\n```",
        "```rhai\nno such line\n```",
        "```console\nls\n```",
        "```diff\n--- a.rhai\n```",
    ];
    for other in others {
        assert_eq!(read(&format!("{other}\n"), false).wrong.len(), 1, "{other}");
    }
    let diff = "```diff\n--- scenarios/one-operation.rhai\n-no such line\n+another\n```\n";
    assert_eq!(read(diff, false).wrong.len(), 1);

    let lines = |text: &str| -> Vec<String> { text.lines().map(str::to_owned).collect() };
    let before = lines("Farm: 2 000 seasons\n...\ndrilling, wheat   1 year in 10   9-11 %\n...");
    let printed = "Farm: 2 000 seasons\n\nploughing, wheat   3 years in 10   29-31 %\n\
                   drilling, wheat   2 years in 10   19-21 %\nrolling, wheat   1 year in 10   9-11 %";
    let after = lines("Farm: 2 000 seasons\n...\ndrilling, wheat   2 years in 10   19-21 %\n...");
    assert!(shown::is_of(&before, printed).is_err());
    assert_eq!(shown::renewed(&before, printed), Ok(after));
    assert!(shown::renewed(&lines("...\nan owl in the barn sings"), printed).is_err());
}
