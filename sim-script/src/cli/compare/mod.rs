//! `dryspell compare`: farms that differ in some parameters, under the same skies.

mod best;
mod told;
mod with;

use super::args::CompareArgs;
use super::load::{Loaded, load, load_with};
use super::points::deciders;
use super::today::Today;
use super::until;
use super::work::{
    BASE, catch_ctrl_c, check_refits, finish, open, origin, refit, seasons_asked, some_of, study, work,
    write_tables,
};
use super::{Failure, print};
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
        variants.push(Variant::beside(&variants[0], &of.name, from_today(farm)?)?);
        scripted.push(!decides.is_empty());
        told_of.push(of);
    }
    check_refits(args.refits)?;
    until::check(args.until_halfwidth, &variants)?;
    let until_enough = args.until_halfwidth.is_some() || args.best.is_some();
    let study = study(variants, seasons_asked(args.seasons, until_enough), &args.work);
    let sets = std::iter::once(&args.farm.set).chain(told_of.iter().map(|of| &of.set));
    let deciders = deciders(&base.script, &study, sets.map(Vec::as_slice).zip(scripted));
    if let Some(text) = &args.best {
        let wanted = best::wanted(text, args.worth_knowing, &study)?;
        catch_ctrl_c();
        return best::choose(&wanted, &study, &deciders, &base.parameters, &told_of);
    }
    let mut out = open(&args.work)?;
    catch_ctrl_c();
    let mut found = work(&study, &deciders, args.until_halfwidth, out.as_mut())?;
    some_of(found.seasons)?;
    if out.is_some() {
        refit(&study, &deciders, args.refits, &mut found)?;
    }
    let mut text = told(&Told {
        study: &study,
        found: &found,
        parameters: &base.parameters,
        farms: &told_of,
        all: args.all,
    });
    text.push_str(&until::told(args.until_halfwidth, &study, &found));
    if let Some(mut out) = out {
        tables::write_farm(&mut out, &study.variants, &found).map_err(Failure::Write)?;
        tables::write_compare(&mut out, &study.variants, &found).map_err(Failure::Write)?;
        write_tables(&mut out, &study.variants, &found)?;
        let changes = told_of.into_iter().map(|of| of.changes).collect();
        let until = args.until_halfwidth;
        let origin =
            Origin { changes, until, ..origin(&study, &base.script, &base.parameters, found.seasons) };
        text.push_str(&finish(out, &origin)?);
    }
    print(&text)?;
    until::all_of(&found, study.seasons)
}
