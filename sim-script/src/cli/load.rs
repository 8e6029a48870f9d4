//! From a script's path to a farm.

use super::Failure;
use super::args::FarmArgs;
use super::embedded::{DEMO, DEMO_FILES, DEMO_NAME};
use crate::script::{FileRead, Parameter, Script, ScriptVariant};
use sim_core::farm::Farm;
use sim_core::farm::spec::FarmSpec;

/// A script, its farm, and its parameters.
#[derive(Debug)]
pub(super) struct Loaded {
    pub(super) script: Script,
    /// The farm as it was said.
    pub(super) spec: FarmSpec,
    pub(super) farm: Farm,
    pub(super) parameters: Vec<Parameter>,
    /// The decisions that the script takes over, by their keys.
    pub(super) decides: Vec<&'static str>,
    /// Names in its decisions that the farm does not have.
    pub(super) strange: Vec<String>,
    /// The variants that the script declares.
    pub(super) variants: Vec<ScriptVariant>,
    /// The files that the script read.
    pub(super) files: Vec<FileRead>,
}

pub(super) fn load(args: &FarmArgs) -> Result<Loaded, Failure> {
    let script = match &args.script {
        Some(path) => Script::from_file(path)?,
        None => Script::embedded(DEMO_NAME, DEMO, DEMO_FILES),
    };
    load_with(script, &args.set)
}

/// The farm of a script under some settings.
pub(super) fn load_with(script: Script, set: &[(String, String)]) -> Result<Loaded, Failure> {
    let said = script.evaluate(set)?;
    let farm = script.checked(&said)?;
    Ok(Loaded {
        script,
        spec: said.farm,
        farm,
        parameters: said.parameters,
        decides: said.decides,
        strange: said.strange,
        variants: said.variants,
        files: said.files,
    })
}

/// The parameters that are not at their defaults: "drill_width_m = 6 (default 4)".
pub(super) fn changes(parameters: &[Parameter]) -> String {
    let changed = parameters.iter().filter(|parameter| parameter.value != parameter.default);
    let texts: Vec<String> = changed
        .map(|parameter| format!("{} = {} (default {})", parameter.name, parameter.value, parameter.default))
        .collect();
    texts.join(", ")
}
