//! A plain farm's season against a hand-written loop and against SimPy: ratios, from alternate rounds of one run.
//!
//! Dryspell and the loop both draw the season's sky from the same weather and come to the same figures: when every job
//! was done, each operation's lateness, what it waited for, what its machine and driver were used for. SimPy is given
//! the days ready-made and keeps no accounts. All three must finish every job at the same second in every season.
#![allow(clippy::print_stdout, reason = "printing the ratios is what it is for")]
#![allow(clippy::unwrap_used, reason = "the farm is fixed: a mistake in it is one of this file")]

#[path = "../../sim-core/tests/common/mod.rs"]
mod common;

use std::fmt::Write as _;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

use common::*;
use sim_core::farm::Farm;
use sim_core::farm::spec::*;
use sim_core::season::{Cause, Manager, Plan, Season};
use sim_core::weather::{Sky, Weather};
use speed::plain::{ByHand, NEVER, OPERATIONS, PlainFarm};

const SEASONS: u64 = 200;
const FIELDS: usize = 40;
const ROUNDS: usize = 15;
/// How often the loop works all seasons in a round: as long as the others take, so that a busy machine slows all alike.
const REPEATS: usize = 16;
/// SimPy, the slowest by far, takes part in every so many rounds.
const SIMPY_EVERY: usize = 3;
const SEED: u64 = 1;

/// Operation, ha/h, hours, chance of a suitable day, window.
type PlainOperation = (&'static str, f64, [f64; 2], f64, [&'static str; 3]);

const PLAIN: [PlainOperation; OPERATIONS] = [
    ("ploughing", 1.5, [8.0, 18.0], 0.65, ["09-01", "10-15", "12-15"]),
    ("drilling", 2.4, [9.0, 18.0], 0.5, ["09-20", "10-31", "12-15"]),
    ("rolling", 3.6, [10.0, 17.0], 0.45, ["09-20", "11-05", "12-15"]),
];

fn farm() -> FarmSpec {
    let mut spec = bare(0.5);
    (spec.suitable, spec.classes) = (Vec::new(), Vec::new());
    let plain = bare(0.5);
    let driver = &mut spec.drivers[0];
    (driver.persistence, driver.spread, driver.spread_days) = (0.5, 0.3, Some(10.0));
    let mut chain: Vec<OperationSpec> = Vec::new();
    for (name, ha_h, [start, end], p_suitable, window) in PLAIN {
        spec.suitable.push(SuitableRow { class: name.into(), p_suitable, ..plain.suitable[0].clone() });
        spec.classes.push(ClassSpec { name: name.into(), ..plain.classes[0].clone() });
        spec.people.push(PersonSpec { hours: vec![hours(start, end)], ..person(name, &[name]) });
        spec.machines.push(machine(name, ha_h));
        spec.outfits.push(outfit(name, &[name]));
        let mut work = operation(name, &[name], window);
        work.class = name.into();
        work.after.extend(chain.last().map(|before| link(&before.name)));
        chain.push(work);
    }
    spec.crops.push(crop("wheat", chain));
    for index in 0..FIELDS {
        let area_ha = 4.0 + (index * 7 % 11) as f64 * 0.9;
        spec.fields.push(field(&format!("field {index}"), area_ha, "wheat"));
    }
    spec
}

/// The same farm in numbers.
fn plain(plan: &Plan) -> PlainFarm {
    let farm = plan.farm();
    let day_seconds = |hour: f64| (hour * 3600.0) as i64;
    let dates = |row: usize| farm.rows[row].dates.unwrap();
    PlainFarm {
        work_s: (0..FIELDS)
            .map(|field| std::array::from_fn(|row| farm.jobs[farm.rows[row].jobs[field]].work[0].total_s))
            .collect(),
        area_ha: farm.fields.iter().map(|field| field.area_ha).collect(),
        hours: PLAIN.map(|(_, _, [start, end], _, _)| (day_seconds(start), day_seconds(end))),
        window: std::array::from_fn(|row| (dates(row).0 as usize, dates(row).1 as usize)),
        latest: dates(0).2 as usize,
        half_month: (0..farm.span.days() as usize).map(|day| plan.half_month_of(day)).collect(),
    }
}

/// A number for what was found, so that nothing measured can be left out.
fn hash(finish: impl Iterator<Item = i64>) -> u64 {
    finish.fold(0, |hash: u64, finish| hash.wrapping_mul(31).wrapping_add(finish as u64))
}

struct Contest<'p> {
    plan: &'p Plan,
    weather: &'p Weather,
    season: Season<'p>,
    by_hand: ByHand<'p>,
    sky: Sky,
}

impl Contest<'_> {
    fn by_hand(&mut self) -> u64 {
        (0..SEASONS).fold(0, |hash, number| {
            self.weather.draw(SEED, number, &mut self.sky);
            self.by_hand.work(&self.sky);
            hash ^ self::hash(self.by_hand.found.iter().map(|found| found.finish.unwrap_or(-1)))
        })
    }

    fn season(&mut self) -> u64 {
        (0..SEASONS).fold(0, |hash, number| {
            self.weather.draw(SEED, number, &mut self.sky);
            let outcome = self.season.work(number, &self.sky, &mut Manager).unwrap();
            hash ^ self::hash(outcome.rows.iter().map(|row| row.finish.unwrap_or(-1)))
        })
    }

    fn sky_alone(&mut self) -> u64 {
        (0..SEASONS).fold(0, |hash, number| {
            self.weather.draw(SEED, number, &mut self.sky);
            hash ^ u64::from(self.sky.count(0, 0, 365))
        })
    }

    /// Every job of every season at the same second, and every figure of its rows the same.
    fn check(&mut self, simpy: Option<&[Vec<i64>]>) -> (usize, usize) {
        let (mut done, mut undone) = (0, 0);
        for number in 0..SEASONS {
            self.weather.draw(SEED, number, &mut self.sky);
            self.by_hand.work(&self.sky);
            let outcome = self.season.work(number, &self.sky, &mut Manager).unwrap().clone();
            for (job, account) in self.season.accounts().enumerate() {
                let of = &self.plan.farm().jobs[job];
                let hand = self.by_hand.finish[of.row][of.field];
                let want = if account.done { account.finish.unwrap() } else { NEVER };
                assert_eq!(hand, want, "season {number}, by hand, {}", self.plan.job_label(job));
                if let Some(simpy) = simpy {
                    let found = simpy[number as usize][of.field * OPERATIONS + of.row];
                    let want = if want == NEVER { -1 } else { want };
                    assert_eq!(found, want, "season {number}, SimPy, {}", self.plan.job_label(job));
                }
                done += usize::from(account.done);
                undone += usize::from(!account.done);
            }
            for (index, (row, found)) in outcome.rows.iter().zip(&self.by_hand.found).enumerate() {
                assert_eq!((row.finish, row.days_late), (found.finish, found.days_late), "season {number}");
                assert_eq!(row.suitable_days, Some(found.suitable_days));
                let waits = [Cause::ClosedHours, Cause::Weather, Cause::Predecessor];
                assert_eq!(waits.map(|cause| row.waits_s[cause as usize]), found.waits_s, "season {number}");
                assert_eq!(row.waits_s.iter().sum::<i64>(), found.waits_s.iter().sum::<i64>());
                for (season, hand) in [
                    (row.area_late_ha, found.area_late_ha),
                    (row.area_unfinished_ha, found.area_unfinished_ha),
                    (row.ha_days_late, found.ha_days_late),
                ] {
                    assert!(
                        (season - hand).abs() < 1e-6 * hand.max(1.0),
                        "season {number}: {row:?} {found:?}"
                    );
                }
                let half_months = self.plan.half_months();
                for resource in [index, OPERATIONS + index] {
                    let use_s = &outcome.use_s[resource * half_months..][..half_months];
                    assert_eq!(use_s, self.by_hand.use_s[index], "season {number}");
                }
            }
        }
        (done, undone)
    }

    /// What SimPy is given to read.
    fn in_text(&mut self, farm: &PlainFarm) -> String {
        let mut text = format!("{FIELDS} {} {}\n", self.weather.days(), farm.latest);
        for ((start, end), (from, _)) in farm.hours.iter().zip(&farm.window) {
            writeln!(text, "{start} {end} {from}").unwrap();
        }
        for [a, b, c] in &farm.work_s {
            writeln!(text, "{a} {b} {c}").unwrap();
        }
        for number in 0..SEASONS {
            self.weather.draw(SEED, number, &mut self.sky);
            for key in 0..OPERATIONS {
                let days = (0..self.weather.days()).map(|day| self.sky.suitable(key, day));
                text.extend(days.map(|suits| if suits { '1' } else { '0' }));
                text.push('\n');
            }
        }
        text
    }
}

/// Seconds that SimPy took for all seasons, and when each job was done; nothing if it cannot be run.
fn simpy(text: &str) -> Option<(f64, Vec<Vec<i64>>)> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let python = std::env::var_os("DRYSPELL_PYTHON")
        .map_or_else(|| here.join("../tests/.venv/bin/python"), PathBuf::from);
    let script = here.join("benches/season_simpy.py");
    let mut child =
        Command::new(python).arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().ok()?;
    child.stdin.take()?.write_all(text.as_bytes()).ok()?;
    let answer = String::from_utf8(child.wait_with_output().ok()?.stdout).ok()?;
    let mut lines = answer.lines();
    let seconds = lines.next()?.parse().ok()?;
    let finish = lines.map(|line| line.split(' ').map(|word| word.parse().unwrap()).collect()).collect();
    Some((seconds, finish))
}

fn median(values: &mut [f64]) -> f64 {
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

fn timed(work: impl FnOnce() -> u64, found: u64) -> f64 {
    let start = Instant::now();
    assert_eq!(std::hint::black_box(work()), found);
    start.elapsed().as_secs_f64()
}

/// The mean of several.
fn repeated(mut work: impl FnMut() -> u64, found: u64) -> f64 {
    (0..REPEATS).map(|_| timed(&mut work, found)).sum::<f64>() / REPEATS as f64
}

fn main() {
    let plan = Plan::new(Farm::new(&farm()).unwrap());
    let weather = Weather::new(&plan.farm().weather).unwrap();
    let numbers = plain(&plan);
    let mut contest = Contest {
        plan: &plan,
        weather: &weather,
        season: Season::new(&plan),
        by_hand: ByHand::new(&numbers),
        sky: Sky::default(),
    };
    let text = contest.in_text(&numbers);
    let first = simpy(&text);
    let (done, undone) = contest.check(first.as_ref().map(|(_, finish)| finish.as_slice()));
    println!(
        "{SEASONS} seasons of {FIELDS} fields x {OPERATIONS} operations: {done} jobs done, {undone} not;"
    );
    let who = if first.is_some() {
        "by hand, season and SimPy"
    } else {
        "by hand and season (NOT SimPy: it cannot be run)"
    };
    println!("every job at the same second {who}");
    let (found, skies) = (contest.by_hand(), contest.sky_alone());
    let mut hand = Vec::new();
    let mut season = Vec::new();
    let mut sky = Vec::new();
    let mut peer = Vec::new();
    let mut peer_to_hand = Vec::new();
    let mut peer_to_season = Vec::new();
    for round in 0..ROUNDS {
        if round % 2 == 0 {
            hand.push(repeated(|| contest.by_hand(), found));
            season.push(timed(|| contest.season(), found));
        } else {
            season.push(timed(|| contest.season(), found));
            hand.push(repeated(|| contest.by_hand(), found));
        }
        sky.push(repeated(|| contest.sky_alone(), skies));
        if first.is_some()
            && round % SIMPY_EVERY == 0
            && let Some((seconds, _)) = simpy(&text)
        {
            peer_to_hand.push(seconds / hand[round]);
            peer_to_season.push(seconds / season[round]);
            peer.push(seconds);
        }
    }
    let mut ratios: Vec<f64> = season.iter().zip(&hand).map(|(season, hand)| season / hand).collect();
    let micros = |seconds: &mut [f64]| median(seconds) * 1e6 / SEASONS as f64;
    println!("medians of {ROUNDS} alternate rounds, microseconds a season:");
    println!("{:>10.2}  drawing the sky alone (in both of the next two)", micros(&mut sky));
    println!("{:>10.2}  by hand", micros(&mut hand));
    println!("{:>10.2}  season", micros(&mut season));
    println!("season / by hand {:.2} (at most 3.5 wanted)", median(&mut ratios));
    if peer.is_empty() {
        println!("SimPy: NOT MEASURED (name a Python that has it in DRYSPELL_PYTHON)");
        return;
    }
    println!("{:>10.2}  SimPy, days given, start of the interpreter left out", micros(&mut peer));
    println!("SimPy / by hand {:.0} (at least 50 wanted)", median(&mut peer_to_hand));
    println!("SimPy / season {:.1} (at least 15 wanted)", median(&mut peer_to_season));
}
