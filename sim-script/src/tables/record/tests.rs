//! A sound record damaged in one place, and the whole text that a person then sees; what is read in spite of how it
//! is written; and that no text whatsoever stops the reader without an answer.

use super::*;
use jiff::civil::date;
use proptest::prelude::*;
use sim_core::weather::Quantity;

/// A record without mistakes.
const BASE: &str = "# invented
date,tmin_c,tmax_c,rain_mm,wind_m_s,note
2020-02-27,1.5,8.0,0.0,3.2,
2020-02-28,-0.5,7.5,12.5,,storm
2020-02-29,2.0,9.0,0.2,4.0,
2020-03-01,3.0,10.0,0.0,2.1,
";

fn reading(mapping: &str, missing: &[&str]) -> Reading {
    let missing = missing.iter().map(|marker| (*marker).to_string()).collect();
    Reading { mapping: Mapping::parse(mapping).unwrap(), missing, bridge_days: 0 }
}

fn shown(bytes: &[u8], mapping: &str) -> String {
    match read_record("days.csv", bytes, &reading(mapping, &[])) {
        Ok(_) => "no mistake".into(),
        Err(error) => error.to_string(),
    }
}

/// Days of a record, one row each, from 2021-01-01.
fn days(header: &str, count: usize, cells: impl Fn(usize) -> String) -> String {
    let rows = (0..count).map(|day| {
        let date = date(2021, 1, 1).saturating_add(jiff::ToSpan::days(day as i64));
        format!("{date},{}\n", cells(day))
    });
    std::iter::once(format!("{header}\n")).chain(rows).collect()
}

/// Name, what stands in the base record, what is written in its place, mapping.
const MISTAKES: &[(&str, &str, &str, &str)] = &[
    ("missing_date_column", "date,", "day,", ""),
    ("missing_column", "", "", "rain=rain_mn:mm"),
    ("no_column_like_it", "", "", "rain=PRECIP:mm"),
    ("missing_part_of_day", "", "", "year=date, month=month, day=day"),
    ("no_quantity", "tmin_c,tmax_c,rain_mm,wind_m_s", "TN,TX,RR,FF", ""),
    ("lines_above_the_header", "# invented", "Station: Field,invented", ""),
    ("mapped_column_twice", "wind_m_s", "rain_mm", ""),
    (
        "unlike_rows_of_a_header_in_another_dialect",
        "date,tmin_c,tmax_c,rain_mm,wind_m_s,note",
        "date;rain_mm",
        "",
    ),
    ("text_in_a_number", "12.5", "wet", ""),
    ("not_a_number", "12.5", "NaN", ""),
    ("decimal_comma_between_commas", "12.5", "\"12,5\"", ""),
    ("decimal_comma_between_commas_without_quotes", "12.5", "12,5", ""),
    ("dates_out_of_order", "2020-02-28", "2020-02-26", ""),
    ("duplicate_day", "2020-02-28", "2020-02-27", ""),
    ("row_too_short", ",12.5,,storm", ",12.5", ""),
    ("row_too_long", "storm", "storm,,", ""),
    ("invalid_date", "2020-03-01", "2021-02-30", ""),
    ("no_date", "2020-02-28", "tomorrow", ""),
    ("empty_date", "2020-02-28", "", ""),
    ("another_pattern", "2020-02-27", "27/02/2020", ""),
    ("one_of_two_patterns", "2020-02-27", "02/02/2020", ""),
    ("other_pattern_named", "2020-02-27", "02/27/2020", "date=date:DD/MM/YYYY"),
    (
        "day_in_words",
        "date,tmin_c,tmax_c,rain_mm,wind_m_s,note",
        "year,month,day,rain_mm,a,b",
        "year=year,month=month,day=day",
    ),
    ("no_year_of_records", "2020-03-01", "9020-03-01", ""),
    ("fahrenheit", "8.0", "68.0", ""),
    ("tenths", "3.2", "112", ""),
    ("inch_of_what_is_mm", "12.5", "80.5", "rain=rain_mm:inch"),
    ("marker_of_missing", "12.5", "-999.9", ""),
    ("trace", "12.5", "-1", "rain=rain_mm:0.1mm"),
    ("impossible_in_every_unit", "12.5", "99000000000", ""),
    ("crossed", "1.5,8.0", "8.0,1.5", ""),
    ("open_quote", "storm", "\"storm", ""),
    ("quoted_lines", "2020-02-28", "\"2020-02\n-28\"", ""),
];

/// Texts of their own.
fn wholes() -> Vec<(&'static str, Vec<u8>)> {
    let year = |header: &str, cells: fn(usize) -> String| days(header, 365, cells).into_bytes();
    vec![
        ("empty_file", Vec::new()),
        ("only_comments", b"# nothing\n\n".to_vec()),
        ("only_a_mark", "\u{feff}".as_bytes().to_vec()),
        ("header_only", b"date,rain_mm\n".to_vec()),
        ("empty_rows_only", b"date,rain_mm\n,\n,\n".to_vec()),
        ("carriage_returns", BASE.replace('\n', "\r").into_bytes()),
        ("not_utf8", [BASE.as_bytes(), b"2020-03-02,1.0,2.0,0.0,1.0,b\xf6ig\n"].concat()),
        ("two_signs", b"date;tmin_c;rain_mm\n2020-01-01;1,5;0,2\n2020-01-02;1.5;0,0\n".to_vec()),
        ("thousands", b"date;rain_mm\n2020-01-01;1.234,5\n".to_vec()),
        ("mean_temperature", year("date,tmean_c", |day| format!("{}", 30 + day % 30))),
        ("lowest_temperature", year("date,tmin_c,rain_mm", |_| "44.5,0".into())),
        ("yearly_rain", year("date,rain_mm", |day| format!("{}", day % 80))),
        ("mean_wind", year("date,wind_m_s", |day| format!("{}", 20 + day % 20))),
        ("high_radiation", year("date,radiation_mj_m2", |_| "33".into())),
        ("low_radiation", year("date,radiation_mj_m2", |_| "0.01".into())),
        ("humidity_as_fraction", year("date,rh_mean_pct", |_| "0.85".into())),
    ]
}

#[test]
fn every_mistake_says_what_where_and_how_to_mend_it() {
    assert_eq!(shown(BASE.as_bytes(), ""), "no mistake");
    let mut all = String::new();
    for (name, right, wrong, mapping) in MISTAKES {
        assert!(BASE.contains(right), "{right} is not in the base record");
        let text = if right.is_empty() { BASE.into() } else { BASE.replacen(right, wrong, 1) };
        all += &format!("---- {name}\n{}\n\n", shown(text.as_bytes(), mapping));
    }
    for (name, bytes) in wholes() {
        all += &format!("---- {name}\n{}\n\n", shown(&bytes, ""));
    }
    insta::assert_snapshot!(all);
}

#[test]
fn every_mistake_in_a_mapping_says_what_and_how_to_mend_it() {
    let all: Vec<String> = [
        "RAINFALL:inch",
        "rian=RAINFALL:inch",
        "rain_mm=RAINFALL:mm",
        "moisture=M:mm",
        "rain=RAINFALL",
        "rain=RAINFALL:",
        "rain=:mm",
        "date=",
        "rain=RAINFALL:inchs",
        "rain=RAINFALL:furlongs",
        "tmax=TX:mm",
        "rain=A:mm, rain=B:mm",
        "rain=A:mm, rain=A:mm",
        "tmin=T:C, tmax=T:C",
        "date=D:DD/MM/YY",
        "date=D:weekly",
        "rain=\"Rain, total:mm",
        "rain=\"Rain, total\"mm",
        "year=\"Y\":YYYY",
        "date=D, year=Y",
        "year=Y, day=D",
    ]
    .iter()
    .map(|text| format!("---- {text}\n{}\n", Mapping::parse(text).unwrap_err()))
    .collect();
    insta::assert_snapshot!(all.join("\n"));
}

#[test]
fn each_dialect_gives_the_same_record() {
    let plain = read_record("days.csv", BASE.as_bytes(), &Reading::default()).unwrap();
    assert_eq!(plain.unused, ["note"]);
    assert_eq!(plain.record.days(), 4);
    assert_eq!(plain.record.date(2), date(2020, 2, 29));
    assert_eq!(plain.record.of(Quantity::Rain).unwrap(), [0.0, 12.5, 0.2, 0.0]);
    let gaps: Vec<_> = plain.gaps.iter().map(|gap| (gap.quantity, gap.first, gap.days)).collect();
    assert_eq!(gaps, [(Quantity::Wind, date(2020, 2, 28), 1)]);
    let dialect =
        |separator, decimal| Dialect { byte_order_mark: false, carriage_returns: false, separator, decimal };
    assert_eq!(plain.dialect, dialect(',', '.'));
    for (text, expected) in [
        (format!("\u{feff}{BASE}"), Dialect { byte_order_mark: true, ..dialect(',', '.') }),
        (BASE.replace('\n', "\r\n"), Dialect { carriage_returns: true, ..dialect(',', '.') }),
        (BASE.replace(',', ";"), dialect(';', '.')),
        (BASE.replace(',', ";").replace('.', ","), dialect(';', ',')),
        (BASE.replace(',', "\t").replace('.', ","), dialect('\t', ',')),
        (BASE.replace("date", "\"date\"").replace("12.5", "\"12.5\""), dialect(',', '.')),
        (BASE.replace("# invented", "\n# two\n   \n# comments") + ",,,,,\n\n", dialect(',', '.')),
        (BASE.trim_end().into(), dialect(',', '.')),
    ] {
        let read = read_record("days.csv", text.as_bytes(), &Reading::default()).unwrap();
        // As text, since no NAN equals another.
        assert_eq!(format!("{:?}", read.record), format!("{:?}", plain.record));
        assert_eq!(read.dialect, expected);
    }
}

#[test]
fn dates_and_units_may_be_any() {
    let expected = [12.7, 0.0];
    for (text, mapping) in [
        ("day,rain\n20200229,0.5\n20200301,0\n", "date=day:YYYYMMDD, rain=rain:inch"),
        ("day,rain\n29/2/2020,1.27\n01/03/2020,0\n", "date=day:dd/mm/yyyy,rain=rain:cm"),
        ("day,rain\n29.02.2020,127\n01.03.2020,0\n", "date=day:DD.MM.YYYY,rain=rain:0.1 mm"),
        ("day,rain\n02/29/2020,0.0127\n03/01/2020,0\n", "date=day:MM/DD/YYYY,rain=rain:m"),
        ("D,Y,M,rain_mm\n29,2020,02,12.7\n1,2020,3,0\n", "year=Y,month=M,day=D"),
        ("date;\"Rain, at 9:00\"\n2020-02-29;12,7\n2020-03-01;0\n", "rain=\"Rain, at 9:00\":mm"),
        ("date,rain_mm,R\n2020-02-29,9,12.7\n2020-03-01,9,0\n", "rain=R:mm"),
    ] {
        let read = read_record("days.csv", text.as_bytes(), &reading(mapping, &[])).unwrap();
        assert_eq!(read.record.of(Quantity::Rain).unwrap(), expected, "{text}");
        assert_eq!(read.record.first(), date(2020, 2, 29));
    }
}

#[test]
fn markers_stand_for_no_value_and_gaps_are_bridged_if_asked() {
    let text = "date,rain_mm\n2020-01-01,1\n2020-01-02,NA\n2020-01-04,-999.0\n2020-01-05,5\n";
    let mut reading = reading("", &["NA", "-999"]);
    let read = read_record("days.csv", text.as_bytes(), &reading).unwrap();
    assert_eq!(
        read.gaps.iter().map(|gap| (gap.first, gap.days)).collect::<Vec<_>>(),
        [(date(2020, 1, 2), 3)]
    );
    assert!(read.bridged.is_empty());
    reading.bridge_days = 3;
    let read = read_record("days.csv", text.as_bytes(), &reading).unwrap();
    assert_eq!(read.record.of(Quantity::Rain).unwrap(), [1.0, 2.0, 3.0, 4.0, 5.0]);
    assert_eq!((read.gaps.len(), read.bridged.len()), (0, 1));
}

#[test]
fn one_year_alone_is_a_record() {
    let text = days("date,rain_mm,tmean_c", 365, |day| format!("{},{}", day % 7, day % 25));
    let read = read_record("days.csv", text.as_bytes(), &Reading::default()).unwrap();
    assert_eq!(read.record.years("01-01".parse().unwrap()).len(), 1);
    assert_eq!((read.gaps.len(), read.unused.len()), (0, 0));
}

#[test]
fn errors_can_be_taken_apart() {
    let text = BASE.replacen("12.5", "wet", 1);
    let error = read_record("days.csv", text.as_bytes(), &Reading::default()).unwrap_err();
    assert_eq!(error.line(), Some(4));
    assert_eq!(error.message(), "days.csv, row 4, column `rain_mm`: \"wet\" is not a number");
    assert!(error.fix().starts_with("write a number;"));
    assert!(error.coloured().contains("\u{1b}["));
}

/// A piece that is put into a text.
fn piece() -> impl Strategy<Value = Vec<u8>> {
    let pieces = [
        "\"",
        ",",
        ";",
        "\t",
        "\n",
        "\r",
        "\r\n",
        "#",
        ".",
        "-",
        "\u{feff}",
        "é",
        "\u{2028}",
        "1e308",
        "-999",
        "NaN",
        "9999-12-31",
        "0001-01-01",
        "29/02/2021",
        "date",
        "rain_mm",
        "tmin_c",
        "tmin_c,",
        ",,,,,\n",
        "\0",
        " ",
    ];
    prop_oneof![
        4 => prop::sample::select(pieces.to_vec()).prop_map(|piece| piece.as_bytes().to_vec()),
        1 => prop::collection::vec(any::<u8>(), 0..4),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, ..ProptestConfig::default() })]

    /// Pieces of a small record are cut out and others put in: an answer or a message that can be shown.
    #[test]
    fn no_damage_stops_the_reader_without_an_answer(
        edits in prop::collection::vec((any::<prop::sample::Index>(), 0usize..12, piece()), 1..6),
        foreign in any::<bool>(),
    ) {
        let mut bytes = if foreign {
            BASE.replace(',', ";").replace('.', ",").replace('\n', "\r\n").into_bytes()
        } else {
            BASE.as_bytes().to_vec()
        };
        for (at, cut, piece) in edits {
            let at = at.index(bytes.len() + 1);
            let end = (at + cut).min(bytes.len());
            bytes.splice(at..end, piece);
        }
        let reading = Reading { bridge_days: 2, ..reading("rain=rain_mm:inch", &["-999", "NA"]) };
        for reading in [&Reading::default(), &reading] {
            match read_record("days.csv", &bytes, reading) {
                Ok(read) => prop_assert!(read.record.days() > 0),
                Err(error) => prop_assert!(!error.coloured().is_empty() && !error.fix().is_empty()),
            }
        }
    }

    /// Any bytes, as a record and as a mapping.
    #[test]
    fn no_text_stops_the_reader_without_an_answer(
        bytes in prop::collection::vec(any::<u8>(), 0..200),
        text in any::<String>(),
        entry in "[a-z]{0,4}(rain|date|tmax|year)?=\"?[A-Z:,é]{0,5}\"?:?[a-z0-9/%]{0,4}",
    ) {
        for bytes in [&bytes[..], text.as_bytes()] {
            if let Err(error) = read_record("days.csv", bytes, &Reading::default()) {
                prop_assert!(!error.to_string().is_empty());
            }
        }
        for text in [&text, &entry] {
            if let Err(error) = Mapping::parse(text) {
                prop_assert!(!error.to_string().is_empty());
            }
        }
    }
}
