//! Writes files so that they are there whole or not at all, and leaves alone what others wrote.
//!
//! In every folder that gets a set of files, a small record ([`RECORD`]) lists what was written with its length and
//! CRC-32. A file that is not in the record, or was changed since, belongs to somebody else.
//!
//! What is guaranteed when the program is killed or the disk fills up: each file is the old one or the new one, never
//! half of one, and a folder that was not there appears with all of its files. Several files in a folder that is there
//! cannot be renamed in one step, so such a set may be left with some old and some new files; the record tells: it is
//! written before the files with the lines of both, and after them with the lines of the new set alone. A set is complete where [`complete`] says so. What a killed run left beside them, files named
//! `.inkjoule-PROCESS-...`, the next run that writes into the folder removes.

mod mark;
mod single;

pub use single::write;

use crate::source::fault::Fault;
use std::collections::BTreeSet;
use std::io::Write;
use std::path::{Path, PathBuf};

/// The record of the files written in a folder.
pub const RECORD: &str = ".inkjoule-files";

/// CRC-32/ISO-HDLC, as in PNG and zip files.
pub const CRC: crc::Crc<u32> = crc::Crc::<u32>::new(&crc::CRC_32_ISO_HDLC);

/// What may be overwritten.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Overwrite {
    /// Only what was written by inkjoule and not changed since.
    Own,
    /// Everything.
    All,
}

impl Overwrite {
    /// Everything if forced.
    pub fn of(force: bool) -> Self {
        if force { Self::All } else { Self::Own }
    }
}

/// Writes a set of files into a folder, and its record. Nothing is touched if a file there is not ours to overwrite. All
/// files are written beside their places first and renamed after, so that each is always whole; if a renaming fails, those
/// already done are taken back. A file that has the same bytes already is left alone, its time included.
///
/// # Errors
/// When a file belongs to somebody else, the folder is one that a project is read from, or the folder or a file cannot be
/// written.
pub fn write_set(folder: &Path, files: &[(String, Vec<u8>)], overwrite: Overwrite) -> Result<(), Fault> {
    let true_folder = std::fs::canonicalize(folder).unwrap_or_else(|_| folder.to_owned());
    if single::of_a_project(&true_folder.join("file")) {
        let fault = Fault::plain(format!("{} is a folder that a project is read from", folder.display()));
        return Err(fault.help("choose a folder of its own for what is written"));
    }
    if folder.exists() && !folder.is_dir() {
        let fault = Fault::plain(format!("{} is a file, and several files are written", folder.display()));
        return Err(fault.help("name a folder; it is made where it is not there yet"));
    }
    if !folder.exists() {
        let written: BTreeSet<String> = files.iter().map(|(name, bytes)| line(name, bytes)).collect();
        let made = make(folder, &[files, &[(RECORD.to_owned(), joined(&written))]]);
        // Another run may have made it meanwhile: then it is a folder that is there.
        if made.is_ok() || !folder.is_dir() {
            return made;
        }
    }
    let record = record(folder);
    let old: BTreeSet<&str> = record.lines().collect();
    let mut foreign = Vec::new();
    for (name, bytes) in files {
        match present(&folder.join(name)) {
            Ok(present) if present == *bytes || old.contains(line(name, &present).as_str()) => {}
            Err(why) if why.kind() == std::io::ErrorKind::NotFound => {}
            // Also what cannot be read: it is not known to be ours.
            _ => foreign.push(name.as_str()),
        }
    }
    if let (Overwrite::Own, Some(first)) = (overwrite, foreign.first()) {
        let others = if foreign.len() > 1 { format!(" and {} more", foreign.len() - 1) } else { String::new() };
        let fault = Fault::plain(format!(
            "{}{others} was not written by inkjoule, or was changed since",
            folder.join(first).display()
        ));
        return Err(fault.help("write to another folder, or overwrite it with --force"));
    }
    let written: BTreeSet<String> = files.iter().map(|(name, bytes)| line(name, bytes)).collect();
    let names: BTreeSet<&str> = files.iter().map(|(name, _)| name.as_str()).collect();
    let kept = |entry: &&&str| name_in(entry).is_some_and(|name| !names.contains(name));
    let after: BTreeSet<String> =
        old.iter().filter(kept).map(|entry| (*entry).to_owned()).chain(written.iter().cloned()).collect();
    // While files are being renamed the record holds old and new, so that a broken run leaves nothing that looks foreign.
    let between: BTreeSet<String> = old.iter().map(|entry| (*entry).to_owned()).chain(written).collect();
    if after.iter().map(String::as_str).eq(old.iter().copied()) {
        return write_all(folder, files);
    }
    write_all(folder, &[(RECORD.to_owned(), joined(&between))])?;
    write_all(folder, files)?;
    write_all(folder, &[(RECORD.to_owned(), joined(&after))])
}

/// The record of a folder; empty where there is none.
fn record(folder: &Path) -> String {
    present(&folder.join(RECORD)).ok().and_then(|bytes| String::from_utf8(bytes).ok()).unwrap_or_default()
}

/// What a plain file holds. Anything else is not opened: a pipe would wait for its writer.
fn present(path: &Path) -> std::io::Result<Vec<u8>> {
    match std::fs::metadata(path)?.is_file() {
        true => std::fs::read(path),
        false => Err(std::io::Error::other("it is not a plain file")),
    }
}

/// Whether the set of a folder is complete: its record has one line for each file, and every file is as that line says.
/// Without a record there is no set.
pub fn complete(folder: &Path) -> bool {
    let Some(record) = present(&folder.join(RECORD)).ok().and_then(|bytes| String::from_utf8(bytes).ok()) else {
        return false;
    };
    let mut names = BTreeSet::new();
    record.lines().all(|entry| {
        let Some(name) = name_in(entry) else { return false };
        let same = present(&folder.join(name)).is_ok_and(|bytes| line(name, &bytes) == entry);
        same && names.insert(name)
    })
}

/// Removes those of the named files that were written by inkjoule and not changed since, from the folder and its record.
///
/// # Errors
/// When a file cannot be removed or the record cannot be written.
pub fn remove_own(folder: &Path, names: &[String]) -> Result<(), Fault> {
    let record = record(folder);
    let mut after: BTreeSet<String> = record.lines().map(str::to_owned).collect();
    for name in names {
        let path = folder.join(name);
        let Ok(bytes) = present(&path) else { continue };
        if after.remove(&line(name, &bytes)) {
            std::fs::remove_file(&path)
                .map_err(|why| Fault::plain(format!("cannot remove {}: {why}", path.display())))?;
        }
    }
    if after.len() == record.lines().count() {
        return Ok(());
    }
    write_all(folder, &[(RECORD.to_owned(), joined(&after))])
}

/// The file's name in a line of the record.
fn name_in(entry: &str) -> Option<&str> {
    entry.splitn(3, ' ').nth(2)
}

fn line(name: &str, bytes: &[u8]) -> String {
    format!("{:08x} {} {name}", CRC.checksum(bytes), bytes.len())
}

fn joined(lines: &BTreeSet<String>) -> Vec<u8> {
    lines.iter().flat_map(|line| [line.as_str(), "\n"]).collect::<String>().into_bytes()
}

/// Writes a set of files into a folder: all are written beside their places first and renamed after, as in
/// [`write_set`], but without a record and over whatever is there.
///
/// # Errors
/// When the folder or a file cannot be written; files already in place keep their old or new whole content.
pub fn write_all(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), Fault> {
    if !folder.exists() {
        return make(folder, &[files]);
    }
    let paths: Vec<PathBuf> = files.iter().map(|(name, _)| folder.join(name)).collect();
    let folders: BTreeSet<&Path> = paths.iter().filter_map(|path| path.parent()).collect();
    folders.into_iter().for_each(clear);
    let mut ready = Vec::new();
    for (name, bytes) in files {
        let path = folder.join(name);
        let old = present(&path).ok();
        if old.as_ref().is_some_and(|old| old == bytes) {
            continue;
        }
        ready.push((beside(&path, bytes)?, path, old));
    }
    let mut done: Vec<(PathBuf, Option<Vec<u8>>)> = Vec::new();
    for (file, path, old) in ready {
        if let Err(why) = file.persist(&path) {
            let fault = Fault::plain(format!("cannot write {}: {}", path.display(), why.error));
            done.into_iter().rev().for_each(|(path, old)| take_back(&path, old));
            return Err(fault);
        }
        done.push((path, old));
    }
    settle(done.iter().map(|(path, _)| path.as_path()));
    Ok(())
}

/// Makes a folder that is not there yet, with all of its files in one step: it is filled beside its place and renamed.
fn make(folder: &Path, sets: &[&[(String, Vec<u8>)]]) -> Result<(), Fault> {
    let fail = |what: &Path, why: std::io::Error| Fault::plain(format!("cannot write {}: {why}", what.display()));
    let around = folder.parent().filter(|around| !around.as_os_str().is_empty()).unwrap_or(Path::new("."));
    std::fs::create_dir_all(around).map_err(|why| fail(around, why))?;
    clear(around);
    let own = folder.file_name().unwrap_or_default().to_string_lossy();
    let beside = around.join(format!("{BESIDE}{}-{own}", std::process::id()));
    let fill = || {
        std::fs::create_dir(&beside).map_err(|why| fail(folder, why))?;
        for (name, bytes) in sets.iter().copied().flatten() {
            let path = beside.join(name);
            let filled = path.parent().map_or(Ok(()), std::fs::create_dir_all).and_then(|()| {
                let mut file = std::fs::File::create(&path)?;
                file.write_all(bytes)?;
                file.sync_all()
            });
            filled.map_err(|why| fail(&folder.join(name), why))?;
        }
        std::fs::rename(&beside, folder).map_err(|why| fail(folder, why))
    };
    let made = fill();
    if made.is_err() {
        // What could not be made is the error to report.
        let _ = std::fs::remove_dir_all(&beside);
    }
    settle([folder, &folder.join(RECORD)].into_iter());
    made
}

/// Asks the system to keep the renamings of these files before any later ones, where it can: a record must not be older
/// on the disk than the files that it speaks of. Not every file system does this for folders; there is nothing to report.
fn settle<'p>(paths: impl Iterator<Item = &'p Path>) {
    let folders: BTreeSet<&Path> = paths.filter_map(Path::parent).collect();
    for folder in folders {
        if let Ok(folder) = std::fs::File::open(folder) {
            let _ = folder.sync_all();
        }
    }
}

/// Puts a file's old bytes back, or removes it if it was not there. The write that failed is the error to report.
fn take_back(path: &Path, old: Option<Vec<u8>>) {
    match old {
        Some(bytes) => {
            if let Ok(file) = beside(path, &bytes) {
                let _ = file.persist(path);
            }
        }
        None => {
            let _ = std::fs::remove_file(path);
        }
    }
}

fn beside(path: &Path, bytes: &[u8]) -> Result<tempfile::NamedTempFile, Fault> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let fail = |why: std::io::Error| Fault::plain(format!("cannot write {}: {why}", path.display()));
    std::fs::create_dir_all(folder).map_err(fail)?;
    let prefix = format!("{BESIDE}{}-", std::process::id());
    let mut file = tempfile::Builder::new().prefix(&prefix).tempfile_in(folder).map_err(fail)?;
    file.write_all(bytes).map_err(fail)?;
    readable(&file).map_err(fail)?;
    file.as_file().sync_all().map_err(fail)?;
    Ok(file)
}

/// How the names of files that are not yet in their places begin; the number of the process that writes them follows.
const BESIDE: &str = ".inkjoule-";

/// Removes what killed runs left in a folder: files and folders not yet in their places whose process is gone.
fn clear(folder: &Path) {
    let Ok(entries) = std::fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let rest = name.to_str().and_then(|name| name.strip_prefix(BESIDE)).and_then(|rest| rest.split_once('-'));
        if rest.and_then(|(process, _)| process.parse().ok()).is_some_and(|process| gone(process, &entry)) {
            let path = entry.path();
            let _ = if path.is_dir() { std::fs::remove_dir_all(path) } else { std::fs::remove_file(path) };
        }
    }
}

#[cfg(target_os = "linux")]
fn gone(process: u32, _: &std::fs::DirEntry) -> bool {
    Path::new("/proc/self").exists() && !Path::new(&format!("/proc/{process}")).exists()
}

/// Where processes cannot be looked up without foreign code, an hour without a change is taken as a sign.
#[cfg(not(target_os = "linux"))]
fn gone(_: u32, entry: &std::fs::DirEntry) -> bool {
    let changed = entry.metadata().and_then(|file| file.modified()).ok();
    changed.and_then(|time| time.elapsed().ok()).is_some_and(|age| age.as_secs() > 3_600)
}

/// Temporary files are private to their owner; finished ones are as readable as any other file.
#[cfg(unix)]
fn readable(file: &tempfile::NamedTempFile) -> std::io::Result<()> {
    use std::os::unix::fs::PermissionsExt;
    file.as_file().set_permissions(std::fs::Permissions::from_mode(0o644))
}

#[cfg(not(unix))]
fn readable(_: &tempfile::NamedTempFile) -> std::io::Result<()> {
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn set(files: &[(&str, &[u8])]) -> Vec<(String, Vec<u8>)> {
        files.iter().map(|(name, bytes)| (name.to_string(), bytes.to_vec())).collect()
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn what_a_killed_run_left_goes_and_what_another_run_writes_stays() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path();
        let inner = path.join("de");
        std::fs::create_dir(&inner).unwrap();
        // No process has this number: it is beyond the largest that Linux gives.
        let left = [path.join(".inkjoule-4294967295-a"), inner.join(".inkjoule-4294967295-b")];
        let stay =
            [path.join(format!(".inkjoule-{}-a", std::process::id())), path.join(".inkjoule-notes"), path.join(RECORD)];
        left.iter().chain(&stay).for_each(|path| std::fs::write(path, b"half").unwrap());
        write_all(path, &set(&[("x", b"1"), ("de/y", b"1")])).unwrap();
        assert!(left.iter().all(|path| !path.exists()));
        assert!(stay.iter().all(|path| path.exists()));
    }

    #[test]
    fn a_new_folder_appears_whole_or_not_at_all() {
        let around = tempfile::tempdir().unwrap();
        let folder = around.path().join("a/b");
        write_set(&folder, &set(&[("x", b"one"), ("de/y", b"two")]), Overwrite::Own).unwrap();
        assert!(complete(&folder) && std::fs::read(folder.join("de/y")).unwrap() == b"two");
        // A file's name cannot also be a folder's: nothing of the set is left.
        let broken = around.path().join("a/c");
        assert!(write_set(&broken, &set(&[("x", b"one"), ("x/y", b"two")]), Overwrite::Own).is_err());
        assert!(!broken.exists());
        let left: Vec<_> =
            std::fs::read_dir(around.path().join("a")).unwrap().flatten().map(|e| e.file_name()).collect();
        assert_eq!(left, ["b"]);
    }

    #[test]
    fn a_folder_that_is_a_file_is_an_error() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        std::fs::write(&file, b"x").unwrap();
        assert!(write(&file.join("a.bin"), b"one", Overwrite::All).is_err());
        let fault = write_set(&file, &set(&[("a", b"1")]), Overwrite::All).unwrap_err();
        assert!(fault.message.contains("is a file, and several files are written"), "{}", fault.message);
    }

    /// A folder in a file's place stands for whatever cannot be read.
    #[test]
    fn what_cannot_be_read_belongs_to_somebody_else() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::create_dir(folder.path().join("a.bin")).unwrap();
        let why = write_set(folder.path(), &set(&[("a.bin", b"one")]), Overwrite::Own).unwrap_err();
        assert!(why.message.contains("was not written by inkjoule"), "{}", why.message);
    }

    #[test]
    fn files_of_others_are_left_alone_unless_forced() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path();
        std::fs::write(path.join("b"), b"mine").unwrap();
        assert!(write_set(path, &set(&[("a", b"1"), ("b", b"2")]), Overwrite::Own).is_err());
        assert!(!path.join("a").exists(), "nothing of the set is written");
        write_set(path, &set(&[("a", b"1"), ("b", b"2")]), Overwrite::All).unwrap();
        write_set(path, &set(&[("b", b"3")]), Overwrite::Own).unwrap();
        std::fs::write(path.join("a"), b"edited").unwrap();
        assert!(write_set(path, &set(&[("a", b"4")]), Overwrite::Own).is_err());
        assert_eq!(std::fs::read(path.join("a")).unwrap(), b"edited");
    }

    #[test]
    fn a_second_equal_set_touches_nothing() {
        let folder = tempfile::tempdir().unwrap();
        let times =
            || ["a", RECORD].map(|name| std::fs::metadata(folder.path().join(name)).unwrap().modified().unwrap());
        write_set(folder.path(), &set(&[("a", b"1")]), Overwrite::Own).unwrap();
        let before = times();
        write_set(folder.path(), &set(&[("a", b"1")]), Overwrite::Own).unwrap();
        assert_eq!(times(), before);
    }

    #[test]
    fn a_set_is_complete_only_as_its_record_says() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path();
        assert!(!complete(path), "no record, no set");
        write_set(path, &set(&[("a", b"1"), ("b", b"1")]), Overwrite::Own).unwrap();
        assert!(complete(path));
        // As a run that is killed between the renamings leaves it.
        let old = std::fs::read_to_string(path.join(RECORD)).unwrap();
        let new: BTreeSet<String> = [line("a", b"2"), line("b", b"2")].into();
        let both: BTreeSet<String> = old.lines().map(str::to_owned).chain(new).collect();
        std::fs::write(path.join(RECORD), joined(&both)).unwrap();
        std::fs::write(path.join("a"), b"2").unwrap();
        assert!(!complete(path));
        // The next run may overwrite both, and then it is.
        write_set(path, &set(&[("a", b"2"), ("b", b"2")]), Overwrite::Own).unwrap();
        assert!(complete(path));
        std::fs::remove_file(path.join("b")).unwrap();
        assert!(!complete(path));
    }

    #[test]
    fn only_own_files_are_removed() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path();
        write_set(path, &set(&[("a", b"1"), ("b", b"1"), ("c", b"1")]), Overwrite::Own).unwrap();
        std::fs::write(path.join("b"), b"edited").unwrap();
        remove_own(path, &["a".to_owned(), "b".to_owned(), "d".to_owned()]).unwrap();
        assert!(!path.join("a").exists() && path.join("b").exists() && path.join("c").exists());
        let record = std::fs::read_to_string(path.join(RECORD)).unwrap();
        assert_eq!(record.lines().filter_map(name_in).collect::<Vec<_>>(), ["b", "c"]);
    }

    #[test]
    fn a_failed_renaming_takes_the_others_back() {
        let folder = tempfile::tempdir().unwrap();
        std::fs::write(folder.path().join("a"), b"old").unwrap();
        // A folder with something in it stands where the second file should go.
        std::fs::create_dir_all(folder.path().join("b/c")).unwrap();
        assert!(write_all(folder.path(), &set(&[("a", b"new"), ("b", b"x")])).is_err());
        assert_eq!(std::fs::read(folder.path().join("a")).unwrap(), b"old");
    }

    #[test]
    fn the_checksum_is_the_catalogued_one() {
        // Catalogue of parametrised CRC algorithms, CRC-32/ISO-HDLC, check value.
        assert_eq!(CRC.checksum(b"123456789"), 0xCBF4_3926);
    }
}
