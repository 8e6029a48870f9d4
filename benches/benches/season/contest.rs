//! The season against a loop by hand and SimPy: whether they find the same, and how long each takes.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

use sim_core::season::{Cause, JobAccount, Manager, Plan, Season};
use sim_core::weather::{Sky, Weather};
use speed::plain::{Found, NEVER, OPERATIONS};

use crate::{REPEATS, ROUNDS, SEASONS, SEED, SIMPY_EVERY};

/// A loop by hand.
pub(crate) trait Floor {
    fn work(&mut self, sky: &Sky);
    /// The last season's figures, by operation and crop.
    fn found(&self) -> &[Found];
    /// Seconds in use of an operation's machine and driver, by half-month.
    fn use_s(&self, operation: usize) -> &[i64];
    /// Operation and field of each job, when it was done, and its account if one is kept.
    fn jobs(&self) -> Vec<(usize, usize, i64, Option<JobAccount>)>;
}

pub(crate) struct Contest<'p, F> {
    plan: &'p Plan,
    weather: &'p Weather,
    season: Season<'p>,
    floor: F,
    sky: Sky,
    /// All seasons' skies, drawn beforehand.
    skies: Vec<Sky>,
}

/// Medians: microseconds a season, and ratios with the sky drawn and with the sky given.
pub(crate) struct Figures {
    pub(crate) sky: f64,
    pub(crate) floor: [f64; 2],
    pub(crate) season: [f64; 2],
    pub(crate) season_to_floor: [f64; 2],
    pub(crate) peer: Option<Peer>,
}

pub(crate) struct Peer {
    pub(crate) micros: f64,
    pub(crate) to_floor: [f64; 2],
    pub(crate) to_season: [f64; 2],
}

impl<'p, F: Floor> Contest<'p, F> {
    pub(crate) fn new(plan: &'p Plan, weather: &'p Weather, floor: F) -> Self {
        let skies = (0..SEASONS).map(|number| {
            let mut sky = Sky::default();
            weather.draw(SEED, number, &mut sky);
            sky
        });
        let skies = skies.collect();
        Self { plan, weather, season: Season::new(plan), floor, sky: Sky::default(), skies }
    }

    /// All seasons, each under the sky that is drawn for it or the one drawn beforehand.
    fn each(&mut self, draw: bool, mut work: impl FnMut(&mut Season<'p>, &mut F, u64, &Sky) -> u64) -> u64 {
        (0..SEASONS).fold(0, |hash, number| {
            let sky = if draw {
                self.weather.draw(SEED, number, &mut self.sky);
                &self.sky
            } else {
                &self.skies[number as usize]
            };
            hash ^ work(&mut self.season, &mut self.floor, number, sky)
        })
    }

    fn floor(&mut self, draw: bool) -> u64 {
        self.each(draw, |_, floor, _, sky| {
            floor.work(sky);
            floor.found().iter().fold(0, |hash, found| hash ^ hashed(found.finish))
        })
    }

    fn season(&mut self, draw: bool) -> u64 {
        self.each(draw, |season, _, number, sky| {
            let outcome = season.work(number, sky, &mut Manager).unwrap();
            outcome.rows.iter().fold(0, |hash, row| hash ^ hashed(row.finish))
        })
    }

    /// Every job of every season at the same second, every account and every figure of its rows the same; how many
    /// jobs were done and how many not, and how many rows were late.
    pub(crate) fn check(&mut self, simpy: Option<&[Vec<i64>]>) -> [usize; 3] {
        let (mut done, mut undone, mut late) = (0, 0, 0);
        let farm = self.plan.farm();
        let half_months = self.plan.half_months();
        let fields = farm.fields.len();
        let mut job_of = vec![usize::MAX; OPERATIONS * fields];
        for (index, job) in farm.jobs.iter().enumerate() {
            job_of[farm.rows[job.row].class * fields + job.field] = index;
        }
        for (number, sky) in self.skies.iter().enumerate() {
            self.floor.work(sky);
            let outcome = self.season.work(number as u64, sky, &mut Manager).unwrap().clone();
            let accounts: Vec<JobAccount> = self.season.accounts().collect();
            let jobs = self.floor.jobs();
            assert_eq!(jobs.len(), accounts.len());
            for (operation, field, finish, account) in jobs {
                let job = job_of[operation * fields + field];
                let label = self.plan.job_label(job);
                let want = &accounts[job];
                let done_at = if want.done { want.finish.unwrap() } else { NEVER };
                assert_eq!(finish, done_at, "season {number}, by hand, {label}");
                if let Some(account) = account {
                    assert_eq!(account, *want, "season {number}, by hand, {label}");
                }
                if let Some(simpy) = simpy {
                    let found = simpy[number][field * OPERATIONS + operation];
                    let want = if done_at == NEVER { -1 } else { done_at };
                    assert_eq!(found, want, "season {number}, SimPy, {label}");
                }
                done += usize::from(want.done);
                undone += usize::from(!want.done);
            }
            let crops = farm.rows.len() / OPERATIONS;
            for (of, row) in farm.rows.iter().zip(&outcome.rows) {
                late += usize::from(row.late);
                let found = &self.floor.found()[of.class * crops + of.crop];
                let season = format!("season {number}, {} of {}: {row:?} {found:?}", of.operation, of.crop);
                assert_eq!((row.finish, row.days_late), (found.finish, found.days_late), "{season}");
                assert_eq!(row.suitable_days, Some(found.suitable_days), "{season}");
                let waits = [Cause::ClosedHours, Cause::Weather, Cause::Predecessor, Cause::People];
                assert_eq!(waits.map(|cause| row.waits_s[cause as usize]), found.waits_s, "{season}");
                assert_eq!(row.waits_s.iter().sum::<i64>(), found.waits_s.iter().sum::<i64>(), "{season}");
                for (ours, hand) in [
                    (row.area_late_ha, found.area_late_ha),
                    (row.area_unfinished_ha, found.area_unfinished_ha),
                    (row.ha_days_late, found.ha_days_late),
                ] {
                    assert!((ours - hand).abs() < 1e-6 * hand.max(1.0), "{season}");
                }
            }
            for operation in 0..OPERATIONS {
                for resource in [operation, OPERATIONS + operation] {
                    let use_s = &outcome.use_s[resource * half_months..][..half_months];
                    assert_eq!(use_s, self.floor.use_s(operation), "season {number}");
                }
            }
        }
        [done, undone, late]
    }

    /// All seasons' days for SimPy to read: a line for each key, one 0 or 1 a day.
    pub(crate) fn days_in_text(&self, text: &mut String) {
        for sky in &self.skies {
            for key in 0..sky.keys() {
                text.extend((0..sky.days()).map(|day| if sky.suitable(key, day) { '1' } else { '0' }));
                text.push('\n');
            }
        }
    }

    /// Alternate rounds of all; SimPy reads `text` and takes part in some.
    pub(crate) fn measure(&mut self, simpy: Option<(&str, &str)>) -> Figures {
        let found = self.floor(true);
        let skies = self.each(true, |_, _, _, sky| u64::from(sky.count(0, 0, sky.days())));
        let mut sky = Vec::new();
        let (mut floor, mut season) = ([Vec::new(), Vec::new()], [Vec::new(), Vec::new()]);
        let mut peer = Vec::new();
        let (mut to_floor, mut to_season) = ([Vec::new(), Vec::new()], [Vec::new(), Vec::new()]);
        for round in 0..ROUNDS {
            for (at, draw) in [true, false].into_iter().enumerate() {
                if round % 2 == 0 {
                    floor[at].push(repeated(|| self.floor(draw), found));
                    season[at].push(timed(|| self.season(draw), found));
                } else {
                    season[at].push(timed(|| self.season(draw), found));
                    floor[at].push(repeated(|| self.floor(draw), found));
                }
            }
            let count = |sky: &Sky| u64::from(sky.count(0, 0, sky.days()));
            sky.push(repeated(|| self.each(true, |_, _, _, sky| count(sky)), skies));
            if round % SIMPY_EVERY == 0
                && let Some((script, text)) = simpy
                && let Some((seconds, _)) = run_simpy(script, text)
            {
                for at in 0..2 {
                    to_floor[at].push(seconds / floor[at][round]);
                    to_season[at].push(seconds / season[at][round]);
                }
                peer.push(seconds);
            }
        }
        let season_to_floor = [0, 1].map(|at| {
            median(season[at].iter().zip(&floor[at]).map(|(season, floor)| season / floor).collect())
        });
        let micros = |seconds: Vec<f64>| median(seconds) * 1e6 / SEASONS as f64;
        Figures {
            sky: micros(sky),
            floor: floor.map(micros),
            season: season.map(micros),
            season_to_floor,
            peer: (!peer.is_empty()).then(|| Peer {
                micros: micros(peer),
                to_floor: to_floor.map(median),
                to_season: to_season.map(median),
            }),
        }
    }
}

/// Seconds that SimPy took for all seasons, and when each job was done; nothing if it cannot be run.
pub(crate) fn run_simpy(script: &str, text: &str) -> Option<(f64, Vec<Vec<i64>>)> {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let python = std::env::var_os("DRYSPELL_PYTHON")
        .map_or_else(|| here.join("../tests/.venv/bin/python"), PathBuf::from);
    let script = here.join("benches/season").join(script);
    let mut child =
        Command::new(python).arg(script).stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().ok()?;
    child.stdin.take()?.write_all(text.as_bytes()).ok()?;
    let answer = String::from_utf8(child.wait_with_output().ok()?.stdout).ok()?;
    let mut lines = answer.lines();
    let seconds = lines.next()?.parse().ok()?;
    let finish = lines.map(|line| line.split(' ').map(|word| word.parse().unwrap()).collect()).collect();
    Some((seconds, finish))
}

/// A number for when a row was done, so that nothing measured can be left out.
fn hashed(finish: Option<i64>) -> u64 {
    (finish.unwrap_or(-1) as u64).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(17)
}

fn median(mut values: Vec<f64>) -> f64 {
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
