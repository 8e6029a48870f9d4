//! `dryspell new`: a farm to start from.

use super::args::NewArgs;
use super::embedded::NEW_FARM;
use super::{Failure, print};
use std::fs::{self, OpenOptions};
use std::io::{ErrorKind, Write as _};

pub(super) fn new(args: &NewArgs) -> Result<(), Failure> {
    let folder = args.folder.as_path();
    let refused =
        |error| Failure::Request(format!("cannot write to the folder {}: {error}", folder.display()));
    // All are looked for before one is written: a farm is not left half there.
    if let Some((name, _)) = NEW_FARM.iter().find(|(name, _)| folder.join(name).exists()) {
        let path = folder.join(name);
        let text = format!("{} is already there and is left as it is; name another folder", path.display());
        return Err(Failure::Request(text));
    }
    fs::create_dir_all(folder).map_err(refused)?;
    for (name, text) in NEW_FARM {
        let path = folder.join(name);
        let made = OpenOptions::new().write(true).create_new(true).open(&path);
        made.and_then(|mut file| file.write_all(text.as_bytes())).map_err(|error| match error.kind() {
            ErrorKind::AlreadyExists => {
                Failure::Request(format!("{} is already there and is left as it is", path.display()))
            }
            _ => refused(error),
        })?;
    }
    let mut script = folder.join("farm.rhai").display().to_string();
    if script.contains(' ') {
        script = format!("\"{script}\"");
    }
    print(&format!(
        "Wrote {} into {}.\n\
         Every number in them is invented: open {script} in a text editor\n\
         and put your own in their place. Then\n  \
         dryspell check {script}    to see what was understood\n  \
         dryspell run {script}      to see how likely each operation is to finish late\n",
        NEW_FARM.iter().map(|(name, _)| *name).collect::<Vec<_>>().join(" and "),
        folder.display(),
    ))
}
