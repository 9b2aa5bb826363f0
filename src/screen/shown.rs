//! A number as a product shows it: in a unit, with the decimal mark and the groups of digits of a locale.
//!
//! Not for which unit or locale that is; see [`crate::behaviour::units::Units`] and [`crate::assets::formats`].

use super::guard::HAIR;
use super::template::number;
use super::values::FieldId;

/// From a field's own unit to the one shown: `shown = value * factor + offset`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Scale {
    /// Units shown in one of the field's own.
    pub factor: f64,
    /// What is shown for the value 0.
    pub offset: f64,
}

impl Scale {
    /// The field's own unit.
    pub const OWN: Self = Self { factor: 1.0, offset: 0.0 };

    /// The number shown for a value.
    pub fn shown(&self, value: f64) -> f64 {
        // The field's own values must stay what they are to the last bit.
        if *self == Self::OWN { value } else { value * self.factor + self.offset }
    }

    /// The value for a number shown.
    pub fn held(&self, shown: f64) -> f64 {
        if *self == Self::OWN { shown } else { (shown - self.offset) / self.factor }
    }
}

/// Beyond this a double has no halves left worth rounding.
const MOST_STEPS: f64 = 1e12;

/// The marks in a number.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Marks {
    /// Before the decimals.
    pub decimal: char,
    /// Between groups of digits; `None` for none.
    pub group: Option<char>,
    /// Digits of the groups beyond the first one, which has three.
    pub rest: usize,
    /// A number is grouped when it has so many digits before the first group at least.
    pub least: usize,
}

impl Marks {
    /// A full stop, and no groups.
    pub const PLAIN: Self = Self { decimal: '.', group: None, rest: 3, least: 1 };

    /// Whether a number as [`number`] writes it has these marks already: a full stop, and too few digits for groups.
    fn are_those_of(&self, plain: &str) -> bool {
        let whole = plain.bytes().take_while(|byte| *byte != b'.').filter(u8::is_ascii_digit).count();
        self.decimal == '.' && (self.group.is_none() || whole < 3 + self.least.max(1))
    }

    /// A number as [`number`] writes it, with these marks.
    pub fn put(&self, plain: &str) -> String {
        let (whole, decimals) = plain.split_once('.').map_or((plain, None), |(whole, rest)| (whole, Some(rest)));
        let digits = whole.chars().filter(char::is_ascii_digit).count();
        let mut text = String::with_capacity(plain.len() + 4);
        let mut left = digits;
        for character in whole.chars() {
            if character.is_ascii_digit() {
                if left < digits && self.begins(left, digits) {
                    text.extend(self.group);
                }
                left -= 1;
            }
            text.push(character);
        }
        if let Some(decimals) = decimals {
            text.push(self.decimal);
            text.push_str(decimals);
        }
        text
    }

    /// Whether a group begins where so many of all digits are left.
    fn begins(&self, left: usize, digits: usize) -> bool {
        let beyond = left.checked_sub(3);
        digits >= 3 + self.least && beyond.is_some_and(|beyond| beyond.is_multiple_of(self.rest.max(1)))
    }
}

/// A field as a number in a unit and with marks.
#[derive(Clone, Debug, PartialEq)]
pub struct ShownNumber {
    /// The field.
    pub field: FieldId,
    /// The unit.
    pub scale: Scale,
    /// Decimals shown.
    pub decimals: usize,
    /// Smallest and largest value the product can show, in the field's own unit.
    pub range: [f64; 2],
    /// Its marks.
    pub marks: Marks,
}

impl ShownNumber {
    /// A value of the field as text.
    pub fn text(&self, value: f64) -> String {
        let mut text = String::new();
        self.write(value, &mut text);
        text
    }

    /// Writes a value of the field after other text.
    pub fn write(&self, value: f64, text: &mut String) {
        let start = text.len();
        // Halves are rounded away from zero, as whole numbers are in firmware; a sum of decimals may fall a hair short.
        let one = 10f64.powi(self.decimals as i32);
        let steps = self.scale.shown(value) * one;
        let whole = (steps.abs() + 0.5 + HAIR).floor().copysign(steps);
        number(if whole.abs() < MOST_STEPS { whole / one } else { steps / one }, self.decimals, text);
        if !self.marks.are_those_of(&text[start..]) {
            let marked = self.marks.put(&text[start..]);
            text.replace_range(start.., &marked);
        }
    }

    /// The ends of its range with every digit the widest there is.
    pub fn extremes(&self) -> Vec<String> {
        let wide = |end: &f64| self.text(*end).chars().map(|c| if c.is_ascii_digit() { '8' } else { c }).collect();
        self.range.iter().map(wide).collect()
    }

    /// Digits of the largest number, decimals included, and whether it can be below 0.
    pub fn digits(&self) -> (usize, bool) {
        let count = |end: &f64| self.text(*end).chars().filter(char::is_ascii_digit).count();
        let below = self.range.iter().any(|end| self.text(*end).starts_with('−'));
        (self.range.iter().map(count).max().unwrap_or(1), below)
    }

    /// A value with so many digits, zeros in front, its sign apart; a missing one as dashes.
    pub fn padded(&self, value: f64, digits: usize) -> (bool, String) {
        let text = self.text(value);
        if value.is_nan() {
            return (false, "–".repeat(digits));
        }
        let shown: String = text.chars().filter(char::is_ascii_digit).collect();
        (text.starts_with('−'), format!("{shown:0>digits$}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn groups_have_three_digits_or_as_the_locale_says() {
        let marks = |group, rest, least| Marks { decimal: ',', group: Some(group), rest, least };
        assert_eq!(marks('.', 3, 1).put("−1234567.8"), "−1.234.567,8");
        assert_eq!(marks('.', 3, 1).put("1234"), "1.234");
        assert_eq!(marks('.', 3, 1).put("123.45"), "123,45");
        // Groups only from five digits on, as in Polish and Spanish.
        assert_eq!([marks(' ', 3, 2).put("1234"), marks(' ', 3, 2).put("12345")], ["1234", "12 345"]);
        // Lakh and crore.
        assert_eq!(marks(',', 2, 1).put("12345678"), "1,23,45,678");
        assert_eq!(Marks::PLAIN.put("−1234567.8"), "−1234567.8");
        assert_eq!(marks('.', 3, 1).put("–"), "–");
    }

    /// Definition of the degree Fahrenheit: freezing and boiling of water (32 and 212), and where both scales meet.
    #[test]
    fn degrees_convert_both_ways() {
        let fahrenheit = Scale { factor: 1.8, offset: 32.0 };
        assert_eq!([0.0, 100.0, -40.0].map(|c| fahrenheit.shown(c)), [32.0, 212.0, -40.0]);
        assert_eq!([32.0, 212.0, -40.0].map(|f| fahrenheit.held(f)), [0.0, 100.0, -40.0]);
    }

    #[test]
    fn an_editor_s_digits_keep_their_places() {
        let shown = ShownNumber {
            field: FieldId(0),
            scale: Scale::OWN,
            decimals: 1,
            range: [-20.0, 120.0],
            marks: Marks::PLAIN,
        };
        assert_eq!(shown.digits(), (4, true));
        assert_eq!(shown.padded(-4.5, 4), (true, "0045".to_owned()));
        assert_eq!(shown.padded(112.0, 4), (false, "1120".to_owned()));
        assert_eq!(shown.padded(f64::NAN, 3), (false, "–––".to_owned()));
    }
}
