/* Reads cases from standard input and draws each whole, in strips, and in strips with a memo; writes the three pictures to
   standard output.
   A case: the locale, the lines of a strip, how many layers; for each layer its screen, each field's value (four bytes, low
   first), then each ring's samples (the same), oldest first. Buffers are allocated as small as they may be, so that a
   sanitizer sees every step outside. */
#include "ink_draw.h"
#include <stdio.h>
#include <stdlib.h>

#define LAYERS 4

extern const struct ink_design screens_live_design;

static int32_t number(void)
{
    uint32_t number = 0;
    unsigned at;
    for (at = 0; at < 4; at++) {
        number |= (uint32_t)getchar() << (8 * at);
    }
    return (int32_t)number;
}

static void *room(size_t size)
{
    void *bytes = malloc(size ? size : 1);
    if (!bytes) {
        exit(2);
    }
    return bytes;
}

static void draw(const struct ink_view *view, uint16_t first, uint16_t lines)
{
    size_t size = (size_t)screens_live_design.packing.stride * lines;
    uint8_t *strip = (uint8_t *)room(size);
    ink_draw(&screens_live_design, view, strip, first, lines);
    if (fwrite(strip, 1, size, stdout) != size) {
        exit(3);
    }
    free(strip);
}

/* A memo with room for everything, for some of it, or for nothing. */
static void draw_remembered(const struct ink_view *view, unsigned strip, unsigned case_of)
{
    static const uint16_t sizes[] = { 3000, 3000, 400, 90, 0 };
    uint16_t cells_of = sizes[case_of % 5];
    uint16_t *cells = (uint16_t *)room(sizeof(uint16_t) * cells_of);
    struct ink_memo memo;
    unsigned first;
    ink_memo_make(&memo, &screens_live_design, view, cells, cells_of);
    for (first = 0; first < screens_live_design.packing.lines; first += strip) {
        unsigned left = screens_live_design.packing.lines - first, lines = left < strip ? left : strip;
        size_t size = (size_t)screens_live_design.packing.stride * lines;
        uint8_t *bytes = (uint8_t *)room(size);
        ink_memo_draw(&memo, bytes, (uint16_t)first, (uint16_t)lines);
        if (fwrite(bytes, 1, size, stdout) != size) {
            exit(3);
        }
        free(bytes);
    }
    free(cells);
}

int main(void)
{
    const struct ink_design *design = &screens_live_design;
    struct ink_layer layers[LAYERS];
    struct ink_view view;
    unsigned case_of = 0;
    int locale;
    while ((locale = getchar()) != EOF) {
        unsigned strip = (unsigned)getchar(), layer, field, at, first;
        view.layers = layers;
        view.locale = (uint8_t)locale;
        view.layer_count = (uint8_t)getchar();
        for (layer = 0; layer < view.layer_count; layer++) {
            int32_t *values = (int32_t *)room(sizeof(int32_t) * design->field_count);
            uint8_t *past = (uint8_t *)room(design->past_size);
            layers[layer].screen = (uint16_t)getchar();
            for (field = 0; field < design->field_count; field++) {
                values[field] = number();
            }
            ink_past_clear(design, past);
            for (field = 0; field < design->ring_count; field++) {
                for (at = 0; at < design->rings[field].samples; at++) {
                    ink_past_add(design, past, design->rings[field].field, number());
                }
            }
            layers[layer].values = values;
            layers[layer].past = past;
        }
        draw(&view, 0, design->packing.lines);
        for (first = 0; first < design->packing.lines; first += strip) {
            unsigned left = design->packing.lines - first;
            draw(&view, (uint16_t)first, (uint16_t)(left < strip ? left : strip));
        }
        draw_remembered(&view, strip, case_of++);
        for (layer = 0; layer < view.layer_count; layer++) {
            free((void *)(uintptr_t)layers[layer].values);
            free((void *)(uintptr_t)layers[layer].past);
        }
    }
    return 0;
}
