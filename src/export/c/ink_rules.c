/* Reads rules; see ink_inside.h. MIT OR Apache-2.0. */
#include "ink_inside.h"

uint8_t ink_byte(const struct ink_rules *rules, uint32_t at)
{
    return at < rules->size ? rules->bytes[at] : (uint8_t)0;
}

uint32_t ink_word_at(const struct ink_rules *rules, uint32_t at)
{
    return ink_byte(rules, at) | (uint32_t)ink_byte(rules, at + 1) << 8 |
           (uint32_t)ink_byte(rules, at + 2) << 16;
}

uint32_t ink_word(const struct ink_rules *rules, uint8_t word)
{
    return ink_word_at(rules, INK_FLAGS + 3u * word);
}

struct ink_reader ink_reader_at(const struct ink_rules *rules, uint32_t at)
{
    struct ink_reader reader;
    reader.rules = rules;
    reader.at = at;
    return reader;
}

uint32_t ink_number(struct ink_reader *reader)
{
    uint32_t number = 0;
    uint8_t shift = 0, byte;
    do {
        byte = ink_byte(reader->rules, reader->at);
        if (reader->at < reader->rules->size) {
            reader->at++;
        }
        number |= (uint32_t)(byte & 127u) << shift;
        shift = (uint8_t)(shift + 7);
    } while (byte & 128u && shift < 35);
    return number;
}

int32_t ink_signed(struct ink_reader *reader)
{
    uint32_t number = ink_number(reader);
    int32_t half = (int32_t)(number >> 1);
    return number & 1u ? -half - 1 : half;
}

ink_time ink_duration(struct ink_reader *reader)
{
    ink_time seconds = ink_number(reader);
    return seconds * 1000u + ink_number(reader);
}

uint32_t ink_count(struct ink_reader *reader)
{
    uint32_t count = ink_number(reader), left = reader->rules->size - reader->at;
    return count < left ? count : left;
}

uint8_t ink_screen_flags(const struct ink_rules *rules, uint32_t screen)
{
    struct ink_reader reader;
    if (screen >= ink_word(rules, INK_SCREENS)) {
        return 0;
    }
    reader = ink_reader_at(rules, ink_word_at(rules, ink_word(rules, INK_SCREENS_AT) + 3 * screen));
    return (uint8_t)ink_number(&reader);
}

void ink_read_key(struct ink_reader *reader, struct ink_key_rule *rule)
{
    uint32_t flags = ink_number(reader);
    rule->press = flags & 1u ? ink_number(reader) : 0;
#if INK_RELEASES
    rule->release = flags & 2u ? ink_number(reader) : 0;
#endif
    rule->holds = (flags & 4u) != 0;
    rule->hold_after = rule->holds ? ink_duration(reader) : 0;
    rule->hold = rule->holds ? ink_number(reader) : 0;
    rule->repeats = (flags & 8u) != 0;
    rule->repeat_after = rule->repeats ? ink_duration(reader) : 0;
    rule->repeat_every = rule->repeats ? ink_duration(reader) : 0;
    if (!rule->repeat_every) {
        rule->repeat_every = 1;
    }
#if INK_FASTER
    rule->faster_from = flags & 16u ? ink_number(reader) : 0xFFFFFFFFu;
    rule->faster = flags & 16u ? ink_number(reader) : INK_ONCE;
#endif
}

struct ink_reader ink_part(const struct ink_machine *machine, uint32_t screen, uint8_t part)
{
    const struct ink_rules *rules = &machine->rules;
    struct ink_key_rule rule;
    struct ink_reader reader;
    uint32_t count;
    uint8_t key;
    if (screen >= ink_word(rules, INK_SCREENS)) {
        return ink_reader_at(rules, rules->size);
    }
    reader = ink_reader_at(rules, ink_word_at(rules, ink_word(rules, INK_SCREENS_AT) + 3 * screen));
    if (reader.at > rules->size) {
        reader.at = rules->size;
    }
    (void)ink_number(&reader);
    if (part > INK_EDITS) {
        for (count = ink_count(&reader); count; count--) {
            (void)ink_number(&reader);
        }
    }
    for (key = 0; part > INK_KEY_RULES && key < machine->keys; key++) {
        ink_read_key(&reader, &rule);
    }
    if (part > INK_TIMER_RULES) {
        for (count = ink_count(&reader); count; count--) {
            (void)ink_number(&reader);
            (void)ink_duration(&reader);
            (void)ink_number(&reader);
        }
    }
    return reader;
}

void ink_skip_condition(struct ink_reader *reader)
{
    uint32_t test = ink_number(reader);
    (void)ink_number(reader);
#if INK_COMPARES
    if (test > 3) {
        (void)ink_number(reader);
    }
#else
    (void)test;
#endif
    (void)ink_number(reader);
}

struct ink_reader ink_event_rule(const struct ink_machine *machine, uint32_t event)
{
    const struct ink_rules *rules = &machine->rules;
    uint32_t at = rules->size;
    if (event < machine->events) {
        uint32_t place = ink_word_at(rules, ink_word(rules, INK_EVENTS_AT) + 3 * event);
        at = place < at ? place : at;
    }
    return ink_reader_at(rules, at);
}

uint64_t ink_divide(uint64_t number, uint64_t by, uint64_t *rest)
{
    uint64_t share = 0, left = 0;
    uint8_t bit = 64;
    while (bit--) {
        left = left << 1 | (number >> bit & 1u);
        share <<= 1;
        if (left >= by) {
            left -= by;
            share |= 1u;
        }
    }
    *rest = left;
    return share;
}

ink_time ink_later(ink_time time, ink_time wait)
{
    return time + wait < time ? INK_NEVER : time + wait;
}

ink_time ink_get_time(const int32_t *cells)
{
    return (ink_time)(uint32_t)cells[1] << 32 | (uint32_t)cells[0];
}

void ink_put_time(int32_t *cells, ink_time time)
{
    cells[0] = (int32_t)(uint32_t)(time & 0xFFFFFFFFu);
    cells[1] = (int32_t)(uint32_t)(time >> 32);
}
