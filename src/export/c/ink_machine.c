/* A machine's begin, what comes in from outside, and the next wake-up; see ink_machine.h. MIT OR Apache-2.0. */
#include "ink_panel.h"

/* The factor in thousandths of what changes add, and whether a reaction leads nowhere, where the design asks for it. */
#if INK_FASTER
#define INK_TIMES(times) , times
#define INK_TIMES_TAKEN , uint32_t times
#else
#define INK_TIMES(times)
#define INK_TIMES_TAKEN
#endif
#if INK_RELEASES
#define STAYS(stays) , stays
#define STAYS_TAKEN , int stays
#else
#define STAYS(stays)
#define STAYS_TAKEN
#endif

#include "ink_machine_rules.h"
#include "ink_machine_state.h"
#include "ink_machine_run.h"

uint32_t ink_cells(const INK_FLASH struct ink_rules *rules)
{
    return BYTES_AT(rules) +
           (INK_KEY_BYTES(KEYS(rules)) + INK_EVENT_BYTES(EVENTS(rules)) + WAITING_BYTES(KEYS(rules)) + 3) / 4;
}

int ink_init(struct ink_machine *machine, const INK_FLASH struct ink_design *design,
             const INK_FLASH struct ink_rules *rules, int32_t *cells, uint32_t count)
{
    uint32_t at;
    uint8_t *bytes = (uint8_t *)machine;
    for (at = 0; at < sizeof *machine; at++) {
        bytes[at] = 0;
    }
    machine->rules = rules;
    machine->design = design;
    machine->scene.values = cells;
    if (rules->size <= HEADER || byte(machine) != VERSION || count < ink_cells(rules) || PAST(rules) != design->past_size ||
        FIELDS(rules) != design->field_count || FACT_OF(rules, SCREENS) != design->screen_count) {
        return 0;
    }
    for (at = 0; at < count; at++) {
        cells[at] = 0;
    }
    machine->scene.screen = (ink_screen)FACT_OF(rules, HOME);
    machine->last_refresh = machine->last_full = INK_NEVER;
    seek(machine, FACT_OF(rules, FIELDS_AT));
    for (at = 0; at < FIELDS(rules); at++) {
        ink_preset(machine, (uint16_t)at, number(machine) ? signed_number(machine) : INK_UNKNOWN);
    }
    ink_past_clear(design, ink_past(machine));
    return 1;
}

void ink_preset(struct ink_machine *machine, uint16_t field, int32_t number_now)
{
    put(machine, field, number_now);
    ink_measured(machine, field, number_now);
}

void ink_measured(struct ink_machine *machine, uint16_t field, int32_t number_now)
{
    if (field < FIELDS(machine->rules) && IS_FRESH(field)) {
        PUT_VALUE(CELLS(machine, FRESH_AT) - FRESH_FROM / 4, field, number_now);
    }
}

int32_t ink_value(const struct ink_machine *machine, uint16_t field)
{
    return value(machine, field);
}

void ink_begin(struct ink_machine *machine, ink_time now)
{
    machine->now = 0;
    set_now(machine, now);
    machine->busy_until = machine->beaten = machine->now;
#if INK_TIMES_AFTER
    {
        uint32_t at;
        for (at = 0; at < RECENT(machine->rules); at++) {
            put_time(CELLS(machine, RECENT_CELLS_AT) + 2 * at, INK_NEVER);
        }
    }
#endif
    show_front(machine);
    (void)start_recent(machine, AFTER_SCREEN, machine->scene.screen);
    edits(machine, 0);
#if INK_RISES
    /* What holds already is known. */
    (void)rose(machine);
#endif
    start_timers(machine, 1);
    machine->stale = BY_DEVICE;
    machine->entered = (ink_screen)(machine->scene.screen + 1);
}

int ink_wanted(struct ink_machine *machine, ink_time now, uint16_t field)
{
    uint32_t end = list_at(machine, FACT(machine, BEATS_AT));
    while (machine->at < end) {
        uint32_t next = list(machine);
        ink_time due = next_beat(machine);
        if (due <= now && number(machine) == BEAT_SAMPLES) {
            skip_list(machine);
            while (machine->at < next) {
                if (number(machine) == field) {
                    return 1;
                }
                (void)number(machine);
            }
        }
        machine->at = next;
    }
    return 0;
}

int ink_key(struct ink_machine *machine, ink_time now, uint8_t key, int down)
{
    uint32_t moved_key = key | (uint32_t)(down != 0) * GOES_DOWN;
    set_now(machine, now);
    if (key >= KEYS(machine->rules)) {
        return INK_NOTHING;
    }
#if INK_KEYS_WAIT
    if (!is_due(machine, machine->busy_until) || machine->waiting_count) {
        int drops = FACT(machine, POLICY) & 1u || machine->waiting_count >= WAITING;
        if (drops && down) {
            return INK_DROPPED;
        }
        if (drops && (!(key_states(machine)[key] & DOWN) || waits(machine, key))) {
            return INK_NOTHING;
        }
        if (!drops || machine->waiting_count) {
            if (machine->waiting_count >= waiting_limit(machine)) {
                return INK_DROPPED;
            }
            uint8_t *one = waiting(machine, machine->waiting_count++);
            uint32_t when = (uint32_t)machine->now << 5 | moved_key;
            one[0] = (uint8_t)when;
            one[1] = (uint8_t)(when >> 8);
            one[2] = (uint8_t)(when >> 16);
            return INK_QUEUED;
        }
    }
#else
    if (!is_due(machine, machine->busy_until)) {
        if (down) {
            return INK_DROPPED;
        }
        if (!(key_states(machine)[key] & DOWN)) {
            return INK_NOTHING;
        }
    }
#endif
    return carry_out(machine, moved_key, machine->now) ? INK_ACTED : INK_NOTHING;
}

int ink_event(struct ink_machine *machine, ink_time now, uint16_t event)
{
    if (machine->sending || event >= EVENTS(machine->rules)) {
        return 0;
    }
    set_now(machine, now);
    if (!event_now(machine, event, 1)) {
        return 0;
    }
    rise(machine);
    return 1;
}

int ink_arrived(struct ink_machine *machine, ink_time now, uint16_t field, int32_t number_now)
{
    if (machine->sending || field >= FIELDS(machine->rules)) {
        return 0;
    }
    set_now(machine, now);
    if (value(machine, field) != number_now) {
        take(machine, field, number_now);
        remember(machine, field, number_now);
        mark(machine, BY_DEVICE);
        rise(machine);
    }
    return 1;
}

void ink_locale(struct ink_machine *machine, uint8_t locale)
{
    uint32_t field = FACT(machine, LANGUAGE);
    if (field) {
        put(machine, field - 1, locale);
    }
    machine->scene.locale = locale;
}

void ink_busy(struct ink_machine *machine, ink_time until)
{
    machine->busy_until = until;
}

/* When the last full refresh is too old; INK_NEVER where that does not count. */
static ink_time full_due(const struct ink_machine *machine)
{
    if (!machine->full_awaited || IS_NEVER(machine->last_full)) {
        return INK_NEVER;
    }
    return later(machine->last_full, LONG_FACT(machine, AGE));
}

/* Until when an update that only the device caused keeps its distance from the refresh before. */
static ink_time distant(const struct ink_machine *machine)
{
    if (machine->stale != BY_DEVICE || machine->entered || IS_NEVER(machine->last_refresh)) {
        return 0;
    }
    return later(machine->last_refresh, LONG_FACT(machine, INTERVAL));
}

static INK_APART ink_time earlier(ink_time one, ink_time other)
{
    return one < other ? one : other;
}

ink_time ink_wake(struct ink_machine *machine)
{
    ink_time first = machine->beaten, due;
#if INK_HOLDS || INK_REPEATS
    uint8_t key;
#endif
    (void)first_beat(machine, &first, 0);
#if INK_HOLDS || INK_REPEATS
    first = earlier(first, stays_down(machine, &key));
#endif
#if INK_TIMERS || INK_TIMES_AFTER
    {
        const int32_t *cells = CELLS(machine, TIMERS_AT), *end = cells + 2 * machine->timer_count;
        for (; cells < end; cells += 2) {
            first = earlier(first, get_time(cells));
        }
#if INK_TIMES_AFTER
        cells = CELLS(machine, RECENT_CELLS_AT);
        end = cells + 2 * RECENT(machine->rules);
        for (; cells < end; cells += 2) {
            first = earlier(first, get_time(cells));
        }
#endif
    }
#endif
    due = full_due(machine);
    if (machine->stale) {
        due = earlier(due, distant(machine));
    }
#if INK_KEYS_WAIT
    if (machine->waiting_count) {
        due = 0;
    }
#endif
    if (due < machine->busy_until) {
        due = machine->busy_until;
    }
    first = earlier(first, due);
    return first > machine->now ? first : machine->now;
}

#include "ink_machine_panel.h"
