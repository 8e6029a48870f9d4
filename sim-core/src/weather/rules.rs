//! Rules for a workable day to start from: eight kinds of work on light, medium and heavy land. They are data like any
//! other rules; a script may take some of them and put its own in the place of others.
//!
//! Where nothing else is said a limit is common practice, without a source. Sources of the others:
//!
//! - Heavy loads travel from a deficit of 10 mm (from memory, an Irish trafficability study); light land is asked for
//!   nothing of the kind, medium land for half.
//! - Tilling and drilling ask the surface too: of the dry days after 10 mm of rain nearly half would pass a rule on the
//!   deficit of the whole root zone alone (see [`Topsoil`](crate::weather::Topsoil)).
//! - Spraying: up to 5 m/s at boom height (extension guides), which a wind of 5 m/s at 10 m seldom exceeds (times 0.748 at
//!   2 m, FAO Irrigation and Drainage Paper 56); delta-T 2 to 8 degrees (extension guides), wider by half on either side
//!   because the day's mean hides its hours. A daily mean misjudges spraying, which uses calm early and late hours.
//! - Granular fertiliser: below 3.4 m/s while spreading (an extension guide); the calm hours have about three quarters of
//!   the daily mean (common practice), hence 4.5 m/s.
//! - Combining and baling are decided by the air: a dry day after a day without much rain, with some drying power. What
//!   soft land costs the harvest shows in carting.
//! - Heavy land shuts for the year: once it is wetter than field capacity by 5 mm after the middle of September, a dry week
//!   no longer opens it for the plough or the drill before March.

use crate::weather::calendar::MonthDay;
use crate::weather::record::Quantity;
use crate::weather::workability::{Limit, Measure, Rule, Shut};

/// One line of the table.
struct Line {
    class: &'static str,
    driver: &'static str,
    /// Least deficit at yesterday's close on light, medium and heavy land, mm.
    deficit_mm: [f64; 3],
    /// Least water gone from the surface at yesterday's close, mm; 0 = not asked.
    topsoil_mm: f64,
    /// Most rain of the day on light, medium and heavy land, mm.
    rain_mm: [f64; 3],
    /// Most rain of the day before, mm.
    rain_before_mm: [f64; 3],
    /// Most wind as a daily mean at 10 m, m/s.
    wind_m_s: f64,
    /// Least reference evapotranspiration of the day, mm.
    et_mm: f64,
    /// Delta-T, degrees Celsius.
    delta_t_c: (f64, f64),
    /// Least temperature of the night, degrees Celsius.
    frost_c: f64,
    /// Whether heavy land shuts for it in autumn.
    shuts: bool,
}

/// No limit.
const ANY: f64 = f64::INFINITY;

/// A line that limits nothing.
const FREE: Line = Line {
    class: "",
    driver: "",
    deficit_mm: [-ANY; 3],
    topsoil_mm: 0.0,
    rain_mm: [ANY; 3],
    rain_before_mm: [ANY; 3],
    wind_m_s: ANY,
    et_mm: -ANY,
    delta_t_c: (-ANY, ANY),
    frost_c: -ANY,
    shuts: false,
};

const LINES: [Line; 8] = [
    Line {
        class: "ploughing",
        driver: "soil",
        deficit_mm: [-ANY, -2.0, 0.0],
        rain_mm: [8.0, 5.0, 3.0],
        rain_before_mm: [15.0, 10.0, 5.0],
        frost_c: -4.0,
        shuts: true,
        ..FREE
    },
    Line {
        class: "cultivating",
        driver: "soil",
        deficit_mm: [0.0, 1.0, 3.0],
        topsoil_mm: 2.0,
        rain_mm: [3.0, 2.0, 1.0],
        rain_before_mm: [8.0, 5.0, 3.0],
        shuts: true,
        ..FREE
    },
    Line {
        class: "drilling",
        driver: "soil",
        deficit_mm: [0.0, 2.0, 5.0],
        topsoil_mm: 2.0,
        rain_mm: [2.0, 1.0, 0.5],
        rain_before_mm: [8.0, 5.0, 3.0],
        frost_c: -2.0,
        shuts: true,
        ..FREE
    },
    Line {
        class: "carting",
        driver: "soil",
        deficit_mm: [0.0, 5.0, 10.0],
        rain_mm: [4.0, 2.0, 1.0],
        rain_before_mm: [8.0, 5.0, 3.0],
        ..FREE
    },
    Line {
        class: "combining",
        driver: "air",
        deficit_mm: [-ANY, -6.0, -5.0],
        rain_mm: [0.5; 3],
        rain_before_mm: [3.0; 3],
        et_mm: 1.0,
        ..FREE
    },
    Line {
        class: "baling",
        driver: "air",
        deficit_mm: [-ANY, -6.0, -5.0],
        rain_mm: [0.2; 3],
        rain_before_mm: [1.0; 3],
        et_mm: 1.0,
        ..FREE
    },
    Line {
        class: "spraying",
        driver: "wind",
        deficit_mm: [-ANY, -6.0, -5.0],
        rain_mm: [1.0; 3],
        wind_m_s: 5.0,
        delta_t_c: (1.0, 12.0),
        frost_c: 0.0,
        ..FREE
    },
    Line {
        class: "spreading",
        driver: "wind",
        deficit_mm: [-ANY, -2.0, 0.0],
        rain_mm: [4.0, 2.0, 1.0],
        wind_m_s: 4.5,
        ..FREE
    },
];

/// The soils that the rules know, and whose deficit each looks at.
const SOILS: [(&str, Quantity); 3] = [
    ("light", Quantity::DeficitWell),
    ("medium", Quantity::DeficitModerate),
    ("heavy", Quantity::DeficitPoor),
];

/// The names of the soils that the rules know.
pub fn ruled_soils() -> impl Iterator<Item = &'static str> {
    SOILS.iter().map(|(soil, _)| *soil)
}

/// The names of the work classes that the rules know.
pub fn ruled_classes() -> impl Iterator<Item = &'static str> {
    LINES.iter().map(|line| line.class)
}

/// The rules to start from.
///
/// ```
/// use sim_core::weather::{default_rules, ruled_classes, ruled_soils};
/// assert_eq!(default_rules().len(), ruled_classes().count() * ruled_soils().count());
/// ```
#[must_use]
pub fn default_rules() -> Vec<Rule> {
    let of_soils = |line: &'static Line| (0..SOILS.len()).map(move |soil| rule(line, soil));
    LINES.iter().flat_map(of_soils).collect()
}

fn rule(line: &Line, soil: usize) -> Rule {
    let (name, deficit) = SOILS[soil];
    let heavy = deficit == Quantity::DeficitPoor;
    let mut limits = vec![Limit::at_least(Measure::Yesterday(deficit), line.deficit_mm[soil])];
    if heavy {
        // The poorly drained bucket transpires longer at the full rate and passes the moderate one on some summer
        // days; heavy land never carries where medium land does not.
        limits.push(Limit::at_least(Measure::Yesterday(Quantity::DeficitModerate), line.deficit_mm[soil]));
    }
    limits.extend([
        Limit::at_least(Measure::Yesterday(Quantity::Topsoil), line.topsoil_mm),
        Limit::at_most(Measure::Today(Quantity::Rain), line.rain_mm[soil]),
        Limit::at_most(Measure::Before(Quantity::Rain, 1), line.rain_before_mm[soil]),
        Limit::at_most(Measure::Today(Quantity::Wind), line.wind_m_s),
        Limit::at_least(Measure::Today(Quantity::EtRef), line.et_mm),
        Limit::at_least(Measure::Today(Quantity::TemperatureMin), line.frost_c),
    ]);
    let (driest, wettest) = (line.delta_t_c.1, line.delta_t_c.0);
    let delta_t = Limit { least: wettest, ..Limit::at_most(Measure::Today(Quantity::DeltaT), driest) };
    limits.push(delta_t.if_noted());
    limits.retain(|limit| {
        let asked = limit.least.is_finite() || limit.most.is_finite();
        asked && !(limit.quantity() == Quantity::Topsoil && limit.least <= 0.0)
    });
    Rule {
        class: line.class.into(),
        soil: name.into(),
        driver: line.driver.into(),
        limits,
        shut: (heavy && line.shuts).then(|| Shut {
            from: of_year(9, 15),
            until: of_year(3, 1),
            quantity: Quantity::DeficitPoor,
            below: -5.0,
        }),
    }
}

fn of_year(month: i8, day: i8) -> MonthDay {
    MonthDay::of(jiff::civil::Date::constant(2024, month, day))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heavier_land_never_asks_for_less() {
        for line in &LINES {
            assert!(line.deficit_mm.is_sorted(), "{}", line.class);
            assert!(line.rain_mm.iter().rev().is_sorted(), "{}", line.class);
            assert!(line.rain_before_mm.iter().rev().is_sorted(), "{}", line.class);
        }
    }

    #[test]
    fn the_rules_read_as_a_person_would_say_them() {
        let rules = default_rules();
        let drilling = rules.iter().find(|rule| rule.class == "drilling" && rule.soil == "heavy").unwrap();
        let words: Vec<String> = drilling.limits.iter().map(Limit::words).collect();
        assert_eq!(
            words,
            [
                "smd_poor_mm at yesterday's close at least 5",
                "smd_moderate_mm at yesterday's close at least 5",
                "topsoil_mm at yesterday's close at least 2",
                "rain_mm of the day at most 0.5",
                "rain_mm of the day before at most 3",
                "tmin_c of the day at least -2",
            ]
        );
        assert_eq!(drilling.shut.map(|shut| shut.from.to_string()), Some("09-15".into()));
        let combining = rules.iter().find(|rule| rule.class == "combining" && rule.soil == "light").unwrap();
        assert!(combining.shut.is_none() && combining.limits.len() == 3);
    }
}
