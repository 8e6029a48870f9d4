//! The words for crops and the work that they need.

use super::super::verb::{Argument, Gives, Kind, PartKind, Verb};
use super::{MAP, STRAW, may, must, name, or};
use sim_core::farm::ranges;

/// `crop`.
pub(super) const CROP: Verb = Verb {
    name: "crop",
    about: "A crop with the work that it needs.",
    gives: Gives::Part,
    arguments: &[name("the crop's name"), MAP],
    keys: &[
        or(
            "0",
            may("yield_t_ha", Kind::Number, "t/ha", "8.5", "grain yield, for the combine and the trailers"),
        ),
        or("0", may("straw_t_ha", Kind::Number, "t/ha", "4.0", "straw yield, for the baler and drawing in")),
        or("bale", may("straw", STRAW, "", "\"chop\"", "what is done with its straw")),
        or(
            "plough",
            may(
                "tillage",
                Kind::Text,
                "",
                "\"direct\"",
                "how its seedbed is made; operations may be kept for one way",
            ),
        ),
        may(
            "standing",
            Kind::Parts(PartKind::Operation),
            "",
            "[operation(\"combining\", #{ class: \"combining\", outfits: \"combine\", from: \"08-01\", due: \"08-20\" })]",
            "its work in the year of its harvest",
        ),
        may(
            "following",
            Kind::Parts(PartKind::Operation),
            "",
            "[operation(\"drilling\", #{ class: \"drilling\", outfits: \"drill\", from: \"09-20\", due: \"10-15\" })]",
            "the work for it in the year before its harvest",
        ),
    ],
    ranges: ranges::CROP,
    example: "crop(\"wheat\", #{ yield_t_ha: 8.5, standing: [combining], following: [ploughing, drilling] })",
};

/// `operation`.
pub(super) const OPERATION: Verb = Verb {
    name: "operation",
    about: "One kind of work on a crop, with the window in which it should be done.",
    gives: Gives::Part,
    arguments: &[name("the operation's name"), MAP],
    keys: &[
        must("class", Kind::Text, "", "\"drilling\"", "its work class"),
        must(
            "outfits",
            Kind::Texts,
            "",
            "[\"drill\", \"hired drill\"]",
            "the outfits or contractors that can do it, the preferred one first",
        ),
        must("from", Kind::When, "", "\"09-20\"", "may start on this day"),
        must("due", Kind::When, "", "\"10-15\"", "should be done by the end of this day"),
        may(
            "latest",
            Kind::When,
            "",
            "\"11-15\"",
            "abandoned at the end of this day; without it, 30 days after `due`",
        ),
        may(
            "moves_with",
            Kind::Text,
            "",
            "\"ripeness\"",
            "the stage with which its dates move in early and late years; those given are a middling year's",
        ),
        may("after", Kind::Links, "", "[\"ploughing\"]", "what must come before it on the field"),
        may("straw", STRAW, "", "\"chop\"", "done only where the straw is treated so"),
        may(
            "tillage",
            Kind::Texts,
            "",
            "[\"plough\"]",
            "done only where the seedbed is made in one of these ways",
        ),
        may("moves", Kind::Choice(&["grain", "straw"]), "", "\"grain\"", "what it takes from the field"),
        may("brings_kg_ha", Kind::Number, "kg/ha", "180.0", "what it brings to the field (seed, fertiliser)"),
        may("brings_l_ha", Kind::Number, "l/ha", "100.0", "what it brings to the field (spray)"),
        or(
            "1",
            may(
                "chopping_factor",
                Kind::Number,
                "",
                "0.85",
                "factor on the work rate where the straw is chopped",
            ),
        ),
        may(
            "fallback_crop",
            Kind::Text,
            "",
            "\"spring barley\"",
            "the crop to which land goes that is undone at `latest`",
        ),
    ],
    ranges: ranges::OPERATION,
    example: "operation(\"drilling\", #{ class: \"drilling\", outfits: [\"drill\"], from: \"09-20\", due: \"10-15\", after: [\"ploughing\"] })",
};

/// `after_operation`.
pub(super) const AFTER_OPERATION: Verb = Verb {
    name: "after_operation",
    about: "Says how one operation comes after another on the same field; goes into `after`.",
    gives: Gives::Part,
    arguments: &[name("the operation that comes first"), MAP],
    keys: &[
        or(
            "true",
            may(
                "required",
                Kind::Flag,
                "",
                "false",
                "true: without the first one there is no second; false: at the first one's `latest` the second may start all the same",
            ),
        ),
        or("0", may("min_lag_h", Kind::Number, "h", "24.0", "hours to wait after it is done")),
        may(
            "max_lag_days",
            Kind::Whole { least: 0, most: 366 },
            "days",
            "7",
            "days within which this one should have started",
        ),
        or(
            "continue",
            may(
                "if_missed",
                Kind::Choice(&["continue", "drop", "repeat"]),
                "",
                "\"repeat\"",
                "what happens when `max_lag_days` has passed: go on, drop this one, or do the first one again",
            ),
        ),
        may(
            "follow_ha",
            Kind::Number,
            "ha",
            "3.0",
            "may follow in the same field once this much is done; never overtakes",
        ),
    ],
    ranges: ranges::LINK,
    example: "operation(\"rolling\", #{ class: \"drilling\", outfits: \"rolls\", from: \"09-20\", due: \"10-18\", after: after_operation(\"drilling\", #{ follow_ha: 3.0 }) })",
};

/// `days_after`.
pub(super) const DAYS_AFTER: Verb = Verb {
    name: "days_after",
    about: "A day counted from the day on which another operation of the field is done; for `from`, `due` and `latest`.",
    gives: Gives::Part,
    arguments: &[
        name("the operation to count from"),
        Argument {
            name: "days",
            kind: Kind::Whole { least: 0, most: 366 },
            optional: false,
            about: "how many days after it is done",
        },
    ],
    keys: &[],
    ranges: &[],
    example: "days_after(\"drilling\", 3)",
};
