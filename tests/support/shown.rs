//! What a page shows of what the program says: runs it, compares line by line, and writes the excerpt anew.
//!
//! An excerpt has the program's lines in their order; `...` on a line of its own stands for lines left out.

use std::path::Path;
use std::process::Command;

use assert_cmd::cargo::CommandCargoExt as _;

/// Stands for lines left out.
const CUT: &str = "...";
/// Two lines are not taken for the same line with other figures when they are less alike than this, of 1.
const LEAST_ALIKE: f64 = 0.6;
/// What a line loses for standing a line further from where it is looked for, and the most it loses.
const FARTHER: (f64, f64) = (0.001, 0.2);

/// What the program prints, given these arguments in this folder: standard output, then standard error.
pub(crate) fn printed(arguments: &[String], folder: &Path) -> String {
    let mut command = Command::cargo_bin("dryspell-under-test").unwrap();
    command.args(arguments).current_dir(folder).env_remove("CLICOLOR_FORCE").env_remove("COLUMNS");
    let output = command.output().unwrap();
    [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap()).concat()
}

/// Whether an excerpt is of this text.
///
/// # Errors
/// The first line that does not stand where it should.
pub(crate) fn is_of(shown: &[String], printed: &str) -> Result<(), String> {
    let lines: Vec<&str> = printed.lines().collect();
    let mut at = 0;
    for (index, part) in shown.split(|line| line == CUT).enumerate() {
        if part.is_empty() {
            continue;
        }
        // The first part begins where the text begins; after a cut, wherever the lines stand.
        let starts = if index == 0 { 0..=0 } else { at..=lines.len() };
        let found = starts.into_iter().find(|start| lines[*start..].iter().take(part.len()).eq(part.iter()));
        let Some(found) = found else {
            let missing = part.iter().find(|line| !lines[at..].contains(&line.as_str())).unwrap_or(&part[0]);
            return Err(format!("not printed there any more: {missing}"));
        };
        at = found + part.len();
    }
    let cut_at_end = shown.last().is_some_and(|line| line == CUT);
    if cut_at_end || at == lines.len() { Ok(()) } else { Err(format!("also printed: {}", lines[at])) }
}

/// The same excerpt of a text whose figures have changed: the lines most like those shown, with cuts between;
/// all of the text where no line is shown.
///
/// # Errors
/// A line that has none like it any more.
pub(crate) fn renewed(shown: &[String], printed: &str) -> Result<Vec<String>, String> {
    let lines: Vec<&str> = printed.lines().collect();
    if shown.is_empty() {
        return Ok(lines.into_iter().map(str::to_owned).collect());
    }
    let shapes: Vec<String> = lines.iter().map(|line| shape(line)).collect();
    let mut chosen: Vec<usize> = Vec::new();
    for line in shown.iter().filter(|line| *line != CUT) {
        let (wanted, expected) = (shape(line), chosen.last().map_or(0, |last| last + 1));
        let worth = |at: usize| {
            let same = if lines[at] == line { 0.02 } else { 0.0 };
            let away = (FARTHER.0 * at.abs_diff(expected) as f64).min(FARTHER.1);
            strsim::normalized_levenshtein(&wanted, &shapes[at]) + same - away
        };
        let free = (0..lines.len()).filter(|at| !chosen.contains(at));
        match free.max_by(|one, other| worth(*one).total_cmp(&worth(*other)).then(other.cmp(one))) {
            Some(at) if strsim::normalized_levenshtein(&wanted, &shapes[at]) >= LEAST_ALIKE => {
                chosen.push(at)
            }
            _ => return Err(format!("nothing like it is printed any more; take it out of the page: {line}")),
        }
    }
    chosen.sort_unstable();
    let mut text = Vec::new();
    let mut at = 0;
    for line in chosen {
        if line > at {
            text.push(CUT.to_string());
        }
        text.push(lines[line].to_string());
        at = line + 1;
    }
    if at < lines.len() {
        text.push(CUT.to_string());
    }
    Ok(text)
}

/// A line without its figures and its widths.
fn shape(line: &str) -> String {
    let mut shape = String::new();
    for letter in line.trim_end().chars() {
        let letter = if letter.is_ascii_digit() { '#' } else { letter };
        if !(matches!(letter, '#' | ' ' | '-') && shape.ends_with(letter)) {
            shape.push(letter);
        }
    }
    shape
}
