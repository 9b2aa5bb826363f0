//! `fonts` without a project: what is built in, and its specimens.

/// Before there is a project, the built-in fonts can be looked over.
#[test]
fn fonts_without_a_project_are_those_built_in() {
    let folder = tempfile::tempdir().expect("a folder");
    let fonts = |more: &[&str]| {
        let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_inkjoule"));
        command.arg("fonts").args(more).current_dir(folder.path()).output().expect("starts")
    };
    let shown = fonts(&["--out", "specimens", "--scale", "1"]);
    let said = String::from_utf8_lossy(&shown.stdout).into_owned();
    assert!(shown.status.success() && said.contains("condensed") && said.contains("text-slashed"), "{said}");
    assert!(!said.contains("flash (B)") && !said.contains("used"), "there is no project that uses them: {said}");
    for name in ["small-bold.png", "numerals.png", "built-in-icons.png"] {
        assert!(folder.path().join("specimens").join(name).exists(), "{name}");
    }
    let json: serde_json::Value = serde_json::from_slice(&fonts(&["--format", "json"]).stdout).expect("JSON");
    assert!(json["fonts"].as_array().is_some_and(|fonts| fonts.len() >= 9) && json["fonts"][0].get("used").is_none());
    // A project that is named and is none is an error, as everywhere.
    assert_eq!(fonts(&["nope"]).status.code(), Some(2));
    assert_eq!(fonts(&["--set", "name=x"]).status.code(), Some(2));
}
