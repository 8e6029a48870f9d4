//! The words for parameters and for reckoning with days, hours and lists of numbers.

use super::super::verb::{Argument, Gives, Kind, Verb};
use super::may;

/// `param`.
pub(crate) const PARAM: Verb = Verb {
    name: "param",
    about: "Declares a number, text or flag of the script that can be set from outside, and gives its value.",
    gives: Gives::Any,
    arguments: &[
        Argument {
            name: "name",
            kind: Kind::Text,
            optional: false,
            about: "the name, written in quotes right here",
        },
        Argument {
            name: "value",
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
        Argument {
            name: "range",
            kind: Kind::Map,
            optional: true,
            about: "what it can sensibly be, for `dryspell sensitivity`",
        },
    ],
    keys: &[
        may("from", Kind::Number, "", "3.0", "the least that a number can sensibly be; any can still be set"),
        may("to", Kind::Number, "", "6.0", "the most that a number can sensibly be"),
        may("one_of", Kind::Texts, "", "[\"plough\", \"direct\"]", "what a text can sensibly be"),
    ],
    ranges: &[],
    example: "let drill_width_m = param(\"drill_width_m\", 4.0, \"working width of the drill\", #{ from: 3.0, to: 6.0 });",
};

/// `add_days`.
pub(super) const ADD_DAYS: Verb = Verb {
    name: "add_days",
    about: "A day of the year so many days later (or earlier, with a minus) in a year of 365 days, running over its turn.",
    gives: Gives::Text,
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
    ranges: &[],
    example: "add_days(\"03-01\", 20)",
};

/// `days_between`.
pub(super) const DAYS_BETWEEN: Verb = Verb {
    name: "days_between",
    about: "How many days the second day of the year is after the first in a year of 365 days; less than 0 if it is before.",
    gives: Gives::Whole,
    arguments: &[
        Argument { name: "first", kind: Kind::Day, optional: false, about: "the day to count from" },
        Argument { name: "second", kind: Kind::Day, optional: false, about: "the day to count to" },
    ],
    keys: &[],
    ranges: &[],
    example: "days_between(\"03-01\", \"03-21\")",
};

/// `hours_from`.
pub(super) const HOURS_FROM: Verb = Verb {
    name: "hours_from",
    about: "Hours as a text, from a time of the day on and so long.",
    gives: Gives::Text,
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
    ranges: &[],
    example: "hours_from(\"07:00\", 10.5)",
};

/// `sum`.
pub(super) const SUM: Verb = of_numbers("sum", "All numbers of a list together.", "sum([4.0, 6.5, 12.0])");

/// `mean`.
pub(super) const MEAN: Verb = of_numbers("mean", "The mean of a list of numbers.", "mean([4.0, 6.5, 12.0])");

/// `least`.
pub(super) const LEAST: Verb = of_numbers("least", "The least number of a list.", "least([4.0, 6.5, 12.0])");

/// `greatest`.
pub(super) const GREATEST: Verb =
    of_numbers("greatest", "The greatest number of a list.", "greatest([4.0, 6.5, 12.0])");

const fn of_numbers(name: &'static str, about: &'static str, example: &'static str) -> Verb {
    Verb { name, about, gives: Gives::Number, arguments: NUMBERS, keys: &[], ranges: &[], example }
}

const NUMBERS: &[Argument] =
    &[Argument { name: "list", kind: Kind::Numbers, optional: false, about: "the numbers" }];
