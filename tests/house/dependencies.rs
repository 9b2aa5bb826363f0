//! Every dependency stands in src/crates.md with what it is for, and nothing stands there that is none.

use std::collections::BTreeSet;

fn section() -> &'static str {
    let text = include_str!("../../src/crates.md");
    let (_, rest) = text.split_once("# Dependencies").expect("the section");
    rest.split("\n## ").next().unwrap_or(rest)
}

#[test]
fn each_dependency_is_justified_once() {
    let manifest: toml::Table = include_str!("../../Cargo.toml").parse().expect("a manifest");
    let names = |table: &str| manifest[table].as_table().expect("a table").keys().cloned().collect::<BTreeSet<_>>();
    let mut wanted: BTreeSet<String> = names("dependencies").union(&names("dev-dependencies")).cloned().collect();
    for target in manifest["target"].as_table().into_iter().flat_map(toml::Table::values) {
        wanted.extend(target["dependencies"].as_table().into_iter().flat_map(toml::Table::keys).cloned());
    }
    let rows = section().lines().filter(|line| line.starts_with("| ") && !line.starts_with("| crate"));
    let mut found = BTreeSet::new();
    for row in rows {
        let (crates, why) = row[2..].split_once(" | ").expect("two columns");
        assert!(why.len() > 8, "{row}: what is it for?");
        for name in crates.replace("(tests)", "").replace("(no SDL)", "").split(',') {
            let name = name.trim().trim_matches('`').to_owned();
            assert!(found.insert(name.clone()), "{name} stands there twice");
        }
    }
    let missing: Vec<_> = wanted.difference(&found).collect();
    let gone: Vec<_> = found.difference(&wanted).collect();
    assert!(missing.is_empty() && gone.is_empty(), "without a line: {missing:?}; no dependency: {gone:?}");
}

/// `cargo run` and `cargo test` of the README share what is compiled: one profile, and one set of features of every crate.
/// Where the crates of the tests add a feature for the tests alone, everything above that crate is compiled twice.
#[test]
fn the_two_commands_of_the_readme_share_one_build() {
    let manifest: toml::Table = include_str!("../../Cargo.toml").parse().expect("a manifest");
    assert_eq!(
        manifest["package"]["resolver"].as_str(),
        Some("1"),
        "it takes the features of the tests' crates always"
    );
    let profiles = manifest["profile"].as_table().expect("profiles");
    assert_eq!(profiles.keys().map(String::as_str).collect::<Vec<_>>(), ["dev", "release"]);
}
