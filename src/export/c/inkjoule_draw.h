/* inkjoule_draw: draws a screen's background and live fields from exported tables into a frame buffer, whole or in
   bands. No allocation, no library calls; the fixed-width types are all it needs. MIT OR Apache-2.0. */
#ifndef INKJOULE_DRAW_H
#define INKJOULE_DRAW_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* A number that is not known; drawn as a dash. */
#define INKJOULE_UNKNOWN (-2147483647 - 1)

/* The live value of a field. */
struct inkjoule_value {
    int32_t number;   /* in units of the last decimal shown: 21.5 with one decimal is 215; the position of a choice */
    const char *text; /* UTF-8, for fields that the firmware writes itself, such as times */
};

/* Glyphs lie in rows, each padded to bytes, the leftmost pixel in bit 7. */
struct inkjoule_glyph {
    uint32_t first; /* its first byte in the face's bits */
    uint16_t code;
    int16_t left;
    int16_t top; /* from the baseline up to its upper edge */
    int16_t advance;
    uint16_t width;
    uint16_t height;
};

struct inkjoule_kern {
    uint16_t left;
    uint16_t right;
    int16_t distance;
};

struct inkjoule_face {
    const struct inkjoule_glyph *glyphs; /* the one for missing characters, then the others by code */
    const struct inkjoule_kern *kerns;   /* by left, then right code */
    const uint8_t *bits;
    uint16_t glyph_count;
    uint16_t kern_count;
    int16_t pitch;
};

/* Pieces of a text. */
enum { INKJOULE_FIXED, INKJOULE_NUMBER, INKJOULE_CHOICE, INKJOULE_GIVEN };
struct inkjoule_piece {
    uint8_t kind;
    uint8_t decimals;
    uint16_t field;
    uint16_t text;  /* the first of its texts */
    uint16_t texts; /* how many */
};

/* A condition: the field, scaled, is below, equal to or above a limit or another field; the test says which of the
   three will do. Where other_scale is 0, the limit counts. */
enum { INKJOULE_BELOW = 1, INKJOULE_EQUAL = 2, INKJOULE_ABOVE = 4 };
struct inkjoule_check {
    uint8_t test;
    uint16_t field;
    uint16_t other;
    int32_t limit;
    int32_t scale;
    int32_t other_scale;
};

/* Entries: runs of text, bitmaps, filled areas, and what the firmware draws itself. */
enum { INKJOULE_RUN, INKJOULE_BITMAP, INKJOULE_FILL, INKJOULE_OWN };
enum { INKJOULE_REVERSED = 1, INKJOULE_WRAP = 2, INKJOULE_ELLIPSIS = 4 };
struct inkjoule_entry {
    uint8_t kind;
    uint8_t flags;
    uint8_t align;    /* 0 start, 1 middle, 2 end */
    uint8_t vertical; /* the same, downwards */
    int16_t x, y;     /* the area on the upright screen */
    uint16_t width, height;
    uint16_t window_x, window_y, window_width, window_height; /* on the panel, aligned to its bytes */
    int16_t start, room, rise, spread; /* of a run: where its lines stand */
    int16_t spacing;                   /* between its characters */
    uint16_t face;
    uint16_t pieces, checks;
    uint16_t first_piece, first_check;
    uint32_t first_byte; /* of a bitmap, in the screen's bits */
};

struct inkjoule_screen {
    const struct inkjoule_entry *entries;
    const struct inkjoule_piece *pieces;
    const struct inkjoule_check *checks;
    const char *const *texts;
    const uint8_t *bits;       /* of bitmaps, in rows as glyphs are */
    const uint8_t *background; /* stored bytes of the packed background */
    uint32_t background_size;
    uint16_t entry_count;
    uint8_t codec; /* see inkjoule_unpack.h */
};

/* From pixel (x, y) of the upright picture to bits: a counts along the axis of the eight pixels of a byte, b along the
   other one; the byte is (a / 8) * a_step + b * b_step. */
struct inkjoule_packing {
    uint16_t width, height; /* of the upright picture */
    uint16_t lines, stride; /* of the packed picture */
    int16_t ax, ay, a0;
    int16_t bx, by, b0;
    uint16_t a_step, b_step;
    uint8_t first_bit; /* the bit of the first of the eight: 0 or 7 */
    uint8_t ink;       /* the bit that is ink */
};

/* Where drawing goes and what it shows: lines [first_line, first_line + lines) of the packed picture. */
struct inkjoule_canvas {
    const struct inkjoule_packing *packing;
    const struct inkjoule_face *const *faces;
    const struct inkjoule_value *values;
    uint8_t *bytes;
    uint16_t first_line, lines;
};

/* Draws a screen. Entries of kind INKJOULE_OWN are left to the caller. Returns 0 if the background is damaged. */
int inkjoule_draw(const struct inkjoule_canvas *canvas, const struct inkjoule_screen *screen);

/* Draws one entry, whatever is there already. */
void inkjoule_draw_entry(const struct inkjoule_canvas *canvas, const struct inkjoule_screen *screen,
                         const struct inkjoule_entry *entry);

/* Whether an entry's conditions hold. */
int inkjoule_shown(const struct inkjoule_screen *screen, const struct inkjoule_entry *entry,
                   const struct inkjoule_value *values);

/* Makes one pixel of the upright picture ink or paper; what lies outside the canvas is left out. */
void inkjoule_plot(const struct inkjoule_canvas *canvas, int32_t x, int32_t y, int ink);

#ifdef __cplusplus
}
#endif

#endif
