//! What a person sees of a small farm: the summary, what was understood, the first rows of every table.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

use super::check::understood;
use super::summary::{Facts, summary};
use super::work::settings;
use crate::script::Script;
use crate::tables::{self, Origin, OutFolder, SeasonsTable, Told};
use sim_core::kernel::Log;
use sim_core::season::{Entry, Manager};
use sim_core::study::{Hooks, Study, Variant};
use std::fmt::Write as _;
use std::fs;
use std::sync::atomic::AtomicBool;

/// Two crops, two soils, one tractor, a contractor, a machine without work. All invented.
const FARM: &str = r#"
let rate_ha_h = param("rate_ha_h", 1.5, "work rate of the drill, ha/h");
farm(#{
    name: "Two Fields",
    suitable_days: [
        suitable(#{ class: "soil work", soil: "loam", p_suitable: 0.5 }),
        suitable(#{ class: "soil work", soil: "clay", p_suitable: 0.3 }),
    ],
    drivers: [driver("soil", #{ persistence: 0.5, spread: 0.2, spread_days: 20 })],
    classes: [work_class("soil work", #{ driver: "soil" })],
    people: [person("Ann", #{ hours: "07:00-17:00", drives: ["tractor"] })],
    machines: [
        machine("tractor", #{ needs_driver: true, work_rate_ha_h: rate_ha_h }),
        machine("old roller", #{ needs_driver: false, work_rate_ha_h: 3.0 }),
    ],
    outfits: [outfit("tractor", #{ machines: ["tractor"] })],
    crops: [
        crop("wheat", #{
            following: [
                operation("ploughing", #{
                    class: "soil work", outfits: ["tractor"], from: "09-10", due: "10-05", latest: "11-10",
                }),
                operation("drilling", #{
                    class: "soil work", outfits: ["tractor"], from: "09-20", due: "10-15", latest: "11-20",
                    after: ["ploughing"],
                }),
            ],
        }),
        crop("beans", #{
            following: [operation("drilling", #{
                class: "soil work", outfits: ["tractor"], from: "10-20", due: "12-20",
            })],
        }),
    ],
    fields: [
        field("Long Acre", #{ area_ha: 42.5, soil: "loam", following: "wheat" }),
        field("Clay Pit", #{ area_ha: 24.0, soil: "clay", following: "wheat" }),
        field("Home", #{ area_ha: 6.0, soil: "loam", following: "beans" }),
    ],
})
"#;

fn script() -> Script {
    Script::embedded("two-fields", FARM, &[])
}

fn study(rate_ha_h: &str) -> Study {
    let (farm, _) = script().farm(&[("rate_ha_h".into(), rate_ha_h.into())]).unwrap();
    Study { variants: vec![Variant::new("base", farm).unwrap()], seasons: 500, seed: 1, threads: 2 }
}

fn plain(text: &str) -> String {
    anstream::adapter::strip_str(text).to_string()
}

fn summary_of(seasons: u64, all: bool) -> String {
    let study = Study { seasons, ..study("1.8") };
    let found = study.run(&Manager, Hooks::default()).unwrap();
    let (_, parameters) = script().farm(&[("rate_ha_h".into(), "1.8".into())]).unwrap();
    plain(&summary(&Facts {
        variant: &study.variants[0],
        findings: &found.variants[0],
        parameters: &parameters,
        strange: &[],
        seasons,
        seed: 1,
        all,
    }))
}

#[test]
fn the_summary_shows_the_worst_first() {
    insta::assert_snapshot!(summary_of(500, false));
}

#[test]
fn the_summary_shows_everything_if_asked_and_says_where_seasons_are_too_few() {
    insta::assert_snapshot!(summary_of(12, true));
}

#[test]
fn no_line_is_wider_than_a_hundred_columns() {
    for line in summary_of(500, true).lines() {
        assert!(line.chars().count() <= 100, "{line}");
    }
}

#[test]
fn check_says_what_was_understood() {
    let script = script();
    let slow = script.evaluate(&[("rate_ha_h".into(), "0.4".into())]).unwrap();
    let farm = sim_core::farm::Farm::new(&slow.farm).unwrap();
    let text = understood(&slow.farm, &sim_core::season::Plan::new(farm), &slow.parameters, &slow.strange);
    insta::assert_snapshot!(plain(&text));
}

#[test]
fn every_table_has_its_columns() {
    let study = study("1.8");
    let folder = tempfile::tempdir().unwrap();
    let mut out = OutFolder::open(folder.path()).unwrap();
    let stop = AtomicBool::new(false);
    let mut seasons = SeasonsTable::begin(&out, &study.variants, study.seed, &stop).unwrap();
    let found = study.run(&Manager, Hooks { sink: Some(&mut seasons), ..Hooks::default() }).unwrap();
    seasons.keep(&mut out).unwrap();
    tables::write_risk(&mut out, &study.variants, &found).unwrap();
    tables::write_finish(&mut out, &study.variants, &found).unwrap();
    tables::write_use(&mut out, &study.variants, &found).unwrap();
    tables::write_waits(&mut out, &study.variants, &found).unwrap();
    let mut log: Log<Entry> = Log::default();
    study.work_one(&Manager, 0, 3, &mut log).unwrap();
    let told = Told { farm: study.variants[0].plan.farm(), year: None, rows: &log.rows };
    tables::keep_trace(&mut out, &told).unwrap();
    assert_eq!(fs::read_dir(folder.path()).unwrap().filter(visible).count(), 0);
    let (script, (_, parameters)) = (script(), script().farm(&[]).unwrap());
    let names = out
        .finish(&Origin {
            variants: &study.variants,
            script: script.name(),
            source: script.source(),
            parameters: settings(&parameters),
            changes: Vec::new(),
            seed: 1,
            seasons: 500,
            asked: 500,
            until: None,
            traced: Some(3),
            varied: Vec::new(),
        })
        .unwrap();
    // Nothing else is left behind.
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), names.len());
    let mut text = String::new();
    for name in &names {
        let all = fs::read_to_string(folder.path().join(name)).unwrap();
        let (first, skip, shown) = match name.as_str() {
            "datapackage.json" => continue,
            // The days on which something happens, and the half-months in which there is work.
            "finish.csv" => (1, 262, 4),
            "use.csv" => (1, 16, 5),
            _ => (1, 0, 8),
        };
        writeln!(text, "{name}").unwrap();
        for line in all.lines().take(first).chain(all.lines().skip(first + skip).take(shown)) {
            writeln!(text, "  {line}").unwrap();
        }
    }
    insta::assert_snapshot!(text);
    let descriptor = fs::read_to_string(folder.path().join("datapackage.json")).unwrap();
    // What names the tables' bytes changes with every season and has its own check, in the whole program.
    let named = |line: &&str| !["\"bytes\"", "\"hash\""].iter().any(|word| line.contains(word));
    insta::assert_snapshot!(descriptor.lines().filter(named).take(70).collect::<Vec<_>>().join("\n"));
}

fn visible(entry: &std::io::Result<fs::DirEntry>) -> bool {
    !entry.as_ref().unwrap().file_name().to_string_lossy().starts_with('.')
}
