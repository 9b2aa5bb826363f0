//! Patterns of times as firmware writes them: the conversions of strftime (ISO C99, 7.23.3.5, with the paddings `-`, `_` and
//! `0` of common use) that need no more than the date and the time of day.

use super::words::{Token, Words};

/// A part of a date or a time of day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Stamp {
    part: Part,
    pad: Pad,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Part {
    Year,
    YearOfCentury,
    Month,
    Day,
    Hour,
    HourOfTwelve,
    Minute,
    Second,
    DayOfYear,
    Weekday,
    MonthName(bool),
    DayName(bool),
    Noon(bool),
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum Pad {
    Zero,
    Space,
    None,
}

const MONTHS: [&str; 12] = [
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
];
const DAYS: [&str; 7] = ["Sunday", "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday"];

impl Stamp {
    /// Its number in the tables: the part, and the padding times 16.
    pub fn code(self) -> u8 {
        let part = match self.part {
            Part::Year => 0,
            Part::YearOfCentury => 1,
            Part::Month => 2,
            Part::Day => 3,
            Part::Hour => 4,
            Part::HourOfTwelve => 5,
            Part::Minute => 6,
            Part::Second => 7,
            Part::DayOfYear => 8,
            Part::Weekday => 9,
            Part::MonthName(_) => 10,
            Part::DayName(_) => 11,
            Part::Noon(_) => 12,
        };
        let pad = match self.pad {
            Pad::Zero => 0,
            Pad::Space => 16,
            Pad::None => 32,
        };
        part | pad
    }

    /// The names that it chooses from; none where it is a number.
    pub fn names(self) -> Vec<&'static str> {
        let cut = |names: &[&'static str], short: bool| -> Vec<&'static str> {
            names.iter().map(|name| if short { &name[..3] } else { name }).collect()
        };
        match self.part {
            Part::MonthName(short) => cut(&MONTHS, short),
            Part::DayName(short) => cut(&DAYS, short),
            Part::Noon(true) => vec!["am", "pm"],
            Part::Noon(false) => vec!["AM", "PM"],
            _ => Vec::new(),
        }
    }
}

/// A pattern's parts; `None` where it has one that firmware does not write.
pub(super) fn pattern(pattern: &str) -> Option<Words> {
    let mut words = Words::new();
    let mut rest = pattern.chars();
    while let Some(one) = rest.next() {
        if one != '%' {
            words.push(Token::Char(one));
            continue;
        }
        let mut letter = rest.next()?;
        let stated = match letter {
            '-' => Some(Pad::None),
            '_' => Some(Pad::Space),
            '0' => Some(Pad::Zero),
            _ => None,
        };
        if stated.is_some() {
            letter = rest.next()?;
        }
        let several = |text: &str| stated.is_none().then(|| self::pattern(text)).flatten();
        let (part, usual) = match letter {
            'Y' => (Part::Year, Pad::Zero),
            'y' => (Part::YearOfCentury, Pad::Zero),
            'm' => (Part::Month, Pad::Zero),
            'd' => (Part::Day, Pad::Zero),
            'e' => (Part::Day, Pad::Space),
            'H' => (Part::Hour, Pad::Zero),
            'k' => (Part::Hour, Pad::Space),
            'I' => (Part::HourOfTwelve, Pad::Zero),
            'l' => (Part::HourOfTwelve, Pad::Space),
            'M' => (Part::Minute, Pad::Zero),
            'S' => (Part::Second, Pad::Zero),
            'j' => (Part::DayOfYear, Pad::Zero),
            'w' if stated.is_none() => (Part::Weekday, Pad::Zero),
            'b' | 'h' if stated.is_none() => (Part::MonthName(true), Pad::None),
            'B' if stated.is_none() => (Part::MonthName(false), Pad::None),
            'a' if stated.is_none() => (Part::DayName(true), Pad::None),
            'A' if stated.is_none() => (Part::DayName(false), Pad::None),
            'p' if stated.is_none() => (Part::Noon(false), Pad::None),
            'P' if stated.is_none() => (Part::Noon(true), Pad::None),
            'F' => {
                words.extend(several("%Y-%m-%d")?);
                continue;
            }
            'T' => {
                words.extend(several("%H:%M:%S")?);
                continue;
            }
            'R' => {
                words.extend(several("%H:%M")?);
                continue;
            }
            'D' => {
                words.extend(several("%m/%d/%y")?);
                continue;
            }
            '%' => {
                words.push(Token::Char('%'));
                continue;
            }
            _ => return None,
        };
        words.push(Token::Stamp(Stamp { part, pad: stated.unwrap_or(usual) }));
    }
    Some(words)
}
