/* See ink_draw.h. MIT OR Apache-2.0.

   The bytes of the tables. A number below 160 is a byte; from 160 to 254 a byte is 256 times what it is above 160, and 160 and
   the next byte more; behind 255 stand four bytes, the lowest first. A signed number keeps its sign in the lowest bit of such a number. A place is two or three bytes, the lowest first.

   pairs      the first code, how many; of each the two codes it stands for. The code behind the last one: the next byte is
              meant as it is. Operations and texts are written in such codes
   row        how many bytes follow, as many bytes as a place has; then operations
   operation  how many bytes follow; then in codes: kind (5 bits), something more follows (32), paper instead of ink (64),
              tests follow (128); top, height, left, width; tests; then what its kind needs, as the functions below read it.
              Kind 11 guards a row that follows; 12 is a call: where another row's operations begin and how many bytes
   test       kind (2 bits) and its bits, 64: holds where it does not, 128: another one follows; kind 3: tests of its own;
              kind 1 with 4: whether it is this locale
   text       codes, ended by 0; 1 to 7 are fields, stamps and line ends; from 8 on characters, from 0xF0 on in two bytes
   face       heights, counts, the bits of each column of metrics and its least number; which codes there are, eight at a
              time: a bit each, and how many before; then records of glyphs, pairs, pixels
   picture    turned as the packed one: lines of pixels, or the numbers of zeros between ones as exponential Golomb codes */
#include "ink_draw.h"

typedef const INK_FLASH uint8_t *ink_bytes;

/* Pairs in pairs. */
#define DEEPEST 8

/* Where bytes are read, and codes of pairs of which the first was read. */
struct cursor {
    ink_bytes at, pairs; /* no pairs: bytes are what they are */
    uint8_t depth, left[DEEPEST];
};

/* Whether samples take four bytes. */
#define IS_WIDE(ring) (INK_WIDE_RINGS && (ring)->wide)

/* Bits of an operation's first byte. */
enum { MORE = 32, PAPER = 64, TESTS = 128 };

/* Codes of characters: more than a byte where a design has very many. */
#if INK_LONG_CODES
typedef uint16_t ink_code;
#else
typedef uint8_t ink_code;
#endif

/* Codes of characters. */
enum { SPACE = 8, DOTS, MINUS, DASH, POINT, ZERO, COLON = ZERO + 10 };

/* Bits of a setting. */
enum { WRAP = 16, ELLIPSIS = 32, SPACED = 64, SMALLER = 128 };

/* Columns of a glyph's record. */
enum { ADVANCE, LEFT, RISE, WIDTH, HEIGHT, KERN, COLUMNS };

/* What is small and often used stands first: a processor with short instructions reaches only so far. */
struct face {
    uint16_t which;
    uint8_t code_bits, pair_bits, place_bits, record, mode;
    uint8_t wide[COLUMNS];
    ink_bytes bits, map;
    int32_t pitch, ascent, cap;
    int32_t reach, above, below; /* no glyph goes farther from its origin to the right, from its baseline up and down */
    int32_t least[COLUMNS];
    uint32_t glyphs, steps;
    uint32_t kerns, kerns_at, pixels_at;
};

struct pen {
    uint8_t head;
    uint8_t paper;
    uint8_t count; /* characters of the text */
    uint8_t last_face;
    uint8_t locale;
    const INK_FLASH struct ink_design *design;
    const struct ink_view *view;
    const struct ink_layer *layer;
    uint8_t *strip;
    uint32_t strip_at;                /* its first byte in the packed frame */
    int32_t x0, y0, x1, y1;           /* what may be drawn to */
    int32_t x, y, w, h;               /* the area of the operation */
    struct cursor op;
    int32_t left, top, right, bottom; /* its part of the upright frame */
#if INK_PASTS
    int32_t back; /* the samples back from which a text is */
#endif
#if INK_MEMO
    struct ink_memo *memo; /* notes what is to be drawn instead of drawing it; may be null */
    ink_bytes begins;      /* the operation's own part */
    uint16_t *known;       /* what a memo knows of the operation; may be null */
#endif
    struct face faces[2];
    ink_code codes[INK_TEXT + 1];
};

#if INK_MEMO
#define KNOWN(pen) (pen)->known
#else
#define KNOWN(pen) 0
#endif

#include "ink_draw_values.h"
#include "ink_draw_pixels.h"
#include "ink_draw_text.h"
#include "ink_draw_gauges.h"
#include "ink_draw_lists.h"
#include "ink_draw_charts.h"

enum { T_RANGE, T_KNOWN, T_COMPARE, T_GROUP, T_FROM = 4, T_LOW = 4, T_HIGH = 8, T_SAME = 16, T_NOT = 64, T_MORE = 128 };

/* Whether all tests of an operation, or of a group in it, hold. */
static int shown(struct pen *pen, uint8_t depth)
{
    uint8_t head;
    int all = 1;
    do {
        int32_t value, low, high;
        int holds = 0;
        head = byte(pen);
        if ((head & 3) == T_GROUP) {
            holds = depth && shown(pen, (uint8_t)(depth - 1));
        } else {
            uint32_t of = number(&pen->op);
            value = value_of(pen, of);
            holds = value != INK_UNKNOWN;
            if ((head & (3 | T_FROM)) == (T_KNOWN | T_FROM)) {
                holds = of == pen->locale;
            }
#if INK_COMPARED
            else if ((head & 3) == T_COMPARE) {
                int32_t other = value_of(pen, number(&pen->op));
                int64_t mine = (int64_t)value * natural(pen), its = (int64_t)other * natural(pen);
                holds = holds && other != INK_UNKNOWN && (head & T_FROM ? mine >= its : mine < its);
            }
#endif
            else if ((head & 3) == T_RANGE) {
                low = head & T_LOW ? integer(pen) : value;
                high = head & T_HIGH ? integer(pen) : head & T_SAME ? low : value;
                holds = holds && value >= low && value <= high;
            }
        }
        if (head & T_NOT) {
            holds = !holds;
        }
        all = all && holds;
    } while (head & T_MORE);
    return all;
}

/* Whether anything of an operation whose head was read is to be drawn, or would be elsewhere; its own part follows. */
static int begins(struct pen *pen, int anywhere)
{
    int seen;
    unclip(pen);
    pen->y = natural(pen);
    pen->h = natural(pen);
    if (!anywhere && (pen->y >= pen->y1 || pen->y + pen->h <= pen->y0)) {
        return 0;
    }
    pen->x = natural(pen);
    pen->w = natural(pen);
    seen = clip(pen, pen->x, pen->y, pen->w, pen->h) || anywhere;
    return seen && !(pen->head & TESTS && !shown(pen, 1));
}

static void operate(struct pen *pen)
{
    pen->paper = (pen->head & PAPER) != 0;
    switch (pen->head & 31) {
    case 0:
        fill(pen, pen->x, pen->y, pen->w, pen->h);
        break;
#if INK_TILES
    case 1:
        tile(pen);
        break;
#endif
    case 2:
        bitmap(pen);
        break;
    case 3:
        text(pen, pen->head);
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
        rows(pen, pen->head);
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
    uint8_t kind = pen->head & 31;
    memo->failed = 0;
    if (kind == 0 || kind == 3 || kind == 4 || kind == 2 || kind == 5 || kind == 9 || kind == 10) {
        operate(pen);
        if (!memo->failed) {
            return;
        }
    }
    memo->used = before;
    memo->failed = 0;
    unclip(pen);
    clip(pen, pen->x, pen->y, pen->w, pen->h);
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
    int32_t first = first_line, last = first + lines_of - 1, x = by_a ? INK_PACKED(design, ax) : INK_PACKED(design, bx), y = by_a ? INK_PACKED(design, ay) : INK_PACKED(design, by);
    int32_t from = by_a ? INK_PACKED(design, a0) : INK_PACKED(design, b0);
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

/* Kinds that draw nothing themselves, and calls in calls. */
enum { GUARD = 11, CALL, DEEPEST_CALL = 4 };

/* Where operations are read, and where they end. */
struct row {
    ink_bytes at, end;
};

static void begin_row(struct row *row, ink_bytes at, uint8_t width)
{
    row->at = at + width;
    row->end = row->at + place(at, width);
}

/* Draws the operations of all layers from one on, or notes them. */
static void every(struct pen *pen, uint16_t from)
{
    const INK_FLASH struct ink_design *design = pen->design;
    uint8_t layer, width = design->place;
    uint16_t position = 0;
    for (layer = 0; layer < pen->view->layer_count; layer++) {
        struct row rows_of[DEEPEST_CALL + 1], *row = rows_of;
        uint8_t bottom = !layer;
        uint16_t screen;
        pen->layer = pen->view->layers + layer;
        screen = (uint16_t)(pen->layer->screen & ~INK_KEPT);
        if (screen >= design->screen_count) {
            continue;
        }
        begin_row(row, design->code + place(design->screens + (uint32_t)screen * width, width), width);
        for (;;) {
            uint32_t size;
            uint8_t kind;
            if (row->at >= row->end) {
                if (row == rows_of) {
                    break;
                }
                row--;
                continue;
            }
#if INK_MEMO
            pen->begins = row->at;
#endif
            start(&pen->op, row->at, 0);
            size = number(&pen->op);
            row->at = pen->op.at + size;
            pen->op.pairs = design->code_pairs;
            pen->head = byte(pen);
            kind = pen->head & 31;
            if (kind == CALL) {
                if (row < rows_of + DEEPEST_CALL) {
                    row++;
                    row->at = design->code + number(&pen->op);
                    row->end = row->at + number(&pen->op);
                }
                continue;
            }
            if (kind == GUARD) {
                struct row guarded;
                begin_row(&guarded, row->at, width);
                row->at = begins(pen, position < from) ? guarded.at : guarded.end;
                continue;
            }
            /* There is nothing below the screen that its first operation could clear. */
            if (position++ < from || bottom || !begins(pen, 0)) {
                bottom = 0;
                continue;
            }
#if INK_MEMO
            if (pen->memo) {
                remember(pen);
                if (pen->memo->failed) {
                    pen->memo->rest = (uint16_t)(position - 1);
                    return;
                }
                continue;
            }
#endif
            operate(pen);
        }
    }
}

/* A pen for lines of the packed frame; says whether anything of the upright one is in them. */
static int prepare(struct pen *pen, const INK_FLASH struct ink_design *design, const struct ink_view *view, uint8_t *strip,
                   uint16_t first_line, uint16_t lines_of)
{
    pen->design = design;
    pen->view = view;
#if INK_PASTS
    pen->back = 0;
#endif
#if INK_MEMO
    pen->memo = 0;
    pen->known = 0;
#endif
    pen->faces[0].which = pen->faces[1].which = 0xFFFF;
    pen->last_face = 0;
    pen->strip = strip;
    pen->strip_at = (uint32_t)first_line * design->packing.stride;
    pen->locale = view->locale < design->locale_count ? view->locale : 0;
    strip_area(pen, first_line, lines_of);
    return pen->left < pen->right && pen->top < pen->bottom;
}

/* Empties a strip. */
static int clear(struct pen *pen, const INK_FLASH struct ink_design *design, const struct ink_view *view, uint8_t *strip,
                 uint16_t first_line, uint16_t lines_of)
{
    uint32_t bytes = (uint32_t)lines_of * design->packing.stride;
    uint8_t *at = strip, padding = design->packing.padding;
    for (; bytes >= 8; bytes -= 8, at += 8) {
        at[0] = at[1] = at[2] = at[3] = at[4] = at[5] = at[6] = at[7] = padding;
    }
    for (; bytes; bytes--) {
        *at++ = padding;
    }
    if (!lines_of || !prepare(pen, design, view, strip, first_line, lines_of)) {
        return 0;
    }
    if (INK_PACKED(design, padding) != (INK_PACKED(design, ink) ? 0x00 : 0xFF)) {
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
    uint16_t *cells = memo->cells, *end = cells + memo->used;
    if (!clear(&pen, memo->design, memo->view, strip, first_line, lines_of)) {
        return;
    }
    while (cells < end) {
        uint16_t *here = cells;
        uint8_t kind = here[0] & 7;
        cells += here[0] >> 8;
        if (here[1] >= pen.right || here[3] <= pen.left || here[2] >= pen.bottom || here[4] <= pen.top) {
            continue;
        }
        unclip(&pen);
        pen.x = here[1];
        pen.y = here[2];
        pen.w = here[3] - here[1];
        pen.h = here[4] - here[2];
        clip(&pen, pen.x, pen.y, pen.w, pen.h);
        pen.paper = here[0] >> 3 & 1;
        if (kind == M_FILL) {
            fill(&pen, pen.x, pen.y, pen.w, pen.h);
        } else if (kind == M_RUN) {
            draw_run(&pen, here + M_EDGES, cells);
        } else {
            here += M_EDGES;
            pen.known = here[-M_EDGES] & M_WITH ? here + M_OP_HEAD : 0;
            pen.layer = pen.view->layers + here[2];
            start(&pen.op, pen.design->code + (here[0] | (uint32_t)here[1] << 16), 0);
            (void)number(&pen.op);
            pen.op.pairs = pen.design->code_pairs;
            pen.head = byte(&pen);
            if (begins(&pen, 0)) {
                operate(&pen);
            }
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
    uint16_t at, ring, byte_of;
    for (ring = 0; ring < design->ring_count; ring++) {
        const INK_FLASH struct ink_ring *of = design->rings + ring;
        uint8_t *bytes = past + of->first, wide = IS_WIDE(of) ? 4 : 2;
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
