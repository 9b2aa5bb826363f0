/* What a device shows and holds, and what reactions do to it; no time passes here. MIT OR Apache-2.0. */
#include "ink_inside.h"

int32_t ink_value(const struct ink_machine *machine, uint32_t field)
{
    return field < machine->fields ? machine->scene.values[field] : INK_UNKNOWN;
}

void ink_put(struct ink_machine *machine, uint32_t field, int32_t number)
{
    if (field < machine->fields) {
        machine->scene.values[field] = number;
    }
}

uint16_t ink_front(const struct ink_scene *scene)
{
    return scene->box_count ? scene->boxes[scene->box_count - 1] : scene->screen;
}

/* Whether a number is below (-1), at (0) or above (1) another one that counts so many decimals fewer. */
static int order(int32_t number, int32_t other, int32_t decimals)
{
    int32_t unit = 1, share, rest;
    for (; decimals > 0 && unit < 1000000000; decimals--) {
        unit *= 10;
    }
    share = number / unit;
    rest = number % unit;
    if (rest < 0) {
        share--;
        rest += unit;
    }
    return share < other ? -1 : share > other || rest ? 1 : 0;
}

static int holds_one(const struct ink_machine *machine, struct ink_reader *reader)
{
    uint32_t test = ink_number(reader);
    int32_t value = ink_value(machine, ink_number(reader)), other;
    int relation;
    if (test > 3) {
        int32_t decimals;
        other = ink_value(machine, ink_number(reader));
        decimals = ink_signed(reader);
        decimals = decimals > 9 ? 9 : decimals < -9 ? -9 : decimals;
        relation = decimals > 0 ? -order(other, value, decimals) : order(value, other, -decimals);
        test -= 3;
    } else {
        other = ink_signed(reader);
        relation = order(value, other, 0);
    }
    if (value == INK_UNKNOWN || other == INK_UNKNOWN) {
        return 0;
    }
    return test == 1 ? relation < 0 : test == 2 ? relation >= 0 : test == 3 && !relation;
}

int ink_hold(const struct ink_machine *machine, struct ink_reader *reader)
{
    uint32_t count = ink_count(reader);
    int holds = 1;
    for (; count; count--) {
        holds &= holds_one(machine, reader);
    }
    return holds;
}

/* What is added: the amount times the factor in thousandths, halves away from zero, in the digit named. */
static int64_t product(int32_t amount, uint32_t times, uint32_t digit)
{
    uint64_t rest, size = amount < 0 ? 0u - (uint64_t)amount : (uint64_t)amount;
    if (times != INK_ONCE) {
        size = ink_divide(size * times + 500u, 1000u, &rest);
    }
    for (; digit; digit--) {
        size *= 10u;
    }
    if (size >> 62) {
        size = (uint64_t)1 << 62;
    }
    return amount < 0 ? -(int64_t)size : (int64_t)size;
}

static int32_t within(int64_t wanted, int32_t low, int32_t high, int wrap)
{
    uint64_t span = (uint64_t)((int64_t)high - low) + 1u, rest;
    if (wanted >= low && wanted <= high) {
        return (int32_t)wanted;
    }
    if (!wrap) {
        return wanted < low ? low : high;
    }
    if (wanted >= low) {
        (void)ink_divide((uint64_t)(wanted - low), span, &rest);
    } else {
        (void)ink_divide((uint64_t)(low - wanted), span, &rest);
        rest = rest ? span - rest : 0;
    }
    return (int32_t)(low + (int64_t)rest);
}

static void change(struct ink_machine *machine, struct ink_reader *reader, uint32_t times)
{
    uint32_t how = ink_number(reader), field = ink_number(reader), digit = 0;
    int32_t amount = ink_signed(reader), now = ink_value(machine, field), low, high;
    int64_t wanted;
    if ((how & 3u) == 2) {
        int32_t place = ink_value(machine, ink_number(reader));
        digit = place < 0 ? 0 : place > 9 ? 9 : (uint32_t)place;
    }
    low = ink_signed(reader);
    high = ink_signed(reader);
    if (high < low) {
        high = low;
    }
    if ((how & 3u) == 1) {
        wanted = amount;
        how = 0;
    } else if (now == INK_UNKNOWN) {
        return;
    } else {
        wanted = now + product(amount, times, digit);
    }
    ink_put(machine, field, within(wanted, low, high, (how & 4u) != 0));
}

/* Where the edited fields of what is in front are kept. */
static int32_t *saved(const struct ink_machine *machine, uint32_t *limit)
{
    uint32_t boxes = machine->scene.box_count;
    *limit = boxes ? machine->saved_box : machine->saved_screen;
    return machine->saved + (boxes ? machine->saved_screen + (boxes - 1) * machine->saved_box : 0);
}

static void edits(struct ink_machine *machine, int restore)
{
    struct ink_reader reader = ink_part(machine, ink_front(&machine->scene), INK_EDITS);
    uint32_t limit, at, count = ink_count(&reader);
    int32_t *kept = saved(machine, &limit);
    for (at = 0; at < count && at < limit; at++) {
        uint32_t field = ink_number(&reader);
        if (restore) {
            ink_put(machine, field, kept[at]);
        } else {
            kept[at] = ink_value(machine, field);
        }
    }
}

void ink_save(struct ink_machine *machine)
{
    edits(machine, 0);
}

/* Sets the flow state that a word of the header names. */
static void recall(struct ink_machine *machine, uint8_t word, int32_t number)
{
    uint32_t field = ink_word(&machine->rules, word);
    if (field) {
        ink_put(machine, field - 1, number);
    }
}

void ink_show_front(struct ink_machine *machine)
{
    recall(machine, INK_FRONT, ink_front(&machine->scene));
}

static void show(struct ink_machine *machine, uint16_t screen)
{
    uint32_t event;
    recall(machine, INK_BEFORE, machine->scene.screen);
    for (event = 0; event < machine->events; event++) {
        struct ink_reader reader = ink_event_rule(machine, event);
        uint32_t field = ink_number(&reader);
        if (field) {
            ink_put(machine, field - 1, 0);
        }
    }
    machine->scene.box_count = 0;
    machine->scene.frozen = 0;
    machine->scene.screen = screen;
    ink_show_front(machine);
    ink_save(machine);
}

/* Enters a screen; the one shown is remembered, unless the way already leads there. */
static int go(struct ink_machine *machine, uint32_t screen)
{
    uint16_t at = 0;
    if (screen >= ink_word(&machine->rules, INK_SCREENS) || screen > 0xFFFEu) {
        return 0;
    }
    while (at < machine->back_count && machine->back[at] != screen) {
        at++;
    }
    if (at < machine->back_count) {
        machine->back_count = at;
    } else if (machine->scene.screen != screen) {
        if (machine->back_count == INK_BACK) {
            for (at = 1; at < INK_BACK; at++) {
                machine->back[at - 1] = machine->back[at];
            }
            machine->back_count--;
        }
        machine->back[machine->back_count++] = machine->scene.screen;
    }
    show(machine, (uint16_t)screen);
    return INK_ENTERED | INK_FRONTED;
}

static int open_box(struct ink_machine *machine, uint32_t screen)
{
    struct ink_scene *scene = &machine->scene;
    uint8_t at, flags, frozen = 0;
    for (at = 0; at < scene->box_count; at++) {
        if (scene->boxes[at] == screen) {
            return 0;
        }
        frozen = (uint8_t)(frozen + (scene->frozen >> at & 1));
    }
    flags = ink_screen_flags(&machine->rules, screen);
    if (at == machine->box_limit || screen >= ink_word(&machine->rules, INK_SCREENS) || screen > 0xFFFEu ||
        (flags & 2u && frozen == machine->frozen_limit)) {
        return 0;
    }
    if (flags & 2u) {
        int32_t *kept = scene->below + frozen * machine->block;
        uint32_t cell;
        for (cell = 0; cell < machine->block; cell++) {
            kept[cell] = scene->values[cell];
        }
        scene->frozen = (uint8_t)(scene->frozen | 1u << at);
    }
    scene->boxes[at] = (uint16_t)screen;
    scene->box_count++;
    ink_save(machine);
    ink_show_front(machine);
    return INK_FRONTED;
}

static int close_box(struct ink_machine *machine)
{
    struct ink_scene *scene = &machine->scene;
    int closed = scene->box_count ? INK_FRONTED : 0;
    if (closed) {
        scene->box_count--;
        scene->frozen = (uint8_t)(scene->frozen & ~(1u << scene->box_count));
    }
    ink_show_front(machine);
    return closed;
}

static int back(struct ink_machine *machine)
{
    if (machine->scene.box_count) {
        return close_box(machine);
    }
    if (!machine->back_count) {
        return 0;
    }
    show(machine, machine->back[--machine->back_count]);
    return INK_ENTERED | INK_FRONTED;
}

/* The screen at a field's value. */
static int go_by(struct ink_machine *machine, struct ink_reader *reader)
{
    int32_t value = ink_value(machine, ink_number(reader));
    uint32_t at, count = ink_count(reader), screen = 0, wanted = value < 0 ? 0 : (uint32_t)value;
    for (at = 0; at < count; at++) {
        uint32_t listed = ink_number(reader);
        if (at <= wanted) {
            screen = listed;
        }
    }
    return count ? go(machine, screen) : 0;
}

static int act(struct ink_machine *machine, struct ink_reader *reader, uint32_t times)
{
    switch (ink_number(reader)) {
    case 0:
        change(machine, reader, times);
        return 0;
    case 1:
        return go(machine, ink_number(reader));
    case 2:
        return go_by(machine, reader);
    case 3:
        return back(machine);
    case 4:
        return open_box(machine, ink_number(reader));
    case 5:
        return close_box(machine);
    case 6:
        edits(machine, 1);
        return 0;
    default:
        return 0;
    }
}

int ink_react(struct ink_machine *machine, uint32_t reaction, uint32_t times)
{
    struct ink_reader reader = ink_reader_at(&machine->rules, reaction);
    uint32_t count, body;
    int did = INK_DID;
    if (!reaction || reaction >= machine->rules.size) {
        return 0;
    }
    for (count = ink_count(&reader); count; count--) {
        body = ink_count(&reader);
        body += reader.at;
        if (ink_hold(machine, &reader)) {
            for (count = ink_count(&reader); count; count--) {
                did |= act(machine, &reader, times);
            }
            return did;
        }
        reader.at = body;
    }
    return 0;
}

/* The reaction of a screen to an event; a negative answer where it has none. */
static int react_on(struct ink_machine *machine, uint32_t screen, uint32_t event)
{
    struct ink_reader reader = ink_part(machine, screen, INK_EVENT_RULES);
    uint32_t count = ink_count(&reader);
    for (; count; count--) {
        uint32_t of = ink_number(&reader), reaction = ink_number(&reader);
        if (of == event) {
            return ink_react(machine, reaction, INK_ONCE);
        }
    }
    return -1;
}

int ink_happen(struct ink_machine *machine, uint32_t event)
{
    struct ink_reader reader = ink_event_rule(machine, event);
    uint32_t field = ink_number(&reader);
    uint8_t at = machine->scene.box_count;
    if (field) {
        ink_put(machine, field - 1, 1);
    }
    for (;; at--) {
        int did = react_on(machine, at ? machine->scene.boxes[at - 1] : machine->scene.screen, event);
        if (did >= 0 || !at) {
            return did < 0 ? 0 : did;
        }
    }
}

int ink_rose(struct ink_machine *machine)
{
    uint32_t event, words = (machine->events + 31) / 32;
    int rose = 0;
    for (event = 0; event < machine->events; event++) {
        struct ink_reader reader = ink_event_rule(machine, event);
        int32_t *held = machine->held + event / 32, *risen = held + words;
        uint32_t bit = (uint32_t)1 << event % 32;
        int holds;
        (void)ink_number(&reader);
        holds = ink_hold(machine, &reader);
        holds = ink_number(&reader) && holds_one(machine, &reader) && holds;
        *risen = (int32_t)((uint32_t)*risen & ~bit);
        if (holds && !((uint32_t)*held & bit)) {
            *risen = (int32_t)((uint32_t)*risen | bit);
            rose = 1;
        }
        *held = (int32_t)(holds ? (uint32_t)*held | bit : (uint32_t)*held & ~bit);
    }
    return rose;
}
