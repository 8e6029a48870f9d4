//! Soil and air from daily records, against published series, worked examples and other libraries.
//!
//! The records are those of `records/`, the libraries those that `soil_and_air.py` asks. FAO 56 is FAO Irrigation and
//! Drainage Paper 56 (Allen, Pereira, Raes and Smith 1998).

#[path = "support/python.rs"]
mod python;

use jiff::civil::{Date, date};
use serde_json::json;
use sim_core::weather::air::{
    DayCourse, PenmanMonteith, day_length_h, delta_t_c, extraterrestrial_mj_m2, pressure_kpa,
    radiation_from_sunshine_mj_m2, saturation_kpa, vapour_from_range_kpa, wet_bulb_c, wind_at_2m_m_s,
};
use sim_core::weather::{
    Drainage, EtMethod, Quantity, RUN_IN_DAYS, Record, Site, Station, Topsoil, daylight, deficits,
    reference_et, run_in,
};
use std::path::Path;

fn record(name: &str) -> Record {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("records").join(format!("{name}-daily.csv"));
    let mut rows = csv::Reader::from_path(path).unwrap();
    let quantity = |name: &str| Quantity::NOTED.into_iter().find(|quantity| quantity.name() == name).unwrap();
    let quantities: Vec<_> = rows.headers().unwrap().iter().skip(1).map(quantity).collect();
    let mut record = Record::new(&quantities);
    let number = |text: &str| if text.is_empty() { f64::NAN } else { text.parse().unwrap() };
    for row in rows.records() {
        let row = row.unwrap();
        let values: Vec<f64> = row.iter().skip(1).map(number).collect();
        record.push(row[0].parse().unwrap(), &values).unwrap();
    }
    record
}

/// De Bilt (KNMI station 260): 52.10 N, 1.9 m (from memory), anemometer at 10 m.
fn de_bilt() -> Station {
    Station::new(52.1, 1.9, 10.0).unwrap()
}

/// Dublin Airport: 53.43 N, 71 m (datapackage.json), anemometer at 10 m.
fn dublin() -> Station {
    Station::new(53.43, 71.0, 10.0).unwrap()
}

/// The column of published deficits of a class.
fn published(drainage: Drainage) -> Quantity {
    match drainage {
        Drainage::Well => Quantity::DeficitWell,
        Drainage::Moderate => Quantity::DeficitModerate,
        Drainage::Poor => Quantity::DeficitPoor,
    }
}

/// Root mean square and largest of some differences, and how many there are.
fn differences(found: impl IntoIterator<Item = f64>) -> (f64, f64, usize) {
    let (mut squares, mut most, mut days) = (0.0, 0.0f64, 0usize);
    for off in found.into_iter().filter(|off| !off.is_nan()) {
        squares += off * off;
        most = most.max(off.abs());
        days += 1;
    }
    ((squares / days as f64).sqrt(), most, days)
}

/// The bucket over a record from its first published deficit; taken up again at the published deficit after each day
/// without rain or evapotranspiration. `NAN` on days that have no value of their own.
fn bucket(record: &Record, drainage: Drainage) -> Vec<f64> {
    let [rain, et, known] =
        [Quantity::Rain, Quantity::EtRef, published(drainage)].map(|quantity| record.of(quantity).unwrap());
    let noted = |day: usize| !rain[day].is_nan() && !et[day].is_nan();
    let mut found = vec![f64::NAN; record.days()];
    let mut day = 0;
    while day + 1 < record.days() {
        let end = (day + 1..record.days()).find(|day| !noted(*day)).unwrap_or(record.days());
        if !known[day].is_nan() {
            let run = deficits(&rain[day + 1..end], &et[day + 1..end], drainage, known[day]);
            found[day + 1..end].copy_from_slice(&run);
        }
        day = end.max(day + 1);
        // The first day after a gap that has a published deficit to start from.
        while day < record.days() && known[day].is_nan() {
            day += 1;
        }
    }
    found
}

/// The bucket less the published deficits, from a date onward.
fn bucket_off(record: &Record, drainage: Drainage, found: &[f64], from: Date) -> Vec<f64> {
    let first = record.day_of(from).unwrap();
    let known = record.of(published(drainage)).unwrap();
    found[first..].iter().zip(&known[first..]).map(|(found, known)| found - known).collect()
}

/// Source: the deficits that the Irish weather service publishes of Moore Park and Dunsany, from its own rain and
/// evapotranspiration. They have one decimal, as has what they are worked out from here.
#[test]
fn the_bucket_is_the_published_one() {
    for (name, gaps) in [("moore-park", 2), ("dunsany", 3)] {
        let record = record(name);
        let days = record.days() - record.day_of(date(2012, 1, 1)).unwrap();
        for drainage in Drainage::ALL {
            let found = bucket(&record, drainage);
            let (rms, most, compared) = differences(bucket_off(&record, drainage, &found, date(2012, 1, 1)));
            println!(
                "{name}, {}: rms {rms:.3} mm, most {most:.2} mm, {compared} of {days} days",
                drainage.name()
            );
            assert_eq!(compared, days - gaps);
            assert!(rms <= 0.1, "{name}, {}: {rms} mm", drainage.name());
        }
    }
}

/// The same without a published deficit to start from, and with the record's gaps left in: what is called known is right.
#[test]
fn the_bucket_finds_its_state_by_itself() {
    for (name, least) in [("moore-park", 0.8), ("dunsany", 0.8)] {
        let record = record(name);
        let (rain, et) = (record.of(Quantity::Rain).unwrap(), record.of(Quantity::EtRef).unwrap());
        for drainage in Drainage::ALL {
            let found = deficits(rain, et, drainage, f64::NAN);
            let (rms, most, compared) = differences(bucket_off(&record, drainage, &found, date(2012, 1, 1)));
            let share = compared as f64 / found.len() as f64;
            println!(
                "{name}, {}: rms {rms:.3} mm, most {most:.2} mm, {share:.3} of the days known",
                drainage.name()
            );
            assert!(share > least && rms <= 0.1, "{name}, {}: {rms} mm, {share}", drainage.name());
        }
    }
}

/// A finding, not a bar: Dublin's published deficits are not what Dublin's published rain and evapotranspiration make
/// of them. On 7 April 2012 a deficit of 19.8 mm falls to 2.4 mm without rain, and three days later rises from 0.0 to
/// 13.4 mm although 1.9 mm fall: no bucket does that. Before 2011 the two agree as at the other stations.
#[test]
fn dublins_published_deficits_differ() {
    let record = record("dublin-airport");
    let day = |year, month, day| record.day_of(date(year, month, day)).unwrap();
    let (rain, well) = (record.of(Quantity::Rain).unwrap(), record.of(Quantity::DeficitWell).unwrap());
    let april = day(2012, 4, 7);
    assert_eq!((well[april - 1], rain[april], well[april]), (19.8, 0.0, 2.4));
    assert_eq!((well[april + 2], rain[april + 3], well[april + 3]), (0.0, 1.9, 13.4));
    for drainage in Drainage::ALL {
        let found = bucket(&record, drainage);
        let off = bucket_off(&record, drainage, &found, date(2012, 1, 1));
        let (rms, most, _) = differences(off);
        let early = bucket_off(&record, drainage, &found, date(1980, 1, 1));
        let (early_rms, ..) = differences(early[..day(2011, 1, 1) - day(1980, 1, 1)].iter().copied());
        let beyond = early.iter().filter(|off| off.abs() > 3.0).count();
        println!(
            "Dublin, {}: rms {rms:.3} mm from 2012, most {most:.1} mm, {beyond} days beyond 3 mm; 1980-2010 {early_rms:.3} mm",
            drainage.name()
        );
        assert!((0.44..0.475).contains(&rms), "{}: {rms}", drainage.name());
        assert!((14.5..19.0).contains(&most), "{}: {most}", drainage.name());
        assert!(early_rms <= 0.1, "{}: {early_rms}", drainage.name());
    }
}

/// A run-in of [`RUN_IN_DAYS`] is enough: begun on any of some 160 days of the Dublin record, at field capacity or with
/// nothing known, the bucket has forgotten it by then.
#[test]
fn a_start_is_forgotten_within_the_run_in() {
    let record = record("dublin-airport");
    let (rain, et) = (record.of(Quantity::Rain).unwrap(), record.of(Quantity::EtRef).unwrap());
    for drainage in Drainage::ALL {
        let truth = deficits(rain, et, drainage, 0.0);
        let (mut longest_guess, mut longest_unknown) = (0, 0);
        for first in (1_000..record.days() - 2 * RUN_IN_DAYS).step_by(97) {
            let days = first..first + 2 * RUN_IN_DAYS;
            let run = |start| deficits(&rain[days.clone()], &et[days.clone()], drainage, start);
            let unknown = run(f64::NAN).iter().rposition(|deficit| deficit.is_nan()).map_or(0, |day| day + 1);
            let guess = run(0.0);
            let wrong = guess
                .iter()
                .zip(&truth[days.clone()])
                .rposition(|(guess, truth)| (guess - truth).abs() > 0.1);
            longest_guess = longest_guess.max(wrong.map_or(0, |day| day + 1));
            longest_unknown = longest_unknown.max(unknown);
            for (used, truth) in run_in(guess, RUN_IN_DAYS).iter().zip(&truth[days.clone()]) {
                assert!(used.is_nan() || (used - truth).abs() <= 0.1, "begun on {}", record.date(first));
            }
        }
        println!(
            "{}: forgotten after at most {longest_guess} days, known after {longest_unknown}",
            drainage.name()
        );
        assert!((30..=RUN_IN_DAYS).contains(&longest_unknown));
    }
}

/// The bucket alone passes 46 % of the dry days (under 2 mm) that follow a day with 10 mm of rain or more in August to
/// October (Dublin 1980-2024, published deficits, moderately drained, a deficit of 5 mm or more: our computation). The
/// topsoil store bars most of them, and few of the other days that the bucket passes.
#[test]
fn the_topsoil_bars_the_day_after_rain() {
    let record = record("dublin-airport");
    let [rain, et, deficit] = [Quantity::Rain, Quantity::EtRef, Quantity::DeficitModerate]
        .map(|quantity| record.of(quantity).unwrap());
    let topsoil = Topsoil::default();
    let gone = topsoil.dryness(rain, et, f64::NAN);
    let (mut after, mut passed, mut barred) = (0, 0, 0);
    let (mut others, mut others_barred) = (0, 0);
    for day in 1..record.days() {
        let at = record.date(day);
        if !(8..=10).contains(&at.month()) || !(1980..=2024).contains(&at.year()) || rain[day] >= 2.0 {
            continue;
        }
        let (passes, bars) = (deficit[day] >= 5.0, !topsoil.is_fit(gone[day]));
        if rain[day - 1] >= 10.0 {
            after += 1;
            passed += usize::from(passes);
            barred += usize::from(passes && bars);
        } else if passes {
            others += 1;
            others_barred += usize::from(bars);
        }
    }
    let share = |part: usize, of: usize| part as f64 / of as f64;
    println!(
        "{passed} of {after} pass the deficit alone, the topsoil bars {barred}; {others_barred} of {others} others"
    );
    assert!((share(passed, after) - 0.46).abs() < 0.005, "{passed} of {after}");
    assert!(share(barred, passed) > 0.9, "{barred} of {passed}");
    assert!(share(others_barred, others) < 0.15, "{others_barred} of {others}");
}

/// Source: the Dutch weather service's own column, which has one decimal: half of its last digit is 0.05.
#[test]
fn makkink_is_the_institutes_own_column() {
    let record = record("de-bilt");
    let found = reference_et(&record, &de_bilt(), Some(EtMethod::Makkink)).unwrap();
    let own = record.of(Quantity::EtRef).unwrap();
    let off = found.daily_mm.iter().zip(own).map(|(found, own)| found - own);
    let (rms, most, days) = differences(off);
    println!("Makkink at De Bilt: rms {rms:.4} mm, most {most:.5} mm, {days} days");
    assert_eq!(days, 14_610);
    assert!(most <= 0.05, "{most}");
}

/// FAO 56, examples 8 and 9: 3 September at 20 degrees south.
#[test]
fn sun_of_fao_56() {
    let day = date(2025, 9, 3);
    let (top, hours) = (extraterrestrial_mj_m2(-20.0, day), day_length_h(-20.0, day));
    println!("examples 8 and 9: {top:.3} MJ/m2 (32.2), {hours:.3} h (11.7)");
    assert!((top - 32.2).abs() <= 0.05 && (hours - 11.7).abs() <= 0.05);
}

/// FAO 56, example 17: Bangkok, 13 degrees 44' N, 2 m, the mean of April.
#[test]
fn penman_monteith_of_fao_56_example_17() {
    let (latitude, day) = (13.0 + 44.0 / 60.0, date(2025, 4, 15));
    let april = PenmanMonteith {
        tmin_c: 25.6,
        tmax_c: 34.8,
        vapour_kpa: 2.85,
        wind_2m_m_s: 2.0,
        radiation_mj_m2: radiation_from_sunshine_mj_m2(latitude, day, 8.5),
        extraterrestrial_mj_m2: extraterrestrial_mj_m2(latitude, day),
        soil_heat_mj_m2: 0.14,
        altitude_m: 2.0,
    };
    println!("example 17: {:.4} mm (5.72)", april.et_mm());
    assert!((april.et_mm() - 5.72).abs() <= 0.005, "{}", april.et_mm());
}

/// FAO 56, example 18: Brussels, 50 degrees 48' N, 100 m, 6 July.
#[test]
fn penman_monteith_of_fao_56_example_18() {
    let (latitude, day) = (50.8, date(2025, 7, 6));
    let wind_2m_m_s = wind_at_2m_m_s(10.0 / 3.6, 10.0);
    let july = PenmanMonteith {
        tmin_c: 12.3,
        tmax_c: 21.5,
        vapour_kpa: vapour_from_range_kpa(12.3, 21.5, 63.0, 84.0),
        wind_2m_m_s,
        radiation_mj_m2: radiation_from_sunshine_mj_m2(latitude, day, 9.25),
        extraterrestrial_mj_m2: extraterrestrial_mj_m2(latitude, day),
        soil_heat_mj_m2: 0.0,
        altitude_m: 100.0,
    };
    println!("example 18: {:.4} mm (3.88)", july.et_mm());
    assert!((july.et_mm() - 3.88).abs() <= 0.005, "{}", july.et_mm());
}

/// FAO 56, equation 47 and its table: wind at 10 m is 0.748 of itself at 2 m.
#[test]
fn wind_falls_towards_the_ground() {
    assert!((wind_at_2m_m_s(1.0, 10.0) - 0.748).abs() <= 0.0005);
    assert!((wind_at_2m_m_s(1.0, 2.0) - 1.0).abs() <= 0.0005);
}

/// FAO 56, example 4 (from memory): an aspirated psychrometer at 1200 m shows 25.6 and 19.5 degrees; the vapour
/// pressure is 1.91 kPa.
#[test]
fn wet_bulb_of_fao_56_example_4() {
    let humidity_pct = 1.91 / saturation_kpa(25.6) * 100.0;
    let wet_c = wet_bulb_c(25.6, humidity_pct, pressure_kpa(1200.0));
    println!("example 4: wet bulb {wet_c:.3} (19.5)");
    // The paper's own coefficient is 0.000662 instead of 0.000653, and 1.91 kPa is rounded to 0.005.
    assert!((wet_c - 19.5).abs() <= 0.1, "{wet_c}");
}

/// Against psychrolib's thermodynamic wet bulb, which is another thing than an instrument's: with the coefficient of FAO 56,
/// 0.000662, the two are up to 0.13 degrees apart in air of 20 %, with 0.000653 within 0.1 throughout. And against the
/// wet bulb of FAO 56, which is found here by halving.
#[test]
fn wet_bulb_agrees_with_a_reference_library() {
    let mut airs = Vec::new();
    for temperature in [1.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0] {
        for humidity in [20.0, 35.0, 50.0, 65.0, 80.0, 95.0, 100.0] {
            for altitude in [0.0, 800.0] {
                airs.push((temperature, humidity, pressure_kpa(altitude)));
            }
        }
    }
    let told = ask("wet_bulb", &json!(airs));
    let (mut most, mut most_paper, mut compared) = (0.0f64, 0.0f64, 0);
    for ((temperature, humidity, pressure), told) in airs.into_iter().zip(told) {
        // Below 0 the library's bulb is icy.
        if told[0] < 0.5 {
            continue;
        }
        let ours = wet_bulb_c(temperature, humidity, pressure);
        assert!((delta_t_c(temperature, humidity, pressure) - (temperature - ours)).abs() < 1e-9);
        let paper_vapour = |wet| saturation_kpa(wet) - 0.000_662 * pressure * (temperature - wet);
        let (mut low, mut high) = (-40.0, temperature);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            let dry = paper_vapour(middle) < humidity / 100.0 * saturation_kpa(temperature);
            *(if dry { &mut low } else { &mut high }) = middle;
        }
        let paper_off = (ours - low).abs();
        assert!(paper_off <= 0.1, "{temperature} degrees, {humidity} %, {pressure} kPa: {ours} and {low}");
        most_paper = most_paper.max(paper_off);
        let off = (ours - told[0]).abs();
        assert!(off <= 0.1, "{temperature} degrees, {humidity} %, {pressure} kPa: {ours} and {}", told[0]);
        most = most.max(off);
        compared += 1;
    }
    println!(
        "wet bulb: at most {most:.3} degrees apart, {most_paper:.3} from the paper's, in {compared} kinds of air"
    );
    assert!(compared > 90);
}

fn ask(what: &str, of: &serde_json::Value) -> Vec<Vec<f64>> {
    let answers = python::ask("soil_and_air.py", &json!([{"what": what, "of": of}]));
    let [answer]: [Vec<Vec<f64>>; 1] = serde_json::from_value(answers).unwrap();
    answer
}

/// Latitude, longitude, hours ahead of UTC and date: 11 places, 9 days of 3 years, none in polar day or night.
fn places_and_days() -> Vec<(f64, f64, f64, Date)> {
    let places = [
        (0.0, 0.0, 0.0),
        (13.7, 100.5, 7.0),
        (-20.0, 30.0, 2.0),
        (35.0, -100.0, -6.0),
        (-34.6, -58.4, -3.0),
        (-45.0, 170.0, 12.0),
        (48.1, 11.6, 1.0),
        (52.1, 5.2, 1.0),
        (53.4, -6.2, 0.0),
        (60.0, 25.0, 2.0),
        (64.0, 20.0, 1.0),
    ];
    let days = [
        date(2024, 1, 15),
        date(2024, 2, 29),
        date(2025, 3, 20),
        date(2025, 5, 5),
        date(2025, 6, 21),
        date(2026, 8, 8),
        date(2026, 9, 22),
        date(2026, 11, 5),
        date(2026, 12, 21),
    ];
    places
        .into_iter()
        .flat_map(|(latitude, longitude, offset)| days.map(|day| (latitude, longitude, offset, day)))
        .collect()
}

fn as_json(places: &[(f64, f64, f64, Date)]) -> serde_json::Value {
    places
        .iter()
        .map(|(latitude, longitude, offset, day)| json!((latitude, longitude, offset, day.to_string())))
        .collect()
}

/// Against `astral`. Sunrise and sunset within 5 s: both are the same theory, rounded to the second there and here.
///
/// The paper's day length takes the declination from a sine of the day of the year, up to about a degree off at the
/// equinoxes: at 53 degrees that is eleven minutes of day. With the sun's own declination the same formula is within half a
/// minute even at 64 degrees (the sun moves in the course of the day), so the sine is all that is off.
#[test]
fn sun_times_agree_with_a_reference_library() {
    let asked = places_and_days();
    let told = ask("sun", &as_json(&asked));
    let (mut most_s, mut most_min, mut most_at_52_min, mut remainder_min) = (0.0f64, 0.0f64, 0.0f64, 0.0f64);
    for ((latitude, longitude, offset, day), told) in asked.into_iter().zip(told) {
        let site = Site::new(latitude, longitude, offset, false).unwrap();
        let (sunrise_s, sunset_s) = daylight(&site, day);
        let off_s = (sunrise_s as f64 - told[0]).abs().max((sunset_s as f64 - told[1]).abs());
        assert!(off_s <= 5.0, "{latitude} {day}: {sunrise_s} {sunset_s} and {told:?}");
        most_s = most_s.max(off_s);
        let off_min = (day_length_h(latitude, day) - told[2]).abs() * 60.0;
        most_min = most_min.max(off_min);
        if latitude.abs() < 54.0 {
            most_at_52_min = most_at_52_min.max(off_min);
        }
        remainder_min = remainder_min.max((told[3] - told[2]).abs() * 60.0);
    }
    println!(
        "sun times at most {most_s:.1} s apart; day length {most_at_52_min:.1} min to 53 degrees, {most_min:.1} min to 64, \
         of which {remainder_min:.2} min are not the declination's"
    );
    assert!(most_at_52_min <= 11.0, "{most_at_52_min}");
    assert!(remainder_min <= 0.5, "{remainder_min}");
}

/// Against `pyet`, which has the same formulas from the same paper: to rounding.
#[test]
fn the_papers_sun_agrees_with_a_reference_library() {
    let asked = places_and_days();
    let told = ask("paper_sun", &as_json(&asked));
    let mut most = 0.0f64;
    for ((latitude, _, _, day), told) in asked.into_iter().zip(told) {
        let off_h = (day_length_h(latitude, day) - told[0]).abs();
        let off_mj = (extraterrestrial_mj_m2(latitude, day) - told[1]).abs();
        assert!(off_h < 1e-6 && off_mj < 1e-6, "{latitude} {day}: {off_h} {off_mj}");
        most = most.max(off_h).max(off_mj);
    }
    println!("the paper's sun: at most {most:.1e} apart");
}

/// Against `pyet` on four years of De Bilt: the same equations, so to rounding.
#[test]
fn evapotranspiration_agrees_with_a_reference_library() {
    let record = record("de-bilt");
    let (first, last) = (date(2003, 1, 1), date(2006, 12, 31));
    let days = record.day_of(first).unwrap()..record.day_of(last).unwrap() + 1;
    let mut question =
        json!({"first": first.to_string(), "latitude_deg": 52.1, "altitude_m": 1.9, "anemometer_m": 10.0});
    let mut names = Vec::new();
    for quantity in record.quantities() {
        question[quantity.name()] = json!(record.of(*quantity).unwrap()[days.clone()]);
        names.push(quantity.name());
    }
    question["columns"] = json!(names);
    let told = ask("evapotranspiration", &question);
    assert_eq!(told.len(), 1461);
    let mut dry_air = record.clone();
    dry_air.set(Quantity::HumidityMean, vec![f64::NAN; record.days()]);
    let by = |record: &Record, method| reference_et(record, &de_bilt(), method).unwrap();
    let best = by(&record, None);
    assert_eq!(best.to_string(), "Penman-Monteith");
    let without = by(&dry_air, Some(EtMethod::PenmanMonteith));
    assert!(without.vapour_from_tmin);
    let hargreaves = by(&record, Some(EtMethod::Hargreaves));
    for (what, ours, column, within) in [
        ("Makkink", &by(&record, Some(EtMethod::Makkink)), 0, 1e-6),
        ("Penman-Monteith", &best, 1, 1e-6),
        ("Penman-Monteith without humidity", &without, 2, 1e-6),
        // The library lets the heat of evaporation fall with temperature, the paper has one for all: up to 2 % less.
        ("Hargreaves, one heat of evaporation", &hargreaves, 4, 1e-6),
    ] {
        let off = ours.daily_mm[days.clone()].iter().zip(&told).map(|(ours, told)| ours - told[column]);
        let (rms, most, compared) = differences(off);
        let mean = ours.daily_mm[days.clone()].iter().sum::<f64>() / compared as f64;
        println!("{what}: rms {rms:.2e} mm, most {most:.2e} mm, mean {mean:.3} mm, {compared} days");
        assert_eq!(compared, 1461, "{what}");
        assert!(most <= within, "{what}: {most}");
    }
    let heat = hargreaves.daily_mm[days.clone()].iter().zip(&told).map(|(ours, told)| ours - told[3]);
    let (rms, most, _) = differences(heat);
    println!("Hargreaves, the library's heat of evaporation: rms {rms:.4} mm, most {most:.4} mm");
}

/// Why Penman-Monteith is not chosen where humidity lacks: with the vapour pressure of the lowest temperature its sum, which
/// the soil lives on, is 11 % above that with humidity at De Bilt, and 17 % above the weather service's own column at
/// Dublin; Makkink's is 5 and 4 % below. Day by day the two are equally near at De Bilt, and Makkink is nearer at Dublin
/// (our computation).
#[test]
fn without_humidity_makkinks_sum_is_nearer() {
    let (bilt, dublin_record) = (record("de-bilt"), record("dublin-airport"));
    let mut dry_air = bilt.clone();
    dry_air.set(Quantity::HumidityMean, vec![f64::NAN; bilt.days()]);
    let best = reference_et(&bilt, &de_bilt(), None).unwrap().daily_mm;
    let own = dublin_record.of(Quantity::EtRef).unwrap().to_vec();
    for (name, record, station, truth) in
        [("De Bilt", &dry_air, de_bilt(), best), ("Dublin", &dublin_record, dublin(), own)]
    {
        assert_eq!(reference_et(record, &station, None).unwrap().method, EtMethod::Makkink);
        let [penman, makkink, hargreaves] = EtMethod::ALL.map(|method| {
            let found = reference_et(record, &station, Some(method)).unwrap();
            let pairs = || found.daily_mm.iter().zip(&truth).filter(|(found, _)| !found.is_nan());
            let ratio =
                pairs().map(|(found, _)| found).sum::<f64>() / pairs().map(|(_, truth)| truth).sum::<f64>();
            let (rms, ..) = differences(pairs().map(|(found, truth)| found - truth));
            println!("{name}, {found}: {ratio:.3}, rms {rms:.3} mm");
            (ratio, rms)
        });
        assert!(makkink.1 < hargreaves.1 && makkink.1 < 1.05 * penman.1, "{name}");
        assert!(1.0 - makkink.0 < 0.06 && penman.0 - 1.0 > 0.1, "{name}");
    }
}

/// A day's course of humidity against the lowest that De Bilt's hours had: from temperatures and the mean humidity alone,
/// at the warmest hour.
#[test]
fn a_days_course_comes_near_the_lowest_humidity() {
    let record = record("de-bilt");
    let lowest = record.of(Quantity::HumidityMin).unwrap();
    let off: Vec<f64> =
        (0..record.days()).map(|day| DayCourse::of(&record, day).humidity_pct(14) - lowest[day]).collect();
    let known: Vec<f64> = off.iter().copied().filter(|off| !off.is_nan()).collect();
    let mean = known.iter().sum::<f64>() / known.len() as f64;
    let (rms, most, days) = differences(off);
    println!("lowest humidity at De Bilt: mean {mean:.2} %, rms {rms:.2} %, most {most:.1} %, {days} days");
    assert!(days > 14_000 && mean.abs() < 1.5 && rms < 7.0);
}
