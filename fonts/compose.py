#!/usr/bin/env python3
"""Write the typefaces of inkjoule from their drawings.

    python3 fonts/compose.py            write the four BDF files and the TrueType file
    python3 fonts/compose.py --check    compare the files with what would be written

Reads fonts/drawings/, writes beside itself. The output depends on the drawings alone (no dates),
so a change of one pixel in a drawing is a change of one glyph in one file.

What the drawings look like is told in fonts/README.md. Needs fontTools 4 and skia-pathops 0.9
(only for the outlines: pen strokes to contours).
"""

import io
import math
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
DRAWINGS = HERE / "drawings"
COPYRIGHT = "Drawn for inkjoule. MIT OR Apache-2.0"

TEXT_FACES = ["ink-small", "ink-text", "ink-bold"]
NUMERALS = "ink-numerals"
OUTLINE = "ink-outline"


class DrawingError(Exception):
    """A drawing that cannot be read; the message says where and what was expected."""


def lines_of(path):
    """Lines without comments (a ';' first on the line), with their numbers."""
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), 1):
        if not line.startswith(";"):
            yield number, line.rstrip()


def code_of(name):
    """Code point of a glyph name: the character itself or U+XXXX; None for a mark."""
    if len(name) == 1:
        return ord(name)
    if name.startswith("U+"):
        return int(name[2:], 16)
    return None


# --- pictures -------------------------------------------------------------------------------------
# A picture is a set of (x, y) pixels: x from the left edge of the drawn cell, y = 0 the row that
# stands on the baseline, y = -1 the first row under it.


class Drawing:
    """One cell of a drawing file: its pixels and the width of the cell."""

    def __init__(self, width, pixels):
        self.width = width
        self.pixels = frozenset(pixels)

    def box(self):
        """Leftmost, lowest, rightmost, highest pixel."""
        xs = [x for x, _ in self.pixels]
        ys = [y for _, y in self.pixels]
        return min(xs), min(ys), max(xs), max(ys)


class Glyph:
    """A finished glyph: pixels measured from the origin, and the advance width."""

    def __init__(self, advance, pixels):
        self.advance = advance
        self.pixels = frozenset(pixels)


class Face:
    """The settings and drawings of one bitmap face, as read from its file."""

    def __init__(self):
        self.settings = {}
        self.drawings = {}
        self.bearings = {}
        self.shifts = {}
        self.same = {}

    def number(self, key):
        return int(self.settings[key])


def read_face(path):
    """Read one face file: settings, strips of pictures, bearings and shifts."""
    face = Face()
    strip = None
    for number, line in list(lines_of(path)) + [(0, "")]:
        where = f"{path.name}:{number}"
        words = line.split()
        if strip and not (words and set(line) <= set("#._- ")):
            face.drawings.update(cut_strip(strip, where))
            strip = None
        if not words:
            continue
        if words[0] == ":":
            clash = [n for n in words[1:] if n in face.drawings]
            if clash:
                raise DrawingError(f"{where}: drawn twice: {' '.join(clash)}")
            strip = (words[1:], [], [])
        elif strip:
            read_strip_row(strip, words, where)
        elif words[0] == "bearings":
            left, right = int(words[1]), int(words[2])
            face.bearings.update({name: (left, right) for name in words[4:]})
        elif words[0] == "same":
            face.same[words[1]] = words[2]
        elif words[0] == "at":
            face.shifts[words[1]] = (int(words[2]), int(words[3]))
        else:
            face.settings[words[0]] = " ".join(words[1:])
    return face


def read_strip_row(strip, words, where):
    names, above, below = strip
    if words == ["_"]:
        below.append([])
    elif len(words) != len(names):
        raise DrawingError(f"{where}: {len(names)} glyphs named, {len(words)} cells in this row")
    elif below:
        below.append(words)
    else:
        above.append(words)


def cut_strip(strip, where):
    """Cut a strip of rows into one drawing a name. '-' is a row without ink."""
    names, above, below = strip
    rows = [(len(above) - 1 - i, row) for i, row in enumerate(above)]
    rows += [(-1 - i, row) for i, row in enumerate(below[1:])]
    drawings = {}
    for column, name in enumerate(names):
        cells = [(y, row[column]) for y, row in rows if row[column] != "-"]
        widths = {len(cell) for _, cell in cells}
        if len(widths) != 1:
            raise DrawingError(f"{where}: rows of {name} differ in width: {sorted(widths)}")
        pixels = {(x, y) for y, cell in cells for x, c in enumerate(cell) if c == "#"}
        drawings[name] = Drawing(widths.pop(), pixels)
    return drawings


# --- composition ----------------------------------------------------------------------------------


def read_accents(path):
    """Accented letters (name -> base, mark) and second codes (name -> name)."""
    accented, same = {}, {}
    for number, line in lines_of(path):
        words = line.split()
        if len(words) == 3 and words[1] == "=":
            same[words[0]] = words[2]
        elif len(words) == 3:
            accented[words[0]] = (words[1], words[2])
        elif words:
            raise DrawingError(f"{path.name}:{number}: expected LETTER BASE MARK or CODE = NAME")
    return accented, same


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
    for name, source in same.items():
        if code_of(name) not in glyphs:
            glyphs[code_of(name)] = set_glyph(face, name, face.drawings[source])
    space, digit = face.number("space"), glyphs[ord("0")].advance
    for code, advance in [(0x20, space), (0xA0, space), (0x2009, face.number("thin")), (0x2007, digit)]:
        glyphs[code] = Glyph(advance, ())
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
        "COMMENT Written by fonts/compose.py from fonts/drawings; edit the drawings, not this file.",
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


# --- outlines -------------------------------------------------------------------------------------
# Skeleton strokes are expanded with a pen that is wider than it is high: the y axis is stretched
# until the pen is round, the stroke is made, and y is shrunk back.


class Strokes:
    """One outline glyph as read: advance, pen, clip box and path commands."""

    def __init__(self, advance, pen, clip):
        self.advance = advance
        self.pen = pen
        self.clip = clip
        self.commands = []
        self.turned = None
        self.accent = None  # base, its shift, mark and the offset of the mark


def read_outline(path):
    """Settings, glyphs by name and kerning pairs of the outline file."""
    settings, glyphs, kerns = {}, {}, {}
    glyph = None
    for number, line in lines_of(path):
        words = line.split()
        if not words:
            continue
        if words[0] == "glyph":
            pen = tuple(map(float, settings["pen"].split()))
            advance = int(words[2])
            low, high = (0, float(settings["cap"])) if code_of(words[1]) else (-300, 1000)
            glyph = Strokes(advance, pen, (-400, low, advance + 400, high))
            glyphs[words[1]] = glyph
        elif words[0] == "kern":
            kerns[words[1], words[2]] = int(words[3])
        elif glyph is None:
            settings[words[0]] = " ".join(words[1:])
        elif words[0] == "clip":
            glyph.clip = tuple(map(float, words[1:]))
        elif words[0] == "pen":
            glyph.pen = tuple(map(float, words[1:]))
        elif words[0] == "turned":
            glyph.turned = words[1]
        else:
            glyph.commands += read_commands(words, f"{path.name}:{number}")
    return settings, glyphs, kerns


def read_commands(words, where):
    counts = {"M": 2, "L": 2, "C": 6, "E": 6, "Z": 0}
    commands, i = [], 0
    while i < len(words):
        letter = words[i]
        if letter not in counts:
            raise DrawingError(f"{where}: expected one of {' '.join(counts)}, found {letter}")
        n = counts[letter]
        commands.append((letter, [float(w) for w in words[i + 1 : i + 1 + n]]))
        i += 1 + n
    return commands


def split_cubic(points, t0, t1):
    """The part of a cubic between two parameters (blossoming)."""

    def blossom(a, b, c):
        level = points
        for t in (a, b, c):
            level = [
                (p[0] + (q[0] - p[0]) * t, p[1] + (q[1] - p[1]) * t)
                for p, q in zip(level, level[1:])
            ]
        return level[0]

    return [blossom(t0, t0, t0), blossom(t0, t0, t1), blossom(t0, t1, t1), blossom(t1, t1, t1)]


def quarter_parameter(angle, k):
    """Parameter on the unit quarter curve (1,0) -> (0,1) where it crosses a direction in degrees."""
    quarter = [(1.0, 0.0), (1.0, k), (k, 1.0), (0.0, 1.0)]
    low, high = 0.0, 1.0
    for _ in range(50):
        middle = (low + high) / 2
        x, y = split_cubic(quarter, middle, middle)[0]
        low, high = (middle, high) if math.degrees(math.atan2(y, x)) < angle else (low, middle)
    return (low + high) / 2


def superellipse(cx, cy, rx, ry, start, end, k):
    """Cubic pieces of an ellipse-like curve from one direction to another, in degrees.

    k is the length of a control arm: 0.5523 is an ellipse, more is squarer.
    """
    if end < start:
        return [piece[::-1] for piece in superellipse(cx, cy, rx, ry, end, start, k)[::-1]]
    pieces = []
    quadrant = math.floor(start / 90)
    while quadrant * 90 < end:
        a = max(start - quadrant * 90, 0)
        b = min(end - quadrant * 90, 90)
        t0 = quarter_parameter(a, k) if a > 0 else 0.0
        t1 = quarter_parameter(b, k) if b < 90 else 1.0
        c, s = [(1, 0), (0, 1), (-1, 0), (0, -1)][quadrant % 4]
        unit = split_cubic([(1.0, 0.0), (1.0, k), (k, 1.0), (0.0, 1.0)], t0, t1)
        pieces.append([(cx + rx * (x * c - y * s), cy + ry * (x * s + y * c)) for x, y in unit])
        quadrant += 1
    return pieces


def ink_of(glyphs, name, k):
    """The expanded, clipped strokes of one glyph as a path in font units."""
    import pathops

    glyph = glyphs[name]
    if glyph.accent:
        base, shift, mark, dx, dy = glyph.accent
        under = ink_of(glyphs, base, k).transform(1, 0, 0, 1, shift, 0)
        over = ink_of(glyphs, mark, k).transform(1, 0, 0, 1, dx, dy)
        return pathops.op(under, over, pathops.PathOp.UNION)
    if glyph.turned:
        return ink_of(glyphs, glyph.turned, k).transform(-1, 0, 0, -1, glyph.advance, 720)
    wide, high = glyph.pen
    stretch = wide / high
    ink = pathops.Path()
    for stroke in strokes_of(glyph, stretch, k):
        stroke.stroke(wide, pathops.LineCap.BUTT_CAP, pathops.LineJoin.MITER_JOIN, 6.0)
        stroke.convertConicsToQuads()
        ink = pathops.op(ink, stroke, pathops.PathOp.UNION)
    x0, y0, x1, y1 = glyph.clip
    box = pathops.Path()
    box.moveTo(x0, y0 * stretch)
    for x, y in [(x1, y0), (x1, y1), (x0, y1)]:
        box.lineTo(x, y * stretch)
    box.close()
    ink = pathops.op(ink, box, pathops.PathOp.INTERSECTION)
    ink.convertConicsToQuads()
    return ink.transform(1, 0, 0, 1 / stretch, 0, 0)


def contours_of(glyphs, name, k):
    """Closed quadratic outlines of a glyph without overlaps, whole units: a fontTools glyph."""
    from fontTools.pens.cu2quPen import Cu2QuPen
    from fontTools.pens.roundingPen import RoundingPen
    from fontTools.pens.ttGlyphPen import TTGlyphPen

    ink = ink_of(glyphs, name, k)
    ink.simplify(clockwise=True)
    pen = TTGlyphPen(None)
    ink.draw(Cu2QuPen(RoundingPen(pen), 0.5))
    return pen.glyph()


def accent_outlines(settings, glyphs):
    """Add the accented letters whose base and mark have outlines; second codes too."""
    k = float(settings["squareness"])
    lift = int(settings["cap"]) - int(settings["xheight"])
    accented, same = read_accents(DRAWINGS / "accents.txt")
    for name, (base, mark) in accented.items():
        if base not in glyphs or mark not in glyphs or name in glyphs:
            continue
        left, _, right, _ = ink_of(glyphs, base, k).bounds
        middle = (left + right) // 2
        advance, shift = glyphs[base].advance, 0
        if mark == "ogonek":
            dx, dy = right, 0
        elif mark == "cedilla":
            dx, dy = middle, 0
        elif mark == "tallcaron":
            dx, dy = (right + 80, 0) if base == "d" else (270, 0)
            advance += 63 if base == "d" else 0
        else:
            m_left, _, m_right, _ = ink_of(glyphs, mark, k).bounds
            shift = max(0, math.ceil(18 - (middle + m_left)))  # wide marks on i widen it
            advance = max(advance + shift, math.ceil(middle + shift + m_right + 18))
            dx, dy = middle + shift, lift if base.isupper() else 0
        glyphs[name] = Strokes(advance, None, None)
        glyphs[name].accent = (base, shift, mark, dx, dy)
    for name, source in same.items():
        if source in glyphs and name not in glyphs and code_of(source):
            glyphs[name] = glyphs[source]


def strokes_of(glyph, stretch, k):
    """The skeleton as one path a stroke, y stretched so that the pen is round."""
    import pathops

    strokes = []
    at = None
    for letter, v in glyph.commands:
        if letter == "M" or (letter == "E" and (not strokes or at is None)):
            strokes.append(pathops.Path())
        path = strokes[-1]
        if letter == "M":
            path.moveTo(v[0], v[1] * stretch)
            at = (v[0], v[1])
        elif letter == "L":
            path.lineTo(v[0], v[1] * stretch)
            at = (v[0], v[1])
        elif letter == "C":
            path.cubicTo(v[0], v[1] * stretch, v[2], v[3] * stretch, v[4], v[5] * stretch)
            at = (v[4], v[5])
        elif letter == "E":
            for p0, p1, p2, p3 in superellipse(*v, k):
                if at is None:
                    path.moveTo(p0[0], p0[1] * stretch)
                elif math.dist(at, p0) > 0.01:
                    path.lineTo(p0[0], p0[1] * stretch)
                path.cubicTo(
                    p1[0], p1[1] * stretch, p2[0], p2[1] * stretch, p3[0], p3[1] * stretch
                )
                at = p3
        elif letter == "Z":
            path.close()
            at = None
    return strokes


def truetype(settings, glyphs, kerns):
    """The TrueType file as bytes."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.pens.ttGlyphPen import TTGlyphPen
    from fontTools.ttLib import newTable
    from fontTools.ttLib.tables._k_e_r_n import KernTable_format_0

    k = float(settings["squareness"])
    accent_outlines(settings, glyphs)
    names = {name: f"uni{code_of(name):04X}" for name in glyphs if code_of(name)}
    outlines = {names[n]: contours_of(glyphs, n, k) for n in names}
    missing = TTGlyphPen(None)
    for corners in [[(60, 0), (60, 720), (480, 720), (480, 0)], [(114, 54), (426, 54), (426, 666), (114, 666)]]:
        missing.moveTo(corners[0])
        for corner in corners[1:]:
            missing.lineTo(corner)
        missing.closePath()
    outlines[".notdef"] = missing.glyph()
    order = [".notdef"] + [names[n] for n in sorted(names, key=code_of)]
    ascender, descender = int(settings["ascender"]), int(settings["descender"])

    builder = FontBuilder(int(settings["upem"]), isTTF=True)
    builder.setupGlyphOrder(order)
    builder.setupCharacterMap({code_of(n): names[n] for n in names})
    builder.setupGlyf({name: outlines[name] for name in order})
    advances = {names[n]: glyphs[n].advance for n in names} | {".notdef": 540}
    table = builder.font["glyf"]
    builder.setupHorizontalMetrics({n: (advances[n], getattr(table[n], "xMin", 0)) for n in order})
    builder.setupHorizontalHeader(ascent=ascender, descent=descender)
    builder.setupNameTable(
        {
            "copyright": COPYRIGHT,
            "familyName": settings["family"],
            "styleName": "Regular",
            "uniqueFontIdentifier": settings["family"] + " 1",
            "fullName": settings["family"],
            "version": "Version 1.000",
            "psName": settings["family"].replace(" ", "") + "-Regular",
        }
    )
    builder.setupOS2(
        sTypoAscender=ascender,
        sTypoDescender=descender,
        usWinAscent=ascender,
        usWinDescent=-descender,
        sxHeight=int(settings["xheight"]),
        sCapHeight=int(settings["cap"]),
        usWeightClass=500,
    )
    builder.setupPost()
    kern = newTable("kern")
    kern.version = 0
    pairs = KernTable_format_0()
    pairs.version = pairs.tupleIndex = 0
    pairs.coverage = 1  # horizontal
    pairs.kernTable = {(names[a], names[b]): value for (a, b), value in kerns.items()}
    kern.kernTables = [pairs]
    builder.font["kern"] = kern
    builder.font["head"].created = builder.font["head"].modified = 3600000000  # fixed, no clock
    builder.font.recalcTimestamp = False
    out = io.BytesIO()
    builder.font.save(out)
    return out.getvalue()


# --- large numerals -------------------------------------------------------------------------------


def polygon_of(coordinates, ends, flags, steps=16):
    """Contours of a glyf outline as polygons: quadratic pieces cut into short lines."""
    polygons, start = [], 0
    for end in ends:
        points = list(zip(coordinates[start : end + 1], flags[start : end + 1]))
        start = end + 1
        full = []  # on-curve points put between neighbouring off-curve points
        for (p, on), (q, next_on) in zip(points, points[1:] + points[:1]):
            full.append((p, on))
            if not on and not next_on:
                full.append((((p[0] + q[0]) / 2, (p[1] + q[1]) / 2), 1))
        first = next(i for i, (_, on) in enumerate(full) if on)
        full = full[first:] + full[:first] + [full[first]]
        polygon = [full[0][0]]
        for i in range(1, len(full)):
            p, on = full[i]
            if on and full[i - 1][1]:
                polygon.append(p)
            elif not on:
                a, b = full[i - 1][0], full[i + 1][0]
                for s in range(1, steps + 1):
                    t = s / steps
                    u = 1 - t
                    polygon.append(
                        tuple(u * u * a[j] + 2 * u * t * p[j] + t * t * b[j] for j in (0, 1))
                    )
        polygons.append(polygon)
    return polygons


def fill(polygons, unit):
    """Pixels whose centre lies inside the outlines (even-odd; the outlines do not overlap)."""
    pixels = set()
    ys = [y for polygon in polygons for _, y in polygon]
    if not ys:
        return pixels
    for row in range(math.floor(min(ys) / unit), math.ceil(max(ys) / unit)):
        y = (row + 0.5) * unit
        crossings = []
        for polygon in polygons:
            for (xa, ya), (xb, yb) in zip(polygon, polygon[1:] + polygon[:1]):
                if (ya <= y) != (yb <= y):
                    crossings.append(xa + (y - ya) * (xb - xa) / (yb - ya))
        crossings.sort()
        for left, right in zip(crossings[::2], crossings[1::2]):
            first = math.ceil(left / unit - 0.5)
            last = math.ceil(right / unit - 0.5) - 1
            pixels |= {(x, row) for x in range(first, last + 1)}
    return pixels


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
            pixels = fill(polygon_of(list(glyph.coordinates), glyph.endPtsOfContours, glyph.flags), unit)
        glyphs[code_of(name)] = Glyph(strokes[name].advance // unit, pixels)
    for name, drawing in face.drawings.items():
        glyphs[code_of(name)] = Glyph(glyphs[code_of(name)].advance, drawing.pixels)
    for name, source in face.same.items():
        glyphs[code_of(name)] = glyphs[code_of(source)]
    return bdf(face.settings, glyphs)


# --- program --------------------------------------------------------------------------------------


def text_face(name):
    """The BDF text of one of the three text faces."""
    accented, same = read_accents(DRAWINGS / "accents.txt")
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
    files = {f"{name}.bdf": text_face(name).encode("ascii") for name in TEXT_FACES}
    settings, strokes, kerns = read_outline(DRAWINGS / "outline.txt")
    files[f"{NUMERALS}.bdf"] = numerals_face(settings, strokes).encode("ascii")
    files[f"{OUTLINE}.ttf"] = truetype(settings, strokes, kerns)
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
