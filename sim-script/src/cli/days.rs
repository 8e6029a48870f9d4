//! `dryspell days`: what a daily record says of suitable days, and how far each model of them understates the
//! difference between years.

use super::args::DaysArgs;
use super::plain::{Fit, Plain, wrapped};
use super::{Failure, print};
use crate::report::{Strip, strip};
use crate::tables::record::{Mapping, ReadRecord, Reading, RecordReadError, read_record};
use crate::words::{MONTHS, number, percent_interval, thousands};
use sim_core::study::interval::wilson;
use sim_core::weather::fit::{Block, Counts, Law, RecordFit, Series, TwoState, count_variance, fit_record};
use sim_core::weather::{
    MonthDay, Prepared, RainDay, Rule, Station, VerdictYears, default_rules, judge, prepare,
};
use std::fmt::Write as _;
use std::path::Path;

/// A record read, judged and fitted.
struct Findings {
    name: String,
    read: ReadRecord,
    prepared: Prepared,
    rules: Vec<Rule>,
    /// Work left out, since the record does not have what its rules ask: the work, its soils and what is lacking.
    left_out: Vec<LeftOut>,
    years: Vec<VerdictYears>,
    verdicts: Vec<Vec<Option<bool>>>,
    fit: RecordFit,
}

/// A kind of work that cannot be judged.
struct LeftOut {
    class: String,
    soils: Vec<String>,
    lacks: Vec<&'static str>,
}

impl LeftOut {
    fn words(&self) -> String {
        format!("{} on {} land (needs {})", self.class, self.soils.join(", "), self.lacks.join(", "))
    }
}

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

/// After these days the chance is told that no drilling day comes any more.
const LAST_DAYS: [(i8, i8); 4] = [(10, 1), (10, 15), (10, 31), (11, 15)];

fn day((month, day): (i8, i8)) -> MonthDay {
    MonthDay::of(jiff::civil::Date::constant(2024, month, day))
}

pub(super) fn days(args: &DaysArgs) -> Result<(), Failure> {
    let findings = find(args)?;
    let mut text = heading(&findings);
    text.push_str(&shares(&findings));
    text.push_str(&laws(&findings));
    text.push_str(&last_days(&findings));
    text.push_str(&counts(&findings));
    if let Some(folder) = &args.out {
        let names = write(&findings, folder)?;
        text.push('\n');
        wrapped(&mut text, &format!("Wrote {} into {}.", names.join(", "), folder.display()));
    }
    print(&text)
}

fn find(args: &DaysArgs) -> Result<Findings, Failure> {
    let wrong = |error: &RecordReadError| Failure::Record(error.coloured());
    let bytes = std::fs::read(&args.record).map_err(|error| {
        Failure::Request(format!(
            "cannot read {}: {error}\nName a CSV file with a row for each day.",
            args.record.display()
        ))
    })?;
    let mapping = args.columns.as_deref().map_or(Ok(Mapping::default()), Mapping::parse);
    let reading = Reading {
        mapping: mapping.map_err(|error| wrong(&error))?,
        missing: args.missing.clone(),
        bridge_days: args.bridge_days,
    };
    let name = args.record.file_name().unwrap_or_default().to_string_lossy().into_owned();
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
    let all = default_rules();
    let (mut rules, mut left_out) = (Vec::new(), Vec::<LeftOut>::new());
    for rule in all.iter().filter(|rule| wanted(rule)) {
        let Some(lacks) = rule.lacks(&read.record) else {
            rules.push(rule.clone());
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
    if rules.is_empty() {
        return Err(Failure::Request(no_rules(args, &all, &left_out, &prepared)));
    }
    let rain_day = if args.rain_to_the_morning { RainDay::ToTheMorning } else { RainDay::OfTheDay };
    let judged =
        judge(&read.record, &rules, rain_day).map_err(|lacks| Failure::Request(lacks.to_string()))?;
    let first = read.record.first();
    let whole = read.record.years(day((1, 1))).len();
    if whole < 2 {
        return Err(Failure::Request(format!(
            "{name} holds {whole} whole calendar year{}: differences between years cannot be told from it\nBring a \
             record of ten years or more; thirty say something of a bad year.",
            if whole == 1 { "" } else { "s" }
        )));
    }
    let fit = fit_record(first, &rules, &judged.days)
        .map_err(|error| Failure::Request(format!("{name}: {error}")))?;
    let years = judged.days.iter().map(|verdicts| VerdictYears::new(first, verdicts)).collect();
    Ok(Findings { name, read, prepared, rules, left_out, years, verdicts: judged.days, fit })
}

fn no_rules(args: &DaysArgs, all: &[Rule], left_out: &[LeftOut], prepared: &Prepared) -> String {
    if let Some(first) = left_out.first() {
        let why = prepared.lacking.as_deref().unwrap_or("the record does not note it");
        return format!("no rule can be applied: {}\n{why}", first.words());
    }
    let names = |of: fn(&Rule) -> &String| {
        let mut names: Vec<&str> = Vec::new();
        for rule in all {
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

fn heading(of: &Findings) -> String {
    let record = &of.read.record;
    let whole = record.years(day((1, 1))).len();
    let mut text = format!(
        "\x1b[1m{}\x1b[0m: {} days, {} to {}; {whole} whole years\n",
        of.name,
        thousands(record.days() as u64),
        record.first(),
        record.last()
    );
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

fn shares(of: &Findings) -> String {
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

fn laws(of: &Findings) -> String {
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
            [number(law.rho, 2), number(law.phi, 2), number(law.spread_days, 1)]
        });
        let [rho, phi, days] = figures;
        let head = [driver.driver.clone(), driver.from.to_string(), driver.to.to_string()];
        table.row(head.into_iter().chain([rho, phi, days]));
    }
    let mut text = table.text();
    if of.fit.drivers.iter().any(|driver| driver.law.is_none()) {
        text.push_str("-: too few days that are neither nearly always nor hardly ever suitable.\n");
    }
    text.push('\n');
    text
}

fn last_days(of: &Findings) -> String {
    let mut table = Plain::new(&[
        ("Drilling", Fit::Whole),
        ("1 Oct", Fit::Whole),
        ("15 Oct", Fit::Whole),
        ("31 Oct", Fit::Whole),
        ("15 Nov", Fit::Whole),
    ]);
    let mut any = false;
    for (rule, years) in of.rules.iter().zip(&of.years).filter(|(rule, _)| rule.class == "drilling") {
        let cells = LAST_DAYS.map(|last| {
            let (none, all) = years.none_after(day(last));
            if all == 0 {
                return "-".into();
            }
            format!("{none} of {all}, {}", percent_interval(wilson(none, all)))
        });
        table.row(std::iter::once(format!("on {} land", rule.soil)).chain(cells));
        any = true;
    }
    let head = "Years in which no drilling day comes any more after a day (and the 95 % interval of so few years):\n";
    if any { format!("{head}{}\n", table.text()) } else { String::new() }
}

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

fn counts(of: &Findings) -> String {
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

/// Writes days.csv, drivers.csv and the pictures; gives their names.
fn write(of: &Findings, folder: &Path) -> Result<Vec<String>, Failure> {
    let mut files: Vec<(String, String)> = Vec::new();
    let mut days = String::from("class,soil,from,to,p_suitable,spread,p_low,p_high,years\n");
    for ((rule, years), key) in of.rules.iter().zip(&of.years).zip(&of.fit.keys) {
        for row in key.shares.rows() {
            let Some(share) = years.share(row.from, row.to) else { continue };
            let _ = writeln!(
                days,
                "{},{},{},{},{},{},{},{},{}",
                rule.class,
                rule.soil,
                row.from,
                row.to,
                number(row.value, 4),
                of.fit
                    .spread_on(key.rule, &rule.driver, row.from)
                    .map_or_else(String::new, |phi| number(phi, 3)),
                number(share.low, 4),
                number(share.high, 4),
                share.years
            );
        }
    }
    files.push(("days.csv".into(), days));
    let mut drivers = String::from("driver,from,to,persistence,spread,spread_days\n");
    for driver in &of.fit.drivers {
        let Some(law) = driver.law else { continue };
        let (first, last) = (day((1, 1)), day((12, 31)));
        let parts = if driver.from <= driver.to {
            vec![(driver.from, driver.to)]
        } else {
            vec![(first, driver.to), (driver.from, last)]
        };
        for (from, to) in parts {
            let figures = [number(law.rho, 3), number(law.phi, 3), number(law.spread_days, 1)].join(",");
            let _ = writeln!(drivers, "{},{from},{to},{figures}", driver.driver);
        }
    }
    files.push(("drivers.csv".into(), drivers));
    for (rule, years) in of.rules.iter().zip(&of.years) {
        let words: Vec<String> = rule.limits.iter().map(sim_core::weather::Limit::words).collect();
        let picture = strip(&Strip {
            heading: &format!("Suitable days for {} on {} land, {}", rule.class, rule.soil, of.name),
            about: &words,
            years,
        });
        files.push((format!("{}-{}.svg", rule.class, rule.soil), picture));
    }
    crate::tables::write_whole(folder, &files).map_err(Failure::Out)?;
    Ok(files.into_iter().map(|(name, _)| name).collect())
}
