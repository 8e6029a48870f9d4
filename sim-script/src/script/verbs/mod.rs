//! The words of the script language, one table each: every key with its unit, default, meaning and example.
//! Each subject has a file; here is what they share.

mod crops;
mod kit;
mod land;
mod reckoning;
mod weather;

use super::policy::POLICY;
use super::verb::{Argument, Key, Kind, Need, Verb};
use crops::{AFTER_OPERATION, CROP, DAYS_AFTER, OPERATION};
use kit::{CONTRACTOR, HOURS, MACHINE, OUTFIT, PERSON};
use land::{FARM, FIELD};
use reckoning::{ADD_DAYS, DAYS_BETWEEN, HOURS_FROM, PARAM};
use weather::{
    DRIVER, DRIVERS_FROM, REPLAY, RESAMPLE, RULE, STAGE, SUITABLE, SUITABLE_DAYS, TABLE, WORK_CLASS,
};

/// Every verb, in the order in which a script usually needs them.
#[must_use]
pub const fn all_verbs() -> &'static [&'static Verb] {
    &[
        &FARM,
        &PARAM,
        &FIELD,
        &CROP,
        &OPERATION,
        &AFTER_OPERATION,
        &DAYS_AFTER,
        &WORK_CLASS,
        &HOURS,
        &PERSON,
        &MACHINE,
        &OUTFIT,
        &CONTRACTOR,
        &SUITABLE_DAYS,
        &SUITABLE,
        &DRIVERS_FROM,
        &DRIVER,
        &REPLAY,
        &RESAMPLE,
        &TABLE,
        &RULE,
        &STAGE,
        &POLICY,
        &ADD_DAYS,
        &DAYS_BETWEEN,
        &HOURS_FROM,
    ]
}

/// The verb of this name.
#[must_use]
pub fn verb(name: &str) -> Option<&'static Verb> {
    all_verbs().iter().find(|verb| verb.name == name).copied()
}

const fn name(about: &'static str) -> Argument {
    Argument { name: "name", kind: Kind::Text, optional: false, about }
}

const MAP: Argument = Argument { name: "keys", kind: Kind::Map, optional: false, about: "its keys" };

const fn must(
    name: &'static str,
    kind: Kind,
    unit: &'static str,
    example: &'static str,
    about: &'static str,
) -> Key {
    Key { name, kind, unit, need: Need::Required, about, example }
}

const fn may(
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
