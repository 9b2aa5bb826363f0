//! How locales write numbers, dates and times of day, from CLDR.
//!
//! Only marks and orders; words (months, weekdays) are the project's own texts.

use crate::screen::shown::Marks;

/// How one locale writes numbers, dates and times of day.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Format {
    /// Marks in numbers, groups of digits among them.
    pub marks: Marks,
    /// The strftime pattern of a date in figures, its year in full.
    pub date: String,
    /// The strftime pattern of a time of day in hours and minutes.
    pub time: String,
}

/// A row of [`TABLE`]: the locale, decimal mark, group mark, digits of the groups beyond the first, digits before the
/// first group at least, date, time.
type LocaleFormat = (&'static str, char, char, usize, usize, &'static str, &'static str);

/// Source: Unicode Common Locale Data Repository (CLDR), release 48: `numbers/symbols` (decimal, group),
/// `minimumGroupingDigits`, the decimal pattern's groups; the short date with its year in full; the short time. The
/// narrow no-break space (U+202F) is the no-break space (U+00A0) here, which more fonts have. Locales whose short time
/// needs words of its own are not among them.
#[rustfmt::skip]
const TABLE: &[LocaleFormat] = &[
    ("ca", ',', '.', 3, 1, "%-d/%-m/%Y", "%-H:%M"),
    ("cs", ',', '\u{a0}', 3, 1, "%d. %m. %Y", "%-H:%M"),
    ("da", ',', '.', 3, 1, "%d.%m.%Y", "%H.%M"),
    ("de", ',', '.', 3, 1, "%d.%m.%Y", "%H:%M"),
    ("de-AT", ',', '\u{a0}', 3, 1, "%d.%m.%Y", "%H:%M"),
    ("de-CH", '.', '\'', 3, 1, "%d.%m.%Y", "%H:%M"),
    ("en", '.', ',', 3, 1, "%-m/%-d/%Y", "%-I:%M\u{a0}%p"),
    ("en-AU", '.', ',', 3, 1, "%d/%m/%Y", "%-I:%M\u{a0}%P"),
    ("en-GB", '.', ',', 3, 1, "%d/%m/%Y", "%H:%M"),
    ("en-IE", '.', ',', 3, 1, "%d/%m/%Y", "%H:%M"),
    ("en-IN", '.', ',', 2, 1, "%d/%m/%Y", "%-I:%M\u{a0}%p"),
    ("en-NZ", '.', ',', 3, 1, "%-d/%m/%Y", "%-I:%M\u{a0}%P"),
    ("en-ZA", ',', '\u{a0}', 3, 1, "%Y/%m/%d", "%H:%M"),
    ("es", ',', '.', 3, 2, "%-d/%-m/%Y", "%H:%M"),
    ("et", ',', '\u{a0}', 3, 2, "%d.%m.%Y", "%H:%M"),
    ("eu", ',', '.', 3, 1, "%Y/%-m/%-d", "%H:%M"),
    ("fi", ',', '\u{a0}', 3, 1, "%-d.%-m.%Y", "%-H.%M"),
    ("fr", ',', '\u{a0}', 3, 1, "%d/%m/%Y", "%H:%M"),
    ("fr-CA", ',', '\u{a0}', 3, 1, "%Y-%m-%d", "%H h %M"),
    ("fr-CH", ',', '\'', 3, 1, "%d.%m.%Y", "%H:%M"),
    ("hr", ',', '.', 3, 1, "%d. %m. %Y.", "%H:%M"),
    ("hu", ',', '\u{a0}', 3, 2, "%Y. %m. %d.", "%-H:%M"),
    ("is", ',', '.', 3, 1, "%-d.%-m.%Y", "%H:%M"),
    ("it", ',', '.', 3, 2, "%d/%m/%Y", "%H:%M"),
    ("it-CH", '.', '\'', 3, 2, "%d/%m/%Y", "%H:%M"),
    ("ja", '.', ',', 3, 1, "%Y/%m/%d", "%-H:%M"),
    ("lt", ',', '\u{a0}', 3, 1, "%Y-%m-%d", "%H:%M"),
    ("lv", ',', '\u{a0}', 3, 2, "%d.%m.%Y.", "%H:%M"),
    ("nb", ',', '\u{a0}', 3, 1, "%d.%m.%Y", "%H:%M"),
    ("nl", ',', '.', 3, 1, "%d-%m-%Y", "%H:%M"),
    ("nl-BE", ',', '.', 3, 1, "%-d/%m/%Y", "%H:%M"),
    ("pl", ',', '\u{a0}', 3, 2, "%d.%m.%Y", "%H:%M"),
    ("pt", ',', '.', 3, 1, "%d/%m/%Y", "%H:%M"),
    ("pt-PT", ',', '\u{a0}', 3, 2, "%d/%m/%Y", "%H:%M"),
    ("ro", ',', '.', 3, 1, "%d.%m.%Y", "%H:%M"),
    ("ru", ',', '\u{a0}', 3, 1, "%d.%m.%Y", "%H:%M"),
    ("sk", ',', '\u{a0}', 3, 1, "%-d. %-m. %Y", "%-H:%M"),
    ("sl", ',', '.', 3, 2, "%-d. %m. %Y", "%H:%M"),
    ("sr", ',', '.', 3, 1, "%-d. %-m. %Y.", "%H:%M"),
    ("sv", ',', '\u{a0}', 3, 1, "%Y-%m-%d", "%H:%M"),
    ("tr", ',', '.', 3, 1, "%-d.%m.%Y", "%H:%M"),
    ("uk", ',', '\u{a0}', 3, 1, "%d.%m.%Y", "%H:%M"),
    ("vi", ',', '.', 3, 1, "%d/%m/%Y", "%H:%M"),
    ("zh", '.', ',', 3, 1, "%Y/%-m/%-d", "%H:%M"),
];

impl Format {
    /// How a locale writes them: `de-AT` by itself, `de-LI` as `de` does. `None` where neither is in the table.
    pub fn of(locale: &str) -> Option<Self> {
        let wanted = locale.replace('_', "-");
        let language = wanted.split('-').next().unwrap_or_default();
        let find = |name: &str| TABLE.iter().find(|row| row.0.eq_ignore_ascii_case(name));
        let (_, decimal, group, rest, least, date, time) = *find(&wanted).or_else(|| find(language))?;
        let marks = Marks { decimal, group: Some(group), rest, least };
        Some(Self { marks, date: date.to_owned(), time: time.to_owned() })
    }

    /// The locales of the table.
    pub fn known() -> impl Iterator<Item = &'static str> {
        TABLE.iter().map(|row| row.0)
    }

    /// A clock's pattern with `%x` and `%X` written out.
    pub fn pattern(&self, pattern: &str) -> String {
        let mut written = String::with_capacity(pattern.len());
        let mut rest = pattern.chars();
        while let Some(character) = rest.next() {
            match character {
                '%' => match rest.next() {
                    Some('x') => written.push_str(&self.date),
                    Some('X') => written.push_str(&self.time),
                    Some(other) => written.extend(['%', other]),
                    None => written.push('%'),
                },
                other => written.push(other),
            }
        }
        written
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_place_without_a_row_is_its_language_s() {
        assert_eq!(Format::of("de-LI"), Format::of("de"));
        assert_ne!(Format::of("de_AT"), Format::of("de"));
        assert_eq!(Format::of("xx"), None);
    }

    #[test]
    fn only_the_locale_s_own_specifiers_are_written_out() {
        let german = Format::of("de").unwrap();
        assert_eq!(german.pattern("%a %x, %X %%x"), "%a %d.%m.%Y, %H:%M %%x");
    }
}
