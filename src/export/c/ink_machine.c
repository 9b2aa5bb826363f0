/* A machine's begin, what comes in from outside, and the next wake-up; see ink_machine.h. MIT OR Apache-2.0. */
#include "ink_inside.h"

static uint32_t at_most(uint32_t number, uint32_t limit)
{
    return number < limit ? number : limit;
}

/* Sizes of the state, and what the header says of it. */
void ink_size(struct ink_machine *machine, const INK_FLASH struct ink_rules *given)
{
    const struct ink_rules *rules = &machine->rules;
    uint8_t keys, boxes, frozen;
    uint32_t timers;
    machine->rules = *given;
    keys = ink_byte(rules, INK_AT_KEYS);
    boxes = ink_byte(rules, INK_AT_BOXES);
    frozen = ink_byte(rules, INK_AT_FROZEN);
    timers = ink_word(rules, INK_TIMERS);
    machine->fields = ink_word(rules, INK_FIELDS);
    machine->block = machine->fields + (ink_word(rules, INK_PAST) + 3) / 4;
    /* Each takes its bytes in the rules, so that damaged ones do not make long work. */
    machine->events = at_most(ink_word(rules, INK_EVENTS), rules->size / 3);
    machine->beat_count = at_most(ink_word(rules, INK_BEATS), rules->size / 3);
    machine->timer_limit = at_most(timers, 0xFFFFu);
    machine->recent_count = at_most(ink_word(rules, INK_RECENT), rules->size / 5);
    machine->saved_screen = ink_word(rules, INK_SAVED_SCREEN);
    machine->saved_box = ink_word(rules, INK_SAVED_BOX);
    machine->keys = keys < 16 ? keys : (uint8_t)16;
    machine->box_limit = boxes < INK_BOXES ? boxes : (uint8_t)INK_BOXES;
    machine->frozen_limit = frozen < INK_BOXES ? frozen : (uint8_t)INK_BOXES;
}

static uint32_t waiting_limit(const struct ink_machine *machine)
{
    return INK_WAITING + (uint32_t)machine->keys;
}

static uint32_t state_cells(const struct ink_machine *machine)
{
    return machine->block * (1u + machine->frozen_limit) + machine->fields + machine->saved_screen +
           machine->saved_box * machine->box_limit + (machine->events + 31) / 32 * 2 +
           2 * (machine->beat_count + machine->timer_limit + machine->recent_count) + INK_KEY_CELLS * (uint32_t)machine->keys +
           waiting_limit(machine);
}

uint32_t ink_cells(const INK_FLASH struct ink_rules *rules)
{
    struct ink_machine machine;
    ink_size(&machine, rules);
    return state_cells(&machine);
}

int ink_init(struct ink_machine *machine, const INK_FLASH struct ink_design *design,
             const INK_FLASH struct ink_rules *given, int32_t *cells, uint32_t count)
{
    const struct ink_rules *rules = &machine->rules;
    struct ink_reader reader;
    uint32_t at;
    ink_size(machine, given);
    if (ink_byte(rules, INK_AT_VERSION) != INK_VERSION || count < state_cells(machine) ||
        ink_word(rules, INK_PAST) != design->past_size || machine->fields != design->field_count ||
        ink_word(rules, INK_SCREENS) != design->screen_count) {
        return 0;
    }
    reader = ink_reader_at(rules, ink_word(rules, INK_FIELDS_AT));
    for (at = 0; at < count; at++) {
        cells[at] = 0;
    }
    machine->design = design;
    machine->scene.values = cells;
    cells += machine->block;
    machine->scene.below = cells;
    cells += machine->block * machine->frozen_limit;
    machine->fresh = cells;
    cells += machine->fields;
    machine->saved = cells;
    cells += machine->saved_screen + machine->saved_box * machine->box_limit;
    machine->held = cells;
    cells += (machine->events + 31) / 32 * 2;
    machine->beats = cells;
    cells += 2 * machine->beat_count;
    machine->timers = cells;
    cells += 2 * machine->timer_limit;
    machine->recent = cells;
    cells += 2 * machine->recent_count;
    machine->down = cells;
    machine->waiting = cells + INK_KEY_CELLS * machine->keys;
    machine->scene.screen = (uint16_t)ink_word(rules, INK_HOME);
    machine->scene.box_count = machine->scene.frozen = machine->scene.locale = 0;
    machine->now = machine->busy_until = 0;
    machine->last_refresh = machine->last_full = INK_NEVER;
    machine->partials = 0;
    machine->back_count = machine->entered = machine->timer_count = machine->waiting_first = machine->waiting_count = 0;
    machine->stale = machine->full_awaited = machine->sending = 0;
    for (at = 0; at < machine->fields; at++) {
        ink_preset(machine, (uint16_t)at, ink_number(&reader) ? ink_signed(&reader) : INK_UNKNOWN);
    }
    ink_past_clear(design, (uint8_t *)(machine->scene.values + machine->fields));
    return 1;
}

void ink_preset(struct ink_machine *machine, uint16_t field, int32_t number)
{
    ink_put(machine, field, number);
    ink_measured(machine, field, number);
}

void ink_measured(struct ink_machine *machine, uint16_t field, int32_t number)
{
    if (field < machine->fields) {
        machine->fresh[field] = number;
    }
}

void ink_begin(struct ink_machine *machine, ink_time now)
{
    struct ink_beat beat;
    struct ink_reader reader = ink_reader_at(&machine->rules, ink_word(&machine->rules, INK_BEATS_AT));
    uint64_t rest;
    uint32_t at;
    machine->now = machine->busy_until = now;
#if INK_TIMES_AFTER
    for (at = 0; at < machine->recent_count; at++) {
        ink_put_time(machine->recent + 2 * at, INK_NEVER);
    }
#endif
    for (at = 0; at < machine->beat_count; at++) {
        ink_read_beat(machine, &reader, &beat);
        (void)ink_divide(now, beat.interval, &rest);
        ink_put_time(machine->beats + 2 * at, ink_later(now, beat.interval - rest));
    }
    ink_show_front(machine);
    (void)ink_start_recent(machine, INK_AFTER_SCREEN, machine->scene.screen);
    ink_save(machine);
    /* What holds already is known. */
    (void)ink_rose(machine);
    ink_start_timers(machine, 1);
    machine->stale = 1;
    machine->entered = (uint16_t)(machine->scene.screen + 1);
}

int ink_wanted(const struct ink_machine *machine, ink_time now, uint16_t field)
{
    struct ink_reader reader = ink_reader_at(&machine->rules, ink_word(&machine->rules, INK_BEATS_AT));
    struct ink_beat beat;
    uint32_t at;
    for (at = 0; at < machine->beat_count; at++) {
        ink_read_beat(machine, &reader, &beat);
        if (beat.renews && beat.event == field && ink_get_time(machine->beats + 2 * at) <= now) {
            return 1;
        }
    }
    return 0;
}

static void set_now(struct ink_machine *machine, ink_time now)
{
    if (now > machine->now) {
        machine->now = now;
    }
}

/* A key that waits: its number and whether it goes down in the lowest bits, above them when that was. */
static int32_t waiting_key(ink_time made, uint8_t key, int down)
{
    return (int32_t)((uint32_t)(made & 0x7FFFFFFu) << 5 | (uint32_t)(down != 0) << 4 | key);
}

int ink_waits(const struct ink_machine *machine, uint8_t key)
{
    uint32_t at, limit = waiting_limit(machine);
    for (at = 0; at < machine->waiting_count; at++) {
        if (((uint32_t)machine->waiting[(machine->waiting_first + at) % limit] & 31u) == key) {
            return 1;
        }
    }
    return 0;
}

int ink_key(struct ink_machine *machine, ink_time now, uint8_t key, int down)
{
    uint32_t limit = waiting_limit(machine);
    int drops;
    set_now(machine, now);
    if (key >= machine->keys) {
        return INK_NOTHING;
    }
    drops = (ink_byte(&machine->rules, INK_AT_POLICY) & 1u) || machine->waiting_count >= INK_WAITING;
    if (machine->now < machine->busy_until || machine->waiting_count) {
        if (drops && down) {
            return INK_DROPPED;
        }
        if (drops && (!(machine->down[INK_KEY_CELLS * key + INK_KEY_STATE] & INK_DOWN) || ink_waits(machine, key))) {
            return INK_NOTHING;
        }
        if (!drops || machine->waiting_count) {
            if (machine->waiting_count >= limit) {
                return INK_DROPPED;
            }
            machine->waiting[(machine->waiting_first + machine->waiting_count) % limit] =
                waiting_key(machine->now, key, down);
            machine->waiting_count++;
            return INK_QUEUED;
        }
    }
    return ink_carry_out(machine, machine->now, key, down) ? INK_ACTED : INK_NOTHING;
}

int ink_event(struct ink_machine *machine, ink_time now, uint16_t event)
{
    struct ink_reader reader = ink_event_rule(machine, event);
    if (machine->sending || event >= machine->events) {
        return 0;
    }
    set_now(machine, now);
    (void)ink_number(&reader);
    if (!ink_hold(machine, &reader)) {
        return 0;
    }
    ink_event_now(machine, event);
    ink_rise(machine);
    return 1;
}

int ink_arrived(struct ink_machine *machine, ink_time now, uint16_t field, int32_t number)
{
    if (machine->sending || field >= machine->fields) {
        return 0;
    }
    set_now(machine, now);
    if (ink_value(machine, field) != number) {
        ink_put(machine, field, number);
        ink_past_add(machine->design, (uint8_t *)(machine->scene.values + machine->fields), field, number);
        ink_keep_within(machine, field);
        if (!machine->stale) {
            machine->stale = 1;
        }
        ink_rise(machine);
    }
    return 1;
}

void ink_locale(struct ink_machine *machine, uint8_t locale)
{
    uint32_t field = ink_word(&machine->rules, INK_LANGUAGE);
    if (field) {
        ink_put(machine, field - 1, locale);
    }
    machine->scene.locale = locale;
}

void ink_busy(struct ink_machine *machine, ink_time until)
{
    machine->busy_until = until;
}

/* The interval that a policy states, or the age of a full refresh. */
static ink_time policy(const struct ink_machine *machine, int age)
{
    struct ink_reader reader = ink_reader_at(&machine->rules, ink_word(&machine->rules, INK_POLICY_AT));
    ink_time interval;
    (void)ink_number(&reader);
    interval = ink_duration(&reader);
    return age ? ink_duration(&reader) : interval;
}

int ink_full_due(const struct ink_machine *machine, ink_time *due)
{
    if (!machine->full_awaited || machine->last_full == INK_NEVER) {
        return 0;
    }
    *due = ink_later(machine->last_full, policy(machine, 1));
    return 1;
}

/* Until when an update that only the device caused keeps its distance from the refresh before. */
static ink_time distant(const struct ink_machine *machine)
{
    if (machine->stale != 1 || machine->entered || machine->last_refresh == INK_NEVER) {
        return 0;
    }
    return ink_later(machine->last_refresh, policy(machine, 0));
}

ink_time ink_wake(const struct ink_machine *machine)
{
    uint8_t key;
    int hold;
    ink_time first = ink_stays(machine, &key, &hold), time;
    uint32_t at;
    for (at = 0; at < machine->beat_count; at++) {
        time = ink_get_time(machine->beats + 2 * at);
        first = time < first ? time : first;
    }
    for (at = 0; at < machine->timer_count; at++) {
        time = ink_get_time(machine->timers + 2 * at);
        first = time < first ? time : first;
    }
#if INK_TIMES_AFTER
    for (at = 0; at < machine->recent_count; at++) {
        time = ink_get_time(machine->recent + 2 * at);
        first = time < first ? time : first;
    }
#endif
    if (ink_full_due(machine, &time)) {
        time = time > machine->busy_until ? time : machine->busy_until;
        first = time < first ? time : first;
    }
    if (machine->waiting_count || machine->stale) {
        time = machine->waiting_count ? 0 : distant(machine);
        time = time > machine->busy_until ? time : machine->busy_until;
        first = time < first ? time : first;
    }
    return first > machine->now ? first : machine->now;
}

int ink_look(struct ink_machine *machine, uint16_t *entered)
{
    while (machine->waiting_count) {
        uint32_t waiting = (uint32_t)machine->waiting[machine->waiting_first];
        ink_time made = machine->now - (((machine->now & 0x7FFFFFFu) - (waiting >> 5)) & 0x7FFFFFFu);
        machine->waiting_first = (uint16_t)((machine->waiting_first + 1u) % waiting_limit(machine));
        machine->waiting_count--;
        (void)ink_carry_out(machine, made, (uint8_t)(waiting & 15u), (waiting & 16u) != 0);
    }
    if (!machine->stale || machine->now < distant(machine)) {
        return 0;
    }
    machine->stale = 0;
    *entered = machine->entered;
    machine->entered = 0;
    return 1;
}
