//! What the columns are: one definition for the header of a file and for its description.

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Kind {
    Text,
    Whole,
    Number,
    Date,
    DateTime,
}

/// A column.
#[derive(Debug)]
pub(crate) struct Column {
    pub(crate) name: &'static str,
    pub(crate) kind: Kind,
    /// Its unit; empty where it has none.
    pub(crate) unit: &'static str,
    pub(crate) about: &'static str,
}

/// A table.
#[derive(Debug)]
pub(crate) struct Table {
    /// The file is called so, with `.csv`.
    pub(crate) name: &'static str,
    pub(crate) about: &'static str,
    pub(crate) columns: &'static [Column],
}

/// The order in which tables are listed.
pub(crate) const ORDER: [&str; 11] = [
    "relief",
    "sweep",
    "sensitivity",
    "compare",
    "farm",
    "risk",
    "finish",
    "seasons",
    "use",
    "waits",
    "trace",
];

pub(super) const fn column(
    name: &'static str,
    kind: Kind,
    unit: &'static str,
    about: &'static str,
) -> Column {
    Column { name, kind, unit, about }
}

/// What a record comes to as a table of suitable days.
pub(crate) const DAYS: Table = Table {
    name: "days",
    about: "The share of suitable days of each kind of work, by soil and period of the year.",
    columns: &[
        column("class", Kind::Text, "", "The work class."),
        column("soil", Kind::Text, "", "The soil; any: all soils."),
        column("from", Kind::Text, "", "First day of the period, MM-DD."),
        column("to", Kind::Text, "", "Last day of the period, counted, MM-DD."),
        column("p_suitable", Kind::Number, "1", "Share of the recorded days that suit."),
        column(
            "p_shut",
            Kind::Number,
            "1",
            "Share of the recorded days on which the land is shut until winter is over, where the rule shuts it; else empty.",
        ),
        column(
            "spread",
            Kind::Number,
            "1",
            "Variance of the day's chance between spells, over p (1 - p); empty where that of the driver holds.",
        ),
        column(
            "hours_mean",
            Kind::Number,
            "h",
            "Mean of the workable hours of a suitable day in the month, where the rule goes by the hour; else empty.",
        ),
        column("hours_sd", Kind::Number, "h", "Standard deviation of them."),
        column("p_low", Kind::Number, "1", "Lower end of the share's 95 % interval, from years drawn anew."),
        column("p_high", Kind::Number, "1", "Upper end of it."),
        column("years", Kind::Whole, "years", "Years with a known day in the period."),
    ],
};

/// How days hang together, by driver.
pub(crate) const DRIVERS: Table = Table {
    name: "drivers",
    about: "How days hang together, by driver (what makes days suitable) and part of the year.",
    columns: &[
        column("driver", Kind::Text, "", "The driver."),
        column("from", Kind::Text, "", "First day of the part of the year, MM-DD."),
        column("to", Kind::Text, "", "Last day of it, counted, MM-DD."),
        column("persistence", Kind::Number, "1", "Chance that a day keeps yesterday's sky."),
        column("spread", Kind::Number, "1", "Variance of the day's chance between spells, over p (1 - p)."),
        column("spread_days", Kind::Number, "d", "Mean length of a spell."),
        column("agreement", Kind::Number, "1", "Chance that a day takes the draws that all drivers share."),
    ],
};

const VARIANT: Column = column("variant", Kind::Text, "", "The farm among those compared.");
const CROP: Column = column("crop", Kind::Text, "", "The crop.");
const OPERATION: Column = column("operation", Kind::Text, "", "The operation of the crop.");

pub(crate) const RISK: Table = Table {
    name: "risk",
    about: "The risk of each operation of each crop, over all its fields.",
    columns: &[
        VARIANT,
        CROP,
        OPERATION,
        column("seasons", Kind::Whole, "seasons", "Seasons worked."),
        column(
            "due",
            Kind::Date,
            "",
            "Should be finished by the end of this day; empty where the window follows other work or moves with a stage: each season is then judged by its own.",
        ),
        column(
            "p_late",
            Kind::Number,
            "1",
            "Chance that not all of its area is done by the end of the due day; unfinished counts as late. 1 - p_done(due) where `due` is given.",
        ),
        column(
            "p_late_low",
            Kind::Number,
            "1",
            "Lower end of the 95 % interval (Wilson) of p_late for so many seasons.",
        ),
        column("p_late_high", Kind::Number, "1", "Upper end of it."),
        column(
            "p_late_record_low",
            Kind::Number,
            "1",
            "Lower end of the 95 % interval of p_late that so few recorded years leave: of years worked as they were from drawing them anew (and Wilson's for as many years); of a table fitted to a record from fitting it again to years drawn anew, the error of the simulation added; empty unless a record is used, and where a table was not fitted again.",
        ),
        column("p_late_record_high", Kind::Number, "1", "Upper end of it."),
        column("p_unfinished", Kind::Number, "1", "Chance that not all of its area is done at all."),
        column(
            "finish_p10",
            Kind::Date,
            "",
            "First day by which all is done in 10 of 100 seasons, unfinished counting as later than every day; never: there is none; empty: too few seasons to support it.",
        ),
        column("finish_p50", Kind::Date, "", "The same for 50 of 100 seasons."),
        column("finish_p80", Kind::Date, "", "The same for 80 of 100 seasons."),
        column("finish_p90", Kind::Date, "", "The same for 90 of 100 seasons."),
        column(
            "days_late_mean",
            Kind::Number,
            "d",
            "Mean days late over all seasons, 0 where not late, counted to the last day of its window where unfinished.",
        ),
        column(
            "days_late_p90",
            Kind::Whole,
            "d",
            "Days late that 90 of 100 seasons do not exceed; empty: too few seasons to support it.",
        ),
        column("area_late_ha_mean", Kind::Number, "ha", "Mean area not done by the end of the due day."),
        column(
            "ha_days_late_mean",
            Kind::Number,
            "ha d",
            "Mean of undone area over the time after the due day.",
        ),
    ],
};

const LOW: &str = "Lower end of its 95 % interval (paired t).";
const HIGH: &str = "Upper end of it.";
pub(super) const LOW_OF_CHANCE: &str = "Lower end of its 95 % interval (Newcombe 1998, method 10; Tango 1998 where fewer than 50 pairs differ). Where the interval leaves out 0, the two can be told apart.";
const PAIRS_ENOUGH: &str = "From how many pairs on an interval of differences as skew as these holds its 95 % to within about one (28 + 25 skewness squared: Sugden and others 2000); with fewer it may hold less. Empty where no pair differs from another.";

pub(crate) const COMPARE: Table = Table {
    name: "compare",
    about: "Each operation that the base and a variant both have, season by season under the same skies; differences are the variant's less the base's: below 0 the variant is better.",
    columns: &[
        column("base", Kind::Text, "", "The farm that is compared with."),
        VARIANT,
        CROP,
        OPERATION,
        column("pairs", Kind::Whole, "", "How many pairs the figures rest on."),
        column(
            "pairs_are",
            Kind::Text,
            "",
            "seasons; or years: recorded years that were worked as they were, each counted once however often it was worked, so that the chances can differ from those in risk.csv.",
        ),
        column(
            "late_both",
            Kind::Number,
            "",
            "Pairs in which both were late; of a year the share of its seasons.",
        ),
        column("late_variant_only", Kind::Number, "", "Pairs in which only the variant was late."),
        column("late_base_only", Kind::Number, "", "Pairs in which only the base was late."),
        column("late_neither", Kind::Number, "", "Pairs in which neither was late."),
        column("p_late_base", Kind::Number, "1", "Chance that the base is late."),
        column("p_late_variant", Kind::Number, "1", "Chance that the variant is late."),
        column("p_late_difference", Kind::Number, "1", "Difference of these chances."),
        column("p_late_difference_low", Kind::Number, "1", LOW_OF_CHANCE),
        column("p_late_difference_high", Kind::Number, "1", HIGH),
        column(
            "p_late_pairs_more",
            Kind::Whole,
            "",
            "How many more pairs would tell this difference from none, were it so in them too; 0: it is told apart; empty: no number would.",
        ),
        column("days_late_difference", Kind::Number, "d", "Mean difference in days late."),
        column("days_late_difference_low", Kind::Number, "d", LOW),
        column("days_late_difference_high", Kind::Number, "d", HIGH),
        column("days_late_pairs_enough", Kind::Whole, "", PAIRS_ENOUGH),
        column(
            "area_late_ha_difference",
            Kind::Number,
            "ha",
            "Mean difference in the area not done by the end of the due day.",
        ),
        column("area_late_ha_difference_low", Kind::Number, "ha", LOW),
        column("area_late_ha_difference_high", Kind::Number, "ha", HIGH),
        column("area_late_ha_pairs_enough", Kind::Whole, "", PAIRS_ENOUGH),
        column(
            "ha_days_late_difference",
            Kind::Number,
            "ha d",
            "Mean difference in undone area over the time after the due day.",
        ),
        column("ha_days_late_difference_low", Kind::Number, "ha d", LOW),
        column("ha_days_late_difference_high", Kind::Number, "ha d", HIGH),
        column("ha_days_late_pairs_enough", Kind::Whole, "", PAIRS_ENOUGH),
    ],
};

pub(crate) const FARM: Table = Table {
    name: "farm",
    about: "Each farm as a whole, and how it differs from the first, the base, season by season under the same skies; differences are the farm's less the base's.",
    columns: &[
        VARIANT,
        column(
            "pairs",
            Kind::Whole,
            "",
            "How many seasons the figures rest on; recorded years, each counted once, where years are worked as they were.",
        ),
        column(
            "late_operations_mean",
            Kind::Number,
            "1",
            "Mean number of operations (of a crop) that are late in a year.",
        ),
        column("late_operations_low", Kind::Number, "1", "Lower end of its 95 % interval (t)."),
        column("late_operations_high", Kind::Number, "1", HIGH),
        column(
            "ha_days_late_mean",
            Kind::Number,
            "ha d",
            "Mean of undone area over the time after the due day, all operations together.",
        ),
        column("ha_days_late_low", Kind::Number, "ha d", "Lower end of its 95 % interval (t)."),
        column("ha_days_late_high", Kind::Number, "ha d", HIGH),
        column("cost_mean", Kind::Number, "money", COST),
        column("cost_low", Kind::Number, "money", "Lower end of its 95 % interval (t)."),
        column("cost_high", Kind::Number, "money", HIGH),
        column(
            "late_operations_difference",
            Kind::Number,
            "1",
            "Mean difference in late operations; empty for the base, as are all differences.",
        ),
        column("late_operations_difference_low", Kind::Number, "1", LOW),
        column("late_operations_difference_high", Kind::Number, "1", HIGH),
        column("ha_days_late_difference", Kind::Number, "ha d", "Mean difference in hectare-days late."),
        column("ha_days_late_difference_low", Kind::Number, "ha d", LOW),
        column("ha_days_late_difference_high", Kind::Number, "ha d", HIGH),
        column(
            "cost_difference",
            Kind::Number,
            "money",
            "Mean difference in what a year costs; empty where neither farm says of anything what it costs.",
        ),
        column("cost_difference_low", Kind::Number, "money", LOW),
        column("cost_difference_high", Kind::Number, "money", HIGH),
    ],
};

const COST: &str = "Mean cost of a year, as far as the script says what things cost: machines and people by the year, by the metre of width and by the hour at work or on the road, contractors by the hectare; empty where it says nothing.";

pub(crate) const RELIEF: Table = Table {
    name: "relief",
    about: "Each step that was tried against the farm as it is, season by season under the same skies, the largest fall first; before them the bound: machines and people without end.",
    columns: &[
        column("step", Kind::Text, "", "The step."),
        column(
            "kind",
            Kind::Text,
            "",
            "bound, machine, width, person, casual, overtime, week-ends, contractor, tillage or crop mix.",
        ),
        column("assumes", Kind::Text, "", "What it takes for granted."),
        column("pairs", Kind::Whole, "", "How many pairs the figures rest on."),
        column(
            "pairs_are",
            Kind::Text,
            "",
            "seasons; or years: recorded years that were worked as they were, each counted once.",
        ),
        column("ranked_by", Kind::Text, "", "late operations, or the operation that was asked for."),
        column(
            "late_base",
            Kind::Number,
            "1",
            "As it is: late operations a year, or the chance that the operation is late.",
        ),
        column("late_fewer", Kind::Number, "1", "By how much that falls."),
        column(
            "late_fewer_low",
            Kind::Number,
            "1",
            "Lower end of its 95 % interval (paired t; of a chance Newcombe 1998, method 10, or Tango 1998 where fewer than 50 pairs differ). Where the interval leaves out 0 the step is told to change something.",
        ),
        column("late_fewer_high", Kind::Number, "1", HIGH),
        column(
            "ha_days_late_fewer",
            Kind::Number,
            "ha d",
            "By how much hectare-days late fall, all operations together.",
        ),
        column("ha_days_late_fewer_low", Kind::Number, "ha d", LOW),
        column("ha_days_late_fewer_high", Kind::Number, "ha d", HIGH),
        column(
            "cost_more",
            Kind::Number,
            "money",
            "What it costs more a year; empty where the script does not say what it adds costs.",
        ),
        column("cost_more_low", Kind::Number, "money", LOW),
        column("cost_more_high", Kind::Number, "money", HIGH),
        column(
            "late_fewer_for_1000",
            Kind::Number,
            "1",
            "late_fewer for each 1000 of money; empty where the cost is not known or not told to be above 0.",
        ),
        column(
            "late_fewer_for_1000_low",
            Kind::Number,
            "1",
            "Lower end of its 95 % interval (Fieller 1954).",
        ),
        column("late_fewer_for_1000_high", Kind::Number, "1", HIGH),
    ],
};

pub(crate) const FINISH: Table = Table {
    name: "finish",
    about: "The chance that all is done, day by day.",
    columns: &[
        VARIANT,
        CROP,
        OPERATION,
        column("date", Kind::Date, "", "A day of the season."),
        column("p_done", Kind::Number, "1", "Chance that all of its area is done by the end of that day."),
    ],
};

pub(crate) const SEASONS: Table = Table {
    name: "seasons",
    about: "Each season of each operation of each crop that had area in it.",
    columns: &[
        VARIANT,
        column("season", Kind::Whole, "", "The season's number, 0 the first."),
        column(
            "year",
            Kind::Whole,
            "",
            "The recorded year that the season is; empty where its days were drawn.",
        ),
        CROP,
        OPERATION,
        column(
            "finish",
            Kind::Date,
            "",
            "The day on which all of its area was done; never: it was not; empty: it was not due within the season.",
        ),
        column(
            "days_late",
            Kind::Whole,
            "d",
            "Days late, counted to the last day of its window where unfinished.",
        ),
        column("area_late_ha", Kind::Number, "ha", "Area not done by the end of the due day."),
        column("area_unfinished_ha", Kind::Number, "ha", "Area not done at all."),
        column(
            "suitable_days",
            Kind::Whole,
            "d",
            "Days from its first day to the due day, both as they were this season, that suited it on all its soils; empty where the window follows other work.",
        ),
    ],
};

pub(crate) const USE: Table = Table {
    name: "use",
    about: "Hours of each machine and person by half-month: needed, available, used.",
    columns: &[
        VARIANT,
        column("resource", Kind::Text, "", "The machine, person or contractor."),
        column("kind", Kind::Text, "", "machine, person or contractor."),
        column("half_month_from", Kind::Date, "", "First day of the half-month: the 1st or the 16th."),
        column(
            "hours_needed",
            Kind::Number,
            "h",
            "The work to be done, each job's by its first outfit, spread from its first day to the due day in proportion to expected suitable open hours; shared evenly among machines alike and among those who may drive.",
        ),
        column(
            "hours_available_middling",
            Kind::Number,
            "h",
            "Hours there are in a middling year (median of the first 1000 seasons' skies): suitable open hours within the person's own (a machine's: within its drivers') on days on which an operation that can use it is between its first and its due day (of a middling year, where they move), each day those of the operation that has the most; empty: too few seasons to support it.",
        ),
        column(
            "hours_available_bad",
            Kind::Number,
            "h",
            "The same in a bad year, as one in five is or worse (20 % quantile).",
        ),
        column("hours_mean", Kind::Number, "h", "Mean hours at work and on the road."),
        column(
            "hours_p90",
            Kind::Whole,
            "h",
            "Hours at work and on the road that 90 of 100 seasons do not exceed, to the nearest hour; empty: too few seasons to support it.",
        ),
    ],
};

pub(crate) const WAITS: Table = Table {
    name: "waits",
    about: "What each operation waited for while its window was open and none of it was worked, by the first true cause.",
    columns: &[
        VARIANT,
        CROP,
        OPERATION,
        column(
            "cause",
            Kind::Text,
            "",
            "closed hours, weather, predecessor, people, machine, supply or policy.",
        ),
        column("hours_mean", Kind::Number, "h", "Mean hours of a season."),
        column("share", Kind::Number, "1", "Share of all its waiting, closed hours included."),
    ],
};

pub(crate) const TRACE: Table = Table {
    name: "trace",
    about: "What happened in one season.",
    columns: &[
        column("time", Kind::DateTime, "", "Date and time in the reference season."),
        column(
            "year",
            Kind::Whole,
            "",
            "The recorded year that the season is; empty where its days were drawn.",
        ),
        column("field", Kind::Text, "", "The field."),
        column("operation", Kind::Text, "", "The operation and its crop."),
        column("outfit", Kind::Text, "", "The outfit, where one is at it."),
        column("what", Kind::Text, "", "What happened."),
        column("why", Kind::Text, "", "Why."),
    ],
};
