//! What decisions in a script cost: seasons of the demo farm with the manager, with hold and hours scripted, and with every
//! decision scripted, in turn, on one thread; and what one call comes to.
//!
//! The scripted decisions are the manager's own, so that all work the same seasons.

#![allow(clippy::print_stdout, reason = "figures are what a bench is for")]

use sim_core::farm::Farm;
use sim_core::season::{DayView, JobView, Policy, PolicyError};
use sim_core::study::{Hooks, PolicyMaker, Study, Variant};
use sim_script::script::{DecidedBy, Decider, Deciders, Script};
use std::path::Path;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Instant;

const SEASONS: u64 = 1_000;
const ROUNDS: usize = 7;

const HOURS: &str = "overtime_h: |day| if day.least_days_in_hand < 0.0 { 24.0 } else { 0.0 }";
const HOLD: &str = "hold: |job| job.operation == \"ploughing\" && job.today < \"01-02\"";
/// As `HOLD`, but it reads what may differ from season to season, so that it is asked every time.
const HOLD_ASKED: &str = "hold: |job| job.operation == \"ploughing\" && job.slack_h < -1e9";
const RANK: &str =
    "rank: |job| (if job.gives_way { 1e6 } else { 0.0 }) + job.days_in_hand + job.days_needed / 2";
const HIRE: &str = "hire: |job| !job.only_if_behind || job.days_in_hand < 0.0";

fn script(decisions: &[&str]) -> Script {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios/demo");
    let text = std::fs::read_to_string(folder.join("farm.rhai")).unwrap_or_else(|error| panic!("{error}"));
    let end = "crops: crops, fields: fields,";
    assert!(text.contains(end), "the demo's last line");
    let policy = format!("{end} policy: policy(#{{ {} }}),", decisions.join(", "));
    let path = std::env::temp_dir().join(format!("dryspell-policy-{}", std::process::id()));
    std::fs::create_dir_all(&path).unwrap_or_else(|error| panic!("{error}"));
    for table in ["suitable-days.csv", "drivers.csv"] {
        std::fs::copy(folder.join(table), path.join(table)).unwrap_or_else(|error| panic!("{error}"));
    }
    let file = path.join("farm.rhai");
    std::fs::write(&file, text.replace(end, &policy)).unwrap_or_else(|error| panic!("{error}"));
    Script::from_file(&file).unwrap_or_else(|error| panic!("{error}"))
}

/// Counts the calls of a decider's closures.
struct Counting<'a>(&'a Deciders<'a>, AtomicU64);

struct Counted<'a>(Decider, &'a AtomicU64);

impl<'a> PolicyMaker for &'a Counting<'a> {
    type Policy = Counted<'a>;

    fn make(&self, variant: usize) -> Counted<'a> {
        Counted(self.0.make(variant), &self.1)
    }
}

impl Counted<'_> {
    fn one(&self) {
        self.1.fetch_add(1, Ordering::Relaxed);
    }
}

impl Policy for Counted<'_> {
    fn begin(&mut self, season: u64) {
        self.0.begin(season);
    }

    fn fields_rank_alike(&self) -> bool {
        self.0.fields_rank_alike()
    }

    fn rank(&mut self, job: &JobView<'_>) -> Result<f64, PolicyError> {
        self.one();
        self.0.rank(job)
    }

    fn hold(&mut self, job: &JobView<'_>) -> Result<bool, PolicyError> {
        self.one();
        self.0.hold(job)
    }

    fn overtime_h(&mut self, day: &DayView<'_>) -> Result<f64, PolicyError> {
        self.one();
        self.0.overtime_h(day)
    }

    fn hire(&mut self, job: &JobView<'_>, only_if_behind: bool) -> Result<bool, PolicyError> {
        self.one();
        self.0.hire(job, only_if_behind)
    }
}

/// Seconds of the fastest round, for each.
fn fastest(works: &[&dyn Fn()]) -> Vec<f64> {
    let mut best = vec![f64::INFINITY; works.len()];
    for _ in 0..ROUNDS {
        for (best, work) in best.iter_mut().zip(works) {
            let clock = Instant::now();
            work();
            *best = best.min(clock.elapsed().as_secs_f64());
        }
    }
    best
}

fn main() {
    // `cargo test` runs benches too: nothing is asked of them there.
    if !std::env::args().any(|argument| argument == "--bench") {
        return;
    }
    let sets: [(&str, &[&str]); 4] = [
        ("the manager", &[]),
        ("hold and hours", &[HOLD, HOURS]),
        ("every decision, hold asked every time", &[RANK, HOLD_ASKED, HOURS, HIRE]),
        ("every decision", &[RANK, HOLD, HOURS, HIRE]),
    ];
    let studies: Vec<(Script, Study)> = sets
        .iter()
        .map(|(_, decisions)| {
            let script = script(decisions);
            let said = script.evaluate(&[]).unwrap_or_else(|error| panic!("{error}"));
            let farm = Farm::new(&said.farm).unwrap_or_else(|error| panic!("{error}"));
            let variant = Variant::new("base", farm).unwrap_or_else(|error| panic!("{error}"));
            (script, Study { variants: vec![variant], seasons: SEASONS, seed: 1, threads: 1 })
        })
        .collect();
    let deciders: Vec<Deciders<'_>> = studies
        .iter()
        .zip(&sets)
        .map(|((script, study), (_, decisions))| Deciders {
            variants: vec![DecidedBy {
                script,
                set: &[],
                farm: study.variants[0].plan.farm(),
                scripted: !decisions.is_empty(),
            }],
        })
        .collect();
    let work = |at: usize| {
        let found = studies[at].1.run(&deciders[at], Hooks::default());
        drop(found.unwrap_or_else(|error| panic!("{error}")));
    };
    let works: Vec<Box<dyn Fn()>> =
        (0..sets.len()).map(|at| Box::new(move || work(at)) as Box<dyn Fn()>).collect();
    let best = fastest(&works.iter().map(AsRef::as_ref).collect::<Vec<_>>());
    for ((name, _), seconds) in sets.iter().zip(&best) {
        println!(
            "{name}: {:.0} seasons a second, {:.2} times the manager's time",
            SEASONS as f64 / seconds,
            seconds / best[0]
        );
    }
    let asked = 2;
    let counting = Counting(&deciders[asked], AtomicU64::new(0));
    studies[asked].1.run(&&counting, Hooks::default()).unwrap_or_else(|error| panic!("{error}"));
    let calls = counting.1.into_inner();
    println!(
        "{} calls a season, {:.2} us each",
        calls / SEASONS,
        (best[asked] - best[0]) / calls as f64 * 1e6
    );
}
