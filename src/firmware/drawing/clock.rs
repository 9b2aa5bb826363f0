//! Patterns of times as firmware writes them: the conversions of strftime (ISO C99, 7.23.3.5, with the paddings `-`, `_` and
//! `0` of common use) that need no more than the date and the time of day.

use super::why::{Drawn, Why};
use super::words::{Token, Words};

/// A part of a date or a time of day.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) struct Stamp {
    part: StampPart,
    pad: Pad,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
enum StampPart {
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
            StampPart::Year => 0,
            StampPart::YearOfCentury => 1,
            StampPart::Month => 2,
            StampPart::Day => 3,
            StampPart::Hour => 4,
            StampPart::HourOfTwelve => 5,
            StampPart::Minute => 6,
            StampPart::Second => 7,
            StampPart::DayOfYear => 8,
            StampPart::Weekday => 9,
            StampPart::MonthName(_) => 10,
            StampPart::DayName(_) => 11,
            StampPart::Noon(_) => 12,
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
            StampPart::MonthName(short) => cut(&MONTHS, short),
            StampPart::DayName(short) => cut(&DAYS, short),
            StampPart::Noon(true) => vec!["am", "pm"],
            StampPart::Noon(false) => vec!["AM", "PM"],
            _ => Vec::new(),
        }
    }
}

/// A pattern's parts.
pub(super) fn pattern(pattern: &str) -> Drawn<Words> {
    let mut words = Words::new();
    let mut rest = pattern.chars();
    while let Some(one) = rest.next() {
        if one != '%' {
            words.push(Token::Char(one));
            continue;
        }
        let mut letter = rest.next().ok_or(Why::Pattern)?;
        let stated = match letter {
            '-' => Some(Pad::None),
            '_' => Some(Pad::Space),
            '0' => Some(Pad::Zero),
            _ => None,
        };
        if stated.is_some() {
            letter = rest.next().ok_or(Why::Pattern)?;
        }
        let several = |text: &str| if stated.is_none() { self::pattern(text) } else { Err(Why::Pattern) };
        let (part, usual) = match letter {
            'Y' => (StampPart::Year, Pad::Zero),
            'y' => (StampPart::YearOfCentury, Pad::Zero),
            'm' => (StampPart::Month, Pad::Zero),
            'd' => (StampPart::Day, Pad::Zero),
            'e' => (StampPart::Day, Pad::Space),
            'H' => (StampPart::Hour, Pad::Zero),
            'k' => (StampPart::Hour, Pad::Space),
            'I' => (StampPart::HourOfTwelve, Pad::Zero),
            'l' => (StampPart::HourOfTwelve, Pad::Space),
            'M' => (StampPart::Minute, Pad::Zero),
            'S' => (StampPart::Second, Pad::Zero),
            'j' => (StampPart::DayOfYear, Pad::Zero),
            'w' if stated.is_none() => (StampPart::Weekday, Pad::Zero),
            'b' | 'h' if stated.is_none() => (StampPart::MonthName(true), Pad::None),
            'B' if stated.is_none() => (StampPart::MonthName(false), Pad::None),
            'a' if stated.is_none() => (StampPart::DayName(true), Pad::None),
            'A' if stated.is_none() => (StampPart::DayName(false), Pad::None),
            'p' if stated.is_none() => (StampPart::Noon(false), Pad::None),
            'P' if stated.is_none() => (StampPart::Noon(true), Pad::None),
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
            _ => return Err(Why::Pattern),
        };
        words.push(Token::Stamp(Stamp { part, pad: stated.unwrap_or(usual) }));
    }
    Ok(words)
}
