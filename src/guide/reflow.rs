//! A page of the guide in lines of a terminal's width. Not a reader of Markdown: paragraphs and lists are filled anew, all
//! else stays, save commands, which go on after a backslash.

use crate::table::{fold, wrap};

/// The page with its paragraphs in lines of at most `width` characters where words allow it.
pub fn reflow(page: &str, width: usize) -> String {
    let mut out = String::new();
    let mut open: Option<(usize, String)> = None;
    let mut fenced = false;
    let mut lines = page.lines().peekable();
    while let Some(line) = lines.next() {
        // A table's headings: its entries speak for themselves.
        if !fenced && line.starts_with('|') && lines.peek().is_some_and(|next| next.starts_with("|--")) {
            close(&mut out, open.take(), width);
            lines.next();
            continue;
        }
        let bare = line.trim_start();
        let lead = line.len() - bare.len();
        let fence = bare.starts_with("```");
        let item =
            bare.starts_with("- ") || bare.split_once(". ").is_some_and(|(number, _)| number.parse::<u8>().is_ok());
        let plain = !fenced && !fence && !bare.is_empty() && !bare.starts_with(['|', '#', '<']);
        if !plain || item {
            close(&mut out, open.take(), width);
        }
        fenced ^= fence;
        match &mut open {
            _ if !plain => whole(&mut out, line, width),
            Some((_, text)) => *text += &format!(" {bare}"),
            None => open = Some((lead, bare.to_owned())),
        }
    }
    close(&mut out, open, width);
    out
}

/// A paragraph or an entry of a list.
fn close(out: &mut String, paragraph: Option<(usize, String)>, width: usize) {
    let Some((lead, text)) = paragraph else { return };
    let hanging = if text.starts_with("- ") { 2 } else { 0 };
    let filled = wrap(&text, width.saturating_sub(lead), hanging);
    for line in filled.lines() {
        *out += &format!("{:lead$}{line}\n", "");
    }
}

/// A line that is no paragraph: a long command goes on in the next line, a row of a table under itself.
fn whole(out: &mut String, line: &str, width: usize) {
    if let Some((name, about)) = entry(line) {
        *out += &wrap(name, width, 4);
        *out += &format!("    {}", wrap(about, width.saturating_sub(4), 0).trim_end().replace('\n', "\n    "));
        *out += "\n";
        return;
    }
    if !line.starts_with("inkjoule ") || line.chars().count() <= width {
        *out += &fold(&format!("{line}\n"), if line.starts_with('|') { width } else { usize::MAX });
        return;
    }
    let mut row = String::new();
    for word in line.split(' ') {
        if !row.is_empty() && row.chars().count() + word.chars().count() + 3 > width {
            *out += &format!("{row} \\\n");
            row = "   ".to_owned();
        }
        row += if row.is_empty() { "" } else { " " };
        row += word;
    }
    *out += &format!("{row}\n");
}

/// A row of a table of two columns: the entry and what it is.
fn entry(line: &str) -> Option<(&str, &str)> {
    let inner = line.trim().strip_prefix('|')?.strip_suffix('|')?;
    let (name, about) = inner.split_once('|')?;
    (!about.contains('|')).then_some((name.trim(), about.trim()))
}

#[cfg(test)]
mod tests {
    use super::reflow;

    /// Once the table's own bars, with lines of other entries run together.
    #[test]
    fn a_table_of_two_columns_is_a_list_of_entries() {
        let page =
            "a\n\n| command | does |\n|---|---|\n| `new FOLDER` | writes a starter project |\n| `man` | prints |\n";
        assert_eq!(reflow(page, 18), "a\n\n`new FOLDER`\n    writes a\n    starter\n    project\n`man`\n    prints\n");
    }

    #[test]
    fn paragraphs_are_filled_and_commands_go_on() {
        let page = "# A\n\none two three\nfour five\n- six seven eight\n  nine\n- ten\n\n```sh\ninkjoule sweep a b --steps 2\nother text that is long\n```\n";
        let shown = "# A\n\none two three four\nfive\n- six seven eight\n  nine\n- ten\n\n```sh\ninkjoule sweep a \\\n    b --steps 2\nother text that is long\n```\n";
        assert_eq!(reflow(page, 18), shown);
    }
}
