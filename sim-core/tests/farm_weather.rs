//! What a farm says of its days, as the numbers by day that its weather is drawn from.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

mod common;

use common::*;
use sim_core::farm::Farm;
use sim_core::farm::spec::*;
use sim_core::weather::Weather;

/// Two work classes on two soils: "work" has rows for any soil, "lifting" for heavy soil alone.
fn farm() -> FarmSpec {
    let mut spec = bare(0.6);
    spec.drivers[0].to = "06-30".parse().unwrap();
    spec.drivers[0].spread = 0.2;
    spec.classes.push(ClassSpec { name: "lifting".into(), ..spec.classes[0].clone() });
    spec.people.push(person("Ann", &["tractor"]));
    spec.machines.push(machine("tractor", 1.0));
    spec.outfits.push(outfit("tractor", &["tractor"]));
    spec.crops.push(crop("wheat", vec![operation("rolling", &["tractor"], ["03-01", "03-20", "03-31"])]));
    spec.fields.push(field("North", 5.0, "wheat"));
    spec.fields.push(FieldSpec { soil: "heavy".into(), ..field("South", 5.0, "wheat") });
    let row = |class: &str, soil: &str, [from, to]: [&str; 2], p_suitable, spread| SuitableRow {
        class: class.into(),
        soil: soil.into(),
        from: from.parse().unwrap(),
        to: to.parse().unwrap(),
        p_suitable,
        spread,
        ..bare(0.5).suitable.remove(0)
    };
    spec.suitable = vec![
        row("work", ANY_SOIL, ["01-01", "12-31"], 0.6, None),
        row("lifting", "heavy", ["11-16", "03-15"], 0.1, Some(0.7)),
        row("lifting", "heavy", ["03-16", "08-31"], 0.5, None),
        row("lifting", "heavy", ["09-01", "11-15"], 0.3, Some(0.0)),
    ];
    spec
}

/// A row's own spread goes before the driver's, on the row's days; where neither says anything it is the default.
#[test]
fn a_row_has_its_own_spread_or_its_drivers() {
    let farm = Farm::new(&farm()).unwrap();
    assert_eq!(farm.soils, ["medium", "heavy"]);
    let key = |class: usize, soil: usize| &farm.weather.keys[class * farm.soils.len() + soil];
    let day = |text: &str| farm.span.day_of(text.parse().unwrap()).unwrap() as usize;
    // The driver says 0.2 to the end of June and nothing afterwards.
    for of in [key(0, 0), key(0, 1), key(1, 0)] {
        assert!(of.phi[..=day("2025-06-30")].iter().all(|phi| *phi == 0.2));
        assert!(of.phi[day("2025-07-01")..].iter().all(|phi| *phi == DEFAULT_SPREAD));
    }
    let own = &key(1, 1).phi;
    for (text, want) in [
        ("2025-01-01", 0.7),
        ("2025-03-15", 0.7),
        ("2025-03-16", 0.2),
        ("2025-06-30", 0.2),
        ("2025-08-31", DEFAULT_SPREAD),
        ("2025-09-01", 0.0),
        ("2025-11-15", 0.0),
        ("2025-11-16", 0.7),
    ] {
        assert_eq!(own[day(text)], want, "{text}");
    }
    Weather::new(&farm.weather).unwrap();
}

/// What the farm lets pass the weather takes.
#[test]
fn a_spread_is_from_0_to_99_hundredths() {
    for spread in [-0.01, 0.995, 1.0, f64::NAN] {
        let mut wrong = farm();
        wrong.suitable[1].spread = Some(spread);
        let error = Farm::new(&wrong).unwrap_err().to_string();
        assert_eq!(error, format!("spread of \"lifting\" is {spread}, but must be between 0 and 0.99"));
        let mut wrong = farm();
        wrong.drivers[0].spread = spread;
        let error = Farm::new(&wrong).unwrap_err().to_string();
        assert_eq!(error, format!("spread of \"soil\" is {spread}, but must be between 0 and 0.99"));
    }
    let mut most = farm();
    (most.suitable[1].spread, most.drivers[0].spread) = (Some(0.99), 0.99);
    Weather::new(&Farm::new(&most).unwrap().weather).unwrap();
}

/// Land shuts as its rows say: more and more until the row after says less, never where no row says so.
#[test]
fn land_shuts_as_its_rows_say() {
    let mut spec = farm();
    for row in spec.suitable.iter_mut().filter(|row| row.class == "lifting" && row.soil == "heavy") {
        row.p_shut = (row.p_suitable == 0.1).then_some(0.8);
    }
    let built = Farm::new(&spec).unwrap();
    let shut: Vec<&Vec<f64>> = built.weather.keys.iter().filter_map(|key| key.shut.as_ref()).collect();
    assert_eq!(shut.len(), 1);
    let day = |text: &str| built.span.day_of(text.parse().unwrap()).unwrap() as usize;
    for (on, want) in [("2025-01-20", 0.8), ("2025-03-15", 0.8), ("2025-03-16", 0.0), ("2025-11-15", 0.0)] {
        assert_eq!(shut[0][day(on)], want, "{on}");
    }
    assert!(shut[0][day("2025-11-16")] > 0.0 && shut[0].is_sorted_by(|a, b| a <= b || *b == 0.0));
    for p_shut in [-0.1, 0.95, f64::NAN] {
        let mut wrong = farm();
        wrong.suitable[1].p_shut = Some(p_shut);
        let error = Farm::new(&wrong).unwrap_err().to_string();
        let range = "between 0 and what p_suitable leaves of 1";
        assert_eq!(error, format!("p_shut of \"lifting\" is {p_shut}, but must be {range}"));
    }
}
