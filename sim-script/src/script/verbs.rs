//! The words of the script language, one table each: every key with its unit, default, meaning and example.

use super::policy::POLICY;
use super::variant::VARIANT;
use super::verb::{Argument, Key, Kind, Need, PartKind, Verb};
use super::weather_verbs::{
    DRIVER, DRIVERS_FROM, REPLAY, RESAMPLE, RULE, STAGE, SUITABLE, SUITABLE_DAYS, TABLE,
};
use sim_core::weather::MachineWeight;

/// Every verb, in the order in which a script usually needs them.
#[must_use]
pub const fn all_verbs() -> &'static [&'static Verb] {
    &[
        &FARM,
        &PARAM,
        &VARIANT,
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

pub(super) const fn name(about: &'static str) -> Argument {
    Argument { name: "name", kind: Kind::Text, optional: false, about }
}

pub(super) const MAP: Argument =
    Argument { name: "keys", kind: Kind::Map, optional: false, about: "its keys" };

pub(super) const fn must(
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

pub(super) const fn or(default: &'static str, key: Key) -> Key {
    Key { need: Need::Default(default), ..key }
}

const STRAW: Kind = Kind::Choice(&["bale", "chop"]);

/// `param`.
const PARAM: Verb = Verb {
    name: "param",
    about: "Declares a number, text or flag of the script that can be set from outside, and gives its value.",
    arguments: &[
        Argument {
            name: "name",
            kind: Kind::Text,
            optional: false,
            about: "the name, written in quotes right here",
        },
        Argument {
            name: "default",
            kind: Kind::Any,
            optional: false,
            about: "its value unless it is set; also says of what kind it is",
        },
        Argument {
            name: "meaning",
            kind: Kind::Text,
            optional: true,
            about: "what it means, for whoever sets it",
        },
    ],
    keys: &[],
    example: "let drill_width_m = param(\"drill_width_m\", 4.0, \"working width of the drill\");",
};

/// `farm`.
const FARM: Verb = Verb {
    name: "farm",
    about: "The whole farm: the last thing in every script.",
    arguments: &[MAP],
    keys: &[
        must("name", Kind::Text, "", "\"Home farm\"", "the farm's name, for headings"),
        or("2025-01-01", may("first_day", Kind::Date, "", "\"2025-08-01\"", "first day of the season")),
        or("2025-12-31", may("last_day", Kind::Date, "", "\"2026-08-31\"", "last day of the season")),
        may(
            "latitude_deg",
            Kind::Number,
            "degrees north",
            "52.2",
            "where the farm lies; needed only by work that needs daylight",
        ),
        may(
            "longitude_deg",
            Kind::Number,
            "degrees east",
            "0.1",
            "where the farm lies; needed only by work that needs daylight",
        ),
        or("0", may("utc_offset_h", Kind::Number, "h", "1.0", "how far the clock is ahead of UTC in winter")),
        or(
            "true",
            may("summer_time", Kind::Flag, "", "false", "whether the clock is put forward an hour in summer"),
        ),
        may("holidays", Kind::Days, "", "[\"01-01\", \"12-25\"]", "days on which people are off"),
        may(
            "suitable_days",
            Kind::Parts(PartKind::Suitable),
            "",
            "[suitable(#{ class: \"drilling\", p_suitable: 0.5 })]",
            "how likely a day is suitable, by work class, soil and period",
        ),
        may(
            "weather",
            Kind::Parts(PartKind::Weather),
            "",
            "replay(\"record.csv\")",
            "a daily record, in the place of suitable_days and drivers: its years, or a table fitted to it",
        ),
        may(
            "policy",
            Kind::Parts(PartKind::Policy),
            "",
            "policy(#{ hold: |job| job.operation == \"ploughing\" && job.today < \"09-15\" })",
            "decisions that the script takes over from the manager",
        ),
        may(
            "rules",
            Kind::Parts(PartKind::Rule),
            "",
            "[rule(\"drilling\", #{ soil: \"loam\", deficit_min_mm: 3, rain_max_mm: 1 })]",
            "when a recorded day suits; for light, medium and heavy soil there are rules to start from",
        ),
        may(
            "drivers",
            Kind::Parts(PartKind::Driver),
            "",
            "[driver(\"soil\", #{ persistence: 0.5 })]",
            "how suitable days hang together",
        ),
        may(
            "stages",
            Kind::Parts(PartKind::Stage),
            "",
            "[stage(\"ripeness\", #{ normally: \"08-05\", sd_days: 6 })]",
            "stages of growth with which windows move in early and late years",
        ),
        must(
            "classes",
            Kind::Parts(PartKind::Class),
            "",
            "[work_class(\"drilling\", #{ driver: \"soil\" })]",
            "the work classes",
        ),
        may(
            "people",
            Kind::Parts(PartKind::Person),
            "",
            "[person(\"Driver\", #{ hours: \"07:00-17:00\" })]",
            "the people",
        ),
        may(
            "machines",
            Kind::Parts(PartKind::Machine),
            "",
            "[machine(\"drill\", #{ work_rate_ha_h: 2.0 })]",
            "the machines",
        ),
        may(
            "outfits",
            Kind::Parts(PartKind::Outfit),
            "",
            "[outfit(\"drilling\", #{ machines: [\"drill\"] })]",
            "machines that work together",
        ),
        may(
            "contractors",
            Kind::Parts(PartKind::Contractor),
            "",
            "[contractor(\"hired drill\", #{ work_rate_ha_h: 2.5, hours: \"07:00-19:00\" })]",
            "hired outfits",
        ),
        must(
            "crops",
            Kind::Parts(PartKind::Crop),
            "",
            "[crop(\"wheat\", #{})]",
            "the crops with their operations",
        ),
        must(
            "fields",
            Kind::Parts(PartKind::Field),
            "",
            "[field(\"Long Acre\", #{ area_ha: 12.0, soil: \"loam\" })]",
            "the fields",
        ),
    ],
    example: "farm(#{ name: \"Home farm\", suitable_days: days, classes: classes, crops: crops, fields: fields })",
};

/// `field`.
const FIELD: Verb = Verb {
    name: "field",
    about: "A field: one piece of land with the crop that stands on it and the crop that follows.",
    arguments: &[name("the field's name"), MAP],
    keys: &[
        must("area_ha", Kind::Number, "ha", "12.0", "its area"),
        must("soil", Kind::Text, "", "\"loam\"", "its soil, as in the table of suitable days"),
        or("0", may("distance_km", Kind::Number, "km", "1.5", "its distance from the yard")),
        may(
            "block",
            Kind::Text,
            "",
            "\"north\"",
            "fields of one block lie along one road: going between them does not pass the yard",
        ),
        may("standing", Kind::Text, "", "\"wheat\"", "the crop harvested from it this year"),
        may("following", Kind::Text, "", "\"barley\"", "the crop that comes next"),
        may("straw", STRAW, "", "\"chop\"", "what is done with its straw, if not what the crop says"),
        may("tillage", Kind::Text, "", "\"direct\"", "how its seedbed is made, if not as the crop says"),
    ],
    example: "field(\"Long Acre\", #{ area_ha: 12.0, soil: \"loam\", distance_km: 1.5, standing: \"wheat\", following: \"barley\" })",
};

/// `crop`.
const CROP: Verb = Verb {
    name: "crop",
    about: "A crop with the work that it needs.",
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
    example: "crop(\"wheat\", #{ yield_t_ha: 8.5, standing: [combining], following: [ploughing, drilling] })",
};

/// `operation`.
const OPERATION: Verb = Verb {
    name: "operation",
    about: "One kind of work on a crop, with the window in which it should be done.",
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
    example: "operation(\"drilling\", #{ class: \"drilling\", outfits: [\"drill\"], from: \"09-20\", due: \"10-15\", after: [\"ploughing\"] })",
};

/// `after_operation`.
const AFTER_OPERATION: Verb = Verb {
    name: "after_operation",
    about: "Says how one operation comes after another on the same field; goes into `after`.",
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
    example: "operation(\"rolling\", #{ class: \"drilling\", outfits: \"rolls\", from: \"09-20\", due: \"10-18\", after: after_operation(\"drilling\", #{ follow_ha: 3.0 }) })",
};

/// `days_after`.
const DAYS_AFTER: Verb = Verb {
    name: "days_after",
    about: "A day counted from the day on which another operation of the field is done; for `from`, `due` and `latest`.",
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
    example: "days_after(\"drilling\", 3)",
};

/// `work_class`.
const WORK_CLASS: Verb = Verb {
    name: "work_class",
    about: "A work class: operations that need the same kind of day.",
    arguments: &[name("the class's name"), MAP],
    keys: &[
        must(
            "driver",
            Kind::Text,
            "",
            "\"soil\"",
            "what its days depend on, such as \"soil\", \"air\" or \"wind\"",
        ),
        may(
            "hours",
            Kind::Hours,
            "",
            "\"11:30-21:00\"",
            "the hours of a suitable day in which it can be done; without them, all day and night",
        ),
        or("false", may("daylight", Kind::Flag, "", "true", "whether it needs daylight")),
        or(
            "start",
            may(
                "short_day_loses",
                Kind::Choice(&["start", "end", "middle"]),
                "",
                "\"middle\"",
                "which part of these hours a suitable day loses that has fewer (see `hours_mean` of suitable days)",
            ),
        ),
        may(
            "machine_weight",
            Kind::Choice(&MachineWeight::NAMES),
            "",
            "\"heavy\"",
            "under a record: how heavy its machines are for their work; the rules to start from let light ones on medium and heavy land sooner and heavy ones later, a `rule` of your own stands as it is; middling unless said",
        ),
    ],
    example: "work_class(\"combining\", #{ driver: \"air\", hours: \"11:30-21:00\" })",
};

/// `hours`.
const HOURS: Verb = Verb {
    name: "hours",
    about: "Hours on some days of the year; of several in a list the later ones override the earlier.",
    arguments: &[MAP],
    keys: &[
        or("01-01", may("from", Kind::Day, "", "\"07-15\"", "first day on which they hold")),
        or("12-31", may("to", Kind::Day, "", "\"09-30\"", "last day on which they hold")),
        may(
            "days",
            Kind::Weekdays,
            "",
            "\"mon-sat\"",
            "days of the week, such as \"mon-fri\", \"sat, sun\", \"holidays\", or \"every day\" (holidays too); without it, people: mon-sun but not holidays, classes and contractors: every day",
        ),
        must(
            "open",
            Kind::Open,
            "",
            "\"05:00-10:00, 18:00-21:30\"",
            "the hours, at most three stretches a day; \"closed\" for none",
        ),
    ],
    example: "hours(#{ from: \"07-15\", to: \"09-30\", days: \"mon-sat\", open: \"07:00-20:00\" })",
};

/// `person`.
const PERSON: Verb = Verb {
    name: "person",
    about: "Somebody who works on the farm.",
    arguments: &[name("a role or a name"), MAP],
    keys: &[
        must(
            "hours",
            Kind::Hours,
            "",
            "\"07:00-18:00\"",
            "hours of work; a text alone means mon-sun but not holidays",
        ),
        may("drives", Kind::Texts, "", "[\"tractor\", \"combine\"]", "the machines that they may drive"),
        or(
            "0",
            may(
                "servicing_h",
                Kind::Number,
                "h",
                "0.5",
                "daily servicing and fuelling at the start of the hours",
            ),
        ),
        or("0", may("overtime_h", Kind::Number, "h", "2.0", "the longest overtime at the end of a day")),
        may("holidays", Kind::Days, "", "[\"08-15\"]", "days off beside the farm's holidays"),
    ],
    example: "person(\"Driver\", #{ hours: \"07:00-18:00\", drives: [\"tractor\"], servicing_h: 0.5 })",
};

/// `machine`.
const MACHINE: Verb = Verb {
    name: "machine",
    about: "A machine or an implement, or several alike.",
    arguments: &[name("the machine's name"), MAP],
    keys: &[
        or("1", may("count", Kind::Whole { least: 1, most: 128 }, "", "2", "how many alike there are")),
        or(
            "false",
            may("needs_driver", Kind::Flag, "", "true", "whether whoever works it must list it in `drives`"),
        ),
        may("width_m", Kind::Number, "m", "4.0", "working width, with `speed_km_h` and `efficiency`"),
        may("speed_km_h", Kind::Number, "km/h", "10.0", "working speed"),
        may("efficiency", Kind::Number, "0 to 1", "0.7", "field efficiency: turning, overlap, small stops"),
        may(
            "work_rate_ha_h",
            Kind::Number,
            "ha/h",
            "2.5",
            "work rate, in place of width, speed and efficiency",
        ),
        may("throughput_t_h", Kind::Number, "t/h", "25.0", "the most crop that it takes in (combine, baler)"),
        may(
            "road_speed_km_h",
            Kind::Number,
            "km/h",
            "25.0",
            "speed on the road; without it, distance is not counted",
        ),
        may("tank_l", Kind::Number, "l", "2000.0", "what its tank holds, with `fill_min`"),
        may("hopper_kg", Kind::Number, "kg", "1500.0", "what its hopper holds, with `fill_min`"),
        may("fill_min", Kind::Number, "min", "15.0", "time to fill the tank or hopper"),
        or("false", may("fill_at_yard", Kind::Flag, "", "true", "whether it goes to the yard to be filled")),
        may("load_t", Kind::Number, "t", "12.0", "what a trailer carries, with `unload_min`"),
        may("unload_min", Kind::Number, "min", "6.0", "time to tip or unload a trailer at the yard"),
        may("note", Kind::Text, "", "\"bought used\"", "anything worth remembering; changes nothing"),
    ],
    example: "machine(\"drill\", #{ width_m: 4.0, speed_km_h: 10.0, efficiency: 0.7 })",
};

/// `outfit`.
const OUTFIT: Verb = Verb {
    name: "outfit",
    about: "Machines that work together, taken all at once or not at all.",
    arguments: &[name("the outfit's name"), MAP],
    keys: &[
        may("machines", Kind::Texts, "", "[\"tractor\", \"drill\"]", "machines for one driver"),
        may(
            "units",
            Kind::Groups,
            "",
            "[[\"combine\"], [\"tractor\", \"trailer\"]]",
            "in place of `machines`: one list for each driver",
        ),
    ],
    example: "outfit(\"harvest\", #{ units: [[\"combine\"], [\"tractor\", \"trailer\"]] })",
};

/// `contractor`.
const CONTRACTOR: Verb = Verb {
    name: "contractor",
    about: "A hired outfit that brings its own machines and people.",
    arguments: &[name("the contractor's name"), MAP],
    keys: &[
        must("work_rate_ha_h", Kind::Number, "ha/h", "3.0", "work rate"),
        must("hours", Kind::Hours, "", "\"07:00-20:00\"", "hours of work; a text alone means every day"),
        may("from", Kind::Day, "", "\"10-10\"", "the first day on which they come; without it, always"),
        or(
            "false",
            may(
                "only_if_behind",
                Kind::Flag,
                "",
                "true",
                "whether they are called only for work that has no days in hand",
            ),
        ),
    ],
    example: "contractor(\"hired drill\", #{ work_rate_ha_h: 3.0, hours: \"07:00-20:00\", from: \"10-10\" })",
};

/// `add_days`.
const ADD_DAYS: Verb = Verb {
    name: "add_days",
    about: "A day of the year so many days later (or earlier, with a minus) in a year of 365 days, running over its turn.",
    arguments: &[
        Argument { name: "day", kind: Kind::Day, optional: false, about: "the day to start from" },
        Argument {
            name: "days",
            kind: Kind::Whole { least: -36_500, most: 36_500 },
            optional: false,
            about: "how many days to add",
        },
    ],
    keys: &[],
    example: "add_days(\"03-01\", 20)",
};

/// `days_between`.
const DAYS_BETWEEN: Verb = Verb {
    name: "days_between",
    about: "How many days the second day of the year is after the first in a year of 365 days; less than 0 if it is before.",
    arguments: &[
        Argument { name: "first", kind: Kind::Day, optional: false, about: "the day to count from" },
        Argument { name: "second", kind: Kind::Day, optional: false, about: "the day to count to" },
    ],
    keys: &[],
    example: "days_between(\"03-01\", \"03-21\")",
};

/// `hours_from`.
const HOURS_FROM: Verb = Verb {
    name: "hours_from",
    about: "Hours as a text, from a time of the day on and so long.",
    arguments: &[
        Argument { name: "start", kind: Kind::Clock, optional: false, about: "when they begin" },
        Argument {
            name: "hours",
            kind: Kind::Number,
            optional: false,
            about: "how long they last, in hours",
        },
    ],
    keys: &[],
    example: "hours_from(\"07:00\", 10.5)",
};
