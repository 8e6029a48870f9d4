//! The README shows what the program says: every line of its excerpt comes from the program as it is now.

use assert_cmd::Command;

/// The lines between ```text and ``` that follow a heading.
fn excerpt() -> Vec<String> {
    let readme = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../README.md")).unwrap();
    let block = readme.split("```text\n").nth(1).unwrap().split("```").next().unwrap();
    block.lines().filter(|line| *line != "...").map(str::to_owned).collect()
}

fn run(arguments: &[&str]) -> String {
    let output =
        Command::cargo_bin("dryspell-under-test").unwrap().arg("run").args(arguments).output().unwrap();
    assert!(output.status.success());
    String::from_utf8(output.stdout).unwrap()
}

/// The commands of the README that vary parameters, over a few seasons.
#[test]
fn the_sweep_and_the_screening_run_as_they_stand() {
    let readme = std::fs::read_to_string(concat!(env!("CARGO_MANIFEST_DIR"), "/../README.md")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    for (name, table) in [("sweep", "sweep/sweep.csv"), ("sensitivity", "")] {
        let begins = format!("cargo run --release -- {name}");
        let line = readme.lines().find_map(|line| line.strip_prefix(&begins)).unwrap();
        let output = Command::cargo_bin("dryspell-under-test")
            .unwrap()
            .current_dir(folder.path())
            .arg(name)
            .args(line.split_whitespace())
            .args(["--seasons", "10"])
            .output()
            .unwrap();
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        assert!(folder.path().join(table).exists());
    }
}

#[test]
fn the_excerpt_is_what_the_program_prints() {
    let printed = run(&[]);
    let lines: Vec<&str> = printed.lines().collect();
    let excerpt = excerpt();
    assert!(excerpt.len() > 10);
    for line in excerpt {
        assert!(lines.contains(&line.as_str()), "not printed any more: {line}\n{printed}");
    }
    let wide = run(&["--set", "drill_width_m=6"]);
    let line = wide.lines().find(|line| line.starts_with("drilling, spring barley")).unwrap();
    for words in ["3 years in 10", "32-34 %", "16 Apr"] {
        assert!(line.contains(words), "the README says {words}: {line}");
    }
}
