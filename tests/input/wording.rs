//! What messages say to a new user: examples in the unit and magnitude of the key, and the unit that was meant.

use crate::starter::{Project, run};
use inkjoule::project::load_files;
use inkjoule::source::files::Files;
use std::path::Path;

/// The faults of the demo with one text of a file replaced, each with its help.
fn said(file: &str, from: &str, to: &str) -> String {
    let read = Files::read(Path::new("screens-demo")).expect("the demo");
    let text = String::from_utf8_lossy(read.bytes(file).expect("there")).into_owned();
    assert!(text.contains(from), "{file} does not contain {from:?}");
    let mut files = read;
    files.replace(file, text.replacen(from, to, 1));
    load_files(files).map(|_| ()).expect_err(to).to_string()
}

/// A life was once shown as 250 ms.
#[test]
fn examples_are_of_the_size_of_their_key() {
    for (from, to, example, help) in [
        ("life = \"60 d\"", "life = 60", "200 d", "60 d"),
        ("latency = \"6 s\"", "latency = 6", "1 s", "6 s"),
        ("update-energy = \"150 mJ\"", "update-energy = 150", "50 mJ", "150 mJ"),
        ("period = \"10 s\"", "period = 10", "10 s", "10 s"),
        ("period = \"24 h\"", "period = 24", "24 h", "24 h"),
        ("min-interval = \"180 s\"", "min-interval = 180", "60 s", "180 s"),
        ("spread = \"30 %\"", "spread = 30", "20 %", "30 %"),
        ("every = \"1 h\"", "every = 1", "15 min", "1 min"),
        ("ram = \"6 KiB\"", "ram = 6144", "10 KiB", "6144 B"),
        ("after = \"2 s\"", "after = 2", "2 s", "2 s"),
    ] {
        let said = said("device.toml", from, to);
        assert!(said.contains(&format!("such as \"{example}\"")), "{to}: {said}");
        assert!(said.contains(&format!("write \"{help}\", or another unit")), "{to}: {said}");
    }
    let said = said("screens/post.toml", "wait = \"2 min\"", "wait = 2");
    assert!(
        said.contains("such as \"30 s\"") && said.contains("(s, ms, us, ns, min, h, d, week, month, year)"),
        "{said}"
    );
}

#[test]
fn helps_say_what_to_write() {
    for (file, from, to, help) in [
        ("device.toml", "\"32 MHz\"", "\"32 Mhz\"", "did you mean `MHz`?"),
        ("device.toml", "typ = \"2.1 mA\"", "typ = \"2.1 ma\"", "did you mean `mA`?"),
        ("device.toml", "core = \"cortex-m0\"", "cycles-per-pixel = \"18\"", "leave out the quotes: 18"),
        ("device.toml", "core = \"cortex-m0\"", "cycles-per-pixel = -18", "takes more than 0 cycles"),
        (
            "device.toml",
            "signal = { random-walk = { step = 0.8 } }",
            "signal = \"random-walk\"",
            "write signal = { random-walk = { ... } }",
        ),
        ("screens/post.toml", "[[after]]", "[after]", "write a heading in double brackets for each, [[after]]"),
        ("screens/tonight.toml", "width = 172", "width = -172", "found `-172`, expected a whole number from 0 on"),
    ] {
        let said = said(file, from, to);
        assert!(said.contains(help), "{to}: {said}");
    }
    // What stands in the label is not said again.
    let said = said("screens/tonight.toml", "align = \"end\"", "align = \"right\"");
    assert_eq!(said.matches("center").count(), 1, "{said}");
}

/// "this keys runs into the text".
#[test]
fn elements_whose_key_is_no_noun_have_one() {
    let project = Project::new();
    let content = "content = [ { text = \"under the labels\", at = [20, 114] }, { keys = \"ticks\", bottom = 15 } ]";
    let keys = "[keys]\n1 = { label = \"Back\", go = \"home\" }";
    project.write("screens/other.toml", format!("{content}\n\n{keys}\n").as_bytes());
    let shown = run(&["check", project.path()]);
    assert!(shown.stderr.contains("this row of key labels runs into the text"), "{}", shown.stderr);
}
