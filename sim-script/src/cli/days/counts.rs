//! The number of suitable days in spans of the year: in a bad, a middling and a good year of the record, and what each
//! model makes of them.

use super::day;
use super::findings::Findings;
use crate::cli::Failure;
use crate::cli::plain::{Fit, Plain, wrapped};
use crate::words::{self, number};
use sim_core::weather::fit::{
    Block, CountDistribution, Counts, FitError, Law, Series, Shares, TwoState, count_variance,
};
use sim_core::weather::{MonthDay, Rule};

/// A span of days whose count of suitable days is compared with the models.
struct Span {
    name: &'static str,
    from: (i8, i8),
    to: (i8, i8),
    classes: &'static [&'static str],
    /// Only where the year is laid out so that the span lies in one.
    over_new_year: bool,
}

const SPANS: [Span; 5] = [
    Span {
        name: "spring",
        from: (3, 1),
        to: (4, 30),
        classes: &["drilling", "spreading"],
        over_new_year: false,
    },
    Span {
        name: "harvest",
        from: (8, 1),
        to: (9, 15),
        classes: &["combining", "baling"],
        over_new_year: false,
    },
    Span {
        name: "autumn",
        from: (9, 15),
        to: (11, 15),
        classes: &["ploughing", "drilling"],
        over_new_year: false,
    },
    Span { name: "to January", from: (9, 15), to: (1, 31), classes: &["drilling"], over_new_year: true },
    Span { name: "winter", from: (11, 1), to: (1, 31), classes: &["ploughing"], over_new_year: true },
];

/// A bad, a middling and a good year: so many of ten have no more.
const YEARS_OF_TEN: [f64; 3] = [0.1, 0.5, 0.9];

/// Seasons drawn for each model and row.
const SEASONS: u64 = 4_000;

/// What the record and the models say of one kind of work in one span.
struct Compared<'a> {
    rule: &'a Rule,
    span: &'a Span,
    mean: f64,
    /// Standard deviations: of the recorded years, and as independent days have it.
    differ: f64,
    differ_independent: f64,
    runs: Vec<u64>,
    recorded: CountDistribution,
    independent: CountDistribution,
    chain: CountDistribution,
    spread: CountDistribution,
}

fn compare<'a>(of: &'a Findings, index: usize, span: &'a Span) -> Result<Option<Compared<'a>>, FitError> {
    let (rule, years, record) = (&of.rules[index], &of.years[index], &of.read.record);
    let (from, to) = (day(span.from), day(span.to));
    let shares = &of.fit.keys[index].shares;
    let p = shares.on(record.first(), record.days());
    let series = Series::new(&of.judged.days[index], &p)?;
    let block = Block::of_period(record.first(), record.days(), from, to);
    let seen = Counts::of(&block, series);
    let counts: Vec<u32> = years.counts(from, to).iter().map(|(_, count)| *count).collect();
    let Some(recorded) = CountDistribution::of_years(&counts) else { return Ok(None) };
    if seen.years < 2 || seen.variance <= 0.0 {
        return Ok(None);
    }
    let days = days_of(from, to);
    let by_day = |of: &Shares| -> Vec<f64> { days.iter().map(|day| of.by_day()[day.place()]).collect() };
    let (p, shut) = (by_day(shares), of.fit.keys[index].shut.as_ref().map(by_day));
    let fitted: Vec<Law> = days.iter().map(|day| of.fit.law_on(index, &rule.driver, *day)).collect();
    let chain = Law::chain(TwoState::of(&block, &of.judged.days[index]).rho().clamp(0.0, 1.0));
    Ok(Some(Compared {
        rule,
        span,
        mean: seen.mean,
        differ: seen.variance.sqrt(),
        differ_independent: count_variance(&p, &vec![Law::INDEPENDENT; p.len()]).sqrt(),
        runs: years.runs(from, to),
        recorded,
        independent: CountDistribution::independent(&p),
        chain: CountDistribution::drawn(&p, None, &vec![chain; p.len()], SEASONS)?,
        spread: CountDistribution::drawn(&p, shut.as_deref(), &fitted, SEASONS)?,
    }))
}

/// Work that no span names; it is shown in all of them where it was asked for.
fn of_no_span(class: &str) -> bool {
    !SPANS.iter().any(|span| span.classes.contains(&class))
}

/// The days of the year from one to another, both counted, without 29 February.
fn days_of(from: MonthDay, to: MonthDay) -> Vec<MonthDay> {
    let mut days = vec![from];
    while let Some(last) = days.last().filter(|last| **last != to) {
        days.push(last.next());
    }
    days.retain(|day| *day != MonthDay::LEAP_DAY);
    days
}

pub(super) fn counts(of: &Findings) -> Result<String, Failure> {
    let calendar = of.year_begins == day((1, 1));
    let mut compared = Vec::new();
    for span in SPANS.iter().filter(|span| !span.over_new_year || !calendar) {
        for (index, rule) in of.rules.iter().enumerate() {
            let held = !span.over_new_year || of.years[index].holds(day(span.from), day(span.to));
            if held && (span.classes.contains(&rule.class.as_str()) || of.asked && of_no_span(&rule.class)) {
                let found = compare(of, index, span).map_err(|error| Failure::Request(error.to_string()))?;
                compared.extend(found);
            }
        }
    }
    if compared.is_empty() {
        return Ok(String::new());
    }
    let mut table = Plain::new(&[
        ("Days of a bad, a middling\nand a good year", Fit::Whole),
        ("\nrecorded", Fit::Number),
        ("independent\ndays", Fit::Number),
        ("with\npersistence", Fit::Number),
        ("and with\nspread", Fit::Number),
        ("years\ndiffer", Fit::Number),
        ("middle,\nlong run", Fit::Number),
    ]);
    for of in &compared {
        table.row([
            format!("{}, {}, {}", of.rule.class, of.rule.soil, of.span.name),
            three(&of.recorded),
            three(&of.independent),
            three(&of.chain),
            three(&of.spread),
            number(of.differ, 1),
            format!("{:>2} {:>2}", run_length(&of.runs, 50), run_length(&of.runs, 90)),
        ]);
    }
    let mut text = table.text();
    let mut spans: Vec<String> = Vec::new();
    for of in &compared {
        let [from, to] = [of.span.from, of.span.to].map(|of| words::day_of_year(day(of)));
        let said = format!("{} {from} to {to}", of.span.name);
        if !spans.contains(&said) {
            spans.push(said);
        }
    }
    wrapped(
        &mut text,
        &format!(
            "Suitable days that 1, 5 and 9 years in 10 do not exceed: {}. How years \
             differ is the standard deviation, in days; runs are suitable days without a break, in days: half of them are \
             no longer than the middle one, 9 in 10 no longer than the long one.",
            spans.join(", ")
        ),
    );
    text.push('\n');
    wrapped(&mut text, &verdict(&compared));
    Ok(text)
}

/// The numbers that 1, 5 and 9 years in 10 do not exceed.
fn three(of: &CountDistribution) -> String {
    let [bad, middling, good] = YEARS_OF_TEN.map(|share| of.not_exceeded_by(share));
    format!("{bad:2} {middling:2} {good:2}")
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

/// The verdict in words on how far each model understates the risk of a bad year.
fn verdict(compared: &[Compared<'_>]) -> String {
    let bad = |of: &CountDistribution| f64::from(of.not_exceeded_by(YEARS_OF_TEN[0]));
    let off = |model: &dyn Fn(&Compared<'_>) -> f64| {
        let sum: f64 = compared.iter().map(|of| model(of) - bad(&of.recorded)).sum();
        let days = sum / compared.len() as f64;
        match days {
            days if days >= 0.05 => format!("{} days too many", number(days, 1)),
            days if days <= -0.05 => format!("{} days too few", number(-days, 1)),
            _ => "as many".into(),
        }
    };
    let worst = compared
        .iter()
        .filter(|of| of.mean > 5.0)
        .max_by(|a, b| (a.differ / a.differ_independent).total_cmp(&(b.differ / b.differ_independent)));
    let mut text = format!(
        "For a bad year, 1 in 10, independent days have {} on average over these rows, days with persistence {}, with \
         persistence and spread {}.",
        off(&|of| bad(&of.independent)),
        off(&|of| bad(&of.chain)),
        off(&|of| bad(&of.spread))
    );
    if let Some(worst) = worst {
        let days = worst.recorded.not_exceeded_by(YEARS_OF_TEN[0]);
        text.push_str(&format!(
            " Where it matters most, {} on {} land in {}, 1 year in 10 of the record has at most {days}: independent days \
             say {} (and at most {days} in {}), persistence {}, persistence and spread {}. A risk of finishing late that \
             rests on independent days is too low for bad years.",
            worst.rule.class,
            worst.rule.soil,
            match worst.span.name {
                "to January" => "autumn to the end of January",
                name => name,
            },
            worst.independent.not_exceeded_by(YEARS_OF_TEN[0]),
            words::years(worst.independent.chance_of_at_most(days)),
            worst.chain.not_exceeded_by(YEARS_OF_TEN[0]),
            worst.spread.not_exceeded_by(YEARS_OF_TEN[0]),
        ));
    }
    text
}
