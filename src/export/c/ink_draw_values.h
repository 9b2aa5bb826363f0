/* Part of ink_draw.c, which includes it: values as the machine keeps them, in as many bytes as a field needs; see ink_draw.h.
   MIT OR Apache-2.0. */

#if INK_NARROW
/* Where each field stands: first those of one byte, then those of two, then those of four. */
static const INK_FLASH INK_FIELD_PLACE value_places[] = { INK_FIELD_PLACES };

/* The highest number of a field at a place. */
static INK_APART int32_t most_at(int32_t at)
{
    return at < INK_ONE_BYTE ? 0x7F : at < INK_TWO_BYTES ? 0x7FFF : 0x7FFFFFFF;
}

int32_t ink_get(const int32_t *values, uint32_t field)
{
    int32_t at = value_places[field];
    const uint8_t *bytes = (const uint8_t *)values + at;
    uint32_t number_kept = bytes[0], sign = (uint32_t)most_at(at) + 1;
    if (at >= INK_ONE_BYTE) {
        number_kept |= (uint32_t)bytes[1] << 8;
    }
    if (at >= INK_TWO_BYTES) {
        number_kept |= (uint32_t)bytes[2] << 16 | (uint32_t)bytes[3] << 24;
    }
    return number_kept == sign ? INK_UNKNOWN : (int32_t)((number_kept ^ sign) - sign);
}

void ink_put(int32_t *values, uint32_t field, int32_t number_now)
{
    int32_t at = value_places[field], most = most_at(at);
    uint8_t *bytes = (uint8_t *)values + at;
    if (number_now == INK_UNKNOWN) {
        number_now = -most - 1;
    } else {
        number_now = number_now > most ? most : number_now < -most ? -most : number_now;
    }
    bytes[0] = (uint8_t)number_now;
    if (at >= INK_ONE_BYTE) {
        bytes[1] = (uint8_t)((uint32_t)number_now >> 8);
    }
    if (at >= INK_TWO_BYTES) {
        bytes[2] = (uint8_t)((uint32_t)number_now >> 16);
        bytes[3] = (uint8_t)((uint32_t)number_now >> 24);
    }
}
#endif
