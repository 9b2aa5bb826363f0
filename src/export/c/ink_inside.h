/* What the files of the machine share; not for the firmware. MIT OR Apache-2.0.

   The rules are bytes. A number has seven bits a byte, the lowest first, bit 7 set where more follow; a signed one is
   0, -1, 1, -2 for 0, 1, 2, 3. A duration is two numbers: seconds and milliseconds. A word is three bytes, the lowest
   first. Header: version, policy (1 drops keys while busy, 2 partial refreshes, 4 full at an age), keys, boxes over one
   another, of them frozen, planes of a full and of a partial refresh, layout (1 by columns, 2 bytes lie down, 4 counted
   from the right, 8 from the bottom, 16 lowest bit first); then the words below.
   Screen: flags (1 box, 2 frozen, 4 full on entry); edited fields: count, each; for each key its rule: flags (1 press,
   2 release, 4 hold, 8 repeat, 16 faster), reactions of press and release, hold: duration, reaction, repeat: duration
   before the first, between, faster: from which, thousandths; timers: count, each from entry or press, duration,
   reaction; events: count, each event, reaction. Event: flow state and 1, conditions, 1 and a condition that makes it
   happen or 0, renewals: count, each. Renewal: field, flags (1 clock, 2 with a past). Beats, each: 0 or 2
   an event at an interval: duration, event, with 2 the hours: from, length; 1 a sample: duration, renewal, conditions.
   Times after something, each: cause (0 any key, 1 a key, 2 a screen, 3 an event), its number, duration, flow state.
   Policy: partial limit, interval, age, temperatures of the full and of the partial waveform in tenths of a degree.
   Reaction: alternatives: count, each its bytes, conditions, actions. Condition: test (0 never, 1 below, 2 from, 3 is),
   field, signed limit; 3 more: other field, signed decimals of it less this one's. Choice: field, its decimals. Action:
   0 change, 1 go, 2 go by field: choice, count, screens, 3 back, 4 open, 5 close, 6 cancel, 7 one of several changes:
   choice, count, each its bytes and its change, 8 go by field of what a field counts: counting choice, then as 2. Change: how (0 by, 1 to, 2 digit; 4 wrap, 8 a box opens outside,
   16 within what a field counts, 32 in units), field, of a digit the cursor's choice, ends, the box, the counting choice
   and the field's own decimals, then the signed amount or, in units, choice, count, and for each its bytes, 1 if it is
   the own unit, signed amount, multiplier, divisor, signed offset. Within: count, each: counting choice, choice, ends.

   No read lies outside the bytes and no index outside the cells, whatever the bytes are. */
#ifndef INK_INSIDE_H
#define INK_INSIDE_H

#include "ink_machine.h"

#ifdef __cplusplus
extern "C" {
#endif

enum { INK_VERSION = 3, INK_FLAGS = 8, INK_WAITING = 16 };

/* Thousandths of an amount: as it is. */
#define INK_ONCE 1000u

enum { INK_AT_VERSION, INK_AT_POLICY, INK_AT_KEYS, INK_AT_BOXES, INK_AT_FROZEN,
       INK_AT_PLANES, INK_AT_PARTIAL_PLANES, INK_AT_LAYOUT };

enum { INK_SCREENS, INK_FIELDS, INK_EVENTS, INK_TIMERS, INK_SAVED_SCREEN, INK_SAVED_BOX,
       INK_PAST, INK_SCREENS_AT, INK_FIELDS_AT, INK_EVENTS_AT, INK_BEATS_AT,
       INK_POLICY_AT, INK_HOME, INK_LANGUAGE, INK_FRONT, INK_BEFORE, INK_LOCALES,
       INK_BEATS, INK_WIDTH, INK_HEIGHT, INK_LINES, INK_STRIDE, INK_ORIGIN_X,
       INK_ORIGIN_Y, INK_WITHIN_AT, INK_RECENT, INK_RECENT_AT, INK_WORDS };

/* A place in the rules from which numbers are read one after the other. */
struct ink_reader {
    const struct ink_rules *rules;
    uint32_t at;
};

struct ink_key_rule {
    ink_time hold_after, repeat_after, repeat_every;
    uint32_t press, hold; /* reactions are places; 0 for none */
#if INK_RELEASES
    uint32_t release;
#endif
#if INK_FASTER
    uint32_t faster_from, faster;
#endif
    uint8_t holds, repeats;
};

/* Sizes of the state, and what the header of the rules says of it. */
void ink_size(struct ink_machine *machine, const INK_FLASH struct ink_rules *given);
uint8_t ink_byte(const struct ink_rules *rules, uint32_t at);
uint32_t ink_word_at(const struct ink_rules *rules, uint32_t at);
uint32_t ink_word(const struct ink_rules *rules, uint8_t word);
struct ink_reader ink_reader_at(const struct ink_rules *rules, uint32_t at);
uint32_t ink_number(struct ink_reader *reader);
int32_t ink_signed(struct ink_reader *reader);
ink_time ink_duration(struct ink_reader *reader);
/* A count of what takes a byte at least each. */
uint32_t ink_count(struct ink_reader *reader);
/* Parts of a screen's rules: edited fields, keys, timers, events. */
enum { INK_EDITS, INK_KEY_RULES, INK_TIMER_RULES, INK_EVENT_RULES };
struct ink_reader ink_part(const struct ink_machine *machine, uint32_t screen, uint8_t part);
uint8_t ink_screen_flags(const struct ink_rules *rules, uint32_t screen);
void ink_read_key(struct ink_reader *reader, struct ink_key_rule *rule);
struct ink_reader ink_event_rule(const struct ink_machine *machine, uint32_t event);

void ink_skip_condition(struct ink_reader *reader);

uint64_t ink_divide(uint64_t number, uint64_t by, uint64_t *rest);
ink_time ink_later(ink_time time, ink_time wait);
ink_time ink_get_time(const int32_t *cells);
void ink_put_time(int32_t *cells, ink_time time);

int32_t ink_value(const struct ink_machine *machine, uint32_t field);
void ink_put(struct ink_machine *machine, uint32_t field, int32_t number);
#if INK_WITHIN
void ink_keep_within(struct ink_machine *machine, uint32_t changed);
#else
#define ink_keep_within(machine, changed) ((void)0)
#endif
int ink_hold(const struct ink_machine *machine, struct ink_reader *reader);
uint16_t ink_front(const struct ink_scene *scene);

/* What a reaction did. */
enum { INK_DID = 1, INK_ENTERED = 2, INK_FRONTED = 4 };
/* The factor in thousandths is for what changes add. */
#if INK_FASTER
#define INK_TIMES(times) , times
#define INK_TIMES_TAKEN , uint32_t times
#else
#define INK_TIMES(times)
#define INK_TIMES_TAKEN
#endif
/* With `stays` it changes fields and leads nowhere. */
int ink_react(struct ink_machine *machine, uint32_t reaction INK_TIMES_TAKEN, int stays);
int ink_happen(struct ink_machine *machine, uint32_t event);
int ink_rose(struct ink_machine *machine);
void ink_save(struct ink_machine *machine);
#if INK_FLOW_STATES
void ink_show_front(struct ink_machine *machine);
#else
#define ink_show_front(machine) ((void)0)
#endif

/* After what times count: any key, a key, a screen, an event. */
enum { INK_AFTER_ANY_KEY, INK_AFTER_KEY, INK_AFTER_SCREEN, INK_AFTER_EVENT };
#if INK_TIMES_AFTER
/* Something happens after which times count. Whether any begins. */
int ink_start_recent(struct ink_machine *machine, uint32_t cause, uint32_t number);
#else
#define ink_start_recent(machine, cause, number) ((void)(number), 0)
#endif

/* Cells of a key: when it went down, repetitions, state. */
enum { INK_KEY_CELLS = 4, INK_KEY_REPEATS = 2, INK_KEY_STATE = 3 };
enum { INK_DOWN = 1, INK_HELD = 2, INK_OF_ANOTHER = 4 };
/* Above these bits of its state: what was in front when it went down. */
enum { INK_KEY_FRONT = 8 };

/* What happens at an interval: an event within hours of the day, or a sample, where `event` is its field. */
struct ink_beat {
    ink_time interval;
#if INK_DAY_HOURS
    ink_time from, length;
#endif
    struct ink_reader renewal;
    uint32_t event;
    uint8_t renews;
};
/* Reads the beat that the reader stands at; it is moved on to the next. */
void ink_read_beat(const struct ink_machine *machine, struct ink_reader *reader, struct ink_beat *beat);
void ink_start_timers(struct ink_machine *machine, int entry);
void ink_event_now(struct ink_machine *machine, uint32_t event);
void ink_rise(struct ink_machine *machine);
int ink_carry_out(struct ink_machine *machine, ink_time made, uint8_t key, int down);
ink_time ink_stays(const struct ink_machine *machine, uint8_t *key, int *hold);
/* Whether a key that was let go waits for the panel. */
int ink_waits(const struct ink_machine *machine, uint8_t key);

/* Whether the panel is to be looked at: keys that waited are carried out, and a frame is due. The screen entered and 1,
   or 0, is told. */
int ink_look(struct ink_machine *machine, uint16_t *entered);
int ink_full_due(const struct ink_machine *machine, ink_time *due);

#ifdef __cplusplus
}
#endif

#endif
