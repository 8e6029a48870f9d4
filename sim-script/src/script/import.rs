//! Files that a script imports: only those of its own folder, each once, and none in a circle.
//!
//! An imported file has parts (`export let machines = [...]`) and functions; parameters, variants, decisions and the farm
//! stand in the script itself.

use super::error::ScriptError;
use super::evaluation::{Evaluation, thrown};
use super::source::Source;
use super::{explain, policy};
use rhai::{AST, Engine, EvalAltResult, Module, ModuleResolver, Position, Scope};
use std::cell::RefCell;
use std::rc::{Rc, Weak};
use std::sync::Arc;

/// The most imports of a script and its files. Each file may hold as much as the script itself.
pub(crate) const MOST_IMPORTS: usize = 6;

type Imported = Result<Rc<Module>, Box<EvalAltResult>>;

/// Compiles a text, and refuses what no file of a script may have.
///
/// # Errors
/// The first mistake in it.
pub(super) fn compile(engine: &Engine, source: &Arc<Source>) -> Result<AST, ScriptError> {
    let ast = engine.compile(&source.text).map_err(|error| explain::parse_error(source, &error))?;
    policy::closures_stand_in_policies(source, &ast)?;
    explain::shadowed_verb(source, &ast)?;
    Ok(ast)
}

/// Imports files for one evaluation.
pub(super) struct Importer {
    evaluation: Weak<Evaluation>,
    made: RefCell<Vec<(String, Rc<Module>)>>,
    /// The files that are being imported, the outer ones first.
    at_work: RefCell<Vec<String>>,
}

impl Importer {
    pub(super) fn new(evaluation: &Rc<Evaluation>) -> Self {
        Self {
            evaluation: Rc::downgrade(evaluation),
            made: RefCell::new(Vec::new()),
            at_work: RefCell::new(Vec::new()),
        }
    }

    fn import(
        &self,
        engine: &Engine,
        from: &Arc<Source>,
        path: &str,
        position: Position,
    ) -> Result<Rc<Module>, ScriptError> {
        let wrong = |message: String, help: &str| {
            let span = from.span_at(from.byte_of(position));
            ScriptError::new(message).at(from, span).help(help.to_string())
        };
        let Some(evaluation) = self.evaluation.upgrade() else {
            return Err(wrong("the script has been evaluated".into(), "import at the top of the script"));
        };
        if evaluation.is_deciding() {
            return Err(wrong("a decision cannot import".into(), "import at the top of the script"));
        }
        let plain = path.trim_start_matches("./");
        let name = if plain.ends_with(".rhai") { plain.to_string() } else { format!("{plain}.rhai") };
        if let Some((_, module)) = self.made.borrow().iter().find(|(known, _)| *known == name) {
            return Ok(Rc::clone(module));
        }
        if self.at_work.borrow().contains(&name) {
            let circle = self.at_work.borrow().join(" imports ");
            return Err(wrong(
                format!("files import one another in a circle: {circle} imports {name}"),
                "put what both need into a third file",
            ));
        }
        let text = evaluation.read_file(&name).map_err(|refused| wrong(refused.why, &refused.fix))?;
        let source = Arc::new(Source::new(name.clone(), text));
        evaluation.imported.borrow_mut().push(Arc::clone(&source));
        self.at_work.borrow_mut().push(name.clone());
        let made = made(engine, &evaluation, &source);
        self.at_work.borrow_mut().pop();
        let module = Rc::new(made?);
        self.made.borrow_mut().push((name, Rc::clone(&module)));
        Ok(module)
    }
}

/// What a file has to give.
fn made(engine: &Engine, evaluation: &Evaluation, source: &Arc<Source>) -> Result<Module, ScriptError> {
    let mut ast = compile(engine, source)?;
    ast.set_source(source.name.as_str());
    Module::eval_ast_as_new(Scope::new(), &ast, engine)
        .map_err(|error| explain::run_error_in(evaluation, source, *error))
}

impl ModuleResolver for Importer {
    fn resolve(&self, engine: &Engine, from: Option<&str>, path: &str, position: Position) -> Imported {
        let from = match self.evaluation.upgrade() {
            Some(evaluation) => evaluation.source_of(from),
            None => Arc::new(Source::new("", "")),
        };
        self.import(engine, &from, path, position).map_err(|error| thrown(error, position))
    }
}
