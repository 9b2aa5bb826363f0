//! Every example of the guide is run. The blocks of a page are done in order, in a folder that holds a copy of the demo and
//! a starter project `product`:
//!
//! - `toml device.toml` is laid over the starter's own, key by key; `toml FILE` becomes that file of `product`;
//! - `c FILE`, `rust FILE`, `csv FILE`, `yaml FILE` and `text FILE` become a file of the folder (a script for `play`, say);
//! - `sh` is run by the shell, and must succeed; `text output`: each of its lines stands in what the commands before printed;
//! - `text machine` is quoted from the documentation of the machine.
//!
//! After the last block `product` must load and check without an error. A block without such a mark fails.

use std::path::Path;
use std::process::Command;

use inkjoule::guide::{PAGES, keys};

struct Block {
    mark: String,
    text: String,
}

/// The fenced blocks of a page.
fn blocks(page: &str) -> Vec<Block> {
    let mut blocks: Vec<Block> = Vec::new();
    let mut inside = false;
    for line in page.lines() {
        match (inside, line.strip_prefix("```")) {
            (false, Some(mark)) => {
                blocks.push(Block { mark: mark.to_owned(), text: String::new() });
                inside = true;
            }
            (true, Some(_)) => inside = false,
            (true, None) => {
                let block = blocks.last_mut().expect("one is open");
                block.text += line;
                block.text.push('\n');
            }
            (false, None) => {}
        }
    }
    assert!(!inside, "a block is not closed");
    blocks
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).expect("a folder");
    for entry in std::fs::read_dir(from).expect("a folder") {
        let entry = entry.expect("an entry");
        let target = to.join(entry.file_name());
        if entry.path().is_dir() {
            copy(&entry.path(), &target)
        } else {
            std::fs::copy(entry.path(), target).expect("copied");
        }
    }
}

fn shell(page: &str, script: &str, folder: &Path) -> String {
    let program = Path::new(env!("CARGO_BIN_EXE_inkjoule"));
    let path =
        format!("{}:{}", program.parent().expect("a folder").display(), std::env::var("PATH").unwrap_or_default());
    let mut shell = Command::new("sh");
    shell.args(["-e", "-c", script]).current_dir(folder).env("PATH", path);
    let output = shell.env_remove("DISPLAY").env_remove("WAYLAND_DISPLAY").output().expect("a shell");
    let said = String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "the page `{page}`:\n{script}\n{said}");
    said
}

fn lay_over(under: &mut toml::Table, over: toml::Table) {
    for (key, value) in over {
        match (under.get_mut(&key), value) {
            (Some(toml::Value::Table(under)), toml::Value::Table(over)) => lay_over(under, over),
            (_, value) => drop(under.insert(key, value)),
        }
    }
}

fn machine() -> String {
    let source = std::fs::read_to_string("src/machine/mod.rs").expect("there");
    source.lines().map_while(|line| line.strip_prefix("//!")).map(|line| line.trim_start().to_owned() + "\n").collect()
}

fn run(name: &str, page: &str) {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    copy(Path::new("screens-demo"), &folder.join("screens-demo"));
    shell(name, "inkjoule new product", folder);
    let product = folder.join("product");
    let mut said = String::new();
    for Block { mark, text } in blocks(page) {
        match mark.split_once(' ').unwrap_or((&mark, "")) {
            ("sh", "") => said = shell(name, &text, folder),
            ("text", "output") => {
                // Lines are parted where they would be too long.
                let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
                for line in text.lines() {
                    assert!(
                        said.contains(line.trim()) || flat.contains(line.trim()),
                        "the page `{name}` promises {line:?}, not\n{said}"
                    );
                }
            }
            ("text", "machine") => {
                assert!(machine().contains(&text), "the page `{name}` does not quote the machine:\n{text}")
            }
            ("toml", "device.toml") => {
                let over: toml::Table = text.parse().unwrap_or_else(|why| panic!("the page `{name}`: {why}\n{text}"));
                let device = product.join("device.toml");
                let mut whole: toml::Table = std::fs::read_to_string(&device).expect("there").parse().expect("TOML");
                lay_over(&mut whole, over);
                std::fs::write(device, whole.to_string()).expect("written");
            }
            ("toml", file) if !file.is_empty() => {
                let file = product.join(file);
                std::fs::create_dir_all(file.parent().expect("a folder")).expect("made");
                std::fs::write(file, text).expect("written");
            }
            ("c" | "rust,ignore" | "csv" | "text" | "yaml", file) if !file.is_empty() => {
                std::fs::write(folder.join(file), text).expect("written")
            }
            _ => panic!("the page `{name}` has a block `{mark}` that nothing runs"),
        }
    }
    shell(name, "inkjoule check product", folder);
}

#[test]
fn every_example_of_the_guide_works() {
    std::thread::scope(|scope| {
        let pages: Vec<_> = PAGES.iter().map(|page| (page.name, scope.spawn(|| run(page.name, page.text)))).collect();
        let failed: Vec<&str> =
            pages.into_iter().filter_map(|(name, page)| page.join().is_err().then_some(name)).collect();
        assert!(failed.is_empty(), "these pages fail, as said above: {failed:?}");
    });
}

#[test]
fn pages_are_neither_empty_nor_without_way_on() {
    let all: String = PAGES.iter().map(|page| page.text).collect();
    for page in PAGES {
        assert!(page.text.starts_with("# ") && page.title().len() > 8, "{}", page.name);
        assert!(page.text.len() > 800, "{} says nothing", page.name);
        // Where another page is named, there is one.
        for other in page.text.split("inkjoule guide ").skip(1) {
            let name: String = other.chars().take_while(|c| c.is_ascii_lowercase() || *c == '-').collect();
            assert!(
                name.is_empty() || name == "keys" || PAGES.iter().any(|page| page.name == name),
                "{}: {name}",
                page.name
            );
        }
    }
    let readme = std::fs::read_to_string("README.md").expect("there");
    for page in PAGES {
        assert!(readme.contains(&format!("src/guide/{}.md", page.name)), "the README does not lead to {}", page.name);
    }
    // Kinds of element and exports are named somewhere.
    for kind in inkjoule::elements::KINDS {
        assert!(all.contains(&format!("`{}`", kind.name)), "no page speaks of `{}`", kind.name);
    }
}

#[test]
fn the_reference_has_every_key_of_the_schema() {
    fn names(schema: &serde_json::Value, found: &mut Vec<String>) {
        match schema {
            serde_json::Value::Object(table) => {
                if let Some(properties) = table.get("properties").and_then(|properties| properties.as_object()) {
                    found.extend(properties.keys().cloned());
                }
                table.values().for_each(|value| names(value, found));
            }
            serde_json::Value::Array(values) => values.iter().for_each(|value| names(value, found)),
            _ => {}
        }
    }
    use inkjoule::project::schema::{File, schema};
    let reference = keys();
    let said = |key: &str| {
        let ends = ["`", ".", "["]
            .iter()
            .any(|end| [".", "`"].iter().any(|start| reference.contains(&format!("{start}{key}{end}"))));
        assert!(ends, "the reference lacks `{key}`");
    };
    for file in [File::Device, File::Screen] {
        let mut found = Vec::new();
        names(&schema(file).to_value(), &mut found);
        assert!(found.len() > 30);
        found.iter().for_each(|key| said(key));
    }
    // A quantity's tolerance is explained once, not at each of its keys.
    assert!(!reference.contains(".typ`") && reference.contains("- a current with its unit (A, mA, uA, nA)"));
    assert!(reference.lines().count() < 1100, "{} lines", reference.lines().count());
    for kind in inkjoule::elements::KINDS {
        assert!(reference.contains(&format!("### {}\n", kind.name)));
    }
    // What comes from doc comments comes with its sentence.
    assert!(reference.contains("- `name`: text, required. The product's name."), "{}", &reference[..600]);
}

#[test]
fn every_lint_of_the_flow_is_told() {
    let page = inkjoule::guide::page("checking").expect("the page").text;
    let flow = inkjoule::source::levels::LINTS.iter().skip_while(|lint| lint.id != "unreachable");
    let missing: Vec<&str> = flow.map(|lint| lint.id).filter(|id| !page.contains(&format!("`{id}`"))).collect();
    assert_eq!(missing, [""; 0]);
}
