//! Hexadecimal dumps whose lines begin with an address and may end with a column of characters, as `hexdump -C` and `xxd`
//! print them. Which words are bytes follows from the addresses, since characters can look like bytes. Not for other forms.

use super::dump::{LARGEST, pairs};

/// One line: its address and what stands behind it.
struct Line<'t> {
    address: u64,
    rest: &'t str,
}

/// The bytes, or `None` where the lines are not of this form or contradict their addresses.
pub(super) fn read(text: &str) -> Option<Vec<u8>> {
    let lines: Vec<&str> = text.lines().filter(|line| !line.trim().is_empty()).collect();
    let mut bytes: Vec<u8> = Vec::new();
    let mut start = None;
    let mut last: Vec<u8> = Vec::new();
    let mut column = None;
    for (index, text) in lines.iter().enumerate() {
        let next = lines.get(index + 1).copied();
        if text.trim() == "*" {
            let end = usize::try_from(line(next?)?.address.checked_sub(start?)?).ok()?;
            let more = end.checked_sub(bytes.len())?;
            if end > LARGEST || last.is_empty() || !more.is_multiple_of(last.len()) {
                return None;
            }
            bytes.extend(last.iter().copied().cycle().take(more));
            continue;
        }
        let Line { address, rest } = line(text)?;
        let start = *start.get_or_insert(address);
        if address.checked_sub(start)? != bytes.len() as u64 {
            return None;
        }
        let count = match next {
            Some(next) if next.trim() == "*" => Some(last.len().max(1)).filter(|_| !last.is_empty()),
            Some(next) => Some(usize::try_from(line(next)?.address.checked_sub(address)?).ok()?),
            None => None,
        };
        let (found, end) = words(rest, count, column)?;
        // Where characters follow in one line, they begin at the same place in every line.
        if count.is_some() && column.is_none() && !rest[end..].trim().is_empty() {
            column = Some(end);
        }
        bytes.extend(&found);
        last = found;
        if bytes.len() > LARGEST {
            return None;
        }
    }
    Some(bytes)
}

/// A line's address: hexadecimal digits before a colon, or eight of them and two spaces or nothing.
fn line(text: &str) -> Option<Line<'_>> {
    let digits = text.bytes().take_while(u8::is_ascii_hexdigit).count();
    let address = u64::from_str_radix(text.get(..digits)?, 16).ok()?;
    let rest = text.get(digits..)?;
    match rest.strip_prefix(':') {
        Some(rest) => Some(Line { address, rest }),
        None if digits >= 8 && (rest.trim().is_empty() || rest.starts_with("  ")) => Some(Line { address, rest }),
        None => None,
    }
}

/// The bytes of a line and where they end: as many as wanted; else up to a bar, the column of characters, or the first wide
/// gap that no bytes follow.
fn words(rest: &str, count: Option<usize>, column: Option<usize>) -> Option<(Vec<u8>, usize)> {
    let limit = match count {
        Some(_) => rest.len(),
        None => column.unwrap_or(rest.len()).min(rest.find('|').unwrap_or(rest.len())),
    };
    let (mut bytes, mut at, mut grouped) = (Vec::new(), 0, false);
    while count.is_none_or(|count| bytes.len() < count) {
        let text = rest.get(at..limit)?;
        let gap = text.len() - text.trim_start().len();
        let word = text.split_whitespace().next().unwrap_or("");
        if word.is_empty() {
            break;
        }
        match pairs(word) {
            // Groups of two bytes and more have one space between them.
            Some(_) if count.is_none() && gap > 1 && at > 0 && grouped => break,
            Some(found) => {
                grouped |= found.len() > 1;
                bytes.extend(found);
            }
            // Behind a wide gap there may be characters; elsewhere this is no line of a dump.
            None if count.is_none() && gap > 1 => break,
            None => return None,
        }
        at += gap + word.len();
        // A single line: letters that look like bytes stand far behind the bytes.
        if count.is_none() && column.is_none() && rest[at..limit].starts_with("      ") {
            break;
        }
    }
    (count.is_none_or(|count| count == bytes.len())).then_some((bytes, at))
}
