//! Which farms are compared: what is asked for, and what cannot be asked.

use crate::cli::Failure;
use crate::cli::args::CompareArgs;
use crate::script::{Parameter, ScriptVariant};
use crate::tables::Setting;

/// A farm beside the one that is compared with.
#[derive(Debug)]
pub(super) struct Farm {
    /// Its name; of a farm asked for what is set, as in `drill_width_m=6`.
    pub(super) name: String,
    /// Whether the script has named it.
    pub(super) by_script: bool,
    /// All that is set, what holds for every farm first.
    pub(super) set: Vec<(String, String)>,
    /// The parameters whose values are not the base's.
    pub(super) changes: Vec<Setting>,
}

impl Farm {
    /// How it was asked for.
    fn told(&self) -> String {
        if self.by_script {
            format!("the variant \"{}\"", self.name)
        } else {
            format!("--with {}", self.name)
        }
    }
}

/// The farms asked for, else those that the script declares; in what they differ is not known yet.
pub(super) fn farms(
    args: &CompareArgs,
    parameters: &[Parameter],
    variants: &[ScriptVariant],
) -> Result<Vec<Farm>, Failure> {
    let with_all = |own: &[(String, String)]| args.farm.set.iter().chain(own).cloned().collect();
    if args.with.is_empty() && !variants.is_empty() {
        let farm = |of: &ScriptVariant| Farm {
            name: of.name.clone(),
            by_script: true,
            set: with_all(&of.set),
            changes: Vec::new(),
        };
        return Ok(variants.iter().map(farm).collect());
    }
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
        Farm { name: texts.join(","), by_script: false, set: with_all(&with.0), changes: Vec::new() }
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

/// The parameters in which any of the farms is not the base.
pub(super) fn differ(farms: &[Farm]) -> Vec<&str> {
    farms.iter().flat_map(|farm| &farm.changes).map(|change| change.name.as_str()).collect()
}

/// Refuses a farm that is the base, or one before it.
pub(super) fn refuse_alike(farm: &Farm, before: &[Farm]) -> Result<(), Failure> {
    if farm.changes.is_empty() {
        return Err(Failure::Request(format!(
            "{} changes nothing: the farm is so already\nGive another value, or leave it out.",
            farm.told()
        )));
    }
    match before.iter().find(|other| other.changes == farm.changes) {
        Some(other) => Err(Failure::Request(format!(
            "{} and {} are the same farm\nLeave one of them out.",
            other.told(),
            farm.told()
        ))),
        None => Ok(()),
    }
}
