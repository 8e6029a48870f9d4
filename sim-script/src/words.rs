//! What tables, terminal and report say in words: dates, chances, the weather that was used; what was perhaps meant.

use jiff::civil::Date;
use sim_core::farm::{Costs, Farm};
use sim_core::weather::{MachineWeight, MonthDay, Order, Recorded, WeatherSpec};

/// What goes with every result.
pub(crate) const CAUTION: &str = "This is a plan to discuss, not a promise. Farm work injures and kills: for long hours, wide machines on \
     the road, overhead power lines, bale stacks, spraying and slopes keep to the maker's manual, the product label, \
     local law and licensed practice.";

/// A number with at most so many decimals, a point, no thousands, no trailing zeros: the same on every machine.
pub(crate) fn number(value: f64, decimals: usize) -> String {
    let mut text = format!("{value:.decimals$}");
    if text.contains('.') {
        text.truncate(text.trim_end_matches('0').trim_end_matches('.').len());
    }
    if text == "-0" { "0".into() } else { text }
}

/// A whole number with a space before every three digits.
pub(crate) fn thousands(value: u64) -> String {
    let digits = value.to_string();
    let mut text = String::new();
    for (index, digit) in digits.chars().enumerate() {
        if index > 0 && (digits.len() - index).is_multiple_of(3) {
            text.push(' ');
        }
        text.push(digit);
    }
    text
}

/// A count in two digits that say something, rounded up.
pub(crate) fn about(count: u64) -> String {
    let unit = 10u64.pow(count.max(1).ilog10().saturating_sub(1));
    thousands(count.div_ceil(unit) * unit)
}

/// What a farm's money is called.
pub(crate) fn currency(costs: &Costs) -> &str {
    costs.currency.as_deref().unwrap_or("of money")
}

/// An amount of money with its interval, whole: "1 240 (1 190 to 1 300)"; with decimals where it is small.
pub(crate) fn money(value: f64, (low, high): (f64, f64)) -> String {
    let decimals = if value.abs().max(low.abs()).max(high.abs()) < 10.0 { 2 } else { 0 };
    let of = |value: f64| {
        let plain = format!("{:.decimals$}", value.abs());
        let (whole, part) = plain
            .split_once('.')
            .map_or((plain.as_str(), String::new()), |(whole, part)| (whole, format!(".{part}")));
        let whole = whole.parse().map_or_else(|_| whole.to_owned(), thousands);
        let below = value < 0.0 && plain.bytes().any(|digit| (b'1'..=b'9').contains(&digit));
        format!("{}{whole}{part}", if below { "-" } else { "" })
    };
    format!("{} ({} to {})", of(value), of(low), of(high))
}

/// What a farm costs more or less than another, in a sentence, from the mean difference a year and its interval.
pub(crate) fn costs_more(costs: &Costs, difference: f64, (low, high): (f64, f64)) -> String {
    let currency = currency(costs);
    let told = |difference: f64, low: f64, high: f64| {
        let amount = money(difference, (low, high));
        let (amount, ends) = amount.split_once(" (").unwrap_or((&amount, ""));
        (amount.to_owned(), ends.to_owned())
    };
    if (low, high) == (0.0, 0.0) {
        "Costs the same.".into()
    } else if low > 0.0 {
        let (amount, ends) = told(difference, low, high);
        format!("Costs {amount} {currency} a year more ({ends}.")
    } else if high < 0.0 {
        let (amount, ends) = told(-difference, -high, -low);
        format!("Costs {amount} {currency} a year less ({ends}.")
    } else {
        format!(
            "Whether it costs more or less cannot be told: {} {currency} a year more.",
            money(difference, (low, high))
        )
    }
}

/// The months as they stand in tables and pictures.
pub(crate) const MONTHS: [&str; 12] =
    ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

/// A day as a person says it: "31 Oct".
pub(crate) fn day_month(date: Date) -> String {
    day_of_year(MonthDay::of(date))
}

/// A chance in years, coarse enough to be said: "3 years in 10".
pub(crate) fn years(chance: f64) -> String {
    let of = |count: f64, all: u32| {
        let count = count.round() as u32;
        format!("{count} year{} in {all}", if count == 1 { "" } else { "s" })
    };
    match chance {
        c if c <= 0.0 => "no year seen".into(),
        c if c < 0.01 => "< 1 year in 100".into(),
        c if c < 0.095 => of(c * 100.0, 100),
        c if c < 0.95 => of(c * 10.0, 10),
        c if c < 1.0 => of((c * 100.0).min(99.0), 100),
        _ => "every year seen".into(),
    }
}

/// A day of the year: "1 Aug".
pub(crate) fn day_of_year(day: MonthDay) -> String {
    format!("{} {}", day.day(), MONTHS[usize::from(day.month().unsigned_abs()) - 1])
}

/// A chance in years of 100: "1 year in 100", "2.5 years in 100".
pub(crate) fn years_in_100(chance: f64, decimals: usize) -> String {
    let years = number(chance * 100.0, decimals);
    format!("{years} year{} in 100", if years == "1" { "" } else { "s" })
}

/// An interval of a chance in percent: "27-33 %".
pub(crate) fn percent_interval((low, high): (f64, f64)) -> String {
    let decimals = if low < 0.095 || high > 0.905 { 1 } else { 0 };
    format!("{:.decimals$}-{:.decimals$} %", low * 100.0, high * 100.0)
}

/// The weather that was used.
pub(crate) fn weather(farm: &Farm) -> String {
    match (&farm.weather.recorded, &farm.fitted) {
        (Some(of), _) => recorded(of),
        (None, Some(fitted)) => {
            drawn(&farm.weather, &format!("a table fitted to {} recorded years", fitted.years()))
        }
        (None, None) => drawn(&farm.weather, "the table of suitable days"),
    }
}

fn drawn(spec: &WeatherSpec, table: &str) -> String {
    let any = |series: &Vec<f64>| series.iter().any(|value| *value > 0.0);
    let persists = spec.drivers.iter().any(|driver| any(&driver.rho));
    match (persists, spec.keys.iter().any(|key| any(&key.phi))) {
        (false, false) => format!("independent days from {table}, which understates the risk"),
        (true, false) => {
            format!("days from {table} with persistence, without spread between spells or years")
        }
        (false, true) => {
            format!("days from {table} with spread between spells or years, without persistence")
        }
        (true, true) => format!("days from {table} with persistence and spread between spells or years"),
    }
}

fn recorded(recorded: &Recorded) -> String {
    let years = recorded.years();
    let of = match years {
        [] => return "a record without a whole season".into(),
        [only] => format!("the recorded year {}", only.year),
        [first, .., last] => format!("{} recorded years, {} to {}", years.len(), first.year, last.year),
    };
    match recorded.order() {
        Order::Replay => format!("{of}, worked as they were"),
        Order::Resample => format!("whole years drawn from {of}"),
    }
}

/// What the years that a farm's weather rests on leave open, in a sentence with a space before each; `pairs`
/// are the recorded years that were worked, where they were worked as they were. Nothing for a table of its own.
pub(crate) fn what_years_leave(farm: &Farm, pairs: u64) -> String {
    match (&farm.weather.recorded, &farm.fitted) {
        (Some(recorded), _) => {
            let all = recorded.years().len();
            if pairs < all as u64 {
                format!(" All this is what {pairs} of {all} recorded years tell, each counted once.")
            } else {
                format!(
                    " All this is what {all} recorded years tell, each counted once: more seasons would tell no more."
                )
            }
        }
        (None, Some(fitted)) => format!(
            " All this is for the table of suitable days; what the {} years that it was fitted to leave open comes on top.",
            fitted.years()
        ),
        (None, None) => String::new(),
    }
}

/// Machines of a weight, as a person says it.
pub(crate) fn machines(weight: MachineWeight) -> &'static str {
    match weight {
        MachineWeight::Light => "light machines",
        MachineWeight::Middling => "machines of middling weight",
        MachineWeight::Heavy => "heavy machines",
    }
}

/// Which machines the rules to start from are for, as in "heavy machines for drilling; light machines for spraying", from
/// work classes with the weight of the rule that judges them; nothing where every rule is a farm's own.
pub(crate) fn machines_of<'a>(
    classes: impl Iterator<Item = (&'a str, Option<MachineWeight>)> + Clone,
) -> Option<String> {
    let of = |weight: MachineWeight| {
        let mut names: Vec<&str> = Vec::new();
        for (class, _) in classes.clone().filter(|(_, of)| *of == Some(weight)) {
            if !names.contains(&class) {
                names.push(class);
            }
        }
        (!names.is_empty()).then(|| format!("{} for {}", machines(weight), one_after_another(&names)))
    };
    let told: Vec<String> = MachineWeight::ALL.into_iter().rev().filter_map(of).collect();
    (!told.is_empty()).then(|| told.join("; "))
}

/// Names as a person lists them.
pub(crate) fn one_after_another(names: &[impl AsRef<str>]) -> String {
    let names: Vec<&str> = names.iter().map(AsRef::as_ref).collect();
    match names.as_slice() {
        [] => "nothing".into(),
        [only] => (*only).into(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

/// An operation as it is told and asked for: "drilling, spring barley".
pub(crate) fn operation(farm: &Farm, row: usize) -> String {
    let row = &farm.rows[row];
    format!("{}, {}", row.operation, farm.crops[row.crop])
}

/// The row of a farm that is meant by an operation's name, capitals and spaces aside; else what to write.
pub(crate) fn row_of(farm: &Farm, asked: &str) -> Result<usize, String> {
    let plain = |text: &str| {
        let words = |part: &str| part.split_whitespace().collect::<Vec<_>>().join(" ").to_lowercase();
        text.split(',').map(words).collect::<Vec<_>>().join(", ")
    };
    // Also work that only a fallback brings.
    let done = |row: &usize| !farm.rows[*row].jobs.is_empty();
    let names: Vec<(usize, String)> =
        (0..farm.rows.len()).filter(done).map(|row| (row, operation(farm, row))).collect();
    if let Some((row, _)) = names.iter().find(|(_, name)| plain(name) == plain(asked)) {
        return Ok(*row);
    }
    let names = || names.iter().map(|(_, name)| name.as_str());
    Err(match nearest(asked, names()) {
        Some(near) => format!("Did you mean \"{near}\"?"),
        None => format!(
            "Name an operation and its crop as `dryspell run --all` lists them, for example \"{}\".",
            names().next().unwrap_or("drilling, spring barley")
        ),
    })
}

/// The name most like `wrong`, if one is like it at all.
pub(crate) fn nearest<'a>(wrong: &str, names: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let wrong = wrong.to_lowercase();
    names
        .map(|name| (strsim::damerau_levenshtein(&wrong, &name.to_lowercase()), name))
        .min_by_key(|(edits, _)| *edits)
        .filter(|(edits, name)| edits * 5 <= wrong.chars().count().max(name.chars().count()) * 2)
        .map(|(_, name)| name)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_plain() {
        for (value, decimals, text) in [
            (0.25, 6, "0.25"),
            (1.0 / 3.0, 6, "0.333333"),
            (120.0, 2, "120"),
            (-0.0001, 2, "0"),
            (0.30000000000000004, 6, "0.3"),
            (1e-9, 6, "0"),
            (100.0, 0, "100"),
        ] {
            assert_eq!(number(value, decimals), text);
        }
        assert_eq!([thousands(7), thousands(1000), thousands(1_234_567)], ["7", "1 000", "1 234 567"]);
    }

    /// Persistence is the driver's, spread the key's: one key with spread on one day is spread.
    #[test]
    fn drawn_weather_is_told_by_what_it_has() {
        use sim_core::weather::{DriverSpec, KeySpec};
        for (rho, phi, has) in [
            (0.0, 0.0, "independent days"),
            (0.4, 0.0, "with persistence, without spread"),
            (0.0, 0.2, "with spread between spells or years, without persistence"),
            (0.4, 0.2, "with persistence and spread"),
        ] {
            let mut spec = WeatherSpec {
                span_days: 3,
                drivers: vec![DriverSpec::alike("soil", 1.0, rho, 0.9, 3)],
                keys: vec![KeySpec::alike(0, 0.5, 0.0, 3), KeySpec::alike(0, 0.5, 0.0, 3)],
                recorded: None,
            };
            spec.keys[1].phi[2] = phi;
            let told = drawn(&spec, "the table of suitable days");
            assert!(told.contains(has), "{told}");
        }
    }

    /// What is written of a chance and of its complement adds to 1 as decimals, ties included.
    #[test]
    fn written_chances_and_their_complements_add_to_one() {
        for n in [3u32, 7, 64, 128, 997, 10_000] {
            for k in 0..=n {
                let p = f64::from(k) / f64::from(n);
                let millionths =
                    |text: String| -> u64 { (text.parse::<f64>().unwrap() * 1e6).round() as u64 };
                assert_eq!(millionths(number(p, 6)) + millionths(number(1.0 - p, 6)), 1_000_000, "{k}/{n}");
            }
        }
    }

    #[test]
    fn chances_are_said_in_years() {
        for (chance, text) in [
            (0.0, "no year seen"),
            (0.004, "< 1 year in 100"),
            (0.01, "1 year in 100"),
            (0.094, "9 years in 100"),
            (0.1, "1 year in 10"),
            (0.31, "3 years in 10"),
            (0.94, "9 years in 10"),
            (0.97, "97 years in 100"),
            (0.9999, "99 years in 100"),
            (1.0, "every year seen"),
        ] {
            assert_eq!(years(chance), text);
        }
    }
}
