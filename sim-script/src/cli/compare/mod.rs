//! `dryspell compare`: farms that differ in some parameters, under the same skies.

mod told;
mod with;

use super::args::CompareArgs;
use super::load::{Loaded, load, load_with};
use super::today::Today;
use super::work::{BASE, all_of, catch_ctrl_c, finish, open, origin, some_of, study, work, write_tables};
use super::{Failure, print};
use crate::script::{DecidedBy, Deciders};
use crate::tables::{self, Origin};
use sim_core::study::Variant;
use told::{Told, told};
use with::{Farm, changed};

pub(super) fn compare(args: &CompareArgs) -> Result<(), Failure> {
    let base = load(&args.farm)?;
    let others = with::farms(args, &base.parameters, &base.variants)?;
    let today = Today::of(&args.today)?;
    let from_today = |farm| match &today {
        Some(today) => today.take_up(farm),
        None => Ok(farm),
    };
    let mut variants = vec![Variant::new(BASE, from_today(base.farm)?)?];
    let mut scripted = vec![!base.decides.is_empty()];
    let mut told_of: Vec<Farm> = Vec::new();
    for mut of in others {
        let Loaded { farm, parameters, decides, .. } = load_with(base.script.clone(), &of.set)?;
        of.changes = changed(&base.parameters, &parameters);
        with::refuse_alike(&of, &told_of)?;
        variants.push(Variant::new(&of.name, from_today(farm)?)?);
        scripted.push(!decides.is_empty());
        told_of.push(of);
    }
    let study = study(variants, args.seasons, &args.work);
    let sets = std::iter::once(&args.farm.set).chain(told_of.iter().map(|of| &of.set));
    let decided = sets.zip(&study.variants).zip(&scripted).map(|((set, variant), scripted)| DecidedBy {
        script: &base.script,
        set,
        farm: variant.plan.farm(),
        scripted: *scripted,
    });
    let deciders = Deciders { variants: decided.collect() };
    let mut out = open(&args.work)?;
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
        let changes = told_of.into_iter().map(|of| of.changes).collect();
        let origin = Origin { changes, ..origin(&study, &base.script, &base.parameters, &found) };
        text.push_str(&finish(out, &origin)?);
    }
    print(&text)?;
    all_of(found.seasons, study.seasons)
}
