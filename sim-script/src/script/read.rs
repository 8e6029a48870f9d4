//! Reads a verb's arguments and map by its table: whole numbers count as numbers, a text is never a number,
//! a key that the table does not have is refused, and every mistake says which word to mark and what to write.
//! What the values mean for a farm is not here.

use super::clock::{self, Unreadable};
use super::part::{HoursPart, Part, PartData};
use super::source::Mark;
use super::verb::{Key, Kind, Need, PartKind, Verb};
use crate::words::nearest;
use jiff::civil::Date;
use rhai::{Dynamic, FnPtr, Map};
use sim_core::farm::Missed;
use sim_core::farm::spec::{LinkSpec, Origin, When};
use sim_core::weather::{EVERY_DAY, HoursRule, MonthDay, Stretch};

/// A mistake in a call: the word of the call to mark, what is wrong and what to do.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Mistake {
    pub(crate) message: String,
    pub(crate) help: Option<String>,
    pub(crate) mark: Mark,
}

impl Mistake {
    pub(crate) fn new(mark: Mark, message: impl Into<String>, help: impl Into<String>) -> Self {
        Self { message: message.into(), help: Some(help.into()), mark }
    }
}

/// A value of a key or an argument.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Value {
    Number(f64),
    Whole(i64),
    Flag(bool),
    Text(String),
    Texts(Vec<String>),
    Numbers(Vec<f64>),
    Groups(Vec<Vec<String>>),
    Day(MonthDay),
    Days(Vec<MonthDay>),
    Date(Date),
    When(When),
    Hours(Vec<HoursPart>),
    Open(Vec<Stretch>),
    Weekdays(u8),
    /// A number of days; `None` for the whole season.
    Spell(Option<f64>),
    Links(Vec<LinkSpec>),
    Parts(Parts),
    Closure(Closure),
}

/// A closure; two are the same when they are the same in the script.
#[derive(Debug, Clone)]
pub(crate) struct Closure(pub(crate) FnPtr);

impl PartialEq for Closure {
    fn eq(&self, other: &Self) -> bool {
        self.0.fn_name() == other.0.fn_name()
    }
}

/// A list of parts of one kind.
#[derive(Debug, Clone)]
pub(crate) struct Parts(pub(crate) Vec<Part>);

impl PartialEq for Parts {
    fn eq(&self, other: &Self) -> bool {
        self.0.iter().map(Part::data).eq(other.0.iter().map(Part::data))
    }
}

/// The values of a call, by key.
#[derive(Debug)]
pub(crate) struct Values {
    pub(crate) origin: Origin,
    values: Vec<(&'static str, Value)>,
}

macro_rules! take {
    ($($method:ident: $variant:ident -> $type:ty;)*) => { $(
        pub(crate) fn $method(&mut self, key: &str) -> Option<$type> {
            let at = self.values.iter().position(|(name, _)| *name == key)?;
            match self.values.swap_remove(at) {
                (_, Value::$variant(value)) => Some(value),
                _ => None,
            }
        }
    )* };
}

impl Values {
    take! {
        number: Number -> f64;
        whole: Whole -> i64;
        flag: Flag -> bool;
        text: Text -> String;
        texts: Texts -> Vec<String>;
        numbers: Numbers -> Vec<f64>;
        groups: Groups -> Vec<Vec<String>>;
        day: Day -> MonthDay;
        days: Days -> Vec<MonthDay>;
        date: Date -> Date;
        when: When -> When;
        hours: Hours -> Vec<HoursPart>;
        open: Open -> Vec<Stretch>;
        weekdays: Weekdays -> u8;
        spell: Spell -> Option<f64>;
        links: Links -> Vec<LinkSpec>;
        parts: Parts -> Parts;
    }

    /// Roughly how many bytes a part made of these will hold.
    pub(crate) fn bytes(&self) -> usize {
        let texts = |texts: &Vec<String>| texts.iter().map(|text| text.len() + 24).sum::<usize>();
        let bytes = self.values.iter().map(|(_, value)| match value {
            Value::Text(text) => text.len(),
            Value::Texts(list) => texts(list),
            Value::Groups(groups) => groups.iter().map(|group| texts(group) + 24).sum(),
            Value::Numbers(list) => list.len() * 8,
            Value::Days(days) => days.len() * 2,
            Value::Hours(hours) => hours.len() * 64,
            Value::Links(links) => links.iter().map(|link| link.operation.len() + 96).sum(),
            Value::Parts(parts) => parts.0.iter().map(Part::bytes).sum(),
            _ => 0,
        });
        512 + bytes.sum::<usize>()
    }

    pub(crate) fn closure(&mut self, key: &str) -> Option<FnPtr> {
        let at = self.values.iter().position(|(name, _)| *name == key)?;
        match self.values.swap_remove(at) {
            (_, Value::Closure(Closure(closure))) => Some(closure),
            _ => None,
        }
    }

    /// A number under a key, left where it is.
    pub(crate) fn peek(&self, key: &str) -> Option<f64> {
        self.values.iter().find_map(|(name, value)| match value {
            Value::Number(number) if *name == key => Some(*number),
            _ => None,
        })
    }

    pub(crate) fn has(&self, key: &str) -> bool {
        self.values.iter().any(|(name, _)| *name == key)
    }
}

/// Reads the arguments of a call.
pub(crate) fn read(verb: &'static Verb, origin: Origin, arguments: Vec<Dynamic>) -> Result<Values, Mistake> {
    let mut values = Values { origin, values: Vec::with_capacity(verb.keys.len() + 1) };
    let arguments_given = arguments.len();
    for (number, (argument, given)) in verb.arguments.iter().zip(arguments).enumerate() {
        if argument.kind == Kind::Map {
            let given = given.try_cast_result::<Map>().map_err(|given| {
                Mistake::new(
                    Mark::Argument(number),
                    format!("{} needs a map of keys here, but this is {}", verb.name, describe(&given)),
                    format!("for example {}", verb.example),
                )
            })?;
            let of = values.values.first().map_or(String::new(), |(_, name)| match name {
                Value::Text(name) => format!(" \"{name}\""),
                _ => String::new(),
            });
            read_map(verb, &of, given, &mut values)?;
            continue;
        }
        let place = Place {
            what: format!("the {} in {}", argument.name, verb.name),
            origin,
            mark: &|_| Mark::Argument(number),
            write: &|value| value.to_string(),
            example: "",
        };
        let value = place.value(argument.kind, &given).map_err(|mut mistake| {
            mistake.help.get_or_insert_with(|| format!("for example {}", verb.example));
            mistake
        })?;
        values.values.push((argument.name, value));
    }
    if verb.arguments.iter().skip(arguments_given).any(|argument| argument.kind == Kind::Map) {
        read_map(verb, "", Map::new(), &mut values)?;
    }
    Ok(values)
}

/// Reads a map by a verb's keys.
pub(crate) fn read_keys(verb: &'static Verb, map: Map) -> Result<Values, Mistake> {
    let mut values = Values { origin: Origin::default(), values: Vec::with_capacity(verb.keys.len()) };
    read_map(verb, "", map, &mut values)?;
    Ok(values)
}

fn read_map(verb: &'static Verb, of: &str, mut map: Map, values: &mut Values) -> Result<(), Mistake> {
    if let Some(unknown) = map.keys().find(|key| !verb.keys.iter().any(|known| known.name == key.as_str())) {
        let names: Vec<&str> = verb.keys.iter().map(|key| key.name).collect();
        let all = format!("{} has the keys {}", verb.name, names.join(", "));
        return Err(Mistake::new(
            Mark::Key(unknown.to_string()),
            format!("{} has no key `{unknown}`", verb.name),
            match (
                names.iter().find(|name| lacks_unit(unknown, name)),
                nearest(unknown, names.iter().copied()),
            ) {
                (Some(with), _) => format!("write `{with}`: the name of a quantity ends in its unit"),
                (None, Some(near)) => format!("did you mean `{near}`? {all}"),
                (None, None) => all,
            },
        ));
    }
    for key in verb.keys {
        let value = match (map.remove(key.name), key.need) {
            (Some(given), _) => read_key(verb, key, of, values.origin, &given)?,
            (None, Need::Optional) => continue,
            (None, Need::Default(text)) => default(key, text),
            (None, Need::Required) => {
                return Err(Mistake::new(
                    Mark::Call,
                    format!("{}{of} needs `{}`: {}", verb.name, key.name, key.about),
                    format!("add, for example, {}: {}", key.name, key.example),
                ));
            }
        };
        values.values.push((key.name, value));
    }
    Ok(())
}

/// Whether a name is a key but for its unit.
fn lacks_unit(name: &str, key: &str) -> bool {
    key.strip_prefix(name).is_some_and(|unit| unit.starts_with('_'))
}

fn read_key(
    verb: &Verb,
    key: &'static Key,
    of: &str,
    origin: Origin,
    given: &Dynamic,
) -> Result<Value, Mistake> {
    let place = Place {
        what: format!("`{}` of {}{of}", key.name, verb.name),
        origin,
        mark: &|word| Mark::Value { key: key.name.into(), word },
        write: &|value| format!("{}: {value}", key.name),
        example: key.example,
    };
    place.value(key.kind, given)
}

/// A default as the table writes it; a test reads all of them.
fn default(key: &Key, text: &str) -> Value {
    let number = || text.parse().unwrap_or_default();
    match key.kind {
        Kind::Whole { .. } => Value::Whole(text.parse().unwrap_or_default()),
        Kind::Number => Value::Number(number()),
        Kind::Spell => Value::Spell(Some(number())),
        Kind::Flag => Value::Flag(text == "true"),
        Kind::Day => clock::month_day(text).map_or(Value::Text(text.into()), Value::Day),
        Kind::Date => clock::date(text).map_or(Value::Text(text.into()), Value::Date),
        _ => Value::Text(text.into()),
    }
}

/// Where a value stands, for the words of a mistake.
struct Place<'a> {
    what: String,
    origin: Origin,
    mark: &'a dyn Fn(Option<String>) -> Mark,
    write: &'a dyn Fn(&str) -> String,
    example: &'static str,
}

impl Place<'_> {
    fn value(&self, kind: Kind, given: &Dynamic) -> Result<Value, Mistake> {
        match kind {
            Kind::Number => self.number(kind, given).map(Value::Number),
            Kind::Whole { least, most } => self.whole(kind, least, most, given).map(Value::Whole),
            Kind::Flag => given.as_bool().map(Value::Flag).map_err(|_| self.wrong(kind, given)),
            Kind::Text => self.text(kind, given).map(Value::Text),
            Kind::Choice(texts) => {
                let text = self.text(kind, given)?;
                if texts.contains(&text.as_str()) {
                    return Ok(Value::Text(text));
                }
                let near = nearest(&text, texts.iter().copied());
                let mistake = self.wrong(kind, given);
                Err(match near {
                    Some(near) => Mistake { help: Some(format!("did you mean \"{near}\"?")), ..mistake },
                    None => mistake,
                })
            }
            Kind::Texts => self.texts(kind, given).map(Value::Texts),
            Kind::Numbers => {
                let list = given.as_array_ref().ok().filter(|list| !list.is_empty());
                let list = list.ok_or_else(|| self.wrong(kind, given))?;
                let numbers = list.iter().map(|item| self.number(kind, item));
                numbers.collect::<Result<_, _>>().map(Value::Numbers)
            }
            Kind::Groups => {
                let list = given.as_array_ref().map_err(|_| self.wrong(kind, given))?;
                let groups = list.iter().map(|group| match group.is_array() {
                    true => self.texts(kind, group),
                    false => Err(self.wrong(kind, group)),
                });
                groups.collect::<Result<_, _>>().map(Value::Groups)
            }
            Kind::Day => self.parsed(kind, given, clock::month_day).map(Value::Day),
            Kind::Days => {
                let list = given.as_array_ref().map_err(|_| self.wrong(kind, given))?;
                let days = list.iter().map(|day| self.parsed(Kind::Day, day, clock::month_day));
                days.collect::<Result<_, _>>().map(Value::Days)
            }
            Kind::Date => self.parsed(kind, given, clock::date).map(Value::Date),
            Kind::When => match part(given).as_ref().map(Part::data) {
                Some(PartData::DaysAfter(when)) => Ok(Value::When(when.clone())),
                _ => self.parsed(kind, given, clock::month_day).map(|day| Value::When(When::Date(day))),
            },
            Kind::Hours => self.hours(kind, given).map(Value::Hours),
            Kind::Open => self.parsed_or_empty(kind, given, clock::open_hours).map(Value::Open),
            Kind::Weekdays => self.parsed(kind, given, clock::weekdays).map(Value::Weekdays),
            Kind::Spell => match given.as_immutable_string_ref() {
                Ok(text) if text.as_str() == "year" => Ok(Value::Spell(None)),
                Ok(_) => Err(self.wrong(kind, given)),
                Err(_) => self.number(kind, given).map(|days| Value::Spell(Some(days))),
            },
            Kind::Closure(_) => match given.clone().try_cast::<FnPtr>() {
                Some(closure) => Ok(Value::Closure(Closure(closure))),
                None => Err(self.wrong(kind, given)),
            },
            Kind::Links => self.links(kind, given).map(Value::Links),
            Kind::Parts(wanted) => {
                let mut parts = Vec::new();
                self.parts(kind, wanted, given, 0, &mut parts)?;
                Ok(Value::Parts(Parts(parts)))
            }
            Kind::Clock => {
                let seconds = self.parsed(kind, given, |text| {
                    clock::time_of_day(text).ok_or_else(|| Unreadable {
                        why: format!("\"{text}\" is not a time of the day"),
                        fix: "write hours and minutes, as in \"07:30\"".into(),
                    })
                })?;
                Ok(Value::Whole(seconds))
            }
            Kind::Map | Kind::Settings | Kind::Any => Err(self.wrong(kind, given)),
        }
    }

    fn number(&self, kind: Kind, given: &Dynamic) -> Result<f64, Mistake> {
        let number = given.as_float().or_else(|_| given.as_int().map(|whole| whole as f64));
        number.ok().filter(|number| number.is_finite()).ok_or_else(|| {
            let mut mistake = self.wrong(kind, given);
            if let Ok(text) = given.as_immutable_string_ref()
                && text.trim().parse::<f64>().is_ok()
            {
                mistake.help = Some(format!("write it without quotes: {}", (self.write)(text.trim())));
            }
            mistake
        })
    }

    fn whole(&self, kind: Kind, least: i64, most: i64, given: &Dynamic) -> Result<i64, Mistake> {
        given
            .as_int()
            .ok()
            .filter(|whole| (least..=most).contains(whole))
            .ok_or_else(|| self.wrong(kind, given))
    }

    fn text(&self, kind: Kind, given: &Dynamic) -> Result<String, Mistake> {
        match given.as_immutable_string_ref() {
            Ok(text) if !text.trim().is_empty() => Ok(text.to_string()),
            Ok(_) => Err(self.mistake(None, format!("{} is an empty text", self.what))),
            Err(_) => Err(self.wrong(kind, given)),
        }
    }

    fn texts(&self, kind: Kind, given: &Dynamic) -> Result<Vec<String>, Mistake> {
        match given.as_array_ref() {
            Ok(list) => list.iter().map(|item| self.text(kind, item)).collect(),
            Err(_) => Ok(vec![self.text(kind, given)?]),
        }
    }

    fn parsed<T>(
        &self,
        kind: Kind,
        given: &Dynamic,
        parse: impl Fn(&str) -> Result<T, Unreadable>,
    ) -> Result<T, Mistake> {
        self.text(kind, given)?;
        self.parsed_or_empty(kind, given, parse)
    }

    fn parsed_or_empty<T>(
        &self,
        kind: Kind,
        given: &Dynamic,
        parse: impl Fn(&str) -> Result<T, Unreadable>,
    ) -> Result<T, Mistake> {
        let Ok(text) = given.as_immutable_string_ref() else { return Err(self.wrong(kind, given)) };
        parse(&text).map_err(|Unreadable { why, fix }| Mistake {
            message: format!("{}: {why}", self.what),
            help: Some(fix),
            mark: (self.mark)(Some(text.to_string())),
        })
    }

    fn hours(&self, kind: Kind, given: &Dynamic) -> Result<Vec<HoursPart>, Mistake> {
        let list = match given.as_array_ref() {
            Ok(list) => list.to_vec(),
            Err(_) => vec![given.clone()],
        };
        let mut hours = Vec::with_capacity(list.len());
        for item in &list {
            if let Some(PartData::Hours(part)) = part(item).as_ref().map(Part::data) {
                hours.push(part.clone());
                continue;
            }
            let open = self.parsed_or_empty(kind, item, clock::open_hours)?;
            hours.push(HoursPart { rule: all_year(open), days_given: false });
        }
        Ok(hours)
    }

    fn links(&self, kind: Kind, given: &Dynamic) -> Result<Vec<LinkSpec>, Mistake> {
        let list = match given.as_array_ref() {
            Ok(list) => list.to_vec(),
            Err(_) => vec![given.clone()],
        };
        let mut links = Vec::with_capacity(list.len());
        for item in &list {
            if let Some(PartData::Link(link)) = part(item).as_ref().map(Part::data) {
                links.push(link.clone());
                continue;
            }
            let operation = self.text(kind, item)?;
            links.push(LinkSpec {
                origin: self.origin,
                operation,
                required: true,
                min_lag_h: 0.0,
                max_lag_days: None,
                if_missed: Missed::Continue,
                follow_ha: None,
            });
        }
        Ok(links)
    }

    /// Collects parts; lists in the list are laid open, so that loops can build lists of lists.
    fn parts(
        &self,
        kind: Kind,
        wanted: PartKind,
        given: &Dynamic,
        nested: usize,
        into: &mut Vec<Part>,
    ) -> Result<(), Mistake> {
        match (part(given), given.as_array_ref()) {
            (Some(part), _) if part.kind() == wanted => into.push(part),
            (_, Ok(list)) if nested < 2 => {
                for item in list.iter() {
                    self.parts(kind, wanted, item, nested + 1, into)?;
                }
            }
            _ => return Err(self.wrong(kind, given)),
        }
        Ok(())
    }

    /// The mistake of a value of the wrong kind.
    fn wrong(&self, kind: Kind, given: &Dynamic) -> Mistake {
        let word = match given.as_immutable_string_ref() {
            Ok(text) => Some(text.to_string()),
            Err(_) if given.is_int() || given.is_float() => Some(given.to_string()),
            Err(_) => None,
        };
        let message = format!("{} must be {}, but is {}", self.what, kind.words(), describe(given));
        let mut mistake = self.mistake(word, message);
        if given.is_char() {
            mistake.help = Some("texts stand in double quotes: \"...\"".into());
        } else if matches!(kind, Kind::Day | Kind::Date | Kind::When | Kind::Days) && given.is_int() {
            mistake.help = Some(format!(
                "write dates in double quotes, as in {}; without quotes the minus signs subtract",
                (self.write)(if kind == Kind::Date { "\"2025-10-01\"" } else { "\"10-01\"" })
            ));
            mistake.mark = (self.mark)(None);
        } else if kind == Kind::Text && (given.is_int() || given.is_float()) {
            mistake.help =
                Some(format!("write it in double quotes: {}", (self.write)(&format!("\"{given}\""))));
        }
        mistake
    }

    fn mistake(&self, word: Option<String>, message: String) -> Mistake {
        let help = (!self.example.is_empty()).then(|| format!("for example {}", (self.write)(self.example)));
        Mistake { message, help, mark: (self.mark)(word) }
    }
}

/// Hours that hold all year; on which days of the week is for their user to say.
pub(crate) fn all_year(open: Vec<Stretch>) -> HoursRule {
    let day = |text| clock::month_day(text).unwrap_or_else(|_| MonthDay::of(Date::ZERO));
    HoursRule { from: day("01-01"), to: day("12-31"), weekdays: EVERY_DAY, open }
}

pub(crate) fn part(given: &Dynamic) -> Option<Part> {
    given.clone().try_cast::<Part>()
}

/// A value in words.
pub(crate) fn describe(given: &Dynamic) -> String {
    if let Some(part) = part(given) {
        return format!("what {}(...) gives", part.kind().verbs()[0]);
    }
    if let Ok(text) = given.as_immutable_string_ref() {
        return format!("the text \"{}\"", shorten(&text));
    }
    if given.is_int() {
        return format!("the whole number {given}");
    }
    if given.is_float() {
        return format!("the number {given}");
    }
    match given {
        _ if given.is_bool() => format!("{given}"),
        _ if given.is_char() => format!("the single letter '{given}'"),
        _ if given.is_array() => "a list".into(),
        _ if given.is_map() => "a map".into(),
        _ if given.is_unit() => "nothing".into(),
        _ if given.is_fnptr() => "a function".into(),
        _ => "something else".into(),
    }
}

/// A text's beginning.
pub(crate) fn shorten(text: &str) -> String {
    shorten_to(text, 60)
}

/// A text's beginning, so many letters of it at most.
pub(crate) fn shorten_to(text: &str, most: usize) -> String {
    match text.char_indices().nth(most) {
        Some((end, _)) => format!("{}...", &text[..end]),
        None => text.to_string(),
    }
}
