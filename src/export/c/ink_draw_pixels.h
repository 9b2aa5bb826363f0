/* Part of ink_draw.c, which includes it: numbers of the tables, filled areas, pictures. MIT OR Apache-2.0. */

static void start(struct pen *pen, ink_bytes at, ink_bytes pairs)
{
    pen->pairs = pairs;
    pen->op.at = at;
    pen->op.depth = 0;
}

static uint8_t next(struct pen *pen)
{
    ink_bytes pairs = pen->pairs;
    uint8_t code = pen->op.depth ? pen->op.left[--pen->op.depth] : *pen->op.at++, which;
    if (!pairs || (which = (uint8_t)(code - pairs[0])) > pairs[1]) {
        return code;
    }
    /* A pair's codes are below its own where they are pairs. */
    while (which < pairs[1] && pen->op.depth < DEEPEST) {
        ink_bytes pair = pairs + 2 + 2 * (uint16_t)which;
        uint8_t before = which;
        pen->op.left[pen->op.depth++] = pair[1];
        code = pair[0];
        which = (uint8_t)(code - pairs[0]);
        if (which >= before) {
            return code;
        }
    }
    return which == pairs[1] ? *pen->op.at++ : code;
}

/* Numbers below the first take one byte, those from the second on begin in another way. */
enum { SMALL = 160, VARIES = 254 };

static int32_t number_of(struct pen *pen, uint32_t value)
{
    uint8_t shift;
    if (value >= VARIES) {
        for (value = shift = 0; shift < 32; shift = (uint8_t)(shift + 8)) {
            value |= (uint32_t)next(pen) << shift;
        }
    } else if (value >= SMALL) {
        value = ((value - SMALL) << 8) + SMALL + next(pen);
    }
    return (int32_t)value;
}

static int32_t value_of(const struct pen *pen, uint32_t field)
{
    if (field >= pen->design->field_count) {
        return pen->locale; /* the locale counts as one more field */
    }
#if INK_NARROW
    if (pen->layer->screen & INK_KEPT) {
        return ink_get(pen->layer->values, field);
    }
#endif
    return pen->layer->values[field];
}

/* One of several numbers: the one that a field's value counts. */
static INK_APART int32_t varied(struct pen *pen)
{
    int32_t which = value_of(pen, (uint32_t)number_of(pen, next(pen))), count = next(pen), at, found = 0;
    for (at = 0; at < count; at++) {
        int32_t another = number_of(pen, next(pen));
        if (!at || at <= which) {
            found = another;
        }
    }
    return found;
}

static INK_APART int32_t natural(struct pen *pen)
{
    uint8_t code = next(pen);
    if (code < SMALL) {
        return code;
    }
    return code == VARIES ? varied(pen) : number_of(pen, code);
}

static int32_t integer(struct pen *pen)
{
    uint32_t value = (uint32_t)natural(pen);
    return (int32_t)(value >> 1) ^ -(int32_t)(value & 1);
}

/* The value of the field that is named next. */
static int32_t field_value(struct pen *pen)
{
    return value_of(pen, (uint32_t)natural(pen));
}

/* So many numbers; signed ones where a bit is set, the lowest first. */
static void numbers(struct pen *pen, int32_t *to, uint32_t count, uint32_t signs)
{
    for (; count; count--, signs >>= 1) {
        *to++ = signs & 1 ? integer(pen) : natural(pen);
    }
}

/* So many numbers that are small. */
static void small_numbers(struct pen *pen, uint16_t *to, uint32_t count)
{
    for (; count; count--) {
        *to++ = (uint16_t)natural(pen);
    }
}

static uint32_t place(ink_bytes at, uint32_t bytes)
{
    uint32_t value = 0;
    while (bytes--) {
        value = value << 8 | at[bytes];
    }
    return value;
}

static INK_APART int32_t floored(int32_t n, int32_t d)
{
    return (n < 0 ? n - d + 1 : n) / d;
}

/* How a quotient becomes a whole number: downwards, or to the nearest one with halves upwards or away from 0. */
enum { DOWN, HALVES_UP, HALVES_AWAY };

#if INK_BARS || INK_MARKERS || INK_ARCS || INK_RING_MARKERS || INK_HISTORIES || INK_UNITS
/* (n * m + more) / d without longer numbers, 0 where d is not above it: the whole part and the rest of n / d, times m bit by
   bit. */
static INK_APART int32_t ratio(int32_t n, uint32_t m, int32_t d, int32_t more, uint32_t how)
{
    uint32_t size = n < 0 ? 0u - (uint32_t)n : (uint32_t)n, by = (uint32_t)d, whole = 0, rest = 0, bit = 1, n_whole, n_rest;
    int32_t all;
    if (d <= 0) {
        return 0;
    }
    n_whole = size < by ? 0 : size / by;
    n_rest = size - n_whole * by;
    while (bit <= m >> 1) {
        bit <<= 1;
    }
    for (; bit; bit >>= 1) {
        whole = whole > 0x3FFFFFFF ? 0x3FFFFFFF : whole;
        whole <<= 1;
        rest <<= 1;
        if (m & bit) {
            whole += n_whole;
            rest += n_rest;
        }
        for (; rest >= by; rest -= by) {
            whole++;
        }
    }
    whole = whole > 0x7FFFFFFF ? 0x7FFFFFFF : whole;
    more = (int32_t)((uint32_t)more + (n < 0 ? 0u - rest : rest));
    all = (uint32_t)more < by ? 0 : floored(more, d);
    rest = (uint32_t)more - (uint32_t)all * by;
    all = (int32_t)((uint32_t)all + (n < 0 ? 0u - whole : whole));
    return all + (how && rest * 2 >= by + (how == HALVES_AWAY && all < 0));
}
#endif

static uint32_t power(int32_t decimals)
{
    uint32_t value = 1;
    while (decimals-- > 0) {
        value *= 10;
    }
    return value;
}

/* A value of so many decimals to the nearest whole number, halves away from 0. */
static int32_t rounded(int32_t value, int32_t decimals)
{
    uint32_t one = power(decimals), size = value < 0 ? 0u - (uint32_t)value : (uint32_t)value;
    int32_t whole = (int32_t)((size + one / 2) / one);
    return value < 0 ? -whole : whole;
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

#if INK_ROWS || INK_CURSORS || INK_PASTS
/* The field that comes next, to the nearest whole number; 0 where it is not known or below 0. */
static int32_t whole_of(struct pen *pen)
{
    int32_t value = field_value(pen);
    int32_t decimals = natural(pen);
    return value > 0 ? rounded(value, decimals) : 0;
}
#endif

#if INK_BARS || INK_MARKERS || INK_ARCS || INK_RING_MARKERS
/* A value's place on a scale, from 0 to d. */
struct level {
    int32_t n, d;
};

static int on_level(struct pen *pen, struct level *level)
{
    enum { OF, FACTOR_OF, LOWEST, LENGTH, LEVEL_NUMBERS };
    int32_t n[LEVEL_NUMBERS], value, low, factor;
    numbers(pen, n, LEVEL_NUMBERS, 1 << LOWEST);
    value = value_of(pen, (uint32_t)n[OF]);
    low = n[LOWEST];
    factor = n[FACTOR_OF];
    level->d = n[LENGTH];
    level->n = 0;
    /* What is beyond the ends might be too much to multiply. */
    if (value > floored(low, factor)) {
        level->n = value > floored(low + level->d, factor) ? level->d : value * factor - low;
    }
    return value != INK_UNKNOWN;
}
#endif

/* Narrows what may be drawn to; says whether anything is left. */
static int clip(struct pen *pen, const struct box *box)
{
    if (pen->x0 < box->x) {
        pen->x0 = box->x;
    }
    if (pen->y0 < box->y) {
        pen->y0 = box->y;
    }
    if (pen->x1 > box->x + box->w) {
        pen->x1 = box->x + box->w;
    }
    if (pen->y1 > box->y + box->h) {
        pen->y1 = box->y + box->h;
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

/* A rectangle in the order of the packed frame: a along the eight pixels of a byte, b across. */
struct span {
    int32_t a, b, along, across;
};

static INK_INSIDE void to_span(const struct pen *pen, int32_t x, int32_t y, int32_t w, int32_t h, struct span *span)
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
static INK_INSIDE void clip_span(const struct pen *pen, struct span *span)
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
enum { M_FILL, M_RUN, M_OP, M_WITH = 16, M_EDGES = 5, M_RUN_HEAD = 3, M_OP_HEAD = 3, M_KNOWN = 5 };

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
    const struct box *area = &pen->area;
    uint16_t *cells = note(pen, (uint16_t)(M_OP | (more ? M_WITH : 0)), area->x, area->y, area->x + area->w,
                           area->y + area->h, (uint16_t)(M_OP_HEAD + more));
    if (cells) {
        cells[0] = (uint16_t)at;
        cells[1] = (uint16_t)(at >> 16 | (uint32_t)(pen->layer - pen->view->layers) << 8);
        cells[2] = (uint16_t)(M_EDGES + M_OP_HEAD + more);
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
    int32_t a1 = a + along - 1, b1 = b + across;
    uint32_t flip = flip_of(pen);
    clip_span(pen, &to);
    a = a < to.a ? to.a : a;
    b = b < to.b ? to.b : b;
    to.a += to.along - 1;
    to.b += to.across;
    a1 = a1 > to.a ? to.a : a1;
    b1 = b1 > to.b ? to.b : b1;
    if (b >= b1) {
        return;
    }
    for (; a <= a1; a = (a | 7) + 1) {
        uint8_t *at = line_of(pen, b) + (uint32_t)(a >> 3) * INK_PACKED(pen->design, a_step);
        int32_t line, last = a1 - (a & ~(int32_t)7);
        uint32_t mask = INK_PACKED(pen->design, first_bit) ? (uint32_t)0xFF >> (a & 7)
                                                           : (uint32_t)(uint8_t)(0xFF << (a & 7));
        if (last < 7) {
            mask &= INK_PACKED(pen->design, first_bit) ? (uint32_t)0xFF << (7 - last) : (uint32_t)0xFF >> (7 - last);
        }
        line = b;
        for (; mask == 0xFF && !pattern && line < b1; line++, at += INK_PACKED(pen->design, b_step)) {
            *at = (uint8_t)~flip;
        }
        for (; line < b1; line++, at += INK_PACKED(pen->design, b_step)) {
            uint32_t bits = *at ^ flip;
#if INK_TILES
            if (pattern) {
                uint8_t some = pattern[line & 7];
                bits = (bits & ~mask) | (mask & (INK_PACKED(pen->design, first_bit) ? some : turned(some)));
            } else
#endif
            {
                bits |= mask;
            }
            *at = (uint8_t)(bits ^ flip);
        }
    }
    (void)pattern;
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
static uint32_t take(ink_bytes bits, uint32_t *at, uint32_t count)
{
    uint32_t from = *at;
    *at = from + count;
    return count ? window(bits, from) >> (32 - count) : 0;
}

/* A picture as it is packed: lines along a, read one after the other. */
struct picture {
    ink_bytes bits;
    uint32_t at;
    uint32_t zeros; /* before the next one */
    uint16_t along, lines;
    uint16_t mode; /* 0 plain; else 16, and 8 where lines are compared with the one before, and the order */
#if INK_SCALED
    uint8_t scale; /* each pixel is so large */
#endif
    uint8_t line[INK_WIDEST / 8 + 2];
};

static uint32_t golomb(struct picture *picture)
{
    uint32_t order = picture->mode & 7u, more = order, at = picture->at, bits = window(picture->bits, at);
    for (; more < 24 && !(bits & 0x80000000); more++, at++) {
        bits <<= 1;
    }
    picture->at = at + more + 1;
    if (!more) {
        return 0;
    }
    if (more > 11) {
        bits = window(picture->bits, at);
    }
    return (bits >> (31 - more)) - ((uint32_t)1 << order);
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
        /* Bits beyond its end are not looked at. */
        for (a = 0; a < along; a += 8) {
            picture->line[a >> 3] = (uint8_t)(window(picture->bits, picture->at + (uint32_t)a) >> 24);
        }
        picture->at += picture->along;
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

#if INK_SCALED
#define SCALE(picture) (int32_t)(picture)->scale
#else
#define SCALE(picture) 1
#endif

/* Draws a picture whose corner is at a point. */
static void stamp(const struct pen *pen, struct picture *picture, int32_t a, int32_t b, uint16_t *known)
{
    struct span to;
    int32_t line, from, end, count, scale = SCALE(picture);
    clip_span(pen, &to);
    to.a -= a;
    from = to.a > 0 ? to.a : 0;
    end = to.a + to.along < picture->along * scale ? to.a + to.along : picture->along * scale;
    line = to.b > b ? scale == 1 ? to.b - b : (to.b - b) / scale : 0;
    to.b += to.across;
    if (from >= end || line >= picture->lines) {
        return;
    }
    count = RESUMED(picture, known, line);
    for (b += line * scale; line < picture->lines && b < to.b; line++, b += scale) {
        for (; count <= line; count++) {
            next_line(picture);
        }
#if INK_SCALED
        if (scale != 1) {
            int32_t at, run = 0;
            for (at = 0; at <= picture->along; at++) {
                if (at < picture->along && picture->line[at >> 3] & (0x80 >> (at & 7))) {
                    run++;
                } else if (run) {
                    fill_span(pen, a + (at - run) * scale, b, run * scale, scale, 0);
                    run = 0;
                }
            }
        } else
#endif
        {
            stamp_line(pen, picture->line, a, b, from, end);
        }
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
    ink_bytes at = pen->design->bits + natural(pen);
    struct cursor op = pen->op;
    start(pen, at, 0);
    small_numbers(pen, &picture->along, 3);
    picture->bits = pen->op.at;
    picture->at = 0;
    pen->op = op;
    pen->pairs = pen->design->code_pairs;
}

static INK_APART void bitmap(struct pen *pen, int seen)
{
    struct picture picture;
    struct span to;
    open_bitmap(pen, &picture);
#if INK_SCALED
    picture.scale = (uint8_t)(pen->head & MORE ? natural(pen) : 1);
#endif
    if (!seen) {
        return;
    }
#if INK_MEMO
    if (pen->memo) {
        uint16_t lines_of = (uint16_t)((picture.along + 15) / 16), *known = note_op(pen, (uint16_t)(M_KNOWN + lines_of));
        if (known) {
            known[0] = 0;
        }
        return;
    }
#endif
    to_span(pen, pen->area.x, pen->area.y, pen->area.w, pen->area.h, &to);
    stamp(pen, &picture, to.a, to.b, KNOWN(pen));
}

#if INK_TILES
/* A pattern of eight by eight pixels, anchored to the screen's corner and turned as the frame is packed. */
static INK_APART void tile(struct pen *pen, int seen)
{
    struct span to;
    uint8_t pattern[8], at;
    for (at = 0; at < 8; at++) {
        pattern[at] = (uint8_t)natural(pen);
    }
    if (seen) {
        clip_span(pen, &to);
        fill_span(pen, to.a, to.b, to.along, to.across, pattern);
    }
}
#endif
