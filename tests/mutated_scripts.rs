//! A hundred thousand broken scripts, each read as `dryspell check` reads one: an answer or a message, never a panic.
//!
//! The scripts that ship with the program are damaged at random (with a fixed seed): bytes flipped, tokens left out,
//! doubled, exchanged or replaced by unpleasant ones, numbers made absurd; their tables likewise. Nothing catches a
//! panic here, so one fails the test, and its number is printed.

use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};
use std::{fs, thread};

use assert_cmd::Command;
use sim_core::kernel::draw::Stream;
use sim_core::study::Variant;
use sim_script::script::Script;

type Files = &'static [(&'static str, &'static str)];

struct Shipped {
    text: &'static str,
    files: Files,
    /// How many damaged copies are read.
    copies: u64,
}

const SHIPPED: [Shipped; 4] = [
    Shipped { text: include_str!("../scenarios/one-operation.rhai"), files: &[], copies: 83_000 },
    Shipped {
        text: include_str!("../scenarios/new-farm/farm.rhai"),
        files: &[("days.csv", include_str!("../scenarios/new-farm/days.csv"))],
        copies: 7_000,
    },
    Shipped { text: include_str!("../scenarios/class-farm/farm.rhai"), files: &[], copies: 7_000 },
    Shipped {
        text: include_str!("../scenarios/demo/farm.rhai"),
        files: &[
            ("suitable-days.csv", include_str!("../scenarios/demo/suitable-days.csv")),
            ("drivers.csv", include_str!("../scenarios/demo/drivers.csv")),
        ],
        copies: 3_000,
    },
];

/// Every so many copies the tables are damaged in place of the script; such copies are kept in memory to the end.
const TABLES_EVERY: u64 = 20;
/// Every so many sound copies the farm is made ready for a study, which takes longer than reading it.
const READY_EVERY: u64 = 10;
/// No script may take longer to answer for: the reader's own limit is 10 s.
const LONGEST: Duration = Duration::from_secs(30);

const UNPLEASANT: [&str; 28] = [
    "-1",
    "0",
    "0.0",
    "1e308",
    "-0.0",
    "99999999999999999999",
    "9223372036854775807",
    "-9223372036854775808",
    "()",
    "\"",
    "`",
    "${",
    "}",
    "{",
    "#{",
    "]",
    "[",
    "\"\"",
    "\"\u{1F69C}\"",
    "\u{0}",
    "\"02-30\"",
    "\"12-31\"",
    "\"24:00-00:00\"",
    "if",
    "fn",
    "//",
    "/*",
    ";",
];

/// Draws one after another; which number each has is of no interest.
struct Dice {
    stream: Stream,
    next: u64,
}

impl Dice {
    fn below(&mut self, limit: usize) -> usize {
        self.next += 1;
        (self.stream.uniform(self.next) * limit as f64) as usize
    }
}

/// Words, numbers, strings, blanks and single signs, in order: joined again they are the text.
fn tokens(text: &str) -> Vec<&str> {
    let kind = |letter: char| match letter {
        'a'..='z' | 'A'..='Z' | '_' => 0,
        '0'..='9' | '.' => 1,
        ' ' | '\n' => 2,
        _ => 3,
    };
    let mut found = Vec::new();
    let mut start = 0;
    let mut last: Option<char> = None;
    let mut in_string = false;
    for (at, letter) in text.char_indices() {
        let joins = last.is_some_and(|last| {
            in_string
                || (kind(last) == kind(letter) && kind(letter) != 3)
                || (kind(last) == 0 && kind(letter) == 1)
        });
        if !joins && at > start {
            found.push(&text[start..at]);
            start = at;
        }
        if letter == '"' {
            in_string = !in_string;
        } else if letter == '\n' {
            in_string = false;
        }
        last = Some(letter);
    }
    found.push(&text[start..]);
    found
}

fn damage(text: &str, dice: &mut Dice) -> String {
    let mut parts: Vec<String> = tokens(text).into_iter().map(String::from).collect();
    for _ in 0..=dice.below(3) {
        let (one, other) = (dice.below(parts.len()), dice.below(parts.len()));
        match dice.below(9) {
            0 => parts[one].clear(),
            1 => parts[one] = parts[one].repeat(2),
            2 => parts.swap(one, other),
            3 => parts[one] = parts[other].clone(),
            4 => parts[one] = UNPLEASANT[dice.below(UNPLEASANT.len())].into(),
            5 => {
                // A run of tokens goes.
                for part in parts.iter_mut().skip(one).take(1 + other % 20) {
                    part.clear();
                }
            }
            6 | 7 => {
                // The next number becomes another one.
                let numbers = (0..parts.len()).map(|step| (one + step) % parts.len());
                let digits = |part: &String| part.starts_with(|letter: char| letter.is_ascii_digit());
                if let Some(number) = numbers.into_iter().find(|index| digits(&parts[*index])) {
                    let old = parts[number].clone();
                    parts[number] = match dice.below(6) {
                        0 => format!("-{old}"),
                        1 => format!("{old}e9"),
                        2 => "0".into(),
                        3 => format!("{old}00"),
                        4 => format!("\"{old}\""),
                        _ => old.replace('.', ""),
                    };
                }
            }
            _ => {
                let mut bytes = std::mem::take(&mut parts[one]).into_bytes();
                if !bytes.is_empty() {
                    let at = dice.below(bytes.len());
                    bytes[at] ^= 1 << dice.below(8);
                }
                parts[one] = String::from_utf8_lossy(&bytes).into_owned();
            }
        }
    }
    parts.concat()
}

/// Names the copy that was being read when its thread panics.
struct Reading {
    script: usize,
    copy: u64,
}

impl Drop for Reading {
    fn drop(&mut self) {
        if thread::panicking() {
            eprintln!("damaged script {} of shipped script {}", self.copy, self.script);
        }
    }
}

/// Reads a damaged copy; whether it was still sound.
fn read(script: usize, copy: u64) -> bool {
    let _reading = Reading { script, copy };
    let shipped = &SHIPPED[script];
    let mut dice = Dice { stream: Stream::new(11, copy, script as u64), next: 0 };
    let began = Instant::now();
    let script = if copy.is_multiple_of(TABLES_EVERY) && !shipped.files.is_empty() {
        let damaged = shipped.files.iter().map(|(name, text)| {
            let text: &'static str = Box::leak(damage(text, &mut dice).into_boxed_str());
            (*name, text)
        });
        let files: Files = Box::leak(damaged.collect::<Vec<_>>().into_boxed_slice());
        Script::embedded("damaged", shipped.text, files)
    } else {
        Script::embedded("damaged", &damage(shipped.text, &mut dice), shipped.files)
    };
    let sound = match script.farm(&[]) {
        Ok((farm, _)) => {
            if copy.is_multiple_of(READY_EVERY) {
                let name = farm.name.clone();
                // An error is an answer, too.
                let _ = Variant::new(&name, farm);
            }
            true
        }
        Err(error) => {
            let message = error.to_string();
            assert!(!message.trim().is_empty() && message.len() < 20_000, "{message}");
            false
        }
    };
    assert!(began.elapsed() < LONGEST, "{:?} for one script", began.elapsed());
    sound
}

#[test]
fn no_damaged_script_makes_the_reader_panic() {
    let next = AtomicU64::new(0);
    let sound = AtomicU64::new(0);
    let total: u64 = SHIPPED.iter().map(|shipped| shipped.copies).sum();
    assert_eq!(total, 100_000);
    let work = || loop {
        let mut copy = next.fetch_add(1, Ordering::Relaxed);
        if copy >= total {
            break;
        }
        let mut script = 0;
        while copy >= SHIPPED[script].copies {
            copy -= SHIPPED[script].copies;
            script += 1;
        }
        sound.fetch_add(u64::from(read(script, copy)), Ordering::Relaxed);
    };
    thread::scope(|scope| {
        for _ in 0..thread::available_parallelism().map_or(2, usize::from) {
            scope.spawn(work);
        }
    });
    let sound = sound.into_inner();
    println!("{sound} of {total} damaged scripts were still sound");
    // Damage that breaks everything, or nothing, would not search the reader.
    assert!(sound > total / 100 && sound < total / 2, "{sound} of {total} were still sound");
}

/// Through the program itself, by way of a file, which may hold bytes that are no text at all.
#[test]
fn no_damaged_file_makes_the_program_panic() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("damaged.rhai");
    let text = SHIPPED[0].text.as_bytes();
    let mut understood = 0;
    for copy in 0..300 {
        let mut dice = Dice { stream: Stream::new(12, copy, 0), next: 0 };
        let bytes = if copy.is_multiple_of(2) {
            // Some of these are sound, and the program says what it understood.
            damage(SHIPPED[0].text, &mut dice).into_bytes()
        } else {
            let mut bytes = text.to_vec();
            for _ in 0..=dice.below(4) {
                let at = dice.below(bytes.len());
                bytes[at] = dice.below(256) as u8;
            }
            bytes.truncate(1 + dice.below(2 * text.len()));
            bytes
        };
        fs::write(&path, &bytes).unwrap();
        let output =
            Command::cargo_bin("dryspell-under-test").unwrap().arg("check").arg(&path).output().unwrap();
        let told = if output.stderr.is_empty() { &output.stdout } else { &output.stderr };
        let status = output.status.code();
        assert!(matches!(status, Some(0 | 2)), "copy {copy}: {status:?} {}", String::from_utf8_lossy(told));
        assert!(!told.is_empty(), "copy {copy}: not a word");
        understood += u32::from(status == Some(0));
    }
    assert!((20..150).contains(&understood), "{understood} were understood");
}

#[test]
fn the_scripts_are_sound_before_they_are_damaged() {
    for shipped in &SHIPPED {
        assert_eq!(tokens(shipped.text).concat(), shipped.text);
        let script = Script::embedded("shipped", shipped.text, shipped.files);
        script.farm(&[]).unwrap_or_else(|error| panic!("{error}"));
    }
}
