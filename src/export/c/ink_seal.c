/* Whether the tables of a design are as they were exported; see ink_draw.h. MIT OR Apache-2.0. */
#include "ink_draw.h"

/* The check sum of Ethernet and of ITU-T V.42: the polynomial 0x04C11DB7, the lowest bit first. */
static uint32_t sum_of(uint32_t sum, uint8_t byte)
{
    uint8_t bit;
    sum ^= byte;
    for (bit = 0; bit < 8; bit++) {
        sum = sum & 1 ? sum >> 1 ^ 0xEDB88320u : sum >> 1;
    }
    return sum;
}

static uint32_t sum_of_number(uint32_t sum, uint16_t number)
{
    return sum_of(sum_of(sum, (uint8_t)number), (uint8_t)(number >> 8));
}

int ink_sound(const INK_FLASH struct ink_seal *seal)
{
    const INK_FLASH struct ink_design *design = seal->design;
    uint32_t sum = 0xFFFFFFFFu, at;
    uint16_t ring;
    uint8_t table;
    for (table = 0; table < INK_TABLES; table++) {
        const INK_FLASH uint8_t *bytes = table == 0   ? design->screens
                                         : table == 1 ? design->code
                                         : table == 2 ? design->code_pairs
                                         : table == 3 ? design->texts
                                         : table == 4 ? design->text_pairs
                                                      : design->bits;
        for (at = 0; at < seal->sizes[table]; at++) {
            sum = sum_of(sum, bytes[at]);
        }
    }
    for (ring = 0; ring < design->ring_count; ring++) {
        sum = sum_of_number(sum, design->rings[ring].field);
        sum = sum_of_number(sum, design->rings[ring].samples);
        sum = sum_of_number(sum, design->rings[ring].first);
        sum = sum_of(sum, design->rings[ring].wide);
    }
    return (sum ^ 0xFFFFFFFFu) == seal->sum;
}
