/* What a device shows and holds, and what reactions do to it; no time passes here. MIT OR Apache-2.0. */
#include "ink_inside.h"

/* No design has so many. */
#define INK_NO_SCREEN 0xFFFFFFFFu

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

#if INK_COMPARES
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

#endif

static int holds_one(const struct ink_machine *machine, struct ink_reader *reader)
{
    uint32_t test = ink_number(reader);
    int32_t value = ink_value(machine, ink_number(reader)), other;
    int relation;
#if INK_COMPARES
    if (test > 3) {
        int32_t decimals;
        other = ink_value(machine, ink_number(reader));
        decimals = ink_signed(reader);
        decimals = decimals > 9 ? 9 : decimals < -9 ? -9 : decimals;
        relation = decimals > 0 ? -order(other, value, decimals) : order(value, other, -decimals);
        test -= 3;
    } else
#endif
    {
        other = ink_signed(reader);
        relation = value < other ? -1 : value > other;
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

/* A field's value to the nearest whole number, as the reader tells the field and its decimals; 0 where it is not known. */
static int32_t whole(const struct ink_machine *machine, struct ink_reader *reader)
{
    int32_t value = ink_value(machine, ink_number(reader));
    uint32_t decimals = ink_number(reader), one = 1, size = value < 0 ? 0u - (uint32_t)value : (uint32_t)value;
    for (; decimals && one < 1000000000u; decimals--) {
        one *= 10;
    }
    size = value == INK_UNKNOWN ? 0 : (size + one / 2) / one;
    return value < 0 ? -(int32_t)size : (int32_t)size;
}

/* One of so many choices: the nearest one. */
static uint32_t choice(int32_t value, uint32_t count)
{
    return value < 0 || !count ? 0 : (uint32_t)value < count ? (uint32_t)value : count - 1;
}

/* What is added: the amount times the factor in thousandths, halves away from zero, in the digit named. */
static INK_APART int64_t product(int32_t amount INK_TIMES_TAKEN, uint32_t digit)
{
    uint64_t size = amount < 0 ? 0u - (uint64_t)amount : (uint64_t)amount;
#if INK_FASTER
    if (times != INK_ONCE) {
        uint64_t rest;
        size = ink_divide(size * times + 500u, 1000u, &rest);
    }
#endif
    for (; digit; digit--) {
        size *= 10u;
    }
    if (size >> 62) {
        size = (uint64_t)1 << 62;
    }
    return amount < 0 ? -(int64_t)size : (int64_t)size;
}

#if INK_UNITS
/* More steps than these lead from any value to an end. */
#define STEPS ((int64_t)1 << 32)

/* To the nearest whole number, halves away from zero. */
static int64_t quotient(int64_t number, int64_t by)
{
    uint64_t rest, size = number < 0 ? 0u - (uint64_t)number : (uint64_t)number;
    size = ink_divide(size + (uint64_t)(by / 2), (uint64_t)by, &rest);
    return number < 0 ? -(int64_t)size : (int64_t)size;
}

static int64_t term(struct ink_reader *reader, uint32_t most)
{
    uint32_t number = ink_number(reader) & most;
    return number ? (int64_t)number : 1;
}

/* The value after a change in the unit of the moment; `step` is what one step of the unit is of it. */
static INK_APART int64_t moved(const struct ink_machine *machine, struct ink_reader *reader, int32_t now INK_TIMES_TAKEN,
                     uint32_t digit, uint32_t *step, int *converted)
{
    int32_t by = whole(machine, reader), amount;
    uint32_t at, count = ink_count(reader), chosen = choice(by, count), own = 1;
    struct ink_reader found = *reader;
    int64_t multiply, divide, offset, added;
    for (at = 0; at < count; at++) {
        uint32_t bytes = ink_count(reader);
        if (at == chosen) {
            found = *reader;
        }
        reader->at += bytes;
    }
    own = ink_number(&found);
    amount = ink_signed(&found);
    multiply = term(&found, 0xFFFFFFFu);
    divide = term(&found, 0x3FFFFFFFu);
    offset = ink_signed(&found);
    added = product(amount INK_TIMES(times), digit);
    added = added > STEPS ? STEPS : added < -STEPS ? -STEPS : added;
    *step = divide > multiply ? (uint32_t)divide / (uint32_t)multiply : 1;
    *converted = !own;
    if (own) {
        return now + quotient(added * divide, multiply);
    }
    return quotient((quotient(now * multiply + offset, divide) + added) * divide - offset, multiply);
}
#endif

static int32_t wrapped(int64_t wanted, int32_t low, int32_t high, uint32_t step)
{
    uint64_t span = (uint64_t)((int64_t)high - low) + step, rest;
    if (wanted >= low) {
        (void)ink_divide((uint64_t)(wanted - low), span, &rest);
    } else {
        (void)ink_divide((uint64_t)(low - wanted), span, &rest);
        rest = rest ? span - rest : 0;
    }
    wanted = low + (int64_t)rest;
    return wanted < high ? (int32_t)wanted : high;
}

#if INK_WITHIN
/* The highest position of what exists. */
static int32_t last_of(int32_t exist, uint32_t decimals, int32_t low, int32_t high)
{
    int64_t most = exist > 1 ? exist - 1 : 0;
    for (; decimals && most < high; decimals--) {
        most *= 10;
    }
    most = most < high ? most : high;
    return most > low ? (int32_t)most : low;
}

void ink_keep_within(struct ink_machine *machine, uint32_t changed)
{
    struct ink_reader reader = ink_reader_at(&machine->rules, ink_word(&machine->rules, INK_WITHIN_AT));
    uint32_t count;
    for (count = ink_count(&reader); count; count--) {
        struct ink_reader of = reader;
        uint32_t counting = ink_number(&of), field, decimals;
        int32_t exist = whole(machine, &reader), low, high;
        field = ink_number(&reader);
        decimals = ink_number(&reader);
        low = ink_signed(&reader);
        high = last_of(exist, decimals, low, ink_signed(&reader));
        if (counting == changed && ink_value(machine, field) > high) {
            ink_put(machine, field, high);
        }
    }
}

#endif

/* The box that opens because the value would leave its range, and 1; 0 for none. */
static INK_APART uint32_t change(struct ink_machine *machine, struct ink_reader *reader INK_TIMES_TAKEN)
{
    uint32_t how = ink_number(reader), field = ink_number(reader), digit = 0, box = 0, step = 1;
    int32_t now = ink_value(machine, field), low, high;
    int64_t wanted, outside;
    int converted = 0;
    if ((how & 3u) == 2) {
        digit = choice(whole(machine, reader), 10);
    }
    low = ink_signed(reader);
    high = ink_signed(reader);
    if (high < low) {
        high = low;
    }
#if INK_OPENS
    if (how & 8u) {
        box = ink_number(reader) + 1u;
    }
#endif
#if INK_WITHIN
    if (how & 16u) {
        int32_t exist = whole(machine, reader);
        high = last_of(exist, ink_number(reader), low, high);
    }
#endif
    if ((how & 3u) == 1) {
        wanted = ink_signed(reader);
        how = 0;
        box = 0;
    } else {
#if INK_UNITS
        wanted = how & 32u ? moved(machine, reader, now INK_TIMES(times), digit, &step, &converted)
                           : now + product(ink_signed(reader) INK_TIMES(times), digit);
#else
        wanted = now + product(ink_signed(reader) INK_TIMES(times), digit);
#endif
        if (now == INK_UNKNOWN) {
            ink_keep_within(machine, field);
            return 0;
        }
    }
    outside = wanted < low ? low - wanted : wanted > high ? wanted - high : 0;
    if (outside > (converted ? 1 : 0)) {
        if (box) {
            return box;
        }
        if (how & 4u) {
            ink_put(machine, field, wrapped(wanted, low, high, step));
            ink_keep_within(machine, field);
            return 0;
        }
    }
    ink_put(machine, field, (int32_t)(wanted < low ? low : wanted > high ? high : wanted));
    ink_keep_within(machine, field);
    return 0;
}

#if INK_PICKS
/* Of several changes the one that a field chooses. */
static uint32_t pick(struct ink_machine *machine, struct ink_reader *reader INK_TIMES_TAKEN)
{
    int32_t by = whole(machine, reader);
    uint32_t at, count = ink_count(reader), chosen = choice(by, count);
    struct ink_reader found = *reader;
    for (at = 0; at < count; at++) {
        uint32_t bytes = ink_count(reader);
        if (at == chosen) {
            found = *reader;
        }
        reader->at += bytes;
    }
    if (!count || ink_number(&found)) {
        return 0;
    }
    return change(machine, &found INK_TIMES(times));
}
#endif

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

#if INK_FLOW_STATES
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
#endif

static void show(struct ink_machine *machine, uint16_t screen)
{
#if INK_FLOW_STATES
    uint32_t event;
    recall(machine, INK_BEFORE, machine->scene.screen);
    for (event = 0; event < machine->events; event++) {
        struct ink_reader reader = ink_event_rule(machine, event);
        uint32_t field = ink_number(&reader);
        if (field) {
            ink_put(machine, field - 1, 0);
        }
    }
#endif
    machine->scene.box_count = 0;
    machine->scene.frozen = 0;
    machine->scene.screen = screen;
    ink_show_front(machine);
    (void)ink_start_recent(machine, INK_AFTER_SCREEN, screen);
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
    uint8_t at;
#if INK_FROZEN
    uint8_t flags = ink_screen_flags(&machine->rules, screen), frozen = 0;
#endif
    for (at = 0; at < scene->box_count; at++) {
        if (scene->boxes[at] == screen) {
            return 0;
        }
#if INK_FROZEN
        frozen = (uint8_t)(frozen + (scene->frozen >> at & 1));
#endif
    }
    if (at == machine->box_limit || screen >= ink_word(&machine->rules, INK_SCREENS) || screen > 0xFFFEu) {
        return 0;
    }
#if INK_FROZEN
    if (flags & 2u && frozen == machine->frozen_limit) {
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
#endif
    scene->boxes[at] = (uint16_t)screen;
    scene->box_count++;
    ink_save(machine);
    ink_show_front(machine);
    (void)ink_start_recent(machine, INK_AFTER_SCREEN, screen);
    return INK_FRONTED;
}

static int close_box(struct ink_machine *machine)
{
    struct ink_scene *scene = &machine->scene;
    int closed = scene->box_count ? INK_FRONTED : 0;
    if (closed) {
        scene->box_count--;
#if INK_FROZEN
        scene->frozen = (uint8_t)(scene->frozen & ~(1u << scene->box_count));
#endif
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

/* The screen at a field's value; an impossible one where there are none. */
static uint32_t screen_by(const struct ink_machine *machine, struct ink_reader *reader)
{
    int32_t value = whole(machine, reader);
    uint32_t at, count = ink_count(reader), screen = INK_NO_SCREEN, wanted = value < 0 ? 0 : (uint32_t)value;
    for (at = 0; at < count; at++) {
        uint32_t listed = ink_number(reader);
        if (at <= wanted) {
            screen = listed;
        }
    }
    return screen;
}

/* Does one action. `ends` is set where the reaction ends with it; with `stays` it leads nowhere. */
static int act(struct ink_machine *machine, struct ink_reader *reader INK_TIMES_TAKEN, int stays, int *ends)
{
    uint32_t box = 0, screen = INK_NO_SCREEN;
    int32_t rows = 1;
    switch (ink_number(reader)) {
    case 0:
        box = change(machine, reader INK_TIMES(times));
        break;
    case 1:
        screen = ink_number(reader);
        return stays ? 0 : go(machine, screen);
    case 8:
        rows = whole(machine, reader);
        screen = screen_by(machine, reader);
        return stays || rows < 1 ? 0 : go(machine, screen);
    case 2:
        screen = screen_by(machine, reader);
        return stays ? 0 : go(machine, screen);
    case 3:
        return stays ? 0 : back(machine);
    case 4:
        screen = ink_number(reader);
        return stays ? 0 : open_box(machine, screen);
    case 5:
        return stays ? 0 : close_box(machine);
    case 6:
        if (!stays) {
            edits(machine, 1);
        }
        return 0;
#if INK_PICKS
    case 7:
        box = pick(machine, reader INK_TIMES(times));
        break;
#endif
    default:
        return 0;
    }
    if (!box) {
        return 0;
    }
    *ends = 1;
    return stays ? 0 : open_box(machine, box - 1u);
}

int ink_react(struct ink_machine *machine, uint32_t reaction INK_TIMES_TAKEN, int stays)
{
    struct ink_reader reader = ink_reader_at(&machine->rules, reaction);
    uint32_t count, body;
    int did = INK_DID, ends = 0;
    if (!reaction || reaction >= machine->rules.size) {
        return 0;
    }
    for (count = ink_count(&reader); count; count--) {
        body = ink_count(&reader);
        body += reader.at;
        if (ink_hold(machine, &reader)) {
            for (count = ink_count(&reader); count && !ends; count--) {
                did |= act(machine, &reader INK_TIMES(times), stays, &ends);
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
            return ink_react(machine, reaction INK_TIMES(INK_ONCE), 0);
        }
    }
    return -1;
}

int ink_happen(struct ink_machine *machine, uint32_t event)
{
#if INK_FLOW_STATES
    struct ink_reader reader = ink_event_rule(machine, event);
    uint32_t field = ink_number(&reader);
#endif
    uint8_t at = machine->scene.box_count;
#if INK_FLOW_STATES
    if (field) {
        ink_put(machine, field - 1, 1);
    }
#endif
    (void)ink_start_recent(machine, INK_AFTER_EVENT, event);
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
