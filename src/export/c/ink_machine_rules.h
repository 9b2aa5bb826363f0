/* Part of ink_machine.c, which includes it: reads rules. MIT OR Apache-2.0.

   The rules are bytes. A number has seven bits a byte, the highest first, bit 7 set where more follow; a signed one is
   0, -1, 1, -2 for 0, 1, 2, 3. A wait is a number of milliseconds. A list is the number of its bytes, then what it lists.
   In front stand facts, four bytes each, the lowest first; where the exporter states them to the compiler they are left
   out. Places count from behind them, where the version stands.
   Places: two bytes for each screen, then for each event.
   Screen: flags (1 box, 2 frozen, 4 full on entry); then lists: keys; timers: each from entry or press, wait, reaction;
   events: each event, reaction; edited fields.
   Key: flags (1 press, 2 release, 4 hold, 8 repeat, 16 faster), reactions of press and release, hold: wait, reaction,
   repeat: wait before the first, between, faster: from which, thousandths.
   Event: flow state and 1, list of conditions, list of one condition that makes it happen or of none, list of renewals.
   Renewal: field, flags (1 clock, 2 with a past).
   Beats: a list of lists: interval; 0 or 2 an event: event, with 2 the hours: from, length; 1 samples: conditions,
   then renewals.
   Times after something: a list, each: cause (0 any key, 1 a key, 2 a screen, 3 an event), its number, wait, flow state.
   Reaction: a list of alternatives, each a list: conditions, then actions. Condition: test (1 below, 2 the same,
   4 above), field, signed limit; 8 more: other field, factors of
   both. Choice: field, its decimals.
   Action: 0 change, 1 go, 2 go by field: choice, list of screens, 3 back, 4 open, 5 close, 6 cancel, 7 one of several
   changes: choice, count, a list for each, 8 go by field of what a field counts: counting choice, then as 2.
   Change: how (0 by, 1 to, 2 digit; 4 wrap, 8 a box opens outside, 16 within what a field counts, 32 in units), field, of
   a digit the cursor's choice, ends, the box, the counting choice and the field's own decimals, then the signed amount or,
   in units, choice, count, and for each a list: 1 if it is the own unit, signed amount, multiplier, divisor, signed
   offset. Within: a list, each: counting choice, choice, ends.

   No read lies outside the bytes and no index outside the cells, whatever the bytes are. */

enum { VERSION = 4, WAITING = 16 };

/* Facts in front of the rules. */
enum {
    AT_SCREENS, AT_FIELDS, AT_EVENTS, AT_KEYS, AT_TIMERS, AT_SAVED_SCREEN, AT_SAVED_BOX, AT_PAST, AT_RECENT, AT_BOXES,
    AT_FROZEN, AT_PLACES_AT, AT_FIELDS_AT, AT_BEATS_AT, AT_WITHIN_AT, AT_RECENT_AT, AT_HOME, AT_LANGUAGE, AT_FRONT,
    AT_BEFORE, AT_LOCALES, AT_WIDTH, AT_HEIGHT, AT_LINES, AT_STRIDE, AT_ORIGIN_X, AT_ORIGIN_Y, AT_POLICY, AT_PLANES,
    AT_PARTIAL_PLANES, AT_LAYOUT, AT_LIMIT, AT_INTERVAL, AT_INTERVAL_HIGH, AT_AGE, AT_AGE_HIGH, AT_FULL_FROM,
    AT_FULL_TO, AT_PARTIAL_FROM, AT_PARTIAL_TO, FACTS
};

#if INK_STATED
#define HEADER 0u
/* Through a function, because compilers object to comparisons with numbers that they see to be 0. */
static inline uint32_t stated(uint32_t fact)
{
    return fact;
}
#define FACT_OF(rules, what) ((void)(rules), stated((uint32_t)(INK_STATED_##what)))
#define SIZE(machine) FACT(machine, SIZE)
#else
#define HEADER (4u * FACTS)
static uint32_t fact(const INK_FLASH struct ink_rules *rules, uint8_t which)
{
    const INK_FLASH uint8_t *at = rules->bytes + 4u * which;
    if (rules->size < 4u * which + 4u) {
        return 0;
    }
    return at[0] | (uint32_t)at[1] << 8 | (uint32_t)at[2] << 16 | (uint32_t)at[3] << 24;
}
#define FACT_OF(rules, what) fact(rules, AT_##what)
#define SIZE(machine) ((machine)->rules->size - HEADER)
#endif
#define FACT(machine, what) FACT_OF((machine)->rules, what)
#define LONG_FACT(machine, what) ((ink_time)FACT(machine, what) | (ink_time)FACT(machine, what##_HIGH) << 32)

static uint32_t at_most(uint32_t number, uint32_t limit)
{
    return number < limit ? number : limit;
}

/* What sizes the state: no more than its indices can count, and no more than has its bytes in the rules, so that damaged
   ones do not make long work. */
#define COUNT_OF(rules, what, limit) (INK_STATED ? FACT_OF(rules, what) : at_most(FACT_OF(rules, what), limit))
#define FIELDS(rules) COUNT_OF(rules, FIELDS, 0xFFFFu)
#define EVENTS(rules) COUNT_OF(rules, EVENTS, (rules)->size / 3)
#define KEYS(rules) COUNT_OF(rules, KEYS, 16)
#define BOXES(rules) COUNT_OF(rules, BOXES, INK_BOXES)
#define FROZEN(rules) (INK_FROZEN ? COUNT_OF(rules, FROZEN, INK_BOXES) : 0)
#define TIMERS(rules) COUNT_OF(rules, TIMERS, 0xFFFEu)
#define RECENT(rules) (INK_TIMES_AFTER ? COUNT_OF(rules, RECENT, (rules)->size / 5) : 0)
#define PAST(rules) COUNT_OF(rules, PAST, 0xFFFFu)
/* Cells of edited fields. */
#define SAVED_SCREEN(rules) COUNT_OF(rules, SAVED_SCREEN, 0xFFFFu)
#define SAVED_BOX(rules) COUNT_OF(rules, SAVED_BOX, 0xFFFFu)
/* Cells of the values with their past. */
#define BLOCK(rules) INK_BLOCK(FIELDS(rules), PAST(rules))

/* What was measured: where values are kept in as many bytes as they need, only that. */
#if INK_NARROW && INK_STATED
#define FRESH_FROM INK_STATED_FRESH_FROM
#define FRESH_CELLS(fields) ((void)(fields), (INK_STATED_FRESH_TO - INK_STATED_FRESH_FROM) / 4u)
#define IS_FRESH(field) (ink_kept_at(field) - FRESH_FROM < INK_STATED_FRESH_TO - FRESH_FROM)
#else
#define FRESH_FROM 0u
#define FRESH_CELLS(fields) (fields)
#define IS_FRESH(field) 1
#endif

/* Parts of the state: cells, then bytes. */
#define FRESH_AT(rules) (BLOCK(rules) * (1u + FROZEN(rules)))
#define SAVED_AT(rules) (FRESH_AT(rules) + FRESH_CELLS(FIELDS(rules)))
#define TIMERS_AT(rules) (SAVED_AT(rules) + SAVED_SCREEN(rules) + SAVED_BOX(rules) * BOXES(rules))
#define RECENT_CELLS_AT(rules) (TIMERS_AT(rules) + 2 * TIMERS(rules))
#define DOWN_AT(rules) (RECENT_CELLS_AT(rules) + 2 * RECENT(rules))
#define BYTES_AT(rules) (DOWN_AT(rules) + INK_KEY_CELLS * KEYS(rules))
#define WAITING_BYTES(keys) (INK_KEYS_WAIT ? 3u * (WAITING + (keys)) : 0u)
#define CELLS(machine, part) ((machine)->scene.values + part((machine)->rules))

static uint8_t byte(struct ink_machine *machine)
{
    return machine->at < SIZE(machine) ? machine->rules->bytes[HEADER + machine->at++] : (uint8_t)0;
}

static uint32_t number(struct ink_machine *machine)
{
    uint32_t all = 0;
    uint8_t one;
    do {
        one = byte(machine);
        all = all << 7 | (one & 127u);
    } while (one & 128u);
    return all;
}

static int32_t signed_number(struct ink_machine *machine)
{
    uint32_t twice = number(machine);
    return (int32_t)(twice >> 1 ^ (0u - (twice & 1u)));
}

#if INK_LONG_WAITS
typedef ink_time ink_wait;
static ink_wait wait(struct ink_machine *machine)
{
    ink_wait all = 0;
    uint8_t one;
    do {
        one = byte(machine);
        all = all << 7 | (one & 127u);
    } while (one & 128u);
    return all;
}
#else
typedef uint32_t ink_wait;
#define wait number
#endif

static void seek(struct ink_machine *machine, uint32_t place)
{
    machine->at = at_most(place, SIZE(machine));
}

/* Begins a list; where it ends. */
static uint32_t list(struct ink_machine *machine)
{
    uint32_t bytes = number(machine);
    return machine->at + at_most(bytes, SIZE(machine) - machine->at);
}

static void skip_list(struct ink_machine *machine)
{
    machine->at = list(machine);
}

static uint32_t list_at(struct ink_machine *machine, uint32_t place)
{
    seek(machine, place);
    return list(machine);
}

/* Reads on at a screen, or at an event behind the screens. */
static void entry(struct ink_machine *machine, uint32_t which)
{
    uint32_t low;
    seek(machine, FACT(machine, PLACES_AT) + 2 * which);
    low = byte(machine);
    seek(machine, low | (uint32_t)byte(machine) << 8);
}

static uint32_t screen_flags(struct ink_machine *machine, uint32_t screen)
{
    entry(machine, screen);
    return number(machine);
}

/* Parts of a screen. */
enum { KEY_RULES, TIMER_RULES, EVENT_RULES, EDITS };

/* Begins a part of a screen; where it ends. */
static uint32_t part(struct ink_machine *machine, uint32_t screen, uint8_t which)
{
    uint32_t end;
    (void)screen_flags(machine, screen);
    while (end = list(machine), which--) {
        machine->at = end;
    }
    return end;
}

static void event_entry(struct ink_machine *machine, uint32_t event)
{
    entry(machine, FACT(machine, SCREENS) + event);
}

struct key_rule {
#if INK_HOLDS
    ink_wait hold_after;
    uint32_t hold; /* reactions are places; 0 for none */
#endif
#if INK_REPEATS
    ink_wait repeat_after, repeat_every;
#endif
    uint32_t press;
#if INK_RELEASES
    uint32_t release;
#endif
#if INK_FASTER
    uint32_t faster_from, faster;
#endif
    uint8_t flags;
};

enum { PRESSES = 1, RELEASES = 2, HOLDS = INK_HOLDS ? 4 : 0, REPEATS = INK_REPEATS ? 8 : 0, FASTER = 16 };

/* Thousandths of an amount: as it is. */
#define ONCE 1000u

static INK_APART void key_rule(struct ink_machine *machine, uint32_t screen, uint8_t key, struct key_rule *rule)
{
    (void)part(machine, screen, KEY_RULES);
    do {
        uint32_t flags = number(machine);
        rule->flags = (uint8_t)flags;
        rule->press = flags & PRESSES ? number(machine) : 0;
#if INK_RELEASES
        rule->release = flags & RELEASES ? number(machine) : 0;
#endif
#if INK_HOLDS
        if (flags & HOLDS) {
            rule->hold_after = wait(machine);
            rule->hold = number(machine);
        }
#endif
#if INK_REPEATS
        if (flags & REPEATS) {
            rule->repeat_after = wait(machine);
            rule->repeat_every = wait(machine);
            if (!rule->repeat_every) {
                rule->repeat_every = 1;
            }
        }
#endif
#if INK_FASTER
        rule->faster_from = flags & FASTER ? number(machine) : 0xFFFFFFFFu;
        rule->faster = flags & FASTER ? number(machine) : ONCE;
#endif
    } while (key--);
}

/* Divides; what is left of the number takes its place. */
static INK_APART uint64_t divide(uint64_t *rest, uint64_t by)
{
    uint64_t number_left = *rest, share = 0;
    uint8_t shift = 0;
    while (by <= number_left >> 1) {
        by <<= 1;
        shift++;
    }
    do {
        share <<= 1;
        if (number_left >= by) {
            number_left -= by;
            share |= 1u;
        }
        by >>= 1;
    } while (shift--);
    *rest = number_left;
    return share;
}

/* No time comes so late but the one that never comes. */
#define IS_NEVER(time) ((uint32_t)((time) >> 32) == 0xFFFFFFFFu)

static INK_APART ink_time later(ink_time time, ink_time by)
{
    return time + by < time ? INK_NEVER : time + by;
}

#if INK_HOLDS || INK_REPEATS || INK_TIMERS || INK_TIMES_AFTER
static ink_time get_time(const int32_t *cells)
{
    return (ink_time)(uint32_t)cells[1] << 32 | (uint32_t)cells[0];
}

static void put_time(int32_t *cells, ink_time time)
{
    cells[0] = (int32_t)(uint32_t)(time & 0xFFFFFFFFu);
    cells[1] = (int32_t)(uint32_t)(time >> 32);
}
#endif
