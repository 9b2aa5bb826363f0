"""Read the drawings of the typefaces: strips of pictures, bearings, the table of accents.

Part of compose.py; knows the text format of fonts/drawings/ and nothing of font files.
"""


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
