/* Part of ink_machine.c, which includes it: carries out keys, timers, events and what is renewed at intervals, in the order
   of equal times. MIT OR Apache-2.0. */

/* The frame may be out of date; a person counts before the device itself. */
enum { BY_DEVICE = 1, BY_PERSON };

/* Time passes; it never comes to what never comes. */
static INK_APART void set_now(struct ink_machine *machine, ink_time now)
{
    if (now > machine->now && !IS_NEVER(now)) {
        machine->now = now;
    }
}

/* Whether a time has come. */
static INK_APART int is_due(const struct ink_machine *machine, ink_time time)
{
    return time <= machine->now;
}

static void mark(struct ink_machine *machine, uint8_t by)
{
    if (machine->stale < by) {
        machine->stale = by;
    }
}

/* Starts the timers of the front: all on its entry, those that count from the last press on a press. */
static void start_timers(struct ink_machine *machine, int on_entry)
{
#if INK_TIMERS
    uint32_t end = part(machine, front(&machine->scene), TIMER_RULES), limit = TIMERS(machine->rules);
    int32_t *cells = CELLS(machine, TIMERS_AT);
    uint16_t count = 0;
    for (; machine->at < end && count < limit; count++, cells += 2) {
        uint32_t since_entry = number(machine);
        ink_wait lasts = wait(machine);
        (void)number(machine);
        if (on_entry || !since_entry) {
            put_time(cells, later(machine->now, lasts ? lasts : 1));
        }
    }
    if (on_entry) {
        machine->timer_count = (ink_timers)count;
    }
#else
    (void)machine;
    (void)on_entry;
#endif
}

/* A key's state. Its cells: when it went down, repetitions. */
enum { DOWN = 1, HELD = 2, OF_ANOTHER = 4 };

static uint8_t *key_states(const struct ink_machine *machine)
{
    return (uint8_t *)CELLS(machine, BYTES_AT);
}

#if INK_KEY_CELLS
static int32_t *key_cells(const struct ink_machine *machine, uint8_t key)
{
    return CELLS(machine, DOWN_AT) + INK_KEY_CELLS * key;
}
#endif

#if INK_RELEASES
/* What was in front when a key went down: its low byte, and after that of all the high ones. */
static uint8_t *key_front(const struct ink_machine *machine, uint8_t key)
{
    return key_states(machine) + KEYS(machine->rules) + key;
}
#endif

#if INK_RISES
/* Bits of events: whether their condition holds; behind them, whether it became true. */
static uint8_t *held_events(const struct ink_machine *machine)
{
    return key_states(machine) + INK_KEY_BYTES(KEYS(machine->rules));
}
#endif

static void follow(struct ink_machine *machine, int did, int pressed)
{
    if (did & ENTERED) {
        machine->entered = (ink_screen)(machine->scene.screen + 1);
    }
    if (did & FRONTED) {
        uint8_t key;
        for (key = 0; key < KEYS(machine->rules); key++) {
            key_states(machine)[key] |= OF_ANOTHER;
        }
    }
    if (did & FRONTED || (pressed && did)) {
        start_timers(machine, did & FRONTED);
    }
}

uint8_t *ink_past(const struct ink_machine *machine)
{
    return (uint8_t *)(machine->scene.values + INK_VALUE_CELLS(FIELDS(machine->rules)));
}

static void remember(struct ink_machine *machine, uint32_t field, int32_t number_now)
{
    ink_past_add(machine->design, ink_past(machine), (uint16_t)field, number_now);
}

/* Renews the field that comes next, or passes over it. */
static void renew(struct ink_machine *machine, int renews)
{
    uint32_t field = number(machine), flags = number(machine);
    int32_t number_now;
    if (!renews || field >= FIELDS(machine->rules)) {
        return;
    }
    if (flags & 1u) {
        uint64_t rest = machine->now;
        number_now = (int32_t)(divide(&rest, 1000u) & 0x7FFFFFFFu);
    } else {
        number_now = IS_FRESH(field) ? GET_VALUE(CELLS(machine, FRESH_AT) - FRESH_FROM / 4, field) : INK_UNKNOWN;
    }
    take(machine, field, number_now);
    if (flags & 2u) {
        remember(machine, field, number_now);
    }
}

/* An event happens, unless its conditions are asked for and do not hold. Whether it did. */
static INK_APART int event_now(struct ink_machine *machine, uint32_t event, int asks)
{
    uint32_t end;
    event_entry(machine, event);
    (void)number(machine);
    if (asks && !hold(machine)) {
        return 0;
    }
    if (!asks) {
        skip_list(machine);
    }
    skip_list(machine);
    end = list(machine);
    while (machine->at < end) {
        renew(machine, 1);
    }
    mark(machine, BY_DEVICE);
    follow(machine, happen(machine, event), 0);
    return 1;
}

#if INK_RISES
/* Whether the condition of any event became true since it was asked before. */
static int rose(struct ink_machine *machine)
{
    uint8_t *held = held_events(machine);
    uint32_t event, bytes = (EVENTS(machine->rules) + 7) / 8;
    int any = 0;
    for (event = 0; event < EVENTS(machine->rules); event++) {
        uint8_t *one = held + event / 8, bit = (uint8_t)(1u << event % 8), rises;
        int holds;
        event_entry(machine, event);
        (void)number(machine);
        holds = hold(machine);
        holds = number(machine) && holds_one(machine) && holds;
        rises = (uint8_t)(holds ? bit & ~*one : 0);
        any |= rises;
        one[bytes] = (uint8_t)((one[bytes] & ~bit) | rises);
        *one = (uint8_t)(holds ? *one | bit : *one & ~bit);
    }
    return any;
}

/* Events whose condition became true; each may make others true, so there is a bound. */
static INK_APART void rise(struct ink_machine *machine)
{
    uint32_t round, event, count = EVENTS(machine->rules);
    for (round = 0; round <= count && rose(machine); round++) {
        for (event = 0; event < count; event++) {
            if (held_events(machine)[(count + 7) / 8 + event / 8] >> event % 8 & 1) {
                (void)event_now(machine, event, 0);
            }
        }
    }
}
#else
#define rise(machine) ((void)0)
#endif

#if INK_TIMES_AFTER
/* Times after something that are over. */
static void end_recent(struct ink_machine *machine)
{
    uint32_t end = list_at(machine, FACT(machine, RECENT_AT)), left = RECENT(machine->rules);
    int32_t *cells = CELLS(machine, RECENT_CELLS_AT);
    int over = 0;
    for (; machine->at < end && left; left--, cells += 2) {
        ink_time ends = get_time(cells);
        uint32_t field;
        (void)number(machine);
        (void)number(machine);
        (void)wait(machine);
        field = number(machine);
        if (is_due(machine, ends)) {
            put_time(cells, INK_NEVER);
            put(machine, field, 0);
            over = 1;
        }
    }
    if (over) {
        rise(machine);
    }
}
#endif

/* A key's reaction at a place; what follows from it. */
static INK_APART int press(struct ink_machine *machine, uint8_t key, uint32_t reaction INK_TIMES_TAKEN STAYS_TAKEN)
{
    int did = react(machine, reaction INK_TIMES(times) STAYS(stays));
    if (did) {
        (void)start_recent(machine, AFTER_KEY, key);
        mark(machine, BY_PERSON);
        follow(machine, did, 1);
        rise(machine);
    }
    return did != 0;
}

/* Keys that go down, beside their number. */
enum { GOES_DOWN = 16 };

/* A key went down or up. */
static int carry_out(struct ink_machine *machine, uint32_t moved_key, ink_time made)
{
    struct key_rule rule;
    uint8_t key = (uint8_t)(moved_key & 15u), *now = key_states(machine) + key, state = *now;
    ink_screen in_front;
    int acted = 0;
    (void)made;
    if (moved_key & GOES_DOWN) {
        if (state & DOWN) {
            /* It was let go before, unseen. */
            (void)carry_out(machine, key, made);
        }
        in_front = front(&machine->scene);
        key_rule(machine, in_front, key, &rule);
        *now = DOWN;
#if INK_RELEASES
        *key_front(machine, key) = (uint8_t)in_front;
#if INK_MANY_SCREENS
        key_front(machine, key)[KEYS(machine->rules)] = (uint8_t)(in_front >> 8);
#endif
#endif
#if INK_KEY_CELLS
        put_time(key_cells(machine, key), made);
#endif
#if INK_REPEATS
        key_cells(machine, key)[2] = 0;
#endif
        acted = start_recent(machine, AFTER_KEY, key);
        if (!(rule.flags & HOLDS) && press(machine, key, rule.press INK_TIMES(ONCE) STAYS(0))) {
            return 1;
        }
        if (acted) {
            rise(machine);
        }
        return 0;
    }
    *now = 0;
    if (!(state & DOWN)) {
        return 0;
    }
#if INK_RELEASES
    in_front = *key_front(machine, key);
#if INK_MANY_SCREENS
    in_front = (ink_screen)(in_front | (uint32_t)key_front(machine, key)[KEYS(machine->rules)] << 8);
#endif
    key_rule(machine, in_front, key, &rule);
    if (state & OF_ANOTHER) {
        return press(machine, key, rule.release INK_TIMES(ONCE) STAYS(1));
    }
#elif INK_HOLDS
    if (state & OF_ANOTHER) {
        return 0;
    }
    key_rule(machine, front(&machine->scene), key, &rule);
#endif
#if INK_HOLDS
    if (rule.flags & HOLDS && !(state & HELD)) {
        /* A key that waited for the panel may have been held long enough meanwhile. */
        int enough = made >= later(get_time(key_cells(machine, key)), rule.hold_after);
        acted = press(machine, key, enough ? rule.hold : rule.press INK_TIMES(ONCE) STAYS(0));
    }
#endif
#if INK_RELEASES
    if (rule.release) {
        acted |= press(machine, key, rule.release INK_TIMES(ONCE) STAYS(0));
    }
#endif
    return acted;
}

#if INK_KEYS_WAIT
static uint32_t waiting_limit(const struct ink_machine *machine)
{
    return WAITING + KEYS(machine->rules);
}

/* Where the key waits that is so many behind the first one. A key that waits: its number and whether it goes down in the
   lowest five bits, above them in 19 bits the millisecond when that was. A panel that is busy for eight minutes and more is
   not told from one that is busy for less. */
static uint8_t *waiting(const struct ink_machine *machine, uint32_t behind)
{
    uint32_t at = machine->waiting_first + behind, limit = waiting_limit(machine);
    uint8_t *first = key_states(machine) + INK_KEY_BYTES(KEYS(machine->rules)) + INK_EVENT_BYTES(EVENTS(machine->rules));
    return first + 3 * (at < limit ? at : at - limit);
}

/* Whether a key that was let go or went down waits for the panel. */
static int waits(const struct ink_machine *machine, uint8_t key)
{
    uint8_t at;
    for (at = 0; at < machine->waiting_count; at++) {
        if ((*waiting(machine, at) & 31) == key) {
            return 1;
        }
    }
    return 0;
}
#endif

#if INK_HOLDS || INK_REPEATS
enum { BY_HOLD = 128 };

/* The key that does something next by staying down: when, which, whether by its hold. */
static ink_time stays_down(struct ink_machine *machine, uint8_t *which)
{
    ink_time first = INK_NEVER;
    uint8_t key;
    for (key = 0; key < KEYS(machine->rules); key++) {
        const int32_t *cells = key_cells(machine, key);
        uint8_t state = key_states(machine)[key], by = key;
        struct key_rule rule;
        ink_time time = INK_NEVER;
        if ((state & (DOWN | OF_ANOTHER)) != DOWN) {
            continue;
        }
#if INK_KEYS_WAIT
        if (waits(machine, key)) {
            continue;
        }
#endif
        key_rule(machine, front(&machine->scene), key, &rule);
#if INK_HOLDS
        if (rule.flags & HOLDS && !(state & HELD)) {
            time = later(get_time(cells), rule.hold_after);
            by |= BY_HOLD;
        }
#endif
#if INK_REPEATS
        if (rule.flags & REPEATS) {
            ink_time times = (uint32_t)cells[2], begun = later(get_time(cells), rule.repeat_after);
            ink_time again = later(begun, times * rule.repeat_every);
            if (again < time) {
                time = again;
                by = key;
            }
        }
#endif
        if (!IS_NEVER(time) && time < machine->busy_until) {
            time = machine->busy_until;
        }
        if (time < first) {
            first = time;
            *which = by;
        }
    }
    return first;
}

static void stay(struct ink_machine *machine, uint8_t key)
{
    struct key_rule rule;
    key_rule(machine, front(&machine->scene), key & 15, &rule);
#if INK_HOLDS
    if (key & BY_HOLD) {
        key &= 15;
        key_states(machine)[key] |= HELD;
        (void)press(machine, key, rule.hold INK_TIMES(ONCE) STAYS(0));
        return;
    }
#endif
#if INK_REPEATS
    {
        int32_t *cells = key_cells(machine, key);
        uint32_t repeats = (uint32_t)cells[2] + 1;
        ink_time begun = later(get_time(cells), rule.repeat_after), missed = 1;
        /* Repetitions that fell into a refresh are not made up for. */
        if (machine->now > begun) {
            uint64_t rest = machine->now - begun;
            missed += divide(&rest, rule.repeat_every);
        }
        if (missed > 0xFFFFFFFEu) {
            /* No key stays down for so long: it does nothing more. */
            key_states(machine)[key] |= OF_ANOTHER;
            return;
        }
        cells[2] = (int32_t)(missed > repeats ? (uint32_t)missed : repeats);
        (void)press(machine, key, rule.press INK_TIMES(repeats >= rule.faster_from ? rule.faster : ONCE) STAYS(0));
    }
#endif
}
#endif

/* Beats: what happens at whole multiples of intervals. */
enum { BEAT_EVENT, BEAT_SAMPLES, BEAT_HOURS };

/* When the beat comes next of which the interval is read. */
static ink_time next_beat(struct ink_machine *machine)
{
    ink_time interval = wait(machine);
    uint64_t rest = machine->beaten;
    interval = interval ? interval : 1;
    (void)divide(&rest, interval);
    return later(machine->beaten, interval - rest);
}

/* The first beat behind one at a time, of those not carried out. */
static uint32_t first_beat(struct ink_machine *machine, ink_time *time, uint32_t behind)
{
    uint32_t end = list_at(machine, FACT(machine, BEATS_AT)), found = 0;
    ink_time first = INK_NEVER;
    while (machine->at < end) {
        uint32_t place = machine->at, next = list(machine);
        ink_time due = next_beat(machine);
        if (due < first && (due > *time || (due == *time && place > behind))) {
            first = due;
            found = place;
        }
        machine->at = next;
    }
    *time = first;
    return found;
}

static void do_beat(struct ink_machine *machine, uint32_t beat)
{
    uint32_t end = list_at(machine, beat), kind, place, event;
    (void)wait(machine);
    kind = number(machine);
    if (kind == BEAT_SAMPLES) {
        uint32_t conditions = machine->at;
        skip_list(machine);
        while (machine->at < end) {
            int holds;
            place = machine->at;
            machine->at = conditions;
            holds = hold(machine);
            machine->at = place;
            renew(machine, holds);
            place = machine->at;
            if (holds) {
                mark(machine, BY_DEVICE);
                rise(machine);
            }
            machine->at = place;
        }
        return;
    }
    event = number(machine);
#if INK_DAY_HOURS
    if (kind == BEAT_HOURS) {
        const ink_time day = 86400000u;
        ink_time time = machine->now, from = wait(machine), length = wait(machine);
        (void)divide(&time, day);
        (void)divide(&from, day);
        if ((time < from ? time + day : time) - from >= length) {
            return;
        }
    }
#endif
    if (event_now(machine, event, 1)) {
        rise(machine);
    }
}

#if INK_TIMERS
static void end_timer(struct ink_machine *machine, uint32_t timer)
{
    uint32_t end = part(machine, front(&machine->scene), TIMER_RULES), reaction = 0;
    int did;
    for (; timer + 1 && machine->at < end; timer--) {
        (void)number(machine);
        (void)wait(machine);
        reaction = number(machine);
    }
    did = react(machine, reaction INK_TIMES(ONCE) STAYS(0));
    if (did) {
        mark(machine, BY_PERSON);
    }
    follow(machine, did, 0);
    rise(machine);
}
#endif

void ink_run(struct ink_machine *machine, ink_time now)
{
    ink_time time = 0;
    uint32_t beat = 0;
    if (machine->sending) {
        return;
    }
    set_now(machine, now);
#if INK_TIMES_AFTER
    end_recent(machine);
#endif
#if INK_HOLDS || INK_REPEATS
    for (;;) {
        uint8_t key = 0;
        if (!is_due(machine, stays_down(machine, &key))) {
            break;
        }
        stay(machine, key);
    }
#endif
    /* Beats at equal times follow one another as they are listed. */
    while (beat = first_beat(machine, &time, beat), is_due(machine, time)) {
        do_beat(machine, beat);
    }
    machine->beaten = machine->now;
#if INK_TIMERS
    {
        uint16_t at;
        for (at = 0; at < machine->timer_count; at++) {
            int32_t *cells = CELLS(machine, TIMERS_AT) + 2 * at;
            ink_time ends = get_time(cells);
            if (is_due(machine, ends)) {
                put_time(cells, INK_NEVER);
                end_timer(machine, at);
                at = 0xFFFF;
            }
        }
    }
#endif
}
