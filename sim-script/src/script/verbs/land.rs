//! The words for the farm as a whole and for its fields.

use super::super::verb::{Gives, Kind, PartKind, Verb};
use super::{MAP, STRAW, may, must, name, or};
use sim_core::farm::ranges;

/// `farm`.
pub(super) const FARM: Verb = Verb {
    name: "farm",
    about: "The whole farm: the last thing in every script.",
    gives: Gives::Part,
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
            "currency",
            Kind::Text,
            "",
            "\"EUR\"",
            "what money is called, to be shown; all keys that begin with cost_ are in it",
        ),
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
    ranges: ranges::SITE,
    example: "farm(#{ name: \"Home farm\", suitable_days: days, classes: classes, crops: crops, fields: fields })",
};

/// `field`.
pub(super) const FIELD: Verb = Verb {
    name: "field",
    about: "A field: one piece of land with the crop that stands on it and the crop that follows.",
    gives: Gives::Part,
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
    ranges: ranges::FIELD,
    example: "field(\"Long Acre\", #{ area_ha: 12.0, soil: \"loam\", distance_km: 1.5, standing: \"wheat\", following: \"barley\" })",
};
