//! The open daily records, read as a user reads them: every day, year and gap that their descriptions state, and the
//! same values from the same record in another unit system.

use std::path::Path;
use std::time::Instant;

use jiff::civil::{Date, date};
use sim_core::weather::{Quantity, Record};
use sim_script::tables::record::{Dialect, Mapping, ReadRecord, Reading, read_record};

fn bytes(name: &str) -> Vec<u8> {
    std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("records").join(name)).unwrap()
}

fn read(name: &str) -> ReadRecord {
    read_record(name, &bytes(name), &Reading::default()).unwrap_or_else(|error| panic!("{error}"))
}

/// What a record's description states.
struct Stated {
    name: &'static str,
    first: Date,
    last: Date,
    /// Calendar days from first to last, counted apart.
    days: usize,
    whole_years: usize,
    quantities: usize,
    /// Days without a value of a quantity.
    empty: &'static [(Quantity, usize)],
}

/// The Irish records here are cuts that begin where the deficits do; none lacks a day inside. Where the whole record's
/// description counts what is empty from another day on, the cut's own count, made apart, stands here.
const STATED: [Stated; 4] = [
    Stated {
        name: "de-bilt-daily.csv",
        first: date(1980, 1, 1),
        last: date(2019, 12, 31),
        days: 14_610,
        whole_years: 40,
        quantities: 10,
        empty: &[],
    },
    Stated {
        name: "dublin-airport-daily.csv",
        first: date(1979, 10, 28),
        last: date(2025, 9, 30),
        days: 16_775,
        whole_years: 45,
        quantities: 9,
        empty: &[(Quantity::Radiation, 119)],
    },
    Stated {
        name: "dunsany-daily.csv",
        first: date(2011, 1, 26),
        last: date(2024, 11, 30),
        days: 5_058,
        whole_years: 12,
        quantities: 9,
        empty: &[
            (Quantity::TemperatureMin, 2),
            (Quantity::TemperatureMax, 2),
            (Quantity::Rain, 3),
            (Quantity::Wind, 2),
            (Quantity::Radiation, 4),
        ],
    },
    Stated {
        name: "moore-park-daily.csv",
        first: date(2011, 1, 26),
        last: date(2020, 5, 31),
        days: 3_414,
        whole_years: 8,
        quantities: 9,
        empty: &[
            (Quantity::Rain, 3),
            (Quantity::Radiation, 1),
            (Quantity::EtRef, 1),
            (Quantity::DeficitWell, 1),
            (Quantity::DeficitModerate, 1),
            (Quantity::DeficitPoor, 1),
        ],
    },
];

#[test]
fn records_have_the_days_years_and_gaps_that_are_stated() {
    for stated in STATED {
        let ReadRecord { record, gaps, bridged, unused, dialect } = read(stated.name);
        let name = stated.name;
        assert_eq!((record.first(), record.last()), (stated.first, stated.last), "{name}");
        assert_eq!(record.days(), stated.days, "{name}");
        assert_eq!(record.years("01-01".parse().unwrap()).len(), stated.whole_years, "{name}");
        assert_eq!(record.quantities().len(), stated.quantities, "{name}");
        let mut empty: Vec<(Quantity, usize)> = Vec::new();
        for gap in &gaps {
            match empty.last_mut() {
                Some((quantity, days)) if *quantity == gap.quantity => *days += gap.days,
                _ => empty.push((gap.quantity, gap.days)),
            }
        }
        println!("{name}: {} days, {} gaps, empty {empty:?}", record.days(), gaps.len());
        assert_eq!(empty, stated.empty, "{name}");
        assert!(bridged.is_empty() && unused.is_empty(), "{name}");
        let plain = Dialect { byte_order_mark: false, carriage_returns: false, separator: ',', decimal: '.' };
        assert_eq!(dialect, plain, "{name}");
    }
}

/// The least and the most of every column of De Bilt, as its description has them.
#[test]
fn values_lie_between_the_stated_ends() {
    let record = read("de-bilt-daily.csv").record;
    for (quantity, least, most) in [
        (Quantity::TemperatureMin, -18.9, 22.4),
        (Quantity::TemperatureMax, -10.6, 37.5),
        (Quantity::TemperatureMean, -13.2, 29.7),
        (Quantity::Rain, 0.0, 63.9),
        (Quantity::HumidityMean, 31.0, 100.0),
        (Quantity::HumidityMin, 17.0, 100.0),
        (Quantity::Wind, 0.5, 10.8),
        (Quantity::Radiation, 0.07, 30.62),
        (Quantity::Sunshine, 0.0, 15.6),
        (Quantity::EtRef, 0.0, 5.9),
    ] {
        let values = record.of(quantity).unwrap();
        let ends = values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| {
            (low.min(*value), high.max(*value))
        });
        assert_eq!(ends, (least, most), "{quantity:?}");
    }
}

/// A quantity in another unit: how many of it there are for a value of the record, its decimals, and the most by which
/// rounding there can move the value.
struct Other {
    quantity: Quantity,
    column: &'static str,
    unit: &'static str,
    decimals: usize,
    from_own: fn(f64) -> f64,
    rounding: f64,
}

const OTHERS: [Other; 10] = [
    fahrenheit(Quantity::TemperatureMin, "Low"),
    fahrenheit(Quantity::TemperatureMax, "High"),
    fahrenheit(Quantity::TemperatureMean, "Mean"),
    other(Quantity::Rain, "Rain, total", "inch", 3, |mm| mm / 25.4, 0.0127),
    other(Quantity::HumidityMean, "Humidity", "fraction", 2, |percent| percent / 100.0, 0.5),
    other(Quantity::HumidityMin, "Humidity low", "fraction", 2, |percent| percent / 100.0, 0.5),
    other(Quantity::Wind, "Wind: mean", "knots", 2, |m_s| m_s * 3600.0 / 1852.0, 0.002_573),
    other(Quantity::Radiation, "Q", "J/cm2", 0, |mj| mj * 100.0, 0.005),
    other(Quantity::Sunshine, "Sun", "minutes", 0, |hours| hours * 60.0, 0.008_34),
    other(Quantity::EtRef, "ET", "0.1mm", 0, |mm| mm * 10.0, 0.05),
];

const fn other(
    quantity: Quantity,
    column: &'static str,
    unit: &'static str,
    decimals: usize,
    from_own: fn(f64) -> f64,
    rounding: f64,
) -> Other {
    Other { quantity, column, unit, decimals, from_own, rounding }
}

const fn fahrenheit(quantity: Quantity, column: &'static str) -> Other {
    other(quantity, column, "F", 1, |celsius| celsius * 1.8 + 32.0, 0.027_78)
}

/// The record with semicolons, decimal commas, carriage returns, a mark, and dates as DD.MM.YYYY.
fn rewritten(record: &Record) -> String {
    let mut text = String::from("\u{feff}# rewritten\r\nDay");
    for other in &OTHERS {
        text += &format!(";{}", other.column);
    }
    for day in 0..record.days() {
        let date = record.date(day);
        text += &format!("\r\n{:02}.{:02}.{}", date.day(), date.month(), date.year());
        for other in &OTHERS {
            let value = (other.from_own)(record.of(other.quantity).unwrap()[day]);
            text += &format!(";{value:.*}", other.decimals).replace('.', ",");
        }
    }
    text + "\r\n"
}

#[test]
fn another_unit_system_gives_the_same_record() {
    let plain = read("de-bilt-daily.csv").record;
    let entries = OTHERS.iter().map(|other| {
        let word = other.quantity.name();
        let unit = ["_mj_m2", "_m_s", "_pct", "_mm", "_c", "_h"].iter().find(|unit| word.ends_with(*unit));
        format!("{}=\"{}\":{}", word.strip_suffix(unit.unwrap()).unwrap(), other.column, other.unit)
    });
    let mapping =
        std::iter::once("date=Day:DD.MM.YYYY".to_string()).chain(entries).collect::<Vec<_>>().join(", ");
    let reading = Reading { mapping: Mapping::parse(&mapping).unwrap(), ..Reading::default() };
    let read = read_record("other.csv", rewritten(&plain).as_bytes(), &reading)
        .unwrap_or_else(|error| panic!("{error}"));
    let dialect = Dialect { byte_order_mark: true, carriage_returns: true, separator: ';', decimal: ',' };
    assert_eq!(read.dialect, dialect);
    assert_eq!((read.record.first(), read.record.days()), (plain.first(), plain.days()));
    assert!(read.gaps.is_empty() && read.unused.is_empty());
    for other in &OTHERS {
        let pairs = plain.of(other.quantity).unwrap().iter().zip(read.record.of(other.quantity).unwrap());
        let furthest = pairs.map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        println!("{}: at most {furthest:.6} away", other.quantity.name());
        assert!(furthest <= other.rounding + 1e-9, "{}: {furthest}", other.quantity.name());
    }
}

/// A day without a row is a gap of a day of every quantity.
#[test]
fn a_day_left_out_is_a_gap_of_every_quantity() {
    let text = String::from_utf8(bytes("de-bilt-daily.csv")).unwrap();
    let line = text.lines().find(|line| line.starts_with("2016-02-29")).unwrap();
    let cut = text.replacen(&format!("{line}\n"), "", 1);
    let read = read_record("cut.csv", cut.as_bytes(), &Reading::default()).unwrap();
    assert_eq!(read.record.days(), 14_610);
    assert_eq!(read.gaps.len(), 10);
    assert!(read.gaps.iter().all(|gap| gap.first == date(2016, 2, 29) && gap.last() == gap.first));
}

/// Printed, not judged: how long the longest record takes.
#[test]
fn reading_time_is_printed() {
    let bytes = bytes("dublin-airport-daily.csv");
    let mut times = Vec::new();
    for _ in 0..9 {
        let start = Instant::now();
        assert_eq!(read_record("dublin.csv", &bytes, &Reading::default()).unwrap().record.days(), 16_775);
        times.push(start.elapsed());
    }
    times.sort();
    println!("45 years of Dublin: {:?} (median of 9)", times[4]);
}
