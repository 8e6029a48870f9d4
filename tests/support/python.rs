//! Finds the Python of the checks and talks to a script in JSON. A check that needs it and does not find it fails.

use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::{env, thread};

fn interpreter() -> PathBuf {
    let from_venv = || Path::new(env!("CARGO_MANIFEST_DIR")).join(".venv/bin/python");
    let python = env::var_os("DRYSPELL_PYTHON").map_or_else(from_venv, PathBuf::from);
    assert!(
        python.exists(),
        "no Python at {}: run tests/all-checks.sh once, which makes tests/.venv from tests/requirements.txt, or name \
         an interpreter that has those packages in DRYSPELL_PYTHON",
        python.display()
    );
    python
}

/// Gives a script of this folder a value on its standard input and returns what it says on its standard output.
pub(crate) fn ask(script: &str, question: &serde_json::Value) -> serde_json::Value {
    let mut child = Command::new(interpreter())
        .arg(Path::new(env!("CARGO_MANIFEST_DIR")).join(script))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap_or_else(|error| panic!("{script} cannot be started: {error}"));
    let mut input = child.stdin.take().unwrap();
    let text = question.to_string();
    let writer = thread::spawn(move || input.write_all(text.as_bytes()));
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success(), "{script} failed ({}); its own words are above", output.status);
    writer.join().unwrap().unwrap_or_else(|error| panic!("{script} did not read its input: {error}"));
    serde_json::from_slice(&output.stdout)
        .unwrap_or_else(|error| panic!("{script} did not answer in JSON: {error}"))
}
