//! Names for generated code: identifiers that C, C++ and Rust accept, each given out once.

use std::collections::HashSet;

/// Words that are keywords in C, C++ or Rust and could be somebody's screen.
#[rustfmt::skip]
const RESERVED: &[&str] = &[
    "abstract", "alignas", "alignof", "and", "as", "asm", "async", "auto", "await", "become", "bool", "box", "break",
    "case", "catch", "char", "class", "compl", "const", "constexpr", "continue", "crate", "default", "delete", "do",
    "double", "dyn", "else", "enum", "explicit", "export", "extern", "false", "final", "float", "fn", "for", "friend",
    "gen", "goto", "if", "impl", "in", "inline", "int", "let", "long", "loop", "macro", "match", "mod", "move", "mut",
    "mutable", "namespace", "new", "noexcept", "not", "nullptr", "operator", "or", "override", "priv", "private",
    "protected", "pub", "public", "ref", "register", "restrict", "return", "self", "short", "signed", "sizeof",
    "static", "struct", "super", "switch", "template", "this", "throw", "trait", "true", "try", "type", "typedef",
    "typeid", "typename", "typeof", "union", "unsafe", "unsigned", "unsized", "use", "using", "virtual", "void",
    "volatile", "where", "while", "xor", "yield",
];

/// Gives out identifiers, none twice.
#[derive(Clone, Debug, Default)]
pub struct Names {
    taken: HashSet<String>,
}

impl Names {
    /// The identifier nearest to `wanted` that was not given out before: a number is added where it was.
    ///
    /// ```
    /// let mut names = inkjoule::firmware::names::Names::default();
    /// assert_eq!(names.take("Post list"), "post_list");
    /// assert_eq!(names.take("post-list"), "post_list_2");
    /// ```
    pub fn take(&mut self, wanted: &str) -> String {
        let plain = identifier(wanted);
        let mut name = plain.clone();
        let mut number = 2;
        while !self.taken.insert(name.clone()) {
            name = format!("{plain}_{number}");
            number += 1;
        }
        name
    }

    /// As [`Names::take`], in the letters of types in Rust. Two identifiers may become one there (`a_1` and `a1`), so a
    /// number is added here too.
    ///
    /// ```
    /// let mut names = inkjoule::firmware::names::Names::default();
    /// assert_eq!(names.take_camel("post_1"), "Post1");
    /// assert_eq!(names.take_camel("post1"), "Post1_2");
    /// ```
    pub fn take_camel(&mut self, wanted: &str) -> String {
        let plain = camel(&identifier(wanted));
        // Between letters and a number no underscore stands in such a name.
        let between = if plain.ends_with(|c: char| c.is_ascii_digit()) { "_" } else { "" };
        let mut name = plain.clone();
        let mut number = 2;
        while !self.taken.insert(name.clone()) {
            name = format!("{plain}{between}{number}");
            number += 1;
        }
        name
    }
}

/// An identifier such as `post_list` as `PostList`. A number that follows a number keeps an underscore between.
fn camel(name: &str) -> String {
    let mut text = String::new();
    for part in name.split('_') {
        let digits = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        if digits(text.chars().last()) && digits(part.chars().next()) {
            text.push('_');
        }
        let mut letters = part.chars();
        text.extend(letters.next().map(|first| first.to_ascii_uppercase()));
        text.extend(letters);
    }
    text
}

/// The text as a lower-case identifier: letters and digits of ASCII stay, everything else becomes an underscore, and
/// neither a digit nor a keyword stands alone in front.
pub fn identifier(text: &str) -> String {
    let mut name = String::new();
    for character in text.chars() {
        match character.to_ascii_lowercase() {
            c if c.is_ascii_alphanumeric() => name.push(c),
            _ if name.ends_with('_') => {}
            _ => name.push('_'),
        }
    }
    let name = name.trim_matches('_');
    let awkward = name.is_empty() || name.starts_with(|c: char| c.is_ascii_digit()) || RESERVED.contains(&name);
    if awkward { format!("x_{name}").trim_end_matches('_').to_owned() } else { name.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identifiers_are_plain_and_never_a_keyword() {
        for (text, wanted) in [
            ("Tonight", "tonight"),
            ("2nd", "x_2nd"),
            ("für dich", "f_r_dich"),
            ("switch", "x_switch"),
            ("…", "x"),
            ("a__b", "a_b"),
        ] {
            assert_eq!(identifier(text), wanted);
        }
    }

    #[test]
    fn names_of_types_stay_apart() {
        assert_eq!([camel("post_list"), camel("a1_2"), camel("a12")], ["PostList", "A1_2", "A12"]);
        let mut names = Names::default();
        let given = ["a_1", "a1", "a1_2", "ab_2c", "ab2c", "self"].map(|name| names.take_camel(name));
        assert_eq!(given, ["A1", "A1_2", "A1_2_2", "Ab2c", "Ab2c2", "XSelf"]);
    }

    #[test]
    fn a_number_that_is_taken_too_is_passed_over() {
        let mut names = Names::default();
        assert_eq!([names.take("a"), names.take("a-2"), names.take("A")], ["a", "a_2", "a_3"]);
    }
}
