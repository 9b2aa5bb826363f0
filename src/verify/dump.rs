//! Reads a frame that came back from a device: raw bytes, hexadecimal text, a C array, Intel HEX.

use super::addressed;
use std::fmt;

/// A dump may have at most this many bytes.
pub const LARGEST: usize = crate::limits::DUMP_BYTES;

/// The form of a dump.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[cfg_attr(feature = "cli", derive(clap::ValueEnum))]
pub enum Form {
    /// The bytes themselves.
    Raw,
    /// Hexadecimal numbers, as of a monitor program or `hexdump -C` and `xxd`: what stands before a colon on a line is an
    /// address, what stands behind a bar or in a column of characters is a comment.
    Hex,
    /// The first list of numbers in braces.
    C,
    /// Intel HEX records.
    IntelHex,
    /// Words: no dump.
    #[cfg_attr(feature = "cli", value(skip))]
    Text,
}

/// Why a dump cannot be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DumpFault {
    /// The line, from 1 on; 0 where there are no lines.
    pub line: usize,
    /// What is wrong there.
    pub message: String,
}

impl fmt::Display for DumpFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.line > 0 { write!(f, "line {}: {}", self.line, self.message) } else { write!(f, "{}", self.message) }
    }
}

impl std::error::Error for DumpFault {}

fn fault<T>(line: usize, message: impl Into<String>) -> Result<T, DumpFault> {
    Err(DumpFault { line, message: message.into() })
}

/// The form that a file's content has most likely.
pub fn guess(file: &[u8]) -> Form {
    let Ok(text) = std::str::from_utf8(file) else { return Form::Raw };
    if text.is_empty() || text.chars().any(|c| c.is_control() && !c.is_whitespace()) {
        return Form::Raw;
    }
    if text.trim_start().starts_with(':') {
        return Form::IntelHex;
    }
    // A list of numbers opens a line or follows an equals sign in C; words inside braces are a file of another kind.
    if text.contains('{') {
        return if c_array(text).is_ok() || list_of_numbers(text) { Form::C } else { Form::Text };
    }
    if hex(text).is_ok_and(|bytes| !bytes.is_empty()) { Form::Hex } else { Form::Text }
}

/// The bytes of a dump.
///
/// # Errors
/// Names the first line that is not as the form wants it.
pub fn read(file: &[u8], form: Form) -> Result<Vec<u8>, DumpFault> {
    let text = || std::str::from_utf8(file).or_else(|_| fault(0, "this is not text"));
    let bytes = match form {
        Form::Raw => file.to_vec(),
        Form::Hex => hex(text()?)?,
        Form::C => c_array(text()?)?,
        Form::IntelHex => intel_hex(text()?)?,
        Form::Text => return fault(0, "this is plain text, not a dump; if its letters are the bytes, use --as raw"),
    };
    if bytes.len() > LARGEST { fault(0, format!("a dump may have at most {LARGEST} bytes")) } else { Ok(bytes) }
}

fn hex(text: &str) -> Result<Vec<u8>, DumpFault> {
    if let Some(bytes) = addressed::read(text) {
        return Ok(bytes);
    }
    let mut bytes = Vec::new();
    for (index, line) in text.lines().enumerate() {
        let numbers = line.split('|').next().unwrap_or("");
        let numbers = numbers.split_once(':').map_or(numbers, |(_, numbers)| numbers);
        for word in numbers.split([' ', '\t', ',', ';', '\r']).filter(|word| !word.is_empty()) {
            let digits = word.strip_prefix("0x").or_else(|| word.strip_prefix("0X")).unwrap_or(word);
            bytes.extend(
                pairs(digits)
                    .ok_or(())
                    .or_else(|()| fault(index + 1, format!("`{word}` is not pairs of hexadecimal digits")))?,
            );
        }
    }
    Ok(bytes)
}

/// Bytes of pairs of hexadecimal digits; a single digit is a byte as well.
pub(super) fn pairs(digits: &str) -> Option<Vec<u8>> {
    let values: Vec<u8> = digits.chars().map(|c| c.to_digit(16).map(|digit| digit as u8)).collect::<Option<_>>()?;
    match values[..] {
        [one] => Some(vec![one]),
        _ if values.len().is_multiple_of(2) => Some(values.chunks(2).map(|pair| pair[0] << 4 | pair[1]).collect()),
        _ => None,
    }
}

/// Whether the first thing in braces is a number, so that a fault further on is worth telling.
fn list_of_numbers(text: &str) -> bool {
    let plain = without_comments(text);
    let inside = plain.split_once('{').map_or("", |(_, inside)| inside.trim_start());
    inside.is_empty() || inside.starts_with(|character: char| character.is_ascii_digit() || character == '}')
}

fn c_array(text: &str) -> Result<Vec<u8>, DumpFault> {
    let plain = without_comments(text);
    let Some(start) = plain.find('{') else { return fault(0, "there is no list in braces") };
    let first_line = plain[..start].matches('\n').count();
    let inside = &plain[start + 1..];
    let Some(end) = inside.find('}') else { return fault(0, "the list has no closing brace") };
    let mut bytes = Vec::new();
    for (index, line) in inside[..end].split('\n').enumerate() {
        for word in line.split([',', ' ', '\t', '\r']).filter(|word| !word.is_empty()) {
            match number(word) {
                Some(byte) => bytes.push(byte),
                None => return fault(first_line + index + 1, format!("`{word}` is not a number from 0 to 255")),
            }
        }
    }
    Ok(bytes)
}

/// The text with each comment replaced by the line ends in it.
fn without_comments(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find("/*").into_iter().chain(rest.find("//")).min() {
        plain.push_str(&rest[..at]);
        let block = rest[at..].starts_with("/*");
        let length = if block { rest[at + 2..].find("*/").map(|end| end + 4) } else { rest[at..].find('\n') };
        let comment = &rest[at..at + length.unwrap_or(rest.len() - at)];
        plain.push(' ');
        plain.extend(comment.chars().filter(|c| *c == '\n'));
        rest = &rest[at + comment.len()..];
    }
    plain + rest
}

/// A whole number as C writes it.
fn number(word: &str) -> Option<u8> {
    let word = word.trim_end_matches(['u', 'U', 'l', 'L']).to_ascii_lowercase();
    let parse = |digits: &str, radix| u8::from_str_radix(digits, radix).ok();
    match word.as_bytes() {
        [b'0', b'x', ..] => parse(&word[2..], 16),
        [b'0', b'b', ..] => parse(&word[2..], 2),
        [b'0', _, ..] => parse(&word[1..], 8),
        _ => parse(&word, 10),
    }
}

/// Intel HEX: data records in any order from the lowest address on; the addresses between them must all be given.
fn intel_hex(text: &str) -> Result<Vec<u8>, DumpFault> {
    let mut blocks: Vec<(u64, Vec<u8>)> = Vec::new();
    let (mut base, mut total) = (0u64, 0);
    let mut ended = false;
    for (index, line) in text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty()) {
        let number = index + 1;
        if ended {
            return fault(number, "there is a record behind the end record");
        }
        let Some(digits) = line.trim().strip_prefix(':') else { return fault(number, "a record starts with a colon") };
        let Some(record) = pairs(digits).filter(|record| record.len() >= 5) else {
            return fault(number, "this is not a record: expected pairs of hexadecimal digits, at least five");
        };
        if record.iter().fold(0u8, |sum, byte| sum.wrapping_add(*byte)) != 0 {
            return fault(number, "the checksum of this record is wrong");
        }
        let (length, address) = (usize::from(record[0]), u64::from(u16::from_be_bytes([record[1], record[2]])));
        let data = &record[4..record.len() - 1];
        if data.len() != length {
            return fault(number, format!("the record says {length} bytes and has {}", data.len()));
        }
        match (record[3], data) {
            (0, data) => {
                total += data.len();
                if total > LARGEST {
                    return fault(number, format!("a dump may have at most {LARGEST} bytes"));
                }
                blocks.push((base + address, data.to_vec()));
            }
            (1, _) => ended = true,
            (2, [high, low]) => base = u64::from(u16::from_be_bytes([*high, *low])) << 4,
            (4, [high, low]) => base = u64::from(u16::from_be_bytes([*high, *low])) << 16,
            (3 | 5, _) => {}
            (kind, _) => return fault(number, format!("records of type {kind:02X} like this are not known")),
        }
    }
    if !ended {
        return fault(text.lines().count(), "the end record is missing");
    }
    blocks.sort_by_key(|block| block.0);
    let mut bytes = Vec::new();
    let start = blocks.first().map_or(0, |block| block.0);
    for (address, data) in blocks {
        if address - start != bytes.len() as u64 {
            return fault(0, format!("there are gaps or overlaps at address {address:X}"));
        }
        bytes.extend(data);
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_form_gives_the_bytes() {
        let bytes = vec![0x00, 0x7F, 0xC3, 0x0A];
        for (text, form) in [
            ("00 7f c3 0A\n", Form::Hex),
            ("0x00,0x7F,0xC3,0xA", Form::Hex),
            ("0000: 007fc30a |....|", Form::Hex),
            ("const uint8_t a[] = { /* { 9 */ 0, 0x7Fu,\n // 8 }\n 0303, 0b1010 };", Form::C),
            (":04000000007FC30AB0\n:00000001FF\n", Form::IntelHex),
        ] {
            assert_eq!(guess(text.as_bytes()), form, "{text}");
            assert_eq!(read(text.as_bytes(), form), Ok(bytes.clone()), "{text}");
        }
        assert_eq!(guess(&[0, 0x7F, 0xC3, 0x0A]), Form::Raw);
    }

    /// `printf '...' | hexdump -C`, and the same through `xxd`: letters beside the bytes, repeated lines as a star.
    #[test]
    fn columns_of_characters_are_no_bytes() {
        let canonical = "00000000  68 65 7c 20 61 62 20 20  20 66 66 7c 3a 30 30 20  |he| ab   ff|:00 |\n\
                         00000010  ff ff ff ff ff ff ff ff  ff ff ff ff ff ff ff ff  |................|\n*\n\
                         00000040  20 61 62                                          | ab|\n00000043\n";
        let mut bytes = b"he| ab   ff|:00 ".to_vec();
        bytes.extend([0xFF; 48]);
        bytes.extend(b" ab");
        assert_eq!(guess(canonical.as_bytes()), Form::Hex);
        assert_eq!(read(canonical.as_bytes(), Form::Hex), Ok(bytes));
        let xxd = "00000000: 6865 7c20 6162 2020 2066 667c 3a30 3020  he| ab   ff|:00 \n\
                   00000010: 2061 6220                                 ab \n";
        assert_eq!(guess(xxd.as_bytes()), Form::Hex);
        assert_eq!(read(xxd.as_bytes(), Form::Hex), Ok(b"he| ab   ff|:00  ab ".to_vec()));
        let short = "00000000: 2061 62                                  ab\n";
        assert_eq!(read(short.as_bytes(), Form::Hex), Ok(b" ab".to_vec()));
        let plain = "0000: 00 01 02 03  04 05 06 07\n0008: 08 09 0a 0b  0c 0d 0e 0f\n";
        assert_eq!(read(plain.as_bytes(), Form::Hex), Ok((0..16).collect()));
    }

    #[test]
    fn a_repeated_line_has_an_end() {
        let text = format!("00000000  {} |x|\n*\nfffffffffff0\n", "ff ".repeat(16));
        assert!(read(text.as_bytes(), Form::Hex).is_err());
    }

    #[test]
    fn words_are_no_dump() {
        let text = b"The quick brown fox jumps over the lazy dog.\n";
        assert_eq!(guess(text), Form::Text);
        assert!(read(text, guess(text)).unwrap_err().to_string().contains("plain text"));
        assert!(read(text, Form::Raw).is_ok());
    }

    #[test]
    fn records_are_put_in_order_of_their_addresses() {
        let text = ":020000040001F9\n:020002000304F5\n:020000000102FB\n:00000001FF\n";
        assert_eq!(read(text.as_bytes(), Form::IntelHex), Ok(vec![1, 2, 3, 4]));
    }

    #[test]
    fn faults_name_their_line() {
        let message = |text: &str, form| read(text.as_bytes(), form).unwrap_err().to_string();
        assert_eq!(message(":00000001FE\n", Form::IntelHex), "line 1: the checksum of this record is wrong");
        assert_eq!(message(":0100000001FE\n", Form::IntelHex), "line 1: the end record is missing");
        assert_eq!(message("00\n0g", Form::Hex), "line 2: `0g` is not pairs of hexadecimal digits");
        assert_eq!(message("x = {\n1,\n300}", Form::C), "line 3: `300` is not a number from 0 to 255");
        assert!(message("{ 1, 2", Form::C).contains("closing brace") && message("1, 2 }", Form::C).contains("no list"));
    }

    proptest::proptest! {
        #[test]
        fn no_text_breaks_the_readers(text in "[:0-9a-fx{}/*,\\n é|]{0,200}") {
            for form in [Form::Hex, Form::C, Form::IntelHex, guess(text.as_bytes())] {
                let _ = read(text.as_bytes(), form);
            }
        }
    }
}
