//! A record beside a script as the farm's weather, and rules for a workable day.

use super::read::{Mistake, Values};
use super::source::Mark;
use crate::tables::record::{Mapping, Reading, read_record};
use sim_core::farm::ranges;
use sim_core::farm::spec::{RecordSpec, RecordUse, RuleSpec};
use sim_core::weather::{
    Hours, Limit, Measure, MonthDay, Order, Quantity, RainDay, Rule, Shut, Station, prepare,
};
use std::sync::Arc;

/// Reads the record of a call to `replay`, `resample` or `table`; what rules ask and it does not note is worked out. Its rules
/// come from the farm.
pub(crate) fn record(verb: &str, name: &str, text: &str, values: &mut Values) -> Result<RecordSpec, Mistake> {
    let key = |key: &str| Mark::Value { key: key.into(), word: None };
    let mapping = values.text("columns").map_or(Ok(Mapping::default()), |text| Mapping::parse(&text));
    let mapping = mapping.map_err(|error| Mistake::new(key("columns"), error.message(), error.fix()))?;
    let bridge_days = values.whole("bridge_days").and_then(|days| usize::try_from(days).ok()).unwrap_or(0);
    let reading = Reading { mapping, missing: values.texts("missing").unwrap_or_default(), bridge_days };
    let mut record = read_record(name, text.as_bytes(), &reading)
        .map_err(|error| Mistake::new(Mark::Argument(0), error.message(), error.fix()))?
        .record;
    if let Some(height) = ["altitude_m", "anemometer_m"].into_iter().find(|height| values.has(height))
        && !values.has("latitude_deg")
    {
        return Err(Mistake::new(
            Mark::Key(height.into()),
            format!("{verb} has `{height}` without `latitude_deg`"),
            "add latitude_deg: all three are for working out evapotranspiration",
        ));
    }
    let station = values
        .number("latitude_deg")
        .map(|latitude_deg| {
            let altitude_m = values.number("altitude_m").unwrap_or(0.0);
            Station::new(latitude_deg, altitude_m, values.number("anemometer_m").unwrap_or(10.0))
        })
        .transpose()
        .map_err(|error| {
            let message = error.to_string();
            let named = message.split(' ').next().unwrap_or_default().to_string();
            Mistake::new(key(&named), message, "give degrees or metres within the permitted range")
        })?;
    let _ = prepare(&mut record, station.as_ref());
    Ok(RecordSpec {
        origin: values.origin,
        record: Arc::new(record),
        serves_as: match verb {
            "replay" => RecordUse::Years(Order::Replay),
            "resample" => RecordUse::Years(Order::Resample),
            _ => RecordUse::Table,
        },
        rain_day: match values.text("rain_day").as_deref() {
            Some("to the morning") => RainDay::ToTheMorning,
            _ => RainDay::OfTheDay,
        },
        rules: Vec::new(),
    })
}

/// The hours of a call to `rule` that its limits on the air are looked at in; nothing where the day is looked at as a
/// whole.
fn hours(values: &mut Values) -> Result<Option<Hours>, Mistake> {
    let alone = ["hours_from", "hours_to"].into_iter().find(|key| values.has(key));
    let mut hour = |key: &str| values.whole(key).and_then(|hour| u8::try_from(hour).ok());
    let (least, from_h, to_h) = (hour("hours_min"), hour("hours_from"), hour("hours_to"));
    let (from_h, to_h) = (from_h.unwrap_or(5), to_h.unwrap_or(21));
    let Some(least_h) = least else {
        return alone.map_or(Ok(None), |key| {
            Err(Mistake::new(
                Mark::Key(key.into()),
                format!("rule has `{key}` without `hours_min`"),
                "add hours_min: how many hours must keep the limits on the air; or take it out",
            ))
        });
    };
    if from_h + least_h > to_h {
        return Err(Mistake::new(
            Mark::Value { key: "hours_min".into(), word: None },
            format!("there are no {least_h} hours between {from_h} and {to_h} o'clock"),
            "give fewer, or a longer part of the day",
        ));
    }
    Ok(Some(Hours { from_h, to_h, least_h }))
}

/// The rule of a call to `rule`.
pub(crate) fn rule(values: &mut Values) -> Result<RuleSpec, Mistake> {
    let deficit = match values.text("drainage").as_deref() {
        Some("well") => Quantity::DeficitWell,
        Some("poor") => Quantity::DeficitPoor,
        _ => Quantity::DeficitModerate,
    };
    let days = values.whole("rain_before_days").and_then(|days| u8::try_from(days).ok()).unwrap_or(1);
    let mut limits = Vec::new();
    let hours = hours(values)?;
    let in_air = if hours.is_some() { Measure::Hour } else { Measure::Today };
    let least = [
        ("deficit_min_mm", Measure::Yesterday(deficit)),
        ("topsoil_min_mm", Measure::Yesterday(Quantity::Topsoil)),
        ("delta_t_min_c", in_air(Quantity::DeltaT)),
        ("night_min_c", Measure::Today(Quantity::TemperatureMin)),
        ("mean_min_c", in_air(Quantity::TemperatureMean)),
        ("et_min_mm", Measure::Today(Quantity::EtRef)),
    ];
    let most = [
        ("rain_max_mm", Measure::Today(Quantity::Rain)),
        ("rain_before_max_mm", Measure::Before(Quantity::Rain, days)),
        ("wind_max_m_s", in_air(Quantity::Wind)),
        ("humidity_max_pct", in_air(Quantity::HumidityMean)),
        ("delta_t_max_c", in_air(Quantity::DeltaT)),
    ];
    for range in ranges::RULE {
        if let Some(given) = values.peek(range.what).filter(|given| !range.holds(*given)) {
            let name = range.what;
            let message = format!("`{name}` of rule is {given}, but must be {}", range.words);
            return Err(Mistake::new(
                Mark::Value { key: name.into(), word: None },
                message,
                format!("give a value that is {}", range.words),
            ));
        }
    }
    let mut given = |key| values.number(key);
    limits.extend(least.into_iter().filter_map(|(key, measure)| Some(Limit::at_least(measure, given(key)?))));
    limits.extend(most.into_iter().filter_map(|(key, measure)| Some(Limit::at_most(measure, given(key)?))));
    let class = values.text("name").unwrap_or_default();
    let shuts_below = values.number("shuts_below_mm");
    if limits.is_empty() && shuts_below.is_none() {
        return Err(Mistake::new(
            Mark::Call,
            format!("the rule for \"{class}\" has no limit: every day would suit"),
            "add, for example, rain_max_mm: 1",
        ));
    }
    let day = |day: Option<MonthDay>| day.unwrap_or_else(|| MonthDay::of(jiff::civil::Date::ZERO));
    let (from, until) = (day(values.day("shuts_from")), day(values.day("opens_on")));
    Ok(RuleSpec {
        origin: values.origin,
        rule: Rule {
            class,
            soil: values.text("soil").unwrap_or_default(),
            // The work class says which driver it follows.
            driver: String::new(),
            limits,
            hours,
            shut: shuts_below.map(|below| Shut { from, until, quantity: deficit, below }),
        },
    })
}
