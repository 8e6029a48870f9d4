//! What a decision can read, one table each for a job, a day and a field, and one for the ground of any: for messages, for
//! the reference, and to know what a decision depends on. How it is read is in `views`; a test holds the two together.

use super::memory::{LONGEST_NOTE, MOST_NOTES};
use crate::script::verb::Gives;
use crate::words::nearest;

/// Something that a decision can read.
#[derive(Debug, Clone, Copy)]
pub struct Property {
    /// Its name; a quantity ends in its unit.
    pub name: &'static str,
    /// What it gives.
    pub gives: Gives,
    /// The unit, or empty.
    pub unit: &'static str,
    /// What stands in its brackets, or empty where it has none.
    pub takes: &'static str,
    /// What it means, in a sentence.
    pub about: &'static str,
    /// Whether it tells one field of an operation from another, or one day from what was done before.
    pub(super) by_field: bool,
    /// Whether it differs from season to season.
    pub(super) by_season: bool,
}

impl Property {
    /// As a script writes it: with its brackets, where it has some.
    #[must_use]
    pub fn written(&self) -> String {
        if self.takes.is_empty() { self.name.into() } else { format!("{}(\"{}\")", self.name, self.takes) }
    }
}

/// The same in every season, and for every field of an operation on one soil.
const fn known(name: &'static str, gives: Gives, unit: &'static str, about: &'static str) -> Property {
    Property { name, gives, unit, takes: "", about, by_field: false, by_season: false }
}

const fn of_the_field(property: Property) -> Property {
    Property { by_field: true, ..property }
}

const fn of_the_season(property: Property) -> Property {
    Property { by_season: true, ..property }
}

const TODAY: Property =
    known("today", Gives::Text, "MM-DD", "the day of the year; later days compare as greater");
const WEEKDAY: Property = known(
    "weekday",
    Gives::Text,
    "",
    "the day of the week: \"mon\", \"tue\", \"wed\", \"thu\", \"fri\", \"sat\" or \"sun\"",
);
const SEASON_DAY: Property =
    known("season_day", Gives::Whole, "", "which day of the season it is; 1 is the first");
const MEMORY: Property = of_the_field(of_the_season(known(
    "memory",
    Gives::Memory,
    "",
    "what decisions have noted since the season began",
)));

/// What a day suits.
pub(super) const SUITS_TODAY: &str = "suits_today";

const fn suits(about: &'static str) -> Property {
    of_the_season(Property { takes: "work class", ..known(SUITS_TODAY, Gives::Flag, "", about) })
}

/// Something that decisions look at.
#[derive(Debug, Clone, Copy)]
pub struct View {
    /// Its name: what a closure is given.
    pub name: &'static str,
    /// What it is.
    pub about: &'static str,
    /// What can be read of it, [`GROUND`] apart.
    pub properties: &'static [Property],
}

/// All that decisions look at.
pub const VIEWS: &[View] = &[
    View {
        name: "job",
        about: "The work that is decided on, one operation on one field: |job| of `rank`, `hold`, `hire` and `outfit` in \
                policy, as in |job| job.days_in_hand < 1.0.",
        properties: OF_JOB,
    },
    View {
        name: "day",
        about: "The day as it begins: |day| of `overtime_h` in policy, as in |day| if day.least_days_in_hand < 2.0 { 2.0 } \
                else { 0.0 }.",
        properties: OF_DAY,
    },
    View {
        name: "field",
        about: "A field when its straw or its seedbed is decided on: |field| of `straw` and `tillage` in policy, as in |field| \
                if field.days_in_hand < 3.0 { \"chop\" } else { field.usual }.",
        properties: OF_FIELD,
    },
];

/// What a decision can read of a job.
const OF_JOB: &[Property] = &[
    known("crop", Gives::Text, "", "the crop that the work is for"),
    known("operation", Gives::Text, "", "the operation's name"),
    known("work_class", Gives::Text, "", "its work class"),
    known("outfits", Gives::List, "", "the names of the outfits that can do it, the preferred first"),
    of_the_field(known("field", Gives::Text, "", "the field's name")),
    known("soil", Gives::Text, "", "the field's soil"),
    of_the_field(known("area_ha", Gives::Number, "ha", "the field's area")),
    of_the_field(of_the_season(known(
        "area_left_ha",
        Gives::Number,
        "ha",
        "the area on which it is still to be done",
    ))),
    of_the_field(known("distance_km", Gives::Number, "km", "the field's distance from the yard")),
    of_the_field(of_the_season(known("started", Gives::Flag, "", "whether it has been begun"))),
    of_the_season(known(
        "days_in_hand",
        Gives::Number,
        "days",
        "suitable days expected up to the due day beyond those that the operation still needs on all its fields; less than 0 when it is behind",
    )),
    of_the_season(known("slack_h", Gives::Number, "h", "the same in hours of work")),
    of_the_season(known(
        "days_needed",
        Gives::Number,
        "days",
        "suitable days of today's hours that the operation still needs on all its fields",
    )),
    known("p_today", Gives::Number, "0 to 1", "how likely a day like this is suitable for the work"),
    of_the_season(known(
        "gives_way",
        Gives::Flag,
        "",
        "whether later work of some field, with clearly fewer suitable days, is ready today too: the plough on a drilling day",
    )),
    of_the_season(known(
        "only_if_behind",
        Gives::Flag,
        "",
        "in `hire`: whether the contractor is called only for work that is behind; false elsewhere",
    )),
    suits("whether today suits that work class on the job's soil too: job.suits_today(\"combining\")"),
    TODAY,
    WEEKDAY,
    SEASON_DAY,
    MEMORY,
];

/// What a decision can read of a day.
const OF_DAY: &[Property] = &[
    TODAY,
    WEEKDAY,
    SEASON_DAY,
    of_the_season(known(
        "least_days_in_hand",
        Gives::Number,
        "days",
        "the fewest days in hand of any operation that could be worked today",
    )),
    of_the_season(known(
        "overtime_week_h",
        Gives::Number,
        "h",
        "the overtime allowed on the six days before: tired people have to stop",
    )),
    suits("whether today suits that work class on any soil: day.suits_today(\"combining\")"),
    MEMORY,
];

/// What a decision can read of a field.
const OF_FIELD: &[Property] = &[
    known("name", Gives::Text, "", "the field's name"),
    known("crop", Gives::Text, "", "the crop whose straw or seedbed it is"),
    known("soil", Gives::Text, "", "its soil"),
    known("area_ha", Gives::Number, "ha", "its area"),
    known("distance_km", Gives::Number, "km", "its distance from the yard"),
    known(
        "usual",
        Gives::Text,
        "",
        "what the field or its crop says: \"bale\" or \"chop\", or how its seedbed is made",
    ),
    of_the_season(known(
        "days_in_hand",
        Gives::Number,
        "days",
        "the fewest days in hand of any work that is still to be done on it",
    )),
    of_the_season(known(
        "least_days_in_hand",
        Gives::Number,
        "days",
        "the fewest days in hand of any operation that could be worked this morning",
    )),
    suits("whether today suits that work class on its soil: field.suits_today(\"drilling\")"),
    TODAY,
    WEEKDAY,
    SEASON_DAY,
    MEMORY,
];

const fn ground(name: &'static str, about: &'static str) -> Property {
    of_the_season(known(name, Gives::Number, "mm", about))
}

/// What a decision can read of rain and soil, whatever it looks at; only where a season is a recorded year.
pub const GROUND: &[Property] = &[
    ground("deficit_well_mm", "soil moisture deficit of well drained soil at yesterday's close"),
    ground(
        "deficit_moderate_mm",
        "the same of moderately drained soil; less than 0 when it is wetter than it can hold",
    ),
    ground("deficit_poor_mm", "the same of poorly drained soil"),
    ground("topsoil_mm", "water gone from the surface at yesterday's close, of 10 mm"),
    ground("rain_yesterday_mm", "yesterday's rain"),
    ground("rain_week_mm", "the rain of the last seven days"),
];

/// What the memory is, in sentences.
#[must_use]
pub fn about_memory() -> String {
    format!(
        "`job.memory.name = value` notes a number, a text, true or false under a name of your choice, and so do a day and a \
         field; `job.memory.name` gives it back to every decision, and () if nothing was noted. It is empty when a season begins, and holds {MOST_NOTES} notes of {LONGEST_NOTE} letters at the most."
    )
}

/// The properties of a job, a day or a field, and the one that is nearest to a name that they do not have.
pub(in super::super) fn known_of(of: &str, name: &str) -> Option<(Vec<&'static str>, Option<&'static str>)> {
    let view = VIEWS.iter().find(|view| view.name == of)?;
    let all: Vec<&str> = view.properties.iter().chain(GROUND).map(|property| property.name).collect();
    let near = nearest(name, all.iter().copied());
    Some((all, near))
}

/// The property of this name, of whatever has it: those of one name depend on as much.
pub(super) fn property(name: &str) -> Option<&'static Property> {
    VIEWS.iter().flat_map(|view| view.properties).chain(GROUND).find(|property| property.name == name)
}
