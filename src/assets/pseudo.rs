//! The pseudo-locale: the project's own words made longer and accented, to see what a translation would break before
//! there is one. Not a translation; it is made when asked for and is in no budget or export.

use crate::source::amount::At;
use std::collections::BTreeMap;

/// Its name.
pub const PSEUDO: &str = "pseudo";

/// Letters added for every ten letters there are. Short texts of an interface grow by about this much from English to other
/// languages; longer ones by less (practice).
const GROWTH: u32 = 4;

/// Letters and the accented ones that stand for them; all are in Latin-1 or Polish, which most faces cover.
const ACCENTS: &[(char, char)] = &[
    ('a', 'á'),
    ('c', 'ć'),
    ('e', 'ę'),
    ('i', 'í'),
    ('l', 'ł'),
    ('n', 'ń'),
    ('o', 'ö'),
    ('s', 'ś'),
    ('u', 'ü'),
    ('y', 'ý'),
    ('z', 'ż'),
    ('A', 'Ä'),
    ('C', 'Ć'),
    ('E', 'Ę'),
    ('I', 'Í'),
    ('L', 'Ł'),
    ('N', 'Ń'),
    ('O', 'Ö'),
    ('S', 'Ś'),
    ('U', 'Ü'),
    ('Y', 'Ý'),
    ('Z', 'Ż'),
];

/// The table of a locale, and its name.
type Named = (String, BTreeMap<String, At<String>>);

/// Adds the pseudo-locale, made from `en` or else the first locale. Without locales there is nothing to make it from.
pub fn add(locales: &mut Vec<Named>) {
    if locales.iter().any(|(name, _)| name == PSEUDO) {
        return;
    }
    let Some((_, table)) = locales.iter().find(|(name, _)| name == "en").or(locales.first()) else { return };
    let longer = |text: &At<String>| At { span: text.span.clone(), value: lengthen(&text.value) };
    let table = table.iter().map(|(name, text)| (name.clone(), longer(text))).collect();
    locales.push((PSEUDO.into(), table));
}

/// The characters that the pseudo-locale can need beside those of the project.
pub fn characters() -> impl Iterator<Item = char> {
    ACCENTS.iter().map(|(_, accented)| *accented).chain(['[', ']'])
}

/// A text in brackets, accented, about 40 % longer; values in braces stay. A text without letters stays as it is.
fn lengthen(text: &str) -> String {
    if !text.chars().any(char::is_alphabetic) {
        return text.to_owned();
    }
    let mut longer = String::from("[");
    let mut owed = 0;
    let mut in_value = false;
    for letter in text.chars() {
        in_value = (in_value || letter == '{') && letter != '}';
        let accented = ACCENTS.iter().find(|(plain, _)| *plain == letter).map_or(letter, |(_, accented)| *accented);
        if in_value || !letter.is_alphabetic() {
            longer.push(letter);
            continue;
        }
        longer.push(accented);
        owed += GROWTH;
        if owed >= 10 {
            longer.push(accented);
            owed -= 10;
        }
    }
    if owed >= GROWTH {
        longer.push('~');
    }
    longer.push(']');
    longer
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_grow_and_values_stay() {
        assert_eq!(lengthen("Tonight"), "[Töńńígght~]");
        assert_eq!(lengthen("▼"), "▼");
        assert!(lengthen("Off since {today}, now").contains("{today}"));
        let (before, after) =
            ("Please charge the battery before use", lengthen("Please charge the battery before use"));
        let growth = after.chars().count() as f64 / before.chars().count() as f64 - 1.0;
        assert!((0.3..0.5).contains(&growth), "{after} is {growth} longer");
    }
}
