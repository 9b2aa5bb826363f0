/* Runs the machine in C by scripts from standard input and tells its state after every input. The rules, pictures and
   inputs all come in, so that one program serves every design; where INK_DESIGN is defined, a design is compiled in with its
   rules, and where INK_PICTURES is, it draws its own pictures too. */
#include "ink_panel.h"
#ifdef INK_DESIGN
#include "screens_live.h"
#endif
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#ifdef INK_AVR
#include "avr_board.h"
#endif

static uint8_t *rule_bytes, *before, *after;
static struct ink_machine machine;
static struct ink_panel panel;
static int32_t *cells, *panel_cells;
static uint8_t *strip;
static uint32_t frame_size;
static uint16_t fields;
#ifdef INK_DESIGN
static const struct ink_design *const design = &screens_live_design;
static const struct ink_rules *const rules = &screens_live_rules;
#else
static struct ink_design plain;
static const struct ink_design *const design = &plain;
static struct ink_rules given;
static const struct ink_rules *const rules = &given;
#endif

static uint32_t get(int bytes)
{
    uint32_t number = 0;
    int at;
    for (at = 0; at < bytes; at++) {
        number |= (uint32_t)getchar() << 8 * at;
    }
    return number;
}

static uint64_t get_long(void)
{
    uint64_t low = get(4);
    return low | (uint64_t)get(4) << 32;
}

static void get_bytes(uint8_t *to, uint32_t count)
{
    for (; count; count--) {
        int byte = getchar();
        if (byte == EOF) {
            exit(3);
        }
        *to++ = (uint8_t)byte;
    }
}

static void put(uint32_t number, int bytes)
{
    for (; bytes; bytes--, number >>= 8) {
        putchar((int)(number & 255));
    }
}

static void put_long(uint64_t number)
{
    put((uint32_t)number, 4);
    put((uint32_t)(number >> 32), 4);
}

/* Exactly as many bytes as asked for, so that the sanitizers see every step outside. */
static void *room(uint32_t bytes)
{
    void *place = malloc(bytes ? bytes : 1);
    if (!place) {
        exit(4);
    }
    return place;
}

#ifdef INK_DESIGN
static void get_design(void)
{
    (void)get(2), (void)get(2), (void)get(1), (void)get(2), (void)get(2);
}
#else
static void get_design(void)
{
    plain.packing.lines = (uint16_t)get(2);
    plain.packing.stride = (uint16_t)get(2);
    plain.packing.ink = (uint8_t)get(1);
    plain.field_count = (uint16_t)get(2);
    plain.screen_count = (uint16_t)get(2);
}
#endif

#ifndef INK_PICTURES
#include "ink_draw_values.h"

void ink_draw(const struct ink_design *of, const struct ink_view *view, uint8_t *to, uint16_t first_line, uint16_t lines)
{
    uint32_t stride = of->packing.stride;
    if (!view->layer_count) {
        /* The panel shows nothing yet. */
        memset(to, of->packing.ink ? 0 : 255, lines * stride);
        return;
    }
    memcpy(to, (view->layers->values == panel.shown.values ? before : after) + first_line * stride, lines * stride);
}

void ink_past_clear(const struct ink_design *of, uint8_t *past)
{
    memset(past, 0, of->past_size);
}

void ink_past_add(const struct ink_design *of, uint8_t *past, uint16_t field, int32_t value)
{
    (void)of, (void)past, (void)field, (void)value;
}
#endif

static void state(void)
{
    uint32_t at;
    put_long(ink_wake(&machine));
    put(machine.scene.screen, 2);
    put(machine.scene.box_count, 1);
    for (at = 0; at < machine.scene.box_count; at++) {
        put(machine.scene.boxes[at], 2);
    }
    put(machine.back_count, 1);
    for (at = 0; at < machine.back_count; at++) {
        put(machine.back[at], 2);
    }
    put(machine.scene.locale, 1);
    put(machine.partials, 4);
    for (at = 0; at < fields; at++) {
        put((uint32_t)ink_value(&machine, (uint16_t)at), 4);
    }
}

static void next(void)
{
    struct ink_task task;
    ink_time now = get_long(), duration;
    int16_t temperature = (int16_t)get(2);
    int flags;
    uint32_t sent[2] = { 0, 0 };
    duration = get(4);
    flags = getchar();
    if (flags & 1) {
        get_bytes(before, frame_size);
    }
    if (flags & 2) {
        get_bytes(after, frame_size);
    }
    do {
        ink_next(&panel, now, temperature, &task);
        if (task.kind == INK_SEND) {
            uint32_t at;
            if (task.first_line + task.lines > design->packing.lines || task.first_byte + task.row_bytes > task.stride ||
                !task.lines || ink_event(&machine, now, 0)) {
                exit(5);
            }
            /* What is sent is part of the picture of its plane; before the first it is paper. */
            for (at = 0; at < task.lines; at++) {
                const uint8_t *line = task.bytes + at * task.stride;
                const uint8_t *from = (task.plane == INK_PLANE_OLD || panel.again ? before : after) +
                                      (task.first_line + at) * task.stride + task.first_byte;
                if (!(panel.blank && task.plane == INK_PLANE_OLD) && memcmp(line, from, task.row_bytes)) {
                    exit(6);
                }
                sent[task.plane] += task.row_bytes;
            }
        }
    } while (task.kind == INK_SEND);
    put(task.kind, 1);
    if (task.kind == INK_REFRESH) {
        put(task.mode, 1);
        put(task.reason, 1);
        put(task.x, 2), put(task.y, 2), put(task.width, 2), put(task.height, 2), put(task.column, 2), put(task.line, 2);
        put(sent[INK_PLANE_OLD], 4), put(sent[INK_PLANE_NEW], 4);
        ink_busy(&machine, now + duration);
    }
}

static void begin(void)
{
    uint32_t at, count = ink_cells(rules), more = ink_panel_cells(rules), size = ink_strip_size(rules) * (1 + get(1));
    free(cells), free(panel_cells), free(strip);
    cells = room(4 * count), panel_cells = room(4 * more), strip = room(size);
    if (ink_init(&machine, design, rules, cells, count - 1) || !ink_init(&machine, design, rules, cells, count) ||
        !ink_panel_init(&panel, &machine, panel_cells, more, strip, size)) {
        exit(7);
    }
#if INK_MEMO
    {
        static uint16_t memo[700];
        ink_panel_memo(&panel, memo, (uint16_t)(200 + size % 500));
    }
#endif
    for (at = 0; at < fields; at++) {
        uint32_t past;
        ink_preset(&machine, (uint16_t)at, (int32_t)get(4));
        for (past = get(2); past; past--) {
            ink_past_add(design, ink_past(&machine), (uint16_t)at, (int32_t)get(4));
        }
    }
    ink_begin(&machine, get_long());
}

int main(void)
{
    int input;
    uint32_t count, own, any;
#ifdef INK_FILES
    if (!freopen("scripts.in", "rb", stdin) || !freopen("scripts.told", "wb", stdout)) {
        return 10;
    }
#endif
    count = get(4);
    rule_bytes = room(count);
    get_bytes(rule_bytes, count);
#ifndef INK_DESIGN
    given.size = count;
    given.bytes = rule_bytes;
#endif
    get_design();
    fields = design->field_count;
    /* Cells for the one design and for any. */
    own = get(4), any = get(4);
    if (ink_cells(rules) != (INK_STATED ? own : any)) {
        return 8;
    }
    own = get(4), any = get(4);
    if (ink_panel_cells(rules) != (INK_STATED ? own : any)) {
        return 8;
    }
    frame_size = design->packing.lines * (uint32_t)design->packing.stride;
    before = room(frame_size), after = room(frame_size);
    while ((input = getchar()) != EOF) {
        ink_time now;
        switch (input) {
        case 'B':
            begin();
            break;
        case 'K': {
            int key = getchar(), down = getchar();
            now = get_long();
            put((uint32_t)ink_key(&machine, now, (uint8_t)key, down), 1);
            break;
        }
        case 'E': {
            uint16_t event = (uint16_t)get(2);
            now = get_long();
            put((uint32_t)ink_event(&machine, now, event), 1);
            break;
        }
        case 'A': {
            uint16_t field = (uint16_t)get(2);
            int32_t number = (int32_t)get(4);
            now = get_long();
            put((uint32_t)ink_arrived(&machine, now, field, number), 1);
            break;
        }
        case 'V': {
            uint16_t field = (uint16_t)get(2);
            ink_measured(&machine, field, (int32_t)get(4));
            continue;
        }
        case 'N':
            next();
            break;
        default:
            return 9;
        }
        state();
    }
    free(cells), free(panel_cells), free(strip), free(before), free(after), free(rule_bytes);
    return 0;
}
