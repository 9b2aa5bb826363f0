/* Written by inkjoule. Changes here are lost with the next export. */

/* What Rust asks of the machine in C: one device's state in one structure, and each call as Rust makes it. Compiled by
   build.rs; src/ffi.rs declares the same functions. */
#include "@NAME@.h"

/* A device but for its strip, which Rust hands out lines of. */
struct ink_rust_state {
    struct ink_machine machine;
    struct ink_panel panel;
    int32_t cells[@UPPER@_CELLS];
    int32_t panel_cells[@UPPER@_PANEL_CELLS];
#if INK_MEMO
    uint16_t memo[@MEMO@];
#endif
};

/* A task without its addresses; all of 16 bits, so that every compiler lays it out alike. */
struct ink_rust_task {
    uint16_t mode, reason, plane;
    uint16_t x, y, width, height, column, line;
    uint16_t first_line, lines, first_byte, row_bytes, stride;
};

/* What src/ffi.rs takes for granted. Where it is not so, this does not compile: the state has room in what Rust keeps for
   it, tasks are laid out without gaps, and numbers mean what Rust takes them for. */
#define STATE_BYTES (sizeof(void *) > 4 ? @STATE64@u : @STATE32@u)
#define STATED(what, holds) typedef char ink_rust_##what[(holds) ? 1 : -1]
struct ink_rust_aligned {
    char front;
    struct ink_rust_state state;
};
STATED(state_has_room, sizeof(struct ink_rust_state) <= STATE_BYTES);
STATED(state_is_aligned, sizeof(struct ink_rust_aligned) - sizeof(struct ink_rust_state) <= 8);
STATED(task_has_no_gaps, sizeof(struct ink_rust_task) == 14 * sizeof(uint16_t));
STATED(tasks, INK_SLEEP == 0 && INK_SEND == 1 && INK_REFRESH == 2 && INK_BLOCKED == 3);
STATED(modes, INK_FULL == 0 && INK_PARTIAL == 1 && INK_PLANE_NEW == 0 && INK_PLANE_OLD == 1);
STATED(reasons, INK_NO_PARTIAL == 1 && INK_FIRST == 2 && INK_TOO_COLD == 3 && INK_TOO_WARM == 4);
STATED(more_reasons, INK_ENTRY == 5 && INK_LIMIT == 6 && INK_AGE == 7);
STATED(answers, INK_ACTED == 0 && INK_NOTHING == 1 && INK_QUEUED == 2 && INK_DROPPED == 3);

uint8_t ink_rust_init(struct ink_rust_state *state, uint8_t *strip)
{
    if (!ink_init(&state->machine, &@NAME@_design, &@NAME@_rules, state->cells, @UPPER@_CELLS) ||
        !ink_panel_init(&state->panel, &state->machine, state->panel_cells, @UPPER@_PANEL_CELLS, strip,
                        @STRIP@ul * @UPPER@_STRIDE)) {
        return 0;
    }
#if INK_MEMO
    ink_panel_memo(&state->panel, state->memo, @MEMO@);
#endif
    return 1;
}

uint8_t ink_rust_sound(void)
{
    return ink_sound(&@NAME@_seal) != 0;
}

void ink_rust_begin(struct ink_rust_state *state, uint64_t now)
{
    ink_begin(&state->machine, now);
}

uint8_t ink_rust_next(struct ink_rust_state *state, uint64_t now, int16_t temperature, uint64_t *until,
                      struct ink_rust_task *rust)
{
    struct ink_task task;
    ink_next(&state->panel, now, temperature, &task);
    if (task.kind == INK_SLEEP) {
        *until = task.until;
    }
    if (task.kind == INK_SEND || task.kind == INK_REFRESH) {
        rust->mode = task.mode;
        rust->reason = task.reason;
        rust->x = task.x;
        rust->y = task.y;
        rust->width = task.width;
        rust->height = task.height;
        rust->column = task.column;
        rust->line = task.line;
    }
    if (task.kind == INK_SEND) {
        rust->plane = task.plane;
        rust->first_line = task.first_line;
        rust->lines = task.lines;
        rust->first_byte = task.first_byte;
        rust->row_bytes = task.row_bytes;
        rust->stride = task.stride;
    }
    return task.kind;
}

void ink_rust_run(struct ink_rust_state *state, uint64_t now)
{
    ink_run(&state->machine, now);
}

uint64_t ink_rust_wake(struct ink_rust_state *state)
{
    return ink_wake(&state->machine);
}

void ink_rust_busy(struct ink_rust_state *state, uint64_t until)
{
    ink_busy(&state->machine, until);
}

uint8_t ink_rust_sending(const struct ink_rust_state *state)
{
    return state->machine.sending;
}

uint16_t ink_rust_screen(const struct ink_rust_state *state)
{
    return state->machine.scene.screen;
}

uint8_t ink_rust_locale_now(const struct ink_rust_state *state)
{
    return state->machine.scene.locale;
}

uint8_t ink_rust_box_count(const struct ink_rust_state *state)
{
    return state->machine.scene.box_count;
}

uint16_t ink_rust_box(const struct ink_rust_state *state, uint8_t at)
{
    return at < state->machine.scene.box_count ? state->machine.scene.boxes[at] : state->machine.scene.screen;
}
@IF:FIELDS@

void ink_rust_preset(struct ink_rust_state *state, uint16_t field, int32_t number)
{
    ink_preset(&state->machine, field, number);
}

void ink_rust_past_add(struct ink_rust_state *state, uint16_t field, int32_t number)
{
    ink_past_add(&@NAME@_design, ink_past(&state->machine), field, number);
}

int32_t ink_rust_value(const struct ink_rust_state *state, uint16_t field)
{
    return ink_value(&state->machine, field);
}

void ink_rust_measured(struct ink_rust_state *state, uint16_t field, int32_t number)
{
    ink_measured(&state->machine, field, number);
}

uint8_t ink_rust_wanted(struct ink_rust_state *state, uint64_t now, uint16_t field)
{
    return ink_wanted(&state->machine, now, field) != 0;
}

uint8_t ink_rust_arrived(struct ink_rust_state *state, uint64_t now, uint16_t field, int32_t number)
{
    return ink_arrived(&state->machine, now, field, number) != 0;
}
@END@
@IF:KEYS@

uint8_t ink_rust_key(struct ink_rust_state *state, uint64_t now, uint8_t key, uint8_t down)
{
    return (uint8_t)ink_key(&state->machine, now, key, down);
}
@END@
@IF:EVENTS@

uint8_t ink_rust_event(struct ink_rust_state *state, uint64_t now, uint16_t event)
{
    return ink_event(&state->machine, now, event) != 0;
}
@END@
@IF:LOCALES@

void ink_rust_locale(struct ink_rust_state *state, uint8_t locale)
{
    ink_locale(&state->machine, locale);
}
@END@
