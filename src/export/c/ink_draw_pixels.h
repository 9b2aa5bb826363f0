/* Part of ink_draw.c, which includes it: numbers of the tables, filled areas, pictures. MIT OR Apache-2.0. */

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
    past += 2 + at % ring->samples * (ring->wide ? 4 : 2);
    value = (uint32_t)past[0] | (uint32_t)past[1] << 8;
    if (ring->wide) {
        value |= (uint32_t)past[2] << 16 | (uint32_t)past[3] << 24;
        return value > 0x7FFFFFFFu ? -(int32_t)(0xFFFFFFFFu - value) - 1 : (int32_t)value;
    }
    return value == 0x8000 ? INK_UNKNOWN : value > 0x7FFF ? (int32_t)value - 65536 : (int32_t)value;
}
#endif

#if INK_ROWS || INK_CURSORS || INK_PIECES
/* The field that comes next, to the nearest whole number; 0 where it is not known or below 0. */
static int32_t whole_of(const struct pen *pen, ink_bytes *at)
{
    int32_t value = value_of(pen, number(at));
    uint8_t decimals = *(*at)++;
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

static void unclip(struct pen *pen)
{
    pen->x0 = pen->left;
    pen->y0 = pen->top;
    pen->x1 = pen->right;
    pen->y1 = pen->bottom;
}

/* Where a byte lies in the strip. */
static uint32_t place_of(const struct pen *pen, int32_t a, int32_t b)
{
    return (uint32_t)(a >> 3) * INK_PACKED(pen->design, a_step) + (uint32_t)b * INK_PACKED(pen->design, b_step) - pen->strip_at;
}

static void fill(const struct pen *pen, int32_t x, int32_t y, int32_t w, int32_t h)
{
    int32_t right = x + w, bottom = y + h, a, b, a1, b1, swap;
    uint16_t step = INK_PACKED(pen->design, b_step);
    uint8_t flip = (pen->paper ? !INK_PACKED(pen->design, ink) : INK_PACKED(pen->design, ink)) ? 0 : 0xFF;
    x = x < pen->x0 ? pen->x0 : x;
    y = y < pen->y0 ? pen->y0 : y;
    right = (right > pen->x1 ? pen->x1 : right) - 1;
    bottom = (bottom > pen->y1 ? pen->y1 : bottom) - 1;
    if (x > right || y > bottom) {
        return;
    }
    a = x * INK_PACKED(pen->design, ax) + y * INK_PACKED(pen->design, ay) + INK_PACKED(pen->design, a0);
    b = x * INK_PACKED(pen->design, bx) + y * INK_PACKED(pen->design, by) + INK_PACKED(pen->design, b0);
    a1 = right * INK_PACKED(pen->design, ax) + bottom * INK_PACKED(pen->design, ay) + INK_PACKED(pen->design, a0);
    b1 = right * INK_PACKED(pen->design, bx) + bottom * INK_PACKED(pen->design, by) + INK_PACKED(pen->design, b0);
    if (INK_PACKED(pen->design, ax) + INK_PACKED(pen->design, ay) < 0) {
        swap = a;
        a = a1;
        a1 = swap;
    }
    if (INK_PACKED(pen->design, bx) + INK_PACKED(pen->design, by) < 0) {
        swap = b;
        b = b1;
        b1 = swap;
    }
    for (; a <= a1; a = (a | 7) + 1) {
        uint8_t *at = pen->strip + place_of(pen, a, b);
        int32_t count = b1 - b + 1, last = a1 - (a & ~(int32_t)7);
        uint32_t mask = INK_PACKED(pen->design, first_bit) ? (uint32_t)0xFF >> (a & 7) : (uint32_t)0xFF << (a & 7);
        if (last < 7) {
            mask &= INK_PACKED(pen->design, first_bit) ? (uint32_t)0xFF << (7 - last) : (uint32_t)0xFF >> (7 - last);
        }
        for (; count--; at += step) {
            *at = (uint8_t)(((*at ^ flip) | mask) ^ flip);
        }
    }
}

/* The next bits, at most 25 of them; the tables end in four bytes that are no part of anything. */
static uint32_t take(ink_bytes bits, uint32_t *at, uint8_t count)
{
    uint32_t from = *at, window;
    bits += from >> 3;
    window = (uint32_t)bits[0] << 24 | (uint32_t)bits[1] << 16 | (uint32_t)bits[2] << 8 | bits[3];
    *at = from + count;
    return count ? window << (from & 7) >> (32 - count) : 0;
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
    uint32_t at = picture->at;
    while (more < 24 && !(picture->bits[at >> 3] & (0x80 >> (at & 7)))) {
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
    if (picture->width > WIDEST) {
        picture->height = picture->width = 0;
    }
    for (at = 0; at < picture->width; at += 8) {
        picture->row[at >> 3] = 0;
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
            uint32_t bits = take(picture->bits, &picture->at, some) << (8 - some);
            picture->row[x >> 3] = (uint8_t)bits;
        }
        return;
    }
    for (x = 0; !(picture->mode & 8) && x < width; x += 8) {
        picture->row[x >> 3] = 0;
    }
    for (x = 0; picture->zeros < (uint32_t)(width - x); x++) {
        x += (int32_t)picture->zeros;
        picture->row[x >> 3] = (uint8_t)(picture->row[x >> 3] ^ 0x80 >> (x & 7));
        picture->zeros = golomb(picture);
    }
    picture->zeros -= (uint32_t)(width - x);
}

/* Copies the set bits of a row as ink or paper. */
static void stamp_row(const struct pen *pen, const uint8_t *row, int32_t left, int32_t y, int32_t width)
{
    int32_t x = left < pen->x0 ? pen->x0 : left, right = left + width > pen->x1 ? pen->x1 : left + width;
    int32_t a = x * INK_PACKED(pen->design, ax) + y * INK_PACKED(pen->design, ay) + INK_PACKED(pen->design, a0), b = x * INK_PACKED(pen->design, bx) + y * INK_PACKED(pen->design, by) + INK_PACKED(pen->design, b0), ax = INK_PACKED(pen->design, ax);
    uint32_t at = place_of(pen, a, b), step = (uint32_t)(INK_PACKED(pen->design, bx) * (int32_t)INK_PACKED(pen->design, b_step));
    uint8_t flip = (pen->paper ? !INK_PACKED(pen->design, ink) : INK_PACKED(pen->design, ink)) ? 0 : 0xFF, first = INK_PACKED(pen->design, first_bit);
    uint8_t mask = (uint8_t)(1 << ((a & 7) ^ first));
    x -= left;
    right -= left;
    while (x < right) {
        uint8_t bits = (uint8_t)(row[x >> 3] << (x & 7)), some = (uint8_t)(8 - (x & 7));
        if (some > right - x) {
            some = (uint8_t)(right - x);
        }
        x += some;
        if (!ax) {
            for (; bits && some; some--, at += step, bits = (uint8_t)(bits << 1)) {
                if (bits & 0x80) {
                    pen->strip[at] = (uint8_t)(((pen->strip[at] ^ flip) | mask) ^ flip);
                }
            }
            at += step * some;
            continue;
        }
        for (; some; some--, a += ax, bits = (uint8_t)(bits << 1)) {
            if (bits & 0x80) {
                at = place_of(pen, a, b);
                mask = (uint8_t)(1 << ((a & 7) ^ first));
                pen->strip[at] = (uint8_t)(((pen->strip[at] ^ flip) | mask) ^ flip);
            }
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
