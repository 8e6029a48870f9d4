//! The rules that days are judged by: those to start from, or a farm script's work classes with their rules and drivers.

use super::findings::LeftOut;
use crate::cli::Failure;
use crate::script::Script;
use sim_core::farm::spec::{ANY_SOIL, FarmSpec};
use sim_core::weather::{Rule, default_rules};
use std::path::Path;

/// Rules, and where they are from.
pub(super) struct Rules {
    pub(super) rules: Vec<Rule>,
    /// The script's path and text; nothing for the rules to start from.
    pub(super) script: Option<(String, String)>,
    /// Work of the script for which there is no rule.
    pub(super) unruled: Vec<LeftOut>,
}

/// What is said to be lacking where there is no rule.
const A_RULE: &str = "a rule of its own";

pub(super) fn rules(script: Option<&Path>) -> Result<Rules, Failure> {
    let Some(path) = script else {
        return Ok(Rules { rules: default_rules(), script: None, unruled: Vec::new() });
    };
    let script = Script::from_file(path)?;
    let farm = script.evaluate(&[])?.farm;
    let (rules, unruled) = rules_of(&farm);
    if rules.is_empty() {
        let first = unruled.first().map_or("it has no work classes".into(), LeftOut::words);
        return Err(Failure::Request(format!(
            "no rule of {} can be applied: {first}\nAdd rules: [rule(\"CLASS\", #{{ soil: \"SOIL\", ... }})] to its \
             farm(...), with weather: replay(\"record.csv\"), whose days they judge.",
            path.display()
        )));
    }
    Ok(Rules { rules, script: Some((script.name().to_string(), script.source().to_string())), unruled })
}

/// For each work class of a farm and each soil of its fields the rule: the farm's own, one of its own for any soil, or one
/// to start from; each once, with the driver that the class names.
fn rules_of(farm: &FarmSpec) -> (Vec<Rule>, Vec<LeftOut>) {
    let given: Vec<Rule> = match &farm.record {
        Some(record) => record.rules.iter().map(|rule| rule.rule.clone()).collect(),
        None => default_rules(),
    };
    let mut soils: Vec<&str> = Vec::new();
    for field in &farm.fields {
        if !soils.contains(&field.soil.as_str()) {
            soils.push(&field.soil);
        }
    }
    let (mut rules, mut unruled) = (Vec::<Rule>::new(), Vec::new());
    for class in &farm.classes {
        let mut without = Vec::new();
        for soil in &soils {
            let of_soil =
                |wanted: &str| given.iter().find(|rule| rule.class == class.name && rule.soil == wanted);
            let Some(rule) = of_soil(soil).or_else(|| of_soil(ANY_SOIL)) else {
                without.push((*soil).to_string());
                continue;
            };
            if !rules.iter().any(|known| known.class == rule.class && known.soil == rule.soil) {
                rules.push(Rule { driver: class.driver.clone(), ..rule.clone() });
            }
        }
        if !without.is_empty() {
            unruled.push(LeftOut { class: class.name.clone(), soils: without, lacks: vec![A_RULE] });
        }
    }
    (rules, unruled)
}
