//! Which farms are compared: what is asked for, and what cannot be asked.

use crate::cli::Failure;
use crate::cli::args::CompareArgs;
use crate::script::Parameter;
use crate::tables::Setting;

/// A farm beside the one that is compared with.
#[derive(Debug)]
pub(super) struct Farm {
    /// Its name: what is set, as in `drill_width_m=6`.
    pub(super) name: String,
    /// All that is set, what holds for every farm first.
    pub(super) set: Vec<(String, String)>,
    /// The parameters whose values are not the base's.
    pub(super) changes: Vec<Setting>,
}

/// The farms asked for; in what they differ is not known yet.
pub(super) fn farms(args: &CompareArgs, parameters: &[Parameter]) -> Result<Vec<Farm>, Failure> {
    if args.with.is_empty() {
        let help = match parameters.first() {
            Some(first) => {
                let names: Vec<&str> = parameters.iter().map(|parameter| parameter.name.as_str()).collect();
                format!(
                    "Say in what a farm differs: --with {}=VALUE. The script's parameters are {}.",
                    first.name,
                    names.join(", ")
                )
            }
            None => "The script has no parameter to differ in: declare one, for example \
                     `let drill_width_m = param(\"drill_width_m\", 4.0);`."
                .into(),
        };
        return Err(Failure::Request(format!("there is nothing to compare the farm with\n{help}")));
    }
    let farm = |with: &crate::cli::args::Settings| {
        let texts: Vec<String> = with.0.iter().map(|(name, value)| format!("{name}={value}")).collect();
        let set = args.farm.set.iter().chain(&with.0).cloned().collect();
        Farm { name: texts.join(","), set, changes: Vec::new() }
    };
    Ok(args.with.iter().map(farm).collect())
}

/// The parameters whose values are not the base's, each with the base's.
pub(super) fn changed(base: &[Parameter], parameters: &[Parameter]) -> Vec<Setting> {
    let of_base = |name: &str| base.iter().find(|parameter| parameter.name == name);
    let changed = parameters.iter().filter_map(|parameter| {
        let before = of_base(&parameter.name)?;
        (before.value != parameter.value).then(|| Setting {
            name: parameter.name.clone(),
            value: parameter.value.to_string(),
            default: before.value.to_string(),
        })
    });
    changed.collect()
}

/// Refuses a farm that is the base, or one before it.
pub(super) fn refuse_alike(farm: &Farm, before: &[Farm]) -> Result<(), Failure> {
    if farm.changes.is_empty() {
        return Err(Failure::Request(format!(
            "--with {} changes nothing: the farm is so already\nGive another value, or leave it out.",
            farm.name
        )));
    }
    match before.iter().find(|other| other.changes == farm.changes) {
        Some(other) => Err(Failure::Request(format!(
            "--with {} and --with {} are the same farm\nLeave one of them out.",
            other.name, farm.name
        ))),
        None => Ok(()),
    }
}
