//! `dryspell days`: what a daily record says of suitable days, and how far each model of them understates the
//! difference between years.
//!
//! Reading and judging is in [`findings`] and [`rules`], what is printed in [`heading`], [`tables`], [`agree`] and
//! [`counts`], the files in [`write`]. Weekly statistics instead of a daily record are in [`weekly`].

mod agree;
mod counts;
mod findings;
mod heading;
mod rules;
mod tables;
mod weekly;
mod write;

use super::args::DaysArgs;
use super::plain::wrapped;
use super::{Failure, print};
use crate::tables::weekly::read_weekly;
use sim_core::weather::MonthDay;
use write::Files;

fn day((month, day): (i8, i8)) -> MonthDay {
    MonthDay::constant(month, day)
}

pub(super) fn days(args: &DaysArgs) -> Result<(), Failure> {
    let bytes = std::fs::read(&args.record).map_err(|error| {
        Failure::Request(format!(
            "cannot read {}: {error}\nName a CSV file with a row for each day.",
            args.record.display()
        ))
    })?;
    let weekly = read_weekly(&name(args), &bytes).map_err(|error| Failure::Request(error.to_string()))?;
    if let Some(weekly) = weekly {
        return weekly::days(args, &bytes, &weekly);
    }
    let findings = findings::find(args, bytes)?;
    let agreement = agree::agreement(&findings)?;
    let mut text = heading::heading(&findings);
    text.push_str(&tables::shares(&findings));
    text.push_str(&tables::laws(&findings));
    text.push_str(&agreement.text());
    text.push_str(&tables::last_days(&findings));
    text.push_str(&counts::counts(&findings)?);
    tell(args, text, || write::files(&findings, &agreement, args))
}

/// The record's name, for messages.
fn name(args: &DaysArgs) -> String {
    args.record.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// Writes the files, if they are asked for, and prints the page.
fn tell<'a>(args: &DaysArgs, mut text: String, files: impl FnOnce() -> Files<'a>) -> Result<(), Failure> {
    if let Some(folder) = &args.out {
        let names = files().write(folder)?;
        text.push('\n');
        wrapped(&mut text, &format!("Wrote {} into {}.", names.join(", "), folder.display()));
    }
    print(&text)
}
