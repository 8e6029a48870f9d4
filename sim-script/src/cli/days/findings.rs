//! A record read, judged by rules and fitted.

use super::rules::{self, Rules};
use crate::cli::Failure;
use crate::cli::args::DaysArgs;
use crate::tables::record::{Mapping, ReadRecord, Reading, RecordReadError, read_record};
use sim_core::farm::ClassRule;
use sim_core::weather::fit::{HoursFit, RecordFit, fit_record};
use sim_core::weather::{
    Judged, MachineWeight, MonthDay, Prepared, RainDay, Rule, Station, VerdictYears, judge, prepare,
};

/// A record read, judged and fitted.
pub(super) struct Findings {
    /// The record's file.
    pub(super) bytes: Vec<u8>,
    /// The day on which its years begin.
    pub(super) year_begins: MonthDay,
    /// Whether the work shown was asked for, not only found.
    pub(super) asked: bool,
    /// The script that the rules are from, with its text.
    pub(super) script: Option<(String, String)>,
    pub(super) name: String,
    pub(super) read: ReadRecord,
    pub(super) prepared: Prepared,
    pub(super) rules: Vec<Rule>,
    /// Which machines each rule is for, of rules to start from.
    pub(super) weights: Vec<Option<MachineWeight>>,
    /// Work left out, since the record does not have what its rules ask: the work, its soils and what is lacking.
    pub(super) left_out: Vec<LeftOut>,
    pub(super) years: Vec<VerdictYears>,
    pub(super) judged: Judged,
    /// Workable hours of the suitable days of each rule that goes by the hour.
    pub(super) hours: Vec<Option<HoursFit>>,
    pub(super) fit: RecordFit,
}

/// A kind of work that cannot be judged.
pub(super) struct LeftOut {
    pub(super) class: String,
    pub(super) soils: Vec<String>,
    pub(super) lacks: Vec<&'static str>,
}

impl LeftOut {
    pub(super) fn words(&self) -> String {
        format!("{} on {} land (needs {})", self.class, self.soils.join(", "), self.lacks.join(", "))
    }
}

pub(super) fn find(args: &DaysArgs, bytes: Vec<u8>) -> Result<Findings, Failure> {
    let wrong = |error: &RecordReadError| Failure::Record(error.coloured());
    let mapping = args.columns.as_deref().map_or(Ok(Mapping::default()), Mapping::parse);
    let reading = Reading {
        mapping: mapping.map_err(|error| wrong(&error))?,
        missing: args.missing.clone(),
        bridge_days: args.bridge_days,
    };
    let name = super::name(args);
    let mut read = read_record(&name, &bytes, &reading).map_err(|error| wrong(&error))?;
    let station = args
        .latitude_deg
        .map(|latitude_deg| Station::new(latitude_deg, args.altitude_m, args.anemometer_m))
        .transpose()?;
    let prepared = prepare(&mut read.record, station.as_ref());
    let wanted = |rule: &Rule| {
        args.class.as_ref().is_none_or(|class| *class == rule.class)
            && args.soil.as_ref().is_none_or(|soil| *soil == rule.soil)
    };
    let Rules { rules: all, script, unruled } = rules::rules(args)?;
    let (mut rules, mut weights, mut left_out) = (Vec::new(), Vec::new(), Vec::<LeftOut>::new());
    for ClassRule { rule, machine_weight } in all.iter().filter(|of| wanted(&of.rule)) {
        let Some(lacks) = rule.lacks(&read.record) else {
            rules.push(rule.clone());
            weights.push(*machine_weight);
            continue;
        };
        if left_out.last().is_none_or(|last| last.class != rule.class) {
            left_out.push(LeftOut { class: rule.class.clone(), soils: Vec::new(), lacks: Vec::new() });
        }
        if let Some(last) = left_out.last_mut() {
            last.soils.push(rule.soil.clone());
            if !last.lacks.contains(&lacks.name()) {
                last.lacks.push(lacks.name());
            }
        }
    }
    if args.class.is_none() && args.soil.is_none() {
        left_out.extend(unruled);
    }
    if rules.is_empty() {
        return Err(Failure::Request(no_rules(args, &all, &left_out, &prepared)));
    }
    let rain_day = if args.rain_to_the_morning { RainDay::ToTheMorning } else { RainDay::OfTheDay };
    let judged =
        judge(&read.record, &rules, rain_day).map_err(|lacks| Failure::Request(lacks.to_string()))?;
    let first = read.record.first();
    let whole = read.record.years(args.year_begins).len();
    if whole < 2 {
        return Err(Failure::Request(format!(
            "{name} holds {whole} whole year{}: differences between years cannot be told from it\nBring a \
             record of ten years or more; thirty say something of a bad year.",
            if whole == 1 { "" } else { "s" }
        )));
    }
    let hours = judged.days.iter().zip(&judged.hours);
    let hours = hours.map(|(verdicts, hours)| HoursFit::of(first, verdicts, hours.as_deref()?)).collect();
    let fit =
        fit_record(first, &rules, &judged).map_err(|error| Failure::Request(format!("{name}: {error}")))?;
    let years =
        judged.days.iter().map(|verdicts| VerdictYears::new(first, verdicts, args.year_begins)).collect();
    Ok(Findings {
        bytes,
        year_begins: args.year_begins,
        asked: args.class.is_some() || script.is_some(),
        script,
        name,
        read,
        prepared,
        rules,
        weights,
        left_out,
        years,
        hours,
        judged,
        fit,
    })
}

fn no_rules(args: &DaysArgs, all: &[ClassRule], left_out: &[LeftOut], prepared: &Prepared) -> String {
    if let Some(first) = left_out.first() {
        let why = prepared.lacking.as_deref().unwrap_or("the record does not note it");
        return format!("no rule can be applied: {}\n{why}", first.words());
    }
    let names = |of: fn(&Rule) -> &String| {
        let mut names: Vec<&str> = Vec::new();
        for ClassRule { rule, .. } in all {
            if !names.contains(&of(rule).as_str()) {
                names.push(of(rule));
            }
        }
        names.join(", ")
    };
    format!(
        "there is no rule for {}{}\nThere are rules for {}; on {} land.",
        args.class.as_deref().unwrap_or("any work"),
        args.soil.as_ref().map_or_else(String::new, |soil| format!(" on {soil} land")),
        names(|rule| &rule.class),
        names(|rule| &rule.soil)
    )
}
