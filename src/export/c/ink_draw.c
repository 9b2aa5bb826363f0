/* See ink_draw.h. MIT OR Apache-2.0.

   The bytes of the tables. A number below 160 is a byte; from 160 to 253 a byte is 256 times what it is above 160, and 160 and
   the next byte more; behind 255 stand four bytes, the lowest first. Behind 254 stand a field, or what is behind the last
   one for the locale, how many numbers, and these: the one that the field's value counts. A signed number keeps its sign in
   the lowest bit of such a number. A place is two or three bytes, the lowest first.

   pairs      the first code, how many; of each the two codes it stands for. The code behind the last one: the next byte is
              meant as it is. Operations and texts are written in such codes
   row        how many bytes follow, as many bytes as a place has; then operations
   operation  numbers, in codes of their own: kind (4 bits), something more follows (16), paper instead of ink (32), tests
              follow (64); top, height, left, width; tests; then what its kind needs, as the functions below read it.
              Kind 11 guards a row that follows; 12 is a call: where another row's operations begin and how many bytes
   test       kind (2 bits) and its bits, 32: holds where it does not, 64: another one follows; kind 3: tests of its own
   texts      where locales have marks of their own: three numbers of two bytes each for every locale, as a number's own
              marks; then texts. Where they differ by locale those of all locales stand together, each but the last one
              behind its length
   text       codes, ended by 0; below 10 fields, stamps and line ends; from 10 on characters, from 0xF0 on in two bytes
   face       bytes, as they are listed at FACE_BYTES; which codes there are, eight at a time: a bit each, and how many
              before; then bits: records of glyphs, shapes, pairs, pixels
   picture    turned as the packed one: lines of pixels, or the numbers of zeros between ones as exponential Golomb codes */
#include "ink_draw.h"

typedef const INK_FLASH uint8_t *ink_bytes;

/* Pairs in pairs. */
#define DEEPEST 8

/* Where bytes are read, and codes of pairs of which the first was read. */
struct cursor {
    ink_bytes at;
    uint8_t depth, left[DEEPEST];
};

/* A rectangle in the order of the tables, which are read as into an array. */
struct box {
    int32_t y, h, x, w;
};

/* Whether samples take four bytes. */
#define IS_WIDE(ring) (INK_WIDE_RINGS && (ring)->wide)

/* Bits of an operation's first number. */
enum { KIND = 15, MORE = 16, PAPER = 32, TESTS = 64 };

/* Codes of characters: more than a byte where a design has very many. */
#if INK_LONG_CODES
typedef uint16_t ink_code;
#else
typedef uint8_t ink_code;
#endif

/* Codes in texts, the last ones those of characters. */
enum { END, NUMBER, CHOICE, BY, CLOCK, LINE, STAMP, BACK, JOINED, CELL, SPACE, DOTS, MINUS, DASH, POINT, ZERO,
       COLON = ZERO + 10 };

/* Bits of a setting. */
enum { BASELINE = 3, WRAP = 16, ELLIPSIS = 32, SPACED = 64, SMALLER = 128 };

/* How text is set. */
struct setting {
    uint8_t face, flags;
    int16_t down; /* rows to the first baseline, or to the top of the room */
#if INK_SPACED
    int16_t spacing;
#endif
#if INK_SMALLER
    uint8_t smaller;
#endif
};

/* Columns of a glyph's shape, and of a pair. */
enum { ADVANCE, LEFT, RISE, WIDTH, HEIGHT, KERN, COLUMNS };

/* A face in the tables: the bits of each column, of a shape's number, of the place of pairs and of pixels, of the right
   character of a pair, of a record of all these, and of a shape; bytes that say how many were before a step; how pixels are
   stored; 1 where the heights that follow take two bytes each. Heights count from -128, or -32768: the pitch of lines, the
   ascent, capitals, and of each column its least number. Then how many steps of codes (two bytes), and the first bit of
   shapes and of pixels (three each); where there are pairs, how many and their first bit (three each). */
enum { WIDE, SHAPE_BITS = COLUMNS, PAIR_BITS, PLACE_BITS, CODE_BITS, RECORD_BITS, ALL_BITS, BEFORE_BYTES, MODE, IS_TALL,
       HEIGHTS, PITCH = 0, ASCENT, CAP, LEAST, ALL_HEIGHTS = LEAST + COLUMNS };
enum { STEPS, SHAPES_AT = 2, PIXELS_AT = 5, KERNS = 8, FACE_COUNTS = KERNS, KERNS_AT = 11, KERN_COUNTS = 6 };

/* What is small and often used stands first: a processor with short instructions reaches only so far. */
struct pen {
    struct cursor op;
    ink_bytes pairs; /* of codes that are read; none: bytes are what they are */
    uint8_t head;
    uint8_t paper;
    uint8_t count; /* characters of the text */
    uint8_t locale;
    uint8_t decimals; /* of a number */
    uint8_t depth;    /* parts of texts that may still stand in them */
    uint8_t nested;   /* texts that are read on behind the one that is read */
    uint8_t which;    /* face */
    ink_code marks[3]; /* of a number: the codes before decimals and between groups, and counts of digits */
    struct setting setting;
    uint16_t left, top, right, bottom; /* the strip's part of the upright frame */
    const INK_FLASH struct ink_design *design;
    const struct ink_view *view;
    const struct ink_layer *layer;
    struct cursor *outer; /* where they are read on */
    ink_bytes face;        /* the one that is kept, none at first */
    ink_bytes bits;        /* its bits */
    uint32_t shapes;       /* the first one of its shapes */
    uint8_t *strip;
    uint32_t strip_at;                /* its first byte in the packed frame */
    int32_t x0, y0, x1, y1;           /* what may be drawn to */
    struct box area;                  /* the area of the operation */
    int32_t row;                      /* the baseline of characters that are set */
#if INK_CLOCKS || INK_HOURS
    int16_t *moment;                  /* the time that stamps are of; may be null */
#endif
#if INK_MEMO
    struct ink_memo *memo; /* notes what is to be drawn instead of drawing it; may be null */
    ink_bytes begins;      /* the operation */
    uint16_t *known;       /* what a memo knows of the operation; may be null */
#endif
#if INK_PASTS
    int32_t back; /* the samples back from which a text is */
#endif
    ink_code codes[INK_TEXT + 1];
};

#if INK_MEMO
#define KNOWN(pen) (pen)->known
#else
#define KNOWN(pen) 0
#endif

/* A place in the operations. */
#if INK_FAR
typedef uint32_t ink_place;
#else
typedef uint16_t ink_place;
#endif

#include "ink_draw_values.h"
#include "ink_draw_pixels.h"
#include "ink_draw_text.h"
#include "ink_draw_gauges.h"
#include "ink_draw_lists.h"
#include "ink_draw_charts.h"

enum { T_RANGE, T_KNOWN, T_COMPARE, T_GROUP, T_FROM = 4, T_LOW = 4, T_HIGH = 8, T_SAME = 16, T_NOT = 32, T_MORE = 64 };

/* Whether all tests of an operation, or of a group in it, hold. */
static int shown(struct pen *pen, uint8_t depth)
{
    int32_t head;
    int all = 1;
    do {
        int32_t value, low, high;
        int holds;
        head = natural(pen);
        if ((head & 3) == T_GROUP) {
            holds = depth && shown(pen, (uint8_t)(depth - 1));
        } else {
            low = high = value = field_value(pen);
            holds = value != INK_UNKNOWN;
#if INK_COMPARED
            if ((head & 3) == T_COMPARE) {
                int32_t other = field_value(pen);
                int64_t mine = (int64_t)value * natural(pen), its = (int64_t)other * natural(pen);
                holds = holds && other != INK_UNKNOWN && (head & T_FROM ? mine >= its : mine < its);
            } else
#endif
            if ((head & 3) == T_RANGE) {
                if (head & T_LOW) {
                    low = integer(pen);
                }
                if (head & T_SAME) {
                    high = low;
                }
                if (head & T_HIGH) {
                    high = integer(pen);
                }
                holds = holds && value >= low && value <= high;
            }
        }
        all &= holds ^ (head & T_NOT ? 1 : 0);
    } while (head & T_MORE);
    return all;
}

/* Reads an operation's head, and gives its kind. */
static uint8_t open_operation(struct pen *pen)
{
    pen->op.depth = 0;
    pen->head = (uint8_t)natural(pen);
    return pen->head & KIND;
}

/* Whether anything of an operation whose head was read is to be drawn, or would be elsewhere; its own part follows. */
static int begins(struct pen *pen, int anywhere)
{
    unclip(pen);
    numbers(pen, &pen->area.y, 4, 0);
    anywhere |= clip(pen, &pen->area);
    return pen->head & TESTS ? shown(pen, 1) & anywhere : anywhere;
}

/* Reads an operation to its end, and draws it where it is seen. */
static INK_SHARED void operate(struct pen *pen, int seen)
{
    pen->paper = (pen->head & PAPER) != 0;
    switch (pen->head & KIND) {
    case 0:
        if (seen) {
            fill(pen, pen->area.x, pen->area.y, pen->area.w, pen->area.h);
        }
        break;
#if INK_TILES
    case 1:
        tile(pen, seen);
        break;
#endif
    case 2:
        bitmap(pen, seen);
        break;
    case 3:
        text(pen, seen);
        break;
#if INK_VALUES
    case 4:
        value(pen, seen);
        break;
#endif
#if INK_BARS
    case 5:
        bar(pen, seen);
        break;
#endif
#if INK_MARKERS
    case 6:
        marker(pen, seen);
        break;
#endif
#if INK_ARCS
    case 7:
        arc(pen, seen);
        break;
#endif
#if INK_RING_MARKERS
    case 8:
        ring_marker(pen, seen);
        break;
#endif
#if INK_HISTORIES
    case 9:
        history(pen, seen);
        break;
#endif
#if INK_ROWS
    case 10:
        rows(pen, seen);
        break;
#endif
    default:
        break;
    }
}

#if INK_MEMO
/* Notes what an operation draws; where that cannot be, or is too much, the operation. */
static void remember(struct pen *pen)
{
    struct ink_memo *memo = pen->memo;
    uint16_t before = memo->used;
    uint8_t kind = pen->head & KIND;
    /* Of some kinds only the operation itself can be noted: they are read, not drawn. */
    int drawn = kind == 0 || (kind >= 2 && kind <= 5) || kind == 9 || kind == 10;
    memo->failed = 0;
    operate(pen, drawn);
    if (drawn && !memo->failed) {
        return;
    }
    memo->used = before;
    memo->failed = 0;
    unclip(pen);
    clip(pen, &pen->area);
    (void)note_op(pen, 0);
    if (memo->failed) {
        memo->used = before;
    }
}
#endif

/* The part of the upright frame that a strip holds. */
static void strip_area(struct pen *pen, uint16_t first_line, uint16_t lines_of)
{
    const INK_FLASH struct ink_design *design = pen->design;
    /* Lines are counted by a where a byte of its steps is a line, else by b. */
    int by_a = INK_PACKED(design, a_step) >= INK_PACKED(design, stride) && INK_PACKED(design, b_step) == 1;
    int32_t x = by_a ? INK_PACKED(design, ax) : INK_PACKED(design, bx);
    int32_t y = by_a ? INK_PACKED(design, ay) : INK_PACKED(design, by);
    int32_t first = first_line, many = lines_of;
    struct box box;
    if (by_a) {
        first *= 8;
        many *= 8;
    }
    first -= by_a ? INK_PACKED(design, a0) : INK_PACKED(design, b0);
    first = x + y < 0 ? 1 - first - many : first;
    box.x = x ? first : 0;
    box.w = x ? many : design->width;
    box.y = x ? 0 : first;
    box.h = x ? design->height : many;
    pen->left = pen->top = 0;
    pen->right = design->width;
    pen->bottom = design->height;
    unclip(pen);
    if (clip(pen, &box)) {
        pen->left = (uint16_t)pen->x0;
        pen->top = (uint16_t)pen->y0;
        pen->right = (uint16_t)pen->x1;
        pen->bottom = (uint16_t)pen->y1;
    } else {
        pen->right = 0;
    }
}

/* Kinds that draw nothing themselves, and calls in calls. */
enum { GUARD = 11, CALL, DEEPEST_CALL = 4 };

/* Where operations are read on behind a call, and where they end. */
struct row {
    ink_place at, end;
};

/* Begins a row of operations; where it ends. */
static ink_bytes open_row(struct pen *pen, uint32_t width)
{
    ink_bytes at = pen->op.at;
    pen->op.at = at + width;
    return pen->op.at + place(at, width);
}

/* Draws the operations of all layers from one on, or notes them. */
static void every(struct pen *pen, uint16_t from)
{
    ink_bytes code = pen->design->code;
    int32_t layer;
    uint32_t width = pen->design->place;
    uint16_t position = 0;
    for (layer = 0; layer < pen->view->layer_count; layer++) {
        struct row outer[DEEPEST_CALL], *row = outer;
        ink_bytes end;
        uint8_t bottom;
        uint16_t screen;
        pen->layer = pen->view->layers + layer;
        /* There is nothing below the screen that its first operation could clear. */
        bottom = !layer && !(pen->layer->screen & INK_OVER);
        screen = (uint16_t)(pen->layer->screen & ~(INK_KEPT | INK_OVER));
        if (screen >= pen->design->screen_count) {
            continue;
        }
        pen->op.at = code + place(pen->design->screens + (uint32_t)screen * width, width);
        end = open_row(pen, width);
        for (;;) {
            uint8_t kind;
            int seen;
            if (pen->op.at >= end) {
                if (row == outer) {
                    break;
                }
                row--;
                pen->op.at = code + row->at;
                end = code + row->end;
                continue;
            }
#if INK_MEMO
            pen->begins = pen->op.at;
#endif
            kind = open_operation(pen);
            if (kind == CALL) {
                int32_t called = natural(pen), size = natural(pen);
                if (row < outer + DEEPEST_CALL) {
                    row->at = (ink_place)(pen->op.at - code);
                    row->end = (ink_place)(end - code);
                    row++;
                    pen->op.at = code + called;
                    end = pen->op.at + size;
                }
                continue;
            }
            seen = begins(pen, kind == GUARD && position < from);
            if (kind == GUARD) {
                ink_bytes behind = open_row(pen, width);
                if (!seen) {
                    pen->op.at = behind;
                }
                continue;
            }
            if (position++ < from || bottom) {
                seen = bottom = 0;
            }
#if INK_MEMO
            if (pen->memo && seen) {
                remember(pen);
                if (pen->memo->failed) {
                    pen->memo->rest = (uint16_t)(position - 1);
                    return;
                }
            } else
#endif
            {
                operate(pen, seen);
            }
        }
    }
}

/* A pen for lines of the packed frame; says whether anything of the upright one is in them. */
static int prepare(struct pen *pen, const INK_FLASH struct ink_design *design, const struct ink_view *view, uint8_t *strip,
                   uint16_t first_line, uint16_t lines_of)
{
    pen->design = design;
    pen->pairs = design->code_pairs;
    pen->view = view;
#if INK_PASTS
    pen->back = 0;
#endif
#if INK_CLOCKS || INK_HOURS
    pen->moment = 0;
#endif
#if INK_MEMO
    pen->memo = 0;
    pen->known = 0;
#endif
    pen->face = 0;
    pen->strip = strip;
    pen->strip_at = (uint32_t)first_line * INK_PACKED(design, stride);
    pen->locale = view->locale < design->locale_count ? view->locale : 0;
    pen->depth = DEPTH;
    strip_area(pen, first_line, lines_of);
    return pen->left < pen->right && pen->top < pen->bottom;
}

/* Empties a strip, unless the view lies over what it holds. */
static int clear(struct pen *pen, const INK_FLASH struct ink_design *design, const struct ink_view *view, uint8_t *strip,
                 uint16_t first_line, uint16_t lines_of)
{
    uint32_t bytes = (uint32_t)lines_of * INK_PACKED(design, stride);
    uint8_t *at = strip, padding = INK_PACKED(design, padding);
    int over = view->layer_count && view->layers->screen & INK_OVER;
    bytes = over ? 0 : bytes;
    for (; bytes >= 8; bytes -= 8, at += 8) {
        at[0] = at[1] = at[2] = at[3] = at[4] = at[5] = at[6] = at[7] = padding;
    }
    for (; bytes; bytes--) {
        *at++ = padding;
    }
    if (!lines_of || !prepare(pen, design, view, strip, first_line, lines_of)) {
        return 0;
    }
    if (!over && INK_PACKED(design, padding) != (INK_PACKED(design, ink) ? 0x00 : 0xFF)) {
        unclip(pen);
        pen->paper = 1;
        fill(pen, 0, 0, design->width, design->height);
    }
    return 1;
}

void ink_draw(const INK_FLASH struct ink_design *design, const struct ink_view *view, uint8_t *strip, uint16_t first_line,
              uint16_t lines_of)
{
    struct pen pen;
    if (clear(&pen, design, view, strip, first_line, lines_of)) {
        every(&pen, 0);
    }
}

#if INK_MEMO
void ink_memo_make(struct ink_memo *memo, const INK_FLASH struct ink_design *design, const struct ink_view *view,
                   uint16_t *cells, uint16_t size)
{
    struct pen pen;
    memo->design = design;
    memo->view = view;
    memo->cells = cells;
    memo->size = size;
    memo->used = 0;
    memo->rest = 0xFFFF;
    memo->failed = 0;
    if (prepare(&pen, design, view, 0, 0, design->packing.lines)) {
        pen.memo = memo;
        every(&pen, 0);
    }
}

void ink_memo_draw(struct ink_memo *memo, uint8_t *strip, uint16_t first_line, uint16_t lines_of)
{
    struct pen pen;
    uint16_t *here = memo->cells, *end = here + memo->used;
    int32_t left, right;
    if (!clear(&pen, memo->design, memo->view, strip, first_line, lines_of)) {
        return;
    }
    left = pen.left;
    right = pen.right;
    /* Most entries lie elsewhere. */
    for (; here < end; here += (here[0] & 7) == M_OP ? here[M_EDGES + 2] : here[0] >> 8) {
        uint16_t *own = here + M_EDGES;
        uint8_t kind;
        if (here[3] <= left || here[1] >= right || here[2] >= pen.bottom || here[4] <= pen.top) {
            continue;
        }
        kind = here[0] & 7;
        unclip(&pen);
        pen.area.x = here[1];
        pen.area.y = here[2];
        pen.area.w = here[3] - here[1];
        pen.area.h = here[4] - here[2];
        clip(&pen, &pen.area);
        pen.paper = here[0] >> 3 & 1;
        if (kind == M_FILL) {
            fill(&pen, pen.area.x, pen.area.y, pen.area.w, pen.area.h);
        } else if (kind == M_RUN) {
            draw_run(&pen, own, here + (here[0] >> 8));
        } else {
            pen.known = here[0] & M_WITH ? own + M_OP_HEAD : 0;
            pen.layer = pen.view->layers + (own[1] >> 8);
            pen.op.at = pen.design->code + (own[0] | (uint32_t)(own[1] & 0xFF) << 16);
            open_operation(&pen);
            operate(&pen, begins(&pen, 0));
        }
    }
    pen.known = 0;
    if (memo->rest != 0xFFFF) {
        every(&pen, memo->rest);
    }
}
#endif

void ink_past_clear(const INK_FLASH struct ink_design *design, uint8_t *past)
{
    int32_t ring, at;
    for (ring = 0; ring < design->ring_count; ring++) {
        const INK_FLASH struct ink_ring *of = design->rings + ring;
        past[of->first] = past[of->first + 1] = 0;
        for (at = 0; at < of->samples; at++) {
            ink_past_add(design, past, of->field, INK_UNKNOWN);
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
    if (!IS_WIDE(ring)) {
        if (value_now == INK_UNKNOWN) {
            value_now = -32768;
        } else {
            value_now = value_now > 32767 ? 32767 : value_now < -32767 ? -32767 : value_now;
        }
    }
    raw = (uint32_t)value_now;
    {
        uint8_t *at = bytes + 2 + next * (IS_WIDE(ring) ? 4u : 2u);
        at[0] = (uint8_t)raw;
        at[1] = (uint8_t)(raw >> 8);
        if (IS_WIDE(ring)) {
            at[2] = (uint8_t)(raw >> 16);
            at[3] = (uint8_t)(raw >> 24);
        }
    }
    next = next + 1 < ring->samples ? next + 1 : 0;
    bytes[0] = (uint8_t)next;
    bytes[1] = (uint8_t)(next >> 8);
}
