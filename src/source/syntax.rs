//! Entries of a file that are not well-formed TOML. One slip of the pen makes a parser stumble again and again: of each
//! entry only the first is told, and nothing is said of what was read in it.

use super::spans::Span;

/// So many entries after one that is not closed may be read wrongly before the parser finds its feet again.
const SWALLOWED: usize = 3;

/// Where a parser stumbled in a text.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Stumbles {
    /// Which of its errors are told.
    pub first: Vec<usize>,
    /// The places of what is not well-formed.
    pub broken: Vec<Span>,
}

impl Stumbles {
    /// From the places of the errors in a text, in their order.
    pub fn of(text: &str, errors: impl Iterator<Item = usize>) -> Self {
        let mut found = Self::default();
        let mut open = false;
        for (index, at) in errors.enumerate() {
            let own = entry(text, at.min(text.len()));
            let last = found.broken.last_mut();
            let between = |last: &Span| lines(&text[last.end..own.start]).filter(|(_, line)| begins(line)).count();
            match last {
                Some(last) if own.start < last.end => continue,
                Some(last) if open && between(&*last) <= SWALLOWED => last.end = own.end,
                _ => {
                    found.first.push(index);
                    found.broken.push(own.clone());
                    open = leaves_open(&text[own]);
                }
            }
        }
        found
    }
}

/// The entry of a file's text in which a byte lies: from the key or heading at the beginning of a line to the next. A
/// heading that is not closed takes the entries under it with it, which else would fall to the table before.
pub fn entry(text: &str, at: usize) -> Span {
    let starts: Vec<usize> = lines(text).filter(|(_, line)| begins(line)).map(|(start, _)| start).collect();
    let start = starts.iter().copied().rfind(|start| *start <= at).unwrap_or(0);
    let heading = is_heading(&text[start..]);
    let next = starts.iter().copied().find(|next| *next > start && (!heading || is_heading(&text[*next..])));
    start..next.unwrap_or(text.len())
}

/// Whether the line that begins there has a range with dots, `0..120`, as `sweep` takes it.
pub fn dotted_range(text: &str, from: usize) -> bool {
    let line = text.get(from..).and_then(|rest| rest.lines().next()).unwrap_or_default();
    let digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
    line.match_indices("..").any(|(at, _)| digit(line[..at].chars().last()) && digit(line[at + 2..].chars().next()))
}

/// Whether an entry that is not well-formed may take those after it with it: a value of several lines, or one whose brackets
/// do not pair. The text of a single line ends with it, and so does a heading.
fn leaves_open(entry: &str) -> bool {
    let count = |open: char, close: char| entry.matches(open).count() != entry.matches(close).count();
    let lines = entry.lines().filter(|line| !line.trim().is_empty() && !line.trim_start().starts_with('#')).count();
    !is_heading(entry) && (lines > 1 || count('[', ']') || count('{', '}'))
}

/// The lines of a text with where they start.
fn lines(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.split_inclusive('\n').scan(0, |at, line| {
        let start = *at;
        *at += line.len();
        Some((start, line))
    })
}

/// Whether a line begins an entry: a key or a heading that is not set in.
fn begins(line: &str) -> bool {
    let key = |letter: char| letter.is_alphanumeric() || matches!(letter, '-' | '_' | '"' | '\'');
    is_heading(line) || (line.starts_with(key) && line.contains('='))
}

/// Whether a text begins with the heading of a table. In a list of lists a line may begin with a bracket too.
fn is_heading(text: &str) -> bool {
    let line = text.lines().next().unwrap_or_default();
    let name = line.trim_start_matches('[');
    let name = name.split([']', '#']).next().unwrap_or_default();
    let part = |letter: char| letter.is_alphanumeric() || matches!(letter, '-' | '_' | '.' | '"' | '\'' | ' ');
    line.starts_with('[') && !name.trim().is_empty() && name.trim_end().chars().all(part)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_entry_reaches_to_the_next() {
        let text = "a = 1\ncontent = [\n  { x = 1 },\n]\n\n[keys\n1 = 2\n[[after]]\nb = 3\n";
        let of = |part: &str| &text[entry(text, text.find(part).unwrap_or(0))];
        assert_eq!(of("1\n"), "a = 1\n");
        assert_eq!(of("x = 1"), "content = [\n  { x = 1 },\n]\n\n");
        assert_eq!(of("keys"), "[keys\n1 = 2\n");
        assert_eq!(of("b = 3"), "b = 3\n");
        assert_eq!(entry("", 0), 0..0);
    }

    #[test]
    fn a_slip_is_told_once_and_others_apart_from_it_too() {
        let text = "content = [\n  \"x,\n]\n\n[keys]\n1 = 2\n2 = 3\n";
        let at = |part: &str| text.find(part).unwrap_or(0);
        let found = Stumbles::of(text, [at("x,"), at("]\n\n"), at("2 = 3")].into_iter());
        assert_eq!(found, Stumbles { first: vec![0], broken: std::iter::once(0..text.len()).collect() });
        let text = "a = = 1\nb = 2\nc = = 3\n";
        let found = Stumbles::of(text, [4, 18].into_iter());
        assert_eq!(found, Stumbles { first: vec![0, 1], broken: vec![0..8, 14..22] });
    }

    #[test]
    fn values_of_several_lines_may_swallow_what_follows() {
        assert!(leaves_open("a = [\n  \"x,\n]\n") && leaves_open("a = [1, 2\n") && leaves_open("a = { b = 1\n"));
        assert!(!leaves_open("a = \"x\n\n# note\n") && !leaves_open("[fields.a\nrange = [0, 1]\n"));
    }
}
