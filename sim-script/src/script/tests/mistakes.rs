//! Mistakes made in a script that was right, and the whole text that a person then sees.

use super::super::*;

/// A farm without mistakes.
const BASE: &str = include_str!("base.rhai");

/// What is shown when `wrong` is written in place of `right`.
fn shown(right: &str, wrong: &str) -> String {
    assert!(BASE.contains(right), "{right} is not in the base script");
    of(&BASE.replacen(right, wrong, 1), &[])
}

fn of(text: &str, set: &[(String, String)]) -> String {
    let files: &'static [(&str, &str)] = &[
        (
            "days.csv",
            "# invented\nclass,soil,from,to,p_suitable\n\ndrilling,loam,01-01,06-30,0.5\ndrilling,loam,07-01,12-31,1.5\n",
        ),
        ("words.csv", "class,soil,from,to,p_suitable\ndrilling,loam,01-01,12-31,half\n"),
        ("columns.csv", "class,soil,from,to,p_suitble\ndrilling,loam,01-01,12-31,0.5\n"),
        ("short.csv", "class,soil,from,to,p_suitable\n\ndrilling,loam,01-01\n"),
        ("dates.csv", "class,soil,from,to,p_suitable\ndrilling,\"loam\",2025-01-01,12-31,0.5\n"),
        (
            "spreads.csv",
            "class,soil,from,to,p_suitable,spread\ndrilling,loam,01-01,06-30,0.5,\ndrilling,loam,07-01,12-31,0.5,1.0\n",
        ),
        ("record.csv", "date,rain_mm\n2023-12-31,0\n2024-01-01,2\n2024-01-02,0\n2024-01-03,0\n"),
        (
            "hours.csv",
            "class,soil,from,to,p_suitable,hours_mean,hours_sd\ndrilling,loam,01-01,06-30,0.5,,\ndrilling,loam,07-01,12-31,0.5,,2\n",
        ),
        ("hour-words.csv", "class,soil,from,to,p_suitable,hours_mean\ndrilling,loam,01-01,12-31,0.5,long\n"),
        ("drivers.csv", "driver,from,to,persistence,spread,spread_days\nsoil,01-01,12-31,0.5,0.2,yearly\n"),
    ];
    match Script::embedded("farm.rhai", text, files).farm(set) {
        Ok(_) => "no mistake".into(),
        Err(error) => error.to_string(),
    }
}

/// Where an operation ends and the farm begins.
const MOVED: &str =
    "from: \"09-20\",\n    due: \"10-15\",\n});\nfarm(#{\n    name: \"Home farm\",\n    suitable_days: days,";

/// Where the days and the work class are said.
const IN_FARM: &str = "suitable_days: days,\n    classes: [work_class(\"drilling\", #{ driver: \"soil\" })],";

macro_rules! mistakes {
    ($($name:ident: $right:expr => $wrong:expr;)*) => {
        /// Every mistake by name, for snapshots and for the count.
        const MISTAKES: &[(&str, &str, &str)] = &[$((stringify!($name), $right, $wrong)),*];
    };
}

mistakes! {
    unknown_key: "  speed_km_h" => "  sped_km_h";
    missing_unit: "speed_km_h: 10.0" => "speed: 10.0";
    missing_key: "    class: \"drilling\",\n" => "";
    text_for_number: "10.0" => "\"10\"";
    number_for_text: "\"loam\"" => "3";
    date_without_quotes: "\"09-20\"" => "09-20";
    date_with_year_without_quotes: "\"10-15\"" => "2024-10-15";
    date_with_year: "\"09-20\"" => "\"2025-09-20\"";
    impossible_date: "\"09-20\"" => "\"09-31\"";
    impossible_value: "efficiency: 0.7" => "efficiency: 70";
    half_given_machine: "        efficiency: 0.7,\n" => "";
    unknown_machine: "[\"tractor\", \"drill\"]" => "[\"tracter\", \"drill\"]";
    unknown_outfit: "[\"drilling\"]" => "[\"drillling\"]";
    unknown_class: "class: \"drilling\",\n" => "class: \"sowing\",\n";
    unknown_crop: "following: \"wheat\"" => "following: \"weat\"";
    unknown_operation: "due: \"10-15\"," => "due: \"10-15\", after: [\"ploughing\"],";
    two_of_one_name: "machine(\"drill\"" => "machine(\"tractor\"";
    due_before_from: "due: \"10-15\"" => "due: \"09-15\"";
    nobody_drives: ", drives: [\"tractor\"]" => "";
    no_suitable_days: "suitable(#{ class: \"drilling\"" => "suitable(#{ class: \"drilling\", soil: \"clay\"";
    bad_hours: "07:00-18:00" => "7 to 18";
    bad_weekdays: "\"07:00-18:00\"" => "hours(#{ days: \"mon-fry\", open: \"07:00-18:00\" })";
    bad_choice: "following: [drilling]" => "straw: \"bail\", following: [drilling]";
    wrong_part: "following: [drilling]" => "following: [days]";
    whole_number: "needs_driver: true" => "count: 1.5";
    forgotten_comma: "speed_km_h: 10.0," => "speed_km_h: 10.0";
    forgotten_comma_in_list: "road_speed_km_h: 30.0 })," => "road_speed_km_h: 30.0 })";
    forgotten_semicolon: "\"working width of the drill\");" => "\"working width of the drill\")";
    equals_for_colon: "speed_km_h: 10.0" => "speed_km_h = 10.0";
    single_quotes: "\"loam\"" => "'loam'";
    one_letter_in_single_quotes: "\"loam\"" => "'l'";
    open_text: "\"loam\"" => "\"loam";
    open_bracket: "        efficiency: 0.7,\n    })," => "        efficiency: 0.7,\n";
    wrong_bracket: "p_suitable: 0.5 })" => "p_suitable: 0.5 ])";
    bracket_too_many: "p_suitable: 0.5 })" => "p_suitable: 0.5 }))";
    map_without_hash: "#{ driver: \"soil\" }" => "{ driver: \"soil\" }";
    reserved_word: "let drilling =" => "let default =";
    reserved_key: "area_ha: 12.0" => "case: 12.0";
    unknown_variable: "width_m: drill_width_m" => "width_m: dril_width_m";
    text_without_quotes: "\"loam\"" => "loam";
    unknown_verb: "work_class(" => "workclass(";
    verb_without_name: "machine(\"tractor\", #{" => "machine(#{";
    verb_without_map: "work_class(\"drilling\", #{ driver: \"soil\" })" => "work_class(\"drilling\", \"soil\")";
    division_of_whole_numbers: "efficiency: 0.7" => "efficiency: 6/4";
    division_by_zero: "efficiency: 0.7" => "efficiency: 6/0";
    text_and_number: "width_m: drill_width_m" => "width_m: drill_width_m - \"1\"";
    missing_map_key: "width_m: drill_width_m" => "width_m: #{ a: 1 }.b";
    no_farm: "farm(#{" => "let f = (#{";
    two_defaults: "10.0" => "param(\"drill_width_m\", 5.0)";
    computed_parameter: "param(\"drill_width_m\"" => "param(\"drill\" + \"_width_m\"";
    endless_loop: "farm(#{" => "loop { }\nfarm(#{";
    endless_recursion: "farm(#{" => "fn more(n) { more(n + 1) }\nmore(1);\nfarm(#{";
    mistake_in_function: "farm(#{" => "fn puller(name) {\n    machine(name, #{ widht_m: 3.0 })\n}\npuller(\"tractor\");\nfarm(#{";
    unknown_function: "machine(\"tractor\", #{ needs" => "puller(\"tractor\", #{ needs";
    number_with_comma: "area_ha: 12.0" => "area_ha: 12,5";
    look_into_part: "due: \"10-15\"," => "due: days[0].due,";
    list_too_short: "due: \"10-15\"," => "due: days[5],";
    endless_list: "farm(#{" => "let list = [];\nloop { list.push(1); }\nfarm(#{";
    endless_parts: "farm(#{" => "let names = [];\nfor n in 0..4000 { names.push(\"a name of a machine\"); }\nloop { outfit(\"x\", #{ machines: names }); }\nfarm(#{";
    growing_text: "farm(#{" => "let t = \"ab\";\nloop { t += t; }\nfarm(#{";
    file_outside: "suitable(#{ class: \"drilling\", p_suitable: 0.5 })" => "suitable_days(\"../days.csv\")";
    missing_file: "suitable(#{ class: \"drilling\", p_suitable: 0.5 })" => "suitable_days(\"day.csv\")";
    table_value: "suitable(#{ class: \"drilling\", p_suitable: 0.5 })" => "suitable_days(\"days.csv\")";
    table_word: "suitable(#{ class: \"drilling\", p_suitable: 0.5 })" => "suitable_days(\"words.csv\")";
    table_column: "suitable(#{ class: \"drilling\", p_suitable: 0.5 })" => "suitable_days(\"columns.csv\")";
    table_row: "suitable(#{ class: \"drilling\", p_suitable: 0.5 })" => "suitable_days(\"short.csv\")";
    table_date: "suitable(#{ class: \"drilling\", p_suitable: 0.5 })" => "suitable_days(\"dates.csv\")";
    table_spread: "suitable(#{ class: \"drilling\", p_suitable: 0.5 })" => "suitable_days(\"spreads.csv\")";
    impossible_spread: "p_suitable: 0.5 })" => "p_suitable: 0.5, spread: 30 })";
    spread_hours_without_hours: "p_suitable: 0.5 })" => "p_suitable: 0.5, hours_sd: 2 })";
    shut_and_suitable: "p_suitable: 0.5 })" => "p_suitable: 0.5, p_shut: 0.6 })";
    impossible_hours: "p_suitable: 0.5 })" => "p_suitable: 0.5, hours_mean: 30 })";
    hours_spread_too_far: "p_suitable: 0.5 })" => "p_suitable: 0.5, hours_mean: 2, hours_sd: 8 })";
    short_day_of_day_and_night: "p_suitable: 0.5 })" => "p_suitable: 0.5, hours_mean: 6 })";
    bad_part_to_lose: "driver: \"soil\" }" => "driver: \"soil\", short_day_loses: \"evening\" }";
    bad_weight: "driver: \"soil\" }" => "driver: \"soil\", machine_weight: \"havy\" }";
    weight_by_number: "driver: \"soil\" }" => "driver: \"soil\", machine_weight: 12 }";
    weight_without_record: "driver: \"soil\" }" => "driver: \"soil\", machine_weight: \"heavy\" }";
    weight_beside_own_rules: IN_FARM => "weather: replay(\"record.csv\"), rules: [rule(\"drilling\", #{ rain_max_mm: 1 })],\n    classes: [work_class(\"drilling\", #{ driver: \"soil\", machine_weight: \"heavy\" })],";
    weight_on_an_unknown_soil: IN_FARM => "weather: replay(\"record.csv\"),\n    classes: [work_class(\"drilling\", #{ driver: \"soil\", machine_weight: \"heavy\" })],";
    table_hours: "suitable(#{ class: \"drilling\", p_suitable: 0.5 })" => "suitable_days(\"hours.csv\")";
    table_hours_word: "suitable(#{ class: \"drilling\", p_suitable: 0.5 })" => "suitable_days(\"hour-words.csv\")";
    table_drivers: "suitable_days: days," => "suitable_days: days, drivers: drivers_from(\"drivers.csv\"),";
    rules_without_record: "suitable_days: days," => "suitable_days: days, rules: [rule(\"drilling\", #{ rain_max_mm: 1 })],";
    rule_without_limit: "suitable_days: days," => "weather: replay(\"record.csv\"), rules: [rule(\"drilling\", #{ soil: \"loam\" })],";
    rule_of_an_impossible_wind: "suitable_days: days," => "weather: replay(\"record.csv\"), rules: [rule(\"drilling\", #{ wind_max_m_s: 120 })],";
    rule_without_hours: "suitable_days: days," => "weather: replay(\"record.csv\"), rules: [rule(\"drilling\", #{ wind_max_m_s: 4, hours_from: 6 })],";
    rule_of_too_many_hours: "suitable_days: days," => "weather: replay(\"record.csv\"), rules: [rule(\"drilling\", #{ wind_max_m_s: 4, hours_min: 9, hours_from: 6, hours_to: 12 })],";
    rule_on_what_is_not_noted: "suitable_days: days," => "weather: replay(\"record.csv\"), rules: [rule(\"drilling\", #{ wind_max_m_s: 4 })],";
    record_without_a_season: "suitable_days: days," => "weather: replay(\"record.csv\"), rules: [rule(\"drilling\", #{ rain_max_mm: 1 })],";
    table_of_too_few_years: "suitable_days: days," => "weather: table(\"record.csv\"), rules: [rule(\"drilling\", #{ rain_max_mm: 1 })],";
    no_rule_for_the_soil: "suitable_days: days," => "weather: replay(\"record.csv\"),";
    record_missing: "suitable_days: days," => "weather: resample(\"records.csv\"),";
    record_column: "suitable_days: days," => "weather: replay(\"record.csv\", #{ columns: \"rain=RAIN:inch\" }),";
    table_and_record: "suitable_days: days," => "suitable_days: days, weather: replay(\"record.csv\"),";
    daylight_without_place: "driver: \"soil\"" => "driver: \"soil\", daylight: true";
    impossible_place: "name: \"Home farm\"," => "name: \"Home farm\", latitude_deg: 522.0,";
    season_backwards: "name: \"Home farm\"," => "name: \"Home farm\", last_day: \"2024-12-31\",";
    own_message: "farm(#{" => "throw \"the drill is too wide\";\nfarm(#{";
    own_verb: "farm(#{" => "fn machine(a, b) { 1 }\nfarm(#{";
    imported: "farm(#{" => "import \"other\" as other;\nfarm(#{";
    closure: "farm(#{" => "let f = |x| x;\nfarm(#{";
    key_twice: "area_ha: 12.0" => "area_ha: 12.0, area_ha: 13.0";

    two_ways: "machines: [\"tractor\", \"drill\"]" => "machines: [\"tractor\"], units: [[\"drill\"]]";
    unknown_stage: MOVED => "from: \"09-20\",\n    due: \"10-15\",\n    moves_with: \"emergance\",\n});\nfarm(#{\n    name: \"Home farm\",\n    suitable_days: days, stages: [stage(\"emergence\", #{ normally: \"10-01\" })],";
    no_stages: MOVED => "from: \"09-20\",\n    due: \"10-15\",\n    moves_with: \"emergence\",\n});\nfarm(#{\n    name: \"Home farm\",\n    suitable_days: days,";
    two_stages_of_one_name: MOVED => "from: \"09-20\",\n    due: \"10-15\",\n    moves_with: \"emergence\",\n});\nfarm(#{\n    name: \"Home farm\",\n    suitable_days: days, stages: [stage(\"emergence\", #{ normally: \"10-01\" }), stage(\"emergence\", #{ normally: \"10-01\" })],";
    stage_before_its_warmth: MOVED => "from: \"09-20\",\n    due: \"10-15\",\n    moves_with: \"emergence\",\n});\nfarm(#{\n    name: \"Home farm\",\n    suitable_days: days, stages: [stage(\"emergence\", #{ normally: \"10-01\", from: \"10-01\" })],";
    stage_of_wild_years: MOVED => "from: \"09-20\",\n    due: \"10-15\",\n    moves_with: \"emergence\",\n});\nfarm(#{\n    name: \"Home farm\",\n    suitable_days: days, stages: [stage(\"emergence\", #{ normally: \"10-01\", sd_days: 60 })],";
    stage_for_days_after: MOVED => "from: \"09-20\",\n    due: \"10-15\",\n});\nlet rolling = operation(\"rolling\", #{\n    class: \"drilling\", outfits: \"drilling\", moves_with: \"emergence\",\n    from: days_after(\"drilling\", 0), due: days_after(\"drilling\", 3),\n});\ndrilling = [drilling, rolling];\nfarm(#{\n    name: \"Home farm\",\n    suitable_days: days, stages: [stage(\"emergence\", #{ normally: \"10-01\" })],";
}

#[test]
fn every_mistake_says_what_where_and_how_to_mend_it() {
    assert_eq!(of(BASE, &[]), "no mistake");
    let mut all = String::new();
    for (name, right, wrong) in MISTAKES {
        all += &format!("---- {name}\n{}\n\n", shown(right, wrong));
    }
    insta::assert_snapshot!(all);
}
