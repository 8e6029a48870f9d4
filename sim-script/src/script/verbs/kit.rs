//! The words for people with their hours, machines, and what works together.

use super::super::verb::{Gives, Kind, Verb};
use super::{MAP, may, must, name, or};
use sim_core::farm::ranges;

/// `hours`.
pub(super) const HOURS: Verb = Verb {
    name: "hours",
    about: "Hours on some days of the year; of several in a list the later ones override the earlier.",
    gives: Gives::Part,
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
    ranges: &[],
    example: "hours(#{ from: \"07-15\", to: \"09-30\", days: \"mon-sat\", open: \"07:00-20:00\" })",
};

/// `person`.
pub(super) const PERSON: Verb = Verb {
    name: "person",
    about: "Somebody who works on the farm.",
    gives: Gives::Part,
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
        may("cost_year", Kind::Number, "money", "42000.0", "what they cost a year however little they work"),
        may("cost_h", Kind::Number, "money/h", "22.0", "what an hour at work or on the road costs"),
    ],
    ranges: ranges::PERSON,
    example: "person(\"Driver\", #{ hours: \"07:00-18:00\", drives: [\"tractor\"], servicing_h: 0.5 })",
};

/// `machine`.
pub(super) const MACHINE: Verb = Verb {
    name: "machine",
    about: "A machine or an implement, or several alike.",
    gives: Gives::Part,
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
        may(
            "tank_l",
            Kind::Number,
            "l",
            "2000.0",
            "what its tank holds (sprayer), with `fill_min`; counts where an operation has `brings_l_ha`",
        ),
        may(
            "hopper_kg",
            Kind::Number,
            "kg",
            "1500.0",
            "what its hopper holds (drill, spreader), with `fill_min`; counts where an operation has `brings_kg_ha`",
        ),
        may("fill_min", Kind::Number, "min", "15.0", "time to fill the tank or hopper"),
        or("false", may("fill_at_yard", Kind::Flag, "", "true", "whether it goes to the yard to be filled")),
        may("load_t", Kind::Number, "t", "12.0", "what a trailer carries, with `unload_min`"),
        may("unload_min", Kind::Number, "min", "6.0", "time to tip or unload a trailer at the yard"),
        may(
            "cost_year",
            Kind::Number,
            "money",
            "6500.0",
            "what one of them costs a year, whatever its width and however little it works",
        ),
        may(
            "cost_m_year",
            Kind::Number,
            "money/m",
            "900.0",
            "what each metre of its width costs a year beside that, so that a wider one costs more",
        ),
        may(
            "cost_h",
            Kind::Number,
            "money/h",
            "18.0",
            "what an hour at work or on the road costs: fuel, wear",
        ),
        may("note", Kind::Text, "", "\"bought used\"", "anything worth remembering; changes nothing"),
    ],
    ranges: ranges::MACHINE,
    example: "machine(\"drill\", #{ width_m: 4.0, speed_km_h: 10.0, efficiency: 0.7 })",
};

/// `outfit`.
pub(super) const OUTFIT: Verb = Verb {
    name: "outfit",
    about: "Machines that work together, taken all at once or not at all.",
    gives: Gives::Part,
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
    ranges: &[],
    example: "outfit(\"harvest\", #{ units: [[\"combine\"], [\"tractor\", \"trailer\"]] })",
};

/// `contractor`.
pub(super) const CONTRACTOR: Verb = Verb {
    name: "contractor",
    about: "A hired outfit that brings its own machines and people.",
    gives: Gives::Part,
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
        may("cost_ha", Kind::Number, "money/ha", "75.0", "what a hectare of their work costs"),
    ],
    ranges: ranges::CONTRACTOR,
    example: "contractor(\"hired drill\", #{ work_rate_ha_h: 3.0, hours: \"07:00-20:00\", from: \"10-10\" })",
};
