//! One file under the name that an argument gives: a plot, a screenshot, a report, a profile. Not for sets in folders.

use super::mark::{has_marks, marked, ours};
use super::{Overwrite, present, write_all};
use crate::source::fault::Fault;
use crate::source::files::FOLDERS;
use std::path::Path;

/// Writes one file; pictures get a mark that tells them as ours. One that a project is read from is never replaced; unless
/// forced, another one only if it begins as the new one does and, where such files carry a mark, has it.
///
/// # Errors
/// When it cannot be written, its folder is not there, or something else is there; an old file stays whole then.
pub fn write(path: &Path, bytes: &[u8], overwrite: Overwrite) -> Result<(), Fault> {
    let bytes = &marked(bytes);
    // Through a link to the file that it names.
    let path = &std::fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    if std::fs::metadata(path).is_ok() {
        replaceable(path, bytes, overwrite)?;
    }
    let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."));
    if !folder.is_dir() {
        let fault = Fault::plain(format!("there is no folder {}", folder.display()));
        return Err(fault.help("make it first, or choose another name"));
    }
    let Some(name) = path.file_name().and_then(|name| name.to_str()) else {
        return Err(Fault::plain(format!("{} is not a file's name", path.display())));
    };
    write_all(folder, &[(name.to_owned(), bytes.clone())])
}

/// Refuses to replace what is not ours to replace.
fn replaceable(path: &Path, bytes: &[u8], overwrite: Overwrite) -> Result<(), Fault> {
    let shown = path.display();
    if !path.is_file() {
        let fault = Fault::plain(format!("{shown} is there and is not a plain file"));
        return Err(fault.help("choose another name"));
    }
    if of_a_project(path) {
        let fault = Fault::plain(format!("{shown} is a file that a project is read from"));
        return Err(fault.help("choose a name outside the project's own folders"));
    }
    if overwrite == Overwrite::All {
        return Ok(());
    }
    let old = present(path).unwrap_or_else(|_| b"unread".to_vec());
    if old.is_empty() || old == bytes {
        return Ok(());
    }
    if !old.iter().take(FEW).eq(bytes.iter().take(FEW)) {
        let fault = Fault::plain(format!("{shown} is there and is something else"));
        return Err(fault.help("choose another name, or overwrite it with --force"));
    }
    if has_marks(bytes) && !ours(&old) {
        let fault = Fault::plain(format!("{shown} was not written by inkjoule"));
        return Err(fault.help("choose another name, or overwrite it with --force"));
    }
    Ok(())
}

/// Bytes at the beginning that tell kinds of files apart.
const FEW: usize = 8;

/// Whether a file is one that a project is read from: in one of the folders beside a `device.toml`, at any depth, or that
/// file itself.
pub(super) fn of_a_project(path: &Path) -> bool {
    if path.file_name().is_some_and(|name| name == "device.toml") {
        return true;
    }
    let mut folders = path.ancestors().skip(1);
    folders.any(|folder| {
        let named = folder.file_name().and_then(|name| name.to_str()).is_some_and(|name| FOLDERS.contains(&name));
        named && folder.parent().is_some_and(|root| root.join("device.toml").is_file())
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn own(path: &Path, bytes: &[u8]) -> Result<(), Fault> {
        write(path, bytes, Overwrite::Own)
    }

    /// A drawing of somebody else's was once replaced because it began like ours.
    #[test]
    fn a_picture_of_somebody_else_is_replaced_only_by_force() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.svg");
        std::fs::write(&path, "<svg xmlns='mine'></svg>").unwrap();
        let fault = own(&path, b"<svg xmlns='ours'></svg>\n").unwrap_err();
        assert!(fault.message.contains("was not written by inkjoule"), "{}", fault.message);
        assert!(fault.help.unwrap().contains("--force"));
        assert_eq!(std::fs::read(&path).unwrap(), b"<svg xmlns='mine'></svg>");
        write(&path, b"<svg xmlns='ours'></svg>\n", Overwrite::All).unwrap();
        own(&path, b"<svg xmlns='ours again'></svg>\n").unwrap();
        assert!(own(&folder.path().join("missing/a.svg"), b"<svg></svg>").unwrap_err().message.contains("no folder"));
        assert!(!folder.path().join("missing").exists());
    }

    /// A plot once took the place of the project's own icon.
    #[test]
    fn a_picture_never_takes_the_place_of_one_that_a_project_reads() {
        let folder = tempfile::tempdir().unwrap();
        let icons = folder.path().join("icons/deep");
        std::fs::create_dir_all(&icons).unwrap();
        std::fs::write(folder.path().join("device.toml"), "").unwrap();
        let (icon, other) = (icons.join("bell.png"), folder.path().join("plot.png"));
        std::fs::write(&icon, b"picture one").unwrap();
        std::fs::write(&other, b"picture one").unwrap();
        let fault = own(&icon, b"picture two").unwrap_err();
        assert!(fault.message.contains("a project is read from"), "{}", fault.message);
        assert_eq!(std::fs::read(&icon).unwrap(), b"picture one");
        own(&other, b"picture two").unwrap();
        own(&icons.join("new.png"), b"image").unwrap();
        // Nor by force: the message once proposed it, and a report took the place of device.toml.
        for path in [icon.clone(), folder.path().join("device.toml")] {
            let fault = write(&path, b"picture two", Overwrite::All).unwrap_err();
            assert!(!fault.help.unwrap().contains("--force"));
        }
        assert_eq!(std::fs::read(folder.path().join("device.toml")).unwrap(), b"");
        // Sets of files neither.
        for inside in ["icons", "icons/deep/er", "screens"] {
            let files = [("one.toml".to_owned(), b"one".to_vec())];
            let fault = crate::output::write_set(&folder.path().join(inside), &files, Overwrite::All).unwrap_err();
            assert!(fault.message.contains("a project is read from"), "{}", fault.message);
        }
    }

    #[test]
    fn same_bytes_leave_the_file_alone_and_others_replace_it() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.bin");
        own(&path, b"one").unwrap();
        let before = std::fs::metadata(&path).unwrap().modified().unwrap();
        own(&path, b"one").unwrap();
        assert_eq!(std::fs::metadata(&path).unwrap().modified().unwrap(), before);
        own(&path, b"two").unwrap_err();
        std::fs::write(&path, b"a picture, old").unwrap();
        own(&path, b"a picture, new").unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"a picture, new");
        assert!(own(folder.path(), b"a picture").is_err());
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
