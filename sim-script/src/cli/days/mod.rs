//! `dryspell days`: what a daily record says of suitable days, and how far each model of them understates the
//! difference between years.
//!
//! Reading and judging is in [`findings`], what is printed in [`heading`], [`tables`] and [`counts`], the files in
//! [`write`].

mod agree;
mod counts;
mod findings;
mod heading;
mod rules;
mod tables;
mod write;

use super::args::DaysArgs;
use super::plain::wrapped;
use super::{Failure, print};
use sim_core::weather::MonthDay;

fn day((month, day): (i8, i8)) -> MonthDay {
    MonthDay::of(jiff::civil::Date::constant(2024, month, day))
}

pub(super) fn days(args: &DaysArgs) -> Result<(), Failure> {
    let findings = findings::find(args)?;
    let mut text = heading::heading(&findings);
    text.push_str(&tables::shares(&findings));
    text.push_str(&tables::laws(&findings));
    let agreement = agree::agreement(&findings)?;
    text.push_str(&agreement.text());
    text.push_str(&tables::last_days(&findings));
    text.push_str(&counts::counts(&findings)?);
    if let Some(folder) = &args.out {
        let names = write::write(&findings, &agreement, folder)?;
        text.push('\n');
        wrapped(&mut text, &format!("Wrote {} into {}.", names.join(", "), folder.display()));
    }
    print(&text)
}
