//! Pieces of C source text: arrays, comments, include guards, section attributes.

use crate::visible::one_line;
use std::fmt::Write;

/// Bytes on one source line at most.
const ACROSS: usize = 32;

/// Numbers of an array, one source line for each line of the picture where it fits.
pub fn bytes(bytes: &[u8], stride: usize) -> String {
    let across = if stride <= ACROSS { stride.max(1) } else { stride.div_ceil(stride.div_ceil(ACROSS)) };
    let mut text = String::with_capacity(bytes.len() * 5 + bytes.len() / across * 4);
    for line in bytes.chunks(stride.max(1)).flat_map(|line| line.chunks(across)) {
        text.push_str("    ");
        for byte in line {
            // Writing to a string cannot fail.
            let _ = write!(text, "0x{byte:02X},");
        }
        text.push('\n');
    }
    text
}

/// Text that may stand in a C comment: it can neither end it, nor begin another, nor continue a line.
pub fn comment(text: &str) -> String {
    one_line(text).replace('\\', "/").replace("*/", "* /").replace("/*", "/ *").replace("??", "? ?")
}

/// The body of a header with include guard and C linkage for C++.
pub fn guarded(upper: &str, body: &str) -> String {
    format!(
        "#ifndef {upper}_H\n#define {upper}_H\n\n#ifdef __cplusplus\nextern \"C\" {{\n#endif\n\n{body}\n\
         #ifdef __cplusplus\n}}\n#endif\n\n#endif\n"
    )
}

/// The macro `..._PLACED` in front of large arrays: nothing, or a section for compilers that know the attribute. The
/// build can define it otherwise.
pub fn section(upper: &str, section: Option<&str>) -> String {
    let plain = format!("#define {upper}_PLACED\n");
    let choice = section.map_or(plain.clone(), |section| {
        let section: String = section.chars().filter(|c| c.is_ascii_graphic() && !"\"\\".contains(*c)).collect();
        format!(
            "#ifdef __GNUC__\n#define {upper}_PLACED __attribute__((section(\"{section}\")))\n#else\n{plain}#endif\n"
        )
    });
    format!(
        "/* Stands in front of every large array; define it in the build to place them. */\n#ifndef {upper}_PLACED\n{choice}#endif\n\n"
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn comments_cannot_be_left() {
        assert_eq!(comment("a*/b/*c\\\nd"), "a* /b/ *c/ d");
        assert!(!comment("*\\").contains("*/x") && !comment("**//").contains("*/"));
    }

    #[test]
    fn long_lines_are_broken_evenly() {
        let text = bytes(&[1; 50], 50);
        assert_eq!(text.lines().map(|line| line.matches(',').count()).collect::<Vec<_>>(), [25, 25]);
    }
}
