//! `dryspell compare`: farms that differ in some parameters, under the same skies.

mod told;
mod with;

use super::args::CompareArgs;
use super::load::{Loaded, load, load_with};
use super::summary;
use super::work::{BASE, SEASONS, all_of, catch_ctrl_c, cores, some_of, work, write_tables};
use super::{Failure, print};
use crate::script::{DecidedBy, Deciders};
use crate::tables::{self, Origin, OutFolder};
use sim_core::study::{Study, Variant};
use told::{Told, told};
use with::{Farm, changed};

pub(super) fn compare(args: &CompareArgs) -> Result<(), Failure> {
    let base = load(&args.farm)?;
    let others = with::farms(args, &base.parameters, &base.variants)?;
    let mut variants = vec![Variant::new(BASE, base.farm)?];
    let mut scripted = vec![!base.decides.is_empty()];
    let mut told_of: Vec<Farm> = Vec::new();
    for mut of in others {
        let Loaded { farm, parameters, decides, .. } = load_with(base.script.clone(), &of.set)?;
        of.changes = changed(&base.parameters, &parameters);
        with::refuse_alike(&of, &told_of)?;
        variants.push(Variant::new(&of.name, farm)?);
        scripted.push(!decides.is_empty());
        told_of.push(of);
    }
    let asked = args.seasons.or(variants[0].weather.all_seasons()).unwrap_or(SEASONS);
    let study = Study {
        variants,
        seasons: asked,
        seed: args.seed,
        threads: args.threads.map_or_else(cores, usize::from),
    };
    let sets = std::iter::once(&args.farm.set).chain(told_of.iter().map(|of| &of.set));
    let decided = sets.zip(&study.variants).zip(&scripted).map(|((set, variant), scripted)| DecidedBy {
        script: &base.script,
        set,
        farm: variant.plan.farm(),
        scripted: *scripted,
    });
    let deciders = Deciders { variants: decided.collect() };
    let mut out = args.out.as_deref().map(OutFolder::open).transpose().map_err(Failure::Out)?;
    catch_ctrl_c();
    let found = work(&study, &deciders, out.as_mut())?;
    some_of(found.seasons)?;
    let mut text = told(&Told {
        study: &study,
        found: &found,
        parameters: &base.parameters,
        farms: &told_of,
        all: args.all,
    });
    if let Some(mut out) = out {
        tables::write_compare(&mut out, &study.variants, &found).map_err(Failure::Write)?;
        write_tables(&mut out, &study.variants, &found)?;
        let origin = Origin {
            variants: &study.variants,
            script: base.script.name(),
            source: base.script.source(),
            parameters: super::run::settings(&base.parameters),
            changes: told_of.into_iter().map(|of| of.changes).collect(),
            seed: args.seed,
            seasons: found.seasons,
            asked,
            traced: None,
            varied: Vec::new(),
        };
        let folder = out.path().display().to_string();
        let names = out.finish(&origin).map_err(Failure::Write)?;
        text.push_str(&summary::written(&folder, &names));
    }
    print(&text)?;
    all_of(found.seasons, asked)
}
