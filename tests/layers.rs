//! The model's layers: kernel <- weather <- farm <- season <- study, and no other arrow.
//!
//! Reads the text of sim-core, comments and documentation included (a lower layer has nothing to say of a higher
//! one), for paths that begin at the crate's root: `crate::`, `sim_core::`, and chains of `super::` that climb that
//! far.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Lowest first; each may use itself and those before it.
const LAYERS: [&str; 5] = ["kernel", "weather", "farm", "season", "study"];

/// A path from one layer to another.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
struct Arrow {
    from: String,
    to: String,
}

impl Arrow {
    fn is_drawn(&self) -> bool {
        let place = |layer: &str| LAYERS.iter().position(|known| *known == layer);
        matches!((place(&self.from), place(&self.to)), (Some(from), Some(to)) if to <= from)
    }
}

fn is_name(letter: char) -> bool {
    letter.is_alphanumeric() || letter == '_'
}

/// The first names of what comes after `crate::`: one, or those of a group in braces.
fn first_names(rest: &str) -> Vec<&str> {
    let word = |text: &str| text.trim_start().chars().take_while(|letter| is_name(*letter)).count();
    let Some(group) = rest.trim_start().strip_prefix('{') else {
        let rest = rest.trim_start();
        return vec![&rest[..word(rest)]];
    };
    let mut names = Vec::new();
    let (mut depth, mut start) = (0, true);
    for (at, letter) in group.char_indices() {
        match letter {
            '{' => depth += 1,
            '}' if depth == 0 => break,
            '}' => depth -= 1,
            ',' if depth == 0 => start = true,
            _ if start && is_name(letter) => {
                names.push(&group[at..at + word(&group[at..])]);
                start = false;
            }
            _ => {}
        }
    }
    names
}

/// The arrows of one file of `layer`; `depth` is how many `super` lead from its own module to the crate's root.
fn arrows(layer: &str, depth: usize, text: &str) -> BTreeSet<Arrow> {
    let mut found = BTreeSet::new();
    let mut add = |rest: &str| {
        for name in first_names(rest) {
            if LAYERS.contains(&name) {
                found.insert(Arrow { from: layer.to_owned(), to: name.to_owned() });
            }
        }
    };
    for root in ["crate::", "sim_core::"] {
        for (at, _) in text.match_indices(root) {
            if !text[..at].ends_with(is_name) {
                add(&text[at + root.len()..]);
            }
        }
    }
    // Modules inside a file lie deeper than the file, so longer chains are looked at too.
    let climb = "super::".repeat(depth);
    for (at, _) in text.match_indices(&climb) {
        let mut rest = &text[at + climb.len()..];
        while let Some(further) = rest.strip_prefix("super::") {
            rest = further;
        }
        add(rest);
    }
    found
}

fn rust_files(folder: &Path) -> Vec<PathBuf> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files.extend(rust_files(&path));
        } else if path.extension().is_some_and(|end| end == "rs") {
            files.push(path);
        }
    }
    files.sort();
    files
}

#[test]
fn no_arrow_but_those_drawn() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("../sim-core/src");
    let mut wrong = Vec::new();
    let mut seen = BTreeSet::new();
    for file in rust_files(&source) {
        let inside = file.strip_prefix(&source).unwrap();
        let parts: Vec<&str> = inside.iter().map(|part| part.to_str().unwrap()).collect();
        if parts == ["lib.rs"] {
            continue;
        }
        let layer = parts[0].trim_end_matches(".rs");
        assert!(LAYERS.contains(&layer), "{} is in no layer", inside.display());
        let own_module = usize::from(parts[parts.len() - 1] != "mod.rs");
        let depth = parts.len() - 1 + own_module;
        for arrow in arrows(layer, depth, &fs::read_to_string(&file).unwrap()) {
            if !arrow.is_drawn() {
                wrong.push(format!("{}: {} uses {}", inside.display(), arrow.from, arrow.to));
            }
            seen.insert(arrow);
        }
    }
    assert!(wrong.is_empty(), "arrows that are not drawn:\n{}", wrong.join("\n"));
    // Reading nothing would find nothing wrong: these are known to be there.
    for (from, to) in [("weather", "kernel"), ("farm", "weather"), ("season", "farm"), ("season", "kernel")] {
        let arrow = Arrow { from: from.into(), to: to.into() };
        assert!(seen.contains(&arrow), "{from} was not seen to use {to}");
    }
}

#[test]
fn an_arrow_is_seen_however_it_is_written() {
    for text in [
        "use crate::season::Plan;",
        "use crate::{kernel::Agenda, season::{Plan, DAY}};",
        "use crate::{\n    farm::{Farm, Row},\n    season,\n};",
        "fn f(plan: &crate::season::Plan) {}",
        "//! See [`Plan`](crate::season::Plan).",
        "use super::super::season::Plan;",
        "mod tests { use super::super::super::season::Plan; }",
        "/// use sim_core::season::Plan;",
    ] {
        let found = arrows("weather", 2, text);
        assert!(found.iter().any(|arrow| arrow.to == "season" && !arrow.is_drawn()), "not seen: {text}");
    }
    assert_eq!(arrows("season", 2, "use crate::farm::spec::season; use super::season;").len(), 1);
    assert!(arrows("season", 2, "use crate::farm::Farm;").iter().all(Arrow::is_drawn));
}
