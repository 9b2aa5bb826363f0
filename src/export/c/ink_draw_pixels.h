/* Part of ink_draw.c, which includes it: numbers of the tables, filled areas, pictures. MIT OR Apache-2.0. */

static void start(struct cursor *cursor, ink_bytes at, ink_bytes pairs)
{
    cursor->at = at;
    cursor->pairs = pairs;
    cursor->depth = 0;
}

static uint8_t next(struct cursor *cursor)
{
    ink_bytes pairs = cursor->pairs;
    uint8_t code = cursor->depth ? cursor->left[--cursor->depth] : *cursor->at++, which;
    if (!pairs || (which = (uint8_t)(code - pairs[0])) > pairs[1] || !pairs[1]) {
        return code;
    }
    /* A pair's codes are below its own where they are pairs. */
    while (which < pairs[1] && cursor->depth < DEEPEST) {
        ink_bytes pair = pairs + 2 + 2 * (uint16_t)which;
        uint8_t before = which;
        cursor->left[cursor->depth++] = pair[1];
        code = pair[0];
        which = (uint8_t)(code - pairs[0]);
        if (which >= before) {
            return code;
        }
    }
    return which == pairs[1] ? *cursor->at++ : code;
}

/* Numbers below this take one byte. */
#define SMALL 160u

static uint32_t number(struct cursor *at)
{
    uint32_t value = next(at);
    uint8_t shift;
    if (value < SMALL) {
        return value;
    }
    if (value < 255) {
        value = (value - SMALL) << 8;
        return SMALL + (value | next(at));
    }
    for (value = shift = 0; shift < 32; shift = (uint8_t)(shift + 8)) {
        value |= (uint32_t)next(at) << shift;
    }
    return value;
}

static int32_t natural(struct pen *pen)
{
    return (int32_t)number(&pen->op);
}

static int32_t signed_number(struct cursor *at)
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
    return next(&pen->op);
}

static uint32_t place(ink_bytes at, uint8_t bytes)
{
    uint32_t value = 0;
    while (bytes--) {
        value = value << 8 | at[bytes];
    }
    return value;
}

#if INK_BARS || INK_MARKERS || INK_ARCS || INK_RING_MARKERS || INK_HISTORIES || (INK_UNITS && (INK_MARKS || INK_PIECES))
/* The whole part of n / d, downwards; d is above 0. */
static int32_t divide(int64_t n, uint32_t d)
{
    uint64_t rest = n < 0 ? (uint64_t)(-(n + 1)) : (uint64_t)n, step = (uint64_t)d << 31;
    uint32_t quotient = 0;
    uint8_t bit;
    if (rest <= 0xFFFFFFFF) {
        /* Most numbers are small, and short divisions quick. */
        quotient = (uint32_t)rest / d;
    } else {
        for (bit = 0; bit < 32; bit++, step >>= 1) {
            quotient <<= 1;
            if (rest >= step) {
                rest -= step;
                quotient |= 1;
            }
        }
    }
    if (quotient > 0x7FFFFFFF) {
        quotient = 0x7FFFFFFF;
    }
    return n < 0 ? -(int32_t)quotient - 1 : (int32_t)quotient;
}

#if INK_BARS || INK_MARKERS || INK_ARCS || INK_RING_MARKERS || INK_HISTORIES
/* n * m / d to the nearest, halves upwards. */
static int32_t ratio(int32_t n, int32_t m, int32_t d)
{
    return d > 0 ? divide((int64_t)n * m * 2 + d, (uint32_t)d * 2) : 0;
}
#endif
#endif

static INK_APART int32_t floored(int32_t n, int32_t d)
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
    if (field >= pen->design->field_count) {
        return INK_UNKNOWN;
    }
#if INK_NARROW
    if (pen->layer->screen & INK_KEPT) {
        return ink_get(pen->layer->values, field);
    }
#endif
    return pen->layer->values[field];
}

#if INK_HISTORIES || INK_PASTS
static const INK_FLASH struct ink_ring *ring_of(const INK_FLASH struct ink_design *design, uint32_t field);

/* A sample, counted back from the newest. */
static int32_t sample(const struct pen *pen, const INK_FLASH struct ink_ring *ring, int32_t back)
{
    const uint8_t *past = pen->layer->past;
    uint32_t value, at;
    if (!ring || !past || back < 0 || back >= ring->samples) {
        return INK_UNKNOWN;
    }
    past += ring->first;
    at = (uint32_t)past[0] + ((uint32_t)past[1] << 8) + 2u * ring->samples - 1u - (uint32_t)back;
    past += 2 + at % ring->samples * (IS_WIDE(ring) ? 4 : 2);
    value = (uint32_t)past[0] | (uint32_t)past[1] << 8;
    if (IS_WIDE(ring)) {
        value |= (uint32_t)past[2] << 16 | (uint32_t)past[3] << 24;
        return value > 0x7FFFFFFFu ? -(int32_t)(0xFFFFFFFFu - value) - 1 : (int32_t)value;
    }
    return value == 0x8000 ? INK_UNKNOWN : value > 0x7FFF ? (int32_t)value - 65536 : (int32_t)value;
}
#endif

#if INK_ROWS || INK_CURSORS || INK_PIECES
/* The field that comes next, to the nearest whole number; 0 where it is not known or below 0. */
static int32_t whole_of(const struct pen *pen, struct cursor *at)
{
    int32_t value = value_of(pen, number(at));
    uint8_t decimals = next(at);
    value = value == INK_UNKNOWN ? 0 : rounded(value, decimals);
    return value < 0 ? 0 : value;
}
#endif

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

static INK_APART void unclip(struct pen *pen)
{
    pen->x0 = pen->left;
    pen->y0 = pen->top;
    pen->x1 = pen->right;
    pen->y1 = pen->bottom;
}

/* A rectangle in the order of the packed frame: a along the eight pixels of a byte, b across. */
struct span {
    int32_t a, b, along, across;
};

static void to_span(const struct pen *pen, int32_t x, int32_t y, int32_t w, int32_t h, struct span *span)
{
    (void)pen;
    int32_t ax = INK_PACKED(pen->design, ax), ay = INK_PACKED(pen->design, ay);
    int32_t bx = INK_PACKED(pen->design, bx), by = INK_PACKED(pen->design, by);
    span->along = ax ? w : h;
    span->across = ax ? h : w;
    span->a = x * ax + y * ay + INK_PACKED(pen->design, a0) - (ax + ay < 0 ? span->along - 1 : 0);
    span->b = x * bx + y * by + INK_PACKED(pen->design, b0) - (bx + by < 0 ? span->across - 1 : 0);
}

/* What may be drawn to. */
static void clip_span(const struct pen *pen, struct span *span)
{
    to_span(pen, pen->x0, pen->y0, pen->x1 - pen->x0, pen->y1 - pen->y0, span);
}

/* The first byte of line b in the strip. */
static uint8_t *line_of(const struct pen *pen, int32_t b)
{
    return pen->strip + (uint32_t)b * INK_PACKED(pen->design, b_step) - pen->strip_at;
}

static uint8_t flip_of(const struct pen *pen)
{
    return (pen->paper ? !INK_PACKED(pen->design, ink) : INK_PACKED(pen->design, ink)) ? 0 : 0xFF;
}

#if INK_MEMO
/* Kinds of entries in a memo: an area, a line of characters, an operation. */
enum { M_FILL, M_RUN, M_OP, M_WITH = 16, M_EDGES = 5, M_RUN_HEAD = 3, M_OP_HEAD = 3, M_KNOWN = 5, M_CHART = 7 };

/* Notes what lies within a rectangle and what may be drawn to, and so many cells more; they, or null where nothing is
   seen of it or there is no room. */
static uint16_t *note(const struct pen *pen, uint16_t head, int32_t x, int32_t y, int32_t x1, int32_t y1, uint16_t more)
{
    struct ink_memo *memo = pen->memo;
    uint16_t *cells = memo->cells + memo->used;
    x = x < pen->x0 ? pen->x0 : x;
    y = y < pen->y0 ? pen->y0 : y;
    x1 = x1 > pen->x1 ? pen->x1 : x1;
    y1 = y1 > pen->y1 ? pen->y1 : y1;
    if (x >= x1 || y >= y1) {
        return 0;
    }
    if (memo->size - memo->used < M_EDGES + more) {
        memo->failed = 2;
        return 0;
    }
    cells[0] = (uint16_t)(head | (M_EDGES + more) << 8);
    cells[1] = (uint16_t)x;
    cells[2] = (uint16_t)y;
    cells[3] = (uint16_t)x1;
    cells[4] = (uint16_t)y1;
    memo->used = (uint16_t)(memo->used + M_EDGES + more);
    return cells + M_EDGES;
}

/* Notes an operation, with cells for what is known of it. */
static uint16_t *note_op(const struct pen *pen, uint16_t more)
{
    uint32_t at = (uint32_t)(pen->begins - pen->design->code);
    uint16_t *cells = note(pen, (uint16_t)(M_OP | (more ? M_WITH : 0)), pen->x, pen->y, pen->x + pen->w, pen->y + pen->h,
                           (uint16_t)(M_OP_HEAD + more));
    if (cells) {
        cells[0] = (uint16_t)at;
        cells[1] = (uint16_t)(at >> 16);
        cells[2] = (uint16_t)(pen->layer - pen->view->layers);
        cells += M_OP_HEAD;
    }
    return cells;
}
#endif

/* A byte with its bits in the other order; only for packings that want it. */
static uint8_t turned(uint8_t bits)
{
    uint8_t other = 0, left;
    for (left = 8; left; left--, bits = (uint8_t)(bits >> 1)) {
        other = (uint8_t)(other << 1 | (bits & 1));
    }
    return other;
}

/* Fills with ink or paper, or with a pattern of eight lines where there is one. */
static void fill_span(const struct pen *pen, int32_t a, int32_t b, int32_t along, int32_t across, const uint8_t *pattern)
{
    struct span to;
    int32_t a1 = a + along, b1 = b + across;
    uint16_t step = INK_PACKED(pen->design, b_step);
    uint8_t flip = flip_of(pen);
    clip_span(pen, &to);
    a = a < to.a ? to.a : a;
    b = b < to.b ? to.b : b;
    a1 = (a1 > to.a + to.along ? to.a + to.along : a1) - 1;
    b1 = b1 > to.b + to.across ? to.b + to.across : b1;
    if (a > a1 || b >= b1) {
        return;
    }
    for (; a <= a1; a = (a | 7) + 1) {
        uint8_t *at = line_of(pen, b) + (uint32_t)(a >> 3) * INK_PACKED(pen->design, a_step);
        int32_t count = b1 - b, last = a1 - (a & ~(int32_t)7);
        uint32_t mask = INK_PACKED(pen->design, first_bit) ? (uint32_t)0xFF >> (a & 7) : (uint32_t)0xFF << (a & 7);
        if (last < 7) {
            mask &= INK_PACKED(pen->design, first_bit) ? (uint32_t)0xFF << (7 - last) : (uint32_t)0xFF >> (7 - last);
        }
#if INK_TILES
        if (pattern) {
            for (; count; at += step, count--) {
                uint8_t bits = pattern[(b1 - count) & 7];
                bits = INK_PACKED(pen->design, first_bit) ? bits : turned(bits);
                *at = (uint8_t)((((*at ^ flip) & ~mask) | (bits & mask)) ^ flip);
            }
            continue;
        }
#else
        (void)pattern;
#endif
        if (last >= 7 && !(a & 7)) {
            for (; count--; at += step) {
                *at = (uint8_t)~flip;
            }
            continue;
        }
        for (; count--; at += step) {
            *at = (uint8_t)(((*at ^ flip) | mask) ^ flip);
        }
    }
}

static void fill(const struct pen *pen, int32_t x, int32_t y, int32_t w, int32_t h)
{
    struct span span;
#if INK_MEMO
    if (pen->memo) {
        note(pen, (uint16_t)(M_FILL | pen->paper << 3), x, y, x + w, y + h, 0);
        return;
    }
#endif
    to_span(pen, x, y, w, h, &span);
    fill_span(pen, span.a, span.b, span.along, span.across, 0);
}

/* The next 25 bits from the top on, and some more; the tables end in four bytes that are no part of anything. */
static uint32_t window(ink_bytes bits, uint32_t from)
{
    bits += from >> 3;
    return ((uint32_t)bits[0] << 24 | (uint32_t)bits[1] << 16 | (uint32_t)bits[2] << 8 | bits[3]) << (from & 7);
}

/* The next bits, at most 25 of them. */
static uint32_t take(ink_bytes bits, uint32_t *at, uint8_t count)
{
    uint32_t from = *at;
    *at = from + count;
    return count ? window(bits, from) >> (32 - count) : 0;
}

/* A picture as it is packed: lines along a, read one after the other. */
struct picture {
    ink_bytes bits;
    uint32_t at;
    uint32_t zeros;       /* before the next one */
    int32_t along, lines;
    uint8_t mode; /* 0 plain; else 16, and 8 where lines are compared with the one before, and the order of the codes */
    uint8_t line[INK_WIDEST / 8 + 2];
};

static uint32_t golomb(struct picture *picture)
{
    uint8_t order = picture->mode & 7, more = order;
    uint32_t at = picture->at, bits = window(picture->bits, at);
    while (more < 24 && !(bits & 0x80000000)) {
        bits <<= 1;
        at++;
        more++;
    }
    at++;
    picture->at = at;
    return ((uint32_t)1 << more | take(picture->bits, &picture->at, more)) - ((uint32_t)1 << order);
}

static void begin(struct picture *picture)
{
    int32_t at;
    if (picture->along > INK_WIDEST) {
        picture->lines = picture->along = 0;
    }
    for (at = 0; at < picture->along; at += 8) {
        picture->line[at >> 3] = 0;
    }
    if (picture->mode) {
        picture->zeros = golomb(picture);
    }
}

static void next_line(struct picture *picture)
{
    int32_t along = picture->along, a;
    if (!picture->mode) {
        for (a = 0; a < along; a += 8) {
            uint8_t some = (uint8_t)(along - a < 8 ? along - a : 8);
            picture->line[a >> 3] = (uint8_t)(take(picture->bits, &picture->at, some) << (8 - some));
        }
        return;
    }
    for (a = 0; !(picture->mode & 8) && a < along; a += 8) {
        picture->line[a >> 3] = 0;
    }
    for (a = 0; picture->zeros < (uint32_t)(along - a); a++) {
        a += (int32_t)picture->zeros;
        picture->line[a >> 3] = (uint8_t)(picture->line[a >> 3] ^ 0x80 >> (a & 7));
        picture->zeros = golomb(picture);
    }
    picture->zeros -= (uint32_t)(along - a);
}

/* Copies the set bits of a line, those from one to before another, as ink or paper. */
static void stamp_line(const struct pen *pen, const uint8_t *line, int32_t a, int32_t b, int32_t from, int32_t to)
{
    uint8_t flip = flip_of(pen), shift = (uint8_t)(a & 7);
    int32_t at, step = INK_PACKED(pen->design, a_step);
    /* Lines begin at 4096 bytes to the left of the frame at most. */
    uint8_t *byte_at = line_of(pen, b) + ((int32_t)((uint32_t)(a + 32768) >> 3) - 4096 + (from >> 3)) * step;
    for (at = from & ~(int32_t)7; at < to; at += 8, byte_at += step) {
        uint32_t bits = line[at >> 3];
        if (at < from) {
            bits &= (uint32_t)0xFF >> (from & 7);
        }
        if (to - at < 8) {
            bits &= (uint32_t)0xFF00 >> (to & 7);
        }
        if (bits) {
            uint8_t high, low;
            bits = bits << 8 >> shift;
            high = (uint8_t)(bits >> 8);
            low = (uint8_t)bits;
            if (!INK_PACKED(pen->design, first_bit)) {
                high = turned(high);
                low = turned(low);
            }
            if (high) {
                byte_at[0] = (uint8_t)(((byte_at[0] ^ flip) | high) ^ flip);
            }
            if (low) {
                byte_at[step] = (uint8_t)(((byte_at[step] ^ flip) | low) ^ flip);
            }
        }
    }
}

#if INK_MEMO
/* Goes on where the strip before has stopped, unless lines from before that are asked for; the lines that were read. */
static int32_t resumed(struct picture *picture, const uint16_t *known, int32_t first)
{
    int32_t at;
    if (!known || !known[0] || first < known[0] - 1) {
        begin(picture);
        return 0;
    }
    picture->at = known[1] | (uint32_t)known[2] << 16;
    picture->zeros = known[3] | (uint32_t)known[4] << 16;
    for (at = 0; at < picture->along; at += 8) {
        picture->line[at >> 3] = (uint8_t)(known[M_KNOWN + (at >> 4)] >> (at & 8));
    }
    return known[0];
}

static void keep(const struct picture *picture, uint16_t *known, int32_t count)
{
    int32_t at;
    known[0] = (uint16_t)count;
    known[1] = (uint16_t)picture->at;
    known[2] = (uint16_t)(picture->at >> 16);
    known[3] = (uint16_t)picture->zeros;
    known[4] = (uint16_t)(picture->zeros >> 16);
    for (at = 0; at < picture->along; at += 16) {
        known[M_KNOWN + (at >> 4)] = (uint16_t)(picture->line[at >> 3] | picture->line[(at >> 3) + 1] << 8);
    }
}
#define RESUMED(picture, known, first) resumed(picture, known, first)
#else
#define RESUMED(picture, known, first) (begin(picture), 0)
#endif

/* Draws a picture whose corner is at a point, each pixel so large. */
static void stamp(const struct pen *pen, struct picture *picture, int32_t a, int32_t b, int32_t scale, uint16_t *known)
{
    struct span to;
    int32_t line, from, end, count;
#if !INK_SCALED
    scale = 1;
#endif
    clip_span(pen, &to);
    from = to.a > a ? to.a - a : 0;
    end = to.a + to.along - a < picture->along * scale ? to.a + to.along - a : picture->along * scale;
    line = to.b > b ? scale == 1 ? to.b - b : (to.b - b) / scale : 0;
    if (from >= end || line >= picture->lines || b >= to.b + to.across) {
        return;
    }
    count = RESUMED(picture, known, line);
    for (b += line * scale; line < picture->lines && b < to.b + to.across; line++, b += scale) {
#if INK_SCALED
        int32_t at, run = 0;
#endif
        for (; count <= line; count++) {
            next_line(picture);
        }
#if INK_SCALED
        if (scale == 1) {
            stamp_line(pen, picture->line, a, b, from, end);
            continue;
        }
        for (at = 0; at <= picture->along; at++) {
            if (at < picture->along && picture->line[at >> 3] & (0x80 >> (at & 7))) {
                run++;
            } else if (run) {
                fill_span(pen, a + (at - run) * scale, b, run * scale, scale, 0);
                run = 0;
            }
        }
#else
        stamp_line(pen, picture->line, a, b, from, end);
#endif
    }
#if INK_MEMO
    if (known) {
        keep(picture, known, count);
    }
#else
    (void)known;
#endif
}

static void open_bitmap(struct pen *pen, struct picture *picture)
{
    struct cursor at;
    start(&at, pen->design->bits + number(&pen->op), 0);
    picture->along = (int32_t)number(&at);
    picture->lines = (int32_t)number(&at);
    picture->mode = next(&at);
    picture->bits = at.at;
    picture->at = 0;
}

static INK_APART void bitmap(struct pen *pen)
{
    struct picture picture;
    struct span to;
    open_bitmap(pen, &picture);
#if INK_MEMO
    if (pen->memo) {
        uint16_t lines_of = (uint16_t)((picture.along + 15) / 16), *known = note_op(pen, (uint16_t)(M_KNOWN + lines_of));
        if (known) {
            known[0] = 0;
        }
        return;
    }
#endif
    to_span(pen, pen->x, pen->y, pen->w, pen->h, &to);
    stamp(pen, &picture, to.a, to.b, INK_SCALED && pen->head & MORE ? natural(pen) : 1, KNOWN(pen));
}

#if INK_TILES
/* A pattern of eight by eight pixels, anchored to the screen's corner and turned as the frame is packed. */
static void tile(struct pen *pen)
{
    struct span to;
    uint8_t pattern[8], at;
    for (at = 0; at < 8; at++) {
        pattern[at] = byte(pen);
    }
    clip_span(pen, &to);
    fill_span(pen, to.a, to.b, to.along, to.across, pattern);
}
#endif
