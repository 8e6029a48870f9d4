//! The folder that results go to. Everything is first written to files without a name of their own; only
//! when all of them are whole do they take their names, and the descriptor comes last.

use super::column::{self, Table};
use super::descriptor::{self, Origin, Resource};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs;
use std::io::{self, BufWriter, Read, Seek, SeekFrom, Write as _};
use std::path::{Path, PathBuf};
use tempfile::{Builder, NamedTempFile};

/// What can go wrong with the folder.
#[derive(Debug, thiserror::Error)]
pub enum OutError {
    /// The folder cannot be made or written to.
    #[error("cannot write to the folder {path}: {error}")]
    Folder {
        /// The folder.
        path: String,
        /// What the system says.
        error: io::Error,
    },
    /// A file cannot be written.
    #[error("cannot write {path}: {error}")]
    File {
        /// The file.
        path: String,
        /// What the system says.
        error: io::Error,
    },
}

/// A CSV file on its way.
pub(crate) type Csv = csv::Writer<BufWriter<NamedTempFile>>;

/// The folder that results go to.
#[derive(Debug)]
pub struct OutFolder {
    path: PathBuf,
    whole: Vec<(&'static Table, NamedTempFile)>,
}

/// Name of the descriptor.
pub(crate) const DESCRIPTOR: &str = "datapackage.json";

impl OutFolder {
    /// Makes the folder if there is none, and makes sure that files can be written there.
    ///
    /// # Errors
    ///
    /// When they cannot.
    pub fn open(path: &Path) -> Result<Self, OutError> {
        let folder = Self { path: path.to_path_buf(), whole: Vec::new() };
        let refused = |error| OutError::Folder { path: path.display().to_string(), error };
        fs::create_dir_all(path).map_err(refused)?;
        folder.temporary().map_err(refused)?;
        Ok(folder)
    }

    /// The folder's path.
    #[must_use]
    pub fn path(&self) -> &Path {
        &self.path
    }

    fn temporary(&self) -> io::Result<NamedTempFile> {
        let mut builder = Builder::new();
        builder.prefix(".dryspell-");
        // As any new file of this user, not private as temporary files are.
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        builder.tempfile_in(&self.path)
    }

    pub(crate) fn error(&self, name: &str, error: io::Error) -> OutError {
        OutError::File { path: self.path.join(name).display().to_string(), error }
    }

    /// A table with its header.
    pub(crate) fn begin(&self, table: &'static Table) -> Result<Csv, OutError> {
        let begun = self.temporary().and_then(|file| {
            let mut csv = csv::Writer::from_writer(BufWriter::new(file));
            csv.write_record(table.columns.iter().map(|column| column.name))?;
            Ok(csv)
        });
        begun.map_err(|error| self.error(table.name, error))
    }

    /// Takes a table that is whole.
    pub(crate) fn keep(&mut self, table: &'static Table, csv: Csv) -> Result<(), OutError> {
        let kept = csv
            .into_inner()
            .map_err(|error| io::Error::other(error.to_string()))
            .and_then(|buffer| buffer.into_inner().map_err(io::IntoInnerError::into_error));
        let file = kept.map_err(|error| self.error(table.name, error))?;
        self.whole.push((table, file));
        Ok(())
    }

    /// Gives every table its name, then writes the descriptor. Returns the files' names.
    ///
    /// # Errors
    ///
    /// When a file cannot be written or renamed.
    pub fn finish(mut self, origin: &Origin<'_>) -> Result<Vec<String>, OutError> {
        self.whole.sort_by_key(|(table, _)| column::ORDER.iter().position(|name| *name == table.name));
        let mut resources = Vec::new();
        for (table, mut file) in std::mem::take(&mut self.whole) {
            let (bytes, hash) = measure(&mut file).map_err(|error| self.error(table.name, error))?;
            resources.push((Resource::new(table, bytes, hash), file));
        }
        self.remove_descriptor()?;
        let mut names = Vec::new();
        let mut described = Vec::new();
        for (resource, file) in resources {
            self.name(&resource.path, file)?;
            names.push(resource.path.clone());
            described.push(resource);
        }
        let written = self.temporary().and_then(|mut file| {
            descriptor::write(&mut file, origin, described)?;
            Ok(file)
        });
        let file = written.map_err(|error| self.error(DESCRIPTOR, error))?;
        self.name(DESCRIPTOR, file)?;
        names.push(DESCRIPTOR.into());
        Ok(names)
    }

    /// An old descriptor must not speak for new tables.
    fn remove_descriptor(&self) -> Result<(), OutError> {
        match fs::remove_file(self.path.join(DESCRIPTOR)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => Err(self.error(DESCRIPTOR, error)),
            _ => Ok(()),
        }
    }

    fn name(&self, name: &str, file: NamedTempFile) -> Result<(), OutError> {
        let named = file.persist(self.path.join(name));
        named.map(|_| ()).map_err(|error| self.error(name, error.error))
    }
}

/// Writes texts as files into a folder, which is made if there is none: all of them are whole before the first takes
/// its name. An old descriptor is taken away before one that is among them, as the last, comes in its place.
///
/// # Errors
///
/// When the folder or a file cannot be written.
pub(crate) fn write_whole(path: &Path, files: &[(String, String)]) -> Result<(), OutError> {
    let folder = OutFolder::open(path)?;
    let mut whole = Vec::with_capacity(files.len());
    for (name, text) in files {
        let written = folder.temporary().and_then(|mut file| {
            file.write_all(text.as_bytes())?;
            Ok(file)
        });
        whole.push((name, written.map_err(|error| folder.error(name, error))?));
    }
    if files.iter().any(|(name, _)| name == DESCRIPTOR) {
        folder.remove_descriptor()?;
    }
    whole.into_iter().try_for_each(|(name, file)| folder.name(name, file))
}

/// Bytes and SHA-256 of a file.
fn measure(file: &mut NamedTempFile) -> io::Result<(u64, String)> {
    let file = file.as_file_mut();
    file.seek(SeekFrom::Start(0))?;
    let (mut hasher, mut bytes, mut buffer) = (Sha256::new(), 0, vec![0; 1 << 16]);
    loop {
        let read = file.read(&mut buffer)?;
        if read == 0 {
            return Ok((bytes, hex(&hasher.finalize())));
        }
        bytes += read as u64;
        hasher.update(&buffer[..read]);
    }
}

/// Bytes as hexadecimal digits.
pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().fold(String::new(), |mut text, byte| {
        // Writing to a String cannot fail.
        let _ = write!(text, "{byte:02x}");
        text
    })
}
