/* See inkjoule_draw.h. MIT OR Apache-2.0. */
#include "inkjoule_draw.h"
#include "inkjoule_unpack.h"

/* The longest text that is set, in characters; what is longer is cut. */
#define LONGEST 127

#define MINUS 0x2212
#define DASH 0x2013
#define DOTS 0x2026

/* All that drawing one entry needs. */
struct pen {
    const struct inkjoule_canvas *canvas;
    const struct inkjoule_entry *entry;
    const struct inkjoule_face *face;
    int32_t count;
    uint16_t codes[LONGEST + 1];
};

void inkjoule_plot(const struct inkjoule_canvas *canvas, int32_t x, int32_t y, int ink)
{
    const struct inkjoule_packing *to = canvas->packing;
    uint32_t a = (uint32_t)(x * to->ax + y * to->ay + to->a0), b = (uint32_t)(x * to->bx + y * to->by + to->b0);
    uint32_t at = a / 8 * to->a_step + b * to->b_step - (uint32_t)canvas->first_line * to->stride;
    if ((uint32_t)x < to->width && (uint32_t)y < to->height && at < (uint32_t)canvas->lines * to->stride) {
        uint8_t *byte = canvas->bytes + at;
        int mask = 1 << ((a & 7) ^ to->first_bit);
        *byte = (uint8_t)(ink == to->ink ? *byte | mask : *byte & ~mask);
    }
}

/* Copies the set bits of a bitmap as ink or paper, inside the entry's area; without a bitmap every bit is set. */
static void stamp(const struct pen *pen, const uint8_t *bits, int32_t left, int32_t top, uint32_t width, uint32_t height)
{
    const struct inkjoule_entry *entry = pen->entry;
    uint32_t x;
    for (; height--; top++) {
        for (x = 0; x < width; x++) {
            int32_t column = left + (int32_t)x;
            if ((uint32_t)(column - entry->x) < entry->width && (uint32_t)(top - entry->y) < entry->height &&
                (!bits || bits[x / 8] & 0x80 >> x % 8)) {
                inkjoule_plot(pen->canvas, column, top, !(entry->flags & INKJOULE_REVERSED));
            }
        }
        if (bits) {
            bits += (width + 7) / 8;
        }
    }
}

/* Sets codes from an origin on, drawn or only measured, and returns where they end. */
static int32_t set(const struct pen *pen, const uint16_t *codes, int32_t count, int32_t x, int32_t y, int drawn)
{
    const struct inkjoule_face *face = pen->face;
    int32_t at, left = -1;
    for (at = 0; at < count; left = codes[at++]) {
        const struct inkjoule_glyph *glyph = face->glyphs + face->glyph_count;
        const struct inkjoule_kern *kern = face->kerns;
        uint16_t kerns;
        while (--glyph != face->glyphs && glyph->code != codes[at]) {
        }
        for (kerns = face->kern_count; kerns; kerns--, kern++) {
            if (kern->left == left && kern->right == codes[at]) {
                x += kern->distance;
            }
        }
        if (at) {
            x += pen->entry->spacing;
        }
        if (drawn) {
            stamp(pen, face->bits + glyph->first, x + glyph->left, y - glyph->top, glyph->width, glyph->height);
        }
        x += glyph->advance;
    }
    return x;
}

static int32_t width(const struct pen *pen, const uint16_t *codes, int32_t count)
{
    return set(pen, codes, count, 0, 0, 0);
}

static void put(struct pen *pen, uint32_t code)
{
    if (pen->count < LONGEST) {
        pen->codes[pen->count++] = (uint16_t)code;
    }
}

static void put_text(struct pen *pen, const char *text)
{
    const uint8_t *at = (const uint8_t *)text;
    while (at && *at) {
        uint32_t code = *at++;
        if (code >= 0xC0u) {
            code &= code < 0xE0u ? 0x1Fu : 0x0Fu;
            while ((*at & 0xC0u) == 0x80u) {
                code = code << 6 | (*at++ & 0x3Fu);
            }
        }
        put(pen, code);
    }
}

static void put_number(struct pen *pen, int32_t number, int32_t decimals)
{
    uint8_t digits[10];
    int32_t count = 0;
    uint32_t rest = (uint32_t)number;
    if (number == INKJOULE_UNKNOWN) {
        put(pen, DASH);
        return;
    }
    if (number < 0) {
        put(pen, MINUS);
        rest = 0u - rest;
    }
    do {
        digits[count++] = (uint8_t)('0' + rest % 10);
        rest /= 10;
    } while (rest || count <= decimals);
    while (count) {
        if (count == decimals) {
            put(pen, '.');
        }
        put(pen, digits[--count]);
    }
}

static int32_t share(int32_t pixels, int stand)
{
    return stand == 1 ? (pixels - (pixels < 0)) / 2 : stand ? pixels : 0;
}

/* Composes a run's text, then goes through its lines twice: to count them, and to draw them. */
static void run(struct pen *pen, const struct inkjoule_screen *screen)
{
    const struct inkjoule_entry *entry = pen->entry;
    const struct inkjoule_piece *piece = screen->pieces + entry->first_piece, *last = piece + entry->pieces;
    int32_t y = -pen->face->pitch, room = entry->room;
    int drawn;
    for (; piece < last; piece++) {
        const struct inkjoule_value *value = pen->canvas->values + piece->field;
        int32_t which = 0;
        if (piece->kind == INKJOULE_NUMBER) {
            put_number(pen, value->number, piece->decimals);
            continue;
        }
        if (piece->kind == INKJOULE_CHOICE && value->number > 0) {
            which = value->number < piece->texts ? value->number : piece->texts - 1;
        }
        put_text(pen, piece->kind == INKJOULE_GIVEN ? value->text : screen->texts[piece->text + which]);
    }
    for (drawn = 0; drawn < 2; drawn++) {
        int32_t start = 0;
        while (start <= pen->count) {
            uint16_t *line = pen->codes + start;
            int32_t most = pen->count - start, fits = -1, at;
            for (at = 0; at <= most; at++) {
                int ends = at == most || line[at] == '\n';
                if (ends || (line[at] == ' ' && entry->flags & INKJOULE_WRAP)) {
                    if (fits >= 0 && entry->flags & INKJOULE_WRAP && width(pen, line, at) > room) {
                        break;
                    }
                    fits = at;
                }
                if (ends) {
                    break;
                }
            }
            start += fits + 1;
            if (drawn) {
                if (entry->flags & INKJOULE_ELLIPSIS && width(pen, line, fits) > room) {
                    for (;; fits--) {
                        for (; fits && line[fits - 1] == ' '; fits--) {
                        }
                        line[fits] = DOTS;
                        if (!fits || width(pen, line, fits + 1) <= room) {
                            break;
                        }
                    }
                    fits++;
                }
                at = share(room - width(pen, line, fits), entry->align);
                set(pen, line, fits, entry->x + entry->start + at, y, 1);
            }
            y += pen->face->pitch;
        }
        if (!drawn) {
            y = entry->y + entry->rise + share(entry->spread - y, entry->vertical);
        }
    }
}

int inkjoule_shown(const struct inkjoule_screen *screen, const struct inkjoule_entry *entry,
                   const struct inkjoule_value *values)
{
    uint32_t at;
    for (at = 0; at < entry->checks; at++) {
        const struct inkjoule_check *check = screen->checks + entry->first_check + at;
        int32_t number = values[check->field].number, other = values[check->other].number;
        int64_t mine = (int64_t)number * check->scale;
        int64_t limit = check->other_scale ? (int64_t)other * check->other_scale : check->limit;
        int found = mine < limit ? INKJOULE_BELOW : mine > limit ? INKJOULE_ABOVE : INKJOULE_EQUAL;
        if (!(check->test & found) || number == INKJOULE_UNKNOWN || (check->other_scale && other == INKJOULE_UNKNOWN)) {
            return 0;
        }
    }
    return 1;
}

void inkjoule_draw_entry(const struct inkjoule_canvas *canvas, const struct inkjoule_screen *screen,
                         const struct inkjoule_entry *entry)
{
    struct pen pen;
    pen.canvas = canvas;
    pen.entry = entry;
    pen.count = 0;
    if (entry->kind == INKJOULE_RUN) {
        pen.face = canvas->faces[entry->face];
        run(&pen, screen);
    } else if (entry->kind != INKJOULE_OWN) {
        stamp(&pen, entry->kind == INKJOULE_FILL ? 0 : screen->bits + entry->first_byte, entry->x, entry->y, entry->width,
              entry->height);
    }
}

int inkjoule_draw(const struct inkjoule_canvas *canvas, const struct inkjoule_screen *screen)
{
    uint32_t stride = canvas->packing->stride, size = stride * canvas->lines;
    const struct inkjoule_entry *entry = screen->entries, *last = entry + screen->entry_count;
    if (inkjoule_unpack(screen->codec, screen->background, screen->background_size, stride * canvas->first_line,
                        canvas->bytes, size) != size) {
        return 0;
    }
    for (; entry < last; entry++) {
        if (inkjoule_shown(screen, entry, canvas->values)) {
            inkjoule_draw_entry(canvas, screen, entry);
        }
    }
    return 1;
}
