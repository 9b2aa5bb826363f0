//! Writes files so that they are there whole or not at all.

use crate::design::fault::Fault;
use std::io::Write;
use std::path::Path;

/// Writes a set of files into a folder: all are written beside their places first and renamed after.
/// A file that has the same bytes already is left alone, its time included.
///
/// # Errors
/// When the folder or a file cannot be written; files already in place keep their old or new whole content.
pub fn write_all(folder: &Path, files: &[(String, Vec<u8>)]) -> Result<(), Fault> {
    std::fs::create_dir_all(folder).map_err(|why| Fault::plain(format!("cannot make the folder {}: {why}", folder.display())))?;
    let mut ready = Vec::new();
    for (name, bytes) in files {
        let path = folder.join(name);
        if std::fs::read(&path).is_ok_and(|old| old == *bytes) {
            continue;
        }
        ready.push((beside(&path, bytes)?, path));
    }
    for (file, path) in ready {
        file.persist(&path).map_err(|why| Fault::plain(format!("cannot write {}: {}", path.display(), why.error)))?;
    }
    Ok(())
}

/// Writes one file.
///
/// # Errors
/// When it cannot be written; an old file stays whole then.
pub fn write(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let Some(name) = path.file_name().and_then(|name| name.to_str()) else {
        return Err(Fault::plain(format!("{} is not a file's name", path.display())));
    };
    write_all(folder, &[(name.to_owned(), bytes.to_vec())])
}

fn beside(path: &Path, bytes: &[u8]) -> Result<tempfile::NamedTempFile, Fault> {
    let folder = path.parent().unwrap_or(Path::new("."));
    let fail = |why: std::io::Error| Fault::plain(format!("cannot write {}: {why}", path.display()));
    std::fs::create_dir_all(folder).map_err(fail)?;
    let mut file = tempfile::Builder::new().prefix(".inkjoule-").tempfile_in(folder).map_err(fail)?;
    file.write_all(bytes).map_err(fail)?;
    readable(&file).map_err(fail)?;
    file.as_file().sync_all().map_err(fail)?;
    Ok(file)
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

    #[test]
    fn same_bytes_leave_the_file_alone_and_others_replace_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.bin");
        write(&path, b"one").unwrap();
        let before = std::fs::metadata(&path).unwrap().modified().unwrap();
        write(&path, b"one").unwrap();
        assert_eq!(std::fs::metadata(&path).unwrap().modified().unwrap(), before);
        write(&path, b"two").unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"two");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }

    #[test]
    fn a_folder_that_is_a_file_is_an_error() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        std::fs::write(&file, b"x").unwrap();
        assert!(write(&file.join("a.bin"), b"one").is_err());
    }
}
