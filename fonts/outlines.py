"""Outlines from pen strokes: the TrueType face, and pixels for the large numerals.

Part of compose.py. Skeleton strokes are expanded with a pen that is wider than it is high: the y
axis is stretched until the pen is round, the stroke is made, and y is shrunk back.
"""

import io
import math

import pathops
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.cu2quPen import Cu2QuPen
from fontTools.pens.roundingPen import RoundingPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import newTable
from fontTools.ttLib.tables._k_e_r_n import KernTable_format_0

from read_drawings import DrawingError, code_of, lines_of


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
            # "start": every line of the drawing is a stroke of its own
            glyph.commands += [("start", []), *read_commands(words, f"{path.name}:{number}")]
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


def united(one, other, name):
    """Union of two paths, checked: the path library can lose a part without a word."""
    both = pathops.op(one, other, pathops.PathOp.UNION)
    both.convertConicsToQuads()
    boxes = [path.bounds for path in (one, other) if len(path)]
    whole = [choose(edge) for choose, edge in zip((min, min, max, max), zip(*boxes))]
    check_kept(whole, both, name)
    return both


def check_kept(box, path, name):
    """A path must fill the box of what it was made from."""
    if any(abs(a - b) > 1 for a, b in zip(box, path.bounds)):
        raise DrawingError(f"outline {name}: a stroke was lost; move one point by a unit or two")


def ink_of(glyphs, name, k):
    """The expanded, clipped strokes of one glyph as a path in font units."""
    glyph = glyphs[name]
    if glyph.accent:
        base, shift, mark, dx, dy = glyph.accent
        under = ink_of(glyphs, base, k).transform(1, 0, 0, 1, shift, 0)
        over = ink_of(glyphs, mark, k).transform(1, 0, 0, 1, dx, dy)
        return united(under, over, name)
    if glyph.turned:
        return ink_of(glyphs, glyph.turned, k).transform(-1, 0, 0, -1, glyph.advance, 720)
    wide, high = glyph.pen
    stretch = wide / high
    ink = pathops.Path()
    for stroke in strokes_of(glyph, stretch, k):
        stroke.stroke(wide, pathops.LineCap.BUTT_CAP, pathops.LineJoin.MITER_JOIN, 6.0)
        stroke.convertConicsToQuads()
        ink = united(ink, stroke, name)
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

    ink = ink_of(glyphs, name, k)
    box = ink.bounds
    ink.simplify(clockwise=True)
    check_kept(box, ink, name)
    pen = TTGlyphPen(None)
    ink.draw(Cu2QuPen(RoundingPen(pen), 0.5))
    return pen.glyph()


def accent_outlines(settings, glyphs, accented, same):
    """Add the accented letters whose base and mark have outlines; second codes too."""
    k = float(settings["squareness"])
    lift = int(settings["cap"]) - int(settings["xheight"])
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
    strokes = []
    at = None
    for letter, v in glyph.commands:
        if letter == "start":
            at = None
            continue
        if letter == "M" or (letter == "E" and at is None):
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
                path.cubicTo(p1[0], p1[1] * stretch, p2[0], p2[1] * stretch, p3[0], p3[1] * stretch)
                at = p3
        elif letter == "Z":
            path.close()
            at = None
    return strokes


def truetype(settings, glyphs, kerns, copyright_notice):
    """The TrueType file as bytes."""
    k = float(settings["squareness"])
    names = {name: f"uni{code_of(name):04X}" for name in glyphs if code_of(name)}
    outlines = {names[n]: contours_of(glyphs, n, k) for n in names}
    missing = TTGlyphPen(None)
    outer = [(60, 0), (60, 720), (480, 720), (480, 0)]
    inner = [(114, 54), (426, 54), (426, 666), (114, 666)]
    for corners in (outer, inner):
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
            "copyright": copyright_notice,
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
