//! What is refused before any name is resolved: two parts of one name, numbers that no farm has, machines
//! that are only half given. Also the error of a name that nothing has.

use super::error::{FarmError, FarmErrorKind};
use super::ranges::{self, Range};
use super::spec::{ANY_SOIL, CropSpec, FarmSpec, MachineSpec, OperationSpec, Origin, SuitableRow, TILLAGE};
use super::stages;
use crate::weather::greatest_sd_h;

/// The error of a name that nothing has, with the name most like it.
pub(super) fn unknown<'a>(
    origin: Origin,
    kind: &'static str,
    name: &str,
    known: impl Iterator<Item = &'a str>,
) -> FarmError {
    let mut names: Vec<String> = Vec::new();
    for candidate in known {
        if !names.iter().any(|seen| seen == candidate) {
            names.push(candidate.to_string());
        }
    }
    let like = names
        .iter()
        .map(|candidate| (distance(name, candidate), candidate))
        .min()
        .filter(|(edits, _)| *edits * 3 <= name.chars().count().max(3))
        .map(|(_, candidate)| candidate.clone());
    FarmError {
        origin,
        word: name.to_string(),
        kind: FarmErrorKind::Unknown { kind, name: name.to_string(), like, known: names },
    }
}

/// Levenshtein's distance between two names, case ignored.
fn distance(one: &str, other: &str) -> usize {
    let one: Vec<char> = one.to_lowercase().chars().collect();
    let other: Vec<char> = other.to_lowercase().chars().collect();
    let mut row: Vec<usize> = (0..=other.len()).collect();
    for (i, a) in one.iter().enumerate() {
        let mut diagonal = row[0];
        row[0] = i + 1;
        for (j, b) in other.iter().enumerate() {
            let replaced = diagonal + usize::from(a != b);
            diagonal = row[j + 1];
            row[j + 1] = replaced.min(row[j] + 1).min(diagonal + 1);
        }
    }
    row[other.len()]
}

/// Refuses two parts of one kind with one name.
pub(super) fn names(spec: &FarmSpec) -> Result<(), FarmError> {
    fn once<'a>(kind: &'static str, parts: impl Iterator<Item = (Origin, &'a str)>) -> Result<(), FarmError> {
        let mut seen: Vec<&str> = Vec::new();
        for (origin, name) in parts {
            if seen.contains(&name) {
                let kind = FarmErrorKind::Twice { kind, name: name.into() };
                return Err(FarmError { origin, word: name.into(), kind });
            }
            seen.push(name);
        }
        Ok(())
    }
    once("stage", spec.stages.iter().map(|part| (part.origin, part.name.as_str())))?;
    once("work class", spec.classes.iter().map(|part| (part.origin, part.name.as_str())))?;
    once(
        "person",
        spec.people
            .iter()
            .map(|part| (part.origin, part.name.as_str()))
            .chain(spec.contractors.iter().map(|part| (part.origin, part.name.as_str()))),
    )?;
    once("machine", spec.machines.iter().map(|part| (part.origin, part.name.as_str())))?;
    once(
        "outfit",
        spec.outfits
            .iter()
            .map(|part| (part.origin, part.name.as_str()))
            .chain(spec.contractors.iter().map(|part| (part.origin, part.name.as_str()))),
    )?;
    once("field", spec.fields.iter().map(|part| (part.origin, part.name.as_str())))?;
    once("crop", spec.crops.iter().map(|part| (part.origin, part.name.as_str())))?;
    for crop in &spec.crops {
        let operations = crop.standing.iter().chain(&crop.following);
        once("operation", operations.map(|part| (part.origin, part.name.as_str())))?;
    }
    Ok(())
}

/// Refuses names that nothing has, also where no field would have come across them: a slip of the pen would
/// otherwise change the answer without a word.
pub(super) fn references(spec: &FarmSpec) -> Result<(), FarmError> {
    for person in &spec.people {
        for name in &person.drives {
            if !spec.machines.iter().any(|machine| machine.name == *name) {
                let known = spec.machines.iter().map(|machine| machine.name.as_str());
                return Err(unknown(person.origin, "machine", name, known));
            }
        }
    }
    for class in &spec.classes {
        let known = || spec.drivers.iter().map(|row| row.driver.as_str());
        if !spec.drivers.is_empty() && !known().any(|name| name == class.driver) {
            return Err(unknown(class.origin, "driver", &class.driver, known()));
        }
    }
    for row in spec.suitable.iter().filter(|row| row.soil != ANY_SOIL) {
        let soils = || spec.fields.iter().map(|field| field.soil.as_str());
        let stands_in = spec.suitable.iter().any(|other| other.class == row.class && other.soil == ANY_SOIL);
        if stands_in && !soils().any(|soil| soil == row.soil) {
            return Err(unknown(row.origin, "soil", &row.soil, soils()));
        }
    }
    let tillage = |origin: Origin, way: &str| {
        if TILLAGE.contains(&way) {
            return Ok(());
        }
        Err(unknown(origin, "way of making a seedbed", way, TILLAGE.into_iter()))
    };
    for field in &spec.fields {
        for crop in field.standing.iter().chain(&field.following) {
            crop_named(spec, field.origin, crop)?;
        }
        tillage(field.origin, field.tillage.as_deref().unwrap_or(TILLAGE[0]))?;
    }
    for crop in &spec.crops {
        tillage(crop.origin, &crop.tillage)?;
        for operation in crop.standing.iter().chain(&crop.following) {
            for way in &operation.tillage {
                tillage(operation.origin, way)?;
            }
            operation_names(spec, crop, operation)?;
        }
    }
    Ok(())
}

fn crop_named(spec: &FarmSpec, origin: Origin, name: &str) -> Result<(), FarmError> {
    if spec.crops.iter().any(|crop| crop.name == name) {
        return Ok(());
    }
    Err(unknown(origin, "crop", name, spec.crops.iter().map(|crop| crop.name.as_str())))
}

fn operation_names(spec: &FarmSpec, crop: &CropSpec, operation: &OperationSpec) -> Result<(), FarmError> {
    if !spec.classes.iter().any(|class| class.name == operation.class) {
        let known = spec.classes.iter().map(|class| class.name.as_str());
        return Err(unknown(operation.origin, "work class", &operation.class, known));
    }
    if operation.outfits.is_empty() {
        return Err(FarmError {
            origin: operation.origin,
            word: operation.name.clone(),
            kind: FarmErrorKind::Missing {
                what: "outfit",
                of: format!("{} of {}", operation.name, crop.name),
                fix: "name in `outfits` at least one outfit or contractor that can do it".into(),
            },
        });
    }
    let outfits = || {
        let own = spec.outfits.iter().map(|outfit| outfit.name.as_str());
        own.chain(spec.contractors.iter().map(|contractor| contractor.name.as_str()))
    };
    for name in &operation.outfits {
        if !outfits().any(|known| known == name) {
            return Err(unknown(operation.origin, "outfit", name, outfits()));
        }
    }
    if let Some(name) = &operation.moves_with {
        stages::named(spec, operation, name)?;
    }
    if let Some(name) = &operation.fallback_crop {
        crop_named(spec, operation.origin, name)?;
    }
    // Earlier work may belong to the crop itself or to whatever stood before it.
    let all = || spec.crops.iter().flat_map(|crop| crop.standing.iter().chain(&crop.following));
    for link in &operation.after {
        if !all().any(|other| other.name == link.operation) {
            let known = crop.standing.iter().chain(&crop.following).map(|other| other.name.as_str());
            return Err(unknown(link.origin, "operation on this field", &link.operation, known));
        }
    }
    Ok(())
}

/// Refuses numbers that no farm has.
pub(super) fn numbers(spec: &FarmSpec) -> Result<(), FarmError> {
    let check = |origin: Origin, of: &str, value: f64, range: Range| {
        if range.holds(value) {
            return Ok(());
        }
        let what = range.what;
        let kind = FarmErrorKind::OutOfRange { what, of: format!("\"{of}\""), value, range: range.words };
        Err(FarmError { origin, word: what.to_string(), kind })
    };
    for row in &spec.suitable {
        let of = &row.class;
        check(row.origin, of, row.p_suitable, ranges::P_SUITABLE)?;
        let left = Range { most: 1.0 - row.p_suitable + 1e-9, ..ranges::P_SHUT };
        check(row.origin, of, row.p_shut.unwrap_or(0.0), left)?;
        check(row.origin, of, row.spread.unwrap_or(0.0), ranges::OWN_SPREAD)?;
        check(row.origin, of, row.hours_mean.unwrap_or(24.0), ranges::HOURS_MEAN)?;
        check(row.origin, of, row.hours_sd.unwrap_or(0.0), ranges::HOURS_SD)?;
        workable_hours(spec, row)?;
    }
    for row in &spec.drivers {
        let of = &row.driver;
        check(row.origin, of, row.persistence, ranges::PERSISTENCE)?;
        check(row.origin, of, row.spread, ranges::SPREAD)?;
        check(row.origin, of, row.agreement, ranges::AGREEMENT)?;
        check(row.origin, of, row.spread_days.unwrap_or(1.0), ranges::SPREAD_DAYS)?;
    }
    for stage in &spec.stages {
        let of = &stage.name;
        check(stage.origin, of, stage.base_c, ranges::BASE_C)?;
        check(stage.origin, of, stage.sd_days, ranges::SD_DAYS)?;
        stages::check_order(stage)?;
    }
    for field in &spec.fields {
        let of = &field.name;
        check(field.origin, of, field.area_ha, ranges::AREA_HA)?;
        check(field.origin, of, field.distance_km, ranges::DISTANCE_KM)?;
    }
    for crop in &spec.crops {
        let of = &crop.name;
        check(crop.origin, of, crop.yield_t_ha, ranges::YIELD_T_HA)?;
        check(crop.origin, of, crop.straw_t_ha, ranges::STRAW_T_HA)?;
        for operation in crop.standing.iter().chain(&crop.following) {
            let of = &operation.name;
            check(operation.origin, of, operation.chopping_factor, ranges::CHOPPING_FACTOR)?;
            for link in &operation.after {
                check(link.origin, of, link.min_lag_h, ranges::MIN_LAG_H)?;
                check(link.origin, of, link.follow_ha.unwrap_or(1.0), ranges::FOLLOW_HA)?;
                if link.follow_ha.is_some() && (link.min_lag_h > 0.0 || link.max_lag_days.is_some()) {
                    return Err(FarmError {
                        origin: link.origin,
                        word: "follow_ha".into(),
                        kind: FarmErrorKind::Conflict {
                            of: format!("\"{of}\" after \"{}\"", link.operation),
                            why: "what follows in the same field cannot have a lag as well",
                            fix: "give either `follow_ha`, or `min_lag_h` and `max_lag_days`",
                        },
                    });
                }
            }
        }
    }
    for person in &spec.people {
        let of = &person.name;
        check(person.origin, of, person.servicing_h, ranges::SERVICING_H)?;
        check(person.origin, of, person.overtime_h, ranges::OVERTIME_H)?;
        check(person.origin, of, person.cost_year.unwrap_or(0.0), ranges::COST_YEAR)?;
        check(person.origin, of, person.cost_h.unwrap_or(0.0), ranges::COST_H)?;
    }
    for contractor in &spec.contractors {
        check(contractor.origin, &contractor.name, contractor.work_rate_ha_h, ranges::HIRED_RATE_HA_H)?;
        check(contractor.origin, &contractor.name, contractor.cost_ha.unwrap_or(0.0), ranges::COST_HA)?;
    }
    for machine in &spec.machines {
        let given = [
            (machine.width_m, ranges::WIDTH_M),
            (machine.speed_km_h, ranges::SPEED_KM_H),
            (machine.efficiency, ranges::EFFICIENCY),
            (machine.work_rate_ha_h, ranges::WORK_RATE_HA_H),
            (machine.throughput_t_h, ranges::THROUGHPUT_T_H),
            (machine.road_speed_km_h, ranges::ROAD_SPEED_KM_H),
            (machine.hold_kg, ranges::HOLD_KG),
            (machine.fill_min, ranges::FILL_MIN),
            (machine.load_t, ranges::LOAD_T),
            (machine.unload_min, ranges::UNLOAD_MIN),
            (machine.cost_year, ranges::COST_YEAR),
            (machine.cost_m_year, ranges::COST_M_YEAR),
            (machine.cost_h, ranges::COST_H),
        ];
        for (value, range) in given {
            if let Some(value) = value {
                check(machine.origin, &machine.name, value, range)?;
            }
        }
        check_machine(machine)?;
    }
    Ok(())
}

/// Refuses half-given machines.
fn check_machine(machine: &MachineSpec) -> Result<(), FarmError> {
    let missing = |what: &'static str, with: &str| FarmError {
        origin: machine.origin,
        word: with.to_string(),
        kind: FarmErrorKind::Missing {
            what,
            of: format!("the machine \"{}\"", machine.name),
            fix: format!("`{with}` needs `{what}` beside it"),
        },
    };
    let by_width = [
        ("width_m", machine.width_m),
        ("efficiency", machine.efficiency),
        ("speed_km_h", machine.speed_km_h),
    ];
    if machine.work_rate_ha_h.is_some() && by_width.iter().any(|(_, value)| value.is_some()) {
        return Err(FarmError {
            origin: machine.origin,
            word: "work_rate_ha_h".into(),
            kind: FarmErrorKind::Conflict {
                of: format!("the machine \"{}\"", machine.name),
                why: "it has both a width or speed and a work rate, so its rate is said twice",
                fix: "give either `work_rate_ha_h`, or `width_m`, `speed_km_h` and `efficiency`",
            },
        });
    }
    if let Some((present, _)) = by_width.iter().find(|(_, value)| value.is_some())
        && let Some((absent, _)) = by_width.iter().find(|(_, value)| value.is_none())
    {
        return Err(missing(absent, present));
    }
    if machine.cost_m_year.is_some() && machine.width_m.is_none() {
        return Err(missing("width_m", "cost_m_year"));
    }
    if machine.hold_kg.is_some() && machine.fill_min.is_none() {
        return Err(missing("fill_min", "tank_l or hopper_kg"));
    }
    if machine.load_t.is_some() && machine.unload_min.is_none() {
        return Err(missing("unload_min", "load_t"));
    }
    Ok(())
}

/// What a row says of workable hours, each number in its range, fits together and has a clock to shorten.
fn workable_hours(spec: &FarmSpec, row: &SuitableRow) -> Result<(), FarmError> {
    let conflict = |word: &str, why, fix| FarmError {
        origin: row.origin,
        word: word.into(),
        kind: FarmErrorKind::Conflict { of: format!("the suitable days of \"{}\"", row.class), why, fix },
    };
    let Some(mean_h) = row.hours_mean else {
        return row.hours_sd.map_or(Ok(()), |_| {
            let why = "there is an `hours_sd` without the `hours_mean` that it is about";
            Err(conflict("hours_sd", why, "give `hours_mean`, the hours of a usual suitable day, too"))
        });
    };
    let (sd_h, most_h) = (row.hours_sd.unwrap_or(0.0), greatest_sd_h(mean_h));
    if sd_h > most_h {
        let kind = FarmErrorKind::HoursSpread { of: row.class.clone(), mean_h, sd_h, most_h };
        return Err(FarmError { origin: row.origin, word: "hours_sd".into(), kind });
    }
    if spec.classes.iter().any(|class| class.name == row.class && !class.has_clock()) {
        let why = "its class is open day and night, and a short day is counted from the ends of its hours";
        let fix = "give the class `hours` or `daylight: true`";
        return Err(conflict("hours_mean", why, fix));
    }
    Ok(())
}
