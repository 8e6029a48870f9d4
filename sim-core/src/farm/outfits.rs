//! Outfits: which machines and people they take, whether anyone can man them, how fast they work.

use super::check::unknown;
use super::error::{FarmError, FarmErrorKind};
use super::model::{Outfit, Unit};
use super::rate::{Cartage, Hold, Limits, work_rate_ha_h};
use super::spec::{FarmSpec, OutfitSpec};

/// Road speed where no machine of an outfit gives one, in km/h: common practice, no source.
const DEFAULT_ROAD_SPEED_KM_H: f64 = 25.0;

/// The mask of the machines alike under a name in the spec.
fn machine_mask(spec: &FarmSpec, index: usize) -> u128 {
    let first: u32 = spec.machines[..index].iter().map(|machine| machine.count).sum();
    (0..spec.machines[index].count).fold(0, |mask, bit| mask | 1u128 << (first + bit))
}

pub(super) fn outfits(spec: &FarmSpec) -> Result<Vec<Outfit>, FarmError> {
    let mut outfits = Vec::new();
    for outfit in &spec.outfits {
        outfits.push(outfit_of(spec, outfit)?);
    }
    for (index, contractor) in spec.contractors.iter().enumerate() {
        let person = spec.people.len() + index;
        outfits.push(Outfit {
            name: contractor.name.clone(),
            units: vec![Unit { machines: Vec::new(), drivers: Some(1 << person) }],
            road_speed_km_h: DEFAULT_ROAD_SPEED_KM_H,
            anyone: 1 << person,
            contractor: Some(person),
        });
    }
    Ok(outfits)
}

fn outfit_of(spec: &FarmSpec, outfit: &OutfitSpec) -> Result<Outfit, FarmError> {
    let of = format!("the outfit \"{}\"", outfit.name);
    if outfit.units.iter().all(Vec::is_empty) {
        return Err(FarmError {
            origin: outfit.origin,
            word: outfit.name.clone(),
            kind: FarmErrorKind::Missing {
                what: "machine",
                of,
                fix: "name its machines in `machines`".into(),
            },
        });
    }
    let mut units = Vec::new();
    let mut used = vec![0u32; spec.machines.len()];
    let mut road_speed = f64::INFINITY;
    for unit in &outfit.units {
        let mut kinds: Vec<(u128, u32)> = Vec::new();
        let mut drivers = u64::MAX;
        let mut driven = false;
        for name in unit {
            let index = spec.machines.iter().position(|machine| machine.name == *name).ok_or_else(|| {
                let known = spec.machines.iter().map(|machine| machine.name.as_str());
                unknown(outfit.origin, "machine", name, known)
            })?;
            let machine = &spec.machines[index];
            used[index] += 1;
            if used[index] > machine.count {
                return Err(FarmError {
                    origin: outfit.origin,
                    word: name.clone(),
                    kind: FarmErrorKind::Conflict {
                        of,
                        why: "it names a machine more often than the farm has it",
                        fix: "raise the machine's `count`, or take it out of the outfit",
                    },
                });
            }
            let mask = machine_mask(spec, index);
            match kinds.iter_mut().find(|(known, _)| *known == mask) {
                Some((_, count)) => *count += 1,
                None => kinds.push((mask, 1)),
            }
            road_speed = road_speed.min(machine.road_speed_km_h.unwrap_or(f64::INFINITY));
            if machine.needs_driver {
                driven = true;
                drivers &= drivers_of(spec, name);
            }
        }
        if driven && drivers == 0 {
            let needing = unit.iter().filter(|name| {
                spec.machines.iter().any(|machine| machine.name == **name && machine.needs_driver)
            });
            let needing: Vec<&str> = needing.map(String::as_str).collect();
            let why = format!("nobody has {} in `drives`", needing.join(" and also "));
            return Err(no_driver(outfit, why));
        }
        units.push(Unit { machines: kinds, drivers: driven.then_some(drivers) });
    }
    if !can_be_manned(&units, 0, 0) {
        let heads = units.iter().filter(|unit| unit.drivers.is_some()).count();
        let why = format!("it needs {heads} drivers at once, and fewer may drive what it has");
        return Err(no_driver(outfit, why));
    }
    let anyone = units.iter().filter_map(|unit| unit.drivers).fold(0, |mask, drivers| mask | drivers);
    let road_speed_km_h = if road_speed.is_finite() { road_speed } else { DEFAULT_ROAD_SPEED_KM_H };
    Ok(Outfit { name: outfit.name.clone(), units, road_speed_km_h, anyone, contractor: None })
}

fn no_driver(outfit: &OutfitSpec, why: String) -> FarmError {
    let name = format!("the outfit \"{}\"", outfit.name);
    FarmError {
        origin: outfit.origin,
        word: outfit.name.clone(),
        kind: FarmErrorKind::NoDriver { outfit: name, why },
    }
}

/// The mask of the people who list a machine.
fn drivers_of(spec: &FarmSpec, machine: &str) -> u64 {
    spec.people.iter().enumerate().fold(0, |mask, (index, person)| {
        mask | u64::from(person.drives.iter().any(|name| name == machine)) << index
    })
}

/// Whether every unit from `next` on can get a driver of its own beside those in `taken`.
fn can_be_manned(units: &[Unit], next: usize, taken: u64) -> bool {
    let Some(unit) = units.get(next) else { return true };
    let Some(drivers) = unit.drivers else { return can_be_manned(units, next + 1, taken) };
    let mut free = drivers & !taken;
    while free != 0 {
        let person = free & free.wrapping_neg();
        if can_be_manned(units, next + 1, taken | person) {
            return true;
        }
        free &= !person;
    }
    false
}

/// The limits on an outfit's work rate in a field.
pub(super) fn limits(
    spec: &FarmSpec,
    outfit: &Outfit,
    distance_km: f64,
    factor: f64,
    moved_t_ha: Option<f64>,
    brought_kg_ha: Option<f64>,
) -> Limits {
    if let Some(person) = outfit.contractor {
        let contractor = &spec.contractors[person - spec.people.len()];
        return Limits { ground_ha_h: Some(contractor.work_rate_ha_h * factor), ..Limits::default() };
    }
    let way_min = 2.0 * distance_km / outfit.road_speed_km_h * 60.0;
    let mut limits = Limits::default();
    let mut throughput_t_h = 0.0;
    let mut cartage: Option<Cartage> = None;
    for (mask, count) in outfit.units.iter().flat_map(|unit| &unit.machines) {
        let Some(index) = (0..spec.machines.len()).find(|index| machine_mask(spec, *index) == *mask) else {
            continue;
        };
        let (machine, count) = (&spec.machines[index], f64::from(*count));
        let ground = machine
            .work_rate_ha_h
            .or_else(|| Some(work_rate_ha_h(machine.width_m?, machine.speed_km_h?, machine.efficiency?)));
        if let Some(ha_h) = ground {
            *limits.ground_ha_h.get_or_insert(0.0) += ha_h * count * factor;
        }
        throughput_t_h += machine.throughput_t_h.unwrap_or(0.0) * count * factor;
        if let (Some(load_t), Some(unload_min)) = (machine.load_t, machine.unload_min) {
            let before = cartage.unwrap_or(Cartage { load_t: 0.0, round_min: 0.0, trailers: 0.0 });
            let trailers = before.trailers + count;
            cartage = Some(Cartage {
                load_t: (before.load_t * before.trailers + load_t * count) / trailers,
                round_min: (before.round_min * before.trailers + (unload_min + way_min) * count) / trailers,
                trailers,
            });
        }
        if let (Some(hold_kg), Some(fill_min), Some(kg_ha)) =
            (machine.hold_kg, machine.fill_min, brought_kg_ha)
        {
            let away_min = fill_min + if machine.fill_at_yard { way_min } else { 0.0 };
            limits.hold = Some((kg_ha, Hold { hold_kg, away_min }));
        }
    }
    if let Some(t_ha) = moved_t_ha {
        if throughput_t_h > 0.0 {
            limits.throughput = Some((throughput_t_h, t_ha));
        }
        limits.cartage = cartage.map(|cartage| (t_ha, cartage));
    }
    limits
}
