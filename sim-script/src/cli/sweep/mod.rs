//! `dryspell sweep`: the farm at many values of one or two parameters, all under the same skies. Values are worked some
//! at a time, each beside the farm as it is and the value before; memory does not grow with them times the seasons.
//! With a folder, a sweep that is stopped goes on where it was.

mod partial;
mod request;
mod rows;
#[cfg(test)]
mod tests;
mod told;

use super::args::SweepArgs;
use super::load::{Loaded, load, load_with};
use super::points::{deciders, farms_at, load_at, with};
use super::work::{BASE, STOP, catch_ctrl_c, finish, open, origin, progress_bar, study};
use super::{Failure, print};
use crate::script::{FileRead, Script};
use crate::tables::{self, AtValue, Origin, OutError, OutFolder, Varied, hex};
use partial::{Found, Partial, Request};
use request::Grid;
use sha2::{Digest as _, Sha256};
use sim_core::study::{Hooks, Study, Variant};
use std::io::Write as _;
use std::sync::atomic::Ordering;

/// Seasons that are worked before what was found is kept, over all values in hand: a few dozen seconds of work.
const IN_HAND: u64 = 80_000;

pub(super) fn sweep(args: &SweepArgs) -> Result<(), Failure> {
    let (farm, asked) = request::split(args)?;
    let base = load(&farm)?;
    let grid = request::grid(&asked, &base.parameters)?;
    let Read { files, one_weather } = read_all(&base, &farm.set, &asked, &grid)?;
    let study = study(vec![Variant::new(BASE, base.farm.clone())?], args.seasons, &args.work);
    let request = request_of(&base, &grid, files, &study);
    let out = open(&args.work)?;
    let (mut partial, Found { mut done, damaged }) = match &out {
        Some(out) => {
            let (partial, found) = Partial::open(out, &request, grid.len())?;
            (Some(partial), found)
        }
        None => (None, Found { done: vec![None; grid.len()], damaged: 0 }),
    };
    tell_found(&done, damaged);
    catch_ctrl_c();
    let work = Work { script: &base.script, set: &farm.set, grid: &grid, base: &study };
    work.all(&mut done, |value, rows| partial.as_mut().map_or(Ok(()), |partial| partial.keep(value, rows)))?;
    let count = done.iter().flatten().count();
    let stopped = (count < grid.len()).then(|| stopped(count, grid.len(), out.as_ref()));
    if count == 0
        && let Some(stopped) = stopped
    {
        return Err(stopped);
    }
    let told =
        told::Told { study: &study, parameters: &base.parameters, grid: &grid, one_weather, all: args.all };
    let mut text = told.text(&done)?;
    if let (Some(mut out), None) = (out, &stopped) {
        tables::write_sweep(&mut out, done.iter().flatten().map(String::as_str)).map_err(Failure::Write)?;
        let varied =
            grid.axes.iter().map(|axis| Varied { name: axis.name.clone(), values: axis.values.clone() });
        let origin = origin(&study, &base.script, &base.parameters, study.seasons);
        text.push_str(&finish(out, &Origin { varied: varied.collect(), ..origin })?);
        partial.map_or(Ok(()), Partial::remove)?;
    }
    print(&text)?;
    stopped.map_or(Ok(()), Err)
}

/// What was seen of the farms before any is worked.
struct Read {
    /// The files that the script read, at any value.
    files: Vec<FileRead>,
    /// Whether the weather is the same at every value.
    one_weather: bool,
}

/// Reads the farm at every value, so that what is wrong with the last is said before the first is worked.
fn read_all(
    base: &Loaded,
    set: &[(String, String)],
    asked: &[super::vary::Vary],
    grid: &Grid,
) -> Result<Read, Failure> {
    let mut files = base.files.clone();
    let mut one_weather = true;
    if let Some(unknown) = asked.iter().find(|vary| !grid.axes.iter().any(|axis| axis.name == vary.name)) {
        // The script says that it has no such parameter.
        load_with(base.script.clone(), &[(unknown.name.clone(), String::new())])?;
    }
    let bar = progress_bar(grid.len() as u64, "values read");
    for point in 0..grid.len() {
        let at = with(set, grid.at(point));
        let Loaded { farm, files: read, .. } = load_at(&base.script, &at, &grid.label(point))?;
        sim_core::weather::Weather::new(&farm.weather)?;
        one_weather &= farm.weather == base.farm.weather;
        files.extend(read.into_iter().filter(|file| !base.files.contains(file)));
        bar.inc(1);
    }
    bar.finish_and_clear();
    files.sort_by(|one, other| one.name.cmp(&other.name));
    files.dedup();
    Ok(Read { files, one_weather })
}

fn request_of(base: &Loaded, grid: &Grid, files: Vec<FileRead>, study: &Study) -> Request {
    let parameter = |of: &crate::script::Parameter| (of.name.clone(), of.value.to_string());
    Request {
        program: format!("dryspell {}", env!("CARGO_PKG_VERSION")),
        script_sha256: hex(&Sha256::digest(base.script.source())),
        files: files.into_iter().map(|file| (file.name, hex(&file.sha256))).collect(),
        parameters: base.parameters.iter().map(parameter).collect(),
        swept: grid.axes.iter().map(|axis| (axis.name.clone(), axis.values.clone())).collect(),
        seasons: study.seasons,
        seed: study.seed,
    }
}

/// Says what an earlier sweep has left.
fn tell_found(done: &[Option<String>], damaged: usize) {
    let count = done.iter().flatten().count();
    let mut text = String::new();
    if count > 0 {
        text = format!("{count} of {} values were done before; the sweep goes on from there.\n", done.len());
    }
    if damaged > 0 && count < done.len() {
        let lines = if damaged == 1 { "1 line".into() } else { format!("{damaged} lines") };
        text.push_str(&format!(
            "{lines} of {} cut off or damaged: what stood there is worked again.\n",
            partial::NAME
        ));
    }
    // What is only said by the way must not end the sweep.
    let _ = anstream::stderr().write_all(text.as_bytes());
}

/// What can go wrong with rows in memory.
fn unreadable(error: csv::Error) -> Failure {
    Failure::Write(OutError::File { path: "sweep.csv".into(), error: error.into() })
}

fn stopped(count: usize, all: usize, out: Option<&OutFolder>) -> Failure {
    let kept = match out {
        Some(out) => format!(
            "what is done is kept in {}: the same command goes on from there",
            out.path().join(partial::NAME).display()
        ),
        None => "with --out DIR what is done would be kept, and the same command go on from there".into(),
    };
    Failure::Stopped(format!("stopped after {count} of {all} values; {kept}"))
}

/// What is worked.
struct Work<'a> {
    script: &'a Script,
    /// What holds for every value.
    set: &'a [(String, String)],
    grid: &'a Grid,
    /// The farm as it is, with seasons, seed and threads.
    base: &'a Study,
}

impl Work<'_> {
    /// Works the values that are not done, some at a time, until there are none or the sweep is stopped.
    fn all(
        &self,
        done: &mut [Option<String>],
        mut keep: impl FnMut(usize, &str) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let seasons = self.base.seasons;
        let missing = done.iter().filter(|rows| rows.is_none()).count() as u64;
        let bar = progress_bar(missing * seasons, "seasons of all values");
        let together = (IN_HAND / seasons.max(1)).clamp(4, 16) as usize;
        while !STOP.load(Ordering::Relaxed) {
            let Some(first) = done.iter().position(Option::is_none) else { break };
            let count = done[first..].iter().take(together).take_while(|rows| rows.is_none()).count();
            let points: Vec<usize> = (first..first + count).collect();
            let before = bar.position();
            let mut progress = |worked: u64| bar.set_position(before + worked * count as u64);
            let Some(found) = self.some(&points, &mut progress)? else { break };
            for (point, rows) in points.into_iter().zip(found) {
                keep(point, &rows)?;
                done[point] = Some(rows);
            }
        }
        bar.finish_and_clear();
        Ok(())
    }

    /// Works some values that follow one another; `None` if it was stopped.
    fn some(&self, points: &[usize], progress: &mut dyn FnMut(u64)) -> Result<Option<Vec<String>>, Failure> {
        // The farm as it is, the value before the first, then the values.
        let before = points.first().and_then(|first| self.grid.before(*first));
        let worked: Vec<usize> = before.into_iter().chain(points.iter().copied()).collect();
        let at = |point: &usize| (self.grid.label(*point), with(self.set, self.grid.at(*point)));
        let as_it_is = std::iter::once((BASE.to_string(), self.set.to_vec()));
        let farms: Vec<_> = as_it_is.chain(worked.iter().map(at)).collect();
        let (variants, scripted) = farms_at(self.script, &self.base.variants[0], &farms)?;
        let Study { seasons, seed, threads, .. } = *self.base;
        let study = Study { variants, seasons, seed, threads };
        let sets = farms.iter().map(|(_, set)| set.as_slice());
        let deciders = deciders(self.script, &study, sets.zip(scripted));
        let index_of = |point: usize| worked.iter().position(|other| *other == point).map(|at| at + 1);
        let steps: Vec<Option<(usize, usize)>> = points
            .iter()
            .map(|point| Some((index_of(self.grid.before(*point)?)?, index_of(*point)?)))
            .collect();
        let first = study.variants.len() - points.len();
        let with_base = (first..study.variants.len()).map(|index| (0, index));
        let pairs: Vec<(usize, usize)> = with_base.chain(steps.iter().flatten().copied()).collect();
        let hooks = Hooks { progress: Some(progress), stop: Some(&STOP), ..Hooks::default() };
        let found = study.run_pairs(&deciders, &pairs, hooks)?;
        if found.seasons < seasons {
            return Ok(None);
        }
        let compared = |base: usize, variant: usize| {
            found.comparisons.iter().find(|of| (of.base, of.variant) == (base, variant))
        };
        let mut rows = Vec::with_capacity(points.len());
        for ((point, index), step) in points.iter().zip(first..).zip(steps) {
            let Some(base) = compared(0, index) else { continue };
            let at = AtValue {
                point: &self.grid.at(*point),
                variant: &study.variants[index],
                risks: &found.variants[index].risks,
                as_it_is: &found.variants[0].risks,
                base,
                before: step.and_then(|(before, value)| compared(before, value)),
            };
            rows.push(at.rows().map_err(unreadable)?);
        }
        Ok(Some(rows))
    }
}
