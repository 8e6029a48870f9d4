//! Which rule judges the recorded days of a work class on a soil: the farm's own, one of its own for any soil, or one to
//! start from, for machines as heavy as the class has them.

use super::error::{FarmError, FarmErrorKind};
use super::spec::{ANY_SOIL, ClassSpec, FarmSpec};
use crate::weather::{MachineWeight, Rule, default_rule};

/// The rule that judges a work class on a soil.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassRule {
    /// The rule, with the driver that the class names.
    pub rule: Rule,
    /// Which machines it is for, of a rule to start from; `None` = the farm's own, which says what it asks itself.
    pub machine_weight: Option<MachineWeight>,
}

impl FarmSpec {
    /// The soils of its fields, each once, in the order of the fields.
    #[must_use]
    pub fn soils(&self) -> Vec<&str> {
        let mut soils: Vec<&str> = Vec::new();
        for field in &self.fields {
            if !soils.contains(&field.soil.as_str()) {
                soils.push(&field.soil);
            }
        }
        soils
    }

    /// The rule for a class on a soil: the farm's own for this soil, or else its own for any soil, or else the one to
    /// start from. An own rule stands in the place of the whole rule to start from: what it does not limit is free, and
    /// the weight of the machines does not change it.
    #[must_use]
    pub fn rule_for(&self, class: &ClassSpec, soil: &str) -> Option<ClassRule> {
        let own = self.record.iter().flat_map(|record| &record.rules).map(|own| &own.rule);
        let mut own = own.filter(|rule| rule.class == class.name);
        let of_soil = own.clone().find(|rule| rule.soil == soil);
        let (rule, machine_weight) = match of_soil.or_else(|| own.find(|rule| rule.soil == ANY_SOIL)) {
            Some(rule) => (rule.clone(), None),
            None => {
                let weight = class.machine_weight.unwrap_or_default();
                (default_rule(&class.name, soil, weight)?, Some(weight))
            }
        };
        Some(ClassRule { rule: Rule { driver: class.driver.clone(), ..rule }, machine_weight })
    }
}

/// Refuses a weight of machines that no rule asks for: whoever gives it believes that it makes a difference.
pub(super) fn check_weights(spec: &FarmSpec) -> Result<(), FarmError> {
    for class in spec.classes.iter().filter(|class| class.machine_weight.is_some()) {
        let from_start = |soil| spec.rule_for(class, soil).is_some_and(|of| of.machine_weight.is_some());
        let (why, fix) = if spec.record.is_none() {
            (
                "`machine_weight` is for judging the days of a record, and there is none",
                "take it out, or add weather: replay(\"record.csv\") in the place of the suitable days; a table that was \
                 made from a record is for the machines that were said there",
            )
        } else if !spec.soils().into_iter().any(from_start) {
            (
                "`machine_weight` changes the rules to start from, and none of these judges it on the farm's soils",
                "take it out: a `rule` of your own says what the machines ask of the ground (deficit_min_mm); those to \
                 start from are for soils called light, medium and heavy",
            )
        } else {
            continue;
        };
        return Err(FarmError {
            origin: class.origin,
            word: "machine_weight".into(),
            kind: FarmErrorKind::Conflict { of: format!("the work class \"{}\"", class.name), why, fix },
        });
    }
    Ok(())
}
