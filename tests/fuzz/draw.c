/* Drawing in C under libFuzzer, with the tables of an export: damaged tables are found by their seal and are not drawn; with
   sound ones, whatever the fields, the past, screens, layers, locale and lines are, nothing outside the strip is touched.
   Built with INK_MEMO, so that the same is drawn in strips with a memo of any size, and must be the same picture. */
#include "screens_live.h"
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length);

struct input {
    const uint8_t *data;
    size_t left;
};

static uint32_t get(struct input *input, int bytes)
{
    uint32_t number = 0;
    int at;
    for (at = 0; at < bytes && input->left; at++) {
        number |= (uint32_t)*input->data++ << 8 * at;
        input->left--;
    }
    return number;
}

/* A copy of exactly its size, so that the sanitizers see every step outside. */
static uint8_t *copy(const uint8_t *bytes, size_t size)
{
    uint8_t *to = malloc(size ? size : 1);
    if (!to) {
        abort();
    }
    memcpy(to, bytes, size);
    return to;
}

/* Damages a copy of the tables; the seal must see it. */
static void damage(struct input *input)
{
    struct ink_design design = screens_live_design;
    struct ink_seal seal = screens_live_seal;
    const uint8_t **tables[INK_TABLES] = { &design.screens, &design.code,       &design.code_pairs,
                                           &design.texts,   &design.text_pairs, &design.bits };
    uint8_t *copies[INK_TABLES];
    uint32_t table, times, changed = 0;
    seal.design = &design;
    for (table = 0; table < INK_TABLES; table++) {
        *tables[table] = copies[table] = copy(*tables[table], seal.sizes[table]);
    }
    for (times = 1 + get(input, 1) % 8; times; times--) {
        uint8_t *at = copies[table = get(input, 1) % INK_TABLES];
        at += get(input, 2) % seal.sizes[table];
        *at = (uint8_t)(*at ^ get(input, 1));
    }
    for (table = 0; table < INK_TABLES; table++) {
        const uint8_t *const of[INK_TABLES] = { screens_live_design.screens,    screens_live_design.code,
                                                screens_live_design.code_pairs, screens_live_design.texts,
                                                screens_live_design.text_pairs, screens_live_design.bits };
        changed |= memcmp(copies[table], of[table], seal.sizes[table]) != 0;
    }
    if (ink_sound(&seal) == (int)changed) {
        abort();
    }
    for (table = 0; table < INK_TABLES; table++) {
        free(copies[table]);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length)
{
    struct input input;
    struct ink_layer layers[6];
    struct ink_view view;
    struct ink_memo memo;
    int32_t known[SCREENS_LIVE_FIELDS];
    uint8_t *past, *strip, *again, layer;
    uint16_t *cells, first, lines, size;
    uint32_t at;
    input.data = data;
    input.left = length;
    if (get(&input, 1) & 1) {
        damage(&input);
        return 0;
    }
    view.layers = layers;
    view.layer_count = (uint8_t)(get(&input, 1) % 7);
    view.locale = (uint8_t)get(&input, 1);
    first = (uint16_t)(get(&input, 2) % (SCREENS_LIVE_LINES + 1));
    lines = (uint16_t)(get(&input, 2) % (SCREENS_LIVE_LINES + 1u - first));
    size = (uint16_t)(get(&input, 2) % 1200);
    past = malloc(SCREENS_LIVE_PAST + 1);
    strip = malloc((size_t)lines * SCREENS_LIVE_STRIDE + 1);
    again = malloc((size_t)lines * SCREENS_LIVE_STRIDE + 1);
    cells = malloc(2u * size + 2);
    if (!past || !strip || !again || !cells) {
        abort();
    }
    for (layer = 0; layer < 6; layer++) {
        layers[layer].screen = (uint16_t)(get(&input, 1) % (SCREENS_LIVE_SCREENS + 2));
        layers[layer].values = known;
        layers[layer].past = past;
    }
    for (at = 0; at < SCREENS_LIVE_PAST; at++) {
        past[at] = (uint8_t)get(&input, 1);
    }
    for (at = 0; at < SCREENS_LIVE_FIELDS; at++) {
        uint8_t kind = (uint8_t)get(&input, 1);
        known[at] = kind < 200 ? kind - 20 : kind < 220 ? INK_UNKNOWN : (int32_t)get(&input, 4);
    }
    ink_draw(&screens_live_design, &view, strip, first, lines);
    ink_memo_make(&memo, &screens_live_design, &view, cells, size);
    for (at = 0; at < lines; at += 16) {
        uint16_t some = (uint16_t)(lines - at < 16 ? lines - at : 16);
        ink_memo_draw(&memo, again + at * SCREENS_LIVE_STRIDE, (uint16_t)(first + at), some);
    }
    if (memcmp(strip, again, (size_t)lines * SCREENS_LIVE_STRIDE)) {
        abort();
    }
    free(past);
    free(strip);
    free(again);
    free(cells);
    return 0;
}
