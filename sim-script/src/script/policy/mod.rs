//! Decisions that a script takes over from the manager: closures in `policy(#{ ... })`, what they see of a job or a day,
//! and the policy of a season that calls them. What the decisions are for is said in `sim_core::season::Policy`.

mod decide;
mod property;
#[cfg(test)]
mod tests;
mod views;

pub use decide::{DecidedBy, Decider, Deciders, Scripted};
pub(super) use property::known_of;
pub use property::{OF_DAY, OF_GROUND, OF_JOB, Property, about_memory};
pub(super) use views::register;

use super::error::ScriptError;
use super::evaluation::Evaluation;
use super::read::Values;
use super::source::{Mark, Source, TokenKind};
use super::verb::{Argument, Gives, Key, Kind, Need, Verb};
use rhai::{AST, ASTNode, Dynamic, Expr, FnPtr};
use std::sync::Arc;

/// The most steps that one decision may take.
pub(crate) const MOST_STEPS: u64 = 100_000;

const KEYS: Argument = Argument { name: "keys", kind: Kind::Map, optional: false, about: "its keys" };

const fn decision(name: &'static str, kind: Kind, example: &'static str, about: &'static str) -> Key {
    Key { name, kind, unit: "", need: Need::Optional, about, example }
}

/// `policy`.
pub(super) const POLICY: Verb = Verb {
    name: "policy",
    about: "Decisions that the script takes over from the manager; the manager takes those that it leaves out.",
    gives: Gives::Part,
    arguments: &[KEYS],
    keys: &[
        decision(
            "rank",
            Kind::Closure("job"),
            "|job| job.days_in_hand",
            "which ready work goes first: a number, the lowest first; the fewest days in hand unless said",
        ),
        decision(
            "hold",
            Kind::Closure("job"),
            "|job| job.operation == \"ploughing\" && job.today < \"09-15\"",
            "whether to leave a job alone today though it could be worked: true or false; never unless said",
        ),
        decision(
            "overtime_h",
            Kind::Closure("day"),
            "|day| if day.least_days_in_hand < 2.0 { 2.0 } else { 0.0 }",
            "overtime today in hours, up to what each person allows; all of it when no days are in hand unless said",
        ),
        decision(
            "hire",
            Kind::Closure("job"),
            "|job| job.days_in_hand < 1.0",
            "whether to call a contractor who could come for a job: true or false; as the contractor's keys say unless said",
        ),
    ],
    ranges: &[],
    example: "policy(#{ hold: |job| job.operation == \"ploughing\" && job.today < \"09-15\" })",
};

/// The closures of a `policy(...)`, with what they captured frozen.
#[derive(Debug, Clone, Default)]
pub(crate) struct PolicyPart {
    /// The first byte of the call.
    pub(crate) offset: usize,
    pub(crate) rank: Option<FnPtr>,
    pub(crate) hold: Option<FnPtr>,
    pub(crate) overtime_h: Option<FnPtr>,
    pub(crate) hire: Option<FnPtr>,
}

/// Two are the same when they are the same closures.
impl PartialEq for PolicyPart {
    fn eq(&self, other: &Self) -> bool {
        self.offset == other.offset && self.names().eq(other.names())
    }
}

impl PolicyPart {
    /// That of a call's values.
    pub(super) fn of(offset: usize, values: &mut Values) -> Self {
        Self {
            offset,
            rank: values.closure("rank").map(frozen),
            hold: values.closure("hold").map(frozen),
            overtime_h: values.closure("overtime_h").map(frozen),
            hire: values.closure("hire").map(frozen),
        }
    }

    /// The closures with their keys.
    pub(crate) fn closures(&self) -> impl Iterator<Item = (&'static str, &FnPtr)> {
        let all = [
            ("rank", &self.rank),
            ("hold", &self.hold),
            ("overtime_h", &self.overtime_h),
            ("hire", &self.hire),
        ];
        all.into_iter().filter_map(|(name, closure)| Some((name, closure.as_ref()?)))
    }

    fn names(&self) -> impl Iterator<Item = (&'static str, &str)> {
        self.closures().map(|(name, closure)| (name, closure.fn_name()))
    }

    /// Roughly how many bytes the closures hold.
    pub(super) fn bytes(&self) -> usize {
        512 + self.closures().flat_map(|(_, closure)| closure.curry()).map(weight).sum::<usize>()
    }

    /// Refuses a closure that does not take the one value it is called with.
    pub(super) fn check(&self, source: &Arc<Source>, ast: &AST) -> Result<(), ScriptError> {
        for (name, closure) in self.closures() {
            let takes = ast.iter_functions().find(|function| function.name == closure.fn_name());
            let takes = takes.map_or(1, |function| function.params.len() - closure.curry().len());
            if takes != 1 {
                let key = Mark::Key(name.into());
                let key_of = POLICY.keys.iter().find(|key| key.name == name);
                return Err(ScriptError::new(format!(
                    "`{name}` of policy takes one value, but here are {takes}"
                ))
                .at(source, source.find(self.offset, &key))
                .help(key_of.map(|key| format!("for example {name}: {}", key.example))));
            }
        }
        Ok(())
    }
}

/// The closure with copies of what it captured that nobody can change: else a season would see what another did.
fn frozen(mut closure: FnPtr) -> FnPtr {
    let kept: Vec<Dynamic> =
        closure.curry().iter().map(|value| value.flatten_clone().into_read_only().into_shared()).collect();
    closure.set_curry(kept);
    closure
}

/// Roughly how many bytes a value holds.
fn weight(value: &Dynamic) -> usize {
    let inside = if let Ok(text) = value.as_immutable_string_ref() {
        text.len()
    } else if let Ok(list) = value.as_array_ref() {
        list.iter().map(weight).sum()
    } else if let Ok(map) = value.as_map_ref() {
        map.iter().map(|(key, value)| key.len() + 32 + weight(value)).sum()
    } else {
        0
    };
    16 + inside
}

/// Refuses closures that stand anywhere but as a decision of `policy(#{ ... })`: elsewhere they could hold any number of
/// values that no size check sees.
pub(super) fn closures_stand_in_policies(evaluation: &Evaluation, ast: &AST) -> Result<(), ScriptError> {
    let source = &evaluation.script;
    let (mut wrong, mut seen) = (None, Vec::new());
    // Where closures are is what Rhai says; what stands around one is read off the text.
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        if let Some(ASTNode::Expr(Expr::DynamicConstant(value, position))) = path.last()
            && let Some(closure) = value.clone().try_cast::<FnPtr>()
        {
            seen.push(closure.fn_name().to_string());
            let at = source.token_at(evaluation.offset(*position));
            if !is_decision(source, at) {
                wrong = Some(source.span_at(evaluation.offset(*position)));
            }
        }
        wrong.is_none()
    });
    // The walk leaves out what follows a `break`.
    let hidden = |name: &str| name.starts_with("anon$") && !seen.iter().any(|seen| seen == name);
    let last = || source.span_at(source.text.len());
    let wrong = wrong.or_else(|| ast.iter_functions().any(|of| hidden(of.name)).then(last));
    match wrong {
        None => Ok(()),
        Some(span) => Err(ScriptError::new("a closure can stand only as a decision of policy(...)")
            .at(source, span)
            .help(format!("for example {}; elsewhere write a function with fn", POLICY.example))),
    }
}

/// Whether the token of this number begins the value of a key of `policy(#{ ... })`.
fn is_decision(source: &Source, at: usize) -> bool {
    let tokens = source.tokens();
    let mut open: Vec<usize> = Vec::new();
    for (number, token) in tokens.iter().enumerate().take(at) {
        match token.kind {
            TokenKind::Open => open.push(number),
            TokenKind::Close => drop(open.pop()),
            _ => {}
        }
    }
    let word = |number: usize| tokens.get(number).map(|token| source.word(*token));
    let [.., call, map] = open.as_slice() else { return false };
    let verb = call.checked_sub(1).and_then(word);
    word(at) == Some("|")
        && at.checked_sub(1).and_then(word) == Some(":")
        && (verb, word(*call), word(*map)) == (Some("policy"), Some("("), Some("#{"))
}
