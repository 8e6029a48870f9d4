//! `dryspell run`: many seasons of one farm.

use super::args::RunArgs;
use super::load::{Loaded, load};
use super::summary::{self, Facts};
use super::today::Today;
use super::work::{
    BASE, STOP, all_of, catch_ctrl_c, finish, open, origin, progress_bar, some_of, study, work, write_tables,
};
use super::{Failure, print};
use crate::script::{DecidedBy, Deciders};
use crate::tables::{self, Origin, Told, TraceRow};
use sim_core::kernel::Log;
use sim_core::season::Entry;
use sim_core::study::{Findings, Hooks, Refits, Study, Variant};

pub(super) fn run(args: &RunArgs) -> Result<(), Failure> {
    let Loaded { script, farm, parameters, decides, variants, .. } = load(&args.farm)?;
    let farm = match Today::of(&args.today)? {
        Some(today) => today.take_up(farm)?,
        None => farm,
    };
    let variant = Variant::new(BASE, farm)?;
    if args.refits == 1 {
        return Err(Failure::Request("--refits 1: one fit says nothing of how fits differ\nGive 0 for none, or 2 and more; 200 unless said.".into()));
    }
    let study = study(vec![variant], args.seasons, &args.work);
    let deciders = Deciders {
        variants: vec![DecidedBy {
            script: &script,
            set: &args.farm.set,
            farm: study.variants[0].plan.farm(),
            scripted: !decides.is_empty(),
        }],
    };
    if let (Some(season), None) = (args.trace, &args.work.out) {
        let (rows, worked) = trace(&study, &deciders, season);
        let mut text = Vec::new();
        tables::write_trace(&mut text, &told(&study, season, &rows))?;
        print(&String::from_utf8_lossy(&text))?;
        // What happened until a decision failed is what the trace is for.
        return worked;
    }
    let mut out = open(&args.work)?;
    catch_ctrl_c();
    let mut found = work(&study, &deciders, out.as_mut())?;
    some_of(found.seasons)?;
    refit(&study, &deciders, args.refits, &mut found)?;
    let facts = Facts {
        variant: &study.variants[0],
        findings: &found.variants[0],
        parameters: &parameters,
        seasons: found.seasons,
        seed: study.seed,
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
        let origin = Origin { traced: args.trace, ..origin(&study, &script, &parameters, &found) };
        text.push_str(&finish(out, &origin)?);
    }
    print(&text)?;
    all_of(found.seasons, study.seasons)
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
