//! Every crate that is built in has a licence that deny.toml allows and comes from the registry. `cargo deny` looks at
//! more, but has to be installed; this needs nothing but cargo, and no network.

use serde_json::Value;
use std::collections::BTreeSet;
use std::process::Command;

/// Every crate that is built on this system, from what cargo has at hand.
fn packages() -> Vec<Value> {
    let version = Command::new("rustc").arg("-vV").output().expect("rustc runs");
    let version = String::from_utf8_lossy(&version.stdout).into_owned();
    let host = version.lines().find_map(|line| line.strip_prefix("host: ")).expect("the system's name");
    let metadata = Command::new(env!("CARGO"))
        .args(["metadata", "--format-version", "1", "--locked", "--offline", "--filter-platform", host])
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .output()
        .expect("cargo runs");
    assert!(metadata.status.success(), "{}", String::from_utf8_lossy(&metadata.stderr));
    let all: Value = serde_json::from_slice(&metadata.stdout).expect("JSON");
    let packages = all["packages"].as_array().expect("packages");
    packages.iter().filter(|package| package["name"] != "inkjoule").cloned().collect()
}

/// Whether an SPDX expression of licences can be met by those allowed.
fn met(expression: &str, allowed: &BTreeSet<String>) -> bool {
    // `/` is the old way to write OR; AND binds more strongly than OR.
    let flat = expression.replace('/', " OR ");
    if let Some((before, rest)) = flat.split_once('(') {
        let Some((inner, after)) = rest.split_once(')') else { return false };
        let stands_for = if met(inner, allowed) { "MET" } else { "UNMET" };
        return met(&format!("{before}{stands_for}{after}"), allowed);
    }
    let one = |licence: &str| licence == "MET" || allowed.contains(licence);
    flat.split(" OR ").any(|all| all.split(" AND ").all(|licence| one(licence.trim())))
}

#[test]
fn expressions_of_licences_are_read() {
    let allowed = BTreeSet::from(["MIT".to_owned(), "Zlib".to_owned()]);
    for (expression, is_met) in [
        ("MIT", true),
        ("GPL-3.0-only", false),
        ("GPL-3.0-only OR MIT", true),
        ("Apache-2.0/MIT", true),
        ("MIT AND GPL-3.0-only", false),
        ("(GPL-3.0-only OR MIT) AND Zlib", true),
        ("Zlib AND (GPL-3.0-only OR Apache-2.0)", false),
    ] {
        assert_eq!(met(expression, &allowed), is_met, "{expression}");
    }
}

#[test]
fn every_crate_has_an_allowed_licence_and_comes_from_the_registry() {
    let deny: toml::Table = include_str!("../../deny.toml").parse().expect("sound TOML");
    let allowed = deny["licenses"]["allow"].as_array().expect("a list").iter();
    let allowed: BTreeSet<String> = allowed.filter_map(|licence| licence.as_str().map(str::to_owned)).collect();
    let packages = packages();
    assert!(packages.len() > 50, "{} crates are not all", packages.len());
    for package in packages {
        let licence = package["license"].as_str().unwrap_or("none stated");
        assert!(met(licence, &allowed), "{} {}: {licence}", package["name"], package["version"]);
        let source = package["source"].as_str().unwrap_or("a folder");
        assert!(source.starts_with("registry+"), "{} comes from {source}", package["name"]);
    }
}
