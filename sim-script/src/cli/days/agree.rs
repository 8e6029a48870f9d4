//! How far the drivers share one sky: how alike days are for the work of two drivers, in the record and as the fitted
//! laws have it.

use super::findings::Findings;
use crate::cli::Failure;
use crate::cli::plain::{Fit, Plain, wrapped};
use crate::words::number;
use sim_core::farm::spec::ANY_SOIL;
use sim_core::weather::MonthDay;
use sim_core::weather::fit::{Alike, Block, Series, Side, alike, fit_agreement};

/// What was found of the drivers' agreement.
pub(super) struct Agreement {
    drivers: Vec<String>,
    seen: Vec<Compared>,
    /// For each driver.
    fitted: Vec<f64>,
}

/// Two drivers in a part of the year.
struct Compared {
    drivers: [usize; 2],
    from: MonthDay,
    to: MonthDay,
    alike: Alike,
}

/// One interval in twenty misses by chance; so many of the compared may.
const MISSES: f64 = 0.1;

pub(super) fn agreement(of: &Findings) -> Result<Agreement, Failure> {
    let mut drivers: Vec<String> = Vec::new();
    for rule in &of.rules {
        if !drivers.contains(&rule.driver) {
            drivers.push(rule.driver.clone());
        }
    }
    let (first, days) = (of.read.record.first(), of.read.record.days());
    let chances: Vec<Vec<f64>> = of.fit.keys.iter().map(|key| key.open_on(first, days)).collect();
    let verdicts: Vec<_> = (0..of.rules.len()).map(|rule| of.judged.open(rule)).collect();
    let mut seen = Vec::new();
    for one in 0..drivers.len() {
        for other in one + 1..drivers.len() {
            for of_one in of.fit.drivers.iter().filter(|part| part.driver == drivers[one]) {
                let (from, to) = (of_one.from, of_one.to);
                let laws = [of_one.law, of.fit.law_of(&drivers[other], from)];
                let [Some(law), Some(of_other)] = laws else { continue };
                let side = |rule: usize| -> Result<Side<'_>, Failure> {
                    let series = Series::new(&verdicts[rule], &chances[rule])?;
                    Ok(Side { series, phi: of.fit.law_on(rule, &of.rules[rule].driver, from).phi })
                };
                let mut pairs = Vec::new();
                let keys = |driver: usize| {
                    let name = &drivers[driver];
                    of.rules.iter().enumerate().filter(move |(_, rule)| rule.driver == *name)
                };
                for (a, rule) in keys(one) {
                    for (b, _) in keys(other).filter(|(_, second)| one_land(&rule.soil, &second.soil)) {
                        pairs.push((side(a)?, side(b)?));
                    }
                }
                let block = Block::of_period(first, days, from, to);
                if let Some(alike) = alike(&block, &pairs, [law, of_other]) {
                    seen.push(Compared { drivers: [one, other], from, to, alike });
                }
            }
        }
    }
    let fitted = fit_agreement(
        drivers.len(),
        &seen.iter().map(|of| (of.drivers, of.alike.clone())).collect::<Vec<_>>(),
    );
    Ok(Agreement { drivers, seen, fitted })
}

/// Whether two rules are of the same land.
fn one_land(soil: &str, other: &str) -> bool {
    soil == other || soil == ANY_SOIL || other == ANY_SOIL
}

impl Agreement {
    fn product(&self, of: &Compared) -> f64 {
        self.fitted[of.drivers[0]] * self.fitted[of.drivers[1]]
    }

    /// How many of the compared lie outside the record's interval, at agreement 1 and as fitted.
    fn misses(&self) -> (usize, usize) {
        let missing = |product: &dyn Fn(&Compared) -> f64| {
            self.seen.iter().filter(|of| !of.alike.fits(product(of))).count()
        };
        (missing(&|_| 1.0), missing(&|of| self.product(of)))
    }

    /// Whether one agreement for each driver tells what the record shows, so that a table may say it.
    fn sound(&self) -> bool {
        let (shared, fitted) = self.misses();
        fitted < shared && fitted as f64 <= MISSES * self.seen.len() as f64
    }

    /// What a table says of a driver's agreement: what was fitted where that is sound, else 1.
    pub(super) fn of(&self, driver: &str) -> f64 {
        let at = self.drivers.iter().position(|name| name == driver).filter(|_| self.sound());
        at.map_or(1.0, |at| self.fitted[at])
    }

    /// What is printed of it.
    pub(super) fn text(&self) -> String {
        if self.seen.is_empty() {
            return String::new();
        }
        let mut table = Plain::new(&[
            ("Days of two drivers alike", Fit::Text),
            ("from", Fit::Whole),
            ("to", Fit::Whole),
            ("recorded", Fit::Number),
            ("95 %", Fit::Number),
            ("one\nsky", Fit::Number),
            ("fitted\nagreement", Fit::Number),
            ("One sky", Fit::Whole),
        ]);
        for of in &self.seen {
            let one = of.alike.modelled(1.0);
            let verdict = match of.alike.interval {
                (low, _) if one < low => "understates it",
                (_, high) if one > high => "overstates it",
                _ => "fits",
            };
            table.row([
                of.drivers.map(|driver| self.drivers[driver].as_str()).join(" and "),
                of.from.to_string(),
                of.to.to_string(),
                format!("{:.2}", of.alike.observed),
                format!("{:.2} to {:.2}", of.alike.interval.0, of.alike.interval.1),
                format!("{one:.2}"),
                format!("{:.2}", of.alike.modelled(self.product(of))),
                verdict.into(),
            ]);
        }
        let mut text = table.text();
        wrapped(&mut text, &self.words());
        text.push('\n');
        text
    }

    fn words(&self) -> String {
        let of = |agreement: &dyn Fn(usize) -> String| {
            let drivers = self.drivers.iter().enumerate();
            drivers.map(|(at, name)| format!("{name} {}", agreement(at))).collect::<Vec<_>>().join(", ")
        };
        let (shared, fitted) = self.misses();
        let all = self.seen.len();
        let what = if self.sound() { "drivers.csv has them" } else { "drivers.csv keeps 1" };
        format!(
            "Correlations of the same day, as deviations from its chance, on the same land. One sky for all drivers \
             (agreement 1) lies outside the interval in {shared} of {all}. Nearest to the record are the agreements {}, \
             outside in {fitted} of {all}: {what}. {}",
            of(&|at| number(self.fitted[at], 2)),
            self.pairs_in_words()
        )
    }

    /// Which pairs of drivers one sky makes too much or too little alike, and in how many parts of the year.
    fn pairs_in_words(&self) -> String {
        let mut told: Vec<String> = Vec::new();
        let mut any_less = false;
        for (at, first) in self.seen.iter().enumerate() {
            if self.seen[..at].iter().any(|before| before.drivers == first.drivers) {
                continue;
            }
            let parts: Vec<&Alike> =
                self.seen.iter().filter(|of| of.drivers == first.drivers).map(|of| &of.alike).collect();
            let more = parts.iter().filter(|of| of.modelled(1.0) > of.interval.1).count();
            let less = parts.iter().filter(|of| of.modelled(1.0) < of.interval.0).count();
            any_less |= less > 0;
            let names = first.drivers.map(|driver| self.drivers[driver].as_str()).join(" and ");
            let of = parts.len();
            told.push(match (more, less) {
                (0, 0) => format!("{names} as alike as recorded"),
                (more, 0) => format!("{names} too much alike in {more} of {of} parts"),
                (0, less) => format!("{names} too little alike in {less} of {of} parts"),
                (more, less) => {
                    format!("{names} too much alike in {more} and too little in {less} of {of} parts")
                }
            });
        }
        let why = if any_less {
            " One reason for too little: drivers of unlike persistence and spells part ways even under one sky."
        } else {
            ""
        };
        format!("By part of the year, one sky makes {}.{why}", told.join("; "))
    }
}
