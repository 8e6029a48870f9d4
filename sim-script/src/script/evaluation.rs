//! What one evaluation of a script keeps: where each part was written, its parameters, what it has taken.
//! Also the one way by which every verb is called.

use super::error::ScriptError;
use super::folder::{Folder, Refused};
use super::parameter::{Parameter, ParameterRange, ParameterValue};
use super::part::{Part, PartData};
use super::policy::PolicyPart;
use super::read::{self, Mistake, Value, describe};
use super::source::{Mark, Source, TokenKind};
use super::variant::{self, Declared};
use super::verb::Verb;
use super::verbs::PARAM;
use super::{csv_rows, make, record};
use crate::words::nearest;
use rhai::{Dynamic, EvalAltResult, Map, NativeCallContext, Position};
use sha2::{Digest as _, Sha256};
use sim_core::farm::spec::Origin;
use std::cell::{Cell, RefCell};
use std::sync::Arc;

/// The most bytes that all parts of a script may take together.
const MOST_BYTES: usize = 64 << 20;

/// Where a part was written.
#[derive(Debug, Clone)]
pub(crate) struct Place {
    pub(crate) source: Arc<Source>,
    /// The first byte of the call, or of the row of a table.
    pub(crate) offset: usize,
    /// Whether it is a row of a table.
    pub(crate) row: bool,
}

/// A file that a script has read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FileRead {
    /// Its name as the script wrote it.
    pub name: String,
    /// SHA-256 of its text.
    pub sha256: [u8; 32],
}

/// Where a call stands.
#[derive(Clone, Copy)]
struct At<'a> {
    source: &'a Arc<Source>,
    /// Its first byte.
    offset: usize,
}

impl At<'_> {
    /// The error of a mistake in the call.
    fn error(self, mistake: Mistake) -> ScriptError {
        let span = self.source.find(self.offset, &mistake.mark);
        ScriptError::new(mistake.message).at(self.source, span).help(mistake.help)
    }
}

/// The state of one evaluation.
#[derive(Debug)]
pub(crate) struct Evaluation {
    pub(crate) script: Arc<Source>,
    folder: Folder,
    set: Vec<(String, String)>,
    pub(crate) places: RefCell<Vec<Place>>,
    pub(crate) parameters: RefCell<Vec<Parameter>>,
    /// The variants that the script has declared.
    pub(super) variants: RefCell<Vec<Declared>>,
    /// The files that it has read.
    pub(crate) files: RefCell<Vec<FileRead>>,
    /// Those of them that it has imported.
    pub(super) imported: RefCell<Vec<Arc<Source>>>,
    bytes: Cell<usize>,
    /// Whether the script has been evaluated, and only its decisions are asked for.
    deciding: Cell<bool>,
    /// The farms that the script has made.
    pub(crate) farms: RefCell<Vec<Part>>,
}

type Called = Result<Dynamic, Box<EvalAltResult>>;

impl Evaluation {
    pub(crate) fn new(script: Arc<Source>, folder: Folder, set: &[(String, String)]) -> Self {
        Self {
            script,
            folder,
            set: set.to_vec(),
            places: RefCell::new(Vec::new()),
            parameters: RefCell::new(Vec::new()),
            variants: RefCell::new(Vec::new()),
            files: RefCell::new(Vec::new()),
            imported: RefCell::new(Vec::new()),
            bytes: Cell::new(0),
            deciding: Cell::new(false),
            farms: RefCell::new(Vec::new()),
        }
    }

    /// Calls a verb: its arguments are read and checked at once, so that a mistake is in its own line.
    pub(crate) fn call(
        &self,
        context: &NativeCallContext,
        verb: &'static Verb,
        arguments: Vec<Dynamic>,
    ) -> Called {
        let position = context.call_position();
        let source = self.source_of(context.call_source());
        let at = At { source: &source, offset: source.byte_of(position) };
        self.call_at(at, verb, arguments).map_err(|error| thrown(error, position))
    }

    /// From now on the script says no more of its farm.
    pub(crate) fn only_decide(&self) {
        self.deciding.set(true);
    }

    /// Whether only decisions are asked for.
    pub(super) fn is_deciding(&self) -> bool {
        self.deciding.get()
    }

    /// The file of this name that has been imported, else the script itself.
    pub(crate) fn source_of(&self, name: Option<&str>) -> Arc<Source> {
        let imported = self.imported.borrow();
        let found = name.and_then(|name| imported.iter().find(|source| source.name == name));
        Arc::clone(found.unwrap_or(&self.script))
    }

    /// Reads a file of the script's folder, and notes that it was read.
    pub(super) fn read_file(&self, name: &str) -> Result<String, Refused> {
        let text = self.folder.read(name)?;
        let mut files = self.files.borrow_mut();
        if !files.iter().any(|file| file.name == name) {
            files.push(FileRead { name: name.into(), sha256: Sha256::digest(&text).into() });
        }
        Ok(text)
    }

    /// The error of a mistake in the script's own call at `offset`.
    pub(crate) fn error(&self, offset: usize, mistake: Mistake) -> ScriptError {
        At { source: &self.script, offset }.error(mistake)
    }

    fn call_at(
        &self,
        at: At<'_>,
        verb: &'static Verb,
        arguments: Vec<Dynamic>,
    ) -> Result<Dynamic, ScriptError> {
        let at_call = |mistake| at.error(mistake);
        let reckons = verb.reckons();
        if matches!(verb.name, "param" | "variant" | "policy" | "farm")
            && !Arc::ptr_eq(at.source, &self.script)
        {
            return Err(at_call(Mistake::new(
                Mark::Call,
                format!("{} stands in the script itself, not in a file that it imports", verb.name),
                "let the imported file have parts and functions that the script uses",
            )));
        }
        if self.deciding.get() && !reckons {
            return Err(at_call(Mistake::new(
                Mark::Call,
                format!("{} says what the farm is: a decision cannot", verb.name),
                "take it out of the closure, and let the closure use the variable that holds it",
            )));
        }
        match verb.name {
            "param" => return self.param(at.offset, &arguments).map_err(at_call),
            "variant" => {
                let mut variants = self.variants.borrow_mut();
                let declared = variant::declare(at.offset, &arguments, &variants).map_err(at_call)?;
                variants.push(declared);
                return Ok(Dynamic::UNIT);
            }
            "suitable_days" | "drivers_from" => return self.table(at, verb, arguments),
            "replay" | "resample" | "table" => return self.record(at, verb, arguments),
            _ => {}
        }
        let origin = self.origin(at.source, at.offset, false);
        let mut values = read::read(verb, origin, arguments).map_err(at_call)?;
        let bytes = values.bytes();
        if reckons {
            return match make::reckon(verb.name, &mut values).map_err(at_call)? {
                Value::Whole(whole) => Ok(whole.into()),
                Value::Number(number) => Ok(number.into()),
                Value::Text(text) => Ok(text.into()),
                _ => Ok(Dynamic::UNIT),
            };
        }
        if verb.name == "policy" {
            let policy = PolicyPart::of(at.offset, &mut values);
            let bytes = policy.bytes();
            return self.part(at, PartData::Policy(policy), bytes);
        }
        match make::make(verb.name, values).map_err(at_call)? {
            Some(data) => self.part(at, data, bytes),
            None => Ok(Dynamic::UNIT),
        }
    }

    fn part(&self, at: At<'_>, data: PartData, bytes: usize) -> Result<Dynamic, ScriptError> {
        self.bytes.set(self.bytes.get().saturating_add(bytes));
        if self.bytes.get() > MOST_BYTES {
            return Err(at.error(Mistake::new(
                Mark::Call,
                format!("the script makes more parts than fit into {} MiB", MOST_BYTES >> 20),
                "see whether a loop makes parts without end",
            )));
        }
        let is_farm = matches!(data, PartData::Farm(..));
        let part = Part::new(data, bytes);
        if is_farm {
            self.farms.borrow_mut().push(part.clone());
        }
        Ok(Dynamic::from(part))
    }

    fn origin(&self, source: &Arc<Source>, offset: usize, row: bool) -> Origin {
        let mut places = self.places.borrow_mut();
        places.push(Place { source: Arc::clone(source), offset, row });
        // The caps on operations and bytes stop a script long before 2^32 parts.
        Origin(u32::try_from(places.len() - 1).unwrap_or(u32::MAX))
    }

    /// The name and the text of the file that a call names first.
    fn file(&self, at: At<'_>, values: &mut read::Values) -> Result<(String, String), ScriptError> {
        let name = values.text("file").unwrap_or_default();
        let refused = |refused: Refused| at.error(Mistake::new(Mark::Argument(0), refused.why, refused.fix));
        let text = self.read_file(&name).map_err(refused)?;
        Ok((name, text))
    }

    fn table(
        &self,
        at: At<'_>,
        verb: &'static Verb,
        arguments: Vec<Dynamic>,
    ) -> Result<Dynamic, ScriptError> {
        let mut values =
            read::read(verb, Origin::default(), arguments).map_err(|mistake| at.error(mistake))?;
        let (name, text) = self.file(at, &mut values)?;
        let bytes = 512 + 4 * text.len();
        let source = Arc::new(Source::new(name, text));
        let origin = |row| self.origin(&source, row, true);
        let data = match verb.name {
            "suitable_days" => PartData::Suitable(csv_rows::suitable(&source, origin)?),
            _ => PartData::Driver(csv_rows::drivers(&source, origin)?),
        };
        self.part(at, data, bytes)
    }

    fn record(
        &self,
        at: At<'_>,
        verb: &'static Verb,
        arguments: Vec<Dynamic>,
    ) -> Result<Dynamic, ScriptError> {
        let at_call = |mistake| at.error(mistake);
        let origin = self.origin(at.source, at.offset, false);
        let mut values = read::read(verb, origin, arguments).map_err(at_call)?;
        let (name, text) = self.file(at, &mut values)?;
        // Ten columns of numbers for a text of about as many bytes.
        let bytes = 512 + 4 * text.len();
        let spec = record::record(verb.name, &name, &text, &mut values).map_err(at_call)?;
        self.part(at, PartData::Weather(spec), bytes)
    }

    fn param(&self, offset: usize, arguments: &[Dynamic]) -> Result<Dynamic, Mistake> {
        let written = self.script.inside(self.script.token_at(offset)).and_then(|inside| {
            let token = *self.script.tokens().get(inside.start)?;
            (token.kind == TokenKind::Text).then(|| self.script.content(token))
        });
        let name = match (written, arguments.first().map(Dynamic::as_immutable_string_ref)) {
            (Some(written), Some(Ok(given))) if written == given.as_str() && !written.is_empty() => written,
            _ => {
                return Err(Mistake::new(
                    Mark::Argument(0),
                    "the name of a parameter must be written in quotes right in param(...)",
                    "for example param(\"drill_width_m\", 4.0)",
                ));
            }
        };
        let given = arguments.get(1).cloned().unwrap_or(Dynamic::UNIT);
        let default = ParameterValue::of(&given).ok_or_else(|| {
            Mistake::new(
                Mark::Argument(1),
                format!("the default of the parameter \"{name}\" is {}", describe(&given)),
                "give a number, a text in double quotes, true or false",
            )
        })?;
        let about = match arguments.get(2).map(Dynamic::as_immutable_string_ref) {
            None => None,
            Some(Ok(text)) => Some(text.to_string()),
            Some(Err(_)) => {
                // A range stands after the meaning.
                let range = if arguments[2].is_map() { ", #{ ... }" } else { "" };
                return Err(Mistake::new(
                    Mark::Argument(2),
                    format!("the meaning of the parameter \"{name}\" must be a text"),
                    format!("for example param(\"{name}\", {default}, \"what it means\"{range})"),
                ));
            }
        };
        let range = match arguments.get(3) {
            None => None,
            Some(given) => {
                let map = given.clone().try_cast::<Map>().ok_or_else(|| {
                    let why = format!("the range of the parameter \"{name}\" is {}", describe(given));
                    Mistake::new(Mark::Argument(3), why, "for example #{ from: 3.0, to: 6.0 }")
                })?;
                ParameterRange::of(name, &default, &mut read::read_keys(&PARAM, map)?)?
            }
        };
        let mut parameters = self.parameters.borrow_mut();
        if let Some(before) = parameters.iter().find(|parameter| parameter.name == name) {
            if before.default == default {
                return Ok(before.value.to_dynamic());
            }
            return Err(Mistake::new(
                Mark::Argument(1),
                format!(
                    "the parameter \"{name}\" has the default {default} here, but {} before",
                    before.default
                ),
                "declare it once, and use the variable that holds it",
            ));
        }
        let set = self.set.iter().rev().find(|(set, _)| set == name);
        let value = match set {
            Some((_, text)) => default
                .parse_alike(name, text)
                .map_err(|(message, help)| Mistake::new(Mark::Argument(1), message, help))?,
            None => default.clone(),
        };
        let dynamic = value.to_dynamic();
        parameters.push(Parameter { name: name.to_string(), default, value, about, range });
        Ok(dynamic)
    }

    /// The error of a value that is set for a parameter that the script does not declare.
    pub(crate) fn unknown_setting(&self) -> Option<ScriptError> {
        let parameters = self.parameters.borrow();
        let names = || parameters.iter().map(|parameter| parameter.name.as_str());
        let (wrong, _) = self.set.iter().find(|(set, _)| !names().any(|name| name == set))?;
        let all = match parameters.is_empty() {
            true => "the script declares none".to_string(),
            false => format!("the script declares {}", names().collect::<Vec<_>>().join(", ")),
        };
        let help = match nearest(wrong, names()) {
            Some(near) => format!("did you mean `{near}`? {all}"),
            None => all,
        };
        let message = format!("{} has no parameter `{wrong}`", self.script.name);
        Some(ScriptError::new(message).help(help))
    }
}

/// A Rhai error that carries one of ours.
pub(crate) fn thrown(error: ScriptError, position: Position) -> Box<EvalAltResult> {
    Box::new(EvalAltResult::ErrorRuntime(Dynamic::from(error), position))
}
