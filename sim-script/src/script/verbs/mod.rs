//! The words of the script language, one table each: every key with its unit, default, meaning and example.
//! Each subject has a file; here is what they share.

mod crops;
mod kit;
mod land;
mod reckoning;
mod weather;

use super::policy::POLICY;
use super::variant::VARIANT;
use super::verb::{Argument, Key, Kind, Need, Verb};
use crops::{AFTER_OPERATION, CROP, DAYS_AFTER, OPERATION};
use kit::{CONTRACTOR, HOURS, MACHINE, OUTFIT, PERSON};
use land::{FARM, FIELD};
pub(super) use reckoning::PARAM;
use reckoning::{ADD_DAYS, DAYS_BETWEEN, GREATEST, HOURS_FROM, LEAST, MEAN, SUM};
use weather::{
    DRIVER, DRIVERS_FROM, REPLAY, RESAMPLE, RULE, STAGE, SUITABLE, SUITABLE_DAYS, TABLE, WORK_CLASS,
};

/// Verbs of one subject.
#[derive(Debug)]
pub struct Topic {
    /// The subject.
    pub heading: &'static str,
    /// Its verbs, in the order in which a script usually needs them.
    pub verbs: &'static [&'static Verb],
}

/// Every verb, by subject.
pub const TOPICS: &[Topic] = &[
    Topic { heading: "The farm and its fields", verbs: &[&FARM, &FIELD] },
    Topic {
        heading: "Crops and the work that they need",
        verbs: &[&CROP, &OPERATION, &AFTER_OPERATION, &DAYS_AFTER],
    },
    Topic {
        heading: "People, machines, and what works together",
        verbs: &[&HOURS, &PERSON, &MACHINE, &OUTFIT, &CONTRACTOR],
    },
    Topic {
        heading: "Kinds of work and their days",
        verbs: &[
            &WORK_CLASS,
            &SUITABLE_DAYS,
            &SUITABLE,
            &DRIVERS_FROM,
            &DRIVER,
            &REPLAY,
            &RESAMPLE,
            &TABLE,
            &RULE,
            &STAGE,
        ],
    },
    Topic { heading: "Decisions", verbs: &[&POLICY] },
    Topic {
        heading: "Parameters, variants, and reckoning",
        verbs: &[&PARAM, &VARIANT, &ADD_DAYS, &DAYS_BETWEEN, &HOURS_FROM, &SUM, &MEAN, &LEAST, &GREATEST],
    },
];

/// Every verb.
pub fn all_verbs() -> impl Iterator<Item = &'static Verb> {
    TOPICS.iter().flat_map(|topic| topic.verbs).copied()
}

/// The verb of this name.
#[must_use]
pub fn verb(name: &str) -> Option<&'static Verb> {
    all_verbs().find(|verb| verb.name == name)
}

const fn name(about: &'static str) -> Argument {
    Argument { name: "name", kind: Kind::Text, optional: false, about }
}

pub(super) const MAP: Argument =
    Argument { name: "keys", kind: Kind::Map, optional: false, about: "its keys" };

const fn must(
    name: &'static str,
    kind: Kind,
    unit: &'static str,
    example: &'static str,
    about: &'static str,
) -> Key {
    Key { name, kind, unit, need: Need::Required, about, example }
}

pub(super) const fn may(
    name: &'static str,
    kind: Kind,
    unit: &'static str,
    example: &'static str,
    about: &'static str,
) -> Key {
    Key { name, kind, unit, need: Need::Optional, about, example }
}

const fn or(default: &'static str, key: Key) -> Key {
    Key { need: Need::Default(default), ..key }
}

/// What is done with straw.
const STRAW: Kind = Kind::Choice(&["bale", "chop"]);
