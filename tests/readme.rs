//! The README shows what the program says: every line of its excerpt comes from the program as it is now.

#[path = "support/shown.rs"]
#[allow(dead_code, reason = "the README's excerpt is not written anew")]
mod shown;

use std::path::Path;

fn repository() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/.."))
}

/// The lines between ```text and ``` that follow a heading.
fn excerpt() -> Vec<String> {
    let readme = std::fs::read_to_string(repository().join("README.md")).unwrap();
    let block = readme.split("```text\n").nth(1).unwrap().split("```").next().unwrap();
    block.lines().map(str::to_owned).chain(["...".into()]).collect()
}

#[test]
fn the_excerpt_of_relief_is_what_the_program_prints() {
    let readme = std::fs::read_to_string(repository().join("README.md")).unwrap();
    let part = readme.split("## Which one step helps most").nth(1).unwrap();
    let block = part.split("```text\n").nth(1).unwrap().split("```").next().unwrap();
    let excerpt: Vec<String> = ["..."].into_iter().chain(block.lines()).map(str::to_owned).collect();
    assert!(excerpt.len() > 15);
    let arguments = ["relief", "--seasons", "500"].map(str::to_owned);
    let printed = shown::printed(&arguments, repository());
    shown::is_of(&excerpt, &printed).unwrap_or_else(|why| panic!("{why}\n{printed}"));
}

/// The commands of the README that go by a diary: the year's excerpt is what is printed, and the other two run.
#[test]
fn the_excerpt_of_a_year_is_what_the_program_prints() {
    let readme = std::fs::read_to_string(repository().join("README.md")).unwrap();
    let part = readme.split("## Against your own year, and from today on").nth(1).unwrap();
    let commands: Vec<Vec<String>> = part
        .lines()
        .filter_map(|line| line.strip_prefix("cargo run --release -- "))
        .take(3)
        .map(|line| line.split_whitespace().map(str::to_owned).collect())
        .collect();
    let block = part.split("```text\n").nth(1).unwrap().split("```").next().unwrap();
    let excerpt: Vec<String> =
        ["..."].into_iter().chain(block.lines()).chain(["..."]).map(str::to_owned).collect();
    assert!(excerpt.len() > 8);
    let printed = shown::printed(&commands[0], repository());
    shown::is_of(&excerpt, &printed).unwrap_or_else(|why| panic!("{why}\n{printed}"));
    for command in &commands[1..] {
        let few = command.iter().cloned().chain(["--seasons".into(), "20".into()]);
        let printed = shown::printed(&few.collect::<Vec<_>>(), repository());
        assert!(
            printed.contains("From 10 Oct on") && printed.contains("drilling, winter wheat: 34 of 124 ha"),
            "{printed}"
        );
    }
}

fn run(arguments: &[&str]) -> String {
    let arguments: Vec<String> = ["run"].iter().chain(arguments).map(ToString::to_string).collect();
    shown::printed(&arguments, repository())
}

/// The commands of the README that vary parameters, over a few seasons.
#[test]
fn the_sweep_and_the_screening_run_as_they_stand() {
    let readme = std::fs::read_to_string(repository().join("README.md")).unwrap();
    let folder = tempfile::tempdir().unwrap();
    for (name, table) in [("sweep", "sweep/sweep.csv"), ("sensitivity", "")] {
        let begins = format!("cargo run --release -- {name}");
        let line = readme.lines().find_map(|line| line.strip_prefix(&begins)).unwrap();
        let arguments = [name].into_iter().chain(line.split_whitespace()).chain(["--seasons", "10"]);
        let printed = shown::printed(&arguments.map(str::to_owned).collect::<Vec<_>>(), folder.path());
        assert!(printed.contains("drill_width_m"), "{printed}");
        assert!(folder.path().join(table).exists());
    }
}

#[test]
fn the_excerpt_is_what_the_program_prints() {
    let excerpt = excerpt();
    assert!(excerpt.len() > 10);
    let printed = run(&[]);
    shown::is_of(&excerpt, &printed).unwrap_or_else(|why| panic!("{why}\n{printed}"));
    let wide = run(&["--set", "drill_width_m=6"]);
    let line = wide.lines().find(|line| line.starts_with("drilling, spring barley")).unwrap();
    for words in ["3 years in 10", "32-34 %", "16 Apr"] {
        assert!(line.contains(words), "the README says {words}: {line}");
    }
}
