/* ink_machine: runs a design from exported rules: keys, holds, repetitions, timers, events, boxes, the way back,
   editing; what is measured when. It has no clock, no memory and no pins of its own: times, keys and values come in by
   calls, the time of the next wake-up comes out. No allocation, no library calls, any number of devices at once.
   What is drawn and sent is in ink_panel.h. MIT OR Apache-2.0. */
#ifndef INK_MACHINE_H
#define INK_MACHINE_H

#include "ink_draw.h"

/* What a design needs of the machine: the exporter leaves out code that it does not. */
#ifndef INK_FROZEN
#define INK_FROZEN 1
#endif
#ifndef INK_RELEASES
#define INK_RELEASES 1
#endif
#ifndef INK_FASTER
#define INK_FASTER 1
#endif
#ifndef INK_OPENS
#define INK_OPENS 1
#endif
#ifndef INK_WITHIN
#define INK_WITHIN 1
#endif
#ifndef INK_PICKS
#define INK_PICKS 1
#endif
#ifndef INK_COMPARES
#define INK_COMPARES 1
#endif
#ifndef INK_DAY_HOURS
#define INK_DAY_HOURS 1
#endif
#ifndef INK_FLOW_STATES
#define INK_FLOW_STATES 1
#endif

#ifndef INK_TIMES_AFTER
#define INK_TIMES_AFTER 1
#endif
#ifndef INK_HOLDS
#define INK_HOLDS 1
#endif
#ifndef INK_REPEATS
#define INK_REPEATS 1
#endif
#ifndef INK_KEYS_WAIT
#define INK_KEYS_WAIT 1
#endif
#ifndef INK_TIMERS
#define INK_TIMERS 1
#endif
#ifndef INK_RISES
#define INK_RISES 1
#endif
#ifndef INK_EDITS
#define INK_EDITS 1
#endif
#ifndef INK_DIGITS
#define INK_DIGITS 1
#endif
#ifndef INK_GOES_BY
#define INK_GOES_BY 1
#endif
/* Waits of more than 49 days. */
#ifndef INK_LONG_WAITS
#define INK_LONG_WAITS 1
#endif
/* More than 254 screens. */
#ifndef INK_MANY_SCREENS
#define INK_MANY_SCREENS 1
#endif
/* A way back so long that it forgets where it began. */
#ifndef INK_BACK_FORGETS
#define INK_BACK_FORGETS 1
#endif

/* Whether the code is for the design that the exporter states in front. For several designs in one program build everything
   with INK_ANY_PACKING: what it states is read from each design's rules then. */
#if defined(INK_RULES_STATED) && !defined(INK_ANY_PACKING)
#define INK_STATED 1
#else
#define INK_STATED 0
#endif

/* Boxes over one another, and screens that a way back remembers, at most. */
#if INK_STATED
#define INK_BOXES INK_STATED_BOXES
#define INK_BACK INK_STATED_BACK
#else
#define INK_BOXES 4
#define INK_BACK 16
#endif

#define INK_CHOICES (INK_UNITS || INK_PICKS || INK_DIGITS || INK_WITHIN || INK_GOES_BY)

/* Cells of 32 bits for the values of so many fields, and with so many bytes of their past. */
#if INK_NARROW && INK_STATED
#define INK_VALUE_CELLS(fields) ((void)(fields), INK_STATED_VALUE_BYTES / 4u)
#else
#define INK_VALUE_CELLS(fields) (fields)
#endif
#define INK_BLOCK(fields, past) (INK_VALUE_CELLS(fields) + ((past) + 3u) / 4u)
/* Cells of a key, and bytes of all. */
#define INK_KEY_CELLS ((INK_HOLDS || INK_REPEATS ? 2u : 0u) + (INK_REPEATS ? 1u : 0u))
#define INK_KEY_BYTES(keys) ((keys) * (INK_RELEASES ? INK_MANY_SCREENS ? 3u : 2u : 1u))
/* Bytes of events. */
#define INK_EVENT_BYTES(events) (INK_RISES ? ((events) + 7u) / 8u * 2u : 0u)

#ifdef __cplusplus
extern "C" {
#endif

/* Milliseconds after midnight of the first day. */
typedef uint64_t ink_time;
#define INK_NEVER (~(ink_time)0)

/* How many timers run, and refreshes between full ones. */
#if INK_STATED && INK_STATED_TIMERS < 256
typedef uint8_t ink_timers;
#else
typedef uint16_t ink_timers;
#endif
#if INK_STATED && INK_STATED_LIMIT < 256
typedef uint8_t ink_partials;
#else
typedef uint32_t ink_partials;
#endif

/* A screen or box by its position. */
#if INK_MANY_SCREENS
typedef uint16_t ink_screen;
#define INK_LAST_SCREEN 0xFFFEu
#else
typedef uint8_t ink_screen;
#define INK_LAST_SCREEN 0xFEu
#endif

/* The exported rules. */
struct ink_rules {
    const INK_FLASH uint8_t *bytes;
    uint32_t size;
};

/* What is to be seen: a screen, boxes over it, and the values they show. */
struct ink_scene {
    int32_t *values; /* of the moment, for ink_value; the rings of the past follow */
#if INK_FROZEN
    uint8_t frozen; /* a bit for each box; what lies below it shows values as they were, one copy behind the other */
#endif
    uint8_t box_count;
    uint8_t locale;
    ink_screen screen;
    ink_screen boxes[INK_BOXES ? INK_BOXES : 1]; /* the front one last */
};

/* A running device. Read what you like; change it by the calls below. What is small and often used stands first: a
   processor with short instructions reaches only so far. */
struct ink_machine {
    struct ink_scene scene;
    uint8_t stale;        /* the frame is out of date: 1 by the device itself, 2 by a person */
    uint8_t full_awaited; /* at the age that the policy states */
    uint8_t sending;      /* a frame is on its way to the panel: events must wait */
    uint8_t back_count;
#if INK_KEYS_WAIT
    uint8_t waiting_first, waiting_count;
#endif
    ink_screen entered;   /* the screen entered since the last frame, and 1; 0 for none */
    ink_screen back[INK_BACK];
    ink_timers timer_count; /* of what is in front */
    ink_partials partials;  /* since the last full refresh */
    uint32_t at;            /* where rules are read */
    const INK_FLASH struct ink_rules *rules;
    const INK_FLASH struct ink_design *design;
    ink_time now, busy_until, last_refresh, last_full; /* INK_NEVER before the first */
    ink_time beaten; /* until when everything at intervals was carried out */
};

/* Cells of 32 bits that a machine needs for these rules. */
uint32_t ink_cells(const INK_FLASH struct ink_rules *rules);

/* Prepares a machine. Returns 0 where rules and design do not belong together or the cells are too few. */
int ink_init(struct ink_machine *machine, const INK_FLASH struct ink_design *design,
             const INK_FLASH struct ink_rules *rules, int32_t *cells, uint32_t count);

/* Sets a field before the begin: what was stored, and the first measurements. */
void ink_preset(struct ink_machine *machine, uint16_t field, int32_t number);

/* The device begins with its home screen. */
void ink_begin(struct ink_machine *machine, ink_time now);

/* The value of a field, in units of its last decimal. */
int32_t ink_value(const struct ink_machine *machine, uint16_t field);

/* The rings of the past, for ink_past_add. */
uint8_t *ink_past(const struct ink_machine *machine);

/* What was measured, a number within the field's range: the field takes it when it is next renewed, by its event or at its
   interval. A clock takes the time by itself. */
void ink_measured(struct ink_machine *machine, uint16_t field, int32_t number);

/* Whether a field is renewed at this time by its interval, so that it should be measured before ink_run. */
int ink_wanted(struct ink_machine *machine, ink_time now, uint16_t field);

/* A key goes down or up; the first is 0. One that waits for the panel keeps its time in 19 bits of milliseconds: of a panel
   that is busy for more than eight minutes it is not known how long a key was held before. */
enum { INK_ACTED, INK_NOTHING, INK_QUEUED, INK_DROPPED };
int ink_key(struct ink_machine *machine, ink_time now, uint8_t key, int down);

/* An event from outside. Returns 0 where it may not happen: its condition does not hold, or a frame is on its way to
   the panel (sending), and it should be told again after the refresh has begun. */
int ink_event(struct ink_machine *machine, ink_time now, uint16_t event);

/* A value arrives: what no interval and no event renews, such as whether USB is attached, the link and the charge. The
   field takes it at once; the number lies within its range. Returns 0 while a frame is on its way to the panel (sending):
   then it should be told again after the refresh has begun. */
int ink_arrived(struct ink_machine *machine, ink_time now, uint16_t field, int32_t number);

/* Another locale, where no field chooses it. */
void ink_locale(struct ink_machine *machine, uint8_t locale);

/* Carries out everything due, the panel excepted; ink_next does it too. */
void ink_run(struct ink_machine *machine, ink_time now);

/* When something happens next by itself. */
ink_time ink_wake(struct ink_machine *machine);

/* The panel refreshes until then; INK_NEVER while that is not known, the time of the moment once it has ended. */
void ink_busy(struct ink_machine *machine, ink_time until);

#ifdef __cplusplus
}
#endif

#endif
