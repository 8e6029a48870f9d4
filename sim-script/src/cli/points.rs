//! Farms of one script at several settings, side by side: read, made ready, and with whoever decides on each.

use super::Failure;
use super::load::{Loaded, load_with};
use crate::script::{DecidedBy, Deciders, Script};
use sim_core::study::{Study, Variant};

/// Names with their values.
pub(super) type Set = Vec<(String, String)>;

/// What holds for every farm, then what holds at a point.
pub(super) fn with(set: &[(String, String)], point: Set) -> Set {
    set.iter().cloned().chain(point).collect()
}

/// A point in words: `drill_width_m=4.5,operators=2`.
pub(super) fn label(point: &[(String, String)]) -> String {
    let texts: Vec<String> = point.iter().map(|(name, value)| format!("{name}={value}")).collect();
    texts.join(",")
}

/// The farm at a point; what is wrong with it names the point.
pub(super) fn load_at(script: &Script, set: &[(String, String)], label: &str) -> Result<Loaded, Failure> {
    load_with(script.clone(), set).map_err(|failure| match failure {
        Failure::Script(error) => Failure::Script(error.note(format!("so it is with {label}"))),
        other => other,
    })
}

/// The farms at some points, each with its name and all that is set, beside the farm as it is; and whether the script
/// decides anything on each.
pub(super) fn farms_at(
    script: &Script,
    base: &Variant,
    points: &[(String, Set)],
) -> Result<(Vec<Variant>, Vec<bool>), Failure> {
    let mut variants = Vec::with_capacity(points.len());
    let mut scripted = Vec::with_capacity(points.len());
    for (name, set) in points {
        let Loaded { farm, decides, .. } = load_at(script, set, name)?;
        variants.push(Variant::beside(base, name, farm)?);
        scripted.push(!decides.is_empty());
    }
    Ok((variants, scripted))
}

/// Who decides on the farms of a study: on each the script under what is set for it, if it takes over any decision
/// there.
pub(super) fn deciders<'a>(
    script: &'a Script,
    study: &'a Study,
    set: impl Iterator<Item = (&'a [(String, String)], bool)>,
) -> Deciders<'a> {
    let decided = study.variants.iter().zip(set).map(|(variant, (set, scripted))| DecidedBy {
        script,
        set,
        farm: variant.plan.farm(),
        scripted,
    });
    Deciders { variants: decided.collect() }
}
