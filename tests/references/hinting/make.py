"""Writes the fonts and pictures that tests/hinting.rs compares with.

    python3 make.py SANS.ttf SERIF.ttf PLAIN.ttf

Takes ASCII out of three free fonts, their instructions kept (fontTools), and renders each character of the three with
FreeType's monochrome rasteriser (freetype-py): FT_LOAD_TARGET_MONO, its usual choice of hinter. Each line of a .txt file
is: size in pixels per em, character, advance, left, top, columns, and the rows from the top, in hexadecimal, each filled up
to whole digits.
"""

import io
import sys
from pathlib import Path

import freetype
from fontTools import subset
from fontTools.ttLib import TTFont

NAMES = ["sans", "serif", "plain"]
SIZES = [10, 11, 12, 13, 14, 15, 16, 17, 18, 20, 22, 24]
CHARACTERS = [chr(code) for code in range(0x21, 0x7F)]


def ascii_of(path):
    options = subset.Options()
    options.hinting = True
    options.layout_features = []
    options.name_IDs = [0, 13, 14]
    options.notdef_outline = True
    font = TTFont(path)
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=[0x20, *map(ord, CHARACTERS)])
    subsetter.subset(font)
    for table in ("GPOS", "GSUB", "GDEF", "kern", "FFTM", "DSIG"):
        if table in font:
            del font[table]
    out = io.BytesIO()
    font.save(out)
    return out.getvalue()


def lines(path):
    face = freetype.Face(str(path))
    for size in SIZES:
        face.set_pixel_sizes(0, size)
        for character in CHARACTERS:
            face.load_char(character, freetype.FT_LOAD_TARGET_MONO | freetype.FT_LOAD_RENDER)
            glyph = face.glyph
            bitmap = glyph.bitmap
            digits = -(-bitmap.width // 4)
            rows = ""
            for y in range(bitmap.rows):
                row = bytes(bitmap.buffer[y * bitmap.pitch : y * bitmap.pitch + bitmap.pitch]).hex()
                rows += row[:digits]
            head = [size, character, glyph.advance.x >> 6, glyph.bitmap_left, glyph.bitmap_top, bitmap.width]
            yield " ".join(map(str, [*head, rows]))


here = Path(__file__).resolve().parent
for name, path in zip(NAMES, sys.argv[1:], strict=True):
    font = here / f"{name}.ttf"
    font.write_bytes(ascii_of(path))
    version = ".".join(map(str, freetype.version()))
    text = "\n".join([f"# FreeType {version}; written by make.py", *lines(font), ""])
    (here / f"{name}.txt").write_text(text, encoding="ascii")
