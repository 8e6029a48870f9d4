//! The rules that days are judged by: those to start from, or a farm script's work classes with their rules and
//! drivers.

use super::findings::LeftOut;
use crate::cli::Failure;
use crate::cli::args::DaysArgs;
use crate::script::Script;
use sim_core::farm::ClassRule;
use sim_core::farm::spec::FarmSpec;
use sim_core::weather::rules_for;

/// Rules, and where they are from.
pub(super) struct Rules {
    pub(super) rules: Vec<ClassRule>,
    /// The script's path and text; nothing for the rules to start from.
    pub(super) script: Option<(String, String)>,
    /// Work of the script for which there is no rule.
    pub(super) unruled: Vec<LeftOut>,
}

/// What is said to be lacking where there is no rule.
const A_RULE: &str = "a rule of its own";

pub(super) fn rules(args: &DaysArgs) -> Result<Rules, Failure> {
    let Some(path) = &args.rules else {
        let weight = args.machine_weight.unwrap_or_default();
        let rules = rules_for(weight).into_iter();
        let rules = rules.map(|rule| ClassRule { rule, machine_weight: Some(weight) }).collect();
        return Ok(Rules { rules, script: None, unruled: Vec::new() });
    };
    if let Some(weight) = args.machine_weight {
        return Err(Failure::Request(format!(
            "--machine-weight is for the rules to start from, and --rules takes those of {}\nGive machine_weight: \
             \"{}\" to the work classes of the script that have such machines, or leave one of the two out.",
            path.display(),
            weight.name()
        )));
    }
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

/// The rules for a farm's work classes on the soils of its fields, each once; and what has none.
fn rules_of(farm: &FarmSpec) -> (Vec<ClassRule>, Vec<LeftOut>) {
    let soils = farm.soils();
    let (mut rules, mut unruled) = (Vec::<ClassRule>::new(), Vec::new());
    for class in &farm.classes {
        let mut without = Vec::new();
        for soil in &soils {
            let Some(of) = farm.rule_for(class, soil) else {
                without.push((*soil).to_string());
                continue;
            };
            // One for any soil serves several.
            let known =
                |known: &ClassRule| (&known.rule.class, &known.rule.soil) == (&of.rule.class, &of.rule.soil);
            if !rules.iter().any(known) {
                rules.push(of);
            }
        }
        if !without.is_empty() {
            unruled.push(LeftOut { class: class.name.clone(), soils: without, lacks: vec![A_RULE] });
        }
    }
    (rules, unruled)
}
