//! Every path of the project that a page names is there.

use std::path::{Path, PathBuf};

/// How paths of the project begin where they are named in words.
const TOP: [&str; 5] = [".ci/", "fonts/", "screens-demo/", "src/", "tests/"];

fn pages(folder: &Path, found: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(folder).expect("a folder").flatten() {
        let path = entry.path();
        if path.is_dir() {
            if !["target", ".git", "golden"].iter().any(|name| path.ends_with(name)) {
                pages(&path, found);
            }
        } else if path.extension().is_some_and(|ending| ending == "md") {
            found.push(path);
        }
    }
}

/// Paths in a page's words and examples, from the root of the project; and targets of its links, from its own folder.
fn named(page: &str) -> (Vec<String>, Vec<String>) {
    let ends = |c: char| c.is_whitespace() || "`()[]{}<>\"',;|:#".contains(c);
    let words = page.split(ends).map(|word| word.trim_end_matches('.'));
    let paths = words.filter(|word| TOP.iter().any(|top| word.starts_with(top))).map(str::to_owned).collect();
    let links = page.split("](").skip(1).filter_map(|rest| rest.split_once(')')).map(|(target, _)| target);
    let links = links.filter(|target| !target.contains("://") && !target.starts_with('#'));
    (paths, links.map(|target| target.split('#').next().unwrap_or_default().to_owned()).collect())
}

/// Whether a path is there; `*` stands for any letters in its last name.
fn there(root: &Path, path: &str) -> bool {
    let (folder, name) = path.trim_end_matches('/').rsplit_once('/').unwrap_or(("", path));
    let Some((start, end)) = name.split_once('*') else { return root.join(path).exists() };
    let names = std::fs::read_dir(root.join(folder)).into_iter().flatten().flatten();
    names
        .map(|entry| entry.file_name().to_string_lossy().into_owned())
        .any(|name| name.len() >= start.len() + end.len() && name.starts_with(start) && name.ends_with(end))
}

#[test]
fn paths_in_words_and_links_are_found() {
    let (paths, links) = named("See `src/lib.rs`, [a page](guide/x.md#y) and tests/a_*.rs. <https://a/src/b>");
    assert_eq!(
        (paths, links),
        (vec!["src/lib.rs".to_owned(), "tests/a_*.rs".to_owned()], vec!["guide/x.md".to_owned()])
    );
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    assert!(there(root, "src/*.md") && there(root, "tests/house/") && !there(root, "src/*.nope"));
}

#[test]
fn every_path_that_a_page_names_is_there() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut all = Vec::new();
    pages(root, &mut all);
    assert!(all.len() > 20, "{all:?}");
    let mut missing = Vec::new();
    let mut seen = 0;
    for page in all {
        let (paths, links) = named(&std::fs::read_to_string(&page).expect("UTF-8"));
        let own = page.parent().expect("a folder");
        // In the guide, `fonts/` is a folder of the reader's project.
        let guide = own.ends_with("src/guide");
        // Below tests/ a page may also name what lies beside it.
        let known = |path: &String| guide && path.starts_with("fonts/") || there(root, path) || there(own, path);
        let gone = paths.iter().filter(|path| !known(path));
        missing
            .extend(gone.chain(links.iter().filter(|link| !there(own, link))).map(|path| (page.clone(), path.clone())));
        seen += paths.len() + links.len();
    }
    assert!(seen > 100, "{seen} paths are not all");
    assert!(missing.is_empty(), "named and not there: {missing:#?}");
}
