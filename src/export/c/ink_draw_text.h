/* Part of ink_draw.c, which includes it: texts with live values, and setting them in a font. MIT OR Apache-2.0. */

static void put(struct pen *pen, uint16_t code)
{
    if (pen->count < INK_TEXT) {
        pen->codes[pen->count++] = (ink_code)code;
    }
}

static uint16_t read_code(struct cursor *at)
{
    uint16_t code = next(at);
#if INK_LONG_CODES
    if (code >= 0xF0) {
        code = (uint16_t)((code & 0x0F) << 8);
        code = (uint16_t)(code | next(at));
    }
#endif
    return code;
}

#if INK_MARKS
/* The marks of a number as codes, and the digits of a further group and before the first one; no decimal mark where the
   marks are the usual ones. */
struct marks {
    uint16_t decimal, group;
    uint8_t rest, least;
};

static void read_marks(struct cursor *at, struct marks *marks)
{
    uint8_t counts;
    marks->decimal = read_code(at);
    marks->group = read_code(at);
    counts = next(at);
    marks->rest = counts >> 4 ? (uint8_t)(counts >> 4) : (uint8_t)1;
    marks->least = counts & 15;
}
#define MARKS , const struct marks *marks
#define MARKED(marks) , marks
#else
#define MARKS
#define MARKED(marks)
#endif

static void put_digits(struct pen *pen, uint32_t rest, uint8_t least, uint16_t pad, uint8_t decimals MARKS)
{
    uint8_t digits[11], count = 0;
#if INK_MARKS
    uint8_t whole;
#endif
    do {
        digits[count++] = (uint8_t)(rest % 10);
        rest /= 10;
    } while (rest || count <= decimals);
    while (least > count) {
        least--;
        put(pen, pad);
    }
#if INK_MARKS
    whole = (uint8_t)(count - decimals);
#endif
    while (count) {
        if (count == decimals) {
#if INK_MARKS
            put(pen, marks && marks->decimal ? marks->decimal : (uint16_t)POINT);
#else
            put(pen, POINT);
#endif
        }
#if INK_MARKS
        if (marks && marks->group && count > decimals + 2 && count < whole + decimals && whole >= 3 + marks->least &&
            (count - decimals - 3) % marks->rest == 0) {
            put(pen, marks->group);
        }
#endif
        put(pen, (uint16_t)(ZERO + digits[--count]));
    }
}

static void put_number(struct pen *pen, int32_t value, uint8_t decimals MARKS)
{
    if (value < 0) {
        put(pen, MINUS);
    }
    put_digits(pen, value < 0 ? 0u - (uint32_t)value : (uint32_t)value, 0, 0, decimals MARKED(marks));
}

/* The value that a text shows of a field. */
static int32_t text_value(const struct pen *pen, uint32_t field)
{
#if INK_PASTS
    if (pen->back) {
        return sample(pen, ring_of(pen->design, field), pen->back);
    }
#endif
    return value_of(pen, field);
}

#if INK_MARKS || INK_PIECES
/* A number as it is shown: its field, decimals and flags, converted where it is. */
static int32_t figure(const struct pen *pen, struct cursor *at, uint8_t *flags)
{
    int32_t value = text_value(pen, number(at));
    *flags = next(at);
#if INK_UNITS
    if (*flags & 16) {
        int32_t multiply = (int32_t)(number(at) & 0xFFFFFFF), half;
        uint32_t by = number(at) & 0x3FFFFFFF;
        int64_t sum = (int64_t)value * multiply + signed_number(at);
        by = by ? by : 1;
        half = (int32_t)(by / 2);
        if (value != INK_UNKNOWN) {
            value = sum < 0 ? -divide(half - sum, by) : divide(sum + half, by);
        }
    }
#endif
    return value;
}
#endif

#if INK_CLOCKS || INK_HOURS
/* A point in time. The date is found by counting from 1 March, so that the leap day ends a year (E. G. Richards,
   "Calendars", in: Explanatory Supplement to the Astronomical Almanac, 3rd edition, 2013). */
struct moment {
    int32_t part[13]; /* in the order of the tables */
};

static INK_APART void moment(const struct pen *pen, int32_t seconds, struct moment *at)
{
    int32_t days = floored(seconds, 86400), rest = seconds - days * 86400, *part = at->part;
#if INK_DATES
    int32_t day, year, month, leap;
    days += pen->design->epoch;
    part[9] = part[11] = (days + 4 + 700000) % 7;
    day = days + 719468; /* from 1 March of the year 0 */
    {
        int32_t era = floored(day, 146097), of_era = day - era * 146097;
        int32_t years = (of_era - of_era / 1460 + of_era / 36524 - of_era / 146096) / 365;
        year = years + era * 400;
        day = of_era - (365 * years + years / 4 - years / 100);
    }
    month = (5 * day + 2) / 153;
    part[3] = day - (153 * month + 2) / 5 + 1;
    month += month < 10 ? 3 : -9;
    year += month <= 2;
    leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    part[8] = month > 2 ? day + 60 + leap : day - 305;
    part[0] = year;
    part[1] = year % 100;
    part[2] = month;
    part[10] = month - 1;
#else
    (void)pen;
#endif
    part[4] = rest / 3600;
    part[5] = (part[4] + 11) % 12 + 1;
    part[12] = part[4] >= 12;
    part[6] = rest / 60 % 60;
    part[7] = rest % 60;
}
#endif

static void compose(struct pen *pen, uint32_t from, uint8_t depth);

/* How deep texts stand in texts. */
#define DEPTH 6

/* One of a list of texts. */
static void choose(struct pen *pen, struct cursor *at, int32_t which, uint8_t depth)
{
    uint8_t bytes = pen->design->place, read;
    struct cursor list;
    uint32_t list_at = 0;
    int32_t count;
    for (read = 0; read < bytes; read++) {
        list_at |= (uint32_t)next(at) << 8 * read;
    }
    start(&list, pen->design->texts + list_at, 0);
    count = (int32_t)number(&list);
    which = which < 0 ? 0 : which >= count ? count - 1 : which;
    if (count > 0) {
        compose(pen, place(list.at + which * bytes, bytes), depth);
    }
}

#if INK_MARKS
#define PLAIN_MARKS , 0
#else
#define PLAIN_MARKS
#endif

#if INK_PIECES
static void put_piece(struct pen *pen, struct cursor *at, uint8_t depth);
#endif

#if INK_CLOCKS
#define MOMENT const struct moment *now,
#define NO_MOMENT 0,
#else
#define MOMENT
#define NO_MOMENT
#endif

/* A text's codes up to its end. `now` is the time that stamps are of; none are written where it is null. */
static void put_text(struct pen *pen, struct cursor *at, MOMENT uint8_t depth)
{
    for (;;) {
        uint16_t code = read_code(at);
        uint32_t field;
        int32_t value;
        uint8_t decimals;
#if INK_CLOCKS
        struct moment time;
#endif
        if (code == 0) {
            return;
        }
#if INK_CLOCKS
        if (code == 4) {
            uint8_t stamp = next(at), part = stamp & 15;
            if (part >= 10) {
                choose(pen, at, now ? now->part[part < 13 ? part : 0] : 0, depth);
            } else if (now) {
                uint8_t least = part == 0 ? 4 : part == 8 ? 3 : part == 9 ? 1 : 2;
                put_digits(pen, (uint32_t)now->part[part], stamp & 32 ? 0 : least, stamp & 16 ? SPACE : ZERO, 0
                           PLAIN_MARKS);
            }
            continue;
        }
#endif
#if INK_MARKS
        if (code == 6) {
            struct marks marks;
            uint8_t flags;
            value = figure(pen, at, &flags);
            marks.decimal = marks.group = 0;
            if (flags & 32) {
                read_marks(at, &marks);
            }
            if (value == INK_UNKNOWN) {
                put(pen, DASH);
            } else {
                put_number(pen, value, flags & 15, &marks);
            }
            continue;
        }
#endif
#if INK_PIECES
        if (code == 7) {
            put_piece(pen, at, depth);
            continue;
        }
#endif
        if (code > 4) {
            put(pen, code);
            continue;
        }
        field = number(at);
        value = text_value(pen, field);
#if INK_CLOCKS
        if (code == 3) {
            if (value == INK_UNKNOWN) {
                uint8_t count = pen->count;
                put_text(pen, at, 0, depth);
                pen->count = count;
                put(pen, DASH);
            } else {
                moment(pen, value, &time);
                put_text(pen, at, &time, depth);
            }
            continue;
        }
#endif
        decimals = next(at);
        if (value == INK_UNKNOWN) {
            put(pen, DASH);
            for (field = code == 2 ? pen->design->place : 0; field; field--) {
                (void)next(at);
            }
        } else if (code == 1) {
            put_number(pen, value, decimals PLAIN_MARKS);
        } else {
            choose(pen, at, rounded(value, decimals), depth);
        }
    }
}

static void compose(struct pen *pen, uint32_t from, uint8_t depth)
{
    struct cursor at;
    start(&at, pen->design->texts + from, pen->design->text_pairs);
    if (depth) {
        put_text(pen, &at, NO_MOMENT (uint8_t)(depth - 1));
    }
}

#if INK_PIECES
/* Pieces of texts that fields choose, of the past, joined, or single digits. */
static void put_piece(struct pen *pen, struct cursor *at, uint8_t depth)
{
    uint8_t kind = next(at), count = pen->count, flags;
    if (kind == 0) {
        int32_t which = whole_of(pen, at);
        choose(pen, at, which, depth);
    } else if (kind == 1) {
#if INK_PASTS
        int32_t before = pen->back;
        pen->back = whole_of(pen, at);
        if (depth) {
            put_text(pen, at, NO_MOMENT (uint8_t)(depth - 1));
        }
        pen->back = before;
#endif
    } else if (kind == 2) {
        if (depth) {
            put_text(pen, at, NO_MOMENT (uint8_t)(depth - 1));
        }
        while (pen->count > count && pen->codes[pen->count - 1] == SPACE) {
            pen->count--;
        }
    } else {
        int32_t value = figure(pen, at, &flags);
        uint8_t digit = next(at);
        if (digit == 255) {
            put(pen, value < 0 && value != INK_UNKNOWN ? (uint16_t)MINUS : (uint16_t)SPACE);
        } else if (value == INK_UNKNOWN) {
            put(pen, DASH);
        } else {
            uint32_t rest = value < 0 ? 0u - (uint32_t)value : (uint32_t)value;
            for (; digit; digit--) {
                rest /= 10;
            }
            put(pen, (uint16_t)(ZERO + rest % 10));
        }
    }
}
#endif

/* Composes the text that an operation names next; a missing one is empty. */
static void words(struct pen *pen, struct cursor *at)
{
    uint32_t which = number(at);
    pen->count = 0;
    if (which) {
        which--;
        if (which & 1) {
            uint8_t bytes = pen->design->place;
            which = place(pen->design->slots + ((which >> 1) * pen->design->locale_count + pen->locale) * bytes, bytes);
        } else {
            which >>= 1;
        }
        compose(pen, which, DEPTH);
    }
}

static void read_face(const struct pen *pen, struct face *face, uint32_t which)
{
    struct cursor at;
    uint8_t column;
    start(&at, pen->design->bits + place(pen->design->bits + which * 3, 3), 0);
    face->which = (uint16_t)which;
    face->pitch = signed_number(&at);
    face->ascent = signed_number(&at);
    face->cap = signed_number(&at);
    face->glyphs = number(&at);
    face->kerns = number(&at);
    face->mode = next(&at);
    face->code_bits = next(&at);
    face->pair_bits = next(&at);
    face->place_bits = next(&at);
    face->steps = number(&at);
    face->record = (uint8_t)(face->pair_bits + face->place_bits);
    for (column = 0; column < COLUMNS; column++) {
        face->wide[column] = next(&at);
        face->least[column] = signed_number(&at);
        face->record = (uint8_t)(face->record + (column == KERN ? 0 : face->wide[column]));
    }
    face->reach = face->least[LEFT] + face->least[WIDTH] + ((int32_t)1 << face->wide[LEFT]) + ((int32_t)1 << face->wide[WIDTH]);
    face->above = face->least[RISE] + ((int32_t)1 << face->wide[RISE]);
    face->below = face->least[HEIGHT] + ((int32_t)1 << face->wide[HEIGHT]) - face->least[RISE];
    face->map = at.at;
    face->bits = at.at + face->steps * 3;
    face->kerns_at = face->glyphs * face->record;
    face->pixels_at = face->kerns_at + face->kerns * ((uint32_t)face->code_bits + face->wide[KERN]);
}

/* A face; the two that were asked for last are kept. */
static const struct face *load(struct pen *pen, uint32_t which)
{
    struct face *face = pen->faces + pen->last_face;
    if (face->which == which) {
        return face;
    }
    pen->last_face ^= 1;
    face = pen->faces + pen->last_face;
    if (face->which != which) {
        read_face(pen, face, which);
    }
    return face;
}
/* The position of a character's record; 0, what stands for a missing one, where the face lacks it. */
static uint32_t glyph_of(const struct face *face, uint16_t code)
{
    uint32_t step = (uint32_t)(code - SPACE) >> 3, found;
    uint8_t here, bit = (uint8_t)(1 << ((code - SPACE) & 7));
    ink_bytes at = face->map + step * 3;
    if (step >= face->steps || !(at[0] & bit)) {
        return 0;
    }
    found = 1 + (uint32_t)(at[1] | at[2] << 8);
    for (here = at[0] & (uint8_t)(bit - 1); here; here &= (uint8_t)(here - 1)) {
        found++;
    }
    return found;
}

#if INK_KERNS
/* How a pair of characters moves: pairs of the left one stand from one to before another, rising by the right one. */
static int32_t kern_of(const struct face *face, uint32_t from, uint32_t end, uint16_t code)
{
    uint8_t record = (uint8_t)(face->code_bits + face->wide[KERN]);
    while (from < end) {
        uint32_t middle = (from + end) / 2, at = face->kerns_at + middle * record;
        uint32_t found = take(face->bits, &at, face->code_bits);
        if (found == code) {
            return face->least[KERN] + (int32_t)take(face->bits, &at, face->wide[KERN]);
        }
        if (found < code) {
            from = middle + 1;
        } else {
            end = middle;
        }
    }
    return 0;
}
#endif

/* Draws a glyph whose record goes on with the place of its pixels. */
static void draw_glyph(const struct pen *pen, const struct face *face, uint32_t at, int32_t x, int32_t y)
{
    struct picture picture;
    struct span to;
    int32_t metric[COLUMNS];
    uint8_t column;
    picture.at = face->pixels_at + take(face->bits, &at, face->place_bits);
    for (column = LEFT; column < KERN; column++) {
        metric[column] = face->least[column] + (int32_t)take(face->bits, &at, face->wide[column]);
    }
    to_span(pen, x + metric[LEFT], y - metric[RISE], metric[WIDTH], metric[HEIGHT], &to);
    picture.bits = face->bits;
    picture.mode = face->mode;
    picture.along = to.along;
    picture.lines = to.across;
    stamp(pen, &picture, to.a, to.b, 1, 0);
}

/* Sets codes from an origin on, drawn or only measured, and returns where they end. */
static int32_t set(const struct pen *pen, const struct face *face, int32_t spacing, const ink_code *codes, uint8_t count,
                   int32_t x, int32_t y, int drawn)
{
    uint8_t at;
    /* Where characters only move on, those beyond what may be drawn to need not be looked at. */
    int32_t back = face->least[KERN] < 0 ? face->least[KERN] : 0;
    int onwards = drawn && spacing >= 0 && face->least[ADVANCE] + back >= 0;
#if INK_MEMO
    uint16_t *run = 0;
    int32_t last = 0;
    if (drawn && pen->memo) {
        int32_t end = set(pen, face, spacing, codes, count, x, y, 0);
        uint16_t *cells = note(pen, (uint16_t)(M_RUN | pen->paper << 3), x + face->least[LEFT], y - face->above,
                               end + face->reach, y + face->below, (uint16_t)(M_RUN_HEAD + count));
        if (!cells) {
            return end;
        }
        cells[0] = (uint16_t)x;
        cells[1] = (uint16_t)y;
        cells[2] = face->which;
        run = cells + M_RUN_HEAD;
        onwards = 0;
    }
#endif
#if INK_KERNS
    uint32_t pairs = 0, pairs_end = 0;
#endif
    for (at = 0; at < count && !(onwards && x + face->least[LEFT] + back >= pen->x1); at++) {
        uint32_t glyph = glyph_of(face, codes[at]) * face->record;
        int32_t advance;
        if (at) {
            x += spacing;
        }
#if INK_KERNS
        x += kern_of(face, pairs, pairs_end, codes[at]);
        pairs = pairs_end = 0;
#endif
        advance = face->least[ADVANCE] + (int32_t)take(face->bits, &glyph, face->wide[ADVANCE]);
#if INK_KERNS
        if (face->pair_bits) {
            uint32_t next = glyph + face->record;
            int last = next >= face->kerns_at;
            pairs = take(face->bits, &glyph, face->pair_bits);
            pairs_end = last ? face->kerns : take(face->bits, &next, face->pair_bits);
        }
#endif
#if INK_MEMO
        if (run) {
            uint32_t index = glyph / face->record;
            run[at] = (uint16_t)(index << 8);
            if (at) {
                int32_t moved = x - last;
                run[at - 1] = (uint16_t)(run[at - 1] | moved);
                if (moved < 0 || moved > 255) {
                    pen->memo->failed = 1;
                }
            }
            if (index > 255) {
                pen->memo->failed = 1;
            }
            last = x;
        } else
#endif
        if (drawn && x + face->reach > pen->x0) {
            draw_glyph(pen, face, glyph, x, y);
        }
        x += advance;
    }
    return x;
}

#if INK_MEMO
/* Draws what a memo holds of a line of characters. */
static void draw_run(struct pen *pen, const uint16_t *cells, const uint16_t *end)
{
    const struct face *face = load(pen, cells[2]);
    int32_t x = (int16_t)cells[0], y = (int16_t)cells[1];
    uint8_t skip = (uint8_t)(face->wide[ADVANCE] + face->pair_bits);
    for (cells += M_RUN_HEAD; cells < end && x + face->least[LEFT] < pen->x1; x += *cells++ & 0xFF) {
        if (x + face->reach > pen->x0) {
            draw_glyph(pen, face, (uint32_t)(*cells >> 8) * face->record + skip, x, y);
        }
    }
}
#endif

static int32_t stand(int32_t pixels, int how)
{
    return how == 1 ? floored(pixels, 2) : how ? pixels : 0;
}

/* How text is set. */
struct setting {
    uint8_t face, flags;
#if INK_SMALLER
    uint8_t smaller;
#endif
#if INK_SPACED
    int32_t spacing;
#endif
};

#if INK_SPACED
#define SPACING(setting) (setting)->spacing
#else
#define SPACING(setting) 0
#endif

static void read_setting(struct cursor *at, struct setting *setting)
{
    setting->face = (uint8_t)number(at);
    setting->flags = next(at);
#if INK_SPACED
    setting->spacing = setting->flags & SPACED ? signed_number(at) : 0;
#endif
#if INK_SMALLER
    setting->smaller = setting->flags & SMALLER ? (uint8_t)number(at) : 0;
#endif
}

/* Characters of the line that begins at `start`, without what it ends with. */
static INK_APART uint8_t line(const struct pen *pen, const struct face *face, const struct setting *setting, uint8_t start,
                    int32_t room)
{
    const ink_code *codes = pen->codes + start;
    uint8_t most = (uint8_t)(pen->count - start), at;
#if INK_WRAPS
    uint8_t fits = 0;
    int any = 0;
    for (at = 0;; at++) {
        int ends = at == most || codes[at] == 5;
        if (ends || (codes[at] == SPACE && setting->flags & WRAP)) {
            if (any && setting->flags & WRAP && set(pen, face, SPACING(setting), codes, at, 0, 0, 0) > room) {
                break;
            }
            any = 1;
            fits = at;
        }
        if (ends) {
            break;
        }
    }
    return fits;
#else
    (void)face;
    (void)setting;
    (void)room;
    for (at = 0; at != most && codes[at] != 5; at++) {
    }
    return at;
#endif
}

#if INK_ELLIPSES
/* Sets the characters that leave room for an ellipsis, and that. */
static void shorten(struct pen *pen, const struct face *face, int32_t spacing, ink_code *codes, uint8_t shown, int32_t x,
                    int32_t y, int32_t w, int how)
{
    ink_code kept;
    int32_t here;
    for (;; shown--) {
        for (; shown && codes[shown - 1] == SPACE; shown--) {
        }
        kept = codes[shown];
        codes[shown] = DOTS;
        here = set(pen, face, spacing, codes, (uint8_t)(shown + 1), 0, 0, 0);
        if (!shown || here <= w) {
            break;
        }
        codes[shown] = kept;
    }
    set(pen, face, spacing, codes, (uint8_t)(shown + 1), x + stand(w - here, how), y, 1);
    codes[shown] = kept;
}
#endif

/* Sets the composed text into a room. A baseline is stated where the vertical place is 3: then y is its row. */
static void set_text(struct pen *pen, const struct setting *setting, int32_t x, int32_t y, int32_t w, int32_t h)
{
    const struct face *face = load(pen, setting->face);
    uint8_t flags = setting->flags, start, fits, vertical = flags >> 2 & 3;
    int32_t below = 0, here;
#if INK_SMALLER
    int32_t widest = 0;
#endif
    for (start = 0; vertical != 3 && start <= pen->count; start = (uint8_t)(start + fits + 1), below += face->pitch) {
        fits = line(pen, face, setting, start, w);
#if INK_SMALLER
        if (flags & SMALLER) {
            here = set(pen, face, SPACING(setting), pen->codes + start, fits, 0, 0, 0);
            widest = here > widest ? here : widest;
        }
#endif
    }
#if INK_SMALLER
    if (flags & SMALLER && (widest > w || (flags & WRAP && below > h))) {
        face = load(pen, setting->smaller);
        for (start = 0, below = 0; start <= pen->count; start = (uint8_t)(start + fits + 1), below += face->pitch) {
            fits = line(pen, face, setting, start, w);
        }
    }
#endif
    if (vertical == 0) {
        y += face->ascent;
    } else if (vertical == 1) {
        y += floored(h - below + face->pitch - face->cap, 2) + face->cap;
    } else if (vertical == 2) {
        y += h + face->ascent - below;
    }
    for (start = 0; start <= pen->count; start = (uint8_t)(start + fits + 1), y += face->pitch) {
        ink_code *codes = pen->codes + start;
        fits = vertical == 3 ? pen->count : line(pen, face, setting, start, w);
        if (y - face->above >= pen->y1 || y + face->below <= pen->y0) {
            continue;
        }
        here = w;
        if (flags & ((INK_ELLIPSES ? ELLIPSIS : 0) | 3)) {
            here = set(pen, face, SPACING(setting), codes, fits, 0, 0, 0);
        }
#if INK_ELLIPSES
        if (flags & ELLIPSIS && here > w) {
            shorten(pen, face, SPACING(setting), codes, fits, x, y, w, flags & 3);
            continue;
        }
#endif
        set(pen, face, SPACING(setting), codes, fits, x + stand(w - here, flags & 3), y, 1);
    }
}

static void text(struct pen *pen, uint8_t head)
{
    struct setting setting;
    int32_t x = pen->x, y = pen->y, w = pen->w, h = pen->h;
    read_setting(&pen->op, &setting);
    if (head & MORE || (setting.flags >> 2 & 3) == 3) {
        y += integer(pen);
        if ((setting.flags >> 2 & 3) != 3) {
            h = natural(pen);
        }
    }
    if (head & MORE) {
        x += integer(pen);
        w = natural(pen);
    }
    words(pen, &pen->op);
    if (pen->count) {
        set_text(pen, &setting, x, y, w, h);
    }
}

#if INK_VALUES
/* Digits, then their unit, standing together. */
static void value(struct pen *pen)
{
    const struct face *face, *unit_face;
    uint8_t flags;
    int32_t x, y, w, raise, gap, digits, unit;
    struct cursor number_at;
    face = load(pen, number(&pen->op));
    unit_face = load(pen, number(&pen->op));
    flags = byte(pen);
    x = pen->x + integer(pen);
    w = natural(pen);
    y = pen->y + integer(pen);
    raise = integer(pen);
    gap = integer(pen);
    number_at = pen->op;
    words(pen, &pen->op);
    digits = set(pen, face, 0, pen->codes, pen->count, 0, 0, 0);
    words(pen, &pen->op);
    unit = set(pen, unit_face, 0, pen->codes, pen->count, 0, 0, 0);
    x += stand(w - digits - gap - unit, flags);
    set(pen, unit_face, 0, pen->codes, pen->count, x + digits + gap, y - raise, 1);
    words(pen, &number_at);
    set(pen, face, 0, pen->codes, pen->count, x, y, 1);
}
#endif
