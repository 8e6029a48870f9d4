//! From the values of a call to the part of a farm that they describe: one function a verb.

use super::clock;
use super::part::{HoursPart, Part, PartData};
use super::policy::PolicyPart;
use super::read::{Mistake, Parts, Value, Values};
use super::record;
use super::source::Mark;
use sim_core::farm::Missed;
use sim_core::farm::spec::{
    ClassSpec, ContractorSpec, CropSpec, DriverRow, FarmSpec, FieldSpec, LeftOpen, LinkSpec, MachineSpec,
    Moves, OperationSpec, OutfitSpec, PersonSpec, RecordSpec, RuleSpec, StageSpec, Straw, SuitableRow, When,
};
use sim_core::weather::{HoursRule, Loses, MachineWeight, MonthDay, Site};

/// A value that the table says is always there: the reader has seen to it.
fn given<T: Default>(value: Option<T>) -> T {
    value.unwrap_or_default()
}

fn day(value: Option<MonthDay>) -> MonthDay {
    value.unwrap_or_else(|| MonthDay::of(jiff::civil::Date::ZERO))
}

fn count(value: Option<i64>) -> u32 {
    value.and_then(|whole| u32::try_from(whole).ok()).unwrap_or_default()
}

fn straw(text: Option<String>) -> Option<Straw> {
    text.map(|text| if text == "chop" { Straw::Chop } else { Straw::Bale })
}

fn loses(text: Option<String>) -> Loses {
    match text.as_deref() {
        Some("end") => Loses::End,
        Some("middle") => Loses::Middle,
        _ => Loses::Start,
    }
}

/// Refuses two keys of which only one may be given.
fn either(values: &Values, verb: &str, one: &str, other: &str) -> Result<(), Mistake> {
    if values.has(one) && values.has(other) {
        return Err(Mistake::new(
            Mark::Key(other.into()),
            format!("{verb} has both `{one}` and `{other}`"),
            "give only one of them",
        ));
    }
    Ok(())
}

/// Makes the part of a verb with a map; `None` for the verbs that are no parts.
pub(crate) fn make(verb: &str, mut values: Values) -> Result<Option<PartData>, Mistake> {
    let v = &mut values;
    Ok(Some(match verb {
        "hours" => PartData::Hours(hours(v)),
        "work_class" => PartData::Class(ClassSpec {
            origin: v.origin,
            name: given(v.text("name")),
            driver: given(v.text("driver")),
            hours: given(v.hours("hours")).into_iter().map(HoursPart::for_every_day).collect(),
            daylight: given(v.flag("daylight")),
            short_day_loses: loses(v.text("short_day_loses")),
            machine_weight: v.text("machine_weight").as_deref().and_then(MachineWeight::named),
        }),
        "person" => PartData::Person(person(v)),
        "machine" => PartData::Machine(machine(v)?),
        "outfit" => PartData::Outfit(outfit(v)?),
        "contractor" => PartData::Contractor(ContractorSpec {
            origin: v.origin,
            name: given(v.text("name")),
            work_rate_ha_h: given(v.number("work_rate_ha_h")),
            from: v.day("from"),
            hours: given(v.hours("hours")).into_iter().map(HoursPart::for_every_day).collect(),
            only_if_behind: given(v.flag("only_if_behind")),
            cost_ha: v.number("cost_ha"),
        }),
        "operation" => PartData::Operation(operation(v)?),
        "after_operation" => PartData::Link(link(v)),
        "days_after" => PartData::DaysAfter(When::DaysAfter {
            operation: given(v.text("name")),
            days: count(v.whole("days")),
        }),
        "crop" => PartData::Crop(CropSpec {
            origin: v.origin,
            name: given(v.text("name")),
            yield_t_ha: given(v.number("yield_t_ha")),
            straw_t_ha: given(v.number("straw_t_ha")),
            straw: straw(v.text("straw")).unwrap_or(Straw::Bale),
            tillage: given(v.text("tillage")),
            standing: operations(v.parts("standing")),
            following: operations(v.parts("following")),
        }),
        "field" => PartData::Field(FieldSpec {
            origin: v.origin,
            name: given(v.text("name")),
            area_ha: given(v.number("area_ha")),
            soil: given(v.text("soil")),
            distance_km: given(v.number("distance_km")),
            block: v.text("block"),
            standing: v.text("standing"),
            following: v.text("following"),
            straw: straw(v.text("straw")),
            tillage: v.text("tillage"),
        }),
        "suitable" => PartData::Suitable(vec![SuitableRow {
            origin: v.origin,
            class: given(v.text("class")),
            soil: given(v.text("soil")),
            from: day(v.day("from")),
            to: day(v.day("to")),
            p_suitable: given(v.number("p_suitable")),
            p_shut: v.number("p_shut"),
            spread: v.number("spread"),
            hours_mean: v.number("hours_mean"),
            hours_sd: v.number("hours_sd"),
        }]),
        "driver" => PartData::Driver(vec![DriverRow {
            origin: v.origin,
            driver: given(v.text("name")),
            from: day(v.day("from")),
            to: day(v.day("to")),
            persistence: given(v.number("persistence")),
            spread: given(v.number("spread")),
            spread_days: given(v.spell("spread_days")),
            agreement: given(v.number("agreement")),
        }]),
        "rule" => PartData::Rule(record::rule(v)?),
        "stage" => PartData::Stage(StageSpec {
            origin: v.origin,
            name: given(v.text("name")),
            normally: day(v.day("normally")),
            base_c: given(v.number("base_c")),
            from: day(v.day("from")),
            sd_days: given(v.number("sd_days")),
        }),
        "farm" => {
            let policy = policy(v)?;
            let mut spec = farm(v)?;
            spec.left_open = policy.as_ref().map(PolicyPart::left_open).unwrap_or_default();
            PartData::Farm(Box::new(spec), policy)
        }
        _ => return Ok(None),
    }))
}

fn hours(v: &mut Values) -> HoursPart {
    let days = v.weekdays("days");
    HoursPart {
        days_given: days.is_some(),
        rule: HoursRule {
            from: day(v.day("from")),
            to: day(v.day("to")),
            weekdays: given(days),
            open: given(v.open("open")),
        },
    }
}

fn person(v: &mut Values) -> PersonSpec {
    PersonSpec {
        origin: v.origin,
        name: given(v.text("name")),
        hours: given(v.hours("hours")).into_iter().map(HoursPart::for_person).collect(),
        servicing_h: given(v.number("servicing_h")),
        overtime_h: given(v.number("overtime_h")),
        drives: given(v.texts("drives")),
        holidays: given(v.days("holidays")),
        cost_year: v.number("cost_year"),
        cost_h: v.number("cost_h"),
    }
}

fn machine(v: &mut Values) -> Result<MachineSpec, Mistake> {
    either(v, "machine", "tank_l", "hopper_kg")?;
    Ok(MachineSpec {
        origin: v.origin,
        name: given(v.text("name")),
        count: count(v.whole("count")),
        needs_driver: given(v.flag("needs_driver")),
        width_m: v.number("width_m"),
        speed_km_h: v.number("speed_km_h"),
        efficiency: v.number("efficiency"),
        work_rate_ha_h: v.number("work_rate_ha_h"),
        throughput_t_h: v.number("throughput_t_h"),
        road_speed_km_h: v.number("road_speed_km_h"),
        hold_kg: v.number("tank_l").or(v.number("hopper_kg")),
        fill_min: v.number("fill_min"),
        fill_at_yard: given(v.flag("fill_at_yard")),
        load_t: v.number("load_t"),
        unload_min: v.number("unload_min"),
        cost_year: v.number("cost_year"),
        cost_m_year: v.number("cost_m_year"),
        cost_h: v.number("cost_h"),
    })
}

fn outfit(v: &mut Values) -> Result<OutfitSpec, Mistake> {
    either(v, "outfit", "machines", "units")?;
    let (machines, units) = (v.texts("machines"), v.groups("units"));
    let Some(units) = units.or(machines.map(|machines| vec![machines])) else {
        return Err(Mistake::new(
            Mark::Call,
            "outfit needs `machines` or `units`",
            "add, for example, machines: [\"tractor\", \"drill\"]",
        ));
    };
    Ok(OutfitSpec { origin: v.origin, name: given(v.text("name")), units })
}

fn operation(v: &mut Values) -> Result<OperationSpec, Mistake> {
    either(v, "operation", "brings_kg_ha", "brings_l_ha")?;
    either(v, "operation", "moves", "brings_kg_ha")?;
    either(v, "operation", "moves", "brings_l_ha")?;
    let brought = v.number("brings_kg_ha").or(v.number("brings_l_ha"));
    let moved = v.text("moves").map(|text| if text == "straw" { Moves::Straw } else { Moves::Grain });
    let anytime = || When::Date(day(None));
    Ok(OperationSpec {
        origin: v.origin,
        name: given(v.text("name")),
        class: given(v.text("class")),
        outfits: given(v.texts("outfits")),
        from: v.when("from").unwrap_or_else(anytime),
        due: v.when("due").unwrap_or_else(anytime),
        latest: v.when("latest"),
        moves_with: v.text("moves_with"),
        after: given(v.links("after")),
        straw: straw(v.text("straw")),
        tillage: given(v.texts("tillage")),
        moves: brought.map(|kg_ha| Moves::Brought { kg_ha }).or(moved),
        chopping_factor: given(v.number("chopping_factor")),
        fallback_crop: v.text("fallback_crop"),
    })
}

fn link(v: &mut Values) -> LinkSpec {
    LinkSpec {
        origin: v.origin,
        operation: given(v.text("name")),
        required: given(v.flag("required")),
        min_lag_h: given(v.number("min_lag_h")),
        max_lag_days: v.whole("max_lag_days").map(|days| count(Some(days))),
        if_missed: match v.text("if_missed").as_deref() {
            Some("drop") => Missed::Drop,
            Some("repeat") => Missed::Repeat,
            _ => Missed::Continue,
        },
        follow_ha: v.number("follow_ha"),
    }
}

/// What is in a list of parts, by its kind.
fn each<T>(parts: Option<Parts>, of: impl Fn(&PartData) -> Option<T>) -> Vec<T> {
    parts.iter().flat_map(|parts| &parts.0).filter_map(|part| of(part.data())).collect()
}

fn operations(parts: Option<Parts>) -> Vec<OperationSpec> {
    each(parts, |part| if let PartData::Operation(spec) = part { Some(spec.clone()) } else { None })
}

macro_rules! specs {
    ($values:ident, $key:literal, $variant:ident) => {
        each(
            $values.parts($key),
            |part| {
                if let PartData::$variant(spec) = part { Some(spec.clone()) } else { None }
            },
        )
    };
}

fn farm(v: &mut Values) -> Result<FarmSpec, Mistake> {
    let classes: Vec<ClassSpec> = specs!(v, "classes", Class);
    let (latitude, longitude) = (v.number("latitude_deg"), v.number("longitude_deg"));
    if let Some(class) = classes.iter().find(|class| class.daylight)
        && (latitude.is_none() || longitude.is_none())
    {
        return Err(Mistake::new(
            Mark::Call,
            format!(
                "the work class \"{}\" needs daylight, but the farm does not say where it lies",
                class.name
            ),
            "add latitude_deg and longitude_deg to farm(...), for example latitude_deg: 52.2, longitude_deg: 0.1",
        ));
    }
    let site = Site::new(
        given(latitude),
        given(longitude),
        given(v.number("utc_offset_h")),
        v.flag("summer_time").unwrap_or(true),
    )
    .map_err(|error| {
        let message = error.to_string();
        let key = message.split(' ').next().unwrap_or_default().to_string();
        Mistake::new(
            Mark::Value { key, word: None },
            message,
            "give degrees or hours within the permitted range",
        )
    })?;
    either(v, "farm", "suitable_days", "weather")?;
    if !v.has("suitable_days") && !v.has("weather") {
        return Err(Mistake::new(
            Mark::Call,
            "farm needs `suitable_days` or `weather`: how likely a day is suitable, or a daily record that says so",
            "add, for example, suitable_days: [suitable(#{ class: \"drilling\", p_suitable: 0.5 })] or \
             weather: replay(\"record.csv\")",
        ));
    }
    let (weather, rules): (Vec<RecordSpec>, Vec<RuleSpec>) =
        (specs!(v, "weather", Weather), specs!(v, "rules", Rule));
    let record = match <[RecordSpec; 1]>::try_from(weather) {
        Ok([of]) => Some(RecordSpec { rules, ..of }),
        Err(none) if none.is_empty() && rules.is_empty() => None,
        Err(none) if none.is_empty() => {
            return Err(Mistake::new(
                Mark::Key("rules".into()),
                "`rules` of farm judge the days of a record, and there is none",
                "add weather: replay(\"record.csv\"), or take the rules out",
            ));
        }
        Err(_) => {
            let key = Mark::Value { key: "weather".into(), word: None };
            return Err(Mistake::new(key, "`weather` of farm is more than one record", "give one"));
        }
    };
    Ok(FarmSpec {
        origin: v.origin,
        name: given(v.text("name")),
        first_day: v.date("first_day").unwrap_or_default(),
        last_day: v.date("last_day").unwrap_or_default(),
        site,
        holidays: given(v.days("holidays")),
        currency: v.text("currency"),
        suitable: specs!(v, "suitable_days", Suitable).into_iter().flatten().collect(),
        record,
        drivers: specs!(v, "drivers", Driver).into_iter().flatten().collect(),
        stages: specs!(v, "stages", Stage),
        classes,
        people: specs!(v, "people", Person),
        machines: specs!(v, "machines", Machine),
        outfits: specs!(v, "outfits", Outfit),
        contractors: specs!(v, "contractors", Contractor),
        crops: specs!(v, "crops", Crop),
        fields: specs!(v, "fields", Field),
        left_open: LeftOpen::default(),
    })
}

/// Who decides on the farm, if the script does.
fn policy(v: &mut Values) -> Result<Option<PolicyPart>, Mistake> {
    let mut policies: Vec<PolicyPart> = specs!(v, "policy", Policy);
    if policies.len() > 1 {
        let key = Mark::Value { key: "policy".into(), word: None };
        return Err(Mistake::new(
            key,
            "`policy` of farm is more than one",
            "put all decisions into one policy(...)",
        ));
    }
    Ok(policies.pop())
}

/// The value of a verb that makes a text or a number, not a part.
pub(crate) fn reckon(verb: &str, values: &mut Values) -> Result<Value, Mistake> {
    Ok(match verb {
        "add_days" => {
            let later = clock::add_days(day(values.day("day")), given(values.whole("days")));
            Value::Text(later.to_string())
        }
        "days_between" => {
            Value::Whole(clock::days_between(day(values.day("first")), day(values.day("second"))))
        }
        "sum" => Value::Number(given(values.numbers("list")).iter().sum()),
        "mean" => {
            let list = given(values.numbers("list"));
            Value::Number(list.iter().sum::<f64>() / list.len().max(1) as f64)
        }
        "least" => Value::Number(given(values.numbers("list")).into_iter().fold(f64::INFINITY, f64::min)),
        "greatest" => {
            Value::Number(given(values.numbers("list")).into_iter().fold(f64::NEG_INFINITY, f64::max))
        }
        _ => {
            let (start_s, hours) = (given(values.whole("start")), given(values.number("hours")));
            Value::Text(
                clock::hours_text(start_s, hours)
                    .map_err(|error| Mistake::new(Mark::Argument(1), error.why, error.fix))?,
            )
        }
    })
}

impl Part {
    /// The farm, if this is one.
    pub(crate) fn farm(&self) -> Option<&FarmSpec> {
        if let PartData::Farm(spec, _) = self.data() { Some(spec) } else { None }
    }

    /// Who decides on the farm, if this is one and the script does.
    pub(crate) fn policy(&self) -> Option<&PolicyPart> {
        if let PartData::Farm(_, policy) = self.data() { policy.as_ref() } else { None }
    }
}
