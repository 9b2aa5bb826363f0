/* Part of ink_draw.c, which includes it: texts with live values, and setting them in a font. MIT OR Apache-2.0. */

/* How deep parts of texts stand in one another. */
#define DEPTH 6

static void put(struct pen *pen, uint16_t code)
{
    if (pen->count < INK_TEXT) {
        pen->codes[pen->count++] = (ink_code)code;
    }
}

/* How the next numbers are marked: a full stop and no groups, as the locale says, or as it stands next. */
enum { PLAIN_MARKS, LOCALE_MARKS, OWN_MARKS };

static void read_marks(struct pen *pen, uint8_t how)
{
#if INK_MARKS
    uint8_t mark;
    if (how) {
        for (mark = 0; mark < 3; mark++) {
            ink_bytes at = pen->design->texts + (uint16_t)pen->locale * 6 + 2 * mark;
            pen->marks[mark] = (ink_code)(how == LOCALE_MARKS ? (int32_t)place(at, 2) : natural(pen));
        }
        return;
    }
    pen->marks[1] = 0;
#endif
    (void)how;
    pen->marks[0] = POINT;
}

/* A number with its marks, its digits filled up to so many. */
static void put_number(struct pen *pen, int32_t value, int32_t least, uint16_t pad)
{
    uint32_t rest = value < 0 ? 0u - (uint32_t)value : (uint32_t)value, tenth;
    int32_t from = pen->count, to, digits = 0, decimals = pen->decimals;
#if INK_MARKS
    int32_t group = decimals + 3;
#endif
    /* The last digit first. */
    do {
        if (digits && digits == decimals) {
            put(pen, pen->marks[0]);
        }
#if INK_MARKS
        if (digits == group && pen->marks[1]) {
            if (group == decimals + 3 && rest < power((pen->marks[2] & 15) - 1)) {
                group = 0;
            } else {
                put(pen, pen->marks[1]);
                group += pen->marks[2] >> 4;
            }
        }
#endif
        tenth = rest / 10;
        put(pen, (uint16_t)(ZERO + rest - tenth * 10));
        rest = tenth;
        digits++;
        least--;
    } while (rest || digits <= decimals);
    while (least-- > 0) {
        put(pen, pad);
    }
    if (value < 0) {
        put(pen, MINUS);
    }
    for (to = pen->count; from < --to; from++) {
        ink_code code = pen->codes[from];
        pen->codes[from] = pen->codes[to];
        pen->codes[to] = code;
    }
}

/* The value that a text shows of the field that is named next. */
static int32_t text_value(struct pen *pen)
{
#if INK_PASTS
    if (pen->back) {
        return sample(pen, ring_of(pen->design, (uint32_t)natural(pen)), pen->back);
    }
#endif
    return field_value(pen);
}

/* A number as it is shown: its field, decimals and marks, converted where it is. */
static int32_t figure(struct pen *pen)
{
    int32_t value = text_value(pen);
    uint8_t flags = (uint8_t)natural(pen);
    pen->decimals = flags & 15;
#if INK_UNITS
    if (flags & 16) {
        int32_t multiply = natural(pen), divide = natural(pen), more = integer(pen);
        if (value != INK_UNKNOWN) {
            value = ratio(value, (uint32_t)multiply & 0xFFFFFFF, divide & 0x3FFFFFFF, more, HALVES_AWAY);
        }
    }
#endif
    read_marks(pen, flags >> 5);
    return value;
}

#if INK_CLOCKS || INK_HOURS
/* Parts of a point in time, in the order of the tables. */
enum { YEAR, OF_CENTURY, MONTH, DAY, HOUR, OF_TWELVE, MINUTE, SECOND, OF_YEAR, WEEKDAY, MONTH_NAME, DAY_NAME, NOON, PARTS };

/* A point in time. The date is found by counting from 1 March, so that the leap day ends a year (E. G. Richards,
   "Calendars", in: Explanatory Supplement to the Astronomical Almanac, 3rd edition, 2013). */
static INK_APART void moment(const struct pen *pen, int32_t seconds, int16_t *part)
{
    int32_t days = floored(seconds, 86400), rest = (seconds - days * 86400) / 60;
    part[SECOND] = (int16_t)(seconds - days * 86400 - rest * 60);
#if INK_DATES
    {
        /* Days of 400, 100, 4 years and of one, and how many of each there are in the one before. */
        static const INK_FLASH int32_t spans[4] = { 146097, 36524, 1461, 365 };
        static const INK_FLASH int8_t most_of[4] = { 0, 4, 25, 4 };
        int32_t year = 0, month;
#if INK_STAMPS
        int32_t leap = 1;
#endif
        uint8_t span;
        days += pen->design->epoch + 719468; /* from 1 March of the year 0 */
#if INK_STAMPS
        part[WEEKDAY] = part[DAY_NAME] = (int16_t)(((days + 3) % 7 + 7) % 7);
#endif
        for (span = 0; span < 4; span++) {
            int32_t count = floored(days, spans[span]), most = most_of[span];
            /* The last day of a leap year belongs to the year before. */
            count -= span & 1 && count == most;
            days -= count * spans[span];
            year = year * most + count;
#if INK_STAMPS
            leap = count ? span == 2 : leap;
#endif
        }
        month = (5 * days + 2) / 153;
        part[DAY] = (int16_t)(days - (153 * month + 2) / 5 + 1);
#if INK_STAMPS
        part[OF_YEAR] = (int16_t)(month < 10 ? days + 60 + leap : days - 305);
#endif
        if (month >= 10) {
            month -= 12;
            year++;
        }
        part[YEAR] = (int16_t)year;
        part[MONTH] = (int16_t)(month + 3);
#if INK_STAMPS
        part[OF_CENTURY] = (int16_t)(year % 100);
        part[MONTH_NAME] = (int16_t)(month + 2);
#endif
    }
#else
    (void)pen;
#endif
    part[HOUR] = (int16_t)(rest / 60);
    part[MINUTE] = (int16_t)(rest - part[HOUR] * 60);
#if INK_STAMPS
    part[NOON] = part[HOUR] >= 12;
    part[OF_TWELVE] = (int16_t)((part[HOUR] + 11) % 12 + 1);
#endif
}
#endif

static void put_text(struct pen *pen);

#if INK_JOINED || INK_PASTS
/* A part of a text that ends as a text does. */
static void put_inner(struct pen *pen)
{
    if (pen->depth) {
        pen->depth--;
        put_text(pen);
        pen->depth++;
    }
}
#endif

/* Goes on at a text: twice its place, and one more where those of all locales stand there, each but the last one behind its
   length. */
static void enter(struct pen *pen, uint32_t which)
{
    uint8_t locale = which & 1 ? 1 : 255;
    start(pen, pen->design->texts + (which >> 1), 0);
    for (; locale < pen->design->locale_count; locale++) {
        int32_t size = natural(pen);
        if (locale > pen->locale) {
            break;
        }
        pen->op.at += size;
    }
    pen->pairs = pen->design->text_pairs;
}

/* Goes on at one of a list of texts: how many there are, and where their places stand. What was read is read on later. */
static void choose(struct pen *pen, int32_t which, const int32_t *list)
{
    uint8_t bytes = pen->design->place;
    which = which >= list[0] ? list[0] - 1 : which;
    if (list[0] && pen->nested < INK_NESTED) {
        pen->outer[pen->nested++] = pen->op;
        enter(pen, place(pen->design->texts + list[1] + (which < 0 ? 0 : which) * bytes, bytes) << 1);
    }
}

/* A text's codes up to its end. */
static void put_text(struct pen *pen)
{
    uint8_t nested = pen->nested;
    for (;;) {
        uint16_t code = next(pen);
        int32_t value, list[3], count = pen->count;
#if INK_LONG_CODES
        if (code >= 0xF0) {
            code = (uint16_t)((code & 0x0F) << 8);
            code = (uint16_t)(code | next(pen));
        }
#endif
        (void)count;
        switch (code) {
        case END:
            if (pen->nested == nested) {
                return;
            }
            pen->op = pen->outer[--pen->nested];
            break;
        case NUMBER:
            value = figure(pen);
            if (value == INK_UNKNOWN) {
                put(pen, DASH);
            } else {
                put_number(pen, value, 0, 0);
            }
            break;
        case CHOICE:
        case BY:
            value = code == CHOICE ? text_value(pen) : field_value(pen);
            numbers(pen, list, 3, 0);
            if (value == INK_UNKNOWN && code == CHOICE) {
                put(pen, DASH);
            } else {
                choose(pen, value < 0 ? 0 : rounded(value, list[0]), list + 1);
            }
            break;
#if INK_CLOCKS
        case CLOCK: {
            int16_t parts[PARTS];
            value = text_value(pen);
            if (value != INK_UNKNOWN) {
                pen->moment = parts;
                moment(pen, value, parts);
            }
            put_text(pen);
            pen->moment = 0;
            if (value == INK_UNKNOWN) {
                pen->count = (uint8_t)count;
                put(pen, DASH);
            }
            break;
        }
        case STAMP: {
            int32_t stamp = natural(pen), part = stamp & 15, least = part == YEAR ? 4 : 2;
            value = pen->moment && part < PARTS ? pen->moment[part] : 0;
#if INK_STAMPS
            if (part >= MONTH_NAME) {
                numbers(pen, list, 2, 0);
                choose(pen, value, list);
                break;
            }
            least = stamp & 32 ? 0 : part == OF_YEAR ? 3 : part == WEEKDAY ? 1 : least;
#endif
            if (pen->moment) {
                pen->decimals = 0;
                read_marks(pen, PLAIN_MARKS);
                put_number(pen, value, least, INK_STAMPS && stamp & 16 ? SPACE : ZERO);
            }
            break;
        }
#endif
#if INK_PASTS
        case BACK: {
            int32_t back = pen->back;
            pen->back = whole_of(pen);
            put_inner(pen);
            pen->back = back;
            break;
        }
#endif
#if INK_JOINED
        case JOINED:
            put_inner(pen);
            while (pen->count > count && pen->codes[pen->count - 1] == SPACE) {
                pen->count--;
            }
            break;
#endif
#if INK_CELLS
        case CELL: {
            uint32_t rest;
            value = figure(pen);
            count = natural(pen);
            rest = value < 0 ? 0u - (uint32_t)value : (uint32_t)value;
            if (count == 10) {
                rest = value < 0 && value != INK_UNKNOWN ? MINUS : SPACE;
            } else {
                rest = value == INK_UNKNOWN ? (uint32_t)DASH : ZERO + rest / power(count) % 10;
            }
            put(pen, (uint16_t)rest);
            break;
        }
#endif
        default:
            put(pen, code);
        }
    }
}

/* Composes the text that an operation names next, where it is asked for; a missing one is empty. */
static INK_APART void words(struct pen *pen, int wanted)
{
    uint32_t which = (uint32_t)natural(pen);
    struct cursor op = pen->op, outer[INK_NESTED];
    pen->count = pen->nested = 0;
    if (which && wanted) {
        pen->outer = outer;
        enter(pen, which - 1);
        put_text(pen);
        pen->op = op;
        pen->pairs = pen->design->code_pairs;
    }
}

/* Whether the heights of a face take two bytes. */
#define IS_TALL_FACE(pen) (INK_TALL_FONTS && (pen)->face[IS_TALL])

/* What stands behind the heights of a face. */
static ink_bytes behind_heights(const struct pen *pen)
{
    return pen->face + HEIGHTS + (IS_TALL_FACE(pen) ? 2 * ALL_HEIGHTS : ALL_HEIGHTS);
}

static uint32_t face_count(const struct pen *pen, uint32_t which, uint32_t bytes)
{
    return place(behind_heights(pen) + which, bytes);
}

static int32_t height(const struct pen *pen, uint32_t which)
{
    uint32_t number = pen->face[HEIGHTS + which];
#if INK_TALL_FONTS
    if (IS_TALL_FACE(pen)) {
        return (int32_t)place(pen->face + HEIGHTS + 2 * which, 2) - 0x8000;
    }
#endif
    return (int32_t)number - 0x80;
}

/* Which codes a face has. */
static ink_bytes map_of(const struct pen *pen)
{
    return behind_heights(pen) + FACE_COUNTS + (INK_KERNS && pen->face[PAIR_BITS] ? KERN_COUNTS : 0);
}

/* Opens a face; the one that was asked for last is kept. */
static void load(struct pen *pen, uint8_t which)
{
    ink_bytes bytes = pen->design->bits;
    if (pen->face && pen->which == which) {
        return;
    }
    pen->which = which;
    pen->face = bytes + place(bytes + which * 3, 3);
    pen->bits = map_of(pen) + face_count(pen, STEPS, 2) * (1u + pen->face[BEFORE_BYTES]);
    pen->shapes = face_count(pen, SHAPES_AT, 3);
}

/* No glyph goes farther from its origin to the right, from its baseline up and down. */
static INK_APART int32_t most(const struct pen *pen, uint8_t column)
{
    return height(pen, (uint32_t)LEAST + column) + ((int32_t)1 << pen->face[WIDE + column]);
}

/* The position of a character's record; 0, what stands for a missing one, where the face lacks it. */
static uint32_t glyph_of(const struct pen *pen, uint16_t code)
{
    uint32_t step = (uint32_t)(code - SPACE) >> 3, before = pen->face[BEFORE_BYTES];
    ink_bytes at = map_of(pen) + step * (1 + before);
    uint32_t found = 0, bits;
    code = (code - SPACE) & 7;
    if (step < face_count(pen, STEPS, 2) && (bits = at[0]) >> code & 1) {
        found = place(at + 1, before) + 1;
        for (bits &= ((uint32_t)1 << code) - 1; bits; bits &= bits - 1) {
            found++;
        }
    }
    return found;
}

/* Bits as many as a number of the face says. */
static uint32_t taken(const struct pen *pen, uint32_t *at, uint32_t bits)
{
    return take(pen->bits, at, pen->face[bits]);
}

/* A column of a shape, whose place moves on. */
static INK_APART int32_t metric(const struct pen *pen, uint32_t *at, uint32_t column)
{
    return height(pen, LEAST + column) + (int32_t)taken(pen, at, WIDE + column);
}

/* The place of the shape of a glyph whose record is read on. */
static INK_APART uint32_t shape_of(const struct pen *pen, uint32_t *at)
{
    return pen->shapes + taken(pen, at, SHAPE_BITS) * pen->face[ALL_BITS];
}

#if INK_KERNS
/* How a pair of characters moves: pairs of the left one stand from one to before another, rising by the right one. */
static int32_t kern_of(const struct pen *pen, uint32_t from, uint32_t end, uint16_t code)
{
    uint32_t record = (uint32_t)pen->face[CODE_BITS] + pen->face[WIDE + KERN];
    while (from < end) {
        uint32_t middle = (from + end) / 2, at = face_count(pen, KERNS_AT, 3) + middle * record;
        uint32_t found = taken(pen, &at, CODE_BITS);
        if (found == code) {
            return metric(pen, &at, KERN);
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

/* Stands for a row where characters are only measured. */
#define MEASURED INK_UNKNOWN

/* Draws the glyph of a record. */
static INK_APART void draw_glyph(struct pen *pen, uint32_t at, int32_t x)
{
    struct picture picture;
    struct span to;
    uint32_t shape = shape_of(pen, &at) + pen->face[WIDE + ADVANCE];
    int32_t y, width;
    at += pen->face[PAIR_BITS];
    picture.at = face_count(pen, PIXELS_AT, 3) + taken(pen, &at, PLACE_BITS);
    x += metric(pen, &shape, LEFT);
    y = pen->row - metric(pen, &shape, RISE);
    width = metric(pen, &shape, WIDTH);
    to_span(pen, x, y, width, metric(pen, &shape, HEIGHT), &to);
    picture.bits = pen->bits;
    picture.mode = pen->face[MODE];
    picture.along = (uint16_t)to.along;
    picture.lines = (uint16_t)to.across;
#if INK_SCALED
    picture.scale = 1;
#endif
    stamp(pen, &picture, to.a, to.b, 0);
}

#if INK_SPACED
#define SPACING(pen) (pen)->setting.spacing
#else
#define SPACING(pen) 0
#endif

/* Sets codes from a column on, on the row of the pen or only measured, and returns where they end. */
static int32_t set(struct pen *pen, const ink_code *codes, uint8_t count, int32_t x)
{
    int drawn = pen->row != MEASURED;
    uint8_t at;
    int32_t reach = most(pen, LEFT) + most(pen, WIDTH);
#if INK_MEMO
    uint16_t *run = 0;
    int32_t last = 0;
    if (drawn && pen->memo) {
        /* Where it ends is found on the way. */
        int32_t top = pen->row - most(pen, RISE), bottom = pen->row + most(pen, HEIGHT) - height(pen, LEAST + RISE);
        uint16_t *cells = note(pen, (uint16_t)(M_RUN | pen->paper << 3), x + height(pen, LEAST + LEFT), top, pen->x1, bottom,
                               (uint16_t)(M_RUN_HEAD + count));
        drawn = 0;
        if (cells) {
            cells[0] = (uint16_t)x;
            cells[1] = (uint16_t)pen->row;
            cells[2] = pen->which;
            run = cells + M_RUN_HEAD;
        }
    }
#endif
#if INK_KERNS
    uint32_t pairs = 0, pairs_end = 0;
#endif
    for (at = 0; at < count; at++) {
        uint32_t index = glyph_of(pen, codes[at]), glyph = index * pen->face[RECORD_BITS], record = glyph;
        uint32_t shape = shape_of(pen, &record);
        if (at) {
            x += SPACING(pen);
        }
#if INK_KERNS
        x += kern_of(pen, pairs, pairs_end, codes[at]);
        pairs = pairs_end = 0;
        if (pen->face[PAIR_BITS]) {
            uint32_t next_record = glyph + ((uint32_t)pen->face[RECORD_BITS] + pen->face[SHAPE_BITS]);
            int is_last = next_record >= pen->shapes;
            pairs = taken(pen, &record, PAIR_BITS);
            pairs_end = is_last ? face_count(pen, KERNS, 3) : taken(pen, &next_record, PAIR_BITS);
        }
#endif
#if INK_MEMO
        if (run) {
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
        if (drawn && x + reach > pen->x0 && x + height(pen, LEAST + LEFT) < pen->x1) {
            draw_glyph(pen, glyph, x);
        }
        x += metric(pen, &shape, ADVANCE);
    }
#if INK_MEMO
    if (run && x + reach < pen->x1) {
        if (x + reach <= run[1 - M_RUN_HEAD - M_EDGES]) {
            pen->memo->used = (uint16_t)(run - M_RUN_HEAD - M_EDGES - pen->memo->cells);
        } else {
            run[3 - M_RUN_HEAD - M_EDGES] = (uint16_t)(x + reach);
        }
    }
#endif
    return x;
}

/* How wide characters are together. */
static int32_t width_of(struct pen *pen, const ink_code *codes, uint8_t count)
{
    pen->row = MEASURED;
    return set(pen, codes, count, 0);
}

#if INK_MEMO
/* Draws what a memo holds of a line of characters. */
static void draw_run(struct pen *pen, const uint16_t *cells, const uint16_t *end)
{
    int32_t x = (int16_t)cells[0], reach;
    pen->row = (int16_t)cells[1];
    load(pen, (uint8_t)cells[2]);
    reach = most(pen, LEFT) + most(pen, WIDTH);
    for (cells += M_RUN_HEAD; cells < end && x + height(pen, LEAST + LEFT) < pen->x1; x += *cells++ & 0xFF) {
        if (x + reach > pen->x0) {
            draw_glyph(pen, (uint32_t)(*cells >> 8) * pen->face[RECORD_BITS], x);
        }
    }
}
#endif

static int32_t stand(int32_t pixels, uint8_t how)
{
    return how == 1 ? floored(pixels, 2) : how ? pixels : 0;
}

static void read_setting(struct pen *pen)
{
    struct setting *setting = &pen->setting;
    setting->face = (uint8_t)natural(pen);
    setting->flags = (uint8_t)natural(pen);
#if INK_SPACED
    setting->spacing = (int16_t)(setting->flags & SPACED ? integer(pen) : 0);
#endif
#if INK_SMALLER
    setting->smaller = setting->flags & SMALLER ? (uint8_t)natural(pen) : 0;
#endif
    setting->down = (int16_t)integer(pen);
}

/* Characters of the line that begins at some code, without what it ends with. */
static INK_APART uint8_t line(struct pen *pen, uint8_t from, int32_t room)
{
    const ink_code *codes = pen->codes + from;
    uint8_t all = (uint8_t)(pen->count - from), at;
#if INK_WRAPS
    uint8_t fits = 0, wraps = pen->setting.flags & WRAP;
    int any = 0;
    for (at = 0;; at++) {
        int ends = at == all || codes[at] == LINE;
        if (ends || (codes[at] == SPACE && wraps)) {
            if (any && wraps && width_of(pen, codes, at) > room) {
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
    (void)room;
    for (at = 0; at != all && codes[at] != LINE; at++) {
    }
    return at;
#endif
}

#if INK_ELLIPSES
/* Sets the characters that leave room for an ellipsis, and that. */
static void shorten(struct pen *pen, ink_code *codes, uint8_t count, int32_t x, int32_t y, int32_t w)
{
    ink_code kept;
    int32_t here;
    for (;; count--) {
        for (; count && codes[count - 1] == SPACE; count--) {
        }
        kept = codes[count];
        codes[count] = DOTS;
        here = width_of(pen, codes, (uint8_t)(count + 1));
        if (!count || here <= w) {
            break;
        }
        codes[count] = kept;
    }
    pen->row = y;
    set(pen, codes, (uint8_t)(count + 1), x + stand(w - here, pen->setting.flags & 3));
    codes[count] = kept;
}
#endif

/* Sets the composed text into a room. A baseline is stated where the vertical place is 3: then y is its row. */
static void set_text(struct pen *pen, const struct box *room)
{
    uint8_t from, fits;
    int32_t here, y = room->y + pen->setting.down;
#if INK_STANDS
    uint8_t vertical = pen->setting.flags >> 2 & 3;
    int32_t below;
#if INK_SMALLER
    int32_t widest;
#endif
#endif
    if (!pen->count) {
        return;
    }
    load(pen, pen->setting.face);
#if INK_STANDS
    for (; vertical != BASELINE;) {
#if INK_SMALLER
        widest = 0;
#endif
        for (from = 0, below = 0; from <= pen->count; from = (uint8_t)(from + fits + 1), below += height(pen, PITCH)) {
            fits = line(pen, from, room->w);
#if INK_SMALLER
            here = width_of(pen, pen->codes + from, fits);
            widest = here > widest ? here : widest;
#endif
        }
#if INK_SMALLER
        if (pen->setting.flags & SMALLER && pen->which != pen->setting.smaller &&
            (widest > room->w || (pen->setting.flags & WRAP && below > room->h))) {
            load(pen, pen->setting.smaller);
            continue;
        }
#endif
        if (vertical == 0) {
            y += height(pen, ASCENT);
        } else if (vertical == 1) {
            y += floored(room->h - below + height(pen, PITCH) - height(pen, CAP), 2) + height(pen, CAP);
        } else {
            y += room->h + height(pen, ASCENT) - below;
        }
        vertical = BASELINE;
    }
#endif
    for (from = 0; from <= pen->count; from = (uint8_t)(from + fits + 1), y += height(pen, PITCH)) {
        ink_code *codes = pen->codes + from;
        fits = line(pen, from, room->w);
        if (y - most(pen, RISE) >= pen->y1 || y + most(pen, HEIGHT) - height(pen, LEAST + RISE) <= pen->y0) {
            continue;
        }
        here = room->w;
        if (pen->setting.flags & ((INK_ELLIPSES ? ELLIPSIS : 0) | 3)) {
            here = width_of(pen, codes, fits);
        }
#if INK_ELLIPSES
        if (pen->setting.flags & ELLIPSIS && here > room->w) {
            shorten(pen, codes, fits, room->x, y, room->w);
            continue;
        }
#endif
        pen->row = y;
        set(pen, codes, fits, room->x + stand(room->w - here, pen->setting.flags & 3));
    }
}

static INK_APART void text(struct pen *pen, int seen)
{
    struct box room = pen->area;
    read_setting(pen);
#if INK_STANDS
    if ((pen->setting.flags >> 2 & 3) != BASELINE) {
        room.h = natural(pen);
    }
#endif
    if (pen->head & MORE) {
        room.x += integer(pen);
        room.w = natural(pen);
    }
    words(pen, seen);
    if (seen) {
        set_text(pen, &room);
    }
}

#if INK_VALUES || INK_HISTORIES
/* Characters that stand together without spaces of their own. */
static void set_in(struct pen *pen, uint8_t face)
{
#if INK_SPACED
    pen->setting.spacing = 0;
#endif
    load(pen, face);
}
#endif

#if INK_VALUES
/* Digits, then their unit, standing together. */
static INK_APART void value(struct pen *pen, int seen)
{
    uint8_t face = (uint8_t)natural(pen), unit_face = (uint8_t)natural(pen), how = (uint8_t)natural(pen);
    int32_t x = pen->area.x + integer(pen), w = natural(pen), y = pen->area.y + integer(pen), raise = integer(pen);
    int32_t gap = integer(pen), digits, unit;
    struct cursor number_at = pen->op, end;
    words(pen, seen);
    if (!seen) {
        words(pen, 0);
        return;
    }
    set_in(pen, face);
    digits = width_of(pen, pen->codes, pen->count);
    words(pen, 1);
    end = pen->op;
    set_in(pen, unit_face);
    unit = width_of(pen, pen->codes, pen->count);
    x += stand(w - digits - gap - unit, how);
    pen->row = y - raise;
    set(pen, pen->codes, pen->count, x + digits + gap);
    pen->op = number_at;
    words(pen, 1);
    set_in(pen, face);
    pen->row = y;
    set(pen, pen->codes, pen->count, x);
    pen->op = end;
}
#endif
