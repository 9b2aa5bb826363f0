/* ink_draw: draws any screen of an exported design, with boxes over it, into a frame buffer, whole or in strips.

   The tables are what `inkjoule export --to c-live` writes; they stay in flash. No allocation, no library calls, no memory
   of its own: everything that changes comes in through struct ink_view, so that several devices can live in one program
   and drawing can happen in an interrupt. C99, also valid C++17; int may have 16 bits. MIT OR Apache-2.0. */
#ifndef INK_DRAW_H
#define INK_DRAW_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* Qualifies every table and every pointer to one. On parts that keep constants in an address space of their own, define
   it in the build: for AVR, -DINK_FLASH=__flash with -std=gnu99 (or __memx beyond 64 KiB). Nothing elsewhere. */
#ifndef INK_FLASH
#define INK_FLASH
#endif

/* Functions that make the code smaller where they are not part of the one that calls them. */
#ifndef INK_APART
#ifdef __GNUC__
#define INK_APART __attribute__((noinline))
#else
#define INK_APART
#endif
#endif

/* Functions that are a few steps where the packing is stated: as a part of the one that calls them they take less. */
#ifndef INK_INSIDE
#if defined(__GNUC__) && defined(INK_PACKING_STATED) && !defined(INK_ANY_PACKING)
#define INK_INSIDE inline __attribute__((always_inline))
#else
#define INK_INSIDE
#endif
#endif

/* What a design needs of the interpreter: the exporter leaves out code that it does not. For several designs in one
   program define each as 1 where one of them needs it. */
#ifndef INK_TILES
#define INK_TILES 1
#endif
#ifndef INK_VALUES
#define INK_VALUES 1
#endif
#ifndef INK_BARS
#define INK_BARS 1
#endif
#ifndef INK_MARKERS
#define INK_MARKERS 1
#endif
#ifndef INK_ARCS
#define INK_ARCS 1
#endif
#ifndef INK_RING_MARKERS
#define INK_RING_MARKERS 1
#endif
#ifndef INK_HISTORIES
#define INK_HISTORIES 1
#endif
#ifndef INK_HOURS
#define INK_HOURS 1
#endif
#ifndef INK_ROWS
#define INK_ROWS 1
#endif
#ifndef INK_CLOCKS
#define INK_CLOCKS 1
#endif
#ifndef INK_UNITS
#define INK_UNITS 1
#endif
#ifndef INK_MARKS
#define INK_MARKS 1
#endif
#ifndef INK_JOINED
#define INK_JOINED 1
#endif
#ifndef INK_CELLS
#define INK_CELLS 1
#endif
#ifndef INK_PASTS
#define INK_PASTS 1
#endif
#ifndef INK_LONG_CODES
#define INK_LONG_CODES 1
#endif
#ifndef INK_FAR
#define INK_FAR 1
#endif
#ifndef INK_TALL_FONTS
#define INK_TALL_FONTS 1
#endif
#ifndef INK_WIDE_RINGS
#define INK_WIDE_RINGS 1
#endif
#ifndef INK_KERNS
#define INK_KERNS 1
#endif
#ifndef INK_COMPARED
#define INK_COMPARED 1
#endif
#ifndef INK_STANDS
#define INK_STANDS 1
#endif
#ifndef INK_WRAPS
#define INK_WRAPS 1
#endif
#ifndef INK_ELLIPSES
#define INK_ELLIPSES 1
#endif
#ifndef INK_SMALLER
#define INK_SMALLER 1
#endif
#ifndef INK_SPACED
#define INK_SPACED 1
#endif
#ifndef INK_LINE_CHARTS
#define INK_LINE_CHARTS 1
#endif
#ifndef INK_BAR_CHARTS
#define INK_BAR_CHARTS 1
#endif
#ifndef INK_GRIDS
#define INK_GRIDS 1
#endif
#ifndef INK_ENDS
#define INK_ENDS 1
#endif
#ifndef INK_LIMITS
#define INK_LIMITS 1
#endif
#ifndef INK_STAMPS
#define INK_STAMPS 1
#endif
#ifndef INK_RISING
#define INK_RISING 1
#endif
#ifndef INK_DATES
#define INK_DATES 1
#endif
#ifndef INK_SCALED
#define INK_SCALED 1
#endif
#ifndef INK_PAGES
#define INK_PAGES 1
#endif
#ifndef INK_COUNTED
#define INK_COUNTED 1
#endif
#ifndef INK_CELLS_DIFFER
#define INK_CELLS_DIFFER 1
#endif
/* Drawing in strips with a memo, so that what lies outside a strip costs next to nothing: define it as 1 in the build. */
#ifndef INK_MEMO
#define INK_MEMO 0
#endif
#ifndef INK_PARTS
#define INK_PARTS 1
#endif
#ifndef INK_CURSORS
#define INK_CURSORS 1
#endif

/* Functions that only a memo makes several others call. */
#if INK_MEMO
#define INK_SHARED INK_APART
#else
#define INK_SHARED
#endif

/* Where the exporter states how frames are packed, code for other packings is left out. Several designs in one program
   that are packed in different ways need ink_draw.h and ink_draw.c without it: define INK_ANY_PACKING. */
#if defined(INK_PACKING_STATED) && !defined(INK_ANY_PACKING)
#define INK_PACKED(design, what) INK_PACKED_##what
#else
#define INK_PACKED(design, what) (design)->packing.what
#endif

/* The value of a field that is not known; drawn as a dash. */
#define INK_UNKNOWN (-2147483647 - 1)

/* Whether the machine keeps values in as many bytes as each field needs, as the exporter states in front. */
#if defined(INK_PLACES_STATED) && !defined(INK_ANY_PACKING)
#define INK_NARROW 1
#else
#define INK_NARROW 0
#endif

/* The longest text of a design, in characters, and the widest picture, in pixels; the exporter states both. */
#ifndef INK_TEXT
#define INK_TEXT 127
#endif
#ifndef INK_WIDEST
#define INK_WIDEST 512
#endif

/* Texts in texts at most, the outer one not counted; 1 or more. */
#ifndef INK_NESTED
#define INK_NESTED 6
#endif

/* From pixel (x, y) of the upright frame to bits: a counts along the axis of the eight pixels of a byte, b along the
   other one; the byte is (a / 8) * a_step + b * b_step. */
struct ink_packing {
    uint16_t lines, stride; /* of the packed frame; a line is `stride` bytes */
    int16_t ax, ay, a0;
    int16_t bx, by, b0;
    uint16_t a_step, b_step;
    uint8_t first_bit; /* the bit of the first of the eight: 0 or 7 */
    uint8_t ink;       /* the bit that is ink: 0 or 1 */
    uint8_t padding;   /* the byte that bits beyond the frame are part of: 0x00 or 0xFF */
};

/* Past values that charts show: one ring for each field that has a history. */
struct ink_ring {
    uint16_t field;
    uint16_t samples;
    uint16_t first; /* its first byte in the past */
    uint8_t wide;   /* samples take four bytes instead of two */
};

/* A whole design. How its bytes are laid out is written in ink_draw.c; only that file reads them. */
struct ink_design {
    const INK_FLASH uint8_t *screens; /* for each screen: where its operations begin */
    const INK_FLASH uint8_t *code;    /* operations */
    const INK_FLASH uint8_t *code_pairs;
    const INK_FLASH uint8_t *texts;
    const INK_FLASH uint8_t *text_pairs;
    const INK_FLASH uint8_t *bits;  /* faces and bitmaps */
    const INK_FLASH struct ink_ring *rings;
    struct ink_packing packing;
    uint16_t width, height; /* of the upright frame, in pixels */
    uint16_t screen_count, field_count, ring_count;
    uint16_t past_size; /* bytes of RAM for all rings */
    uint8_t locale_count;
    uint8_t place; /* bytes of a place in code and texts: 2 or 3 */
    int32_t epoch; /* the day from which clocks count: days after 1970-01-01 */
};

#if INK_NARROW
/* Values as the machine keeps them: a number beyond what a field's bytes hold becomes the nearest one. */
int32_t ink_get(const int32_t *values, uint32_t field);
void ink_put(int32_t *values, uint32_t field, int32_t number);

/* Where a field is kept: its first byte. */
uint32_t ink_kept_at(uint32_t field);

/* Beside the screen of a layer: its values are kept so. */
#define INK_KEPT 0x8000u
#else
#define INK_KEPT 0u
#endif
/* Beside the screen of the first layer: it is drawn over what the strip holds, so that layers can be drawn one by one. */
#define INK_OVER 0x4000u

/* One layer of what is shown: a screen, or a box over it. */
struct ink_layer {
    uint16_t screen; /* position of the screen or box, as in the generated header */
    /* The value of each field, in the order of the generated header: a number in units of its last decimal (21.5 with one
       decimal is 215), the position of a choice, a clock in seconds after midnight of the epoch, a screen's position, 0 or 1
       for an event that has happened; INK_UNKNOWN where it is not known. A layer that is frozen points to a copy. */
    const int32_t *values;
    /* The rings; past_size bytes. May be a null pointer where the design has none. A frozen layer points to a copy, or to
       the same where the charts below a box may go on. */
    const uint8_t *past;
};

/* What is shown: the screen, then the boxes over it, the front one last. */
struct ink_view {
    const struct ink_layer *layers;
    uint8_t layer_count;
    uint8_t locale; /* position of the locale, as in the generated header */
};

/* Draws lines [first_line, first_line + lines) of the packed frame into a strip of lines * packing.stride bytes, every
   byte of it. A strip of all packing.lines lines is the whole frame. */
void ink_draw(const INK_FLASH struct ink_design *design, const struct ink_view *view, uint8_t *strip, uint16_t first_line,
              uint16_t lines);

#if INK_MEMO
/* What a frame that is drawn in strips need not find out again for each of them: which operations are shown, where texts
   and their characters stand, the scales of charts. 500 to 900 cells do for most screens; what finds no room is drawn all
   the same, but slowly. It holds for as long as neither the view nor the values in it change. */
struct ink_memo {
    const INK_FLASH struct ink_design *design;
    const struct ink_view *view;
    uint16_t *cells;
    uint16_t size, used;
    uint16_t rest;  /* operations from this one on, counted over all layers, found no room */
    uint8_t failed; /* for the moment: 1 this one cannot be remembered so, 2 there is no room */
};

void ink_memo_make(struct ink_memo *memo, const INK_FLASH struct ink_design *design, const struct ink_view *view,
                   uint16_t *cells, uint16_t size);

/* As ink_draw. */
void ink_memo_draw(struct ink_memo *memo, uint8_t *strip, uint16_t first_line, uint16_t lines);
#endif

/* Tables of a design, and what they were when they were exported. */
enum { INK_TABLES = 6 };
struct ink_seal {
    const INK_FLASH struct ink_design *design;
    uint32_t sizes[INK_TABLES];
    uint32_t sum;
};

/* Whether the tables are still what was exported (ink_seal.c). Drawing trusts them, so ask once at the start where flash may
   be damaged; values, times and the past may be anything. */
int ink_sound(const INK_FLASH struct ink_seal *seal);

/* Makes every sample of every ring unknown. */
void ink_past_clear(const INK_FLASH struct ink_design *design, uint8_t *past);

/* Appends a value to a field's ring; the oldest one falls out. Nothing happens where the field has no ring. */
void ink_past_add(const INK_FLASH struct ink_design *design, uint8_t *past, uint16_t field, int32_t value);

#ifdef __cplusplus
}
#endif

#endif
