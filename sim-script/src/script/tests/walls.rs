//! What a script cannot do: read what is not its own, run for ever, fill the memory, or bring the program down.

use super::super::*;
use std::fs;

const BASE: &str = include_str!("base.rhai");

fn told(text: &str) -> String {
    match Script::embedded("t.rhai", text, &[]).evaluate(&[]) {
        Ok(evaluated) => evaluated.farm.name,
        Err(error) => error.to_string(),
    }
}

#[test]
fn files_outside_the_folder_stay_outside() {
    let root = tempfile::tempdir().unwrap();
    let inside = root.path().join("farm");
    fs::create_dir_all(inside.join("tables")).unwrap();
    let table = "class,soil,from,to,p_suitable\ndrilling,any,01-01,12-31,0.5\n";
    let secret = root.path().join("secret.csv");
    for file in [&inside.join("days.csv"), &inside.join("tables/days.csv"), &secret] {
        fs::write(file, table).unwrap();
    }
    #[cfg(unix)]
    std::os::unix::fs::symlink(&secret, inside.join("link.csv")).unwrap();
    let read = |name: &str| {
        let row = "suitable(#{ class: \"drilling\", p_suitable: 0.5 })";
        let text = BASE.replace(row, &format!("suitable_days({name:?})"));
        let path = inside.join("farm.rhai");
        fs::write(&path, text).unwrap();
        Script::from_file(&path).unwrap().farm(&[]).map(|_| ()).map_err(|error| error.message().to_string())
    };
    assert_eq!(read("days.csv"), Ok(()));
    assert_eq!(read("./tables/days.csv"), Ok(()));
    let absolute = secret.display().to_string();
    for outside in
        ["../secret.csv", "tables/../../secret.csv", absolute.as_str(), "C:\\secret.csv", "..\\secret.csv"]
    {
        assert!(read(outside).unwrap_err().ends_with("is outside the script's folder"), "{outside}");
    }
    #[cfg(unix)]
    assert_eq!(read("link.csv").unwrap_err(), "\"link.csv\" leads out of the script's folder");
    assert_eq!(read("tables").unwrap_err(), "\"tables\" is not a file");
    assert_eq!(read("no.csv").unwrap_err(), "there is no file \"no.csv\"");
}

#[test]
fn scripts_that_cannot_be_read_say_so() {
    let root = tempfile::tempdir().unwrap();
    let path = root.path().join("farm.rhai");
    let message = || {
        Script::from_file(&path).map(|_| ()).unwrap_err().message().replace(&path.display().to_string(), "F")
    };
    assert!(message().starts_with("\"F\" cannot be read"), "{}", message());
    fs::write(&path, b"farm(#{\n name: \"\xff\" })").unwrap();
    assert_eq!(message(), "\"F\" is not UTF-8 text: see line 2");
    fs::write(&path, vec![b' '; (4 << 20) + 1]).unwrap();
    assert_eq!(message(), "\"F\" has 4 MiB; a script or a table may have 4");
}

#[test]
fn clock_chance_and_files_are_out_of_reach() {
    for call in [
        "timestamp()",
        "sleep(1)",
        "rand()",
        "open_file(\"x\")",
        "eval(\"1\")",
        "Fn(\"machine\")",
        "exit()",
        "parse_json(\"1\")",
        "blob(9)",
    ] {
        let told = told(&format!("{call};\n{BASE}"));
        assert!(told.starts_with("error: "), "{call}: {told}");
    }
    assert_eq!(told(&format!("print(\"x\"); debug(1);\n{BASE}")), "Home farm");
}

#[test]
fn what_is_nested_too_deeply_is_refused() {
    let many = 20_000;
    for (open, close) in [
        ("(", ")"),
        ("[", "]"),
        ("#{a:", "}"),
        ("{", "}"),
        ("-", ""),
        ("!", ""),
        ("x(", ")"),
        ("if true {", "}"),
        ("1+", ""),
        ("1+(", ")"),
        ("a.", ""),
        ("a[", "]"),
        ("fn f() {", "}"),
        ("\"a\"+", ""),
        ("`${", "}`"),
        ("if a {} else ", ""),
        ("a = ", ""),
        ("true && ", ""),
        ("2**", ""),
        ("/*", "*/"),
        ("1 ?? ", ""),
        ("a?.", ""),
        ("switch 1 { 1 => ", "}"),
        ("loop ", ""),
        ("while true ", ""),
        ("return ", ""),
        ("let a = ", ""),
        ("a::", ""),
    ] {
        let told = told(&format!("{}1{}", open.repeat(many), close.repeat(many)));
        assert!(told.starts_with("error: "), "{open}");
    }
    for loops in [
        "let a = []; for n in 0..4900 { a = [a]; }",
        "let a = #{}; for n in 0..490 { a = #{ a: a }; }",
        "fn f(n) { ((((((((((((f(n + 1))))))))))))) } f(1);",
        "fn f(n) { [[[[[[[[[f([n])]]]]]]]]] } f(1);",
    ] {
        let told = told(&format!("{loops}\n{BASE}"));
        assert!(told == "Home farm" || told.starts_with("error: "), "{loops}: {told}");
    }
}

/// The next number of a fixed series.
fn next(state: &mut u64) -> usize {
    *state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
    (*state >> 33) as usize
}

#[test]
fn no_text_brings_the_program_down() {
    let scenario = include_str!("../../../../scenarios/new-farm/farm.rhai");
    let pieces = [
        "\"",
        "'",
        "`",
        "${",
        "#{",
        "}",
        "(",
        ")",
        "[",
        "]",
        ",",
        ":",
        ";",
        "=",
        "/",
        "-",
        ".",
        "//",
        "/*",
        "*/",
        "\n",
        "é",
        "\u{0}",
        "\u{202e}",
        "0x",
        "1e999",
        "9999999999999999999",
        "let",
        "fn",
        "|x|",
        "farm",
        "param(",
        "\\",
        "..",
        "#\"",
    ];
    let mut state = 1;
    for round in 0..400 {
        let whole = if round % 2 == 0 { BASE } else { scenario };
        let mut text: Vec<char> = whole.chars().collect();
        for _ in 0..=next(&mut state) % 3 {
            let at = next(&mut state) % text.len();
            let end = (at + next(&mut state) % 30).min(text.len());
            let piece = pieces[next(&mut state) % pieces.len()];
            match next(&mut state) % 4 {
                0 => drop(text.drain(at..end)),
                1 => drop(text.splice(at..at, piece.chars())),
                2 => drop(text.splice(at..end, piece.chars())),
                _ => {
                    let copy: Vec<char> = text[at..end].to_vec();
                    let to = next(&mut state) % text.len();
                    drop(text.splice(to..to, copy));
                }
            }
        }
        let text: String = text.into_iter().collect();
        if let Err(error) = Script::embedded("t.rhai", &text, &[("days.csv", "class\n")]).farm(&[]) {
            assert!(!error.message().is_empty() && error.to_string().starts_with("error: "));
        }
    }
    for _ in 0..400 {
        let soup: String =
            (0..next(&mut state) % 40).map(|_| pieces[next(&mut state) % pieces.len()]).collect();
        assert!(told(&soup).starts_with("error: "), "{soup}");
    }
}

#[test]
fn broken_tables_are_refused() {
    let mut state = 7;
    let table = "class,soil,from,to,p_suitable\n# remark\ndrilling,\"any\",01-01,12-31,0.5\n";
    for _ in 0..300 {
        let mut bytes = table.as_bytes().to_vec();
        for _ in 0..=next(&mut state) % 3 {
            let at = next(&mut state) % bytes.len();
            bytes[at] = b"\",\n#x0- \r\t"[next(&mut state) % 10];
        }
        let text = String::from_utf8(bytes).unwrap();
        let source = Arc::new(Source::new("days.csv", text));
        if let Err(error) = csv_rows::suitable(&source, |_| sim_core::farm::spec::Origin(0)) {
            assert!(error.to_string().starts_with("error: ") && error.place().is_some());
        }
    }
}
