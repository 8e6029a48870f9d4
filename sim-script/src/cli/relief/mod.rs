//! `dryspell relief`: which one step that can be bought, hired or decided lowers the risk most, and for what.

mod asked;
mod told;

use super::args::ReliefArgs;
use super::load::{Loaded, load};
use super::work::{BASE, all_of, catch_ctrl_c, finish, open, origin, some_of, study, work};
use super::{Failure, print};
use crate::script::{DecidedBy, Deciders};
use crate::tables::{self, Origin, Setting, Stepped};
use sim_core::farm::Farm;
use sim_core::farm::steps::Step;
use sim_core::study::relief::{RankBy, ToTry, choose};
use sim_core::study::{Study, Variant};
use told::{Told, told};

/// Seasons worked unless said otherwise: there are some twenty farms to work.
const SEASONS: u64 = 2_000;

/// The variant with as much of everything as could be wished for.
const BOUND: usize = 1;
/// The variants of the steps come behind it.
const FIRST_STEP: usize = 2;

/// What the farm with as much of everything as could be wished for is called.
const PLENTY: &str = "machines and people without end";

pub(super) fn relief(args: &ReliefArgs) -> Result<(), Failure> {
    let loaded = load(&args.farm)?;
    let base = Variant::new(BASE, loaded.farm.clone())?;
    let measure = asked::measure(&loaded.farm, args.for_operation.as_deref())?;
    let seasons = args.seasons.or(base.weather.all_seasons()).unwrap_or(SEASONS);
    let mut out = open(&args.work)?;
    catch_ctrl_c();
    // What is late as it is says which steps are worth working.
    let alone = study(vec![base.clone()], Some(seasons), &args.work);
    let seen = work(&alone, &deciders(&loaded, args, &alone), None, None)?;
    some_of(seen.seasons)?;
    all_of(seen.seasons, seasons)?;
    let ToTry { steps, untried } = choose(&loaded.spec, &base.plan, &seen.variants[0], measure, args.all);
    let (steps, farms): (Vec<Step>, Vec<Farm>) = steps.into_iter().unzip();
    let mut variants = vec![base, Variant::new(PLENTY, loaded.farm.clone().with_plenty())?];
    for (step, farm) in steps.iter().zip(farms) {
        variants.push(Variant::beside(&variants[0], &step.name, farm)?);
    }
    let study = study(variants, Some(seasons), &args.work);
    let found = work(&study, &deciders(&loaded, args, &study), None, None)?;
    some_of(found.seasons)?;
    let mut text = told(&Told {
        study: &study,
        found: &found,
        parameters: &loaded.parameters,
        steps: &steps,
        untried: &untried,
        decides: &loaded.decides,
        measure,
        all: args.all,
    });
    if let Some(out) = &mut out {
        let stepped =
            Stepped { study: &study, found: &found, steps: &steps, bound: BOUND, first: FIRST_STEP, measure };
        tables::write_relief(out, &stepped).map_err(Failure::Write)?;
        tables::write_compare(out, &study.variants, &found).map_err(Failure::Write)?;
        tables::write_farm(out, &study.variants, &found).map_err(Failure::Write)?;
        tables::write_risk(out, &study.variants, &found).map_err(Failure::Write)?;
    }
    if let Some(out) = out {
        let step = |of: String| vec![Setting { name: "step".into(), value: of, default: BASE.into() }];
        let changes = std::iter::once(PLENTY.to_string()).chain(steps.iter().map(|step| step.name.clone()));
        let made_from = origin(&study, &loaded.script, &loaded.parameters, found.seasons);
        text.push_str(&finish(out, &Origin { changes: changes.map(step).collect(), ..made_from })?);
    }
    print(&text)?;
    all_of(found.seasons, study.seasons)
}

/// The script decides on every farm as it does on its own.
fn deciders<'a>(loaded: &'a Loaded, args: &'a ReliefArgs, study: &'a Study) -> Deciders<'a> {
    let decided = |variant: &'a Variant| DecidedBy {
        script: &loaded.script,
        set: &args.farm.set,
        farm: variant.plan.farm(),
        scripted: !loaded.decides.is_empty(),
    };
    Deciders { variants: study.variants.iter().map(decided).collect() }
}

/// An operation as it is asked for and told.
fn name(farm: &Farm, row: usize) -> String {
    let row = &farm.rows[row];
    format!("{}, {}", row.operation, farm.crops[row.crop])
}

/// What a measure counts.
fn row_of(measure: RankBy) -> Option<usize> {
    match measure {
        RankBy::LateOperations => None,
        RankBy::Row(row) => Some(row),
    }
}
