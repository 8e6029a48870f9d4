//! `dryspell run`: many seasons of one farm.

use super::args::RunArgs;
use super::load::{Loaded, load};
use super::points::deciders;
use super::summary::{self, Facts};
use super::today::Today;
use super::until;
use super::work::{
    BASE, catch_ctrl_c, check_refits, finish, open, origin, refit, seasons_asked, some_of, study, work,
    write_tables,
};
use super::{Failure, print};
use crate::script::Deciders;
use crate::tables::{self, Origin, Told, TraceRow};
use sim_core::kernel::Log;
use sim_core::season::Entry;
use sim_core::study::{Study, Variant};

pub(super) fn run(args: &RunArgs) -> Result<(), Failure> {
    let Loaded { script, farm, parameters, decides, strange, variants, .. } = load(&args.farm)?;
    let farm = match Today::of(&args.today)? {
        Some(today) => today.take_up(farm)?,
        None => farm,
    };
    let variant = Variant::new(BASE, farm)?;
    check_refits(args.refits)?;
    until::check(args.until_halfwidth, std::slice::from_ref(&variant))?;
    let seasons = seasons_asked(args.seasons, args.until_halfwidth.is_some());
    let study = study(vec![variant], seasons, &args.work);
    let set = std::iter::once((args.farm.set.as_slice(), !decides.is_empty()));
    let deciders = deciders(&script, &study, set);
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
    let mut found = work(&study, &deciders, args.until_halfwidth, out.as_mut())?;
    some_of(found.seasons)?;
    refit(&study, &deciders, args.refits, &mut found)?;
    let facts = Facts {
        variant: &study.variants[0],
        findings: &found.variants[0],
        parameters: &parameters,
        strange: &strange,
        seasons: found.seasons,
        seed: study.seed,
        all: args.all,
    };
    let mut text = summary::summary(&facts);
    text.push_str(&until::told(args.until_halfwidth, &study, &found));
    text.push_str(&summary::variants(&variants));
    if let Some(mut out) = out {
        write_tables(&mut out, &study.variants, &found)?;
        if let Some(season) = args.trace {
            let (rows, worked) = trace(&study, &deciders, season);
            worked?;
            tables::keep_trace(&mut out, &told(&study, season, &rows)).map_err(Failure::Write)?;
        }
        let origin = Origin {
            until: args.until_halfwidth,
            traced: args.trace,
            ..origin(&study, &script, &parameters, found.seasons)
        };
        text.push_str(&finish(out, &origin)?);
    }
    print(&text)?;
    until::all_of(&found, study.seasons)
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
