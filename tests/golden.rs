//! Three seasons of the demo farm to the byte, and the same bytes however they are come by.
//!
//! The stored outcomes tell when the model's results change. That may be meant: set DRYSPELL_GOLDEN=write to store
//! them anew, read the difference, and say in the commit why it is right.

use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;

use sim_core::farm::Farm;
use sim_core::kernel::NoTrace;
use sim_core::season::{Cause, Manager, Outcome, Season};
use sim_core::study::{Hooks, Sink, Study, Variant};
use sim_core::weather::Sky;
use sim_script::script::Script;

const SEED: u64 = 1;
/// As the first season has it, and two far from it.
const GOLDEN_SEASONS: [u64; 3] = [0, 1, 1_000_000];
/// Enough for seven threads to have work.
const BATCH: u64 = 300;

fn here() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn demo_farm() -> Farm {
    let script = Script::from_file(&here().join("../scenarios/demo/farm.rhai")).unwrap();
    script.farm(&[]).unwrap_or_else(|error| panic!("{error}")).0
}

fn study(threads: usize, seasons: u64) -> Study {
    Study { variants: vec![Variant::new("demo", demo_farm()).unwrap()], seasons, seed: SEED, threads }
}

/// All of an outcome; floats in the shortest form that reads back the same.
fn rows(farm: &Farm, outcome: &Outcome, text: &mut String) {
    for (row, of) in farm.rows.iter().zip(&outcome.rows) {
        write!(text, "{},{},{}", outcome.season, farm.crops[row.crop], row.operation).unwrap();
        let number = |value: Option<i64>| value.map_or(String::new(), |value| value.to_string());
        write!(text, ",{},{},{}", number(of.finish), u8::from(of.late), of.days_late).unwrap();
        write!(text, ",{},{},{}", of.area_late_ha, of.area_unfinished_ha, of.ha_days_late).unwrap();
        write!(text, ",{},{}", number(of.suitable_days.map(i64::from)), of.missed_lags).unwrap();
        for wait in of.waits_s {
            write!(text, ",{wait}").unwrap();
        }
        text.push('\n');
    }
}

fn rows_header() -> String {
    let waits: Vec<String> =
        Cause::ALL.iter().map(|cause| format!("waited_{}_s", cause.name().replace(' ', "_"))).collect();
    format!(
        "season,crop,operation,finish_s,late,days_late,area_late_ha,area_unfinished_ha,ha_days_late,suitable_days,\
         missed_lags,{}\n",
        waits.join(",")
    )
}

/// Seconds in use by machine or person, a column a half-month.
fn uses(farm: &Farm, outcome: &Outcome, text: &mut String) {
    let names = farm
        .machines
        .iter()
        .map(|machine| &machine.name)
        .chain(farm.people.iter().map(|person| &person.name));
    let half_months = outcome.use_s.len() / (farm.machines.len() + farm.people.len());
    for (name, use_s) in names.zip(outcome.use_s.chunks(half_months)) {
        let seconds: Vec<String> = use_s.iter().map(i64::to_string).collect();
        writeln!(text, "{},{name},{}", outcome.season, seconds.join(",")).unwrap();
    }
}

/// An outcome as bytes: two are the same only if every figure is, to the last bit.
fn bytes(outcome: &Outcome) -> Vec<u8> {
    let mut bytes = outcome.season.to_le_bytes().to_vec();
    let mut add = |value: i64| bytes.extend(value.to_le_bytes());
    for row in &outcome.rows {
        add(row.finish.unwrap_or(-1));
        add(i64::from(row.late));
        add(i64::from(row.days_late));
        for value in [row.area_late_ha, row.area_unfinished_ha, row.ha_days_late] {
            add(value.to_bits() as i64);
        }
        add(row.suitable_days.map_or(-1, i64::from));
        row.waits_s.iter().for_each(|wait| add(*wait));
        add(i64::from(row.missed_lags));
    }
    outcome.use_s.iter().for_each(|seconds| add(*seconds));
    bytes
}

fn is_stored(name: &str, found: &str) {
    let path = here().join("golden").join(name);
    if std::env::var_os("DRYSPELL_GOLDEN").is_some_and(|value| value == "write") {
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(&path, found).unwrap();
    }
    let stored = fs::read_to_string(&path).unwrap_or_else(|error| panic!("golden/{name}: {error}"));
    for (line, (stored, found)) in stored.lines().zip(found.lines()).enumerate() {
        assert_eq!(found, stored, "golden/{name}, line {}: found, then stored", line + 1);
    }
    assert_eq!(found.len(), stored.len(), "golden/{name}");
}

#[test]
fn three_seasons_are_as_stored() {
    let study = study(1, 0);
    let farm = study.variants[0].plan.farm();
    let mut all_rows = rows_header();
    let mut all_uses = String::from("season,who,seconds_in_use_by_half_month\n");
    for season in GOLDEN_SEASONS {
        let outcome = study.work_one(&Manager, 0, season, &mut NoTrace).unwrap();
        rows(farm, &outcome, &mut all_rows);
        uses(farm, &outcome, &mut all_uses);
    }
    is_stored("demo-rows.csv", &all_rows);
    is_stored("demo-use.csv", &all_uses);
}

#[derive(Default)]
struct All(Vec<Vec<u8>>);

impl Sink for All {
    fn season(&mut self, _variant: usize, outcome: &Outcome) {
        assert_eq!(outcome.season as usize, self.0.len(), "seasons come in order");
        self.0.push(bytes(outcome));
    }
}

#[test]
fn threads_order_and_company_change_no_byte() {
    let together = |threads| {
        let mut all = All::default();
        let found =
            study(threads, BATCH).run(&Manager, Hooks { sink: Some(&mut all), ..Hooks::default() }).unwrap();
        (all.0, found)
    };
    let (one, found) = together(1);
    assert_eq!(one.len() as u64, BATCH);
    for threads in [2, 7] {
        let (other, other_found) = together(threads);
        assert_eq!(other_found, found, "{threads} threads");
        assert!(other == one, "{threads} threads");
    }
    let study = study(1, 0);
    let variant = &study.variants[0];
    // Shuffled, in one worker's memory: 7 and the batch have no common divisor, so each comes once.
    let mut season = Season::new(&variant.plan);
    let mut sky = Sky::default();
    for step in 0..BATCH {
        let number = (step * 7 + 113) % BATCH;
        variant.weather.draw(SEED, number, &mut sky);
        let outcome = season.work(number, &sky, &mut Manager).unwrap();
        assert!(bytes(outcome) == one[number as usize], "season {number} in shuffled order");
    }
    // Alone, in fresh memory.
    for number in 0..BATCH {
        let outcome = study.work_one(&Manager, 0, number, &mut NoTrace).unwrap();
        assert!(bytes(&outcome) == one[number as usize], "season {number} alone");
    }
    // Seasons differ, or equal bytes would say nothing.
    let mut distinct: Vec<&[u8]> = one.iter().map(|bytes| &bytes[8..]).collect();
    distinct.sort_unstable();
    distinct.dedup();
    assert!(distinct.len() as u64 > BATCH * 9 / 10, "{} distinct seasons", distinct.len());
}
