//! Decisions that a script takes over from the manager: closures in `policy(#{ ... })`, what they see of a job or a day,
//! and the policy of a season that calls them. What the decisions are for is said in `sim_core::season::Policy`.

mod constants;
mod decide;
mod decision;
mod memory;
mod names;
mod plain;
mod property;
#[cfg(test)]
mod tests;
mod views;

pub(super) use constants::strange_names;
pub use decide::{DecidedBy, Decider, Deciders, Scripted};
pub(super) use decision::POLICY;
pub(super) use property::known_of;
pub use property::{GROUND, Property, VIEWS, View, about_memory};
pub(super) use views::register;

use super::error::ScriptError;
use super::read::Values;
use super::source::{Mark, Source, TokenKind};
use decision::{DECISIONS, Decision};
use rhai::{AST, ASTNode, Dynamic, Expr, FnPtr};
use sim_core::farm::spec::LeftOpen;
use std::sync::Arc;

/// The most steps that one decision may take.
pub(crate) const MOST_STEPS: u64 = 100_000;

/// The closures of a `policy(...)`, with what they captured frozen.
#[derive(Debug, Clone, Default)]
pub(crate) struct PolicyPart {
    /// The first byte of the call.
    pub(crate) offset: usize,
    /// For each [`Decision`].
    closures: [Option<FnPtr>; DECISIONS],
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
        Self { offset, closures: Decision::ALL.map(|of| values.closure(of.key()).map(frozen)) }
    }

    /// Whether the script takes a decision.
    fn takes(&self, of: Decision) -> bool {
        self.closures[of as usize].is_some()
    }

    /// The closures that there are.
    fn closures(&self) -> impl Iterator<Item = (Decision, &FnPtr)> {
        Decision::ALL
            .into_iter()
            .zip(&self.closures)
            .filter_map(|(of, closure)| Some((of, closure.as_ref()?)))
    }

    /// The decisions that the script takes, by their keys.
    pub(crate) fn decides(&self) -> Vec<&'static str> {
        self.closures().map(|(of, _)| of.key()).collect()
    }

    /// What the script decides while a season goes on, so that the farm leaves it open.
    pub(super) fn left_open(&self) -> LeftOpen {
        LeftOpen { straw: self.takes(Decision::Straw), tillage: self.takes(Decision::Tillage) }
    }

    fn names(&self) -> impl Iterator<Item = (Decision, &str)> {
        self.closures().map(|(of, closure)| (of, closure.fn_name()))
    }

    /// Roughly how many bytes the closures hold.
    pub(super) fn bytes(&self) -> usize {
        512 + self.closures().flat_map(|(_, closure)| closure.curry()).map(weight).sum::<usize>()
    }

    /// Refuses a closure that does not take the one value it is called with.
    pub(super) fn check(&self, source: &Arc<Source>, ast: &AST) -> Result<(), ScriptError> {
        for (of, closure) in self.closures() {
            let takes = ast.iter_functions().find(|function| function.name == closure.fn_name());
            let takes = takes.map_or(1, |function| function.params.len() - closure.curry().len());
            if takes != 1 {
                let key = of.key();
                let message = format!("`{key}` of policy takes one value, but here are {takes}");
                return Err(ScriptError::new(message)
                    .at(source, source.find(self.offset, &Mark::Key(key.into())))
                    .help(format!("for example {key}: {}", of.entry().example)));
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
pub(super) fn closures_stand_in_policies(source: &Arc<Source>, ast: &AST) -> Result<(), ScriptError> {
    let (mut wrong, mut seen) = (None, Vec::new());
    // Where closures are is what Rhai says; what stands around one is read off the text.
    ast.walk(&mut |path: &[ASTNode<'_>]| {
        if let Some(ASTNode::Expr(Expr::DynamicConstant(value, position))) = path.last()
            && let Some(closure) = value.clone().try_cast::<FnPtr>()
        {
            seen.push(closure.fn_name().to_string());
            let at = source.token_at(source.byte_of(*position));
            if !is_decision(source, at) {
                wrong = Some(source.span_at(source.byte_of(*position)));
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
