//! `dryspell relief`: which one step that can be bought, hired or decided lowers the risk most, and for what.

mod told;

use super::args::ReliefArgs;
use super::load::load;
use super::points::deciders;
use super::work::{BASE, all_of, catch_ctrl_c, finish, open, origin, some_of, study, work_without_use};
use super::{Failure, print};
use crate::tables::{self, Origin, Setting, Stepped};
use crate::words;
use sim_core::farm::Farm;
use sim_core::farm::steps::Step;
use sim_core::study::Variant;
use sim_core::study::relief::{RankBy, ToTry, choose};
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
    let measure = measure(&loaded.farm, args.for_operation.as_deref())?;
    let seasons = args.seasons.or(base.weather.all_seasons()).unwrap_or(SEASONS);
    let mut out = open(&args.work)?;
    catch_ctrl_c();
    // What is late as it is says which steps are worth working.
    let alone = study(vec![base.clone()], Some(seasons), &args.work);
    // The script decides on every farm as it does on its own.
    let as_its_own = || std::iter::repeat((args.farm.set.as_slice(), !loaded.decides.is_empty()));
    let seen = work_without_use(&alone, &deciders(&loaded.script, &alone, as_its_own()))?;
    if seen.seasons < seasons {
        return Err(Failure::Stopped(
            "stopped before it was known what is late; no step was tried, and nothing was written".into(),
        ));
    }
    let ToTry { steps, untried } = choose(&loaded.spec, &base.plan, &seen.variants[0], measure, args.all);
    let (steps, farms): (Vec<Step>, Vec<Farm>) = steps.into_iter().unzip();
    let plenty = Variant::beside(&base, PLENTY, loaded.farm.clone().with_plenty())?;
    let mut variants = vec![base, plenty];
    for (step, farm) in steps.iter().zip(farms) {
        variants.push(Variant::beside(&variants[0], &step.name, farm)?);
    }
    let study = study(variants, Some(seasons), &args.work);
    let found = work_without_use(&study, &deciders(&loaded.script, &study, as_its_own()))?;
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

/// The whole farm, or the operation of a name such as "drilling, spring barley".
fn measure(farm: &Farm, asked: Option<&str>) -> Result<RankBy, Failure> {
    let Some(asked) = asked else { return Ok(RankBy::LateOperations) };
    let row = words::row_of(farm, asked);
    row.map(RankBy::Row).map_err(|help| {
        Failure::Request(format!("--for \"{asked}\": the farm has no such operation\n{help}"))
    })
}

/// What a measure counts.
fn row_of(measure: RankBy) -> Option<usize> {
    match measure {
        RankBy::LateOperations => None,
        RankBy::Row(row) => Some(row),
    }
}
