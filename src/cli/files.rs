//! Reading and writing: every output appears whole or not at all.

use std::io::{Read as _, Write as _};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard};
use thiserror::Error;

/// A file that could not be read or written.
#[derive(Debug, Error)]
pub enum FileError {
    /// Could not be read.
    #[error("{} cannot be read: {why}", .path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: String,
    },
    /// Could not be written.
    #[error("{} cannot be written: {why}. Nothing was changed", .path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: String,
    },
    /// `new` never overwrites.
    #[error("{} is already there. Choose another name; nothing was changed", .0.display())]
    Exists(PathBuf),
}

/// Reads at most `limit` + 1 bytes, so that a huge file costs nothing and is still recognised as too long.
///
/// # Errors
/// [`FileError::Read`].
pub fn read(path: &Path, limit: u64) -> Result<Vec<u8>, FileError> {
    let fail = |e: std::io::Error| FileError::Read { path: path.to_owned(), why: e.to_string() };
    let mut bytes = Vec::new();
    std::fs::File::open(path).map_err(fail)?.take(limit + 1).read_to_end(&mut bytes).map_err(fail)?;
    Ok(bytes)
}

/// Files begun and not yet in their places. Whoever begins one, or gives it its name, holds this meanwhile, so that an
/// interruption finds every one of them and never falls between two names.
static BEGUN: Mutex<Vec<PathBuf>> = Mutex::new(Vec::new());

fn begun() -> MutexGuard<'static, Vec<PathBuf>> {
    // A list of paths is whole whatever the thread that held it died of.
    BEGUN.lock().unwrap_or_else(std::sync::PoisonError::into_inner)
}

/// Ends the program on Ctrl-C or a polite request to end, at once, without files half written. Exit code: 128 and the
/// number of the signal, as a shell reports it.
#[cfg(unix)]
pub fn end_when_asked() {
    use signal_hook::consts::{SIGHUP, SIGINT, SIGTERM};
    // Without a handler the system ends the program itself; only files just begun would stay.
    let Ok(mut signals) = signal_hook::iterator::Signals::new([SIGHUP, SIGINT, SIGTERM]) else { return };
    std::thread::spawn(move || {
        if let Some(signal) = signals.forever().next() {
            let begun = begun();
            for path in begun.iter() {
                let _ = std::fs::remove_file(path);
            }
            std::process::exit(128 + signal);
        }
    });
}

/// Elsewhere the system ends the program itself.
#[cfg(not(unix))]
pub fn end_when_asked() {}

/// Writes all files into a folder. Each is written beside its final place first; only when all are complete do they take
/// their names, so that a full disk or a missing right leaves what was there before.
///
/// # Errors
/// [`FileError::Write`].
pub fn write_all(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), FileError> {
    let fail =
        |path: &Path, e: &std::io::Error| FileError::Write { path: path.to_owned(), why: e.to_string() };
    std::fs::create_dir_all(folder).map_err(|e| fail(folder, &e))?;
    let mut waiting = Vec::with_capacity(files.len());
    for (name, bytes) in files {
        let path = folder.join(name);
        if path.is_dir() {
            return Err(FileError::Write { path, why: "a folder of that name is in the way".into() });
        }
        let mut temporary = temporary_in(folder).map_err(|e| fail(&path, &e))?;
        temporary
            .write_all(bytes)
            .and_then(|()| temporary.as_file().sync_all())
            .map_err(|e| fail(&path, &e))?;
        waiting.push((path, temporary));
    }
    let mut begun = begun();
    for (path, temporary) in waiting {
        temporary.persist(&path).map_err(|e| fail(&path, &e.error))?;
    }
    begun.clear();
    Ok(())
}

/// Writes one new file, whole; an existing one is left alone.
///
/// # Errors
/// [`FileError::Exists`] or [`FileError::Write`].
pub fn write_new(path: &Path, text: &str) -> Result<(), FileError> {
    let fail = |e: std::io::Error| FileError::Write { path: path.to_owned(), why: e.to_string() };
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut temporary = temporary_in(folder).map_err(fail)?;
    temporary.write_all(text.as_bytes()).map_err(fail)?;
    let mut begun = begun();
    let named = temporary.persist_noclobber(path);
    begun.clear();
    named.map(|_| ()).map_err(|e| {
        if e.error.kind() == std::io::ErrorKind::AlreadyExists {
            FileError::Exists(path.to_owned())
        } else {
            fail(e.error)
        }
    })
}

/// A file beside its final place, with the rights any new file has there.
fn temporary_in(folder: &Path) -> std::io::Result<tempfile::NamedTempFile> {
    tempfile::Builder::new().prefix(".colletline-").make_in(folder, |path| {
        let mut begun = begun();
        let file = std::fs::File::create_new(path)?;
        begun.push(path.to_owned());
        Ok(file)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_in_the_way_leaves_the_others_as_they_were() {
        let dir = tempfile::tempdir().unwrap();
        std::fs::write(dir.path().join("a"), "old").unwrap();
        std::fs::create_dir(dir.path().join("b")).unwrap();
        let files = [("a".to_owned(), b"new".to_vec()), ("b".to_owned(), b"new".to_vec())];
        let e = write_all(dir.path(), &files).unwrap_err();
        assert!(e.to_string().contains("in the way"), "{e}");
        assert_eq!(std::fs::read(dir.path().join("a")).unwrap(), b"old");
        // No temporary file is left behind.
        assert_eq!(std::fs::read_dir(dir.path()).unwrap().count(), 2);
    }

    #[test]
    fn new_does_not_overwrite() {
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("line.jsonc");
        write_new(&path, "one").unwrap();
        assert!(matches!(write_new(&path, "two"), Err(FileError::Exists(_))));
        assert_eq!(std::fs::read_to_string(&path).unwrap(), "one");
    }
}
