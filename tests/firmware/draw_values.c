/* Reads cases from standard input and draws each whole and in bands; writes both pictures to standard output.
   A case: the screen, the lines of a band, then for each field its number (four bytes, low first), the length of its text
   and the text. The buffers are allocated as small as they may be, so that a sanitizer sees every step outside. */
#include "screens_live.h"
#include <stdio.h>
#include <stdlib.h>

static int byte(void)
{
    return getchar();
}

static void show(const uint8_t *bytes, unsigned size)
{
    if (fwrite(bytes, 1, size, stdout) != size) {
        exit(3);
    }
}

int main(void)
{
    const struct inkjoule_packing *packing = &screens_live_packing;
    struct inkjoule_value values[SCREENS_LIVE_FIELDS];
    char texts[SCREENS_LIVE_FIELDS][256];
    int screen;
    while ((screen = byte()) != EOF) {
        unsigned band = (unsigned)byte(), field, first, at;
        struct inkjoule_canvas canvas;
        for (field = 0; field < SCREENS_LIVE_FIELDS; field++) {
            uint32_t number = 0;
            unsigned length;
            for (at = 0; at < 4; at++) {
                number |= (uint32_t)byte() << (8 * at);
            }
            length = (unsigned)byte();
            for (at = 0; at < length; at++) {
                texts[field][at] = (char)byte();
            }
            texts[field][length] = 0;
            values[field].number = (int32_t)number;
            values[field].text = texts[field];
        }
        canvas.packing = packing;
        canvas.faces = screens_live_faces;
        canvas.values = values;
        for (first = 0; first < packing->lines; first += canvas.lines) {
            canvas.first_line = 0;
            canvas.lines = packing->lines;
            if (first == 0) {
                canvas.bytes = (uint8_t *)malloc((size_t)packing->stride * canvas.lines);
                if (!canvas.bytes || !inkjoule_draw(&canvas, &screens_live_screens[screen])) {
                    return 1;
                }
                show(canvas.bytes, (unsigned)packing->stride * canvas.lines);
                free(canvas.bytes);
            }
            canvas.first_line = (uint16_t)first;
            canvas.lines = (uint16_t)(packing->lines - first < band ? packing->lines - first : band);
            canvas.bytes = (uint8_t *)malloc((size_t)packing->stride * canvas.lines);
            if (!canvas.bytes || !inkjoule_draw(&canvas, &screens_live_screens[screen])) {
                return 2;
            }
            show(canvas.bytes, (unsigned)packing->stride * canvas.lines);
            free(canvas.bytes);
        }
    }
    return 0;
}
