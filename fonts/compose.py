"""Write the typefaces of inkjoule from their drawings.

    python3 fonts/compose.py            write the BDF files, the icons and the TrueType file
    python3 fonts/compose.py --check    compare the files with what would be written

Reads fonts/drawings/, writes beside itself. The output depends on the drawings alone (no dates),
so a change of one pixel in a drawing is a change of one glyph in one file.

What the drawings look like is told in fonts/README.md. Needs fontTools 4 and skia-pathops 0.9
(only for the outlines: pen strokes to contours).
"""

import sys
from pathlib import Path

sys.dont_write_bytecode = True

from outlines import accent_outlines, contours_of, fill, polygon_of, read_outline, truetype
from read_drawings import Drawing, DrawingError, code_of, read_accents, read_face

HERE = Path(__file__).resolve().parent
DRAWINGS = HERE / "drawings"
COPYRIGHT = "Drawn for inkjoule. MIT OR Apache-2.0"

TEXT_FACES = ["ink-small", "ink-condensed", "ink-small-bold", "ink-text", "ink-bold"]
NUMERALS = "ink-numerals"
SMALLER_NUMERALS = ["ink-numerals-14", "ink-numerals-20", "ink-numerals-28"]
OUTLINE = "ink-outline"
ICON_SIZES = [12, 16, 24]

# A second zero for serial numbers stands at a private code: the program puts it in the place of 0
# in the fonts `small-slashed`, `text-slashed`, ...
SLASHED_ZERO, SLASHED_ZERO_CODE = "zero.slashed", 0xE030


# --- composition ----------------------------------------------------------------------------------


class Glyph:
    """A finished glyph: pixels measured from the origin, and the advance width."""

    def __init__(self, advance, pixels):
        self.advance = advance
        self.pixels = frozenset(pixels)


def mark_for(face, base_name, mark_name):
    """The mark to use: NAME.even over letters whose ink is an even number of pixels wide."""
    left, _, right, _ = face.drawings[base_name].box()
    even = (right - left + 1) % 2 == 0
    return face.drawings.get(f"{mark_name}.even" if even else mark_name, face.drawings[mark_name])


def place_mark(face, base, mark, name):
    """Offset of a mark's picture over, beside or under a base letter."""
    left, _, right, top = base.box()
    m_left, m_low, m_right, m_top = mark.box()
    if name == "ogonek":  # hangs from the right foot
        dx, dy = right - m_right, 0
    elif name == "tallcaron":  # an apostrophe beside the ascender
        dx, dy = right + 2 - m_left, face.number("cap") - 1 - m_top
    elif m_top < 0:  # cedilla
        dx, dy = (left + right - m_left - m_right) // 2, 0
    else:
        dx, dy = (left + right - m_left - m_right) // 2, top + 1 + face.number("gap") - m_low
    return dx, dy


def set_glyph(face, name, drawing, base_name=None):
    """Give a drawing its side bearings, keeping all ink inside the advance."""
    default = (face.number("left"), face.number("right"))
    left, right = face.bearings.get(name, face.bearings.get(base_name, default))
    advance = left + drawing.width + right
    x_min, _, x_max, _ = drawing.box()
    push = max(0, -(x_min + left)) if base_name else 0
    left, advance = left + push, advance + push
    if base_name:
        advance = max(advance, x_max + left + 2)
    return Glyph(advance, {(x + left, y) for x, y in drawing.pixels})


def compose(face, accented, same):
    """All glyphs of a face by code point."""
    glyphs = {code_of(n): set_glyph(face, n, d) for n, d in face.drawings.items() if code_of(n)}
    for name, (base_name, mark_name) in accented.items():
        if name in face.drawings:
            continue  # drawn by hand in this face
        base, mark = face.drawings[base_name], mark_for(face, base_name, mark_name)
        dx, dy = place_mark(face, base, mark, mark_name)
        sx, sy = face.shifts.get(name, (0, 0))
        ink = base.pixels | {(x + dx + sx, y + dy + sy) for x, y in mark.pixels}
        glyphs[ord(name)] = set_glyph(face, name, Drawing(base.width, ink), base_name)
    for name, source in (face.same | same).items():
        if code_of(name) not in glyphs and source in face.drawings:
            glyphs[code_of(name)] = set_glyph(face, name, face.drawings[source])
    if SLASHED_ZERO in face.drawings:
        glyphs[SLASHED_ZERO_CODE] = set_glyph(face, "0", face.drawings[SLASHED_ZERO])
    space, digit = face.number("space"), glyphs[ord("0")].advance
    spaces = {0x20: space, 0xA0: space, 0x2007: digit, 0x2009: face.number("thin")}
    glyphs.update({code: Glyph(advance, ()) for code, advance in spaces.items()})
    return glyphs


# --- BDF ------------------------------------------------------------------------------------------


def bdf_glyph(code, glyph, size):
    """One STARTCHAR block; BBX is the ink box, 1x1 and empty for a space."""
    if glyph.pixels:
        xs = [x for x, _ in glyph.pixels]
        ys = [y for _, y in glyph.pixels]
        x0, y0, w, h = min(xs), min(ys), max(xs) - min(xs) + 1, max(ys) - min(ys) + 1
    else:
        x0, y0, w, h = 0, 0, 1, 1
    stride = (w + 7) // 8
    rows = []
    for y in range(y0 + h - 1, y0 - 1, -1):
        bits = sum(1 << (stride * 8 - 1 - i) for i in range(w) if (x0 + i, y) in glyph.pixels)
        rows.append(f"{bits:0{stride * 2}X}")
    # Scalable width in 1/1000 of the point size; at 72 dpi one point is one pixel.
    swidth = round(glyph.advance * 1000 / size)
    head = [f"STARTCHAR uni{code:04X}", f"ENCODING {code}", f"SWIDTH {swidth} 0"]
    head += [f"DWIDTH {glyph.advance} 0", f"BBX {w} {h} {x0} {y0}", "BITMAP"]
    return head + rows + ["ENDCHAR"]


def bdf(settings, glyphs):
    """A whole BDF 2.2 file as text (Adobe Technical Note 5005)."""
    family, weight = settings["family"], settings["weight"]
    ascent, descent = int(settings["ascent"]), int(settings["descent"])
    size = ascent + descent
    inked = [p for g in glyphs.values() for p in g.pixels]
    x0, x1 = min(x for x, _ in inked), max(x for x, _ in inked)
    y0, y1 = min(y for _, y in inked), max(y for _, y in inked)
    mean = round(10 * sum(g.advance for g in glyphs.values()) / len(glyphs))
    default = 0xFFFD if 0xFFFD in glyphs else 0x20
    properties = [
        f'FAMILY_NAME "{family}"',
        f'WEIGHT_NAME "{weight}"',
        'SLANT "R"',
        'SPACING "P"',
        f"PIXEL_SIZE {size}",
        f"POINT_SIZE {size * 10}",
        "RESOLUTION_X 72",
        "RESOLUTION_Y 72",
        f"AVERAGE_WIDTH {mean}",
        'CHARSET_REGISTRY "ISO10646"',
        'CHARSET_ENCODING "1"',
        f"FONT_ASCENT {ascent}",
        f"FONT_DESCENT {descent}",
        f"CAP_HEIGHT {settings['cap']}",
        f"X_HEIGHT {settings['xheight']}",
        f"DEFAULT_CHAR {default}",
        f'COPYRIGHT "{COPYRIGHT}"',
    ]
    out = [
        "STARTFONT 2.2",
        "COMMENT Written by fonts/compose.py; edit fonts/drawings, not this file.",
        f"FONT -inkjoule-{family}-{weight}-R-Normal--{size}-{size * 10}-72-72-P-{mean}-ISO10646-1",
        f"SIZE {size} 72 72",
        f"FONTBOUNDINGBOX {x1 - x0 + 1} {y1 - y0 + 1} {x0} {y0}",
        "METRICSSET 0",
        f"STARTPROPERTIES {len(properties)}",
        *properties,
        "ENDPROPERTIES",
        f"CHARS {len(glyphs)}",
    ]
    for code in sorted(glyphs):
        out += bdf_glyph(code, glyphs[code], size)
    return "\n".join(out + ["ENDFONT", ""])


def numerals_face(outline_settings, strokes):
    """The BDF text of the large numerals."""
    face = read_face(DRAWINGS / f"{NUMERALS}.txt")
    unit = face.number("unit")
    k = float(outline_settings["squareness"])
    glyphs = {}
    for name in face.settings["glyphs"].split():
        glyph = contours_of(strokes, name, k)
        pixels = set()
        if glyph.numberOfContours:
            points = list(glyph.coordinates)
            pixels = fill(polygon_of(points, glyph.endPtsOfContours, glyph.flags), unit)
        glyphs[code_of(name)] = Glyph(strokes[name].advance // unit, pixels)
    for name, drawing in face.drawings.items():
        glyphs[code_of(name)] = Glyph(glyphs[code_of(name)].advance, drawing.pixels)
    for name, source in face.same.items():
        glyphs[code_of(name)] = glyphs[code_of(source)]
    return bdf(face.settings, glyphs)


# --- icons ----------------------------------------------------------------------------------------


def icon_lines(size):
    """One line an icon: its name, its size and its rows from the top in hexadecimal, each row
    filled up with paper to whole digits."""
    drawn = read_face(DRAWINGS / f"icons-{size}.txt").drawings
    for name, drawing in drawn.items():
        _, low, _, top = drawing.box()
        if drawing.width != size or low < 0 or top >= size:
            raise DrawingError(f"icons-{size}.txt: {name} is not {size} x {size}")
        digits = -(-size // 4)
        rows = (
            sum(1 << (digits * 4 - 1 - x) for x in range(size) if (x, y) in drawing.pixels)
            for y in range(size - 1, -1, -1)
        )
        yield f"{name} {size} " + "".join(f"{row:0{digits}x}" for row in rows)


def icons():
    """The text of the icon file; every symbol must be drawn in every size, in the same order."""
    sets = [list(icon_lines(size)) for size in ICON_SIZES]
    names = [[line.split()[0] for line in lines] for lines in sets]
    if any(other != names[0] for other in names):
        odd = sorted(set().union(*names) - set.intersection(*map(set, names)))
        raise DrawingError(f"icons: not drawn in every size, or in another order: {' '.join(odd)}")
    head = "# Written by fonts/compose.py; edit fonts/drawings, not this file."
    return "\n".join([head, *(line for lines in sets for line in lines), ""])


# --- program --------------------------------------------------------------------------------------


def text_face(name, accented, same):
    """The BDF text of a face that is drawn pixel by pixel."""
    face = read_face(DRAWINGS / f"{name}.txt")
    lender = face.settings.get("borrow")
    if lender:
        lent = read_face(DRAWINGS / f"{lender}.txt")
        for glyph, drawing in lent.drawings.items():
            if glyph not in face.drawings:
                face.drawings[glyph] = drawing
                if glyph in lent.bearings:
                    face.bearings.setdefault(glyph, lent.bearings[glyph])
    return bdf(face.settings, compose(face, accented, same))


def products():
    """File name -> bytes of everything this program writes."""
    accented, same = read_accents(DRAWINGS / "accents.txt")
    files = {f"{n}.bdf": text_face(n, accented, same).encode("ascii") for n in TEXT_FACES}
    files["icons.txt"] = icons().encode("ascii")
    settings, strokes, kerns = read_outline(DRAWINGS / "outline.txt")
    files |= {f"{n}.bdf": text_face(n, {}, {}).encode("ascii") for n in SMALLER_NUMERALS}
    files[f"{NUMERALS}.bdf"] = numerals_face(settings, strokes).encode("ascii")
    accent_outlines(settings, strokes, accented, same)
    files[f"{OUTLINE}.ttf"] = truetype(settings, strokes, kerns, COPYRIGHT)
    return files


def main(arguments):
    check = arguments == ["--check"]
    if arguments and not check:
        print(__doc__, file=sys.stderr)
        return 2
    try:
        files = products()
    except DrawingError as error:
        print(f"compose: {error}", file=sys.stderr)
        return 2
    except (KeyError, ValueError, IndexError) as error:
        print(
            f"compose: a line of the drawings is incomplete or names no glyph: {error!r}",
            file=sys.stderr,
        )
        return 2
    stale = 0
    for name, data in files.items():
        path = HERE / name
        same = path.exists() and path.read_bytes() == data
        if check and not same:
            print(f"{name}: differs from its drawings; run compose.py", file=sys.stderr)
            stale = 1
        elif not check and not same:
            path.write_bytes(data)
            print(f"wrote {name}, {len(data)} bytes")
    return stale


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
