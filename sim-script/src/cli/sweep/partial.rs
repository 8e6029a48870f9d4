//! sweep.partial: what a sweep has come to so far, value by value, so that one that was stopped goes on where it was.
//!
//! The first line says what was asked for, each other one holds the rows of a value with a checksum of its own. A line
//! is written whole and brought to the disk before the next value is begun; one that was cut off or damaged is as if it
//! were not there.

use crate::cli::Failure;
use crate::tables::{OutError, OutFolder, hex};
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use std::fs::{File, OpenOptions, TryLockError};
use std::io::{self, Read as _, Seek as _, SeekFrom, Write as _};
use std::path::PathBuf;

/// Its name.
pub(super) const NAME: &str = "sweep.partial";

/// What the values hang on: two sweeps with the same request give the same bytes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Request {
    /// The program with its version.
    pub(super) program: String,
    /// SHA-256 of the script's text.
    pub(super) script_sha256: String,
    /// The files that the script reads, at any value, with the SHA-256 of their texts.
    pub(super) files: Vec<(String, String)>,
    /// The parameters of the farm as it is, with their values.
    pub(super) parameters: Vec<(String, String)>,
    /// What is swept over.
    pub(super) swept: Vec<(String, Vec<String>)>,
    pub(super) seasons: u64,
    pub(super) seed: u64,
}

impl Request {
    /// In what another is not the same, in words.
    fn differs(&self, before: &Self) -> Vec<String> {
        let mut words = Vec::new();
        let mut differ = |what: String, before: &str, now: &str| {
            if before != now {
                words.push(format!("{what} {before}, not {now}"));
            }
        };
        differ("it was begun by".into(), &before.program, &self.program);
        differ("its seed was".into(), &before.seed.to_string(), &self.seed.to_string());
        differ("it had seasons:".into(), &before.seasons.to_string(), &self.seasons.to_string());
        let swept = |request: &Self| {
            let texts = request.swept.iter().map(|(name, values)| match values.as_slice() {
                [first, .., last] if values.len() > 6 => {
                    format!("{name} ({} values, {first} to {last})", values.len())
                }
                _ => format!("{name}={}", values.join(",")),
            });
            texts.collect::<Vec<_>>().join(" ")
        };
        if self.swept != before.swept {
            let (before, now) = (swept(before), swept(self));
            words.push(if before == now {
                "it swept over other values".into()
            } else {
                format!("it swept over {before}, not {now}")
            });
        }
        for (name, value) in &before.parameters {
            if let Some((_, now)) = self.parameters.iter().find(|(other, _)| other == name)
                && now != value
            {
                words.push(format!("{name} was {value}, not {now}"));
            }
        }
        if self.script_sha256 != before.script_sha256 {
            words.push("the script has another text".into());
        }
        for (name, sha256) in &before.files {
            match self.files.iter().find(|(other, _)| other == name) {
                Some((_, now)) if now == sha256 => {}
                Some(_) => words.push(format!("{name} has other contents")),
                None => words.push(format!("{name} was read then")),
            }
        }
        for (name, _) in &self.files {
            if !before.files.iter().any(|(other, _)| other == name) {
                words.push(format!("{name} was not read then"));
            }
        }
        if words.is_empty() {
            words.push("the script's parameters are others".into());
        }
        words
    }
}

/// A value that is done.
#[derive(Debug, Serialize, Deserialize)]
struct Line {
    /// Its number, from 0.
    value: usize,
    /// Its rows as they stand in sweep.csv.
    rows: String,
    /// SHA-256 of number and rows.
    sha256: String,
}

impl Line {
    fn new(value: usize, rows: &str) -> Self {
        Self { value, rows: rows.into(), sha256: checksum(value, rows) }
    }

    /// The number and rows of a line that is whole.
    fn read(text: &[u8], values: usize) -> Option<(usize, String)> {
        let line: Self = serde_json::from_slice(text).ok()?;
        let whole = line.value < values && line.sha256 == checksum(line.value, &line.rows);
        whole.then_some((line.value, line.rows))
    }
}

fn checksum(value: usize, rows: &str) -> String {
    hex(&Sha256::digest(format!("{value}\n{rows}")))
}

/// The file, to which what is done is added.
#[derive(Debug)]
pub(super) struct Partial {
    path: PathBuf,
    file: File,
}

/// What an earlier sweep has left.
#[derive(Debug, Default)]
pub(super) struct Found {
    /// The rows of each value that is done.
    pub(super) done: Vec<Option<String>>,
    /// Lines that cannot be read: cut off when the program was ended, or damaged since.
    pub(super) damaged: usize,
}

impl Partial {
    /// Opens the file in a folder for a request over so many values, or begins it.
    pub(super) fn open(out: &OutFolder, request: &Request, values: usize) -> Result<(Self, Found), Failure> {
        let path = out.path().join(NAME);
        let shown = path.display().to_string();
        let refused = |error: io::Error| Failure::Out(OutError::File { path: shown.clone(), error });
        let opened = OpenOptions::new().read(true).write(true).create(true).truncate(false).open(&path);
        let mut file = opened.map_err(refused)?;
        match file.try_lock() {
            Err(TryLockError::WouldBlock) => {
                return Err(Failure::Request(format!(
                    "another sweep is at work in {}\nWait for it, or name another folder with --out.",
                    out.path().display()
                )));
            }
            // Where files cannot be locked, one sweep at a time is the user's care.
            Err(TryLockError::Error(_)) | Ok(()) => {}
        }
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).map_err(refused)?;
        let mut found = Found { done: vec![None; values], damaged: 0 };
        let mut lines = bytes.split_inclusive(|byte| *byte == b'\n');
        let Some(first) = lines.next().filter(|_| !only_begun(&bytes)) else {
            file.set_len(0).and_then(|()| file.seek(SeekFrom::Start(0))).map_err(refused)?;
            let mut partial = Self { path, file };
            let text = serde_json::to_string(request).map_err(io::Error::from).map_err(refused)?;
            partial.add(&text).map_err(refused)?;
            return Ok((partial, found));
        };
        let anew = format!(
            "To begin anew delete {shown}, or name another folder with --out; to go on with the old one ask for the same as then."
        );
        let before: Request = serde_json::from_slice(first).map_err(|_| {
            Failure::Request(format!(
                "the first line of {shown} cannot be read, which says what was swept\n{anew}"
            ))
        })?;
        if before != *request {
            let words = request.differs(&before).join("; ");
            return Err(Failure::Request(format!(
                "{shown} holds what another sweep came to before it was stopped: {words}\n{anew}"
            )));
        }
        for line in lines {
            match Line::read(line, values) {
                Some((value, rows)) => found.done[value] = Some(rows),
                None => found.damaged += 1,
            }
        }
        // What is added must not go on a line that was cut off.
        file.seek(SeekFrom::End(0)).map_err(refused)?;
        if bytes.last() != Some(&b'\n') {
            file.write_all(b"\n").map_err(refused)?;
        }
        Ok((Self { path, file }, found))
    }

    /// Adds a value that is done.
    pub(super) fn keep(&mut self, value: usize, rows: &str) -> Result<(), Failure> {
        let text = serde_json::to_string(&Line::new(value, rows)).map_err(io::Error::from);
        text.and_then(|text| self.add(&text)).map_err(|error| self.failed(error))
    }

    fn add(&mut self, line: &str) -> io::Result<()> {
        self.file.write_all(format!("{line}\n").as_bytes())?;
        self.file.sync_data()
    }

    /// Takes the file away: the sweep is whole.
    pub(super) fn remove(self) -> Result<(), Failure> {
        std::fs::remove_file(&self.path).map_err(|error| self.failed(error))
    }

    fn failed(&self, error: io::Error) -> Failure {
        Failure::Write(OutError::File { path: self.path.display().to_string(), error })
    }
}

impl Drop for Partial {
    fn drop(&mut self) {
        // Closing the file would do, unless a process that was begun meanwhile has it still open. If it cannot be
        // freed, it is when the program ends.
        let _ = self.file.unlock();
    }
}

/// Whether a file holds no more than the beginning of its first line: nothing was done yet.
fn only_begun(bytes: &[u8]) -> bool {
    !bytes.contains(&b'\n')
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs;

    fn request() -> Request {
        Request {
            program: "dryspell 0.1.0".into(),
            script_sha256: "aa".into(),
            files: vec![("days.csv".into(), "bb".into())],
            parameters: vec![("width_m".into(), "4.0".into()), ("count".into(), "2".into())],
            swept: vec![("width_m".into(), vec!["3".into(), "6".into()])],
            seasons: 100,
            seed: 1,
        }
    }

    fn open(folder: &std::path::Path, request: &Request) -> Result<(Partial, Found), Failure> {
        Partial::open(&OutFolder::open(folder).unwrap(), request, 2)
    }

    #[test]
    fn what_was_done_is_found_and_what_was_cut_off_is_not() {
        let folder = tempfile::tempdir().unwrap();
        let (mut partial, found) = open(folder.path(), &request()).unwrap();
        assert_eq!((found.done, found.damaged), (vec![None, None], 0));
        partial.keep(1, "a,b\n").unwrap();
        partial.keep(0, "c,\"d\n\"\n").unwrap();
        drop(partial);
        let path = folder.path().join(NAME);
        let whole = fs::read(&path).unwrap();
        for cut in (1..=whole.len()).rev() {
            fs::write(&path, &whole[..cut]).unwrap();
            let (mut partial, found) = open(folder.path(), &request()).unwrap();
            let lines = whole[..cut].split(|byte| *byte == b'\n').count() - 1;
            // The last line is whole also without its end.
            let done = found.done.iter().flatten().count();
            assert!(done + 1 == lines || done == lines || lines == 0, "{cut}: {done} of {lines}");
            partial.keep(0, "c,\"d\n\"\n").unwrap();
            drop(partial);
            let (_, found) = open(folder.path(), &request()).unwrap();
            assert_eq!(found.done[0].as_deref(), Some("c,\"d\n\"\n"), "{cut}");
        }
    }

    #[test]
    fn a_damaged_byte_costs_its_own_line_alone() {
        let folder = tempfile::tempdir().unwrap();
        let (mut partial, _) = open(folder.path(), &request()).unwrap();
        partial.keep(0, "a,b\n").unwrap();
        partial.keep(1, "c,d\n").unwrap();
        drop(partial);
        let path = folder.path().join(NAME);
        let whole = fs::read(&path).unwrap();
        let first = whole.iter().position(|byte| *byte == b'\n').unwrap() + 1;
        let second = first + whole[first..].iter().position(|byte| *byte == b'\n').unwrap() + 1;
        for at in first..whole.len() {
            let mut bytes = whole.clone();
            bytes[at] ^= 0x15;
            fs::write(&path, &bytes).unwrap();
            let (_, found) = open(folder.path(), &request()).unwrap();
            // Whatever is taken as done is what was written; a line's end joins two lines.
            for (done, rows) in found.done.iter().zip(["a,b\n", "c,d\n"]) {
                assert!(done.is_none() || done.as_deref() == Some(rows), "{at}: {found:?}");
            }
            if at < second - 1 {
                assert_eq!((found.done[0].is_some(), found.done[1].is_some()), (false, true), "{at}");
            }
        }
    }

    #[test]
    fn another_request_says_in_what_it_is_another() {
        let folder = tempfile::tempdir().unwrap();
        drop(open(folder.path(), &request()).unwrap());
        let mut text = String::new();
        let same = request();
        let others = [
            Request { program: "dryspell 0.2.0".into(), ..same.clone() },
            Request { script_sha256: "cc".into(), ..same.clone() },
            Request {
                files: vec![("days.csv".into(), "xx".into()), ("own.csv".into(), "b".into())],
                ..same.clone()
            },
            Request { files: vec![], ..same.clone() },
            Request { parameters: vec![("width_m".into(), "4.5".into())], ..same.clone() },
            Request {
                swept: vec![("width_m".into(), (0..9).map(|at| at.to_string()).collect())],
                ..same.clone()
            },
            Request { seasons: 200, seed: 2, ..same.clone() },
        ];
        for other in others {
            let Err(failure) = open(folder.path(), &other) else { panic!("{other:?} fits") };
            text.push_str(&format!("{failure}\n\n"));
        }
        fs::write(folder.path().join(NAME), "no request\n").unwrap();
        let Err(failure) = open(folder.path(), &same) else { panic!("it was read") };
        text.push_str(&failure.to_string());
        insta::assert_snapshot!(text.replace(&folder.path().display().to_string(), "[out]"));
    }

    #[test]
    fn two_sweeps_do_not_write_into_one_file() {
        let folder = tempfile::tempdir().unwrap();
        let _one = open(folder.path(), &request()).unwrap();
        let Err(other) = open(folder.path(), &request()) else { panic!("both write") };
        assert!(other.to_string().starts_with("another sweep is at work in "), "{other}");
    }
}
