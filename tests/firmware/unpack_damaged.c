/* Decodes damaged blobs from standard input: codec, skip, size, length (two bytes, low first), bytes. Blobs and output lie
   in allocations of exactly their size. Writes how many bytes came out, and the bytes. */
#include "inkjoule_unpack.h"
#include <stdio.h>
#include <stdlib.h>

static unsigned two(void)
{
    unsigned low = (unsigned)getchar();
    return low | (unsigned)getchar() << 8;
}

int main(void)
{
    int codec;
    while ((codec = getchar()) != EOF) {
        unsigned skip = two(), size = two(), length = two(), at, done;
        uint8_t *stored = (uint8_t *)malloc(length ? length : 1), *out = (uint8_t *)malloc(size ? size : 1);
        if (!stored || !out) {
            return 1;
        }
        for (at = 0; at < length; at++) {
            stored[at] = (uint8_t)getchar();
        }
        done = inkjoule_unpack((uint8_t)codec, stored, length, skip, out, size);
        if (done > size) {
            return 2;
        }
        putchar((int)(done & 255));
        putchar((int)(done >> 8));
        fwrite(out, 1, done, stdout);
        free(stored);
        free(out);
    }
    return 0;
}
