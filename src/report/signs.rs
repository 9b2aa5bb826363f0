//! One sign for micro, minus and times in the whole page, whatever a sentence was made from. Not for what stands in code,
//! style, script or a tag: commands must work when they are copied.

/// Elements whose text stays as it is.
const KEPT: [&str; 4] = ["style", "script", "code", "pre"];

/// Units with micro, as the terminal writes them.
const MICRO: [&str; 7] = ["uA", "uAh", "uW", "uJ", "uC", "us", "um"];

/// The page with its signs.
pub fn set(html: &str) -> String {
    let mut out = String::with_capacity(html.len());
    let mut rest = html;
    while let Some((text, after)) = rest.split_once('<') {
        text_set(&mut out, text);
        let kept = KEPT.iter().find(|name| after.strip_prefix(**name).is_some_and(|more| more.starts_with([' ', '>'])));
        let end = match kept {
            Some(name) => after.find(&format!("</{name}>")),
            None => after.find('>'),
        };
        let end = end.unwrap_or(after.len());
        out.push('<');
        out.push_str(&after[..end]);
        rest = &after[end..];
        if kept.is_none() {
            out.extend(rest.chars().next());
            rest = rest.get(1..).unwrap_or_default();
        }
    }
    text_set(&mut out, rest);
    out
}

fn text_set(out: &mut String, text: &str) {
    let mut before = None;
    let mut rest = text;
    while let Some(letter) = rest.chars().next() {
        let after = &rest[letter.len_utf8()..];
        let unit = |name: &str| rest.strip_prefix(name).is_some_and(|more| !more.starts_with(char::is_alphanumeric));
        let gap = matches!(before, None | Some(' ' | '\u{a0}' | '(' | ';' | '/'));
        let number_before = matches!(before, Some(' ' | '\u{a0}')) && {
            let mut all = out.chars().rev();
            all.next();
            all.next().is_some_and(|digit| digit.is_ascii_digit())
        };
        let sign = match letter {
            'u' if number_before && MICRO.iter().any(|name| unit(name)) => 'µ',
            '-' if gap && after.starts_with(|next: char| next.is_ascii_digit()) => '−',
            other => other,
        };
        out.push(sign);
        before = Some(letter);
        rest = after;
    }
}

#[cfg(test)]
mod tests {
    use super::set;

    #[test]
    fn text_gets_its_signs_and_code_stays() {
        assert_eq!(
            set("<p title=\"2 uA\">1.3 uA at -3 °C, up to 4 us</p>"),
            "<p title=\"2 uA\">1.3 µA at −3 °C, up to 4 µs</p>"
        );
        assert_eq!(set("<code>--set a=\"3 uA\"</code> x 5 uJ"), "<code>--set a=\"3 uA\"</code> x 5 µJ");
        assert_eq!(set("<td>2 users, 3-4, e-paper -x</td>"), "<td>2 users, 3-4, e-paper -x</td>");
        assert_eq!(set("<script>if (a -1 < 2 uA) {}</script>"), "<script>if (a -1 < 2 uA) {}</script>");
        assert_eq!(set("no tags 1 uW"), "no tags 1 µW");
    }
}
