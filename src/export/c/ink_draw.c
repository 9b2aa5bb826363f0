/* See ink_draw.h. MIT OR Apache-2.0.

   The bytes of the tables. A number of at least 0 takes seven bits a byte, the lowest first; the top bit says that more
   follow. A signed number keeps its sign in the lowest bit of such a number. A place is two or three bytes, the lowest first.

   list       how many operations; the place of each in `code`
   operation  kind (5 bits), something more follows (32), paper instead of ink (64), tests follow (128); top, height, left,
              width; tests; then what its kind needs, as the functions below read it
   test       kind (2 bits) and its bits, 64: holds where it does not, 128: another one follows
   text       codes, ended by 0; 1 to 5 are fields, stamps and line ends; from 8 on characters, from 0xF0 on in two bytes
   face       heights, counts, the bits of each column of metrics and its least number; then records of glyphs, pairs, pixels
   picture    rows of pixels, or the numbers of zeros between ones as exponential Golomb codes */
#include "ink_draw.h"

typedef const INK_FLASH uint8_t *ink_bytes;

/* Bits of an operation's first byte. */
enum { MORE = 32, PAPER = 64, TESTS = 128 };

/* The widest picture. */
#define WIDEST 512

/* Codes of characters. */
enum { SPACE = 8, DOTS, MINUS, DASH, POINT, ZERO, COLON = ZERO + 10 };

/* Bits of a setting. */
enum { WRAP = 16, ELLIPSIS = 32, SPACED = 64, SMALLER = 128 };

struct pen {
    const INK_FLASH struct ink_design *design;
    const struct ink_layer *layer;
    uint8_t *strip;
    uint32_t strip_at;                /* its first byte in the packed picture */
    int32_t left, top, right, bottom; /* its part of the upright picture */
    int32_t x0, y0, x1, y1;           /* what may be drawn to */
    int32_t x, y, w, h;               /* the area of the operation */
    ink_bytes op;
    uint8_t locale;
    uint8_t paper;
    uint8_t count; /* characters of the text */
    uint16_t codes[INK_TEXT + 1];
};

/* ---- Numbers ---- */

static uint32_t number(ink_bytes *at)
{
    uint32_t value = 0;
    uint8_t shift = 0, byte;
    do {
        byte = *(*at)++;
        value |= (uint32_t)(byte & 0x7F) << shift;
        shift = (uint8_t)(shift + 7);
    } while (byte & 0x80 && shift < 35);
    return value;
}

static int32_t natural(struct pen *pen)
{
    return (int32_t)number(&pen->op);
}

static int32_t signed_number(ink_bytes *at)
{
    uint32_t value = number(at);
    return value & 1 ? -(int32_t)(value >> 1) - 1 : (int32_t)(value >> 1);
}

static int32_t integer(struct pen *pen)
{
    return signed_number(&pen->op);
}

static uint8_t byte(struct pen *pen)
{
    return *pen->op++;
}

static uint32_t place(ink_bytes at, uint8_t bytes)
{
    uint32_t value = 0;
    while (bytes--) {
        value = value << 8 | at[bytes];
    }
    return value;
}

#if INK_BARS || INK_MARKERS || INK_ARCS || INK_RING_MARKERS || INK_HISTORIES
/* The whole part of n / d, downwards; d is above 0. */
static int32_t divide(int64_t n, uint32_t d)
{
    uint64_t rest = n < 0 ? (uint64_t)(-(n + 1)) : (uint64_t)n, step = (uint64_t)d << 31;
    uint32_t quotient = 0;
    uint8_t bit;
    for (bit = 0; bit < 32; bit++, step >>= 1) {
        quotient <<= 1;
        if (rest >= step) {
            rest -= step;
            quotient |= 1;
        }
    }
    if (quotient > 0x7FFFFFFF) {
        quotient = 0x7FFFFFFF;
    }
    return n < 0 ? -(int32_t)quotient - 1 : (int32_t)quotient;
}

/* n * m / d to the nearest, halves upwards. */
static int32_t ratio(int32_t n, int32_t m, int32_t d)
{
    return d > 0 ? divide((int64_t)n * m * 2 + d, (uint32_t)d * 2) : 0;
}
#endif

static int32_t floored(int32_t n, int32_t d)
{
    return (n < 0 ? n - d + 1 : n) / d;
}

static int32_t power(uint8_t decimals)
{
    int32_t value = 1;
    while (decimals--) {
        value *= 10;
    }
    return value;
}

/* A value of so many decimals to the nearest whole number, halves away from 0. */
static int32_t rounded(int32_t value, uint8_t decimals)
{
    uint32_t one = (uint32_t)power(decimals), size = value < 0 ? 0u - (uint32_t)value : (uint32_t)value;
    int32_t whole = (int32_t)((size + one / 2) / one);
    return value < 0 ? -whole : whole;
}

static int32_t value_of(const struct pen *pen, uint32_t field)
{
    return field < pen->design->field_count ? pen->layer->values[field] : INK_UNKNOWN;
}

#if INK_BARS || INK_MARKERS || INK_ARCS || INK_RING_MARKERS
/* A value's place on a scale, from 0 to d. */
struct level {
    int32_t n, d;
};

static int on_level(struct pen *pen, struct level *level)
{
    int32_t value = value_of(pen, number(&pen->op)), factor = natural(pen), low = integer(pen);
    int64_t n = (int64_t)value * factor - low;
    level->d = natural(pen);
    level->n = n < 0 ? 0 : n > level->d ? level->d : (int32_t)n;
    return value != INK_UNKNOWN;
}
#endif

/* ---- Pixels ---- */

/* Narrows what may be drawn to; says whether anything is left. */
static int clip(struct pen *pen, int32_t x, int32_t y, int32_t w, int32_t h)
{
    if (pen->x0 < x) {
        pen->x0 = x;
    }
    if (pen->y0 < y) {
        pen->y0 = y;
    }
    if (pen->x1 > x + w) {
        pen->x1 = x + w;
    }
    if (pen->y1 > y + h) {
        pen->y1 = y + h;
    }
    return pen->x0 < pen->x1 && pen->y0 < pen->y1;
}

static void unclip(struct pen *pen)
{
    pen->x0 = pen->left;
    pen->y0 = pen->top;
    pen->x1 = pen->right;
    pen->y1 = pen->bottom;
}

static uint8_t *byte_at(const struct pen *pen, int32_t a, int32_t b)
{
    const INK_FLASH struct ink_packing *to = &pen->design->packing;
    return pen->strip + ((uint32_t)(a >> 3) * to->a_step + (uint32_t)b * to->b_step - pen->strip_at);
}

static void fill(const struct pen *pen, int32_t x, int32_t y, int32_t w, int32_t h)
{
    const INK_FLASH struct ink_packing *to = &pen->design->packing;
    int32_t right = x + w, bottom = y + h, a, b, a1, b1, swap;
    uint16_t step = to->b_step;
    uint8_t ink = pen->paper ? !to->ink : to->ink;
    x = x < pen->x0 ? pen->x0 : x;
    y = y < pen->y0 ? pen->y0 : y;
    right = (right > pen->x1 ? pen->x1 : right) - 1;
    bottom = (bottom > pen->y1 ? pen->y1 : bottom) - 1;
    if (x > right || y > bottom) {
        return;
    }
    a = x * to->ax + y * to->ay + to->a0;
    b = x * to->bx + y * to->by + to->b0;
    a1 = right * to->ax + bottom * to->ay + to->a0;
    b1 = right * to->bx + bottom * to->by + to->b0;
    if (a > a1) {
        swap = a;
        a = a1;
        a1 = swap;
    }
    if (b > b1) {
        swap = b;
        b = b1;
        b1 = swap;
    }
    for (; a <= a1; a = (a | 7) + 1) {
        uint8_t *at = byte_at(pen, a, b);
        int32_t count = b1 - b + 1, last = a1 - (a & ~(int32_t)7);
        uint32_t mask = to->first_bit ? (uint32_t)0xFF >> (a & 7) : (uint32_t)0xFF << (a & 7);
        if (last < 7) {
            mask &= to->first_bit ? (uint32_t)0xFF << (7 - last) : (uint32_t)0xFF >> (7 - last);
        }
        for (; count--; at += step) {
            *at = (uint8_t)(ink ? *at | mask : *at & ~mask);
        }
    }
}

static uint32_t take(ink_bytes bits, uint32_t *at, uint8_t count)
{
    uint32_t value = 0;
    while (count) {
        uint8_t have = (uint8_t)(8 - (*at & 7)), some = count < have ? count : have;
        value = value << some | (uint32_t)((bits[*at >> 3] >> (have - some)) & ((1 << some) - 1));
        *at += some;
        count = (uint8_t)(count - some);
    }
    return value;
}

/* A picture, read row by row. */
struct picture {
    ink_bytes bits;
    uint32_t at;
    uint32_t zeros; /* before the next one */
    int32_t width, height;
    uint8_t mode; /* 0 plain; else 16, and 8 where rows are compared with the one above, and the order of the codes */
    uint8_t row[WIDEST / 8];
};

static uint32_t golomb(struct picture *picture)
{
    uint8_t order = picture->mode & 7, more = order;
    while (more < 31 && !take(picture->bits, &picture->at, 1)) {
        more++;
    }
    return ((uint32_t)1 << more | take(picture->bits, &picture->at, more)) - ((uint32_t)1 << order);
}

static void begin(struct picture *picture)
{
    uint8_t at;
    for (at = 0; at < WIDEST / 8; at++) {
        picture->row[at] = 0;
    }
    if (picture->width > WIDEST) {
        picture->height = 0;
    }
    if (picture->mode) {
        picture->zeros = golomb(picture);
    }
}

static void next_row(struct picture *picture)
{
    int32_t width = picture->width, x;
    if (!picture->mode) {
        for (x = 0; x < width; x += 8) {
            uint8_t some = (uint8_t)(width - x < 8 ? width - x : 8);
            picture->row[x >> 3] = (uint8_t)(0xFFu & take(picture->bits, &picture->at, some) << (8 - some));
        }
        return;
    }
    for (x = 0; !(picture->mode & 8) && x < width; x += 8) {
        picture->row[x >> 3] = 0;
    }
    for (x = 0; picture->zeros < (uint32_t)(width - x); x++) {
        x += (int32_t)picture->zeros;
        picture->row[x >> 3] ^= (uint8_t)(0x80 >> (x & 7));
        picture->zeros = golomb(picture);
    }
    picture->zeros -= (uint32_t)(width - x);
}

/* Copies the set bits of a row as ink or paper. */
static void stamp_row(const struct pen *pen, const uint8_t *row, int32_t left, int32_t y, int32_t width)
{
    const INK_FLASH struct ink_packing *to = &pen->design->packing;
    int32_t x = left < pen->x0 ? pen->x0 : left, right = left + width > pen->x1 ? pen->x1 : left + width;
    int32_t a = x * to->ax + y * to->ay + to->a0, b = x * to->bx + y * to->by + to->b0, ax = to->ax;
    int32_t step = to->bx * (int32_t)to->b_step;
    uint8_t ink = pen->paper ? !to->ink : to->ink, first = to->first_bit;
    uint8_t *at;
    if (x >= right) {
        return;
    }
    at = byte_at(pen, a, b);
    for (x -= left, right -= left; x < right; x++) {
        if (row[x >> 3] & (0x80 >> (x & 7))) {
            uint8_t mask = (uint8_t)(1 << ((a & 7) ^ first));
            *at = (uint8_t)(ink ? *at | mask : *at & ~mask);
        }
        if (ax) {
            a += ax;
            if (x + 1 < right) {
                at = byte_at(pen, a, b);
            }
        } else if (x + 1 < right) {
            at += step;
        }
    }
}

static void stamp(const struct pen *pen, struct picture *picture, int32_t x, int32_t y)
{
    int32_t row;
    if (x >= pen->x1 || x + picture->width <= pen->x0 || y >= pen->y1 || y + picture->height <= pen->y0) {
        return;
    }
    begin(picture);
    for (row = 0; row < picture->height && y < pen->y1; row++, y++) {
        next_row(picture);
        if (y >= pen->y0) {
            stamp_row(pen, picture->row, x, y, picture->width);
        }
    }
}

static void open_bitmap(struct pen *pen, struct picture *picture)
{
    ink_bytes at = pen->design->bits + number(&pen->op);
    picture->width = (int32_t)number(&at);
    picture->height = (int32_t)number(&at);
    picture->mode = *at++;
    picture->bits = at;
    picture->at = 0;
}

static void bitmap(struct pen *pen, uint8_t head)
{
    struct picture picture;
    int32_t scale, x, y;
    open_bitmap(pen, &picture);
    if (!(head & MORE)) {
        stamp(pen, &picture, pen->x, pen->y);
        return;
    }
    scale = natural(pen);
    begin(&picture);
    for (y = 0; y < picture.height; y++) {
        next_row(&picture);
        for (x = 0; x < picture.width; x++) {
            if (picture.row[x >> 3] & (0x80 >> (x & 7))) {
                fill(pen, pen->x + x * scale, pen->y + y * scale, scale, scale);
            }
        }
    }
}

#if INK_TILES
/* A pattern of eight by eight pixels, anchored to the screen's corner. */
static void tile(struct pen *pen)
{
    uint8_t row[WIDEST / 8];
    int32_t x, y;
    uint8_t at;
    pen->paper = 1;
    fill(pen, pen->x, pen->y, pen->w, pen->h);
    pen->paper = 0;
    for (y = pen->y0; y < pen->y1; y++) {
        for (at = 0; at < WIDEST / 8; at++) {
            row[at] = pen->op[y & 7];
        }
        for (x = pen->x0 & ~(int32_t)7; x < pen->x1; x += WIDEST) {
            stamp_row(pen, row, x, y, WIDEST);
        }
    }
}
#endif

/* ---- Texts ---- */

static void put(struct pen *pen, uint16_t code)
{
    if (pen->count < INK_TEXT) {
        pen->codes[pen->count++] = code;
    }
}

static void put_digits(struct pen *pen, uint32_t rest, uint8_t least, uint16_t pad, uint8_t decimals)
{
    uint8_t digits[11], count = 0;
    do {
        digits[count++] = (uint8_t)(rest % 10);
        rest /= 10;
    } while (rest || count <= decimals);
    while (least > count) {
        least--;
        put(pen, pad);
    }
    while (count) {
        if (count == decimals) {
            put(pen, POINT);
        }
        put(pen, (uint16_t)(ZERO + digits[--count]));
    }
}

static void put_number(struct pen *pen, int32_t value, uint8_t decimals)
{
    if (value < 0) {
        put(pen, MINUS);
    }
    put_digits(pen, value < 0 ? 0u - (uint32_t)value : (uint32_t)value, 0, 0, decimals);
}

#if INK_CLOCKS || INK_HOURS
/* A point in time. The date is found by counting from 1 March, so that the leap day ends a year (E. G. Richards,
   "Calendars", in: Explanatory Supplement to the Astronomical Almanac, 3rd edition, 2013). */
struct moment {
    int32_t part[13]; /* in the order of the tables */
};

static void moment(const struct pen *pen, int32_t seconds, struct moment *at)
{
    int32_t days = floored(seconds, 86400), rest = seconds - days * 86400, *part = at->part;
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
    part[4] = rest / 3600;
    part[5] = (part[4] + 11) % 12 + 1;
    part[12] = part[4] >= 12;
    part[6] = rest / 60 % 60;
    part[7] = rest % 60;
}
#endif

static void compose(struct pen *pen, uint32_t from, uint8_t depth);

/* One of a list of texts. */
static void choose(struct pen *pen, ink_bytes *at, int32_t which, uint8_t depth)
{
    uint8_t bytes = pen->design->place;
    ink_bytes list = pen->design->texts + place(*at, bytes);
    int32_t count = (int32_t)number(&list);
    *at += bytes;
    which = which < 0 ? 0 : which >= count ? count - 1 : which;
    if (count > 0) {
        compose(pen, place(list + which * bytes, bytes), depth);
    }
}

#if INK_CLOCKS
#define MOMENT const struct moment *now,
#define NO_MOMENT 0,
#else
#define MOMENT
#define NO_MOMENT
#endif

/* A text's codes up to its end. `now` is the time that stamps are of; none are written where it is null. */
static ink_bytes put_text(struct pen *pen, ink_bytes at, MOMENT uint8_t depth)
{
    for (;;) {
        uint16_t code = *at++;
        uint32_t field;
        int32_t value;
        uint8_t decimals;
#if INK_CLOCKS
        struct moment time;
#endif
        if (code == 0) {
            return at;
        }
        if (code >= 0xF0) {
            code = (uint16_t)((code & 0x0F) << 8 | *at++);
        }
#if INK_CLOCKS
        if (code == 4) {
            uint8_t stamp = *at++, part = stamp & 15;
            if (part >= 10) {
                choose(pen, &at, now ? now->part[part < 13 ? part : 0] : 0, depth);
            } else if (now) {
                uint8_t least = part == 0 ? 4 : part == 8 ? 3 : part == 9 ? 1 : 2;
                put_digits(pen, (uint32_t)now->part[part], stamp & 32 ? 0 : least, stamp & 16 ? SPACE : ZERO, 0);
            }
            continue;
        }
#endif
        if (code > 4) {
            put(pen, code);
            continue;
        }
        field = number(&at);
        value = value_of(pen, field);
#if INK_CLOCKS
        if (code == 3) {
            if (value == INK_UNKNOWN) {
                uint8_t count = pen->count;
                at = put_text(pen, at, 0, depth);
                pen->count = count;
                put(pen, DASH);
            } else {
                moment(pen, value, &time);
                at = put_text(pen, at, &time, depth);
            }
            continue;
        }
#endif
        decimals = *at++;
        if (value == INK_UNKNOWN) {
            put(pen, DASH);
            at += code == 2 ? pen->design->place : 0;
        } else if (code == 1) {
            put_number(pen, value, decimals);
        } else {
            choose(pen, &at, rounded(value, decimals), depth);
        }
    }
}

static void compose(struct pen *pen, uint32_t from, uint8_t depth)
{
    if (depth) {
        put_text(pen, pen->design->texts + from, NO_MOMENT (uint8_t)(depth - 1));
    }
}

/* Composes the text that an operation names next; a missing one is empty. */
static void words(struct pen *pen, ink_bytes *at)
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
        compose(pen, which, 2);
    }
}

/* ---- Faces ---- */

/* Columns of a glyph's record. */
enum { ADVANCE, LEFT, RISE, WIDTH, HEIGHT, KERN, COLUMNS };

struct face {
    ink_bytes bits;
    int32_t pitch, ascent, cap;
    uint32_t glyphs, kerns;
    uint32_t kerns_at, pixels_at;
    int32_t least[COLUMNS];
    uint8_t wide[COLUMNS];
    uint8_t code_bits, place_bits, record, mode;
};

static void load(const struct pen *pen, struct face *face, uint32_t which)
{
    ink_bytes at = pen->design->bits + place(pen->design->bits + which * 3, 3);
    uint8_t column;
    face->pitch = signed_number(&at);
    face->ascent = signed_number(&at);
    face->cap = signed_number(&at);
    face->glyphs = number(&at);
    face->kerns = number(&at);
    face->mode = *at++;
    face->code_bits = *at++;
    face->place_bits = *at++;
    face->record = (uint8_t)(face->code_bits + face->place_bits);
    for (column = 0; column < COLUMNS; column++) {
        face->wide[column] = *at++;
        face->least[column] = signed_number(&at);
        face->record = (uint8_t)(face->record + (column == KERN ? 0 : face->wide[column]));
    }
    face->bits = at;
    face->kerns_at = face->glyphs * face->record;
    face->pixels_at = face->kerns_at + face->kerns * (2u * face->code_bits + face->wide[KERN]);
}

/* The record whose key is this one; 0 where there is none. */
static uint32_t find(const struct face *face, uint32_t from, uint32_t count, uint8_t record, uint8_t bits, uint32_t key)
{
    uint32_t low = 0;
    while (low < count) {
        uint32_t middle = (low + count) / 2, at = from + middle * record, found = take(face->bits, &at, bits);
        if (found == key) {
            return at;
        }
        if (found < key) {
            low = middle + 1;
        } else {
            count = middle;
        }
    }
    return 0;
}

/* Sets codes from an origin on, drawn or only measured, and returns where they end. */
static int32_t set(const struct pen *pen, const struct face *face, int32_t spacing, const uint16_t *codes, uint8_t count,
                   int32_t x, int32_t y, int drawn)
{
    int32_t metric[COLUMNS];
    uint8_t at, column, pair = (uint8_t)(face->code_bits * 2);
    for (at = 0; at < count; at++) {
        uint32_t glyph = find(face, face->record, face->glyphs - 1, face->record, face->code_bits, codes[at]), bits;
        if (at) {
            x += spacing;
            if (face->kerns) {
                uint32_t key = (uint32_t)codes[at - 1] << face->code_bits | codes[at];
                uint32_t kern = find(face, face->kerns_at, face->kerns, (uint8_t)(pair + face->wide[KERN]), pair, key);
                if (kern && !(codes[at - 1] >> face->code_bits)) {
                    x += face->least[KERN] + (int32_t)take(face->bits, &kern, face->wide[KERN]);
                }
            }
        }
        if (!glyph) {
            glyph = face->code_bits;
        }
        bits = take(face->bits, &glyph, face->place_bits);
        for (column = 0; column < KERN; column++) {
            metric[column] = face->least[column] + (int32_t)take(face->bits, &glyph, face->wide[column]);
            if (!drawn) {
                break;
            }
        }
        if (drawn) {
            struct picture picture;
            picture.bits = face->bits;
            picture.at = face->pixels_at + bits;
            picture.mode = face->mode;
            picture.width = metric[WIDTH];
            picture.height = metric[HEIGHT];
            stamp(pen, &picture, x + metric[LEFT], y - metric[RISE]);
        }
        x += metric[ADVANCE];
    }
    return x;
}

static int32_t stand(int32_t pixels, int how)
{
    return how == 1 ? floored(pixels, 2) : how ? pixels : 0;
}

/* How text is set. */
struct setting {
    uint8_t face, smaller, flags;
    int32_t spacing;
};

static void read_setting(ink_bytes *at, struct setting *setting)
{
    setting->face = (uint8_t)number(at);
    setting->flags = *(*at)++;
    setting->spacing = setting->flags & SPACED ? signed_number(at) : 0;
    setting->smaller = setting->flags & SMALLER ? (uint8_t)number(at) : 0;
}

/* Characters of the line that begins at `start`, without what it ends with. */
static uint8_t line(const struct pen *pen, const struct face *face, const struct setting *setting, uint8_t start,
                    int32_t room)
{
    const uint16_t *codes = pen->codes + start;
    uint8_t most = (uint8_t)(pen->count - start), fits = 0, at;
    int any = 0;
    for (at = 0;; at++) {
        int ends = at == most || codes[at] == 5;
        if (ends || (codes[at] == SPACE && setting->flags & WRAP)) {
            if (any && setting->flags & WRAP && set(pen, face, setting->spacing, codes, at, 0, 0, 0) > room) {
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
}

/* Sets the composed text into a room. A baseline is stated where the vertical place is 3: then y is its row. */
static void set_text(struct pen *pen, const struct setting *setting, int32_t x, int32_t y, int32_t w, int32_t h)
{
    struct face face;
    uint8_t flags = setting->flags, start, fits, vertical = flags >> 2 & 3;
    int32_t lines = 0, widest = 0, here;
    load(pen, &face, setting->face);
    for (start = 0; vertical != 3 && start <= pen->count; start = (uint8_t)(start + fits + 1), lines++) {
        fits = line(pen, &face, setting, start, w);
        here = set(pen, &face, setting->spacing, pen->codes + start, fits, 0, 0, 0);
        widest = here > widest ? here : widest;
    }
    if (flags & SMALLER && (widest > w || (flags & WRAP && face.pitch * lines > h))) {
        load(pen, &face, setting->smaller);
        lines = 0;
        for (start = 0; start <= pen->count; start = (uint8_t)(start + fits + 1), lines++) {
            fits = line(pen, &face, setting, start, w);
        }
    }
    here = face.pitch * (lines - 1);
    if (vertical == 0) {
        y += face.ascent;
    } else if (vertical == 1) {
        y += floored(h - here - face.cap, 2) + face.cap;
    } else if (vertical == 2) {
        y += h - (face.pitch - face.ascent) - here;
    }
    for (start = 0; start <= pen->count; start = (uint8_t)(start + fits + 1), y += face.pitch) {
        uint16_t *codes = pen->codes + start;
        uint8_t shown;
        fits = shown = vertical == 3 ? pen->count : line(pen, &face, setting, start, w);
        here = set(pen, &face, setting->spacing, codes, shown, 0, 0, 0);
        if (flags & ELLIPSIS && here > w) {
            uint16_t kept;
            for (;; shown--) {
                for (; shown && codes[shown - 1] == SPACE; shown--) {
                }
                kept = codes[shown];
                codes[shown] = DOTS;
                here = set(pen, &face, setting->spacing, codes, (uint8_t)(shown + 1), 0, 0, 0);
                if (!shown || here <= w) {
                    break;
                }
                codes[shown] = kept;
            }
            set(pen, &face, setting->spacing, codes, (uint8_t)(shown + 1), x + stand(w - here, flags & 3), y, 1);
            codes[shown] = kept;
            continue;
        }
        set(pen, &face, setting->spacing, codes, shown, x + stand(w - here, flags & 3), y, 1);
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
    struct face face, unit_face;
    uint8_t flags;
    int32_t x, y, w, raise, gap, digits, unit;
    ink_bytes number_at;
    load(pen, &face, number(&pen->op));
    load(pen, &unit_face, number(&pen->op));
    flags = byte(pen);
    x = pen->x + integer(pen);
    w = natural(pen);
    y = pen->y + integer(pen);
    raise = integer(pen);
    gap = integer(pen);
    number_at = pen->op;
    words(pen, &pen->op);
    digits = set(pen, &face, 0, pen->codes, pen->count, 0, 0, 0);
    words(pen, &pen->op);
    unit = set(pen, &unit_face, 0, pen->codes, pen->count, 0, 0, 0);
    x += stand(w - digits - gap - unit, flags);
    set(pen, &unit_face, 0, pen->codes, pen->count, x + digits + gap, y - raise, 1);
    words(pen, &number_at);
    set(pen, &face, 0, pen->codes, pen->count, x, y, 1);
}
#endif

/* ---- Bars and rings ---- */

enum { RISING = 1, COUNT = 2, EMPTY = 4 };

#if INK_BARS || INK_MARKERS || INK_ROWS || INK_HISTORIES
/* A rectangle counted from the operation's corner. */
struct box {
    int32_t x, y, w, h;
};

static void read_box(struct pen *pen, struct box *box)
{
    box->x = pen->x + integer(pen);
    box->y = pen->y + integer(pen);
    box->w = natural(pen);
    box->h = natural(pen);
}
#endif

#if INK_BARS
static void bar(struct pen *pen)
{
    uint8_t flags = byte(pen);
    struct box full;
    struct level level;
    int32_t from, to, length;
    read_box(pen, &full);
    from = natural(pen);
    if (!on_level(pen, &level) || (flags & EMPTY && !level.n)) {
        return;
    }
    length = flags & RISING ? full.h : full.w;
    if (flags & COUNT) {
        to = ratio(level.n, length, level.d);
    } else {
        to = ratio(level.n, length > 0 ? length - 1 : 0, level.d);
        if (to < from) {
            int32_t swap = to;
            to = from;
            from = swap;
        }
        to++;
    }
    if (flags & RISING) {
        fill(pen, full.x, full.y + full.h - to, full.w, to - from);
    } else {
        fill(pen, full.x + from, full.y, to - from, full.h);
    }
}
#endif

#if INK_MARKERS
static void marker(struct pen *pen)
{
    uint8_t flags = byte(pen);
    struct box full;
    struct level level;
    int32_t base, at, row, length;
    read_box(pen, &full);
    base = integer(pen);
    if (!on_level(pen, &level)) {
        return;
    }
    length = flags & RISING ? full.h : full.w;
    at = ratio(level.n, length > 0 ? length - 1 : 0, level.d) - 2;
    for (row = 0; row < 3; row++) {
        if (flags & RISING) {
            fill(pen, pen->x + base - row, full.y + full.h - at - 5 + row, 1, 5 - 2 * row);
        } else {
            fill(pen, full.x + at + row, pen->y + base + row, 5 - 2 * row, 1);
        }
    }
}
#endif

#if INK_ARCS || INK_RING_MARKERS
/* A direction clockwise from the top: sine and cosine times 2^29, found by rotations that are shifts (CORDIC: J. E. Volder,
   "The CORDIC Trigonometric Computing Technique", 1959). */
struct bearing {
    int32_t sine, cosine;
    int right;
};

static const INK_FLASH int32_t angles[12] = { 268435456, 158466703, 83729454, 42502378, 21333666, 10677233,
                                              5339919,   2670123,   1335082,  667543,   333772,   166886 };

/* What shifts of negative numbers give is not settled before C23, so they are avoided. */
static int32_t shifted(int32_t value, uint8_t bits)
{
    return value < 0 ? -1 - ((-1 - value) >> bits) : value >> bits;
}

static void turn(struct bearing *bearing, int32_t angle)
{
    int32_t x = 326016437, y = 0, left = angle, quarter = (int32_t)1 << 29;
    uint8_t step;
    bearing->right = angle >= 0;
    if (angle > quarter) {
        y = x;
        x = 0;
        left -= quarter;
    } else if (angle < -quarter) {
        y = -x;
        x = 0;
        left += quarter;
    }
    for (step = 0; step < 29; step++) {
        int32_t by = step < 12 ? angles[step] : angles[11] >> (step - 11);
        int32_t dx = shifted(x, step), dy = shifted(y, step);
        if (left < 0) {
            x += dy;
            y -= dx;
            left += by;
        } else {
            x -= dy;
            y += dx;
            left -= by;
        }
    }
    bearing->sine = y;
    bearing->cosine = x;
}

/* Half pixels times 2^29 along a direction and clockwise of it; what counts as none. */
#define SLACK 65536

static int64_t along(const struct bearing *to, int32_t x, int32_t y)
{
    return (int64_t)x * to->sine - (int64_t)y * to->cosine;
}

static int64_t aside(const struct bearing *to, int32_t x, int32_t y)
{
    return (int64_t)x * to->cosine + (int64_t)y * to->sine;
}
#endif

#if INK_ARCS
/* Whether a point lies clockwise of a direction, 1, before it, -1, or on it, on the way from the bottom over the left, the
   top and the right to the bottom. */
static int side(const struct bearing *of, int32_t x, int32_t y)
{
    int right = x >= 0;
    int64_t away = aside(of, x, y);
    if (away <= SLACK && away >= -SLACK && along(of, x, y) >= 0) {
        return 0;
    }
    return (right != of->right ? right : away > 0) ? 1 : -1;
}

static void arc(struct pen *pen)
{
    int32_t end = integer(pen), middle_x = integer(pen), middle_y = integer(pen), x, y, run;
    uint8_t filled = byte(pen);
    int32_t from = integer(pen), to;
    struct bearing first, last;
    struct level level;
    struct picture mask;
    if (!on_level(pen, &level) || (!filled && !level.n)) {
        return;
    }
    to = ratio(2 * level.n - level.d, end, level.d);
    turn(&first, from < to ? from : to);
    turn(&last, from < to ? to : from);
    open_bitmap(pen, &mask);
    begin(&mask);
    for (y = 0; y < mask.height && pen->y + y < pen->y1; y++) {
        next_row(&mask);
        if (pen->y + y < pen->y0) {
            continue;
        }
        for (x = run = 0; x < mask.width; x++) {
            int32_t half_x = 2 * x + 1 - middle_x, half_y = 2 * y + 1 - middle_y;
            if (mask.row[x >> 3] & (0x80 >> (x & 7)) && side(&first, half_x, half_y) >= 0 &&
                side(&last, half_x, half_y) <= 0) {
                run++;
            } else if (run) {
                fill(pen, pen->x + x - run, pen->y + y, run, 1);
                run = 0;
            }
        }
        fill(pen, pen->x + x - run, pen->y + y, run, 1);
    }
}
#endif

#if INK_RING_MARKERS
static void ring_marker(struct pen *pen)
{
    int32_t end = integer(pen), middle_x = integer(pen), middle_y = integer(pen), inner = natural(pen), x, y;
    int32_t longest = natural(pen);
    struct bearing towards;
    struct level level;
    if (!on_level(pen, &level)) {
        return;
    }
    turn(&towards, ratio(2 * level.n - level.d, end, level.d));
    for (y = pen->y0; y < pen->y1; y++) {
        for (x = pen->x0; x < pen->x1; x++) {
            int32_t half_x = 2 * (x - pen->x) + 1 - middle_x, half_y = 2 * (y - pen->y) + 1 - middle_y;
            int64_t away = aside(&towards, half_x, half_y), one = (int64_t)1 << 30;
            int64_t under = ((int64_t)inner << 29) - along(&towards, half_x, half_y) + SLACK;
            if (away <= one + SLACK && away >= -one - SLACK && under >= one && under < (int64_t)longest << 29) {
                fill(pen, x, y, 1, 1);
            }
        }
    }
}
#endif

/* ---- Lists ---- */

#if INK_ROWS
/* Pixels of a scroll bar across, and of its marks with the space to the track. */
enum { SCROLL = 5, MARK = 5 };

static void scroll_bar(struct pen *pen, const struct box *bar, int32_t first, int32_t visible, int32_t total)
{
    int32_t row, track = bar->h > 2 * MARK ? bar->h - 2 * MARK : 0, start, end;
    for (row = 0; row < 3; row++) {
        int32_t at = SCROLL / 2 - row;
        if (first > 0) {
            fill(pen, bar->x + at, bar->y + row, SCROLL - 2 * at, 1);
        }
        if (first + visible < total) {
            fill(pen, bar->x + at, bar->y + (bar->h > row + 1 ? bar->h - row - 1 : 0), SCROLL - 2 * at, 1);
        }
    }
    fill(pen, bar->x + SCROLL / 2, bar->y + MARK, 1, track);
    start = track * first / total;
    end = track * (first + visible) / total;
    fill(pen, bar->x + SCROLL / 2 - 1, bar->y + MARK + start, 3, end - start > 3 ? end - start : 3);
}

static void rows(struct pen *pen)
{
    uint8_t pages = byte(pen);
    uint32_t field = number(&pen->op);
    int32_t selected = value_of(pen, field), total, columns, visible, pitch, width, first, row, column;
    uint8_t decimals = byte(pen);
    struct box bar;
    ink_bytes columns_at, cell;
    total = natural(pen);
    columns = natural(pen);
    visible = natural(pen);
    pitch = natural(pen);
    width = natural(pen);
    read_box(pen, &bar);
    selected = selected == INK_UNKNOWN ? 0 : rounded(selected, decimals);
    selected = selected >= total ? total - 1 : selected;
    selected = selected < 0 ? 0 : selected;
    first = pages ? selected / (visible > 0 ? visible : 1) * visible : selected - visible / 2;
    first = first > total - visible ? total - visible : first;
    first = first < 0 ? 0 : first;
    columns_at = pen->op;
    for (column = 0; column < columns; column++) {
        struct setting setting;
        uint8_t flags;
        (void)integer(pen);
        (void)natural(pen);
        flags = byte(pen);
        read_setting(&pen->op, &setting);
        if (flags & 4) {
            read_setting(&pen->op, &setting);
        }
    }
    cell = pen->op;
    for (row = 0; row < first * columns; row++) {
        (void)number(&cell);
    }
    for (row = first; row < total && row < first + visible; row++) {
        int32_t y = pen->y + (row - first) * pitch, h = pen->y + pen->h - y < pitch ? pen->y + pen->h - y : pitch;
        int32_t across = width < pen->w ? width : pen->w;
        ink_bytes at = columns_at;
        int here = row == selected, seen;
        unclip(pen);
        seen = clip(pen, pen->x, pen->y, pen->w, pen->h) && clip(pen, pen->x, y, across, h);
        pen->paper = 0;
        if (here && seen) {
            fill(pen, pen->x, y, across, h);
        }
        for (column = 0; column < columns; column++) {
            struct setting setting, other;
            int32_t left = signed_number(&at), wide = (int32_t)number(&at);
            uint8_t flags = *at++;
            read_setting(&at, &setting);
            if (flags & 4) {
                read_setting(&at, &other);
                setting = here ? other : setting;
            }
            unclip(pen);
            if (clip(pen, pen->x + left, y, wide, h)) {
                words(pen, &cell);
                pen->paper = (uint8_t)(flags >> here & 1);
                if (pen->count) {
                    set_text(pen, &setting, pen->x + left, y, wide, h);
                }
            } else {
                (void)number(&cell);
            }
        }
    }
    pen->paper = 0;
    unclip(pen);
    if (total > visible && clip(pen, bar.x, bar.y, bar.w, bar.h)) {
        scroll_bar(pen, &bar, first, visible, total);
    }
}
#endif

/* ---- Histories ---- */

static const INK_FLASH struct ink_ring *ring_of(const INK_FLASH struct ink_design *design, uint32_t field)
{
    uint16_t at;
    for (at = 0; at < design->ring_count; at++) {
        if (design->rings[at].field == field) {
            return design->rings + at;
        }
    }
    return 0;
}

#if INK_HISTORIES
enum { BARS = 1, GRID = 2, LOW = 4, HIGH = 8, AXIS = 16, CLOCK = 32, LIMIT_NUMBER = 64, LIMIT_FIELD = 128 };

/* Greatest number of units on a scale. */
#define MOST 50000000

/* A chart; values are in half units of the scale. */
struct chart {
    struct box plot;
    const INK_FLASH struct ink_ring *ring;
    int32_t samples, factor;
    int32_t low, high;
    uint8_t flags;
};

static int32_t half_units(int32_t value, int32_t factor)
{
    int64_t units = (int64_t)value * factor;
    return (int32_t)(units > MOST ? MOST : units < -MOST ? -MOST : units) * 2;
}

/* A sample, counted back from the newest. */
static int32_t sample(const struct pen *pen, const INK_FLASH struct ink_ring *ring, int32_t back)
{
    const uint8_t *past = pen->layer->past;
    uint32_t value, at;
    if (!ring || !past || back >= ring->samples) {
        return INK_UNKNOWN;
    }
    past += ring->first;
    at = (uint32_t)past[0] + ((uint32_t)past[1] << 8) + 2u * ring->samples - 1u - (uint32_t)back;
    past += 2 + at % ring->samples * (ring->wide ? 4 : 2);
    value = (uint32_t)past[0] | (uint32_t)past[1] << 8;
    if (ring->wide) {
        value |= (uint32_t)past[2] << 16 | (uint32_t)past[3] << 24;
        return value > 0x7FFFFFFFu ? -(int32_t)(0xFFFFFFFFu - value) - 1 : (int32_t)value;
    }
    return value == 0x8000 ? INK_UNKNOWN : value > 0x7FFF ? (int32_t)value - 65536 : (int32_t)value;
}

static int32_t row_of(const struct chart *chart, int32_t value)
{
    int32_t down = ratio(chart->high - value, chart->plot.h, chart->high - chart->low);
    return chart->plot.y + (down < -8192 ? -8192 : down > 8192 ? 8192 : down);
}

/* The step along the value axis: 1, 2 or 5 times a power of ten (P. S. Heckbert, "Nice Numbers for Graph Labels", Graphics
   Gems, 1990). `tens` counts the powers above the finest step. */
static int32_t nice_step(const struct chart *chart, int32_t finest, int32_t wanted, uint8_t *tens)
{
    int64_t size = (int64_t)chart->high - chart->low, step = finest, base = finest;
    wanted = wanted > 2 ? wanted - 1 : 1;
    if ((chart->flags & (LOW | HIGH)) != (LOW | HIGH)) {
        uint8_t turn_of = 0;
        while (step < size) {
            step = turn_of == 1 ? step / 2 * 5 : step * 2;
            turn_of = turn_of == 2 ? 0 : (uint8_t)(turn_of + 1);
        }
        size = step;
    }
    *tens = 0;
    while (size >= 7 * base * wanted && *tens < 9) {
        base *= 10;
        ++*tens;
    }
    if (size * 2 < 3 * base * wanted) {
        return (int32_t)base;
    }
    return (int32_t)(size < 3 * base * wanted ? 2 * base : 5 * base);
}

static void broken(struct pen *pen, const struct box *plot, int32_t y, int32_t ink, int32_t pitch)
{
    int32_t x;
    for (x = 0; x < plot->w; x += pitch) {
        fill(pen, plot->x + x, y, ink, 1);
    }
}

/* Lowest and highest of what is shown, then the edges of the scale. */
static void scale(struct pen *pen, struct chart *chart, const int32_t *range, int32_t least, int32_t limit, int *any)
{
    int32_t low = 2 * MOST + 1, high = -low, back, lacks;
    *any = 0;
    for (back = -1; back < chart->samples; back++) {
        int32_t value = back < 0 ? limit : sample(pen, chart->ring, back);
        if (value != INK_UNKNOWN) {
            value = back < 0 ? value : half_units(value, chart->factor);
            *any |= back >= 0;
            low = value < low ? value : low;
            high = value > high ? value : high;
        }
    }
    if (low > high) {
        low = range[0];
        high = range[1];
    }
    lacks = (least - (high - low)) / 2;
    if (lacks > 0) {
        low -= lacks;
        high += lacks;
    }
    if (chart->flags & LOW) {
        low = chart->low;
        high = high > low + least || chart->flags & HIGH ? high : low + least;
    }
    if (chart->flags & HIGH) {
        high = chart->high;
        low = low < high - least || chart->flags & LOW ? low : high - least;
    }
    chart->low = low;
    chart->high = high;
}

/* The column of a point in time, in seconds back from the newest sample. */
static int32_t column_of(const struct chart *chart, int32_t back, int32_t interval)
{
    int32_t shown = interval * (chart->samples - 1), all = interval * chart->samples;
    if (chart->flags & BARS) {
        return chart->plot.x + divide((int64_t)chart->plot.w * (2 * ((int64_t)all - back) - interval), (uint32_t)all * 2);
    }
    return chart->plot.x + ratio(shown - back, chart->plot.w - 1, shown);
}

static void lines(struct pen *pen, const struct chart *chart, int32_t stroke)
{
    int32_t back, from_x = 0, from_y = 0;
    int joined = 0;
    for (back = chart->samples - 1; back >= 0; back--) {
        int32_t value = sample(pen, chart->ring, back), x, y, dx, dy, error = 0, left, step_x, step_y;
        int steep;
        if (value == INK_UNKNOWN) {
            joined = 0;
            continue;
        }
        x = column_of(chart, back, 1);
        y = row_of(chart, half_units(value, chart->factor));
        if (!joined) {
            from_x = x;
            from_y = y;
        }
        step_x = x >= from_x ? 1 : -1;
        step_y = y >= from_y ? 1 : -1;
        dx = (x - from_x) * step_x;
        dy = (y - from_y) * step_y;
        steep = dy >= dx;
        /* After J. E. Bresenham, IBM Systems Journal 4 (1965) 25-30. */
        for (left = steep ? dy : dx; left >= 0; left--) {
            if (error > (steep ? dy : dx)) {
                if (steep) {
                    from_x += step_x;
                } else {
                    from_y += step_y;
                }
                error -= 2 * (steep ? dy : dx);
            }
            fill(pen, from_x - stroke / 2, from_y - stroke / 2, stroke, stroke);
            if (steep) {
                from_y += step_y;
            } else {
                from_x += step_x;
            }
            error += 2 * (steep ? dx : dy);
        }
        from_x = x;
        from_y = y;
        joined = 1;
    }
}

static void bars(struct pen *pen, const struct chart *chart, int on_zero)
{
    int32_t bottom = chart->plot.y + chart->plot.h, base = on_zero ? row_of(chart, 0) : bottom, place_of;
    for (place_of = 0; place_of < chart->samples; place_of++) {
        int32_t value = sample(pen, chart->ring, chart->samples - 1 - place_of);
        int32_t left = place_of * chart->plot.w / chart->samples, right = (place_of + 1) * chart->plot.w / chart->samples;
        int32_t row, top, end, first = base < bottom - 1 ? base : bottom - 1;
        if (value == INK_UNKNOWN) {
            continue;
        }
        row = row_of(chart, half_units(value, chart->factor));
        top = row < base ? row : first;
        end = row < base ? base : (row > first ? row : first) + 1;
        right -= right - left > 2;
        fill(pen, chart->plot.x + left, top, right - left > 1 ? right - left : 1, end - top);
    }
    if (on_zero) {
        fill(pen, chart->plot.x, base, chart->plot.w, 1);
    }
}

#if INK_HOURS
/* Steps between labels of a clock, in seconds. */
static const INK_FLASH int32_t clock_steps[20] = { 1,    2,    5,    10,   15,    30,    60,    120,   300,    600,
                                                   900,  1800, 3600, 7200, 10800, 21600, 43200, 86400, 172800, 604800 };

/* Labels with the time of day, as many as stand apart. */
static void hours(struct pen *pen, const struct chart *chart)
{
    int32_t now = value_of(pen, number(&pen->op)), interval = natural(pen), shown = interval * (chart->samples - 1);
    struct face face;
    int32_t newest, start, end;
    uint8_t step_at, drawn = 0;
    load(pen, &face, number(&pen->op));
    start = pen->x + integer(pen);
    end = start + natural(pen);
    if (now == INK_UNKNOWN) {
        return;
    }
    newest = floored(now, interval) * interval;
    for (step_at = 0; step_at < 20; step_at++) {
        int32_t step = clock_steps[step_at], index, last = floored(newest, step), taken = 0;
        int apart = 1;
        if (shown / 64 > step || (shown / 64 == step && shown % 64)) {
            continue;
        }
        index = -floored(shown - newest, step);
        last = last > index + 64 ? index + 64 : last;
        for (; index <= last && apart; index++) {
            struct moment time;
            int32_t column = column_of(chart, newest - index * step, interval), left, width;
            moment(pen, index * step, &time);
            pen->count = 0;
            put_digits(pen, (uint32_t)time.part[step < 86400 ? 4 : 3], 2, ZERO, 0);
            put(pen, step < 86400 ? COLON : POINT);
            put_digits(pen, (uint32_t)time.part[step < 86400 ? 6 : 2], 2, ZERO, 0);
            if (step >= 86400) {
                put(pen, POINT);
            }
            width = set(pen, &face, 0, pen->codes, pen->count, 0, 0, 0);
            left = column - (width - 1) / 2;
            left = left > end - width ? end - width : left;
            left = left < start ? start : left;
            if (drawn) {
                int32_t y = chart->plot.y + chart->plot.h + 1;
                fill(pen, column, y, 1, 2);
                set(pen, &face, 0, pen->codes, pen->count, left, y + 4 + face.cap, 1);
            } else if (index > -floored(shown - newest, step)) {
                apart = taken <= left;
            }
            taken = left + width + 6;
        }
        if (drawn) {
            return;
        }
        if (apart) {
            drawn = 1;
            step_at--;
        }
    }
}
#endif

static void history(struct pen *pen)
{
    struct chart chart;
    struct face face;
    int32_t stroke, finest, wanted, range[2], least, limit = INK_UNKNOWN, step, count, last, unit;
    uint8_t decimals, tens, shown, at;
    int any, on_zero;
    ink_bytes clock_at;
    chart.flags = byte(pen);
    chart.ring = ring_of(pen->design, number(&pen->op));
    chart.samples = natural(pen);
    stroke = natural(pen);
    read_box(pen, &chart.plot);
    chart.factor = natural(pen);
    finest = natural(pen) * 2;
    decimals = byte(pen);
    wanted = natural(pen);
    range[0] = integer(pen) * 2;
    range[1] = integer(pen) * 2;
    least = integer(pen) * 2;
    chart.low = chart.flags & LOW ? integer(pen) * 2 : 0;
    chart.high = chart.flags & HIGH ? integer(pen) * 2 : 0;
    if (chart.flags & LIMIT_NUMBER) {
        limit = integer(pen) * 2;
    } else if (chart.flags & LIMIT_FIELD) {
        limit = value_of(pen, number(&pen->op));
        count = natural(pen);
        limit = limit == INK_UNKNOWN ? limit : half_units(limit, count);
    }
    load(pen, &face, number(&pen->op));
    clock_at = pen->op;
    scale(pen, &chart, range, least, limit, &any);
    step = nice_step(&chart, finest, wanted, &tens);
    if (!(chart.flags & LOW)) {
        chart.low = floored(chart.low, step) * step;
    }
    if (!(chart.flags & HIGH)) {
        chart.high = -floored(-chart.high, step) * step;
    }
    on_zero = range[1] > 0 && chart.low < 0 && chart.high >= 0;
    shown = tens < decimals ? (uint8_t)(decimals - tens) : 0;
    unit = finest;
    for (at = 0; at < decimals && at < tens; at++) {
        unit *= 10;
    }
    count = -floored(-chart.low, step);
    last = floored(chart.high, step);
    for (last = last > count + 4096 ? count + 4096 : last; count <= last; count++) {
        int32_t y = row_of(&chart, count * step), x = chart.plot.x - 3;
        if (chart.flags & GRID) {
            struct pen inside = *pen;
            if (clip(&inside, chart.plot.x, chart.plot.y, chart.plot.w, chart.plot.h)) {
                broken(&inside, &chart.plot, y, 1, 4);
            }
        }
        if (chart.flags & AXIS) {
            fill(pen, x, y, 2, 1);
            pen->count = 0;
            put_number(pen, count * step / unit, shown);
            x -= 1 + set(pen, &face, 0, pen->codes, pen->count, 0, 0, 0);
            set(pen, &face, 0, pen->codes, pen->count, x, y - face.cap / 2 + face.cap, 1);
        }
    }
#if INK_HOURS
    if (chart.flags & CLOCK) {
        pen->op = clock_at;
        hours(pen, &chart);
    }
#else
    (void)clock_at;
#endif
    if (!clip(pen, chart.plot.x, chart.plot.y, chart.plot.w, chart.plot.h)) {
        return;
    }
    if (limit != INK_UNKNOWN && limit >= chart.low && limit <= chart.high) {
        broken(pen, &chart.plot, row_of(&chart, limit), 5, 8);
    }
    if (chart.flags & BARS) {
        bars(pen, &chart, on_zero);
    } else {
        lines(pen, &chart, stroke);
    }
    if (!any) {
        fill(pen, chart.plot.x + (chart.plot.w - 1) / 2 - 3, chart.plot.y + (chart.plot.h - 1) / 2, 7, 1);
    }
}
#endif

/* ---- Screens ---- */

enum { T_RANGE, T_KNOWN, T_COMPARE, T_FROM = 4, T_LOW = 4, T_HIGH = 8, T_SAME = 16, T_NOT = 64, T_MORE = 128 };

/* Whether all tests of an operation hold. */
static int shown(struct pen *pen)
{
    uint8_t head;
    int all = 1;
    do {
        int32_t value, low, high;
        int holds;
        head = byte(pen);
        value = value_of(pen, number(&pen->op));
        holds = value != INK_UNKNOWN;
        if ((head & 3) == T_COMPARE) {
            int32_t other = value_of(pen, number(&pen->op));
            int64_t mine = (int64_t)value * natural(pen), its = (int64_t)other * natural(pen);
            holds = holds && other != INK_UNKNOWN && (head & T_FROM ? mine >= its : mine < its);
        } else if ((head & 3) == T_RANGE) {
            low = head & T_LOW ? integer(pen) : value;
            high = head & T_HIGH ? integer(pen) : head & T_SAME ? low : value;
            holds = holds && value >= low && value <= high;
        }
        if (head & T_NOT) {
            holds = !holds;
        }
        all = all && holds;
    } while (head & T_MORE);
    return all;
}

static void operate(struct pen *pen)
{
    uint8_t head = byte(pen);
    pen->paper = (head & PAPER) != 0;
    unclip(pen);
    pen->y = natural(pen);
    pen->h = natural(pen);
    if (pen->y >= pen->y1 || pen->y + pen->h <= pen->y0) {
        return;
    }
    pen->x = natural(pen);
    pen->w = natural(pen);
    if (!clip(pen, pen->x, pen->y, pen->w, pen->h) || (head & TESTS && !shown(pen))) {
        return;
    }
    switch (head & 31) {
    case 0:
        fill(pen, pen->x, pen->y, pen->w, pen->h);
        break;
#if INK_TILES
    case 1:
        tile(pen);
        break;
#endif
    case 2:
        bitmap(pen, head);
        break;
    case 3:
        text(pen, head);
        break;
#if INK_VALUES
    case 4:
        value(pen);
        break;
#endif
#if INK_BARS
    case 5:
        bar(pen);
        break;
#endif
#if INK_MARKERS
    case 6:
        marker(pen);
        break;
#endif
#if INK_ARCS
    case 7:
        arc(pen);
        break;
#endif
#if INK_RING_MARKERS
    case 8:
        ring_marker(pen);
        break;
#endif
#if INK_HISTORIES
    case 9:
        history(pen);
        break;
#endif
#if INK_ROWS
    case 10:
        rows(pen);
        break;
#endif
    default:
        break;
    }
}

/* The part of the upright picture that a strip holds. */
static void strip_area(struct pen *pen, uint16_t first_line, uint16_t lines_of)
{
    const INK_FLASH struct ink_design *design = pen->design;
    const INK_FLASH struct ink_packing *to = &design->packing;
    /* Lines are counted by a where a byte of its steps is a line, else by b. */
    int by_a = to->a_step >= to->stride && to->b_step == 1;
    int32_t first = first_line, last = first + lines_of - 1, x = by_a ? to->ax : to->bx, y = by_a ? to->ay : to->by;
    int32_t from = by_a ? to->a0 : to->b0;
    if (by_a) {
        first *= 8;
        last = last * 8 + 7;
    }
    pen->left = pen->top = 0;
    pen->right = design->width;
    pen->bottom = design->height;
    if (x) {
        int32_t one = (first - from) * x, other = (last - from) * x;
        unclip(pen);
        clip(pen, one < other ? one : other, 0, (one < other ? other - one : one - other) + 1, design->height);
    } else {
        int32_t one = (first - from) * y, other = (last - from) * y;
        unclip(pen);
        clip(pen, 0, one < other ? one : other, design->width, (one < other ? other - one : one - other) + 1);
    }
    pen->left = pen->x0;
    pen->top = pen->y0;
    pen->right = pen->x1;
    pen->bottom = pen->y1;
}

void ink_draw(const INK_FLASH struct ink_design *design, const struct ink_view *view, uint8_t *strip, uint16_t first_line,
              uint16_t lines_of)
{
    struct pen pen;
    uint32_t bytes = (uint32_t)lines_of * design->packing.stride, at;
    uint8_t layer, width = design->place;
    for (at = 0; at < bytes; at++) {
        strip[at] = design->packing.padding;
    }
    pen.design = design;
    pen.strip = strip;
    pen.strip_at = (uint32_t)first_line * design->packing.stride;
    pen.locale = view->locale < design->locale_count ? view->locale : 0;
    strip_area(&pen, first_line, lines_of);
    if (pen.left >= pen.right || pen.top >= pen.bottom) {
        return;
    }
    for (layer = 0; layer < view->layer_count; layer++) {
        ink_bytes list;
        uint32_t count;
        pen.layer = view->layers + layer;
        if (pen.layer->screen >= design->screen_count) {
            continue;
        }
        at = (uint32_t)pen.layer->screen * design->locale_count + pen.locale;
        list = design->lists + place(design->screens + at * 3, 3);
        for (count = number(&list); count; count--, list += width) {
            pen.op = design->code + place(list, width);
            operate(&pen);
        }
    }
}

void ink_past_clear(const INK_FLASH struct ink_design *design, uint8_t *past)
{
    uint16_t at, ring, byte_of;
    for (ring = 0; ring < design->ring_count; ring++) {
        const INK_FLASH struct ink_ring *of = design->rings + ring;
        uint8_t *bytes = past + of->first, wide = of->wide ? 4 : 2;
        bytes[0] = bytes[1] = 0;
        for (at = 0; at < of->samples; at++) {
            for (byte_of = 0; byte_of < wide; byte_of++) {
                bytes[2 + (uint32_t)at * wide + byte_of] = byte_of + 1 == wide ? 0x80 : 0;
            }
        }
    }
}

void ink_past_add(const INK_FLASH struct ink_design *design, uint8_t *past, uint16_t field, int32_t value_now)
{
    const INK_FLASH struct ink_ring *ring = ring_of(design, field);
    uint8_t *bytes;
    uint32_t next, raw;
    if (!ring) {
        return;
    }
    bytes = past + ring->first;
    next = (uint32_t)bytes[0] + ((uint32_t)bytes[1] << 8);
    next = next < ring->samples ? next : 0;
    if (!ring->wide) {
        if (value_now == INK_UNKNOWN) {
            value_now = -32768;
        } else {
            value_now = value_now > 32767 ? 32767 : value_now < -32767 ? -32767 : value_now;
        }
    }
    raw = (uint32_t)value_now;
    {
        uint8_t *at = bytes + 2 + next * (ring->wide ? 4u : 2u);
        at[0] = (uint8_t)raw;
        at[1] = (uint8_t)(raw >> 8);
        if (ring->wide) {
            at[2] = (uint8_t)(raw >> 16);
            at[3] = (uint8_t)(raw >> 24);
        }
    }
    next = next + 1 < ring->samples ? next + 1 : 0;
    bytes[0] = (uint8_t)next;
    bytes[1] = (uint8_t)(next >> 8);
}
