/* Part of ink_draw.c, which includes it: values as the machine keeps them, in as many bytes as a field needs; see ink_draw.h.
   MIT OR Apache-2.0. */

#if INK_NARROW
/* Where each field stands: first those of one byte, then those of two, then those of four. */
static const INK_FLASH INK_FIELD_PLACE value_places[] = { INK_FIELD_PLACES };

/* The bit above the highest number of a field at a place. */
static INK_APART uint32_t sign_at(int32_t at)
{
    return at < INK_ONE_BYTE ? 0x80 : at < INK_TWO_BYTES ? 0x8000 : 0x80000000;
}

uint32_t ink_kept_at(uint32_t field)
{
    return value_places[field];
}

int32_t ink_get(const int32_t *values, uint32_t field)
{
    int32_t at = value_places[field];
    const uint8_t *bytes = (const uint8_t *)values + at;
    uint32_t number_kept = 0, sign = sign_at(at), left = sign;
    uint8_t shift = 0;
    for (; left; left >>= 8, shift = (uint8_t)(shift + 8)) {
        number_kept |= (uint32_t)*bytes++ << shift;
    }
    return number_kept == sign ? INK_UNKNOWN : (int32_t)((number_kept ^ sign) - sign);
}

void ink_put(int32_t *values, uint32_t field, int32_t number_now)
{
    int32_t at = value_places[field], most;
    uint8_t *bytes = (uint8_t *)values + at;
    uint32_t left = sign_at(at), rest;
    most = (int32_t)(left - 1);
    if (number_now == INK_UNKNOWN) {
        number_now = -most - 1;
    } else {
        number_now = number_now > most ? most : number_now < -most ? -most : number_now;
    }
    for (rest = (uint32_t)number_now; left; left >>= 8, rest >>= 8) {
        *bytes++ = (uint8_t)rest;
    }
}
#endif
