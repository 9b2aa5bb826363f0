//! Alternatives of a project: named lists of changes that stand in its `device.toml`, each a whole project once they are
//! applied. Not for how one change is made: see [`super::set`].

use crate::source::fault::Fault;
use crate::source::files::Files;
use toml_edit::DocumentMut;

/// The path that chooses an alternative among changes: `alternative=small-cell`.
pub const PATH: &str = "alternative";

fn document(files: &Files) -> Option<DocumentMut> {
    std::str::from_utf8(files.bytes("device.toml")?).ok()?.parse().ok()
}

/// The names of a project's alternatives, as they stand in it; none where it cannot be read.
pub fn names(files: &Files) -> Vec<String> {
    let document = document(files);
    let table = document.as_ref().and_then(|document| document.get("alternatives")?.as_table_like());
    table.map_or_else(Vec::new, |table| table.iter().map(|(name, _)| name.to_owned()).collect())
}

/// The changes of an alternative.
///
/// # Errors
/// There is none of that name, or what it sets is no list of texts.
pub fn changes(files: &Files, name: &str) -> Result<Vec<String>, Fault> {
    let there = names(files);
    if !there.iter().any(|other| other == name) {
        let fault = Fault::plain(format!("the project has no alternative `{name}`"));
        let help = match there.is_empty() {
            true => "write [alternatives.NAME] with set = [\"path.to.value=...\"] in device.toml".to_owned(),
            false => format!("it has {}", there.join(", ")),
        };
        return Err(fault.help(help));
    }
    let document = document(files);
    let set = document.as_ref().and_then(|document| document.get("alternatives")?.get(name)?.get("set")?.as_array());
    let texts = set.map(|set| set.iter().map(|value| value.as_str().map(str::to_owned)).collect::<Option<Vec<_>>>());
    texts.flatten().ok_or_else(|| {
        let fault = Fault::plain(format!("the alternative `{name}` sets nothing that can be read"));
        fault.help("write set = [\"path.to.value=...\", ...], each as for --set")
    })
}

/// The name that a change chooses; `None` for a change of a value.
pub fn chosen(change: &str) -> Option<&str> {
    let (path, name) = change.split_once('=')?;
    (path.trim() == PATH).then(|| name.trim().trim_matches('"'))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::project::set::apply_all;

    const TEXT: &str = "[board.mcu]\nsleep = \"2 uA\"\nwake = \"1 ms\"\n\
                        [alternatives.b-slow]\nset = [\"board.mcu.wake=5 ms\", \"board.mcu.sleep=1 uA\"]\n\
                        [alternatives.a-none]\nset = []\n[alternatives.odd]\nset = [3]\n";

    fn files() -> Files {
        Files::from_memory([("device.toml", TEXT)])
    }

    fn text(files: &Files) -> String {
        String::from_utf8(files.bytes("device.toml").unwrap().to_vec()).unwrap()
    }

    #[test]
    fn an_alternative_stands_for_its_changes_and_later_ones_win() {
        assert_eq!(names(&files()), ["b-slow", "a-none", "odd"]);
        let mut found = files();
        let changes = ["alternative=b-slow", "board.mcu.sleep=3 uA"].map(str::to_owned);
        apply_all(&mut found, &changes).unwrap();
        let found = text(&found);
        assert!(found.contains("wake = \"5 ms\"") && found.contains("sleep = \"3 uA\""), "{found}");
        let mut same = files();
        apply_all(&mut same, &["alternative=a-none".to_owned()]).unwrap();
        assert_eq!(text(&same), TEXT);
    }

    #[test]
    fn a_name_that_is_not_there_and_a_list_of_numbers_are_refused() {
        let refused = |name: &str| apply_all(&mut files(), &[format!("alternative={name}")]).unwrap_err();
        let none = refused("other");
        assert!(none.message.contains("no alternative `other`"), "{}", none.message);
        assert!(format!("{:?}", none).contains("b-slow, a-none, odd"));
        assert!(refused("odd").message.contains("sets nothing that can be read"));
    }
}
