//! The policy of a season: the script's closures where it has them, the manager elsewhere.

use super::decision::{DECISIONS, Decision};
use super::plain::is_plain;
use super::property::{Property, SUITS_TODAY, property};
use super::views::Seen;
use super::{MOST_STEPS, PolicyPart};
use crate::script::error::ScriptError;
use crate::script::evaluation::Evaluation;
use crate::script::explain::run_error_in;
use crate::script::read::describe;
use crate::script::source::{Mark, Source, Token, TokenKind};
use crate::script::{Running, Script};
use rhai::{
    AST, Caches, Dynamic, Engine, EvalAltResult, GlobalRuntimeState, ImmutableString, Position, Scope,
};
use sim_core::farm::Farm;
use sim_core::farm::spec::{Straw, TILLAGE};
use sim_core::season::{DayView, FieldView, JobView, Manager, Policy, PolicyError};
use sim_core::study::PolicyMaker;
use std::ops::Range;
use std::rc::Rc;
use std::sync::Arc;

/// What can be done with straw, as scripts say it.
const STRAWS: [&str; 2] = ["bale", "chop"];

/// Who decides in the seasons of some farms: for each the script that says so, with its settings.
///
/// A script's closures do not cross threads: each worker evaluates the script for itself.
#[derive(Debug, Clone)]
pub struct Deciders<'a> {
    /// For each variant.
    pub variants: Vec<DecidedBy<'a>>,
}

/// Where the decisions on a farm are from.
#[derive(Debug, Clone, Copy)]
pub struct DecidedBy<'a> {
    /// The script that says what the farm is.
    pub script: &'a Script,
    /// The parameters set, by name and text.
    pub set: &'a [(String, String)],
    /// The farm.
    pub farm: &'a Farm,
    /// Whether the script takes over any decision.
    pub scripted: bool,
}

impl PolicyMaker for Deciders<'_> {
    type Policy = Decider;

    fn make(&self, variant: usize) -> Decider {
        let DecidedBy { script, set, farm, scripted } = self.variants[variant];
        if !scripted {
            return Decider::Manager(Manager);
        }
        match script.run(set) {
            Ok(Running { evaluation, engine, ast, global, policy: Some(policy), .. }) => {
                Decider::Script(Box::new(Scripted::new(evaluation, engine, (&ast, global), policy, farm)))
            }
            Ok(_) => Decider::Manager(Manager),
            // It could be evaluated before: only a machine that runs out of time or memory comes here.
            Err(error) => Decider::Failed(error.to_string()),
        }
    }
}

/// Who decides in a season.
#[derive(Debug)]
pub enum Decider {
    /// The manager, in everything.
    Manager(Manager),
    /// The script, in some of it.
    Script(Box<Scripted>),
    /// Nobody: the script could not be evaluated again, and why.
    Failed(String),
}

/// A script's closures and what they need.
pub struct Scripted {
    evaluation: Rc<Evaluation>,
    engine: Engine,
    calls: Calls,
    policy: PolicyPart,
    seen: Seen,
    fields_alike: bool,
    /// Whether to hold a job on a day, where that is the same in every season.
    held: Option<Known>,
}

/// What a closure gave for each job and day, where it looks at nothing else.
#[derive(Debug)]
struct Known {
    days: usize,
    given: Vec<Option<bool>>,
}

impl std::fmt::Debug for Scripted {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Scripted").field("policy", &self.policy).finish_non_exhaustive()
    }
}

/// Closures ready to be called. What the engine looks up of functions and operators is kept from call to call, and the body
/// of a closure is worked where it lies: together that takes a third of what a call of the closure would.
struct Calls {
    global: GlobalRuntimeState,
    caches: Caches,
    /// For each decision that the script takes.
    bodies: [Option<Body>; DECISIONS],
}

/// The body of a closure.
struct Body {
    statements: AST,
    /// What it captured, and then what it looks at under the name that it gives it.
    scope: Scope<'static>,
    looked_at: ImmutableString,
    /// Whether its operators need not be looked up.
    is_plain: bool,
}

impl Body {
    /// `None` where it is not found in the script.
    fn of(
        engine: &Engine,
        source: &Source,
        ast: &AST,
        policy: &PolicyPart,
        of: Decision,
        seen: &Seen,
    ) -> Option<Self> {
        let (_, closure) = policy.closures().find(|(decision, _)| *decision == of)?;
        let function = ast.iter_functions().find(|function| function.name == closure.fn_name())?;
        let (looked_at, captured) = function.params.split_last()?;
        let mut scope = Scope::new();
        for (name, value) in captured.iter().zip(closure.curry()) {
            scope.push_constant_dynamic(*name, value.clone());
        }
        scope.push_dynamic(*looked_at, seen.looked_at(of));
        let text = body(source, policy.offset, of.key())?;
        let statements = engine.compile_with_scope(&scope, text).ok()?;
        let is_plain = is_plain(&statements, looked_at);
        Some(Self { statements, scope, looked_at: (*looked_at).into(), is_plain })
    }
}

/// The text of a closure's body, at the lines and columns where it stands in the script.
pub(super) fn body(source: &Source, offset: usize, key: &str) -> Option<String> {
    let (tokens, value) = (source.tokens(), source.value(offset, key)?);
    // |name| and then the body.
    let (first, last) = (tokens.get(value.start + 3)?, tokens.get(value.end.checked_sub(1)?)?);
    let blank = |letter: char| if letter == '\n' { letter } else { ' ' };
    let before: String = source.text[..first.start].chars().map(blank).collect();
    Some(before + &source.text[first.start..last.end])
}

impl Calls {
    /// `global` is what the script left when it was evaluated: its functions and imports.
    fn new(
        engine: &Engine,
        (source, ast): (&Source, &AST),
        global: GlobalRuntimeState,
        policy: &PolicyPart,
        seen: &Seen,
    ) -> Self {
        let bodies = Decision::ALL.map(|of| Body::of(engine, source, ast, policy, of, seen));
        Self { global, caches: Caches::new(), bodies }
    }

    fn call(
        &mut self,
        engine: &mut Engine,
        of: Decision,
        seen: &Seen,
    ) -> Result<Dynamic, Box<EvalAltResult>> {
        let Some(body) = &mut self.bodies[of as usize] else {
            return Err(Box::new(EvalAltResult::ErrorFunctionNotFound(of.key().into(), Position::NONE)));
        };
        self.global.num_operations = 0;
        engine.set_fast_operators(body.is_plain);
        let variables = body.scope.len();
        // The only way in that takes the caches along; the version of Rhai is pinned.
        #[allow(deprecated)]
        let given = engine.eval_statements_raw(
            &mut self.global,
            &mut self.caches,
            &mut body.scope,
            body.statements.statements(),
        );
        body.scope.rewind(variables);
        // What it looks at is there again for the next call, whatever the closure has put in its place.
        if body.scope.get(&body.looked_at).is_none_or(|value| !seen.is_looked_at(of, value)) {
            body.scope.rewind(variables - 1);
            body.scope.push_dynamic(body.looked_at.clone(), seen.looked_at(of));
        }
        given
    }
}

impl Scripted {
    fn new(
        evaluation: Rc<Evaluation>,
        mut engine: Engine,
        (ast, global): (&AST, GlobalRuntimeState),
        policy: PolicyPart,
        farm: &Farm,
    ) -> Self {
        // The script has been evaluated: from now on each decision has a limit of its own.
        evaluation.only_decide();
        engine.set_max_operations(MOST_STEPS);
        engine.on_progress(|_| None);
        let any_reads = |name: &str| {
            Decision::ALL.into_iter().any(|of| Reads::of(&evaluation.script, &policy, of).has(name))
        };
        let seen = Seen::of(farm, any_reads(SUITS_TODAY));
        // The script has been compiled whole; a body alone does not see what it imports.
        engine.set_strict_variables(false);
        let calls = Calls::new(&engine, (&evaluation.script, ast), global, &policy, &seen);
        let reads = |of: Decision| Reads::of(&evaluation.script, &policy, of);
        let by_field = |of: Decision| reads(of).any(|property| property.by_field);
        let fields_alike = ![Decision::Rank, Decision::Hold].into_iter().any(by_field);
        let held = !reads(Decision::Hold).any(|property| property.by_season);
        let days = farm.span.days() as usize;
        let held = held.then(|| Known { days, given: vec![None; farm.jobs.len() * days] });
        Self { seen, evaluation, engine, calls, policy, fields_alike, held }
    }

    fn call(&mut self, of: Decision) -> Result<Dynamic, PolicyError> {
        self.calls.call(&mut self.engine, of, &self.seen).map_err(|error| self.failed(of.key(), *error))
    }

    fn failed(&self, key: &str, error: EvalAltResult) -> PolicyError {
        self.failed_in(key, &self.evaluation.script, error)
    }

    fn failed_in(&self, key: &str, source: &Arc<Source>, error: EvalAltResult) -> PolicyError {
        let error = match error {
            EvalAltResult::ErrorInFunctionCall(_, file, inner, _) => {
                return self.failed_in(key, &self.evaluation.source_of(Some(&file)), *inner);
            }
            EvalAltResult::ErrorTooManyOperations(_) => self.at(
                key,
                format!("`{key}` of policy does not end: it has taken {MOST_STEPS} steps for one decision"),
                "see whether a loop goes on for ever",
            ),
            EvalAltResult::ErrorAssignmentToConstant(..)
            | EvalAltResult::ErrorNonPureMethodCallOnConstant(..) => {
                let span = source.span_at(source.byte_of(error.position()));
                ScriptError::new("a decision cannot change what stands outside it").at(source, span).help(
                    "what it is to remember within a season it keeps in the memory: job.memory.name = ..."
                        .to_string(),
                )
            }
            other => run_error_in(&self.evaluation, source, other),
        };
        PolicyError(format!("`{key}` cannot be decided\n{error}"))
    }

    fn at(&self, key: &str, message: String, help: &str) -> ScriptError {
        let source: &Arc<Source> = &self.evaluation.script;
        let span = source.find(self.policy.offset, &Mark::Key(key.into()));
        ScriptError::new(message).at(source, span).help(help.to_string())
    }

    fn wrong(&self, of: Decision, given: &Dynamic, must: &str) -> PolicyError {
        self.wrong_with(of, given, must, "let its last line be what it gives, without a `;`")
    }

    fn wrong_choice(&self, of: Decision, given: &Dynamic, must: &str) -> PolicyError {
        self.wrong_with(of, given, must, &format!("for example {}: {}", of.key(), of.entry().example))
    }

    fn wrong_with(&self, of: Decision, given: &Dynamic, must: &str, help: &str) -> PolicyError {
        let key = of.key();
        let message = format!("`{key}` of policy must give {must}, but gives {}", describe(given));
        PolicyError(format!("`{key}` cannot be decided\n{}", self.at(key, message, help)))
    }

    fn number(&mut self, of: Decision) -> Result<f64, PolicyError> {
        let given = self.call(of)?;
        let number = given.as_float().or_else(|_| given.as_int().map(|whole| whole as f64));
        let number = number.ok().filter(|number| !number.is_nan());
        number.ok_or_else(|| self.wrong(of, &given, "a number"))
    }

    fn flag(&mut self, of: Decision) -> Result<bool, PolicyError> {
        let given = self.call(of)?;
        given.as_bool().map_err(|_| self.wrong(of, &given, "true or false"))
    }

    /// One of some texts, by its place among them.
    fn one_of(&mut self, of: Decision, texts: &[&str]) -> Result<usize, PolicyError> {
        let given = self.call(of)?;
        let named = given.as_immutable_string_ref().ok();
        let at = named.and_then(|named| texts.iter().position(|text| *text == named.as_str()));
        at.ok_or_else(|| {
            let quoted: Vec<String> = texts.iter().map(|text| format!("\"{text}\"")).collect();
            self.wrong_choice(of, &given, &quoted.join(" or "))
        })
    }

    /// The outfit of the job's operation that is named, if one is.
    fn named(&mut self, job: &JobView<'_>) -> Result<Option<usize>, PolicyError> {
        let given = self.call(Decision::Outfit)?;
        if given.is_unit() {
            return Ok(None);
        }
        let farm = job.farm;
        let outfits = &farm.rows[farm.jobs[job.job].row].outfits;
        let name = |outfit: usize| farm.outfits[outfit].name.as_str();
        let named = given.as_immutable_string_ref().ok();
        let at = named.and_then(|named| outfits.iter().position(|outfit| name(*outfit) == named.as_str()));
        if at.is_some() {
            return Ok(at);
        }
        let own: Vec<String> = outfits.iter().map(|outfit| format!("\"{}\"", name(*outfit))).collect();
        let must = format!("an outfit of the operation ({}) or ()", own.join(" or "));
        Err(self.wrong_choice(Decision::Outfit, &given, &must))
    }

    fn hold(&mut self, job: &JobView<'_>) -> Result<bool, PolicyError> {
        let at = self.held.as_ref().map(|known| job.job * known.days + job.day as usize);
        if let (Some(known), Some(at)) = (&self.held, at)
            && let Some(held) = known.given[at]
        {
            return Ok(held);
        }
        self.seen.job(job, false);
        let held = self.flag(Decision::Hold)?;
        if let (Some(known), Some(at)) = (&mut self.held, at) {
            known.given[at] = Some(held);
        }
        Ok(held)
    }
}

/// The properties that a closure may read: those named in it, and in the functions that it may call.
struct Reads<'a> {
    names: Vec<&'a str>,
    /// Whether more may be read than is named: in a text between backquotes, or in an imported file.
    more: bool,
}

impl<'a> Reads<'a> {
    fn of(source: &'a Source, policy: &PolicyPart, decision: Decision) -> Self {
        let key = decision.key();
        let mut reads = Self { names: Vec::new(), more: false };
        if !policy.takes(decision) {
            return reads;
        }
        let Some(own) = source.value(policy.offset, key) else {
            return Self { more: true, ..reads };
        };
        let tokens = source.tokens();
        let functions = functions(source);
        let mut looked_at = vec![false; functions.len()];
        let mut parts = vec![own];
        while let Some(part) = parts.pop() {
            let part = &tokens[part];
            let read = |pair: &[Token]| (source.word(pair[0]) == ".").then(|| source.word(pair[1]));
            reads.names.extend(part.windows(2).filter_map(read));
            // What an imported file reads is not looked at.
            let elsewhere = |pair: &[Token]| source.word(pair[0]) == ":" && source.word(pair[1]) == ":";
            reads.more |= part.windows(2).any(elsewhere)
                || part
                    .iter()
                    .any(|token| token.kind == TokenKind::Text && source.word(*token).starts_with('`'));
            for word in part.iter().map(|token| source.word(*token)) {
                for (at, (_, body)) in functions.iter().enumerate().filter(|(_, (name, _))| *name == word) {
                    if !std::mem::replace(&mut looked_at[at], true) {
                        parts.push(body.clone());
                    }
                }
            }
        }
        reads
    }

    /// Whether the property of this name may be read.
    fn has(&self, name: &str) -> bool {
        self.more || self.names.contains(&name)
    }

    /// Whether such a property may be read.
    fn any(&self, such: impl Fn(&Property) -> bool) -> bool {
        self.more || self.names.iter().any(|name| property(name).is_some_and(&such))
    }
}

/// The functions of a script: name, and the tokens from there to the end of the body.
fn functions(source: &Source) -> Vec<(&str, Range<usize>)> {
    let tokens = source.tokens();
    let function = |at: usize| {
        let name = tokens.get(at + 1)?;
        let rest = &tokens[at + 1..];
        let body = rest.iter().position(|token| source.word(*token) == "{")?;
        let depth = rest[body].depth;
        let end =
            rest[body..].iter().position(|token| token.kind == TokenKind::Close && token.depth == depth)?;
        Some((source.word(*name), at + 1..at + 2 + body + end))
    };
    (0..tokens.len()).filter(|at| source.word(tokens[*at]) == "fn").filter_map(function).collect()
}

impl Decider {
    /// The script, if it takes this decision.
    fn script(&mut self, of: Decision) -> Result<Option<&mut Scripted>, PolicyError> {
        match self {
            Self::Script(script) if script.policy.takes(of) => Ok(Some(script)),
            Self::Failed(why) => Err(PolicyError(why.clone())),
            _ => Ok(None),
        }
    }
}

impl Policy for Decider {
    fn begin(&mut self, _season: u64) {
        if let Self::Script(script) = self {
            script.seen.begin();
        }
    }

    fn fields_rank_alike(&self) -> bool {
        match self {
            Self::Script(of) => of.fields_alike,
            _ => true,
        }
    }

    fn rank(&mut self, job: &JobView<'_>) -> Result<f64, PolicyError> {
        let Some(script) = self.script(Decision::Rank)? else { return Manager.rank(job) };
        script.seen.job(job, false);
        script.number(Decision::Rank)
    }

    fn hold(&mut self, job: &JobView<'_>) -> Result<bool, PolicyError> {
        match self.script(Decision::Hold)? {
            Some(script) => script.hold(job),
            None => Manager.hold(job),
        }
    }

    fn overtime_h(&mut self, day: &DayView<'_>) -> Result<f64, PolicyError> {
        let Some(script) = self.script(Decision::OvertimeH)? else { return Manager.overtime_h(day) };
        script.seen.day(day);
        script.number(Decision::OvertimeH)
    }

    fn hire(&mut self, job: &JobView<'_>, only_if_behind: bool) -> Result<bool, PolicyError> {
        let Some(script) = self.script(Decision::Hire)? else { return Manager.hire(job, only_if_behind) };
        script.seen.job(job, only_if_behind);
        script.flag(Decision::Hire)
    }

    fn names_outfits(&self) -> bool {
        matches!(self, Self::Script(of) if of.policy.takes(Decision::Outfit))
    }

    fn outfit(&mut self, job: &JobView<'_>) -> Result<Option<usize>, PolicyError> {
        let Some(script) = self.script(Decision::Outfit)? else { return Manager.outfit(job) };
        script.seen.job(job, false);
        script.named(job)
    }

    fn straw(&mut self, field: &FieldView<'_>, usual: Straw) -> Result<Straw, PolicyError> {
        let Some(script) = self.script(Decision::Straw)? else { return Manager.straw(field, usual) };
        let ways = [Straw::Bale, Straw::Chop];
        let at = ways.iter().position(|way| *way == usual).unwrap_or_default();
        script.seen.field(field, STRAWS[at]);
        script.one_of(Decision::Straw, &STRAWS).map(|at| ways[at])
    }

    fn tillage(&mut self, field: &FieldView<'_>, usual: usize) -> Result<usize, PolicyError> {
        let Some(script) = self.script(Decision::Tillage)? else { return Manager.tillage(field, usual) };
        script.seen.field(field, TILLAGE[usual]);
        script.one_of(Decision::Tillage, &TILLAGE)
    }
}
