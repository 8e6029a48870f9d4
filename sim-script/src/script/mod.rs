//! Scripts: a text in the Rhai language that says what a farm is, read into [`FarmSpec`] and checked.
//!
//! A script is a pure function of its parameters: it sees no clock, no chance and no file but the tables beside
//! it. Its words are described in tables ([`all_verbs`]) that also write the reference. What becomes of the farm
//! is not here, nor is the command line.
//!
//! ```
//! use sim_script::script::Script;
//! let text = r#"
//!     let area_ha = param("area_ha", 12.0);
//!     farm(#{
//!         name: "One field",
//!         suitable_days: [suitable(#{ class: "drilling", p_suitable: 0.5 })],
//!         classes: [work_class("drilling", #{ driver: "soil" })],
//!         people: [person("Driver", #{ hours: "07:00-17:00", drives: ["drill"] })],
//!         machines: [machine("drill", #{ work_rate_ha_h: 2.0, needs_driver: true })],
//!         outfits: [outfit("drill", #{ machines: ["drill"] })],
//!         crops: [crop("wheat", #{
//!             following: [operation("drilling", #{
//!                 class: "drilling", outfits: ["drill"], from: "09-20", due: "10-15",
//!             })],
//!         })],
//!         fields: [field("Long Acre", #{ area_ha: area_ha, soil: "loam", following: "wheat" })],
//!     })
//! "#;
//! let script = Script::embedded("one-field", text, &[]);
//! let (farm, parameters) = script.farm(&[("area_ha".into(), "20".into())]).unwrap();
//! assert_eq!(farm.fields[0].area_ha, 20.0);
//! assert_eq!(parameters[0].name, "area_ha");
//! ```

mod clock;
mod csv_rows;
mod diary;
mod engine;
mod error;
mod evaluation;
mod explain;
mod folder;
mod import;
mod make;
mod parameter;
mod part;
mod policy;
mod read;
mod record;
mod source;
mod variant;
mod verb;
mod verbs;

#[cfg(test)]
mod tests;

pub(crate) use diary::{Diary, DiaryDay, DiarySeason};
pub use error::ScriptError;
pub use evaluation::FileRead;
pub use parameter::{Parameter, ParameterRange, ParameterValue};
pub use policy::{DecidedBy, Decider, Deciders, GROUND, Property, Scripted, VIEWS, View, about_memory};
pub(crate) use variant::BASE;
pub use variant::ScriptVariant;
pub use verb::{Argument, Gives, Key, Kind, Need, PartKind, Verb};
pub use verbs::{TOPICS, Topic, all_verbs, verb};

use evaluation::{Evaluation, Place};
use folder::Folder;

use policy::PolicyPart;
use sim_core::farm::spec::FarmSpec;
use sim_core::farm::{Farm, FarmError, SharedWeather};
use source::Source;
use std::path::Path;
use std::rc::Rc;
use std::sync::{Arc, Mutex, PoisonError};

/// A script and the folder of its tables.
#[derive(Debug, Clone)]
pub struct Script {
    source: Arc<Source>,
    folder: Folder,
    /// What its farms have made of their records.
    weather: Arc<Mutex<SharedWeather>>,
}

/// What a script says, before the farm is checked.
#[derive(Debug)]
pub struct Evaluated {
    /// The farm as it was said.
    pub farm: FarmSpec,
    /// The parameters that the script declares, in its order.
    pub parameters: Vec<Parameter>,
    /// The decisions that the script takes over from the manager, by their keys.
    pub decides: Vec<&'static str>,
    /// The variants that the script declares, in its order.
    pub variants: Vec<ScriptVariant>,
    /// Names in decisions that the farm does not have, each as a sentence.
    pub strange: Vec<String>,
    /// The files that it read, in the order of their first reading.
    pub files: Vec<FileRead>,
    places: Vec<Place>,
}

/// A script that has been evaluated, with all that its closures need.
pub(crate) struct Running {
    pub(crate) evaluation: Rc<Evaluation>,
    pub(crate) engine: rhai::Engine,
    pub(crate) ast: rhai::AST,
    /// What the script left when it was evaluated: its functions and imports.
    pub(crate) global: rhai::GlobalRuntimeState,
    farm: FarmSpec,
    pub(crate) policy: Option<PolicyPart>,
}

impl Script {
    /// Reads a script from a file; its tables are those in the same folder.
    ///
    /// # Errors
    /// When the file cannot be read, is not UTF-8 or is larger than 4 MiB.
    pub fn from_file(path: &Path) -> Result<Self, ScriptError> {
        let name = path.display().to_string();
        let refused = |refused: folder::Refused| ScriptError::new(refused.why).help(refused.fix);
        let text = folder::read_text(path, &name).map_err(refused)?;
        let parent = path.parent().filter(|parent| !parent.as_os_str().is_empty());
        let folder = parent
            .unwrap_or(Path::new("."))
            .canonicalize()
            .map_err(|error| ScriptError::new(format!("the folder of {name} cannot be read: {error}")))?;
        Ok(Self::of(Source::new(name, text), Folder::Disk(folder)))
    }

    /// A script that is built into the program, with the names and texts of its tables.
    #[must_use]
    pub fn embedded(name: &str, source: &str, files: &'static [(&'static str, &'static str)]) -> Self {
        Self::of(Source::new(name, source), Folder::Embedded(files))
    }

    fn of(source: Source, folder: Folder) -> Self {
        Self { source: Arc::new(source), folder, weather: Arc::default() }
    }

    /// The script's text.
    #[must_use]
    pub fn source(&self) -> &str {
        &self.source.text
    }

    /// The script's name: its path, or the name that it was embedded under.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.source.name
    }

    /// Evaluates the script with some parameters set, by name and text.
    ///
    /// # Errors
    /// The first mistake in the script, its tables or the settings.
    pub fn evaluate(&self, set: &[(String, String)]) -> Result<Evaluated, ScriptError> {
        let Running { evaluation, farm, policy, .. } = self.run(set)?;
        if let Some(error) = evaluation.unknown_setting() {
            return Err(error);
        }
        let variants = variant::variants(&evaluation)?;
        let strange = policy.as_ref().map(|policy| policy::strange_names(&self.source, policy, &farm));
        Ok(Evaluated {
            farm,
            variants,
            strange: strange.transpose()?.unwrap_or_default(),
            parameters: evaluation.parameters.take(),
            decides: policy.as_ref().map(PolicyPart::decides).unwrap_or_default(),
            files: evaluation.files.take(),
            places: evaluation.places.take(),
        })
    }

    /// Evaluates the script, and keeps what its closures need.
    pub(crate) fn run(&self, set: &[(String, String)]) -> Result<Running, ScriptError> {
        let evaluation = Rc::new(Evaluation::new(Arc::clone(&self.source), self.folder.clone(), set));
        let engine = engine::engine(&evaluation);
        let ast = import::compile(&engine, &self.source)?;
        let mut global = engine.new_global_runtime_state();
        global.lib.push(ast.shared_lib().clone());
        let (mut caches, mut scope) = (rhai::Caches::new(), rhai::Scope::new());
        // The only way in that leaves the imports for decisions; the version of Rhai is pinned.
        #[allow(deprecated)]
        let result = engine.eval_statements_raw(&mut global, &mut caches, &mut scope, ast.statements());
        let result = result.map_err(|error| explain::run_error(&evaluation, *error))?;
        let (farm, policy) = self.farm_of(&evaluation, &result)?;
        if let Some(policy) = &policy {
            policy.check(&self.source, &ast)?;
        }
        Ok(Running { evaluation, engine, ast, global, farm, policy })
    }

    /// The farm that a script ends with. A `;` after it does no harm if it is the only one.
    fn farm_of(
        &self,
        evaluation: &Evaluation,
        result: &rhai::Dynamic,
    ) -> Result<(FarmSpec, Option<PolicyPart>), ScriptError> {
        let farms = evaluation.farms.borrow();
        let part = match read::part(result) {
            None if result.is_unit() && farms.len() == 1 => farms.first().cloned(),
            part => part,
        };
        let said = part.as_ref().and_then(|part| Some((part.farm()?.clone(), part.policy().cloned())));
        said.ok_or_else(|| {
            let message =
                format!("the script must end with farm(...), but it ends with {}", read::describe(result));
            ScriptError::new(message)
                .at(&self.source, self.source.span_at(self.source.text.len()))
                .help("let the last line be farm(#{ name: ..., fields: fields, ... })".to_string())
        })
    }

    /// Evaluates the script and checks its farm.
    ///
    /// # Errors
    /// The first mistake in the script, its tables, the settings or the farm.
    pub fn farm(&self, set: &[(String, String)]) -> Result<(Farm, Vec<Parameter>), ScriptError> {
        let evaluated = self.evaluate(set)?;
        Ok((self.checked(&evaluated)?, evaluated.parameters))
    }

    /// Checks the farm that the script was evaluated to. Farms of one script that judge a record alike share what it
    /// comes to.
    ///
    /// # Errors
    /// The first mistake in the farm.
    pub fn checked(&self, evaluated: &Evaluated) -> Result<Farm, ScriptError> {
        let mut weather = self.weather.lock().unwrap_or_else(PoisonError::into_inner);
        Farm::sharing(&evaluated.farm, &mut weather).map_err(|error| evaluated.explain(&error))
    }
}

impl Evaluated {
    /// A mistake that the farm found, shown where it was written.
    #[must_use]
    pub fn explain(&self, error: &FarmError) -> ScriptError {
        explain::farm_error(&self.places, error)
    }
}

/// What Rhai itself says of the words that the engine of scripts adds, for tests.
#[cfg(test)]
pub(crate) fn definitions() -> String {
    let evaluation = Rc::new(Evaluation::new(Arc::new(Source::new("t", "")), Folder::Embedded(&[]), &[]));
    engine::engine(&evaluation).definitions().include_standard_packages(false).static_module()
}
