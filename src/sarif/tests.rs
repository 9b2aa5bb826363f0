//! What the document says, held against the rules of the standard.

use super::*;

const PROJECT: &str = "title = \"Höhe 😀\" # 😀\nkeys = 1\n";

fn run<'a>(entries: &'a [Entry<'a>], sources: &'a Sources, levels: &'a Levels) -> Value {
    let folder = Folder { shown: PathBuf::from("p"), inside: PathBuf::from("a b/p"), outside: None };
    document(&Run { entries, sources, levels, folder, status: 1 })
}

#[test]
fn columns_count_code_points_as_stated() {
    let mut sources = Sources::default();
    let start = sources.add("p/screens/höhe.toml", PROJECT);
    let quoted = PROJECT.find("\"H").unwrap()..PROJECT.find(" #").unwrap();
    let fault = Fault::at(start + quoted.start..start + quoted.end, "a {text} of [4](5) \u{1b}").lint("text-cut");
    let entries = [Entry { fault: &fault, shown: Some(("home", "pl")) }];
    let log = run(&entries, &sources, &Levels::default());
    assert_eq!(log["runs"][0]["columnKind"], "unicodeCodePoints");
    let result = &log["runs"][0]["results"][0];
    let place = &result["locations"][0]["physicalLocation"];
    // `title = ` are 8 characters; the text with its quotes is 8 more, of which two take 2 and 4 bytes.
    let region = json!({ "startLine": 1, "startColumn": 9, "endLine": 1, "endColumn": 17 });
    assert_eq!(place["region"], region);
    // RFC 3986: a space and what is not ASCII are percent-encoded bytes of UTF-8.
    assert_eq!(place["artifactLocation"], json!({ "uri": "a%20b/p/screens/h%C3%B6he.toml", "uriBaseId": "ROOT" }));
    assert_eq!(result["message"]["text"], "a {{text}} of [4] (5) \u{1b}");
    let rule = &log["runs"][0]["tool"]["driver"]["rules"][result["ruleIndex"].as_u64().unwrap() as usize];
    assert_eq!((&rule["id"], &result["ruleId"]), (&json!("text-cut"), &json!("text-cut")));
    assert_eq!(result["properties"], json!({ "screen": "home", "locale": "pl" }));
}

#[test]
fn faults_without_a_file_or_a_name_are_results_too() {
    let mut sources = Sources::default();
    let built_in = sources.add("<built-in panels/mono.toml>", "x = 1\n");
    let faults = [Fault::plain("no place"), Fault::at(built_in..built_in + 1, "in a profile").warning()];
    let entries = faults.each_ref().map(|fault| Entry { fault, shown: None });
    let log = run(&entries, &sources, &Levels::default());
    let results = &log["runs"][0]["results"];
    assert_eq!((&results[0]["ruleId"], &results[0]["level"]), (&json!(rules::FILES), &json!("error")));
    assert!(results[0].get("locations").is_none());
    let name = &results[1]["locations"][0]["logicalLocations"][0]["fullyQualifiedName"];
    assert_eq!((name, &results[1]["level"]), (&json!("<built-in panels/mono.toml>:1:1"), &json!("warning")));
}

#[test]
fn paths_are_relative_to_the_folder_of_the_run_or_to_the_project() {
    let folder = tempfile::tempdir().unwrap();
    let here = std::fs::canonicalize(folder.path()).unwrap();
    std::fs::create_dir_all(here.join("run/p")).unwrap();
    std::fs::create_dir_all(here.join("other #1")).unwrap();
    std::fs::write(here.join("run/p/device.toml"), "").unwrap();
    let run_in = here.join("run");
    for (project, file) in [("p", "p/device.toml"), ("./p", "./p/device.toml"), ("p/../p", "p/../p/device.toml")] {
        let inside = Folder::of(Path::new(project), &run_in);
        assert_eq!((inside.uri(file).as_str(), &inside.outside), ("p/device.toml", &None), "{project}");
        assert!(!inside.bases().to_string().contains("file:"), "nothing of the machine's own");
    }
    let absolute = run_in.join("p");
    assert_eq!(
        Folder::of(&absolute, &run_in).uri(&absolute.join("screens/a.toml").to_string_lossy()),
        "p/screens/a.toml"
    );
    let outside = Folder::of(Path::new("../other #1"), &run_in);
    assert_eq!(outside.uri("../other #1/screens/a.toml"), "screens/a.toml");
    let base = outside.bases()["ROOT"]["uri"].as_str().unwrap().to_owned();
    assert!(base.starts_with("file:///") && base.ends_with("/other%20%231/"), "{base}");
}
