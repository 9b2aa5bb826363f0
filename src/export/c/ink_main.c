#include "@NAME@.h"

#ifdef INK_HOST
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#endif

/* Lines that are drawn at once; more make updates faster, two are the least. */
#define STRIP_LINES @STRIP@

static int32_t cells[@UPPER@_CELLS], panel_cells[@UPPER@_PANEL_CELLS];
static uint8_t strip[STRIP_LINES * @UPPER@_STRIDE];

/* 1: the image goes through the external memory, as the budget has it; 0: lines are sent as they are drawn. */
#ifndef EXTERNAL_MEMORY
#define EXTERNAL_MEMORY @EXTERNAL@
#endif
#if EXTERNAL_MEMORY
/* Bytes of one plane in the memory: lines of the packed frame, one after the other; the plane old follows the plane new. */
#define PLANE_BYTES (@UPPER@_LINES * (uint32_t)@UPPER@_STRIDE)
#endif
@MEMO@
#ifndef INK_HOST
/* ---- Fill these in ------------------------------------------------------------------------------------------------- */

/* Called once before anything else: clocks, pins, bus. */
static void board_start(void)
{
}

/* Values at the start: stored settings and first measurements, each by ink_preset(machine, @UPPER@_FIELD_..., number), a
   number in units of the field's last decimal. Settings that are not set begin with the design's sample values. */
static void load_values(struct ink_machine *machine)
{
    (void)machine;
}

/* Milliseconds after midnight of @START@, local time, from the clock that runs while the device sleeps. */
static ink_time time_now(void)
{
    return 0;
}

/* Temperature of the panel in tenths of a degree Celsius. */
static int16_t temperature(void)
{
    return 200;
}

/* Keys and events since the last call, in order: ink_key(machine, now, 0, 1) for the first key going down, with 0 for its
   going up; ink_event(machine, now, @UPPER@_EVENT_...) for what happens outside; ink_arrived(machine, now, field, number) for
   states of the device that fields hold: external power, charging, charge, link. Debounce keys before. */
static void take_inputs(struct ink_machine *machine, ink_time now)
{
    (void)machine;
    (void)now;
}

/* Measures every field that ink_wanted(machine, now, field) asks for, and tells it by ink_measured(machine, field, number).
   Fields that an event renews are told before the event, with the rest of what it brings. */
static void measure(struct ink_machine *machine, ink_time now)
{
    (void)machine;
    (void)now;
}

#if EXTERNAL_MEMORY
/* Writes bytes to the external memory. */
static void memory_write(uint32_t at, const uint8_t *bytes, uint16_t count)
{
    (void)at;
    (void)bytes;
    (void)count;
}

/* Reads bytes from it. */
static void memory_read(uint32_t at, uint8_t *bytes, uint16_t count)
{
    (void)at;
    (void)bytes;
    (void)count;
}
#endif

/* Sends task->lines lines of task->row_bytes bytes, task->stride bytes apart from task->bytes on, to the panel's memory for
   task->plane: new, or old where the controller compares. They are lines from task->first_line on of the packed frame,
   and lie inside the window that begins at task->column and task->line as the controller counts. Wake and initialise the
   panel before the first lines of an update. */
static void panel_send(const struct ink_task *task)
{
    (void)task;
}

/* Begins the refresh with the waveform of task->mode: INK_FULL or INK_PARTIAL. Returns at once. */
static void panel_refresh(const struct ink_task *task)
{
    (void)task;
}

/* Whether the panel's refresh has ended; puts the panel to sleep then. */
static int panel_ready(void)
{
    return 1;
}

/* Sleeps until that time, a key, an event or the panel's end of busy, whichever is first; INK_NEVER: no time by itself. */
static int board_sleep(ink_time until)
{
    (void)until;
    return 1;
}

/* The frame is new, but no waveform of the panel serves this temperature. */
static void panel_blocked(void)
{
}

#else
/* ---- On a computer: a script from standard input, a frame for each refresh ----------------------------------------- */

/* A line of the script: milliseconds since the line before, then `press KEY`, `down KEY`, `up KEY` (the first is 1),
   `event NUMBER`, `measure FIELD NUMBER`, `arrive FIELD NUMBER`, `temperature TENTHS` or `wait`. Each refresh is written as a
   portable bitmap into the folder named by the first argument, and told on standard output. */

static const int32_t sample[] = {
@SAMPLE@};

static ink_time host_time = (ink_time)@BEGIN@u, host_line, host_ready;
static char host_word[16];
static long host_numbers[2];
static int host_temperature = 200, host_more, host_pictures;
static uint8_t host_frame[@UPPER@_LINES * (uint32_t)@UPPER@_STRIDE];
static const char *host_folder = ".";

static void host_read(void)
{
    char line[128];
    unsigned long wait;
    host_more = fgets(line, sizeof line, stdin) && sscanf(line, "%lu %15s %ld %ld", &wait, host_word, host_numbers,
                                                          host_numbers + 1) >= 2;
    if (host_more) {
        host_line += wait;
    }
}

static void board_start(void)
{
    host_line = host_time;
    host_read();
}

static void load_values(struct ink_machine *machine)
{
    uint16_t at;
    for (at = 0; at != @UPPER@_FIELDS; at++) {
        ink_preset(machine, at, sample[at]);
    }
@PAST@}

static ink_time time_now(void)
{
    return host_time;
}

static int16_t temperature(void)
{
    return (int16_t)host_temperature;
}

static void take_inputs(struct ink_machine *machine, ink_time now)
{
    while (host_more && host_line <= now) {
        uint8_t key = (uint8_t)(host_numbers[0] - 1);
        if (!strcmp(host_word, "press") || !strcmp(host_word, "down")) {
            (void)ink_key(machine, now, key, 1);
        }
        if (!strcmp(host_word, "press") || !strcmp(host_word, "up")) {
            (void)ink_key(machine, now, key, 0);
        }
        if ((!strcmp(host_word, "event") || !strcmp(host_word, "arrive")) && machine->sending) {
            return;
        }
        if (!strcmp(host_word, "event")) {
            (void)ink_event(machine, now, (uint16_t)host_numbers[0]);
        } else if (!strcmp(host_word, "measure")) {
            ink_measured(machine, (uint16_t)host_numbers[0], (int32_t)host_numbers[1]);
        } else if (!strcmp(host_word, "arrive")) {
            (void)ink_arrived(machine, now, (uint16_t)host_numbers[0], (int32_t)host_numbers[1]);
        } else if (!strcmp(host_word, "temperature")) {
            host_temperature = (int)host_numbers[0];
        }
        host_read();
    }
}

static void measure(struct ink_machine *machine, ink_time now)
{
    (void)machine;
    (void)now;
}

#if EXTERNAL_MEMORY
static uint8_t host_memory[2 * PLANE_BYTES];

static void memory_write(uint32_t at, const uint8_t *bytes, uint16_t count)
{
    memcpy(host_memory + at, bytes, count);
}

static void memory_read(uint32_t at, uint8_t *bytes, uint16_t count)
{
    memcpy(bytes, host_memory + at, count);
}
#endif

static void panel_send(const struct ink_task *task)
{
    uint16_t line;
    for (line = 0; task->plane == INK_PLANE_NEW && line < task->lines; line++) {
        memcpy(host_frame + (uint32_t)(task->first_line + line) * @UPPER@_STRIDE + task->first_byte,
               task->bytes + (uint32_t)line * task->stride, task->row_bytes);
    }
}

static int host_ink(int x, int y)
{
    const struct ink_packing *to = &@NAME@_design.packing;
    int a = x * to->ax + y * to->ay + to->a0, b = x * to->bx + y * to->by + to->b0;
    int bit = host_frame[a / 8 * to->a_step + b * to->b_step] >> ((a & 7) ^ to->first_bit) & 1;
    return bit == to->ink;
}

static void panel_refresh(const struct ink_task *task)
{
    char name[256];
    FILE *file;
    int x, y;
    host_ready = host_time + (task->mode == INK_FULL ? @FULL@u : @PARTIAL@u);
    if (snprintf(name, sizeof name, "%s/%04d.pbm", host_folder, host_pictures) >= (int)sizeof name) {
        exit(1);
    }
    file = fopen(name, "wb");
    if (!file) {
        perror(name);
        exit(1);
    }
    fprintf(file, "P4\n%d %d\n", @UPPER@_WIDTH, @UPPER@_HEIGHT);
    for (y = 0; y < @UPPER@_HEIGHT; y++) {
        int byte = 0;
        for (x = 0; x < (@UPPER@_WIDTH + 7) / 8 * 8; x++) {
            byte = byte << 1 | (x < @UPPER@_WIDTH && host_ink(x, y));
            if (x % 8 == 7) {
                (void)fputc(byte, file);
                byte = 0;
            }
        }
    }
    (void)fclose(file);
    printf("%04d.pbm at %lu ms: %s, %d x %d at %d, %d\n", host_pictures++, (unsigned long)host_time,
           task->mode == INK_FULL ? "full" : "partial", task->width, task->height, task->x, task->y);
}

static int panel_ready(void)
{
    return host_time >= host_ready;
}

/* Time passes at once: to the next wake-up, the script's next line or the end of a refresh. */
static int board_sleep(ink_time until)
{
    if (host_more && host_line < until) {
        until = host_line;
    }
    if (host_time < host_ready && host_ready < until) {
        until = host_ready;
    }
    if (!host_more && host_time >= host_ready) {
        return 0;
    }
    host_time = until > host_time ? until : host_time;
    return until != INK_NEVER;
}

static void panel_blocked(void)
{
    puts("no waveform of the panel serves this temperature");
}
#endif

#if EXTERNAL_MEMORY
/* What of each plane lies in the memory: the first lines of the window, and how many. */
static struct ink_task kept[2];

/* Notes lines in the memory. */
static void keep(const struct ink_task *task)
{
    struct ink_task *all = kept + task->plane;
    uint32_t at = task->plane * PLANE_BYTES + task->first_line * (uint32_t)@UPPER@_STRIDE + task->first_byte;
    uint16_t line;
    for (line = 0; line < task->lines; line++) {
        memory_write(at + line * (uint32_t)@UPPER@_STRIDE, task->bytes + line * (uint32_t)task->stride, task->row_bytes);
    }
    if (all->lines) {
        all->lines = (uint16_t)(all->lines + task->lines);
    } else {
        *all = *task;
    }
}

/* Sends what was noted, so many lines at a time as the strip holds. */
static void send_kept(void)
{
    uint8_t plane;
    for (plane = 0; plane < 2; plane++) {
        uint16_t left = kept[plane].lines;
        struct ink_task task = kept[plane];
        uint32_t at = plane * PLANE_BYTES + task.first_line * (uint32_t)@UPPER@_STRIDE + task.first_byte;
        task.bytes = strip;
        while (left) {
            uint16_t line;
            task.lines = left < STRIP_LINES ? left : STRIP_LINES;
            for (line = 0; line < task.lines; line++, at += @UPPER@_STRIDE) {
                memory_read(at, strip + line * (uint32_t)task.stride, task.row_bytes);
            }
            panel_send(&task);
            task.first_line = (uint16_t)(task.first_line + task.lines);
            left = (uint16_t)(left - task.lines);
        }
        kept[plane].lines = 0;
    }
}
#endif

/* ---- The device ------------------------------------------------------------------------------------------------------ */

#ifdef INK_HOST
int main(int count, char **arguments)
#else
int main(void)
#endif
{
    struct ink_machine machine;
    struct ink_panel panel;
    struct ink_task task;
    int refreshing = 0, runs = 1;
#ifdef INK_HOST
    if (count > 1) {
        host_folder = arguments[1];
    }
#endif
    board_start();
    if (!ink_init(&machine, &@NAME@_design, &@NAME@_rules, cells, @UPPER@_CELLS) ||
        !ink_panel_init(&panel, &machine, panel_cells, @UPPER@_PANEL_CELLS, strip, sizeof strip)) {
        return 1;
    }
@REMEMBER@    load_values(&machine);
    ink_begin(&machine, time_now());
    while (runs) {
        ink_time now = time_now();
        if (refreshing && panel_ready()) {
            refreshing = 0;
            ink_busy(&machine, now);
        }
        take_inputs(&machine, now);
        measure(&machine, now);
        ink_next(&panel, now, temperature(), &task);
        switch (task.kind) {
        case INK_SEND:
#if EXTERNAL_MEMORY
            keep(&task);
#else
            panel_send(&task);
#endif
            break;
        case INK_REFRESH:
#if EXTERNAL_MEMORY
            send_kept();
#endif
            panel_refresh(&task);
            ink_busy(&machine, INK_NEVER);
            refreshing = 1;
            break;
        case INK_BLOCKED:
            panel_blocked();
            break;
        default:
            runs = board_sleep(task.until);
        }
    }
    return 0;
}
