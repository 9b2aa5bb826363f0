//! `--set path.to.value=...`: changes one value of the project's text for one run.

use super::alternatives;
use crate::hardware::profiles;
use crate::limits;
use crate::source::fault::Fault;
use crate::source::files::Files;
use crate::units::ValueFault;
use crate::units::symbols::{factor, number};
use toml_edit::{DocumentMut, InlineTable, Item, Table, Value};

/// Applies one change to the files in memory.
///
/// The path begins with `screens`, `parts` or `strings` and a file's name for those files, and is otherwise
/// one of `device.toml`. A name with a dot or an equals sign stands in quotes, as in TOML. Numbers stand for positions in lists, counted from 0. A value that is not TOML is a text.
/// A path may lead into a list that a panel or battery has from its profile: the project gets a copy of the list.
/// A plain quantity where the project states one with its tolerance keeps the tolerance, in proportion; `path.typ`,
/// `path.min` and `path.max` set one of them alone.
///
/// # Errors
/// When the change is not of the form `path=value`, its file does not exist, or the path leads through a plain value.
pub fn apply(files: &mut Files, change: &str) -> Result<(), Fault> {
    const HELP: &str = "write --set path.to.value=...";
    let start = || -> String { change.chars().take(40).collect() };
    if change.len() > limits::SET_BYTES {
        let fault = format!("--set {}...: one change has at most {} bytes", start(), limits::SET_BYTES);
        return Err(Fault::plain(fault).help(HELP));
    }
    let fail = |why: String| Fault::plain(format!("--set {change}: {why}")).help(HELP);
    let (path, value) = split(change).ok_or_else(|| fail("there is no `=`".into()))?;
    let names = names(path).map_err(|why| fail(why.into()))?;
    if names.len() > limits::SET_NAMES {
        let fault = Fault::plain(format!("--set {}...: a path has at most {} names", start(), limits::SET_NAMES));
        return Err(fault.help(HELP));
    }
    let (file, keys) = placed(&names);
    let text = files.bytes(&file).and_then(|bytes| std::str::from_utf8(bytes).ok());
    let text = text.ok_or_else(|| fail(format!("there is no {file}")))?;
    let mut document: DocumentMut = text
        .parse()
        .map_err(|_| fail(format!("{file} is not well-formed TOML; run `inkjoule check` without --set")))?;
    let value: Value = value
        .trim()
        .parse()
        .ok()
        .filter(|value: &Value| !value.is_datetime())
        .unwrap_or_else(|| Value::from(value.trim()));
    let bases = match keys[0] {
        "panel" => bases(files, &document, "panel", "panels"),
        "battery" => bases(files, &document, "battery", "batteries"),
        _ => Vec::new(),
    };
    open_word(&mut document, &keys);
    let bases: Vec<&Item> = bases.iter().map(DocumentMut::as_item).collect();
    let stated = [document.as_item()].into_iter().chain(bases.iter().copied()).find_map(|item| at(item, &keys));
    let value = stated.and_then(|stated| toleranced(stated, &value)).unwrap_or(value);
    let place = descend(document.as_item_mut(), &keys, bases)
        .ok_or_else(|| fail("the path leads through a plain value".into()))?;
    *place = Item::Value(value);
    files.replace(&file, document.to_string());
    Ok(())
}

/// Applies changes one after the other; `alternative=NAME` stands for those of an alternative of the project.
///
/// # Errors
/// As [`apply`], and when there are too many.
pub fn apply_all(files: &mut Files, changes: &[String]) -> Result<(), Fault> {
    if changes.len() > limits::SETS {
        let fault =
            Fault::plain(format!("{} changes are too many; one run takes at most {}", changes.len(), limits::SETS));
        return Err(fault.help("write them into a copy of the project"));
    }
    for change in changes {
        match alternatives::chosen(change) {
            None => apply(files, change)?,
            Some(name) => {
                let own = alternatives::changes(files, name)?;
                own.iter().try_for_each(|change| apply(files, change))?;
            }
        }
    }
    Ok(())
}

/// Path and value of a change: what stands before and behind the first `=` outside quotes.
fn split(change: &str) -> Option<(&str, &str)> {
    let mut quote = None;
    let mut escaped = false;
    let at = change.char_indices().find(|(_, letter)| {
        match (quote, letter) {
            _ if std::mem::take(&mut escaped) => {}
            (Some('"'), '\\') => escaped = true,
            (Some(open), letter) if open == *letter => quote = None,
            (None, '"' | '\'') => quote = Some(*letter),
            (None, '=') => return true,
            _ => {}
        }
        false
    });
    // A quote that is never closed is a letter of a name.
    let at = at.map(|(at, _)| at).or_else(|| change.find('='))?;
    Some((&change[..at], &change[at + 1..]))
}

/// The names of a path, as TOML writes a dotted key: bare, or in quotes where they hold dots or equals signs. Bare ones
/// may hold anything else.
///
/// # Errors
/// What is wrong with the path.
pub fn names(path: &str) -> Result<Vec<String>, ValueFault> {
    let mut names = Vec::new();
    let mut rest = path.trim();
    loop {
        let quoted = rest.starts_with(['"', '\'']).then(|| quoted(rest)).flatten();
        let (name, after) = match quoted {
            Some(found) => found,
            None => {
                let end = rest.find('.').unwrap_or(rest.len());
                (rest[..end].trim().to_owned(), &rest[end..])
            }
        };
        if name.is_empty() {
            return Err(ValueFault("a name in the path is empty".to_owned()));
        }
        names.push(name);
        match after.trim_start().strip_prefix('.') {
            Some(next) => rest = next.trim_start(),
            None if after.trim().is_empty() => return Ok(names),
            None => {
                let why = "a quoted name in the path is followed by something else than a dot";
                return Err(ValueFault(why.to_owned()));
            }
        }
    }
}

/// A name in quotes at the beginning, and what follows it.
fn quoted(text: &str) -> Option<(String, &str)> {
    let quote = text.chars().next()?;
    let mut escaped = false;
    let end = text[1..].char_indices().find(|(_, letter)| {
        let ends = !escaped && *letter == quote;
        escaped = !escaped && quote == '"' && *letter == '\\';
        ends
    });
    let end = end?.0 + 2;
    let value: Value = text[..end].parse().ok()?;
    Some((value.as_str()?.to_owned(), &text[end..]))
}

/// The file that a path leads into, and the names inside it.
pub fn placed(names: &[String]) -> (String, Vec<&str>) {
    let keys: Vec<&str> = names.iter().map(String::as_str).collect();
    match keys[..] {
        [folder @ ("screens" | "parts" | "strings"), file, ref inside @ ..] if !inside.is_empty() => {
            (format!("{folder}/{file}.toml"), inside.to_vec())
        }
        _ => ("device.toml".to_owned(), keys),
    }
}

/// The profiles that a table of the project starts from, the nearest first, each as a project with that table alone.
fn bases(files: &Files, project: &DocumentMut, table: &str, folder: &str) -> Vec<DocumentMut> {
    let from = |item: Option<&Item>| Some(item?.get("from")?.as_str()?.to_owned());
    let mut next = from(project.get(table));
    let mut all = Vec::new();
    while let Some(name) = next.filter(|_| all.len() < profiles::LONGEST_CHAIN) {
        let own = files.bytes(&format!("{folder}/{name}.toml")).and_then(|bytes| std::str::from_utf8(bytes).ok());
        let text = own.or_else(|| profiles::text(folder, &name)).unwrap_or_default();
        let profile = text.parse::<DocumentMut>().unwrap_or_default();
        next = from(Some(profile.as_item()));
        let mut whole = DocumentMut::new();
        whole.insert(table, profile.as_item().clone());
        all.push(whole);
    }
    all
}

/// Words that may also be a table with one key.
const WORDS_OR_TABLES: &[&[&str]] = &[&["policy", "buffer"]];

/// Makes room where the path leads into a word that may be a table as well.
fn open_word(document: &mut DocumentMut, keys: &[&str]) {
    for path in WORDS_OR_TABLES.iter().filter(|path| keys.len() > path.len() && keys.starts_with(path)) {
        let found = path.iter().try_fold(document.as_item_mut(), |item, key| item.get_mut(key));
        if let Some(word) = found.filter(|item| item.is_str()) {
            *word = Item::Value(Value::InlineTable(InlineTable::new()));
        }
    }
}

/// What stands at a path.
fn at<'d>(item: &'d Item, keys: &[&str]) -> Option<&'d Item> {
    keys.iter().try_fold(item, |item, key| match key.parse::<usize>() {
        Ok(position) if item.is_array() || item.is_array_of_tables() => item.get(position),
        _ => item.get(key),
    })
}

/// A plain quantity with the tolerance of the one that it replaces, in proportion: 10 % more stay 10 % more. `None` where
/// there is no tolerance or nothing to scale, as with a typical value of 0.
fn toleranced(stated: &Item, value: &Value) -> Option<Value> {
    let text = |key: &str| number(stated.get(key)?.as_str()?);
    let (typ, unit) = text("typ")?;
    let plain = value.as_str().filter(|text| text.len() <= limits::QUANTITY)?;
    let (new, symbol) = number(plain)?;
    let mut out = InlineTable::new();
    out.insert("typ", value.clone());
    for key in ["min", "max"] {
        if let Some((end, end_unit)) = text(key) {
            let share = end * factor(end_unit, unit)? / typ;
            out.insert(key, Value::from(format!("{} {symbol}", new * share)));
        }
    }
    (typ != 0.0 && unit != "°C" && out.len() > 1).then_some(Value::InlineTable(out))
}

/// The place at a path; `bases` are what the profiles have there.
fn descend<'d>(item: &'d mut Item, keys: &[&str], bases: Vec<&Item>) -> Option<&'d mut Item> {
    let Some((key, rest)) = keys.split_first() else { return Some(item) };
    if let Ok(position) = key.parse::<usize>()
        && (item.is_array() || item.is_array_of_tables())
    {
        return descend(item.get_mut(position)?, rest, Vec::new());
    }
    if item.is_none() {
        *item = Item::Table(Table::new());
    }
    if !item.is_table_like() {
        // A quantity without a tolerance is its typical value.
        let typical = item.as_value().filter(|value| value.is_str()).cloned();
        let typical = typical.filter(|_| rest.is_empty() && ["min", "typ", "max", "source"].contains(key))?;
        *item = Item::Value(Value::InlineTable(InlineTable::from_iter([("typ", typical)])));
    }
    let bases: Vec<&Item> = bases.into_iter().filter_map(|base| base.get(key)).collect();
    let table = item.as_table_like_mut()?;
    if table.get(key).is_none() {
        let copied = bases.first().filter(|base| !rest.is_empty() && is_one_value(base)).map(|base| (*base).clone());
        let empty = || if rest.is_empty() { Item::Value(Value::from(false)) } else { Item::Table(Table::new()) };
        table.insert(key, copied.unwrap_or_else(empty));
    }
    descend(table.get_mut(key)?, rest, bases)
}

/// Whether a project's own value stands in place of the profile's as a whole: lists, and quantities with their spread.
fn is_one_value(item: &Item) -> bool {
    item.is_array() || item.is_array_of_tables() || item.get("typ").is_some()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(change: &str) -> Result<String, String> {
        let text = "name = 'x'\n[display]\nkeys = [{ centre = '4 mm' }, { centre = '9 mm' }]\n";
        let mut files = Files::from_memory([("device.toml", text), ("screens/a.toml", "title = 'A'\n")]);
        apply(&mut files, change).map_err(|fault| fault.message)?;
        let joined: Vec<_> = ["device.toml", "screens/a.toml"].iter().filter_map(|name| files.bytes(name)).collect();
        Ok(String::from_utf8(joined.concat()).unwrap())
    }

    #[test]
    fn values_are_replaced_or_added() {
        assert!(after("name=\"y\"").unwrap().contains("name = \"y\""));
        assert!(after("board.mcu.sleep=3 uA").unwrap().contains("sleep = \"3 uA\""));
        assert!(after("display.keys.1.centre=7 mm").unwrap().contains("{ centre = '4 mm' }, { centre = \"7 mm\" }"));
        assert!(after("screens.a.title=B").unwrap().contains("title = \"B\""));
    }

    #[test]
    fn a_list_of_the_profile_is_copied_before_one_of_its_values_is_set() {
        let text = "[panel]\nfrom = 'mine'\n";
        let mine = "from = 'mono-296x128'\nfull = { planes = 3 }\nsleep = { typ = '2 uA', max = '4 uA' }\n";
        let mut files = Files::from_memory([("device.toml", text), ("panels/mine.toml", mine)]);
        apply(&mut files, "panel.full.drive.1.time=9 s").unwrap();
        apply(&mut files, "panel.sleep.max=8 uA").unwrap();
        let after: DocumentMut = std::str::from_utf8(files.bytes("device.toml").unwrap()).unwrap().parse().unwrap();
        let drive = after["panel"]["full"]["drive"].as_array().expect("the list of the built-in panel");
        assert_eq!(
            drive.get(1).unwrap().as_inline_table().unwrap()["time"].as_inline_table().unwrap()["typ"].as_str(),
            Some("9 s")
        );
        assert!(drive.len() > 1 && drive.get(0).unwrap().as_inline_table().unwrap().contains_key("current"));
        assert!(after["panel"]["full"].get("planes").is_none(), "what is no list stays the profile's");
        assert_eq!(after["panel"]["sleep"]["typ"].as_str(), Some("2 uA"));
        assert_eq!(after["panel"]["sleep"]["max"].as_str(), Some("8 uA"));
    }

    /// A row of a sweep at the design value once had another life than the design: its tolerance was gone.
    #[test]
    fn a_quantity_keeps_the_tolerance_that_it_had_in_proportion() {
        let set = |change: &str| {
            let text = "[panel]\nfrom = 'mine'\n[board.mcu]\nsleep = { min = '900 nA', typ = '1 uA', max = '3 uA' }\nrun = '2 mA'\n";
            let mine = "sleep = { typ = '2 uA', max = '4 uA', source = 'sheet' }\n";
            let mut files = Files::from_memory([("device.toml", text), ("panels/mine.toml", mine)]);
            apply(&mut files, change).unwrap();
            std::str::from_utf8(files.bytes("device.toml").unwrap()).unwrap().parse::<DocumentMut>().unwrap()
        };
        let sleep = &set("board.mcu.sleep=0.002 mA")["board"]["mcu"]["sleep"];
        assert_eq!(sleep["typ"].as_str(), Some("0.002 mA"));
        let end = |key: &str| number(sleep[key].as_str().unwrap()).unwrap();
        assert!((end("min").0 - 0.0018).abs() < 1e-15 && (end("max").0 - 0.006).abs() < 1e-15 && end("max").1 == "mA");
        let panel = &set("panel.sleep=1 uA")["panel"]["sleep"];
        assert_eq!((panel["typ"].as_str(), panel["max"].as_str()), (Some("1 uA"), Some("2 uA")), "from the profile");
        assert_eq!(set("board.mcu.run=3 mA")["board"]["mcu"]["run"].as_str(), Some("3 mA"), "it had none");
        assert_eq!(set("board.mcu.sleep={ typ = '5 uA' }")["board"]["mcu"]["sleep"].get("max").map(|_| ()), None);
    }

    #[test]
    fn a_word_that_may_be_a_table_becomes_one() {
        let mut files = Files::from_memory([("device.toml", "[policy]\nbuffer = 'ram'\n")]);
        apply(&mut files, "policy.buffer.strip-lines=16").unwrap();
        let after = std::str::from_utf8(files.bytes("device.toml").unwrap()).unwrap();
        assert!(after.contains("buffer = { strip-lines = 16 }"), "{after}");
    }

    #[test]
    fn names_in_quotes_may_hold_dots_and_equals_signs() {
        assert!(after("board.loads.\"a=b.c\".current=3 uA").unwrap().contains("\"a=b.c\""));
        assert!(after("board.loads.'a=b'.current=3 uA").unwrap().contains("[board.loads.\"a=b\"]"));
        assert!(after("note=it's = 5").unwrap().contains("note = \"it's = 5\""));
        assert!(after("board.loads.it's.current=3 uA").unwrap().contains("it's"));
        assert_eq!(names("a.\"b\\\"=.c\" . 'd'").unwrap(), ["a", "b\"=.c", "d"]);
        assert!(after("board.\"a\"b=1").unwrap_err().contains("something else than a dot"));
    }

    #[test]
    fn a_change_as_a_whole_is_bounded() {
        let long = |change: &str| after(change).unwrap_err();
        assert!(long(&format!("note={}", "x".repeat(5000))).contains("at most 4096 bytes"));
        let mut files = Files::from_memory([("device.toml", "")]);
        let many: Vec<String> = (0..201).map(|number| format!("note={number}")).collect();
        assert!(apply_all(&mut files, &many).unwrap_err().message.contains("at most 200"));
        assert!(apply_all(&mut files, &many[1..]).is_ok());
    }

    #[test]
    fn what_cannot_be_set_is_refused() {
        assert!(after("name").unwrap_err().contains("no `=`"));
        assert!(after("name.deeper=1").unwrap_err().contains("plain value"));
        assert!(after("screens.b.title=B").unwrap_err().contains("there is no screens/b.toml"));
        assert!(after(&format!("a{}=1", ".a".repeat(100))).unwrap_err().contains("at most 32 names"));
        assert!(after("..=1").unwrap_err().contains("empty"));
    }
}
