//! What was read: days, what was worked out, gaps, what was left out.

use super::findings::{Findings, LeftOut};
use crate::cli::plain::wrapped;
use crate::words::{self, thousands};

/// Whose rules they are, and which machines those to start from are for.
fn rules(text: &mut String, of: &Findings) {
    let Some((script, _)) = &of.script else {
        let weight = of.weights.iter().flatten().next().copied().unwrap_or_default();
        return wrapped(
            text,
            &format!("Judged by the rules to start from, for {}.", words::machines(weight)),
        );
    };
    wrapped(text, &format!("Work classes, their drivers and rules are those of {script}."));
    let classes = of.rules.iter().map(|rule| rule.class.as_str()).zip(of.weights.iter().copied());
    if let Some(machines) = words::machines_of(classes) {
        wrapped(text, &format!("Where it has no rule of its own, one to start from judges: {machines}."));
    }
}

pub(super) fn heading(of: &Findings) -> String {
    let record = &of.read.record;
    let whole = record.years(of.year_begins).len();
    let mut text = format!(
        "\x1b[1m{}\x1b[0m: {} days, {} to {}; {whole} whole years{}\n",
        of.name,
        thousands(record.days() as u64),
        record.first(),
        record.last(),
        if of.year_begins == super::day((1, 1)) {
            String::new()
        } else {
            format!(", from {}", words::day_of_year(of.year_begins))
        }
    );
    rules(&mut text, of);
    if let Some(how) = &of.prepared.evapotranspiration {
        wrapped(&mut text, &format!("Evapotranspiration after {how}."));
    }
    if !of.read.bridged.is_empty() {
        let days: usize = of.read.bridged.iter().map(|gap| gap.days).sum();
        wrapped(
            &mut text,
            &format!("Bridged by straight lines: {days} values in {} gaps.", of.read.bridged.len()),
        );
    }
    if !of.read.gaps.is_empty() {
        let shown: Vec<String> = of
            .read
            .gaps
            .iter()
            .take(3)
            .map(|gap| match gap.days {
                1 => format!("{} on {}", gap.quantity.name(), gap.first),
                _ => format!("{} from {} to {}", gap.quantity.name(), gap.first, gap.last()),
            })
            .collect();
        let more = of.read.gaps.len() - shown.len();
        let more = if more > 0 { format!(", and {more} more") } else { String::new() };
        wrapped(&mut text, &format!("Without a value: {}{more}.", shown.join("; ")));
    }
    if !of.left_out.is_empty() {
        let work: Vec<String> = of.left_out.iter().map(LeftOut::words).collect();
        wrapped(&mut text, &format!("Left out: {}.", work.join("; ")));
        if let Some(why) = &of.prepared.lacking {
            wrapped(&mut text, &format!("Evapotranspiration: {why}."));
        }
    }
    if !of.read.unused.is_empty() {
        wrapped(&mut text, &format!("Columns not used: {}.", of.read.unused.join(", ")));
    }
    text.push('\n');
    text
}
