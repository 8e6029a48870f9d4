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
use super::read::Values;
use super::source::{Mark, Source, TokenKind};
use super::verb::{Argument, Gives, Key, Kind, Need, Verb};
use rhai::{AST, Dynamic, FnPtr};
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
pub(super) fn closures_stand_in_policies(source: &Arc<Source>) -> Result<(), ScriptError> {
    let tokens = source.tokens();
    let mut open: Vec<usize> = Vec::new();
    // The bar that ends the parameters of a closure, where one has begun.
    let mut parameters_end = None;
    for (at, token) in tokens.iter().enumerate() {
        match token.kind {
            TokenKind::Open => open.push(at),
            TokenKind::Close => drop(open.pop()),
            TokenKind::Sign if source.word(*token) == "|" && parameters_end == Some(at) => {
                parameters_end = None
            }
            TokenKind::Sign if source.word(*token) == "|" => {
                let Some(before) = at.checked_sub(1).map(|before| tokens[before]) else { continue };
                let ends_a_value = match before.kind {
                    TokenKind::Word => {
                        !matches!(source.word(before), "return" | "in" | "if" | "while" | "else")
                    }
                    TokenKind::Number | TokenKind::Text | TokenKind::Close => true,
                    TokenKind::Open | TokenKind::Sign => false,
                };
                // Between two bars that touch there is an `or` after a value, and a closure without values elsewhere.
                let second_of_two = source.word(before) == "|" && before.end == token.start;
                if ends_a_value || second_of_two {
                    continue;
                }
                let in_policy = || {
                    let [.., call, map] = open.as_slice() else { return false };
                    let verb = call.checked_sub(1).map(|verb| source.word(tokens[verb]));
                    source.word(tokens[*map]) == "#{"
                        && source.word(tokens[*call]) == "("
                        && verb == Some("policy")
                };
                if source.word(before) != ":" || !in_policy() {
                    return Err(ScriptError::new("a closure can stand only as a decision of policy(...)")
                        .at(source, token.start..token.end)
                        .help(format!(
                            "for example {}; elsewhere write a function with fn",
                            POLICY.example
                        )));
                }
                parameters_end = tokens[at + 1..]
                    .iter()
                    .position(|token| source.word(*token) == "|")
                    .map(|bar| at + 1 + bar);
            }
            _ => {}
        }
    }
    Ok(())
}
