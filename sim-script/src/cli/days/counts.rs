//! The number of suitable days in spans of the year: how the years differ, and what each model makes of it.

use super::day;
use super::findings::Findings;
use crate::cli::plain::{Fit, Plain, wrapped};
use crate::words::number;
use sim_core::weather::fit::{Block, Counts, Law, Series, TwoState, count_variance};
use sim_core::weather::{MonthDay, Rule};

/// A span of days whose count of suitable days is compared with the models.
struct Span {
    name: &'static str,
    from: (i8, i8),
    to: (i8, i8),
    classes: &'static [&'static str],
}

const SPANS: [Span; 3] = [
    Span { name: "spring", from: (3, 1), to: (4, 30), classes: &["drilling", "spreading"] },
    Span { name: "harvest", from: (8, 1), to: (9, 15), classes: &["combining", "baling"] },
    Span { name: "autumn", from: (9, 15), to: (11, 15), classes: &["ploughing", "drilling"] },
];

/// What the models make of the difference between years in one span.
struct Compared {
    mean: f64,
    seen: f64,
    independent: f64,
    chain: f64,
    spread: f64,
}

fn compare(of: &Findings, rule: usize, from: MonthDay, to: MonthDay) -> Option<Compared> {
    let record = &of.read.record;
    let shares = &of.fit.keys[rule].shares;
    let p = shares.on(record.first(), record.days());
    let series = Series::new(&of.verdicts[rule], &p).ok()?;
    let block = Block::of_period(record.first(), record.days(), from, to);
    let seen = Counts::of(&block, series);
    let chain = Law::chain(TwoState::of(&block, &of.verdicts[rule]).rho().clamp(0.0, 1.0));
    let year = sim_core::weather::Span::new(
        jiff::civil::Date::constant(2024, 1, 1),
        jiff::civil::Date::constant(2024, 12, 31),
    )
    .ok()?;
    let inside = |at: &u32| MonthDay::of(year.date(*at)).in_period(from, to);
    let days: Vec<u32> = (0..366).filter(inside).collect();
    let p: Vec<f64> = days.iter().map(|at| shares.by_day()[*at as usize]).collect();
    let fitted: Vec<Law> = days
        .iter()
        .map(|at| of.fit.law_on(rule, &of.rules[rule].driver, MonthDay::of(year.date(*at))))
        .collect();
    let sd = |laws: &[Law]| count_variance(&p, laws).sqrt();
    (seen.years > 1 && seen.variance > 0.0).then(|| Compared {
        mean: seen.mean,
        seen: seen.variance.sqrt(),
        independent: sd(&vec![Law::INDEPENDENT; p.len()]),
        chain: sd(&vec![chain; p.len()]),
        spread: sd(&fitted),
    })
}

pub(super) fn counts(of: &Findings) -> String {
    let mut table = Plain::new(&[
        ("Suitable days", Fit::Whole),
        ("mean", Fit::Number),
        ("years\ndiffer by", Fit::Number),
        ("independent\ndays", Fit::Number),
        ("with\npersistence", Fit::Number),
        ("and with\nspread", Fit::Number),
        ("middle\nrun", Fit::Number),
        ("1 in 10\nfrom", Fit::Number),
    ]);
    let mut verdict = String::new();
    let (mut worst, mut any) = (0.0, false);
    for span in &SPANS {
        for (index, rule) in of.rules.iter().enumerate() {
            if !span.classes.contains(&rule.class.as_str()) {
                continue;
            }
            let Some(compared) = compare(of, index, day(span.from), day(span.to)) else { continue };
            any = true;
            let runs = of.years[index].runs(day(span.from), day(span.to));
            table.row([
                format!("{}, {}, {}", rule.class, rule.soil, span.name),
                number(compared.mean, 1),
                number(compared.seen, 1),
                number(compared.independent, 1),
                number(compared.chain, 1),
                number(compared.spread, 1),
                run_length(&runs, 50),
                run_length(&runs, 90),
            ]);
            let times = compared.seen / compared.independent;
            if times > worst && compared.mean > 5.0 {
                worst = times;
                verdict = said(&compared, rule, span);
            }
        }
    }
    if !any {
        return String::new();
    }
    let mut text = table.text();
    text.push_str("Differences are standard deviations in days; runs are suitable days without a break, in days.\nSpans: 1 Mar to 30 Apr, 1 Aug to 15 Sep, 15 Sep to 15 Nov.\n\n");
    wrapped(&mut text, &verdict);
    text
}

/// The length that so many of 100 runs do not exceed.
fn run_length(runs: &[u64], percent: u64) -> String {
    let all: u64 = runs.iter().sum();
    let mut seen = 0;
    let length = runs.iter().position(|count| {
        seen += count;
        seen * 100 >= all * percent
    });
    length.filter(|_| all > 0).map_or_else(|| "-".into(), |length| (length + 1).to_string())
}

/// The verdict in words on how far each model understates the difference between years.
fn said(compared: &Compared, rule: &Rule, span: &Span) -> String {
    let against = |model: f64| {
        let times = compared.seen / model;
        match times {
            t if t > 1.25 => format!("understates that {} times", number(t, 1)),
            t if t < 0.8 => format!("overstates that {} times", number(1.0 / t, 1)),
            _ => "comes near to that".into(),
        }
    };
    format!(
        "Where it matters most, {} on {} land in {}, the years differ by {} days about {}. A table of independent days \
         {}; persistence from day to day alone {}; with spread between spells it {}. A risk of finishing late that \
         rests on independent days is too low for bad years by as much.",
        rule.class,
        rule.soil,
        span.name,
        number(compared.seen, 1),
        number(compared.mean, 1),
        against(compared.independent),
        against(compared.chain),
        against(compared.spread)
    )
}
