//! Weekly statistics of days suitable for field work: what the years have in each week, how weeks hang together, and a
//! table of suitable days from them.

use super::write::{self, Files};
use crate::cli::Failure;
use crate::cli::args::DaysArgs;
use crate::cli::plain::{Fit, Plain, wrapped};
use crate::report::{WeekStrip, week_strip};
use crate::tables::DaysOrigin;
use crate::tables::weekly::Weekly;
use crate::words::{self, number, thousands};
use sim_core::farm::spec::{ANY_SOIL, DEFAULT_PERSISTENCE, DEFAULT_SPREAD, DEFAULT_SPREAD_DAYS};
use sim_core::weather::Share;
use sim_core::weather::fit::{Counted, FitError, WEEK_LAGS, WeekFit, YEARS_ENOUGH, fit_weeks};
use sim_core::weather::weekly::{WEEK_DAYS, Week, WeekOfYear, weeks_of_year};
use std::collections::BTreeMap;

/// The class of the table unless one is named.
const CLASS: &str = "fieldwork";
/// What stops field work first, as observers count it: the driver of the table.
const DRIVER: &str = "soil";
/// So many of ten years have at least the days shown.
const YEARS_OF_TEN: [f64; 3] = [0.8, 0.5, 0.2];

pub(super) fn days(args: &DaysArgs, bytes: &[u8], read: &Weekly) -> Result<(), Failure> {
    let name = super::name(args);
    let asked = [
        ("--columns", args.columns.is_some()),
        ("--rules", args.rules.is_some()),
        ("--machine-weight", args.machine_weight.is_some()),
        ("--latitude-deg", args.latitude_deg.is_some()),
        ("--rain-to-the-morning", args.rain_to_the_morning),
    ];
    if let Some((option, _)) = asked.into_iter().find(|(_, given)| *given) {
        return Err(Failure::Request(format!(
            "{option} is for a daily record, and {name} has weeks (the columns week_ending and days_suitable)\nLeave \
             {option} out, or name a record with a row for each day."
        )));
    }
    let weeks = weeks_of_year(&read.weeks);
    if !weeks.iter().any(|week| week.years.len() >= YEARS_ENOUGH) {
        return Err(Failure::Request(format!(
            "{name} has no week of the year that {YEARS_ENOUGH} years report\nBring statistics of ten years or more."
        )));
    }
    let counted = counted(&read.weeks);
    let fit = match fit_weeks(&read.weeks, &weeks, counted) {
        Ok(fit) => Some(fit),
        Err(FitError::NothingVaries { .. }) => None,
        Err(other) => return Err(Failure::Request(other.to_string())),
    };
    let mut text = heading(&name, read);
    text.push_str(&table(&weeks));
    text.push_str(&together(counted, fit.as_ref()));
    super::tell(args, text, || files(args, (&name, bytes), read, &weeks, counted, fit.as_ref()))
}

/// Whole numbers throughout are one farm's; anything else is the mean of several reports.
fn counted(weeks: &[Week]) -> Counted {
    if weeks.iter().all(|week| week.days.fract() == 0.0) {
        Counted::OneFarm
    } else {
        Counted::Mean { rho: DEFAULT_PERSISTENCE }
    }
}

fn heading(name: &str, read: &Weekly) -> String {
    let mut text = format!(
        "\x1b[1m{name}\x1b[0m: days suitable for field work in {} weeks, {}\n",
        thousands(read.weeks.len() as u64),
        years_of(read)
    );
    if read.empty > 0 {
        wrapped(&mut text, &format!("Without a number: {} weeks.", read.empty));
    }
    if !read.unused.is_empty() {
        wrapped(&mut text, &format!("Columns not used: {}.", read.unused.join(", ")));
    }
    text.push('\n');
    text
}

fn table(weeks: &[WeekOfYear]) -> String {
    let mut table = Plain::new(&[
        ("Week", Fit::Number),
        ("about", Fit::Whole),
        ("years", Fit::Number),
        ("mean\ndays", Fit::Number),
        ("95 %", Fit::Number),
        ("8 of 10\nat least", Fit::Number),
        ("5 of 10\nat least", Fit::Number),
        ("2 of 10\nat least", Fit::Number),
    ]);
    let mut few = false;
    for week in weeks {
        let (from, to) = week.period();
        let enough = week.years.len() >= YEARS_ENOUGH;
        few |= !enough;
        let reached = YEARS_OF_TEN
            .map(|share| if enough { format!("{:.2}", week.reached_by(share)) } else { "-".into() });
        let interval = week.interval().filter(|_| enough);
        let head = [
            week.number.to_string(),
            format!("{} to {}", words::day_of_year(from), words::day_of_year(to)),
            week.years.len().to_string(),
            format!("{:.2}", week.mean()),
            interval.map_or_else(|| "-".into(), |(low, high)| format!("{low:.2} to {high:.2}")),
        ];
        table.row(head.into_iter().chain(reached));
    }
    let mut text = table.text();
    let few = if few { " -: too few years." } else { "" };
    wrapped(
        &mut text,
        &format!(
            "At least: so many days and more in 8, 5 and 2 years of 10. Weeks of the ISO calendar, their dates to within three days. A week that was not reported is not one without \
             days: late weeks are those of years in which work went on.{few}"
        ),
    );
    text.push('\n');
    text
}

/// How weeks hang together, and the law fitted to that.
fn together(counted: Counted, fit: Option<&WeekFit>) -> String {
    let mut text = String::new();
    let Some(fit) = fit else {
        wrapped(
            &mut text,
            "Too few weeks follow one another in five years or more to say how they hang together: drivers.csv has the \
             program's defaults.",
        );
        return text;
    };
    let (low, high) = fit.successive;
    let mut table = Plain::new(&[
        ("Weeks apart", Fit::Number),
        ("pairs", Fit::Number),
        ("correlation", Fit::Number),
        ("fitted", Fit::Number),
    ]);
    for lag in 1..WEEK_LAGS {
        table.row([
            lag.to_string(),
            fit.pairs[lag].to_string(),
            format!("{:.2}", fit.correlation(lag)),
            format!("{:.2}", fit.modelled[lag] / fit.modelled[0]),
        ]);
    }
    text.push_str(&table.text());
    let law = fit.law;
    let observed = number(fit.observed[0] / WEEK_DAYS, 2);
    let how = match counted {
        Counted::OneFarm => format!(
            "Fitted to variance and correlations as one farm's days: persistence {}, spread {}, in spells of {} days. Seven \
             days in one number do not hold the three well apart.",
            number(law.rho, 2),
            number(law.phi, 2),
            number(law.spread_days, 1)
        ),
        Counted::Mean { .. } => format!(
            "The numbers are not whole, so they are means of many reports: in a mean what each farm has by itself cancels, \
             and a farm's own weeks differ more. What is left is the spell that all have in common: spread {}, in spells \
             of {} days, fitted to variance and correlations. They do not tell the persistence from day to day: \
             drivers.csv has the program's default, {}.",
            number(law.phi, 2),
            number(law.spread_days, 1),
            number(law.rho, 2)
        ),
    };
    wrapped(
        &mut text,
        &format!(
            "The correlation of successive weeks lies between {low:.2} and {high:.2} (95 %, years drawn anew). A week's number varies \
             {observed} times as much as that of seven independent days of one farm. {how}"
        ),
    );
    text
}

/// The files: weeks that enough years report become periods.
fn files<'a>(
    args: &DaysArgs,
    record: (&'a str, &'a [u8]),
    read: &Weekly,
    weeks: &[WeekOfYear],
    counted: Counted,
    fit: Option<&WeekFit>,
) -> Files<'a> {
    let class = args.class.as_deref().unwrap_or(CLASS);
    let soil = args.soil.as_deref().unwrap_or(ANY_SOIL);
    let row = |week: &WeekOfYear| {
        let (low, high) = week.interval()?;
        let share = Share {
            share: week.mean() / WEEK_DAYS,
            low: low / WEEK_DAYS,
            high: high / WEEK_DAYS,
            years: week.years.len(),
        };
        Some(write::days_row([class, soil], week.period(), write::Beside::default(), share))
    };
    let law = fit.map_or([DEFAULT_PERSISTENCE, DEFAULT_SPREAD, DEFAULT_SPREAD_DAYS], |fit| {
        [fit.law.rho, fit.law.phi, fit.law.spread_days]
    });
    let [rho, phi, days] = law;
    let how = match (fit, counted) {
        (None, _) => "the drivers have the program's defaults",
        (_, Counted::OneFarm) => {
            "persistence, spread and its length are fitted to variance and correlations of weeks, as one farm's days"
        }
        (_, Counted::Mean { .. }) => {
            "spread and its length are fitted to variance and correlations of weeks, as the spell that all reports have \
             in common; persistence is the program's default"
        }
    };
    Files {
        days: weeks.iter().filter(|week| week.years.len() >= YEARS_ENOUGH).filter_map(row).collect(),
        drivers: vec![vec![
            DRIVER.into(),
            "01-01".into(),
            "12-31".into(),
            number(rho, 3),
            number(phi, 3),
            number(days, 1),
            "1".into(),
        ]],
        pictures: vec![(
            write::picture_name(class, soil),
            week_strip(&WeekStrip {
                heading: &format!("Suitable days for {class} on {soil} land, {}", record.0),
                weeks,
                years_enough: YEARS_ENOUGH,
            }),
        )],
        origin: DaysOrigin {
            record,
            holds: format!("{} weeks, {}", read.weeks.len(), years_of(read)),
            script: None,
            rules: Vec::new(),
            how: format!(
                "Chances are 0 to 1: a seventh of the mean number of suitable days of a week; intervals are 95 %, from years \
                 drawn anew. Weeks that fewer than {YEARS_ENOUGH} years report are left out; {how}."
            ),
            settings: BTreeMap::from([("class", class.to_string()), ("soil", soil.to_string())]),
        },
    }
}

/// The years: "1995 to 2026".
fn years_of(read: &Weekly) -> String {
    let year = |week: Option<&Week>| week.map_or(0, |week| week.ending.year());
    format!("{} to {}", year(read.weeks.first()), year(read.weeks.last()))
}
