//! The files that a script may read: those beside it, or those built into the program. Nothing else on the disk.

use std::fs;
use std::path::{Component, Path, PathBuf};

/// The most bytes that a file may have.
const MOST_BYTES: u64 = 4 << 20;

/// Where a script's files lie.
#[derive(Debug, Clone)]
pub(crate) enum Folder {
    /// A folder on the disk, canonical.
    Disk(PathBuf),
    /// Files built into the program: name and text.
    Embedded(&'static [(&'static str, &'static str)]),
}

/// Why a file cannot be read, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Refused {
    pub(crate) why: String,
    pub(crate) fix: String,
}

fn refused(why: String, fix: impl Into<String>) -> Refused {
    Refused { why, fix: fix.into() }
}

impl Folder {
    /// The text of a file in the folder or in a folder below it.
    pub(crate) fn read(&self, name: &str) -> Result<String, Refused> {
        let path = Path::new(name);
        let inside = path.components().all(|part| matches!(part, Component::Normal(_) | Component::CurDir));
        if !inside || name.contains(['\\', ':']) {
            return Err(refused(
                format!("\"{name}\" is outside the script's folder"),
                "put the file beside the script and write its name alone",
            ));
        }
        match self {
            Self::Embedded(files) => files
                .iter()
                .find(|(known, _)| *known == name)
                .map(|(_, text)| (*text).to_string())
                .ok_or_else(|| {
                    let names: Vec<&str> = files.iter().map(|(name, _)| *name).collect();
                    refused(format!("there is no file \"{name}\""), format!("there is: {}", names.join(", ")))
                }),
            Self::Disk(folder) => {
                let found =
                    folder.join(path).canonicalize().map_err(|error| self.unreadable(name, &error))?;
                if !found.starts_with(folder) {
                    return Err(refused(
                        format!("\"{name}\" leads out of the script's folder"),
                        "put the file itself beside the script, not a link to it",
                    ));
                }
                read_text(&found, name)
            }
        }
    }

    fn unreadable(&self, name: &str, error: &std::io::Error) -> Refused {
        let files = match self {
            Self::Disk(folder) => fs::read_dir(folder).map(|entries| {
                let names =
                    entries.filter_map(Result::ok).map(|entry| entry.file_name().display().to_string());
                let kind = if name.ends_with(".rhai") { ".rhai" } else { ".csv" };
                let mut alike: Vec<String> = names.filter(|name| name.ends_with(kind)).collect();
                alike.sort();
                alike
            }),
            Self::Embedded(_) => Ok(Vec::new()),
        };
        let fix = match files {
            Ok(files) if !files.is_empty() => format!("the script's folder has {}", files.join(", ")),
            _ => "put the file beside the script".into(),
        };
        match error.kind() {
            std::io::ErrorKind::NotFound => refused(format!("there is no file \"{name}\""), fix),
            _ => refused(format!("the file \"{name}\" cannot be read: {error}"), fix),
        }
    }
}

/// The text of a file, if it is a file, not too big, and UTF-8.
pub(crate) fn read_text(path: &Path, name: &str) -> Result<String, Refused> {
    let cannot =
        |error: std::io::Error| refused(format!("\"{name}\" cannot be read: {error}"), "check the name");
    let about = fs::metadata(path).map_err(cannot)?;
    if !about.is_file() {
        return Err(refused(format!("\"{name}\" is not a file"), "give the name of a file"));
    }
    if about.len() > MOST_BYTES {
        let size = about.len() >> 20;
        return Err(refused(
            format!("\"{name}\" has {size} MiB; a script or a table may have 4"),
            "take out what the farm does not need",
        ));
    }
    let bytes = fs::read(path).map_err(cannot)?;
    let text = String::from_utf8(bytes).map_err(|error| {
        let line =
            1 + error.as_bytes()[..error.utf8_error().valid_up_to()].iter().filter(|b| **b == b'\n').count();
        refused(format!("\"{name}\" is not UTF-8 text: see line {line}"), "save it as UTF-8")
    })?;
    Ok(text.strip_prefix('\u{feff}').map(str::to_string).unwrap_or(text))
}
