/* inkjoule_unpack: decodes the blobs that inkjoule compresses, any part of them, forwards, with no memory of its own.
   MIT OR Apache-2.0. */
#ifndef INKJOULE_UNPACK_H
#define INKJOULE_UNPACK_H

#include <stdint.h>

#ifdef __cplusplus
extern "C" {
#endif

/* How a blob is stored. */
enum { INKJOULE_PLAIN, INKJOULE_RUNS, INKJOULE_POOL };

/* Decodes bytes [skip, skip + size) of a blob into out and returns how many there were: fewer than size where the blob
   ends before or is damaged. Reads nothing beyond stored_size and writes nothing beyond size. */
uint32_t inkjoule_unpack(uint8_t codec, const uint8_t *stored, uint32_t stored_size, uint32_t skip, uint8_t *out,
                         uint32_t size);

#ifdef __cplusplus
}
#endif

#endif
