//! Pictures in C that fit a small part: each line of bytes once, and for every picture which lines it repeats how often.
//! One function gives any bytes of a picture, so that no buffer is needed. Not for screens; they are drawn.

use super::text::{bytes, guarded, section};
use super::{Gallery, opening, shape, stride};
use crate::export::Files;
use crate::firmware::names::identifier;
use std::collections::HashMap;

/// Lines, runs and pictures.
struct Rows {
    /// Each line once, one after the other.
    lines: Vec<u8>,
    /// Position of a line and how often it follows itself.
    runs: Vec<(usize, usize)>,
    /// The first run of each image, and the end of the last.
    first: Vec<usize>,
}

impl Rows {
    fn of(gallery: &Gallery) -> Self {
        let stride = stride(gallery);
        let mut known: HashMap<&[u8], usize> = HashMap::new();
        let mut rows = Self { lines: Vec::new(), runs: Vec::new(), first: vec![0] };
        for picture in &gallery.pictures {
            let start = rows.runs.len();
            for line in picture.bytes.chunks(stride) {
                let next = known.len();
                let at = *known.entry(line).or_insert(next);
                if at == next {
                    rows.lines.extend(line);
                    // The last line of a picture may be short.
                    rows.lines.resize((next + 1) * stride, 0);
                }
                match rows.runs[start..].last_mut().filter(|run| run.0 == at && run.1 < usize::from(u16::MAX)) {
                    Some(run) => run.1 += 1,
                    None => rows.runs.push((at, 1)),
                }
            }
            rows.first.push(rows.runs.len());
        }
        rows
    }
}

/// Header and source file of pictures, and the bytes of flash that their tables take.
pub fn rows(gallery: &Gallery) -> (Files, usize) {
    let name = identifier(&gallery.prefix);
    let upper = name.to_uppercase();
    let rows = Rows::of(gallery);
    let mut head = shape(gallery, &upper);
    head += &format!(
        "/* Copies bytes of a packed image, from one on; the number of bytes copied. Send it in parts as small as you like. */\n\
         uint16_t {name}_read(uint8_t image, uint32_t from, uint8_t *out, uint16_t size);\n"
    );
    let mut file = format!("{}#include \"{name}.h\"\n\n", opening(&gallery.title, &gallery.note));
    file += &section(&upper, gallery.section.as_deref());
    file += &format!(
        "/* How a byte or word of the tables is read; define them in the build where tables lie in another address space. */\n\
         #ifndef {upper}_BYTE\n#define {upper}_BYTE(at) (*(at))\n#define {upper}_WORD(at) (*(at))\n#endif\n\n"
    );
    file += &format!("/* Each line of all images once. */\n{upper}_PLACED static const uint8_t lines[] = {{\n");
    file += &bytes(&rows.lines, stride(gallery));
    file += &format!(
        "}};\n\n/* Lines of the images: which one, and how many times. */\n{upper}_PLACED static const uint16_t runs[] = {{\n"
    );
    for (line, times) in &rows.runs {
        file += &format!("    {line}, {times},\n");
    }
    file += &format!(
        "}};\n\n/* The first run of each image, and the end. */\n{upper}_PLACED static const uint16_t first[] = {{\n"
    );
    for start in &rows.first {
        file += &format!("    {start},\n");
    }
    file += &format!(
        "}};\n\n\
         uint16_t {name}_read(uint8_t image, uint32_t from, uint8_t *out, uint16_t size)\n{{\n\
         \x20   uint32_t at = 0; /* the first byte of the run */\n    uint16_t done = 0, run, end;\n\n\
         \x20   if (image >= {upper}_SCREENS || from >= {upper}_FRAME_SIZE)\n        return 0;\n\
         \x20   if (size > {upper}_FRAME_SIZE - from)\n        size = (uint16_t)({upper}_FRAME_SIZE - from);\n\
         \x20   end = {upper}_WORD(&first[image + 1]);\n\
         \x20   for (run = {upper}_WORD(&first[image]); run < end && done < size; run++) {{\n\
         \x20       uint32_t line = (uint32_t){upper}_WORD(&runs[2 * run]) * {upper}_STRIDE;\n\
         \x20       uint32_t length = (uint32_t){upper}_WORD(&runs[2 * run + 1]) * {upper}_STRIDE;\n\n\
         \x20       while (done < size && from + done < at + length) {{\n\
         \x20           out[done] = {upper}_BYTE(&lines[line + (from + done - at) % {upper}_STRIDE]);\n\
         \x20           done++;\n        }}\n        at += length;\n    }}\n    return done;\n}}\n"
    );
    let flash = rows.lines.len() + 4 * rows.runs.len() + 2 * rows.first.len();
    let header = format!("{}{}", opening(&gallery.title, &gallery.note), guarded(&upper, &head));
    (vec![(format!("{name}.h"), header.into_bytes()), (format!("{name}.c"), file.into_bytes())], flash)
}
