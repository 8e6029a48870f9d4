//! `dryspell run`: many seasons of one farm.

use super::args::RunArgs;
use super::load::{Loaded, load};
use super::summary::{self, Facts};
use super::work::{
    BASE, SEASONS, STOP, all_of, catch_ctrl_c, cores, progress_bar, some_of, work, write_tables,
};
use super::{Failure, print};
use crate::script::{DecidedBy, Deciders, Parameter};
use crate::tables::{self, Origin, OutFolder, Setting, Told, TraceRow};
use sim_core::kernel::Log;
use sim_core::season::Entry;
use sim_core::study::{Findings, Hooks, Refits, Study, Variant};

pub(super) fn run(args: &RunArgs) -> Result<(), Failure> {
    let Loaded { script, farm, parameters, decides, variants, .. } = load(&args.farm)?;
    let variant = Variant::new(BASE, farm)?;
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
    some_of(found.seasons)?;
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
    text.push_str(&summary::variants(&variants));
    if let Some(mut out) = out {
        write_tables(&mut out, &study.variants, &found)?;
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
            changes: Vec::new(),
            seed: args.seed,
            seasons: found.seasons,
            asked,
            traced: args.trace,
            varied: Vec::new(),
        };
        let folder = out.path().display().to_string();
        let names = out.finish(&origin).map_err(Failure::Write)?;
        text.push_str(&summary::written(&folder, &names));
    }
    print(&text)?;
    all_of(found.seasons, asked)
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
