//! `dryspell days` on an open record: what it prints, and files that a script can use.

use std::path::Path;

use assert_cmd::Command;

fn dryspell() -> Command {
    let mut command = Command::cargo_bin("dryspell-under-test").unwrap();
    command.current_dir(concat!(env!("CARGO_MANIFEST_DIR"), "/records"));
    command
}

fn demo() -> String {
    std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../scenarios/demo/farm.rhai")).unwrap()
}

/// The demo's script with its weather from a word and the record that is put beside it.
fn demo_on_record(word: &str, folder: &Path) -> String {
    let record = concat!(env!("CARGO_MANIFEST_DIR"), "/records/dublin-airport-daily.csv");
    std::fs::copy(record, folder.join("record.csv")).unwrap();
    demo().replace("    drivers: drivers_from(\"drivers.csv\"),\n", "").replace(
        "suitable_days: suitable_days(\"suitable-days.csv\")",
        &format!("weather: {word}(\"record.csv\")"),
    )
}

fn printed(arguments: &[&str]) -> String {
    let output = dryspell().arg("days").args(arguments).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

/// What is printed before the names of the files, whose line breaks depend on the folder's name.
fn page(text: &str) -> &str {
    text.split("\nWrote ").next().unwrap()
}

/// What is printed of one kind of work. The figures were not taken from elsewhere: the parts that they rest on have
/// checks of their own (soil_and_air, weather_fit, weather_fit_record); this shows when any of them moves.
#[test]
fn the_words_and_figures_for_one_kind_of_work() {
    insta::assert_snapshot!(printed(&["dublin-airport-daily.csv", "--class", "drilling"]));
}

/// A harvest year keeps an autumn and its winter together: the page has spans over New Year, the pictures begin in August.
#[test]
fn a_year_can_begin_in_autumn() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let heavy = ["--soil", "heavy", "--year-begins", "08-01"];
    let text = printed(
        &[&["dublin-airport-daily.csv", "--class", "ploughing", "--out", out][..], &heavy[..]].concat(),
    );
    insta::assert_snapshot!(page(&text));
    let svg = std::fs::read_to_string(folder.path().join("ploughing-heavy.svg")).unwrap();
    let x_of = |month: &str| -> f64 {
        let before = svg.split(&format!(">{month}</text>")).next().unwrap();
        before.rsplit("x=\"").next().unwrap().split('"').next().unwrap().parse().unwrap()
    };
    assert!(x_of("Aug") < 50.0 && x_of("Jan") < x_of("Jul") && svg.contains(">2000/01<"));
    let drilling = printed(&[&["dublin-airport-daily.csv", "--class", "drilling"][..], &heavy[..]].concat());
    let drilling = drilling.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(drilling.contains("to the end of January") && drilling.contains("to January 15 Sep to 31 Jan"));
}

/// Every line of the page keeps within 100 columns, on each record.
#[test]
fn the_page_keeps_within_its_width() {
    for record in ["dublin-airport", "de-bilt", "dunsany", "moore-park"] {
        let name = format!("{record}-daily.csv");
        for extra in [&[][..], &["--year-begins", "08-01"]] {
            let text = printed(&[&[name.as_str(), "--latitude-deg", "52"][..], extra].concat());
            let wide: Vec<&str> = text.lines().filter(|line| line.chars().count() > 100).collect();
            assert!(wide.is_empty(), "{record}: {wide:#?}");
        }
    }
}

/// A script's own classes, rules and drivers: one rule for its soil, one for any soil, a class with the rules to start from,
/// and one without any, which is told and left out.
#[test]
fn a_script_can_bring_its_own_rules() {
    let folder = tempfile::tempdir().unwrap();
    let record = concat!(env!("CARGO_MANIFEST_DIR"), "/records/dublin-airport-daily.csv");
    std::fs::copy(record, folder.path().join("record.csv")).unwrap();
    let script = r#"
farm(#{
    name: "Own rules",
    weather: replay("record.csv"),
    rules: [
        rule("rolling", #{ soil: "loam", deficit_min_mm: 3, rain_max_mm: 1, rain_before_max_mm: 5 }),
        rule("mowing, 2nd cut", #{ rain_max_mm: 0.5, et_min_mm: 1 }),
    ],
    classes: [
        work_class("rolling", #{ driver: "soil" }),
        work_class("mowing, 2nd cut", #{ driver: "sward" }),
        work_class("spraying", #{ driver: "wind" }),
        work_class("hedging", #{ driver: "air" }),
    ],
    people: [person("Driver", #{ hours: "07:00-17:00", drives: ["roll"] })],
    machines: [machine("roll", #{ work_rate_ha_h: 2.0, needs_driver: true })],
    outfits: [outfit("roll", #{ machines: ["roll"] })],
    crops: [crop("wheat", #{
        following: [operation("rolling", #{ class: "rolling", outfits: ["roll"], from: "09-20", due: "10-15" })],
    })],
    fields: [
        field("Long Acre", #{ area_ha: 10, soil: "loam", following: "wheat" }),
        field("Low Field", #{ area_ha: 10, soil: "heavy", following: "wheat" }),
    ],
})
"#;
    std::fs::write(folder.path().join("farm.rhai"), script).unwrap();
    let (rules, out) = (folder.path().join("farm.rhai"), folder.path().join("out"));
    let arguments =
        ["dublin-airport-daily.csv", "--rules", rules.to_str().unwrap(), "--out", out.to_str().unwrap()];
    let text = printed(&arguments);
    let folder_name = folder.path().to_str().unwrap();
    insta::assert_snapshot!(page(&text.replace(folder_name, "FOLDER")));
    // The tables name the script's classes and drivers, whatever they are called.
    let mut reader = csv::Reader::from_path(out.join("days.csv")).unwrap();
    let rows: Vec<std::collections::HashMap<String, String>> =
        reader.deserialize().map(Result::unwrap).collect();
    let of = |class: &str| rows.iter().filter(|row| row["class"] == class).count();
    assert_eq!([of("rolling"), of("mowing, 2nd cut"), of("spraying"), of("hedging")], [72, 72, 72, 0]);
    assert!(rows.iter().all(|row| (row["class"] == "mowing, 2nd cut") == (row["soil"] == "any")));
    assert!(std::fs::read_to_string(out.join("drivers.csv")).unwrap().contains("sward,"));
    assert!(out.join("mowing--2nd-cut-any.svg").is_file());
    let package: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(out.join("datapackage.json")).unwrap()).unwrap();
    assert!(package["script"]["name"].as_str().unwrap().ends_with("farm.rhai"));
    assert_eq!(package["rules"].as_array().unwrap().len(), 3);
}

/// The descriptor is of the tables and pictures beside it, and an old one does not stay beside new tables.
#[test]
fn the_tables_are_described() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    for class in ["drilling", "combining"] {
        printed(&["dublin-airport-daily.csv", "--class", class, "--year-begins", "08-01", "--out", out]);
        let text = std::fs::read_to_string(folder.path().join("datapackage.json")).unwrap();
        let package: serde_json::Value = serde_json::from_str(&text).unwrap();
        assert_eq!(package["record"]["name"], "dublin-airport-daily.csv");
        assert_eq!(
            (&package["settings"]["class"], &package["settings"]["year_begins"]),
            (&class.into(), &"08-01".into())
        );
        let resources = package["resources"].as_array().unwrap();
        let is_table = |resource: &&serde_json::Value| resource["type"] == "table";
        assert_eq!(resources.iter().filter(is_table).count(), 2);
        let pictures =
            resources.iter().filter(|of| of["mediatype"] == "image/svg+xml" && of["schema"].is_null());
        assert_eq!(pictures.count(), resources.len() - 2);
        let svgs = std::fs::read_dir(folder.path())
            .unwrap()
            .filter_map(|file| file.unwrap().file_name().into_string().ok());
        let svgs = svgs.filter(|name| name.ends_with(".svg") && name.starts_with(class)).collect::<Vec<_>>();
        assert!(!svgs.is_empty() && svgs.len() == resources.len() - 2, "{svgs:?}");
        for resource in resources {
            let path = folder.path().join(resource["path"].as_str().unwrap());
            assert_eq!(resource["bytes"], std::fs::metadata(&path).unwrap().len());
            if !is_table(&resource) {
                continue;
            }
            let mut reader = csv::Reader::from_path(&path).unwrap();
            let described: Vec<&str> = resource["schema"]["fields"]
                .as_array()
                .unwrap()
                .iter()
                .map(|field| field["name"].as_str().unwrap())
                .collect();
            assert_eq!(reader.headers().unwrap().iter().collect::<Vec<_>>(), described);
        }
    }
}

/// The number of years without a drilling day after a date, counted here a second time from days.csv's verdicts as the
/// picture has them: no mark lies right of the date in such a year.
#[test]
fn the_pictures_and_the_printed_years_agree() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().to_str().unwrap();
    let text = printed(&["dublin-airport-daily.csv", "--class", "drilling", "--soil", "heavy", "--out", out]);
    let svg = std::fs::read_to_string(folder.path().join("drilling-heavy.svg")).unwrap();
    // Marks of suitable days begin at the left edge of their first day: 46 + 2.4 a day; 31 October is place 304.
    let after = 46.0 + 2.4 * 305.0;
    let years = svg.lines().filter_map(|line| {
        let mut paths = line.split("<path d=\"").skip(1);
        let (known, suits) = (paths.next()?, paths.next()?);
        let marks = |path: &str| -> Vec<(f64, f64)> {
            path.split('"')
                .next()
                .unwrap_or_default()
                .split('M')
                .skip(1)
                .map(|mark| {
                    let x: f64 = mark.split(' ').next().unwrap().parse().unwrap();
                    let length: f64 =
                        mark.split('h').nth(1).unwrap().split('v').next().unwrap().parse().unwrap();
                    (x, x + length)
                })
                .collect()
        };
        let whole = marks(known).iter().any(|(from, to)| *from <= after + 0.1 && *to > 46.0 + 2.4 * 365.9);
        whole.then(|| marks(suits).iter().all(|(_, to)| *to <= after + 0.1))
    });
    let (none, all) = years.fold((0, 0), |(none, all), no_day| (none + usize::from(no_day), all + 1));
    assert!(all > 40 && text.contains(&format!("{none} of {all},")), "{none} of {all}:\n{text}");
}

#[test]
fn a_script_can_use_the_tables() {
    let folder = tempfile::tempdir().unwrap();
    printed(&["dublin-airport-daily.csv", "--out", folder.path().to_str().unwrap()]);
    let script = demo().replace("suitable-days.csv", "days.csv");
    std::fs::write(folder.path().join("farm.rhai"), script).unwrap();
    let run = Command::cargo_bin("dryspell-under-test")
        .unwrap()
        .args(["run", "farm.rhai", "--seasons", "50"])
        .current_dir(folder.path())
        .output()
        .unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    assert!(String::from_utf8_lossy(&run.stdout).contains("with persistence and spread"));
}

/// The demo farm on recorded years: each is worked once, said in every row, and the risk has the interval of so few.
#[test]
fn replayed_and_resampled_years_are_said_everywhere() {
    let folder = tempfile::tempdir().unwrap();
    for (word, extra) in [("replay", &[][..]), ("resample", &["--seasons", "400"])] {
        let script = demo_on_record(word, folder.path());
        assert!(script.contains(word));
        std::fs::write(folder.path().join("farm.rhai"), script).unwrap();
        let run = Command::cargo_bin("dryspell-under-test")
            .unwrap()
            .args(["run", "farm.rhai", "--out", "out", "--trace", "3"])
            .args(extra)
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
        let rows = |name: &str| -> Vec<std::collections::HashMap<String, String>> {
            let mut reader = csv::Reader::from_path(folder.path().join("out").join(name)).unwrap();
            reader.deserialize().map(Result::unwrap).collect()
        };
        let seasons = rows("seasons.csv");
        let year_of =
            |season: &str| seasons.iter().find(|row| row["season"] == season).unwrap()["year"].clone();
        if word == "replay" {
            assert_eq!((year_of("0"), year_of("44")), ("1980".into(), "2024".into()));
            assert!(seasons.iter().all(|row| row["season"].parse::<u32>().unwrap() < 45));
        }
        let traced = rows("trace.csv");
        assert!(!traced.is_empty() && traced.iter().all(|row| row["year"] == year_of("3")));
        let late: Vec<_> = rows("risk.csv");
        for row in &late {
            let of = |name: &str| row[name].parse::<f64>().unwrap();
            assert!(
                of("p_late_record_low") <= of("p_late") && of("p_late") <= of("p_late_record_high"),
                "{row:?}"
            );
            // 45 years never give less than this much doubt: Wilson's interval at 0 or 1 of 45.
            assert!(of("p_late_record_high") - of("p_late_record_low") > 0.078, "{row:?}");
        }
        let package = std::fs::read_to_string(folder.path().join("out/datapackage.json")).unwrap();
        assert!(package.contains("\"recorded_years\"") && package.contains("2024"));
        more_seasons_are_no_more_years(folder.path());
    }
}

/// What years leave open cannot be narrowed by working them again, and is refused.
fn more_seasons_are_no_more_years(folder: &Path) {
    let compare = ["compare", "farm.rhai", "--with", "drill_width_m=6"];
    for (command, asked, says) in [
        (
            &["run", "farm.rhai"][..],
            ["--until-halfwidth", "0.01"],
            "no number of seasons narrows what so few years",
        ),
        (&compare, ["--until-halfwidth", "0.01"], "no number of seasons narrows what so few years"),
        (&compare, ["--best", "farm"], "45 recorded years, which never become more"),
    ] {
        let output = Command::cargo_bin("dryspell-under-test")
            .unwrap()
            .args(command)
            .args(asked)
            .current_dir(folder)
            .output()
            .unwrap();
        let error = String::from_utf8(output.stderr).unwrap();
        assert!(output.status.code() == Some(2) && error.contains(says), "{command:?} {asked:?}: {error}");
    }
}

/// The demo farm on the recorded years, and on days drawn from the table with persistence and spread that `days` fits to the
/// same record: where the table is right it lies in the interval that so few years leave.
#[test]
fn the_fitted_table_and_the_recorded_years_tell_the_same_risk() {
    let folder = tempfile::tempdir().unwrap();
    printed(&["dublin-airport-daily.csv", "--out", folder.path().to_str().unwrap()]);
    let files = demo().replace("suitable-days.csv", "days.csv");
    let table = demo_on_record("table", folder.path());
    let replay = demo_on_record("replay", folder.path());
    let risks = |name: &str, script: &str| -> Vec<std::collections::HashMap<String, String>> {
        std::fs::write(folder.path().join("farm.rhai"), script).unwrap();
        let run = Command::cargo_bin("dryspell-under-test")
            .unwrap()
            .args(["run", "farm.rhai", "--out", name])
            .args(if name == "replay" { &[][..] } else { &["--seasons", "2000", "--refits", "0"] })
            .current_dir(folder.path())
            .output()
            .unwrap();
        assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
        let mut reader = csv::Reader::from_path(folder.path().join(name).join("risk.csv")).unwrap();
        reader.deserialize().map(Result::unwrap).collect()
    };
    // The same shares with every day by itself.
    let days = std::fs::read_to_string(folder.path().join("days.csv")).unwrap();
    let shares: Vec<String> =
        days.lines().map(|line| line.split(',').take(5).collect::<Vec<_>>().join(",")).collect();
    std::fs::write(folder.path().join("shares.csv"), shares.join("\n")).unwrap();
    let apart = |name| format!("driver(\"{name}\", #{{ persistence: 0, spread: 0 }})");
    let independent = files.replace("\"days.csv\"", "\"shares.csv\"").replace(
        "drivers_from(\"drivers.csv\")",
        &format!("[{}]", ["soil", "air", "wind"].map(apart).join(", ")),
    );
    let recorded = risks("replay", &replay);
    let outside = |drawn: &[std::collections::HashMap<String, String>]| -> Vec<String> {
        assert_eq!(drawn.len(), recorded.len());
        let pairs = drawn.iter().zip(&recorded).filter(|(drawn, recorded)| {
            let of = |name: &str| recorded[name].parse::<f64>().unwrap();
            let p: f64 = drawn["p_late"].parse().unwrap();
            p < of("p_late_record_low") || p > of("p_late_record_high")
        });
        pairs.map(|(drawn, _)| format!("{} of {}", drawn["operation"], drawn["crop"])).collect()
    };
    // One interval in twenty misses by chance. With 10 000 seasons none of 53 did; of independent days 34 did.
    let table = risks("table", &table);
    let fitted = outside(&table);
    assert!(fitted.len() <= 3, "{fitted:?}");
    assert!(outside(&risks("table", &independent)).len() > 20);
    // By way of files the figures are rounded, and a driver's law is fitted to light land too, which this farm has not.
    let p = |row: &std::collections::HashMap<String, String>| row["p_late"].parse::<f64>().unwrap();
    let off: Vec<f64> = table
        .iter()
        .zip(&risks("files", &files))
        .map(|(row, of_files)| (p(row) - p(of_files)).abs())
        .collect();
    let (mean, most) = (off.iter().sum::<f64>() / off.len() as f64, off.iter().copied().fold(0.0, f64::max));
    println!("table and files differ by {mean:.4}, at most {most:.4}");
    assert!(mean < 0.01 && most < 0.04, "{off:?}");
}

/// A table fitted to the record has the interval of the record's years, wider than that of its seasons.
#[test]
fn a_fitted_table_says_what_its_years_leave_open() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("farm.rhai"), demo_on_record("table", folder.path())).unwrap();
    let run = |arguments: &[&str]| {
        let output = Command::cargo_bin("dryspell-under-test")
            .unwrap()
            .args(["run", "farm.rhai", "--seasons", "400"])
            .args(arguments)
            .current_dir(folder.path())
            .output()
            .unwrap();
        (
            output.status.code(),
            String::from_utf8(output.stdout).unwrap() + std::str::from_utf8(&output.stderr).unwrap(),
        )
    };
    let (status, text) = run(&["--refits", "40", "--out", "out"]);
    assert_eq!(status, Some(0), "{text}");
    assert!(
        text.contains("a table fitted to 46 recorded years") && text.contains("about 184 years"),
        "{text}"
    );
    let mut reader = csv::Reader::from_path(folder.path().join("out/risk.csv")).unwrap();
    let rows: Vec<std::collections::HashMap<String, String>> =
        reader.deserialize().map(Result::unwrap).collect();
    let (mut wider, mut all) = (0, 0);
    for row in &rows {
        let of = |name: &str| row[name].parse::<f64>().unwrap();
        let [low, high] = ["p_late_record_low", "p_late_record_high"].map(of);
        assert!(low <= of("p_late") && of("p_late") <= high, "{row:?}");
        if (0.05..0.95).contains(&of("p_late")) {
            all += 1;
            wider += u32::from(high - low > 1.3 * (of("p_late_high") - of("p_late_low")));
        }
    }
    assert!(all > 20 && wider * 10 > all * 9, "{wider} of {all}");
    assert!(
        std::fs::read_to_string(folder.path().join("out/datapackage.json"))
            .unwrap()
            .contains("\"fitted_years\": 46")
    );
    assert!(
        run(&["--refits", "0"]).1.contains("a table fitted") && !run(&["--refits", "0"]).1.contains("184")
    );
    assert_eq!(run(&["--refits", "1"]).0, Some(2));
    // The simulation's interval can be narrowed, and no more than that is claimed.
    let text = run(&["--refits", "0", "--until-halfwidth", "0.01"]).1;
    let text = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let claimed =
        ["400 seasons are not enough", "what the 46 years that the table was fitted to leave open is not"];
    assert!(claimed.iter().all(|claim| text.contains(claim)), "{text}");
    every_farm_compared_is_fitted_again(folder.path());
}

fn every_farm_compared_is_fitted_again(folder: &Path) {
    let output = Command::cargo_bin("dryspell-under-test")
        .unwrap()
        .args(["compare", "farm.rhai", "--with", "drill_width_m=6", "--with", "operators=3"])
        .args(["--seasons", "200", "--refits", "10", "--out", "compared"])
        .current_dir(folder)
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let mut reader = csv::Reader::from_path(folder.join("compared/risk.csv")).unwrap();
    let mut variants = std::collections::BTreeMap::<String, u32>::new();
    for row in reader.deserialize::<std::collections::HashMap<String, String>>() {
        let row = row.unwrap();
        let of = |name: &str| row[name].parse::<f64>().unwrap();
        assert!(
            of("p_late_record_low") <= of("p_late") && of("p_late") <= of("p_late_record_high"),
            "{row:?}"
        );
        *variants.entry(row["variant"].clone()).or_default() += 1;
    }
    assert!(variants.len() == 3 && variants.values().all(|rows| *rows > 20), "{variants:?}");
}

#[test]
fn mistakes_have_one_message_and_status_2() {
    for (arguments, words) in [
        (&["nowhere.csv"][..], "cannot read nowhere.csv"),
        (&["dublin-airport-daily.csv", "--class", "mowing"], "there is no rule for mowing"),
        (&["dublin-airport-daily.csv", "--columns", "rain=RAINX:inch"], "has no column `RAINX`"),
        (&["dublin-airport-daily.csv", "--latitude-deg", "99"], "latitude_deg is 99"),
        (&["dublin-airport-daily.csv", "--year-begins", "8-1"], "`8-1` is not a day of the year"),
        (&["dublin-airport-daily.csv", "--rules", "nowhere.rhai"], "nowhere.rhai"),
        (
            &["dublin-airport-daily.csv", "--rules", "../../scenarios/one-operation.rhai"],
            "ploughing on loam land (needs a rule of its own)",
        ),
    ] {
        let output = dryspell().arg("days").args(arguments).output().unwrap();
        let error = String::from_utf8(output.stderr).unwrap();
        assert_eq!((output.status.code(), error.contains(words)), (Some(2), true), "{arguments:?}: {error}");
        assert!(output.stdout.is_empty());
    }
}
