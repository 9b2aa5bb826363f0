/* See inkjoule_unpack.h. MIT OR Apache-2.0.

   Every token says how many bytes it gives and where they come from: as many different bytes, or one byte again and
   again.
     runs: n < 128: the n + 1 bytes that follow; else the byte that follows, n - 125 times.
     pool: two bytes with the length of the tokens, low byte first; tokens; pool. n < 64: the next n + 1 bytes of the pool;
           n < 128: the next byte of the pool, n - 61 times; else n - 124 bytes of the pool from the position in the two
           bytes that follow, low byte first. */
#include "inkjoule_unpack.h"

uint32_t inkjoule_unpack(uint8_t codec, const uint8_t *stored, uint32_t stored_size, uint32_t skip, uint8_t *out,
                         uint32_t size)
{
    uint32_t at = 0, tokens = stored_size, next = 0, done = 0;
    if (codec == INKJOULE_POOL) {
        if (stored_size < 2) {
            return 0;
        }
        tokens = 2u + stored[0] + ((uint32_t)stored[1] << 8);
        if (tokens > stored_size) {
            return 0;
        }
        at = 2;
        next = tokens;
    }
    while (done < size && at < tokens) {
        uint32_t token = stored[at], from, count, one = 0;
        if (codec == INKJOULE_PLAIN) {
            from = at;
            count = tokens - at;
            at = tokens;
        } else if (codec == INKJOULE_RUNS) {
            one = token >= 128;
            from = at + 1;
            count = one ? token - 125 : token + 1;
            at = from + (one ? 1 : count);
        } else if (token < 128) {
            one = token >= 64;
            from = next;
            count = one ? token - 61 : token + 1;
            next += one ? 1 : count;
            at++;
        } else {
            if (tokens - at < 3) {
                break;
            }
            from = tokens + stored[at + 1] + ((uint32_t)stored[at + 2] << 8);
            count = token - 124;
            at += 3;
        }
        if (from >= stored_size || (!one && count > stored_size - from)) {
            break;
        }
        if (skip >= count) {
            skip -= count;
            continue;
        }
        for (; skip < count && done < size; skip++) {
            out[done++] = stored[one ? from : from + skip];
        }
        skip = 0;
    }
    return done;
}
