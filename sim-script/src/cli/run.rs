//! `dryspell run`: many seasons of one farm.

use super::args::RunArgs;
use super::load::{Loaded, load};
use super::summary::{self, Facts};
use super::{Failure, print};
use crate::script::{DecidedBy, Deciders, Parameter};
use crate::tables::{self, Origin, OutFolder, SeasonsTable, Setting, Told, TraceRow};
use crate::words::thousands;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use sim_core::kernel::Log;
use sim_core::season::Entry;
use sim_core::study::{Findings, Hooks, Refits, Sink, Study, Variant};
use std::io::IsTerminal as _;
use std::sync::atomic::{AtomicBool, Ordering};

/// Seasons worked unless said otherwise.
const SEASONS: u64 = 10_000;

/// The variant of a run that compares nothing.
const ONLY: &str = "base";

/// Turned on by Ctrl-C.
static STOP: AtomicBool = AtomicBool::new(false);

pub(super) fn run(args: &RunArgs) -> Result<(), Failure> {
    let Loaded { script, farm, parameters, decides, .. } = load(&args.farm)?;
    let variant = Variant::new(ONLY, farm)?;
    let asked = args.seasons.or(variant.weather.all_seasons()).unwrap_or(SEASONS);
    if args.refits == 1 {
        return Err(Failure::Request("--refits 1: one fit says nothing of how fits differ\nGive 0 for none, or 2 and more; 200 unless said.".into()));
    }
    let study = Study {
        variants: vec![variant],
        seasons: asked,
        seed: args.seed,
        threads: args.threads.map_or_else(cores, usize::from),
    };
    let deciders = Deciders {
        variants: vec![DecidedBy {
            script: &script,
            set: &args.farm.set,
            farm: study.variants[0].plan.farm(),
            scripted: !decides.is_empty(),
        }],
    };
    if let (Some(season), None) = (args.trace, &args.out) {
        let (rows, worked) = trace(&study, &deciders, season);
        let mut text = Vec::new();
        tables::write_trace(&mut text, &told(&study, season, &rows))?;
        print(&String::from_utf8_lossy(&text))?;
        // What happened until a decision failed is what the trace is for.
        return worked;
    }
    let mut out = args.out.as_deref().map(OutFolder::open).transpose().map_err(Failure::Out)?;
    catch_ctrl_c();
    let mut found = work(&study, &deciders, out.as_mut())?;
    if found.seasons == 0 {
        return Err(Failure::Stopped("stopped before the first season was done; nothing was written".into()));
    }
    refit(&study, &deciders, args.refits, &mut found)?;
    let facts = Facts {
        variant: &study.variants[0],
        findings: &found.variants[0],
        parameters: &parameters,
        seasons: found.seasons,
        seed: args.seed,
        all: args.all,
    };
    let mut text = summary::summary(&facts);
    if let Some(mut out) = out {
        tables::write_risk(&mut out, &study.variants, &found).map_err(Failure::Write)?;
        tables::write_finish(&mut out, &study.variants, &found).map_err(Failure::Write)?;
        tables::write_use(&mut out, &study.variants, &found).map_err(Failure::Write)?;
        tables::write_waits(&mut out, &study.variants, &found).map_err(Failure::Write)?;
        if let Some(season) = args.trace {
            let (rows, worked) = trace(&study, &deciders, season);
            worked?;
            tables::keep_trace(&mut out, &told(&study, season, &rows)).map_err(Failure::Write)?;
        }
        let origin = Origin {
            variants: &study.variants,
            script: script.name(),
            source: script.source(),
            parameters: settings(&parameters),
            seed: args.seed,
            seasons: found.seasons,
            asked,
            traced: args.trace,
        };
        let folder = out.path().display().to_string();
        let names = out.finish(&origin).map_err(Failure::Write)?;
        text.push_str(&summary::written(&folder, &names));
    }
    print(&text)?;
    if found.seasons < asked {
        return Err(Failure::Stopped(format!(
            "stopped after {} of {} seasons: all figures are of these",
            thousands(found.seasons),
            thousands(asked)
        )));
    }
    Ok(())
}

fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, std::num::NonZero::get)
}

/// Ctrl-C ends the run after the seasons in hand; a second one ends the program.
fn catch_ctrl_c() {
    // Fails if there is a handler already: then that one serves.
    let _ = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::Relaxed) {
            std::process::exit(1);
        }
    });
}

/// Works the seasons, writing each into seasons.csv if there is a folder.
fn work(study: &Study, deciders: &Deciders<'_>, out: Option<&mut OutFolder>) -> Result<Findings, Failure> {
    let bar = progress_bar(study.seasons, "seasons");
    let mut progress = |done| bar.set_position(done);
    let mut seasons = match &out {
        Some(out) => {
            Some(SeasonsTable::begin(out, &study.variants, study.seed, &STOP).map_err(Failure::Write)?)
        }
        None => None,
    };
    let sink = seasons.as_mut().map(|table| table as &mut dyn Sink);
    let hooks = Hooks { sink, progress: Some(&mut progress), stop: Some(&STOP) };
    let found = study.run(deciders, hooks);
    bar.finish_and_clear();
    if let (Some(out), Some(seasons)) = (out, seasons) {
        seasons.keep(out).map_err(Failure::Write)?;
    }
    Ok(found?)
}

/// Fits a table that was fitted to a record again, for what the record's few years leave open.
fn refit(study: &Study, deciders: &Deciders<'_>, fits: u64, found: &mut Findings) -> Result<(), Failure> {
    if fits == 0 || study.variants.iter().all(|variant| variant.plan.farm().fitted.is_none()) {
        return Ok(());
    }
    let bar = progress_bar(fits, "fits to years drawn anew");
    let mut progress = |done| bar.set_position(done);
    let hooks = Hooks { sink: None, progress: Some(&mut progress), stop: Some(&STOP) };
    let done = study.refit(deciders, Refits { fits, ..Refits::default() }, found, hooks);
    bar.finish_and_clear();
    Ok(done?)
}

/// A bar for so many of what `of` says, on a terminal.
fn progress_bar(count: u64, of: &str) -> ProgressBar {
    if !std::io::stderr().is_terminal() {
        return ProgressBar::hidden();
    }
    let bar = ProgressBar::with_draw_target(Some(count), ProgressDrawTarget::stderr());
    match ProgressStyle::with_template(&format!(
        "{{bar:30}} {{human_pos}} of {{human_len}} {of}, {{eta}} left"
    )) {
        Ok(style) => bar.with_style(style),
        Err(_) => bar,
    }
}

/// A season of the study as its trace is written.
fn told<'a>(study: &'a Study, season: u64, rows: &'a [TraceRow]) -> Told<'a> {
    let of = &study.variants[0];
    Told { farm: of.plan.farm(), year: of.weather.year_of(study.seed, season), rows }
}

/// What happened in a season, and whether it could be worked to its end.
fn trace(study: &Study, deciders: &Deciders<'_>, season: u64) -> (Vec<TraceRow>, Result<(), Failure>) {
    let mut log: Log<Entry> = Log::default();
    let worked = study.work_one(deciders, 0, season, &mut log);
    (log.rows, worked.map(|_| ()).map_err(Failure::from))
}

pub(super) fn settings(parameters: &[Parameter]) -> Vec<Setting> {
    let setting = |parameter: &Parameter| Setting {
        name: parameter.name.clone(),
        value: parameter.value.to_string(),
        default: parameter.default.to_string(),
    };
    parameters.iter().map(setting).collect()
}
