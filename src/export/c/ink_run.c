/* Carries out keys, timers, events and what is renewed at intervals, in the order of equal times. MIT OR Apache-2.0. */
#include "ink_inside.h"

/* The frame may be out of date; a person counts before the device itself. */
static void mark(struct ink_machine *machine, uint8_t by)
{
    if (machine->stale < by) {
        machine->stale = by;
    }
}

/* Starts the timers of the front: all on its entry, those that count from the last press on a press. */
void ink_start_timers(struct ink_machine *machine, int entry)
{
    struct ink_reader reader = ink_part(machine, ink_front(&machine->scene), INK_TIMER_RULES);
    uint32_t at, count = ink_count(&reader);
    if (count > machine->timer_limit) {
        count = machine->timer_limit;
    }
    for (at = 0; at < count; at++) {
        uint32_t since_entry = ink_number(&reader);
        ink_time wait = ink_duration(&reader);
        (void)ink_number(&reader);
        if (entry || !since_entry) {
            ink_put_time(machine->timers + 2 * at, ink_later(machine->now, wait ? wait : 1));
        }
    }
    if (entry) {
        machine->timer_count = (uint16_t)count;
    }
}

static void follow(struct ink_machine *machine, int did, int pressed)
{
    if (did & INK_ENTERED) {
        machine->entered = (uint16_t)(machine->scene.screen + 1);
    }
    if (did & INK_FRONTED) {
        uint8_t key;
        for (key = 0; key < machine->keys; key++) {
            machine->down[INK_KEY_CELLS * key + INK_KEY_STATE] |= INK_OF_ANOTHER;
        }
        ink_start_timers(machine, 1);
    } else if (pressed && did) {
        ink_start_timers(machine, 0);
    }
}

/* Renews the field that the reader stands at. */
static void renew(struct ink_machine *machine, struct ink_reader *reader)
{
    uint32_t field = ink_number(reader), flags = ink_number(reader);
    uint64_t rest;
    int32_t number;
    if (field >= machine->fields) {
        return;
    }
    number = flags & 1u ? (int32_t)(ink_divide(machine->now, 1000u, &rest) & 0x7FFFFFFFu) : machine->fresh[field];
    ink_put(machine, field, number);
    ink_keep_within(machine, field);
    if (flags & 2u) {
        ink_past_add(machine->design, (uint8_t *)(machine->scene.values + machine->fields), (uint16_t)field, number);
    }
}

void ink_event_now(struct ink_machine *machine, uint32_t event)
{
    struct ink_reader reader = ink_event_rule(machine, event);
    uint32_t count;
    (void)ink_number(&reader);
    (void)ink_hold(machine, &reader);
    if (ink_number(&reader)) {
        ink_skip_condition(&reader);
    }
    for (count = ink_count(&reader); count; count--) {
        renew(machine, &reader);
    }
    mark(machine, 1);
    follow(machine, ink_happen(machine, event), 0);
}

/* Events whose condition became true; each may make others true, so there is a bound. */
void ink_rise(struct ink_machine *machine)
{
    uint32_t round, event, words = (machine->events + 31) / 32;
    for (round = 0; round <= machine->events && ink_rose(machine); round++) {
        for (event = 0; event < machine->events; event++) {
            if ((uint32_t)machine->held[words + event / 32] >> event % 32 & 1u) {
                ink_event_now(machine, event);
            }
        }
    }
}

#if INK_TIMES_AFTER
int ink_start_recent(struct ink_machine *machine, uint32_t cause, uint32_t number)
{
    struct ink_reader reader = ink_reader_at(&machine->rules, ink_word(&machine->rules, INK_RECENT_AT));
    uint32_t at;
    int begins = 0;
    for (at = 0; at < machine->recent_count; at++) {
        uint32_t after = ink_number(&reader), which = ink_number(&reader);
        ink_time lasts = ink_duration(&reader);
        uint32_t field = ink_number(&reader);
        if ((after == cause && which == number) || (after == INK_AFTER_ANY_KEY && cause == INK_AFTER_KEY)) {
            ink_put(machine, field, 1);
            ink_put_time(machine->recent + 2 * at, ink_later(machine->now, lasts ? lasts : 1));
            begins = 1;
        }
    }
    return begins;
}

/* Times after something that are over. */
static void end_recent(struct ink_machine *machine)
{
    struct ink_reader reader = ink_reader_at(&machine->rules, ink_word(&machine->rules, INK_RECENT_AT));
    uint32_t at;
    int over = 0;
    for (at = 0; at < machine->recent_count; at++) {
        uint32_t field;
        ink_time ends = ink_get_time(machine->recent + 2 * at);
        (void)ink_number(&reader);
        (void)ink_number(&reader);
        (void)ink_duration(&reader);
        field = ink_number(&reader);
        if (ends != INK_NEVER && ends <= machine->now) {
            ink_put_time(machine->recent + 2 * at, INK_NEVER);
            ink_put(machine, field, 0);
            over = 1;
        }
    }
    if (over) {
        ink_rise(machine);
    }
}
#endif

static int answer(struct ink_machine *machine, uint8_t key, int did)
{
    if (did) {
        (void)ink_start_recent(machine, INK_AFTER_KEY, key);
        mark(machine, 2);
    }
    follow(machine, did, 1);
    if (did) {
        ink_rise(machine);
    }
    return did != 0;
}

static int press(struct ink_machine *machine, uint8_t key, uint32_t reaction INK_TIMES_TAKEN)
{
    return answer(machine, key, ink_react(machine, reaction INK_TIMES(times), 0));
}

static void key_rule(const struct ink_machine *machine, uint32_t screen, uint8_t key, struct ink_key_rule *rule)
{
    struct ink_reader reader = ink_part(machine, screen, INK_KEY_RULES);
    uint8_t at;
    for (at = 0; at <= key; at++) {
        ink_read_key(&reader, rule);
    }
}

int ink_carry_out(struct ink_machine *machine, ink_time made, uint8_t key, int down)
{
    struct ink_key_rule rule;
    int32_t *cells = machine->down + INK_KEY_CELLS * key, state = cells[INK_KEY_STATE];
    int acted = 0;
    if (down) {
        uint16_t front;
        if (state & INK_DOWN) {
            /* It was let go before, unseen. */
            (void)ink_carry_out(machine, made, key, 0);
        }
        front = ink_front(&machine->scene);
        key_rule(machine, front, key, &rule);
        ink_put_time(cells, made);
        cells[INK_KEY_REPEATS] = 0;
        cells[INK_KEY_STATE] = (int32_t)((uint32_t)front << INK_KEY_FRONT | INK_DOWN);
#if INK_TIMES_AFTER
        acted = ink_start_recent(machine, INK_AFTER_KEY, key);
        if (!rule.holds && press(machine, key, rule.press INK_TIMES(INK_ONCE))) {
            return 1;
        }
        if (acted) {
            ink_rise(machine);
        }
        return 0;
#else
        return !rule.holds && press(machine, key, rule.press INK_TIMES(INK_ONCE));
#endif
    }
    cells[INK_KEY_STATE] = 0;
    if (!(state & INK_DOWN)) {
        return 0;
    }
    key_rule(machine, (uint32_t)state >> INK_KEY_FRONT, key, &rule);
    if (state & INK_OF_ANOTHER) {
#if INK_RELEASES
        return answer(machine, key, ink_react(machine, rule.release INK_TIMES(INK_ONCE), 1));
#else
        return 0;
#endif
    }
    if (rule.holds && !(state & INK_HELD)) {
        /* A key that waited for the panel may have been held long enough meanwhile. */
        int enough = made >= ink_later(ink_get_time(cells), rule.hold_after);
        acted = press(machine, key, enough ? rule.hold : rule.press INK_TIMES(INK_ONCE));
    }
#if INK_RELEASES
    if (rule.release) {
        acted |= press(machine, key, rule.release INK_TIMES(INK_ONCE));
    }
#endif
    return acted;
}

/* The key that does something next by staying down: when, which, whether by its hold. */
ink_time ink_stays(const struct ink_machine *machine, uint8_t *key, int *hold)
{
    ink_time first = INK_NEVER;
    uint8_t at;
    for (at = 0; at < machine->keys; at++) {
        const int32_t *cells = machine->down + INK_KEY_CELLS * at;
        struct ink_key_rule rule;
        ink_time since, time = INK_NEVER, again;
        int by_hold = 0;
        if ((cells[INK_KEY_STATE] & (INK_DOWN | INK_OF_ANOTHER)) != INK_DOWN || ink_waits(machine, at)) {
            continue;
        }
        key_rule(machine, ink_front(&machine->scene), at, &rule);
        since = ink_get_time(cells);
        if (rule.holds && !(cells[INK_KEY_STATE] & INK_HELD)) {
            time = ink_later(since, rule.hold_after);
            by_hold = 1;
        }
        if (rule.repeats) {
            again = ink_later(ink_later(since, rule.repeat_after), (uint32_t)cells[INK_KEY_REPEATS] * rule.repeat_every);
            if (again < time) {
                time = again;
                by_hold = 0;
            }
        }
        if (time != INK_NEVER && time < machine->busy_until) {
            time = machine->busy_until;
        }
        if (time < first) {
            first = time;
            *key = at;
            *hold = by_hold;
        }
    }
    return first;
}

static void stay(struct ink_machine *machine, uint8_t key, int hold)
{
    struct ink_key_rule rule;
    int32_t *cells = machine->down + INK_KEY_CELLS * key;
    uint32_t repeats = (uint32_t)cells[INK_KEY_REPEATS] + 1;
    ink_time begun, missed;
    uint64_t rest;
    key_rule(machine, ink_front(&machine->scene), key, &rule);
    if (hold) {
        cells[INK_KEY_STATE] |= INK_HELD;
        (void)press(machine, key, rule.hold INK_TIMES(INK_ONCE));
        return;
    }
    begun = ink_later(ink_get_time(cells), rule.repeat_after);
    /* Repetitions that fell into a refresh are not made up for. */
    missed = machine->now > begun ? ink_divide(machine->now - begun, rule.repeat_every, &rest) + 1 : 1;
    if (missed > 0xFFFFFFFEu) {
        /* No key stays down for so long: it does nothing more. */
        cells[INK_KEY_STATE] |= INK_OF_ANOTHER;
        return;
    }
    cells[INK_KEY_REPEATS] = (int32_t)(missed > repeats ? (uint32_t)missed : repeats);
    (void)press(machine, key, rule.press INK_TIMES(repeats >= rule.faster_from ? rule.faster : INK_ONCE));
}

void ink_read_beat(const struct ink_machine *machine, struct ink_reader *reader, struct ink_beat *beat)
{
    uint32_t kind = ink_number(reader);
    beat->renews = kind == 1;
    beat->interval = ink_duration(reader);
#if INK_DAY_HOURS
    beat->from = 0;
    beat->length = INK_NEVER;
#endif
    beat->renewal = *reader;
    beat->event = ink_number(reader);
    if (beat->renews) {
        (void)ink_number(reader);
        (void)ink_hold(machine, reader);
    }
#if INK_DAY_HOURS
    if (kind == 2) {
        beat->from = ink_duration(reader);
        beat->length = ink_duration(reader);
    }
#endif
    if (!beat->interval) {
        beat->interval = 1;
    }
}

static void do_beat(struct ink_machine *machine, const struct ink_beat *beat)
{
    struct ink_reader reader;
    if (beat->renews) {
        reader = beat->renewal;
        (void)ink_number(&reader);
        (void)ink_number(&reader);
        if (ink_hold(machine, &reader)) {
            reader = beat->renewal;
            renew(machine, &reader);
            mark(machine, 1);
            ink_rise(machine);
        }
        return;
    }
#if INK_DAY_HOURS
    if (beat->length != INK_NEVER) {
        const ink_time day = 86400000u;
        ink_time time, from;
        (void)ink_divide(machine->now, day, &time);
        (void)ink_divide(beat->from, day, &from);
        if ((time < from ? time + day : time) - from >= beat->length) {
            return;
        }
    }
#endif
    reader = ink_event_rule(machine, beat->event);
    (void)ink_number(&reader);
    if (ink_hold(machine, &reader)) {
        ink_event_now(machine, beat->event);
        ink_rise(machine);
    }
}

/* The first beat that is due; its next time is set. */
static int take_beat(struct ink_machine *machine, struct ink_beat *beat)
{
    struct ink_reader reader = ink_reader_at(&machine->rules, ink_word(&machine->rules, INK_BEATS_AT));
    ink_time first = INK_NEVER;
    uint32_t at, found = 0;
    struct ink_beat one;
    uint64_t rest;
    ink_read_beat(machine, &reader, beat);
    reader = ink_reader_at(&machine->rules, ink_word(&machine->rules, INK_BEATS_AT));
    for (at = 0; at < machine->beat_count; at++) {
        ink_time time = ink_get_time(machine->beats + 2 * at);
        ink_read_beat(machine, &reader, &one);
        if (time < first) {
            first = time;
            found = at;
            *beat = one;
        }
    }
    if (first == INK_NEVER || first > machine->now) {
        return 0;
    }
    first = ink_later(first, beat->interval);
    if (first <= machine->now) {
        /* What was slept over is not made up for. */
        (void)ink_divide(machine->now, beat->interval, &rest);
        first = ink_later(machine->now, beat->interval - rest);
    }
    ink_put_time(machine->beats + 2 * found, first);
    return 1;
}

static void end_timer(struct ink_machine *machine, uint32_t timer)
{
    struct ink_reader reader = ink_part(machine, ink_front(&machine->scene), INK_TIMER_RULES);
    uint32_t at, count = ink_count(&reader), reaction = 0;
    int did;
    for (at = 0; at <= timer && at < count; at++) {
        (void)ink_number(&reader);
        (void)ink_duration(&reader);
        reaction = ink_number(&reader);
    }
    did = ink_react(machine, reaction INK_TIMES(INK_ONCE), 0);
    if (did) {
        mark(machine, 2);
    }
    follow(machine, did, 0);
    ink_rise(machine);
}

void ink_run(struct ink_machine *machine, ink_time now)
{
    struct ink_beat beat;
    uint32_t at;
    uint8_t key = 0;
    int hold = 0;
    if (machine->sending) {
        return;
    }
    if (now > machine->now) {
        machine->now = now;
    }
#if INK_TIMES_AFTER
    end_recent(machine);
#endif
    for (;;) {
        ink_time time = ink_stays(machine, &key, &hold);
        if (time == INK_NEVER || time > machine->now) {
            break;
        }
        stay(machine, key, hold);
    }
    while (take_beat(machine, &beat)) {
        do_beat(machine, &beat);
    }
    for (at = 0; at < machine->timer_count; at++) {
        ink_time time = ink_get_time(machine->timers + 2 * at);
        if (time != INK_NEVER && time <= machine->now) {
            ink_put_time(machine->timers + 2 * at, INK_NEVER);
            end_timer(machine, at);
            at = 0xFFFFFFFFu;
        }
    }
}
