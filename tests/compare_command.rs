//! `dryspell compare` from outside: what can be asked, what is said, and that it is the same on any number of threads.
// A helper of a test may fail as the test itself may.
#![allow(clippy::unwrap_used)]

#[path = "support/command.rs"]
mod command;

use assert_cmd::Command;
use command::{Row, files, number, rows, scenario};
use std::collections::BTreeMap;
use std::fs;

fn told(args: &[&str]) -> String {
    command::told("compare", args)
}

#[test]
fn what_cannot_be_compared_is_a_wrong_request() {
    let farm = scenario("one-operation.rhai");
    let wrong: [&[&str]; 20] = [
        &[],
        &["--with", "aera_ha=10"],
        &["--with", "area_ha"],
        &["--with", "area_ha=10,allowed_days"],
        &["--with", "area_ha=10,area_ha=12"],
        &["--with", "area_ha=wide"],
        &["--with", "area_ha=-10"],
        &["--with", "area_ha=10", "--with", "area_ha=10.0"],
        &["--set", "area_ha=10", "--with", "area_ha=10"],
        &["--with", "area_ha=10", "--seasons", "1"],
        &["--with", "area_ha=10", "--refits", "1"],
        &["--with", "area_ha=10", "--until-halfwidth", "0.5"],
        &["--with", "area_ha=10", "--best", "farm", "--until-halfwidth", "0.1"],
        &["--with", "area_ha=10", "--best", "farm", "--out", "results"],
        &["--with", "area_ha=10", "--best", "ploughing wheat"],
        &["--with", "area_ha=10", "--best", "mowing"],
        &["--with", "area_ha=10", "--worth-knowing", "0.1"],
        &["--with", "area_ha=10", "--best", "ploughing, wheat", "--worth-knowing", "2"],
        &["--with", "area_ha=10", "--best", "farm", "--worth-knowing", "-1"],
        &["--with", "area_ha=10", "--best", "farm", "--seasons", "1000"],
    ];
    let mut text = String::new();
    for args in wrong {
        let args: Vec<&str> = std::iter::once(farm.as_str()).chain(args.iter().copied()).collect();
        let told = told(&args);
        assert!(told.starts_with("status 2\n"), "{args:?}: {told}");
        text.push_str(&format!("$ dryspell compare {}\n{told}\n", args[1..].join(" ")));
    }
    insta::assert_snapshot!(text);
}

#[test]
fn a_comparison_reads_as_a_farmer_asks() {
    let text = told(&["--with", "drill_width_m=6", "--with", "operators=3,overtime_h=0", "--seasons", "300"]);
    for line in text.lines() {
        assert!(line.chars().count() <= 100, "{line}");
    }
    insta::assert_snapshot!(text);
}

/// Ten seasons drawn from 45 years leave most of them out: more would tell more.
#[test]
fn recorded_years_that_were_not_worked_are_not_told_as_all_there_are() {
    let farm = scenario("demo/independent-days.rhai");
    let told = |seasons: &str| told(&[&farm, "--with", "drill_ha_h=0.6", "--seasons", seasons]);
    let few = told("10");
    assert!(
        few.contains("of 45 recorded years tell, each counted once.") && !few.contains("more seasons"),
        "{few}"
    );
    let all = told("2000").split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        all.contains("what 45 recorded years tell, each counted once: more seasons would tell no more"),
        "{all}"
    );
}

#[test]
fn a_farm_that_works_in_another_way_is_told_what_only_it_does() {
    let text = told(&["--with", "wheat_tillage=direct", "--seasons", "40"]);
    assert!(text.contains("Done only on the farm as it is: ploughing, winter wheat"), "{text}");
}

#[test]
fn any_number_of_threads_compares_to_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let written = |threads: &str| {
        let out = folder.path().join(threads);
        let path = out.display().to_string();
        let with = ["--with", "drill_width_m=6", "--with", "operators=3"];
        let args = ["--seasons", "150", "--threads", threads, "--out", &path];
        let output = command::output("compare", &[with.as_slice(), &args].concat());
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        (String::from_utf8(output.stdout).unwrap().replace(&path, "[out]"), files(&out))
    };
    let one = written("1");
    let names: Vec<&str> = one.1.keys().map(String::as_str).collect();
    assert_eq!(
        names,
        [
            "compare.csv",
            "datapackage.json",
            "farm.csv",
            "finish.csv",
            "risk.csv",
            "seasons.csv",
            "use.csv",
            "waits.csv"
        ]
    );
    for threads in ["2", "7"] {
        assert!(one == written(threads), "{threads} threads");
    }
    agrees_with_the_other_tables(&one.1);
    the_descriptor_says_what_differs(&one.1);
}

#[test]
fn a_choice_reads_as_a_farmer_asks_and_is_the_same_on_any_number_of_threads() {
    let chosen = |threads: &str| {
        let with = ["drill_width_m=5", "drill_width_m=6", "operators=3", "operators=3,overtime_h=0"];
        let with: Vec<&str> = with.iter().flat_map(|with| ["--with", with]).collect();
        let best = ["--best", "farm", "--worth-knowing", "0.02", "--threads", threads];
        told(&[with.as_slice(), &best].concat())
    };
    let text = chosen("1");
    for threads in ["2", "5"] {
        assert_eq!(text, chosen(threads), "{threads} threads");
    }
    for line in text.lines() {
        assert!(line.chars().count() <= 100, "{line}");
    }
    insta::assert_snapshot!(text);
    // Two that are alike in every season, and one operation.
    let farm = scenario("one-operation.rhai");
    let alike = ["--with", "area_ha=99", "--with", "area_ha=140", "--best", "Ploughing,  wheat"];
    insta::assert_snapshot!("alike", told(&[&[farm.as_str()], alike.as_slice()].concat()));
    // Farms of other weathers, what is set for all of them, and a name without a space.
    let weather = ["--with", "p_suitable=0.6", "--set", "area_ha=90", "--best", "ploughing,wheat"];
    insta::assert_snapshot!("other_weather", told(&[&[farm.as_str()], weather.as_slice()].concat()));
    // Seasons that are not enough to choose.
    let few = ["--with", "p_suitable=0.503", "--best", "ploughing, wheat", "--seasons", "1300"];
    let few = told(&[&[farm.as_str()], few.as_slice(), &["--worth-knowing", "0.0001"]].concat());
    assert!(few.starts_with("status 0\n") && few.contains("1 280 seasons are not enough to choose"), "{few}");
}

#[test]
fn a_farm_that_does_not_do_the_work_cannot_be_best_at_it() {
    let text = told(&["--with", "wheat_tillage=direct", "--best", "ploughing, winter wheat"]);
    assert!(text.starts_with("status 2\n") && text.contains("wheat_tillage=direct does not do it"), "{text}");
}

#[test]
fn a_comparison_ends_when_it_knows_enough() {
    let farm = scenario("one-operation.rhai");
    let folder = tempfile::tempdir().unwrap();
    let ended = |threads: &str| {
        let out = folder.path().join(threads).display().to_string();
        let with = ["--with", "area_ha=110", "--until-halfwidth", "0.015", "--threads", threads];
        let text = told(&[&[farm.as_str()], with.as_slice(), &["--out", &out]].concat());
        (text.replace(&out, "[out]"), files(&folder.path().join(threads)))
    };
    let (text, files) = ended("1");
    assert!((text.clone(), files.clone()) == ended("3"));
    insta::assert_snapshot!(text);
    let descriptor: serde_json::Value = serde_json::from_slice(&files["datapackage.json"]).unwrap();
    assert_eq!(
        (&descriptor["until_halfwidth"], &descriptor["seasons_asked"]),
        (&0.015.into(), &1_000_000.into())
    );
    let row = &rows(&files["compare.csv"])[0];
    let half = (number(row, "p_late_difference_high") - number(row, "p_late_difference_low")) / 2.0;
    assert!(half <= 0.015 && half > 0.012, "{half}");
    let few = told(&[&farm, "--with", "area_ha=110", "--until-halfwidth", "0.001", "--seasons", "2000"]);
    assert!(few.starts_with("status 0\n") && few.contains("2 000 seasons are not enough"), "{few}");
}

#[test]
fn the_variants_of_a_script_are_compared_without_being_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let script = folder.path().join("farm.rhai");
    let one = fs::read_to_string(scenario("one-operation.rhai")).unwrap();
    let variants = "variant(\"larger\", #{ area_ha: 150 });\nvariant(\"smaller\", #{ area_ha: 70.0 });\n";
    fs::write(&script, format!("{variants}{one}")).unwrap();
    let path = script.display().to_string();
    let text = told(&[&path, "--seasons", "500"]);
    for words in
        ["larger: area_ha = 150.0, not 100.0", "smaller: area_ha = 70.0, not 100.0", "Worse", "Better"]
    {
        assert!(text.contains(words), "{words}: {text}");
    }
    // What is asked for stands instead.
    let asked = told(&[&path, "--with", "area_ha=105", "--seasons", "50"]);
    assert!(!asked.contains("larger") && asked.contains("area_ha = 105.0"), "{asked}");
    let same = told(&[&path, "--set", "area_ha=150"]);
    assert!(same.starts_with("status 2\nerror: the variant \"larger\" changes nothing"), "{same}");
    // A run works the farm as it is, and says that there are others.
    let run = Command::cargo_bin("dryspell-under-test")
        .unwrap()
        .args(["run", &path, "--seasons", "50"])
        .output()
        .unwrap();
    let text = String::from_utf8(run.stdout).unwrap();
    assert!(
        text.contains("The script has variants, \"larger\" and \"smaller\": `dryspell compare`"),
        "{text}"
    );
}

/// compare.csv is what seasons.csv gives when the seasons are laid side by side, and the chances are those of risk.csv.
fn agrees_with_the_other_tables(files: &BTreeMap<String, Vec<u8>>) {
    let (compared, risk, seasons) =
        (rows(&files["compare.csv"]), rows(&files["risk.csv"]), rows(&files["seasons.csv"]));
    let of = |rows: &[Row], variant: &str, row: &Row| -> Vec<Row> {
        let same = |other: &&Row| {
            other["variant"] == variant
                && other["crop"] == row["crop"]
                && other["operation"] == row["operation"]
        };
        rows.iter().filter(same).cloned().collect()
    };
    let variants: Vec<&str> = compared.iter().map(|row| row["variant"].as_str()).collect();
    assert!(variants.contains(&"drill_width_m=6") && variants.contains(&"operators=3"));
    let mut differ = 0;
    for row in &compared {
        let (base, variant) = (of(&seasons, "base", row), of(&seasons, &row["variant"], row));
        // Work that only a fallback brings is not in every season's table.
        if base.len() != 150 || variant.len() != 150 {
            continue;
        }
        let of_risk = |variant: &str| number(&of(&risk, variant, row)[0], "p_late");
        assert_eq!(number(row, "p_late_base"), of_risk("base"));
        assert_eq!(number(row, "p_late_variant"), of_risk(&row["variant"]));
        let mean = |column: &str| {
            let sum = |rows: &[Row]| rows.iter().map(|row| number(row, column)).sum::<f64>();
            (sum(&variant) - sum(&base)) / 150.0
        };
        assert!((number(row, "days_late_difference") - mean("days_late")).abs() < 1e-4);
        assert!((number(row, "area_late_ha_difference") - mean("area_late_ha")).abs() < 2e-4);
        let cells = ["late_both", "late_variant_only", "late_base_only", "late_neither"];
        assert_eq!(cells.iter().map(|cell| number(row, cell)).sum::<f64>(), 150.0);
        for figure in ["p_late", "days_late", "area_late_ha", "ha_days_late"] {
            let [low, middle, high] = ["_difference_low", "_difference", "_difference_high"]
                .map(|end| number(row, &format!("{figure}{end}")));
            assert!(low <= middle && middle <= high, "{row:?}");
        }
        let apart = number(row, "p_late_difference_low") > 0.0 || number(row, "p_late_difference_high") < 0.0;
        assert_eq!(row["p_late_pairs_more"] == "0", apart, "{row:?}");
        differ += usize::from(apart);
    }
    assert!(differ > 1, "{differ}");
}

fn the_descriptor_says_what_differs(files: &BTreeMap<String, Vec<u8>>) {
    let descriptor: serde_json::Value = serde_json::from_slice(&files["datapackage.json"]).unwrap();
    let change = &descriptor["variants"][0]["changes"][0];
    assert_eq!(
        (&change["name"], &change["value"], &change["base"]),
        (&"drill_width_m".into(), &"6.0".into(), &"4.0".into())
    );
    let resources = descriptor["resources"].as_array().unwrap();
    let compare = resources.iter().find(|resource| resource["name"] == "compare").unwrap();
    let fields = compare["schema"]["fields"].as_array().unwrap();
    let names: Vec<&str> = fields.iter().map(|field| field["name"].as_str().unwrap()).collect();
    let header = String::from_utf8_lossy(&files["compare.csv"]).lines().next().unwrap().to_string();
    assert_eq!(names.join(","), header);
    assert!(
        fields
            .iter()
            .filter(|field| field["name"].as_str().unwrap().starts_with("days_late_difference"))
            .all(|field| field["unit"] == "d")
    );
}
