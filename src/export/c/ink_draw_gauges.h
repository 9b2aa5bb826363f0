/* Part of ink_draw.c, which includes it: bars, rings and the marks beside them. MIT OR Apache-2.0. */

enum { RISING = 1, COUNT = 2, EMPTY = 4 };

#define IS_RISING(flags) (INK_RISING && (flags) & RISING)

#if INK_BARS || INK_MARKERS || INK_ROWS || INK_HISTORIES
/* A rectangle counted from the operation's corner. */
static void read_box(struct pen *pen, struct box *box)
{
    numbers(pen, &box->y, 4, 5);
    box->y += pen->area.y;
    box->x += pen->area.x;
}
#endif

#if INK_BARS || INK_MARKERS
/* A level's pixel along a length, from 0 on. */
static int32_t pixel_of(const struct level *level, int32_t length)
{
    return length > 0 ? ratio(level->n, (uint32_t)length - 1, level->d, 0, HALVES_UP) : 0;
}
#endif

#if INK_BARS
static INK_APART void bar(struct pen *pen, int seen)
{
    uint8_t flags = (uint8_t)natural(pen);
    struct box full;
    struct level level;
    int32_t from, to, length;
    read_box(pen, &full);
    from = natural(pen);
    if (!on_level(pen, &level) || !seen || (flags & EMPTY && !level.n)) {
        return;
    }
    length = IS_RISING(flags) ? full.h : full.w;
    if (flags & COUNT) {
        to = pixel_of(&level, length + 1);
    } else {
        to = pixel_of(&level, length);
        if (to < from) {
            int32_t swap = to;
            to = from;
            from = swap;
        }
        to++;
    }
    if (IS_RISING(flags)) {
        full.y += full.h - to;
        full.h = to - from;
    } else {
        full.x += from;
        full.w = to - from;
    }
    fill(pen, full.x, full.y, full.w, full.h);
}
#endif

#if INK_MARKERS
static INK_APART void marker(struct pen *pen, int seen)
{
    uint8_t flags = (uint8_t)natural(pen);
    struct box full;
    struct level level;
    int32_t base, at, row;
    read_box(pen, &full);
    base = integer(pen);
    if (!on_level(pen, &level) || !seen) {
        return;
    }
    at = pixel_of(&level, IS_RISING(flags) ? full.h : full.w) - 2;
    for (row = 0; row < 3; row++) {
        if (IS_RISING(flags)) {
            fill(pen, pen->area.x + base - row, full.y + full.h - at - 5 + row, 1, 5 - 2 * row);
        } else {
            fill(pen, full.x + at + row, pen->area.y + base + row, 5 - 2 * row, 1);
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

/* The direction of a level where that of the full end, never below 0, is known. */
static int32_t bearing_of(const struct level *level, int32_t end)
{
    return ratio(2 * level->n - level->d, (uint32_t)end, level->d, 0, HALVES_UP);
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

static INK_APART void arc(struct pen *pen, int seen_at_all)
{
    int32_t end = integer(pen), middle_x = integer(pen), middle_y = integer(pen), a, b, run;
    uint8_t filled = (uint8_t)natural(pen);
    int32_t from = integer(pen), to;
    struct bearing first, last;
    struct level level;
    struct picture mask;
    struct span to_mask, seen;
    int known = on_level(pen, &level);
    open_bitmap(pen, &mask);
    if (!known || !seen_at_all || (!filled && !level.n)) {
        return;
    }
    to = bearing_of(&level, end);
    turn(&first, from < to ? from : to);
    turn(&last, from < to ? to : from);
    begin(&mask);
    to_span(pen, pen->area.x, pen->area.y, pen->area.w, pen->area.h, &to_mask);
    clip_span(pen, &seen);
    for (b = 0; b < mask.lines && to_mask.b + b < seen.b + seen.across; b++) {
        next_line(&mask);
        if (to_mask.b + b < seen.b) {
            continue;
        }
        for (a = run = 0; a < mask.along; a++) {
            int32_t x = INK_PACKED(pen->design, ax) ? a : b, y = INK_PACKED(pen->design, ax) ? b : a;
            x = INK_PACKED(pen->design, ax) + INK_PACKED(pen->design, bx) < 0 ? pen->area.w - 1 - x : x;
            y = INK_PACKED(pen->design, ay) + INK_PACKED(pen->design, by) < 0 ? pen->area.h - 1 - y : y;
            x = 2 * x + 1 - middle_x;
            y = 2 * y + 1 - middle_y;
            if (mask.line[a >> 3] & (0x80 >> (a & 7)) && side(&first, x, y) >= 0 && side(&last, x, y) <= 0) {
                run++;
            } else if (run) {
                fill_span(pen, to_mask.a + a - run, to_mask.b + b, run, 1, 0);
                run = 0;
            }
        }
        fill_span(pen, to_mask.a + a - run, to_mask.b + b, run, 1, 0);
    }
}
#endif

#if INK_RING_MARKERS
static INK_APART void ring_marker(struct pen *pen, int seen)
{
    int32_t end = integer(pen), middle_x = integer(pen), middle_y = integer(pen), inner = natural(pen), x, y;
    int32_t longest = natural(pen);
    struct bearing towards;
    struct level level;
    if (!on_level(pen, &level) || !seen) {
        return;
    }
    turn(&towards, bearing_of(&level, end));
    for (y = pen->y0; y < pen->y1; y++) {
        for (x = pen->x0; x < pen->x1; x++) {
            int32_t half_x = 2 * (x - pen->area.x) + 1 - middle_x, half_y = 2 * (y - pen->area.y) + 1 - middle_y;
            int64_t away = aside(&towards, half_x, half_y), one = (int64_t)1 << 30;
            int64_t under = ((int64_t)inner << 29) - along(&towards, half_x, half_y) + SLACK;
            if (away <= one + SLACK && away >= -one - SLACK && under >= one && under < (int64_t)longest << 29) {
                fill(pen, x, y, 1, 1);
            }
        }
    }
}
#endif
