/* The decoder in C under libFuzzer: the first byte chooses the codec, two bytes each (low first) tell how much to decode
   and where a part of it begins, the rest is the blob. Blob and output lie in allocations of exactly their size, so that
   the sanitizers see every step outside, and any part must be what it is in the whole. */
#include "inkjoule_unpack.h"
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length)
{
    if (length < 5) {
        return 0;
    }
    uint8_t codec = data[0] % 3;
    uint32_t size = data[1] | (uint32_t)(data[2] & 31) << 8, skip = data[3] | (uint32_t)(data[4] & 31) << 8;
    uint32_t stored_size = (uint32_t)(length - 5);
    uint8_t *stored = malloc(stored_size ? stored_size : 1), *whole = malloc(size ? size : 1);
    if (!stored || !whole) {
        abort();
    }
    memcpy(stored, data + 5, stored_size);
    uint32_t done = inkjoule_unpack(codec, stored, stored_size, 0, whole, size);
    if (done > size) {
        abort();
    }
    if (skip <= done) {
        uint32_t rest = done - skip;
        uint8_t *part = malloc(rest ? rest : 1);
        if (!part || inkjoule_unpack(codec, stored, stored_size, skip, part, rest) != rest ||
            memcmp(part, whole + skip, rest)) {
            abort();
        }
        free(part);
    }
    free(whole);
    free(stored);
    return 0;
}
