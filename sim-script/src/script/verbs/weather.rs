//! The words that say what days there are: work classes, tables of suitable days, records, rules for a
//! workable day, stages that come early or late.

use super::super::verb::{Argument, Gives, Key, Kind, Verb};
use super::{MAP, may, must, name, or};
use sim_core::farm::ranges;
use sim_core::weather::MachineWeight;

/// `work_class`.
pub(super) const WORK_CLASS: Verb = Verb {
    name: "work_class",
    about: "A work class: operations that need the same kind of day.",
    gives: Gives::Part,
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
    ranges: &[],
    example: "work_class(\"combining\", #{ driver: \"air\", hours: \"11:30-21:00\" })",
};

/// The name of a file beside the script.
const FILE: Argument = Argument {
    name: "file",
    kind: Kind::Text,
    optional: false,
    about: "the file's name, in the script's folder",
};

/// `suitable_days`.
pub(super) const SUITABLE_DAYS: Verb = Verb {
    name: "suitable_days",
    about: "Suitable days from a CSV file beside the script, with the columns class, soil, from, to, p_suitable and, if wanted, p_shut, spread, hours_mean and hours_sd.",
    gives: Gives::Part,
    arguments: &[FILE],
    keys: &[],
    ranges: &[],
    example: "suitable_days(\"days.csv\")",
};

/// `suitable`.
pub(super) const SUITABLE: Verb = Verb {
    name: "suitable",
    about: "How likely a day of a period is suitable for a work class on a soil.",
    gives: Gives::Part,
    arguments: &[MAP],
    keys: &[
        must("class", Kind::Text, "", "\"drilling\"", "the work class"),
        or(
            "any",
            may("soil", Kind::Text, "", "\"loam\"", "the soil; \"any\" for those without rows of their own"),
        ),
        or("01-01", may("from", Kind::Day, "", "\"09-16\"", "first day of the period")),
        or("12-31", may("to", Kind::Day, "", "\"09-30\"", "last day of the period")),
        must("p_suitable", Kind::Number, "0 to 1", "0.55", "the share of its days that are suitable"),
        may(
            "p_shut",
            Kind::Number,
            "0 to 1",
            "0.4",
            "the share of its days on which the land is shut for the rest of the autumn; 0 unless said",
        ),
        may(
            "spread",
            Kind::Number,
            "0 to 1",
            "0.3",
            "how much good and bad spells differ on these days; as the driver says unless said",
        ),
        may(
            "hours_mean",
            Kind::Number,
            "h",
            "6.5",
            "how many of a suitable day's 24 hours are workable on average; all of the class's hours unless said",
        ),
        may(
            "hours_sd",
            Kind::Number,
            "h",
            "2.5",
            "their standard deviation: how much such days differ; 0 unless said",
        ),
    ],
    ranges: ranges::SUITABLE,
    example: "suitable(#{ class: \"drilling\", soil: \"loam\", from: \"09-16\", to: \"09-30\", p_suitable: 0.55 })",
};

/// `drivers_from`.
pub(super) const DRIVERS_FROM: Verb = Verb {
    name: "drivers_from",
    about: "Drivers from a CSV file beside the script, with the columns driver, from, to, persistence, spread, spread_days and, if wanted, agreement.",
    gives: Gives::Part,
    arguments: &[FILE],
    keys: &[],
    ranges: &[],
    example: "drivers_from(\"drivers.csv\")",
};

/// `driver`.
pub(super) const DRIVER: Verb = Verb {
    name: "driver",
    about: "How the suitable days of one driver hang together in a period of the year.",
    gives: Gives::Part,
    arguments: &[name("the driver's name, as work classes use it"), MAP],
    keys: &[
        or("01-01", may("from", Kind::Day, "", "\"09-01\"", "first day of the period")),
        or("12-31", may("to", Kind::Day, "", "\"11-30\"", "last day of the period")),
        or(
            "0.32",
            may(
                "persistence",
                Kind::Number,
                "0 to 1",
                "0.4",
                "how often a day is as the day before, beyond chance",
            ),
        ),
        or(
            "0.33",
            may(
                "spread",
                Kind::Number,
                "0 to 1",
                "0.25",
                "how much good and bad spells differ; 0: all alike",
            ),
        ),
        or(
            "6",
            may(
                "spread_days",
                Kind::Spell,
                "days",
                "\"year\"",
                "how long such a spell lasts on average; \"year\" for whole seasons",
            ),
        ),
        or(
            "1",
            may(
                "agreement",
                Kind::Number,
                "0 to 1",
                "0.8",
                "how far it shares the farm's sky; 1: the same sky, 0: apart",
            ),
        ),
    ],
    ranges: ranges::DRIVER,
    example: "driver(\"soil\", #{ persistence: 0.5, spread: 0.2, spread_days: 20 })",
};

/// What `replay`, `resample` and `table` say of a file.
const RECORD_KEYS: &[Key] = &[
    may(
        "columns",
        Kind::Text,
        "",
        "\"date=Day:DD/MM/YYYY, rain=RAIN:inch\"",
        "which column holds what in which unit, where the columns are not called as the program's own",
    ),
    may(
        "missing",
        Kind::Texts,
        "",
        "[\"-999\", \"NA\"]",
        "texts that stand for no value, besides an empty cell",
    ),
    or(
        "0",
        may(
            "bridge_days",
            Kind::Whole { least: 0, most: 60 },
            "days",
            "3",
            "gaps of at most so many days are bridged by straight lines",
        ),
    ),
    or(
        "of the day",
        may(
            "rain_day",
            Kind::Choice(&["of the day", "to the morning"]),
            "",
            "\"to the morning\"",
            "of which hours a day's rain is the sum; \"to the morning\": of the 24 h until it is read, on the day it is noted under",
        ),
    ),
    may(
        "latitude_deg",
        Kind::Number,
        "degrees north",
        "52.2",
        "where it was noted; needed only to work out evapotranspiration",
    ),
    may("altitude_m", Kind::Number, "m", "70", "height above the sea at which it was noted; 0 unless said"),
    may("anemometer_m", Kind::Number, "m", "2", "height at which the wind was noted; 10 unless said"),
];

/// A map that may be left out.
const MAYBE_MAP: Argument = Argument { name: "keys", kind: Kind::Map, optional: true, about: "its keys" };

/// `replay`.
pub(super) const REPLAY: Verb = Verb {
    name: "replay",
    about: "The years of a daily record (CSV beside the script) as the weather, one after another as they were.",
    gives: Gives::Part,
    arguments: &[FILE, MAYBE_MAP],
    keys: RECORD_KEYS,
    ranges: ranges::STATION,
    example: "replay(\"record.csv\")",
};

/// `resample`.
pub(super) const RESAMPLE: Verb = Verb {
    name: "resample",
    about: "The years of a daily record (CSV beside the script) as the weather, a whole year drawn for every season.",
    gives: Gives::Part,
    arguments: &[FILE, MAYBE_MAP],
    keys: RECORD_KEYS,
    ranges: ranges::STATION,
    example: "resample(\"record.csv\", #{ columns: \"rain=RAIN:inch\", bridge_days: 2 })",
};

/// `table`.
pub(super) const TABLE: Verb = Verb {
    name: "table",
    about: "The weather of a table that is fitted to a daily record (CSV beside the script): suitable days by period, persistence and spread, and what so few years leave open.",
    gives: Gives::Part,
    arguments: &[FILE, MAYBE_MAP],
    keys: RECORD_KEYS,
    ranges: ranges::STATION,
    example: "table(\"record.csv\")",
};

/// `rule`.
pub(super) const RULE: Verb = Verb {
    name: "rule",
    about: "When a recorded day suits a work class on a soil: it must keep every limit that is given, and these alone; nothing of the rule to start from is left, nor does the class's `machine_weight` change it.",
    gives: Gives::Part,
    arguments: &[name("the work class"), MAP],
    keys: &[
        or(
            "any",
            may(
                "soil",
                Kind::Text,
                "",
                "\"loam\"",
                "the soil; \"any\" for those without a rule of their own",
            ),
        ),
        or(
            "moderate",
            may(
                "drainage",
                Kind::Choice(&["well", "moderate", "poor"]),
                "",
                "\"poor\"",
                "how the soil drains: whose deficit is looked at",
            ),
        ),
        may("deficit_min_mm", Kind::Number, "mm", "5", "least soil moisture deficit at yesterday's close"),
        may(
            "topsoil_min_mm",
            Kind::Number,
            "mm",
            "2",
            "least water gone from the surface at yesterday's close, of 10 mm",
        ),
        may("rain_max_mm", Kind::Number, "mm", "1", "most rain of the day"),
        may("rain_before_max_mm", Kind::Number, "mm", "5", "most rain of the days before, together"),
        or(
            "1",
            may(
                "rain_before_days",
                Kind::Whole { least: 1, most: 30 },
                "days",
                "3",
                "of how many days before",
            ),
        ),
        may("wind_max_m_s", Kind::Number, "m/s", "5", "most wind as the day's mean"),
        may("humidity_max_pct", Kind::Number, "%", "85", "most relative humidity as the day's mean"),
        may("delta_t_min_c", Kind::Number, "degrees C", "2", "least wet-bulb depression"),
        may("delta_t_max_c", Kind::Number, "degrees C", "8", "most wet-bulb depression"),
        may("night_min_c", Kind::Number, "degrees C", "0", "least temperature of the day's coldest hour"),
        may("mean_min_c", Kind::Number, "degrees C", "6", "least mean temperature"),
        may("et_min_mm", Kind::Number, "mm", "1", "least evapotranspiration: drying power"),
        may(
            "hours_min",
            Kind::Whole { least: 1, most: 24 },
            "h",
            "3",
            "how many hours must keep the limits on wind, humidity, delta-T and mean temperature, each hour looked at by itself",
        ),
        may(
            "hours_from",
            Kind::Whole { least: 0, most: 23 },
            "o'clock",
            "6",
            "when the first of these hours begins; 5 unless said",
        ),
        may(
            "hours_to",
            Kind::Whole { least: 1, most: 24 },
            "o'clock",
            "20",
            "when the last of them ends; 21 unless said",
        ),
        may(
            "shuts_below_mm",
            Kind::Number,
            "mm",
            "-5",
            "the land shuts for the year once its deficit is below this at a day's close",
        ),
        or("09-15", may("shuts_from", Kind::Day, "", "\"10-01\"", "the first day on which it can shut")),
        or("03-01", may("opens_on", Kind::Day, "", "\"03-15\"", "the day on which it is open again")),
    ],
    ranges: ranges::RULE,
    example: "rule(\"drilling\", #{ soil: \"loam\", deficit_min_mm: 3, rain_max_mm: 1, rain_before_max_mm: 5 })",
};

/// `stage`.
pub(super) const STAGE: Verb = Verb {
    name: "stage",
    about: "A stage of growth that early years bring sooner and late years later; operations that move with it have their window shifted by as many days.",
    gives: Gives::Part,
    arguments: &[name("the stage's name"), MAP],
    keys: &[
        must("normally", Kind::Day, "", "\"08-05\"", "the day on which a middling year has come to it"),
        or(
            "0",
            may(
                "base_c",
                Kind::Number,
                "degrees C",
                "5",
                "under a record: the mean temperature above which a day's warmth counts",
            ),
        ),
        or(
            "01-01",
            may(
                "from",
                Kind::Day,
                "",
                "\"03-01\"",
                "under a record: the first day whose warmth counts; a year is at the stage when its sum is that of a middling year",
            ),
        ),
        or(
            "0",
            may(
                "sd_days",
                Kind::Number,
                "days",
                "6",
                "where days are drawn: how much years differ (standard deviation), for all stages the same way",
            ),
        ),
    ],
    ranges: ranges::STAGE,
    example: "stage(\"ripeness\", #{ normally: \"08-05\", sd_days: 6 })",
};
