//! The program as tests of its commands call it: away from a terminal, with what it says and writes.

// Each test takes what it needs.
#![allow(dead_code)]

use assert_cmd::Command;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::Output;

/// What a command gives, given these arguments.
pub(crate) fn output(name: &str, args: &[&str]) -> Output {
    let mut command = Command::cargo_bin("dryspell-under-test").unwrap();
    command.env_remove("CLICOLOR_FORCE").arg(name).args(args).output().unwrap()
}

/// The path of a farm that comes with the program.
pub(crate) fn scenario(name: &str) -> String {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../scenarios").join(name);
    path.canonicalize().unwrap().display().to_string()
}

/// Exit status, standard output and error as one text.
pub(crate) fn told(name: &str, args: &[&str]) -> String {
    let output = output(name, args);
    let status = output.status.code().unwrap();
    let [out, error] = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).unwrap());
    format!("status {status}\n{out}{error}").replace(&scenario(""), "[scenarios]")
}

/// What the files of a folder hold, by name.
pub(crate) fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let files = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap());
    files.map(|file| (file.file_name().into_string().unwrap(), fs::read(file.path()).unwrap())).collect()
}

/// A row of a table, by column.
pub(crate) type Row = BTreeMap<String, String>;

/// The rows of a table.
pub(crate) fn rows(bytes: &[u8]) -> Vec<Row> {
    csv::Reader::from_reader(bytes).deserialize().map(Result::unwrap).collect()
}

/// The number in a column.
pub(crate) fn number(row: &Row, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|_| panic!("{column}: {}", row[column]))
}
