//! Rules for a workable day to start from: eight kinds of work on light, medium and heavy land. They are data like any
//! other rules; a script may take some of them and put its own in the place of others.
//!
//! Where nothing else is said a limit is common practice, without a source. Sources of the others:
//!
//! - Heavy loads travel from a deficit of 10 mm (from memory, an Irish trafficability study); light land is asked for
//!   nothing of the kind, medium land for half. Machines heavier than usual for their work ask for half-way to that
//!   ([`MachineWeight`]).
//! - Tilling and drilling ask the surface too: of the dry days after 10 mm of rain nearly half would pass a rule on the
//!   deficit of the whole root zone alone (see [`Topsoil`](crate::weather::Topsoil)).
//! - Spraying goes by the hour, from 05:00 to 21:00, since a daily mean misjudges work that uses calm early and late
//!   hours: up to 5 m/s at boom height (extension guides), which a wind of 5 m/s at 10 m does not exceed (times 0.748 at 2 m,
//!   FAO Irrigation and Drainage Paper 56); delta-T 2 to 8 degrees (extension guides) where humidity is noted; three hours
//!   at least. What the hours were like is worked out from the day ([`DayCourse`](crate::weather::air::DayCourse)). The
//!   product label and local law go before any of it.
//! - Granular fertiliser: below 3.4 m/s while spreading (an extension guide); the calm hours have about three quarters of
//!   the daily mean (common practice), hence 4.5 m/s.
//! - Combining and baling are decided by the air: a dry day after a day without much rain, with some drying power. What
//!   soft land costs the harvest shows in carting.
//! - Heavy land shuts for the year: once it is wetter than field capacity by 5 mm after the middle of September, a dry week
//!   no longer opens it for the plough or the drill before March.

use crate::weather::calendar::MonthDay;
use crate::weather::record::Quantity;
use crate::weather::workability::{Hours, Limit, Measure, Rule, Shut};

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
    /// The hours in which wind and delta-T are looked at; as means of the day where there are none.
    hours: Option<Hours>,
    /// Least temperature of the night, degrees Celsius.
    frost_c: f64,
    /// Whether heavy land shuts for it in autumn.
    shuts: bool,
}

/// Least deficit for loads on trailers on light, medium and heavy land, mm.
const LOADS_MM: [f64; 3] = [0.0, 5.0, 10.0];

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
    hours: None,
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
        deficit_mm: LOADS_MM,
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
        delta_t_c: (2.0, 8.0),
        hours: Some(Hours { from_h: 5, to_h: 21, least_h: 3 }),
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

/// How heavy the machines of a kind of work are for it: what they ask of the ground under them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum MachineWeight {
    /// Lighter than usual, or on low pressure or tracks: goes 2 mm of deficit sooner on medium and heavy land.
    Light,
    /// As usual for the work.
    #[default]
    Middling,
    /// Heavier than usual (a loaded tank or hopper): asks for half-way to what loads on trailers ask for.
    Heavy,
}

impl MachineWeight {
    /// All of them, from light to heavy.
    pub const ALL: [Self; 3] = [Self::Light, Self::Middling, Self::Heavy];
    /// Their names, in the same order.
    pub const NAMES: [&'static str; 3] = ["light", "middling", "heavy"];

    /// Its name, one of [`Self::NAMES`].
    #[must_use]
    pub const fn name(self) -> &'static str {
        Self::NAMES[self as usize]
    }

    /// The one of this name.
    ///
    /// ```
    /// use sim_core::weather::MachineWeight;
    /// assert!(MachineWeight::ALL.iter().all(|weight| MachineWeight::named(weight.name()) == Some(*weight)));
    /// assert_eq!(MachineWeight::named("havy"), None);
    /// ```
    #[must_use]
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|weight| weight.name() == name)
    }

    /// The least deficit on a soil (0 light, 1 medium, 2 heavy) from that of the usual machines, mm.
    fn deficit_mm(self, usual_mm: f64, soil: usize) -> f64 {
        match self {
            Self::Middling => usual_mm,
            Self::Light if soil == 0 => usual_mm,
            Self::Light => usual_mm - 2.0,
            Self::Heavy if soil == 0 || usual_mm >= LOADS_MM[soil] => usual_mm,
            Self::Heavy => usual_mm.midpoint(LOADS_MM[soil]),
        }
    }
}

/// The rules to start from, for machines as they are usual.
///
/// ```
/// use sim_core::weather::{default_rules, ruled_classes, ruled_soils};
/// assert_eq!(default_rules().len(), ruled_classes().count() * ruled_soils().count());
/// ```
#[must_use]
pub fn default_rules() -> Vec<Rule> {
    rules_for(MachineWeight::Middling)
}

/// The rules to start from, for machines of a weight.
///
/// ```
/// use sim_core::weather::{Limit, MachineWeight, rules_for};
/// let deficit = |weight| {
///     let rules = rules_for(weight);
///     let drilling = rules.iter().find(|rule| rule.class == "drilling" && rule.soil == "heavy").unwrap();
///     drilling.limits[0].least
/// };
/// assert_eq!(deficit(MachineWeight::Middling), 5.0);
/// assert_eq!((deficit(MachineWeight::Light), deficit(MachineWeight::Heavy)), (3.0, 7.5));
/// ```
#[must_use]
pub fn rules_for(weight: MachineWeight) -> Vec<Rule> {
    let of_soils = |line: &'static Line| (0..SOILS.len()).map(move |soil| rule(line, soil, weight));
    LINES.iter().flat_map(of_soils).collect()
}

/// The rule to start from for a class on a soil, for machines of a weight, if there is one.
///
/// ```
/// use sim_core::weather::{MachineWeight, default_rule, rules_for};
/// let weight = MachineWeight::Heavy;
/// let rules = rules_for(weight);
/// assert!(rules.iter().all(|rule| default_rule(&rule.class, &rule.soil, weight).as_ref() == Some(rule)));
/// assert_eq!(default_rule("drilling", "loam", weight), None);
/// ```
#[must_use]
pub fn default_rule(class: &str, soil: &str, weight: MachineWeight) -> Option<Rule> {
    let line = LINES.iter().find(|line| line.class == class)?;
    let soil = SOILS.iter().position(|(name, _)| *name == soil)?;
    Some(rule(line, soil, weight))
}

fn rule(line: &Line, soil: usize, weight: MachineWeight) -> Rule {
    let (name, deficit) = SOILS[soil];
    let heavy = deficit == Quantity::DeficitPoor;
    let by_hour = if line.hours.is_some() { Measure::Hour } else { Measure::Today };
    let deficit_mm = weight.deficit_mm(line.deficit_mm[soil], soil);
    let mut limits = vec![Limit::at_least(Measure::Yesterday(deficit), deficit_mm)];
    if heavy {
        // The poorly drained bucket transpires longer at the full rate and passes the moderate one on some summer
        // days; heavy land never carries where medium land does not.
        limits.push(Limit::at_least(Measure::Yesterday(Quantity::DeficitModerate), deficit_mm));
    }
    limits.extend([
        Limit::at_least(Measure::Yesterday(Quantity::Topsoil), line.topsoil_mm),
        Limit::at_most(Measure::Today(Quantity::Rain), line.rain_mm[soil]),
        Limit::at_most(Measure::Before(Quantity::Rain, 1), line.rain_before_mm[soil]),
        Limit::at_most(by_hour(Quantity::Wind), line.wind_m_s),
        Limit::at_least(Measure::Today(Quantity::EtRef), line.et_mm),
        Limit::at_least(Measure::Today(Quantity::TemperatureMin), line.frost_c),
    ]);
    let (driest, wettest) = (line.delta_t_c.1, line.delta_t_c.0);
    let delta_t = Limit { least: wettest, ..Limit::at_most(by_hour(Quantity::DeltaT), driest) };
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
        hours: line.hours,
        shut: (heavy && line.shuts).then(|| Shut {
            from: MonthDay::constant(9, 15),
            until: MonthDay::constant(3, 1),
            quantity: Quantity::DeficitPoor,
            below: -5.0,
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn heavier_land_and_machines_never_ask_for_less() {
        for (line, soil) in LINES.iter().flat_map(|line| [0, 1, 2].map(|soil| (line, soil))) {
            let asked = MachineWeight::ALL.map(|weight| weight.deficit_mm(line.deficit_mm[soil], soil));
            assert!(
                asked.is_sorted() && asked[2] <= LOADS_MM[soil].max(asked[1]),
                "{}: {asked:?}",
                line.class
            );
        }
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
