//! `--set path.to.value=...`: changes one value of the project's text for one run.

use super::fault::Fault;
use super::files::Files;
use toml_edit::{DocumentMut, Item, Table, Value};

/// Applies one change to the files in memory.
///
/// The path begins with `screens`, `parts` or `strings` and a file's name for those files, and is otherwise
/// one of `device.toml`. Numbers stand for positions in lists, counted from 0. A value that is not TOML is a text.
///
/// # Errors
/// When the change is not of the form `path=value`, its file does not exist, or the path leads through a plain value.
pub fn apply(files: &mut Files, change: &str) -> Result<(), Fault> {
    let fail = |why: String| Fault::plain(format!("--set {change}: {why}")).help("write --set path.to.value=...");
    let (path, value) = change.split_once('=').ok_or_else(|| fail("there is no `=`".into()))?;
    let mut keys: Vec<&str> = path.trim().split('.').map(str::trim).collect();
    if keys.iter().any(|key| key.is_empty()) {
        return Err(fail("a name in the path is empty".into()));
    }
    let file = match keys[0] {
        folder @ ("screens" | "parts" | "strings") if keys.len() > 2 => {
            let file = format!("{folder}/{}.toml", keys[1]);
            keys.drain(..2);
            file
        }
        _ => "device.toml".to_owned(),
    };
    let text = files.bytes(&file).and_then(|bytes| std::str::from_utf8(bytes).ok());
    let text = text.ok_or_else(|| fail(format!("there is no {file}")))?;
    let mut document: DocumentMut = text
        .parse()
        .map_err(|_| fail(format!("{file} is not well-formed TOML; run `inkjoule check` without --set")))?;
    let value: Value = value.trim().parse().unwrap_or_else(|_| Value::from(value.trim()));
    let place =
        descend(document.as_item_mut(), &keys).ok_or_else(|| fail("the path leads through a plain value".into()))?;
    *place = Item::Value(value);
    files.replace(&file, document.to_string());
    Ok(())
}

fn descend<'d>(item: &'d mut Item, keys: &[&str]) -> Option<&'d mut Item> {
    let Some((key, rest)) = keys.split_first() else { return Some(item) };
    if let Ok(position) = key.parse::<usize>()
        && (item.is_array() || item.is_array_of_tables())
    {
        return descend(item.get_mut(position)?, rest);
    }
    if item.is_none() {
        *item = Item::Table(Table::new());
    }
    if !item.is_table_like() {
        return None;
    }
    let table = item.as_table_like_mut()?;
    if table.get(key).is_none() {
        table.insert(key, if rest.is_empty() { Item::Value(Value::from(false)) } else { Item::Table(Table::new()) });
    }
    descend(table.get_mut(key)?, rest)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(change: &str) -> Result<String, String> {
        let text = "name = 'x'\n[glass]\nkeys = [{ centre = '4 mm' }, { centre = '9 mm' }]\n";
        let mut files = Files::from_memory([("device.toml", text), ("screens/a.toml", "title = 'A'\n")]);
        apply(&mut files, change).map_err(|fault| fault.message)?;
        let joined: Vec<_> = ["device.toml", "screens/a.toml"].iter().filter_map(|name| files.bytes(name)).collect();
        Ok(String::from_utf8(joined.concat()).unwrap())
    }

    #[test]
    fn values_are_replaced_or_added() {
        assert!(after("name=\"y\"").unwrap().contains("name = \"y\""));
        assert!(after("board.mcu.sleep=3 uA").unwrap().contains("sleep = \"3 uA\""));
        assert!(after("glass.keys.1.centre=7 mm").unwrap().contains("{ centre = '4 mm' }, { centre = \"7 mm\" }"));
        assert!(after("screens.a.title=B").unwrap().contains("title = \"B\""));
    }

    #[test]
    fn what_cannot_be_set_is_refused() {
        assert!(after("name").unwrap_err().contains("no `=`"));
        assert!(after("name.deeper=1").unwrap_err().contains("plain value"));
        assert!(after("screens.b.title=B").unwrap_err().contains("there is no screens/b.toml"));
        assert!(after("..=1").unwrap_err().contains("empty"));
    }
}
