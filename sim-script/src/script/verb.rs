//! What a word of the script language is: its arguments, its keys, and what each may hold.
//!
//! The tables made of these ([`super::verbs`]) are read by the reader of maps, by the reference and by the
//! definitions for editors, so that a key is described once. How a value is read is not here.

use sim_core::farm::ranges::Range;

/// A verb of the language: a function that makes a part of a farm.
#[derive(Debug)]
pub struct Verb {
    /// Its name.
    pub name: &'static str,
    /// What it makes, in a sentence.
    pub about: &'static str,
    /// What of value a script has of it.
    pub gives: Gives,
    /// What stands in its brackets, in order.
    pub arguments: &'static [Argument],
    /// The keys of its map, if [`Kind::Map`] is among its arguments.
    pub keys: &'static [Key],
    /// The permitted ranges of its keys, where they do not hang on other numbers.
    pub ranges: &'static [Range],
    /// An example; a test runs it.
    pub example: &'static str,
}

impl Verb {
    /// Whether it only reckons, and says nothing of the farm: a decision may use it.
    #[must_use]
    pub const fn reckons(&self) -> bool {
        matches!(self.gives, Gives::Number | Gives::Whole | Gives::Text)
    }

    /// The permitted range of a key.
    #[must_use]
    pub fn range(&self, key: &str) -> Option<&'static Range> {
        self.ranges.iter().find(|range| range.is_of(key))
    }
}

/// What a verb or a property gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gives {
    /// A part of a farm.
    Part,
    /// A number.
    Number,
    /// A whole number.
    Whole,
    /// A text.
    Text,
    /// `true` or `false`.
    Flag,
    /// A list of texts.
    List,
    /// The season's memory.
    Memory,
    /// Nothing: it is a statement.
    Nothing,
    /// A number, a text or a flag.
    Any,
}

impl Gives {
    /// What it is in words.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Nothing => "nothing",
            Self::Part => "a part of a farm",
            Self::Number => "a number",
            Self::Whole => "a whole number",
            Self::Text => "a text",
            Self::Flag => "true or false",
            Self::List => "a list of texts",
            Self::Memory => "the memory",
            Self::Any => "a number, a text, true or false",
        }
    }
}

/// What stands in a verb's brackets.
#[derive(Debug)]
pub struct Argument {
    /// Its name, for messages and the reference.
    pub name: &'static str,
    /// What it may hold.
    pub kind: Kind,
    /// Whether it can be left out, and with it all that come after it.
    pub optional: bool,
    /// What it means.
    pub about: &'static str,
}

/// A key of a verb's map.
#[derive(Debug)]
pub struct Key {
    /// Its name; a quantity ends in its unit.
    pub name: &'static str,
    /// What it may hold.
    pub kind: Kind,
    /// The unit, or empty.
    pub unit: &'static str,
    /// Whether it may be left out.
    pub need: Need,
    /// What it means, in a sentence.
    pub about: &'static str,
    /// A value as written in a script.
    pub example: &'static str,
}

/// Whether a key may be left out.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Need {
    /// It must be there.
    Required,
    /// It may be left out, and then there is nothing.
    Optional,
    /// It may be left out, and then holds this (texts without quotes).
    Default(&'static str),
}

/// What a key or an argument may hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A number.
    Number,
    /// A whole number from `least` to `most`.
    Whole {
        /// The least.
        least: i64,
        /// The most.
        most: i64,
    },
    /// `true` or `false`.
    Flag,
    /// A text that is not empty.
    Text,
    /// One of these texts.
    Choice(&'static [&'static str]),
    /// A list of texts, or one text.
    Texts,
    /// A list of numbers.
    Numbers,
    /// A list of lists of texts.
    Groups,
    /// A day of the year, `"MM-DD"`.
    Day,
    /// A list of days of the year.
    Days,
    /// A date, `"YYYY-MM-DD"`.
    Date,
    /// A day of the year, or `days_after(...)`.
    When,
    /// Hours as a text, `hours(...)`, or a list of these.
    Hours,
    /// Hours of one day as a text.
    Open,
    /// Days of the week as a text.
    Weekdays,
    /// A number of days, or `"year"`.
    Spell,
    /// A list of names of operations and of `after_operation(...)`.
    Links,
    /// A list of parts that verbs made; lists in it are laid open.
    Parts(PartKind),
    /// A map with the verb's keys.
    Map,
    /// A map of the script's own parameters with values.
    Settings,
    /// A time of the day, `"HH:MM"`.
    Clock,
    /// A closure of one value, which is called so.
    Closure(&'static str),
    /// A number, a text or a flag.
    Any,
}

impl Kind {
    /// The kind in words, as in "must be ...".
    #[must_use]
    pub fn words(self) -> String {
        match self {
            Self::Number => "a number".into(),
            Self::Whole { least, most } => format!("a whole number from {least} to {most}"),
            Self::Flag => "true or false".into(),
            Self::Text => "a text".into(),
            Self::Choice(texts) => {
                texts.iter().map(|text| format!("\"{text}\"")).collect::<Vec<_>>().join(" or ")
            }
            Self::Texts => "a list of texts".into(),
            Self::Numbers => "a list of numbers, and not an empty one".into(),
            Self::Groups => "a list of lists of texts".into(),
            Self::Day => "a day of the year in quotes, \"MM-DD\"".into(),
            Self::Days => "a list of days of the year, \"MM-DD\"".into(),
            Self::Date => "a date in quotes, \"YYYY-MM-DD\"".into(),
            Self::When => "a day of the year in quotes, \"MM-DD\", or days_after(...)".into(),
            Self::Hours => "hours such as \"07:00-18:00\", or a list of hours(...)".into(),
            Self::Open => "hours such as \"07:00-18:00\"".into(),
            Self::Weekdays => "days of the week such as \"mon-fri\"".into(),
            Self::Spell => "a number of days, or \"year\"".into(),
            Self::Links => "a list of operations' names or of after_operation(...)".into(),
            Self::Parts(part) => {
                let verbs: Vec<String> = part.verbs().iter().map(|verb| format!("{verb}(...)")).collect();
                let one = matches!(part, PartKind::Weather | PartKind::Policy);
                format!("{}{}", if one { "" } else { "a list of " }, verbs.join(" or "))
            }
            Self::Map => "a map, #{ ... }".into(),
            Self::Settings => "a map of parameters, #{ drill_width_m: 6.0 }".into(),
            Self::Clock => "a time of the day in quotes, \"HH:MM\"".into(),
            Self::Closure(of) => format!("a closure, |{of}| ..."),
            Self::Any => "a number, a text, true or false".into(),
        }
    }
}

/// The parts that verbs make.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartKind {
    /// `hours(...)`.
    Hours,
    /// `work_class(...)`.
    Class,
    /// `person(...)`.
    Person,
    /// `machine(...)`.
    Machine,
    /// `outfit(...)`.
    Outfit,
    /// `contractor(...)`.
    Contractor,
    /// `operation(...)`.
    Operation,
    /// `after_operation(...)`.
    Link,
    /// `days_after(...)`.
    DaysAfter,
    /// `crop(...)`.
    Crop,
    /// `field(...)`.
    Field,
    /// `suitable(...)` or `suitable_days(...)`.
    Suitable,
    /// `driver(...)` or `drivers_from(...)`.
    Driver,
    /// `replay(...)`, `resample(...)` or `table(...)`.
    Weather,
    /// `rule(...)`.
    Rule,
    /// `stage(...)`.
    Stage,
    /// `policy(...)`.
    Policy,
    /// `farm(...)`.
    Farm,
}

impl PartKind {
    /// The verbs that make it, the usual one first.
    #[must_use]
    pub const fn verbs(self) -> &'static [&'static str] {
        match self {
            Self::Hours => &["hours"],
            Self::Class => &["work_class"],
            Self::Person => &["person"],
            Self::Machine => &["machine"],
            Self::Outfit => &["outfit"],
            Self::Contractor => &["contractor"],
            Self::Operation => &["operation"],
            Self::Link => &["after_operation"],
            Self::DaysAfter => &["days_after"],
            Self::Crop => &["crop"],
            Self::Field => &["field"],
            Self::Suitable => &["suitable", "suitable_days"],
            Self::Driver => &["driver", "drivers_from"],
            Self::Weather => &["replay", "resample", "table"],
            Self::Rule => &["rule"],
            Self::Stage => &["stage"],
            Self::Policy => &["policy"],
            Self::Farm => &["farm"],
        }
    }
}
