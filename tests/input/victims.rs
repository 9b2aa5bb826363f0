//! One fault at the cause: who asks for what was refused is not told too; and all that can be known is told in one run.

use crate::starter::{Project, run};
use inkjoule::project::{ProjectFault, load_files};
use inkjoule::source::files::Files;
use std::path::Path;

/// What the loading of the demo says after some edits of its files.
fn failed(edits: &[(&str, &str, &str)]) -> ProjectFault {
    let read = Files::read(Path::new("screens-demo")).expect("the demo");
    let file = |name: &str| (name.to_owned(), read.bytes(name).expect("there").to_vec());
    let mut files: Vec<(String, Vec<u8>)> = read.names().map(file).collect();
    for (name, from, to) in edits {
        let file = files.iter_mut().find(|(known, _)| known == name).expect("there");
        let text = String::from_utf8_lossy(&file.1).into_owned();
        assert!(text.contains(from), "{name} does not contain {from:?}");
        file.1 = text.replacen(from, to, 1).into_bytes();
    }
    *load_files(Files::from_memory(files)).map(|_| ()).expect_err("a fault")
}

fn said(edits: &[(&str, &str, &str)]) -> Vec<String> {
    failed(edits).faults.into_iter().map(|fault| fault.message).collect()
}

/// A heading that is not well-formed took every table of the board with it: the rails were missed, and a panel with a
/// supply window ended the program.
#[test]
fn a_board_behind_a_broken_heading_is_not_missed() {
    let said = said(&[("device.toml", "[board.bus]", "[[board.bus]")]);
    assert!(said.len() == 1 && said[0].contains("not well-formed"), "{said:?}");
}

#[test]
fn users_of_a_refused_entry_are_not_told() {
    let font = "[fonts.big]\nfil = \"fonts/big.ttf\"\nsize = 20\n\n[policy]";
    let device = "device.toml";
    for (edits, message) in [
        (
            vec![(device, "[policy]", font), ("screens/tonight.toml", "font = \"bold\"", "font = \"big\"")],
            "the key `fil` is not known here",
        ),
        (vec![(device, "by = \"units\"\nunits", "units")], "the key `by` is missing"),
        (vec![(device, "by = \"units\"\nunits", "byy = \"units\"\nunits")], "the key `byy` is not known here"),
        (vec![(device, "by = \"units\"", "by = \"unit\"")], "there is no field `unit`"),
        (vec![(device, "{ unit = \"°C\", decimals", "{ name = \"°C\", decimals")], "the key `name` is not known here"),
        (vec![(device, "choices = [\"°C\", \"°F\"]", "choices = \"°C\"")], "found the text \"°C\", expected a list"),
        (vec![(device, "[fields.chosen]", "[field.chosen]")], "the key `field` is not known here"),
        (vec![(device, "[board.rails.core]", "[board.rail.core]")], "the key `rail` is not known here"),
        (vec![(device, "[events.report]", "[event.report]")], "the key `event` is not known here"),
        (vec![(device, "range = [-5, 5]", "rnage = [-5, 5]")], "the key `rnage` is not known here"),
        (vec![(device, "mounted = 90", "mounted = 45")], "a panel cannot be mounted at 45 degrees"),
        (vec![(device, "mounted = 90", "monted = 90")], "the key `monted` is not known here"),
        (vec![("parts/status.toml", "content = [", "contents = [")], "the key `contents` is not known here"),
        (vec![("screens/post.toml", "content = [", "contents = [")], "the key `contents` is not known here"),
        (vec![("screens/tonight.toml", "@dew-point", "@dew-pint")], "there is no string `dew-pint`"),
        (vec![("screens/tonight.toml", "by = \"risk\", ", "")], "the key `by` is missing"),
    ] {
        let mut all = said(&edits);
        all.dedup();
        assert_eq!(all, [message], "{edits:?}");
    }
}

/// A wrong key, the key that is missing for it, and the table that is empty then are one mistake.
#[test]
fn one_wrong_key_is_one_fault() {
    let device = "device.toml";
    for (from, to, message) in [
        ("cycle = { low = -1.6", "cycel = { low = -1.6", "`cycel` is not one of the values allowed here"),
        ("cycle = { low = -1.6", "cycle = { lwo = -1.6", "the key `lwo` is not known here"),
        ("{ go = \"off\" }", "{ goo = \"off\" }", "`goo` is not one of the values allowed here"),
        ("{ low = \"1 °C\", high", "{ lwo = \"1 °C\", high", "the key `lwo` is not known here"),
    ] {
        assert_eq!(said(&[(device, from, to)]), [message], "{to}");
    }
    for (from, to, message) in [
        ("by = \"linked\"", "by = \"lnked\"", "there is no field `lnked`"),
        ("to = [\"lost\", \"tonight\"]", "to = [\"lost\"]", "`linked` does not count these screens"),
    ] {
        assert_eq!(said(&[("screens/post.toml", from, to)]), [message], "{to}");
    }
}

#[test]
fn text_that_is_not_well_formed_is_one_fault() {
    for (file, from, to) in [
        ("device.toml", "[fields.dew]\n", "[fields.dew\n"),
        ("device.toml", "[events.report] ", "[events.report "),
        ("device.toml", "output = \"2.8 V\"", "output = 2.8 V"),
        ("parts/status.toml", "{ text = \"$title\"", "{ text = \"$title"),
        ("screens/post.toml", "{ keys = \"ticks\"", "{ keys = \"ticks"),
        ("screens/tonight.toml", "bottom = 15 },", "bottom = 15 }"),
        ("strings/en.toml", "tonight = ", "tonight "),
    ] {
        let all = said(&[(file, from, to)]);
        assert!(all.len() == 1 && all[0].starts_with("this is not well-formed TOML"), "{to}: {all:#?}");
    }
    let two = [("device.toml", "output = \"2.8 V\"", "output = 2.8 V"), ("device.toml", "days = 7", "days = = 7")];
    assert_eq!(said(&two).len(), 2, "mistakes apart from one another are all told");
}

/// A field that was renamed was blamed on each of its users.
#[test]
fn a_name_that_many_ask_for_is_told_once_with_the_places() {
    let failed = failed(&[("device.toml", "[fields.air] ", "[fields.aer] ")]);
    assert_eq!(failed.faults.len(), 1, "{failed}");
    let fault = &failed.faults[0];
    assert_eq!(fault.help.as_deref(), Some("did you mean `aer`?"));
    assert!(fault.label.starts_with("also asked for at device.toml:"), "{}", fault.label);
    assert!(fault.label.ends_with("more places"), "{}", fault.label);
}

/// Each missing letter was once a fault of its own.
#[test]
fn a_fonts_missing_characters_are_one_fault() {
    let failed = failed(&[("parts/status.toml", "font = \"small\", grow", "font = \"numerals\", grow")]);
    assert_eq!(failed.faults.len(), 1, "{failed}");
    let fault = &failed.faults[0];
    assert!(fault.message.starts_with("the font `numerals` has no `A`, `B`, `D`"), "{}", fault.message);
    assert!(fault.message.ends_with("more characters"), "{}", fault.message);
    assert!(fault.label.starts_with("needed on night, ") && fault.label.contains("more screens"), "{}", fault.label);
}

/// What stands behind it in the row was blamed, eleven times.
#[test]
fn what_is_too_wide_in_a_row_is_named_itself() {
    let project = Project::new();
    let row =
        "{ row = [ { text = \"one\", width = 900 }, { text = \"two\" }, { column = [ { text = \"three\" } ] } ] }";
    project.write("screens/other.toml", format!("content = [ {row} ]\n").as_bytes());
    let shown = run(&["check", project.path()]);
    assert_eq!(shown.stderr.matches("error").count(), 1, "{}", shown.stderr);
    assert!(shown.stderr.contains("this takes 900 px, 296 are left"), "{}", shown.stderr);
}

/// Lints once came only when everything else was mended.
#[test]
fn lints_of_what_is_settled_come_with_the_other_faults() {
    let project = Project::new();
    project.edit("device.toml", "clock = \"16 MHz\"", "clock = 16");
    project.edit("device.toml", "steps = [ { look = \"5 s\" } ]", "steps = [ { press = 3, look = \"5 s\" } ]");
    let shown = run(&["check", project.path()]);
    assert_eq!(shown.status, 2);
    for part in ["clock = 16", "journey-derails", "not checked until this is mended: supply and latency, limits"] {
        assert!(shown.stderr.contains(part), "{part}: {}", shown.stderr);
    }
    // A rule that is at fault may lead anywhere: nothing is said of the flow.
    project.edit("screens/home.toml", "go = \"empty\"", "go = \"emtpy\"");
    let shown = run(&["check", project.path(), "--format", "json"]);
    let found: serde_json::Value = serde_json::from_str(&shown.stdout).expect("JSON");
    let unchecked = ["the flow", "other lints of the screens", "supply and latency", "limits"];
    assert_eq!(found["unchecked"], serde_json::json!(unchecked));
    assert_eq!(found["findings"].as_array().map(Vec::len), Some(2), "{found:#}");
}
