//! A project as it stood at a revision of its git repository, read into memory; the work tree is not touched.
//!
//! `git` is asked for the list of files and their contents. A link is followed inside the project, as on the disk;
//! submodules are left out.

use crate::limits;
use crate::source::fault::Fault;
use crate::source::files::{FOLDERS, Files, misspelt};
use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

/// A file in a revision.
#[derive(Debug, PartialEq, Eq)]
struct Entry {
    object: String,
    bytes: u64,
    name: String,
    /// Where it leads, is what it holds.
    link: bool,
}

/// The folder and the revision of `FOLDER@REVISION`; `None` where the text names a file or folder that exists, or has
/// no `@`. An empty folder is the current one.
pub fn split(text: &str) -> Option<(PathBuf, String)> {
    if Path::new(text).exists() {
        return None;
    }
    let mut at = text.rfind('@')?;
    // `HEAD@{1}` and `@{upstream}` have an at sign of their own.
    if text[at + 1..].starts_with('{') {
        let before = &text[..at];
        at = before.rfind('@').unwrap_or(at);
    }
    let (folder, revision) = (&text[..at], &text[at + 1..]);
    let folder = if folder.is_empty() { "." } else { folder };
    Some((PathBuf::from(folder), revision.to_owned()))
}

/// The files of a project at a revision.
///
/// # Errors
/// When there is no git, no repository, no such revision or no project in it, or a limit is passed.
pub fn read(folder: &Path, revision: &str) -> Result<Files, Fault> {
    if revision.is_empty() || revision.starts_with('-') {
        return Err(
            Fault::plain(format!("`{revision}` is no revision")).help("write FOLDER@REVISION, such as .@HEAD~1")
        );
    }
    let folder = match folder.file_name() {
        Some(name) if name == "device.toml" => folder.parent().unwrap_or(Path::new("")).to_path_buf(),
        _ => folder.to_path_buf(),
    };
    // The folder may have gone since; git then runs in the nearest one that is still there.
    let base = folder.ancestors().find(|base| base.is_dir()).map_or(PathBuf::from("."), Path::to_path_buf);
    let inside = folder.strip_prefix(&base).unwrap_or(Path::new(""));
    let prefix: String = inside.iter().map(|part| format!("{}/", part.to_string_lossy())).collect();
    let listed = git(&base, &["ls-tree", "-r", "-z", "-l", revision, &format!("./{prefix}")], &[])?;
    let all = entries(&listed, &prefix);
    let entries = resolved(&base, all, &folder, revision)?;
    if !entries.iter().any(|entry| entry.name == "device.toml") {
        let fault = Fault::plain(format!("there is no {} at {revision}", folder.join("device.toml").display()));
        return Err(fault.help("name a folder that held a device.toml then"));
    }
    let total: u64 = entries.iter().map(|entry| entry.bytes).sum();
    let largest = entries.iter().map(|entry| entry.bytes).max().unwrap_or(0);
    if entries.len() > limits::FILES || total > limits::PROJECT_BYTES || largest > limits::FILE_BYTES {
        return Err(Fault::plain(format!("{} at {revision} is too large for a project", folder.display())));
    }
    let asked: String = entries.iter().map(|entry| format!("{}\n", entry.object)).collect();
    let contents = git(&base, &["cat-file", "--batch"], asked.as_bytes())?;
    let contents = split_batch(&contents, &entries)
        .ok_or_else(|| Fault::plain(format!("git gave no whole copy of {} at {revision}", folder.display())))?;
    let names = entries.into_iter().map(|entry| entry.name);
    let mut files = Files::from_memory(names.zip(contents));
    files.root = PathBuf::from(format!("{}@{revision}", folder.display()));
    Ok(files)
}

/// Whether a file is one that a project is read from.
fn ours(name: &str) -> bool {
    let hidden = name.split('/').any(|part| part.starts_with('.'));
    let folder = name.split_once('/').map(|(folder, _)| folder);
    let ours = name == "device.toml" || folder.is_some_and(|folder| FOLDERS.contains(&folder));
    ours && !hidden && name.matches('/').count() <= limits::FOLDER_DEPTH + 1
}

/// Links one after the other that are followed.
const MOST_LINKS: usize = 8;

/// The files of the project, each link replaced by the file that it leads to; links of whole folders are left out.
fn resolved(base: &Path, all: Vec<Entry>, folder: &Path, revision: &str) -> Result<Vec<Entry>, Fault> {
    let links: Vec<&Entry> =
        all.iter().filter(|entry| entry.link && entry.bytes <= 4_096).take(limits::FILES).collect();
    let asked: String = links.iter().map(|entry| format!("{}\n", entry.object)).collect();
    let targets = if links.is_empty() { Vec::new() } else { git(base, &["cat-file", "--batch"], asked.as_bytes())? };
    let targets = split_batch(&targets, &links).unwrap_or_default();
    let targets: BTreeMap<&str, Option<String>> =
        links.iter().zip(&targets).map(|(entry, target)| (entry.name.as_str(), led(&entry.name, target))).collect();
    let files: BTreeMap<&str, &Entry> = all.iter().map(|entry| (entry.name.as_str(), entry)).collect();
    let mut found = Vec::new();
    for entry in all.iter().filter(|entry| ours(&entry.name)) {
        if let Some(fault) = misspelt(&entry.name, &folder.join(&entry.name)) {
            return Err(fault);
        }
        let mut at = Some(entry);
        for _ in 0..MOST_LINKS {
            let Some(link) = at.filter(|entry| entry.link) else { break };
            let Some(Some(target)) = targets.get(link.name.as_str()) else {
                let fault =
                    format!("{} at {revision} is a link that leaves the project", folder.join(&entry.name).display());
                return Err(Fault::plain(fault).help("copy the file into the project"));
            };
            at = files.get(target.as_str()).copied();
        }
        if let Some(Entry { object, bytes, link: false, .. }) = at {
            found.push(Entry { object: object.clone(), bytes: *bytes, name: entry.name.clone(), link: false });
        }
    }
    Ok(found)
}

/// The file that a link leads to, as a path inside the project; `None` where it leads out of it.
fn led(link: &str, target: &[u8]) -> Option<String> {
    let target = std::str::from_utf8(target).ok().filter(|target| !target.starts_with('/'))?;
    let mut path: Vec<&str> = link.split('/').collect();
    path.pop();
    for part in target.split('/') {
        match part {
            "" | "." => {}
            ".." => {
                path.pop()?;
            }
            part => path.push(part),
        }
    }
    Some(path.join("/"))
}

/// The files below the project's folder among the lines of `git ls-tree -r -z -l`: mode, kind, object, size, tab, name.
fn entries(listed: &[u8], prefix: &str) -> Vec<Entry> {
    let entry = |line: &[u8]| {
        let line = std::str::from_utf8(line).ok()?;
        let (head, name) = line.split_once('\t')?;
        let name = name.strip_prefix(prefix)?;
        let mut parts = head.split_whitespace();
        let (mode, kind, object, bytes) = (parts.next()?, parts.next()?, parts.next()?, parts.next()?);
        let link = mode == "120000";
        (kind == "blob").then_some(())?;
        Some(Entry { object: object.to_owned(), bytes: bytes.parse().ok()?, name: name.to_owned(), link })
    };
    listed.split(|byte| *byte == 0).filter_map(entry).collect()
}

/// The contents in the output of `git cat-file --batch`: a line `<object> blob <size>`, the bytes, a line feed.
fn split_batch<E: std::borrow::Borrow<Entry>>(output: &[u8], entries: &[E]) -> Option<Vec<Vec<u8>>> {
    let mut rest = output;
    let mut contents = Vec::new();
    for entry in entries {
        let entry: &Entry = entry.borrow();
        let end = rest.iter().position(|byte| *byte == b'\n')?;
        let head = std::str::from_utf8(&rest[..end]).ok()?;
        let size: usize = head.strip_prefix(&format!("{} blob ", entry.object))?.parse().ok()?;
        rest = rest.get(end + 1..)?;
        contents.push(rest.get(..size)?.to_vec());
        rest = rest.get(size + 1..)?;
    }
    Some(contents)
}

/// Runs git in a folder and returns what it prints.
fn git(folder: &Path, arguments: &[&str], input: &[u8]) -> Result<Vec<u8>, Fault> {
    let started = Command::new("git")
        .arg("-C")
        .arg(folder)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn();
    let mut child = started.map_err(|why| {
        let fault = Fault::plain(format!("cannot run git, which FOLDER@REVISION needs: {why}"));
        fault.help("install git, or name folders that are on the disk")
    })?;
    let (stdin, stdout) = (child.stdin.take(), child.stdout.take());
    let mut output = Vec::new();
    // Written beside reading: git answers before it has read everything.
    let read = std::thread::scope(|scope| {
        scope.spawn(move || stdin.map(|mut stdin| stdin.write_all(input)));
        let most = limits::PROJECT_BYTES + (limits::FILES as u64) * 512;
        stdout.map_or(Ok(0), |stdout| stdout.take(most).read_to_end(&mut output))
    });
    let ended = child.wait_with_output();
    let fail = |why: String| {
        Fault::plain(format!("git: {why}"))
            .help("FOLDER@REVISION needs a git repository that holds the folder and the revision")
    };
    read.map_err(|why| fail(why.to_string()))?;
    let ended = ended.map_err(|why| fail(why.to_string()))?;
    match ended.status.success() {
        true => Ok(output),
        false => {
            let said = String::from_utf8_lossy(&ended.stderr);
            Err(fail(said.trim().trim_start_matches("fatal: ").to_owned()))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_revision_stands_behind_the_last_at_sign() {
        assert_eq!(split("no@where@HEAD~2"), Some((PathBuf::from("no@where"), "HEAD~2".to_owned())));
        assert_eq!(split("@v1"), Some((PathBuf::from("."), "v1".to_owned())));
        assert_eq!(split("nothing-here"), None);
        assert_eq!(split("no@where@HEAD@{0}"), Some((PathBuf::from("no@where"), "HEAD@{0}".to_owned())));
        assert_eq!(split("p@@{upstream}"), Some((PathBuf::from("p"), "@{upstream}".to_owned())));
        assert_eq!(split("p@{0}"), Some((PathBuf::from("p"), "{0}".to_owned())));
    }

    #[test]
    fn only_plain_files_of_a_project_are_taken() {
        let line = |mode: &str, kind: &str, name: &str| format!("{mode} {kind} abc      12\tdemo/{name}\0");
        let listed = [
            line("100644", "blob", "device.toml"),
            line("100644", "blob", "screens/a.toml"),
            line("120000", "blob", "screens/link.toml"),
            line("160000", "commit", "data"),
            line("100644", "blob", "README.md"),
            line("100644", "blob", "screens/.hidden"),
        ];
        let names: Vec<String> =
            entries(listed.concat().as_bytes(), "demo/").into_iter().map(|entry| entry.name).collect();
        let names: Vec<&String> = names.iter().filter(|name| ours(name)).collect();
        assert_eq!(names, ["device.toml", "screens/a.toml", "screens/link.toml"]);
        assert_eq!(led("icons/a.png", b"../art/./b.png").as_deref(), Some("art/b.png"));
        assert_eq!(led("icons/a.png", b"../../b.png"), None);
        assert_eq!(led("icons/a.png", b"/b.png"), None);
    }

    #[test]
    fn contents_may_hold_line_feeds_and_must_be_whole() {
        let entry = |object: &str| Entry { object: object.to_owned(), bytes: 0, name: String::new(), link: false };
        let output = b"a1 blob 3\n\n\nx\nb2 blob 0\n\n";
        let contents = split_batch(output, &[entry("a1"), entry("b2")]);
        assert_eq!(contents, Some(vec![b"\n\nx".to_vec(), Vec::new()]));
        assert_eq!(split_batch(&output[..12], &[entry("a1"), entry("b2")]), None);
        assert_eq!(split_batch(b"a1 missing\n", &[entry("a1")]), None);
    }
}
