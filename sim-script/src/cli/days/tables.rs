//! Tables of what the record says by itself and of its fitted laws: shares by month, drivers, last drilling days.

use super::day;
use super::findings::Findings;
use crate::cli::plain::{Fit, Plain, wrapped};
use crate::words::{MONTHS, number};
use sim_core::study::interval::wilson;
use sim_core::weather::MonthDay;

/// After these days the chance is told that no drilling day comes any more.
const LAST_DAYS: [(i8, i8); 4] = [(10, 1), (10, 15), (10, 31), (11, 15)];

pub(super) fn shares(of: &Findings) -> String {
    let mut columns = vec![("Suitable days, %", Fit::Text), ("on", Fit::Whole)];
    columns.extend(MONTHS.map(|month| (month, Fit::Number)));
    let mut table = Plain::new(&columns);
    for (rule, years) in of.rules.iter().zip(&of.years) {
        let mut cells = vec![rule.class.clone(), rule.soil.clone()];
        for (first, last) in MonthDay::parts_of_months(1) {
            let share = years.share(first, last);
            cells.push(share.map_or_else(String::new, |share| number(share.share * 100.0, 0)));
        }
        table.row(cells);
    }
    let mut text = table.text();
    text.push('\n');
    text
}

pub(super) fn laws(of: &Findings) -> String {
    let mut table = Plain::new(&[
        ("Driver", Fit::Text),
        ("from", Fit::Whole),
        ("to", Fit::Whole),
        ("Persistence", Fit::Number),
        ("Spread", Fit::Number),
        ("Spell, days", Fit::Number),
    ]);
    for driver in &of.fit.drivers {
        let figures = driver.law.map_or(["-".into(), "-".into(), "-".into()], |law| {
            let spread = number(law.phi, 2);
            // Without spread no spell is better or worse than another.
            let spell = if spread == "0" { "-".into() } else { number(law.spread_days, 1) };
            [number(law.rho, 2), spread, spell]
        });
        let [rho, phi, days] = figures;
        let head = [driver.driver.clone(), driver.from.to_string(), driver.to.to_string()];
        table.row(head.into_iter().chain([rho, phi, days]));
    }
    let mut text = table.text();
    if of.fit.drivers.iter().any(|driver| driver.law.is_none()) {
        let why = "too few days that are neither nearly always nor hardly ever suitable on land that is open";
        text.push_str(&format!("-: {why}.\n"));
    }
    text.push('\n');
    text
}

pub(super) fn last_days(of: &Findings) -> String {
    // Autumn drilling goes on into January where the year is laid out so that January belongs to it.
    let (december, january) = (day((12, 31)), day((1, 31)));
    let Some(any) = of.years.first() else { return String::new() };
    let until = if any.holds(day((11, 15)), january) { january } else { december };
    let mut table = Plain::new(&[
        ("Land", Fit::Whole),
        ("1 Oct", Fit::Whole),
        ("15 Oct", Fit::Whole),
        ("31 Oct", Fit::Whole),
        ("15 Nov", Fit::Whole),
    ]);
    let mut rows = 0;
    for (rule, years) in of.rules.iter().zip(&of.years).filter(|(rule, _)| rule.class == "drilling") {
        let cells = LAST_DAYS.map(|last| {
            let (none, all) = years.none_after(day(last), until);
            if all == 0 {
                return "-".into();
            }
            let (low, high) = wilson(none, all);
            format!("{none} of {all}, {:.0}-{:.0} %", low * 100.0, high * 100.0)
        });
        table.row(std::iter::once(rule.soil.clone()).chain(cells));
        rows += 1;
    }
    if rows == 0 {
        return String::new();
    }
    let mut text = String::new();
    let month = if until == january { "January" } else { "December" };
    wrapped(
        &mut text,
        &format!(
            "Years in which no drilling day comes any more after a day, to the end of {month} (and the 95 % interval of so \
             few years):"
        ),
    );
    format!("{text}{}\n", table.text())
}
