/* Windows, waveforms, strips; see ink_panel.h. MIT OR Apache-2.0. */
#include "ink_panel.h"
#include "ink_inside.h"

enum { BY_COLUMNS = 1, BYTES_LIE_DOWN = 2, FROM_RIGHT = 4, FROM_BOTTOM = 8, LOWEST_FIRST = 16 };

/* Where bytes differ: units are the eights of pixels that a byte holds, places count across them. */
struct changed {
    uint32_t first_unit, last_unit, first_place, last_place;
    uint8_t first_bits, last_bits; /* that differ in the first and the last unit */
    uint8_t any;
};

static uint32_t word(const struct ink_panel *panel, uint8_t number)
{
    return ink_word(&panel->machine->rules, number);
}

static uint32_t panel_cells(const struct ink_machine *machine)
{
    return machine->block * (1u + machine->frozen_limit);
}

uint32_t ink_panel_cells(const INK_FLASH struct ink_rules *rules)
{
    struct ink_machine machine;
    ink_size(&machine, rules);
    return panel_cells(&machine);
}

uint32_t ink_strip_size(const INK_FLASH struct ink_rules *rules)
{
    struct ink_rules copy = *rules;
    return 2 * ink_word(&copy, INK_STRIDE);
}

int ink_panel_init(struct ink_panel *panel, struct ink_machine *machine, int32_t *cells, uint32_t count, uint8_t *strip,
                   uint32_t strip_size)
{
    const INK_FLASH struct ink_packing *packing = &machine->design->packing;
    panel->machine = machine;
    panel->shown = machine->scene;
    panel->shown.values = cells;
    panel->shown.below = cells + machine->block;
    panel->strip = strip;
    panel->strip_size = strip_size;
    panel->blank = 1;
    panel->again = panel->planes = 0;
#if INK_MEMO
    panel->memo_size = 0;
    panel->seen = 0;
#endif
    return count >= panel_cells(machine) && strip_size >= 2 * word(panel, INK_STRIDE) &&
           word(panel, INK_STRIDE) == packing->stride && word(panel, INK_LINES) == packing->lines &&
           packing->stride && packing->lines;
}

#if INK_MEMO
void ink_panel_memo(struct ink_panel *panel, uint16_t *cells, uint16_t size)
{
    panel->memo = cells;
    panel->memo_size = size;
}

/* Makes the memo of a scene, in its half of the cells or in all of them. */
static void see(struct ink_panel *panel, const struct ink_scene *scene, uint8_t half, int all)
{
    struct ink_sight *sight = panel->sights + half;
    uint16_t size = (uint16_t)(all ? panel->memo_size : panel->memo_size / 2);
    if (scene && panel->memo_size) {
        ink_view_scene(panel->machine, scene, &sight->view, sight->layers);
        ink_memo_make(&sight->memo, panel->machine->design, &sight->view, panel->memo + (half ? size : 0), size);
    }
}
#endif

/* Draws lines of a scene, by its memo where there is one. */
static void draw(struct ink_panel *panel, const struct ink_scene *scene, uint8_t half, uint8_t *strip, uint32_t first_line,
                 uint16_t lines)
{
#if INK_MEMO
    if (scene && panel->memo_size && half < 2) {
        ink_memo_draw(&panel->sights[half].memo, strip, (uint16_t)first_line, lines);
        return;
    }
#endif
    (void)half;
    ink_draw_scene(panel->machine, scene, strip, (uint16_t)first_line, lines);
}

/* Lines that a strip holds, of so many that are wanted. */
static uint16_t fits(const struct ink_panel *panel, uint32_t size, uint32_t wanted)
{
    uint32_t lines = size / panel->machine->design->packing.stride;
    return (uint16_t)(lines < wanted ? lines : wanted);
}

static INK_APART void note(struct changed *changed, uint32_t unit, uint32_t place, uint8_t bits)
{
    if (!changed->any || unit < changed->first_unit) {
        changed->first_unit = unit;
        changed->first_bits = 0;
    }
    if (!changed->any || unit > changed->last_unit) {
        changed->last_unit = unit;
        changed->last_bits = 0;
    }
    if (unit == changed->first_unit) {
        changed->first_bits |= bits;
    }
    if (unit == changed->last_unit) {
        changed->last_bits |= bits;
    }
    if (!changed->any || place < changed->first_place) {
        changed->first_place = place;
    }
    if (!changed->any || place > changed->last_place) {
        changed->last_place = place;
    }
    changed->any = 1;
}

static uint8_t layout(const struct ink_panel *panel)
{
    (void)panel;
    return INK_PANEL_LAYOUT(&panel->machine->rules);
}

/* Whether the eight pixels of a byte lie in the direction of the packed lines. */
static int along_lines(uint8_t layout)
{
    return !(layout & BY_COLUMNS) == !(layout & BYTES_LIE_DOWN);
}

/* Compares what is shown with what is to be shown. */
static void compare(struct ink_panel *panel, int whole, struct changed *changed)
{
    const struct ink_machine *machine = panel->machine;
    const struct ink_scene *shown = panel->blank ? 0 : &panel->shown;
    uint32_t stride = machine->design->packing.stride, line, at, all = machine->design->packing.lines;
    uint16_t lines;
    int along = along_lines(layout(panel));
    changed->any = 0;
    changed->first_unit = changed->last_unit = changed->first_place = changed->last_place = 0;
    changed->first_bits = changed->last_bits = 0;
#if INK_MEMO
    /* Where the first difference is enough, a memo is not worth making. */
    if (!whole) {
        see(panel, shown, 0, 0);
        see(panel, &machine->scene, 1, 0);
    }
#endif
    for (line = 0; line < all; line += lines) {
        uint8_t *old = panel->strip, *next;
        lines = fits(panel, panel->strip_size / 2, all - line);
        next = old + lines * stride;
        draw(panel, shown, whole ? 2 : 0, old, line, lines);
        draw(panel, &machine->scene, whole ? 2 : 1, next, line, lines);
        for (at = 0; at < lines * stride; at++) {
            uint8_t bits = (uint8_t)(old[at] ^ next[at]);
            if (bits) {
                uint32_t down = line + at / stride, across = at % stride;
                note(changed, along ? across : down, along ? down : across, bits);
                if (whole) {
                    return;
                }
            }
        }
    }
}

/* The first (or the last) pixel of a byte among the bits that are set. */
static uint16_t pixel(uint8_t bits, int lowest_first, int last)
{
    uint16_t at = last ? 7 : 0;
    while (!(bits >> (lowest_first ? at : 7 - at) & 1) && at < 8) {
        at = (uint16_t)(last ? at - 1 : at + 1);
    }
    return at & 7;
}

/* The aligned window around what changed. */
static void frame(const struct ink_panel *panel, const struct changed *changed, struct ink_task *task)
{
    uint8_t way = layout(panel);
    uint32_t left, right, top, bottom;
    if (way & BYTES_LIE_DOWN) {
        int lowest = (way & LOWEST_FIRST) != 0;
        left = changed->first_place;
        right = changed->last_place;
        top = changed->first_unit * 8 + pixel(changed->first_bits, lowest, 0);
        bottom = changed->last_unit * 8 + pixel(changed->last_bits, lowest, 1);
    } else {
        left = changed->first_unit * 8;
        right = changed->last_unit * 8;
        top = changed->first_place;
        bottom = changed->last_place;
    }
    task->x = (uint16_t)(left / 8 * 8);
    task->y = (uint16_t)top;
    task->width = (uint16_t)(right / 8 * 8 + 8 - task->x);
    task->height = (uint16_t)(bottom + 1 - top);
}

/* What lies inside the packed frame of a stretch; all of it, unless the rules are damaged. */
static void inside(uint32_t begin, uint32_t end, uint32_t limit, uint16_t *first, uint16_t *count)
{
    begin = begin < limit ? begin : limit;
    end = end < limit ? end : limit;
    *first = (uint16_t)begin;
    *count = (uint16_t)(end > begin ? end - begin : 0);
}

/* Where the window lies in the packed frame and on the controller. */
static void locate(const struct ink_panel *panel, struct ink_task *task)
{
    uint8_t way = layout(panel);
    uint32_t width = (word(panel, INK_WIDTH) + 7) / 8 * 8, height = word(panel, INK_HEIGHT);
    uint32_t far_x = (uint32_t)task->x + task->width, far_y = (uint32_t)task->y + task->height;
    uint32_t along = task->x, along_end = far_x, across = task->y, across_end = far_y;
    uint32_t lines = panel->machine->design->packing.lines;
    task->column = (uint16_t)((way & FROM_RIGHT ? width - far_x : task->x) + word(panel, INK_ORIGIN_X));
    task->line = (uint16_t)((way & FROM_BOTTOM ? height - far_y : task->y) + word(panel, INK_ORIGIN_Y));
    if (way & BYTES_LIE_DOWN) {
        along = task->y;
        along_end = far_y;
        across = task->x;
        across_end = far_x < word(panel, INK_WIDTH) ? far_x : word(panel, INK_WIDTH);
    }
    along /= 8;
    along_end = (along_end + 7) / 8;
    if (along_lines(way)) {
        inside(along, along_end, task->stride, &task->first_byte, &task->row_bytes);
        inside(across, across_end, lines, &task->first_line, &task->lines);
    } else {
        inside(across, across_end, task->stride, &task->first_byte, &task->row_bytes);
        inside(along, along_end, lines, &task->first_line, &task->lines);
    }
}

/* Why the update must be full; see the enum. */
static uint8_t reason(const struct ink_machine *machine, int16_t temperature, uint16_t entered, int *covered)
{
    const struct ink_rules *rules = &machine->rules;
    struct ink_reader reader = ink_reader_at(rules, ink_word(rules, INK_POLICY_AT));
    uint8_t flags = ink_byte(rules, INK_AT_POLICY);
    uint32_t limit = ink_number(&reader);
    int32_t low, high;
    ink_time age;
    (void)ink_duration(&reader);
    age = ink_duration(&reader);
    low = ink_signed(&reader);
    high = ink_signed(&reader);
    *covered = temperature >= low && temperature <= high;
    low = ink_signed(&reader);
    high = ink_signed(&reader);
    if (!(flags & 2u)) {
        return INK_NO_PARTIAL;
    }
    if (machine->last_full == INK_NEVER) {
        return INK_FIRST;
    }
    if (temperature < low) {
        return INK_TOO_COLD;
    }
    if (temperature > high) {
        return INK_TOO_WARM;
    }
    if (entered && ink_screen_flags(rules, entered - 1u) & 4u) {
        return INK_ENTRY;
    }
    if (machine->partials >= limit) {
        return INK_LIMIT;
    }
    return flags & 4u && machine->now - machine->last_full >= age ? INK_AGE : INK_NO_REASON;
}

/* The panel now shows what the machine has. */
static void adopt(struct ink_panel *panel)
{
    const struct ink_machine *machine = panel->machine;
    struct ink_scene *shown = &panel->shown;
    uint32_t at, cells = panel_cells(machine);
    int32_t *values = shown->values, *below = shown->below;
    *shown = machine->scene;
    shown->values = values;
    shown->below = below;
    for (at = 0; at < cells; at++) {
        values[at] = machine->scene.values[at];
    }
    panel->blank = 0;
}

/* Prepares an update; nothing is sent where no waveform serves. */
static int prepare(struct ink_panel *panel, uint8_t why, int covered, const struct changed *changed)
{
    struct ink_machine *machine = panel->machine;
    struct ink_task *task = &panel->task;
    if (why && !covered) {
        return 0;
    }
    task->kind = INK_SEND;
    task->mode = why ? INK_FULL : INK_PARTIAL;
    task->reason = why;
    task->stride = machine->design->packing.stride;
    if (why) {
        task->x = task->y = 0;
        task->width = (uint16_t)((word(panel, INK_WIDTH) + 7) / 8 * 8);
        task->height = (uint16_t)word(panel, INK_HEIGHT);
        locate(panel, task);
        task->first_byte = task->first_line = 0;
        task->row_bytes = task->stride;
        task->lines = machine->design->packing.lines;
        machine->partials = 0;
        machine->last_full = machine->now;
        machine->full_awaited = ink_byte(&machine->rules, INK_AT_POLICY) & 4u ? 1 : machine->full_awaited;
    } else {
        frame(panel, changed, task);
        locate(panel, task);
        machine->partials++;
    }
    machine->last_refresh = machine->now;
    machine->busy_until = INK_NEVER;
    machine->sending = 1;
    panel->planes = ink_byte(&machine->rules, why ? INK_AT_PLANES : INK_AT_PARTIAL_PLANES) > 1 ? 2 : 1;
    panel->next_line = task->first_line;
#if INK_MEMO
    panel->seen = 0;
#endif
    return 1;
}

/* The next lines of the update under way, then its refresh. */
static void send(struct ink_panel *panel, struct ink_task *task)
{
    struct ink_machine *machine = panel->machine;
    const struct ink_scene *scene = &machine->scene;
    uint32_t end = (uint32_t)panel->task.first_line + panel->task.lines;
    *task = panel->task;
    if (panel->planes && panel->next_line >= end) {
        panel->planes--;
        panel->next_line = task->first_line;
#if INK_MEMO
        panel->seen = 0;
#endif
    }
    if (!panel->planes) {
        if (!panel->again) {
            adopt(panel);
        }
        panel->again = 0;
        machine->sending = 0;
        task->kind = INK_REFRESH;
        return;
    }
    task->plane = panel->planes == 2 ? INK_PLANE_OLD : INK_PLANE_NEW;
    if (panel->planes == 2 || panel->again) {
        scene = panel->blank ? 0 : &panel->shown;
    }
    task->first_line = panel->next_line;
    task->lines = fits(panel, panel->strip_size, end - panel->next_line);
#if INK_MEMO
    if (!panel->seen) {
        see(panel, scene, 0, 1);
        panel->seen = 1;
    }
#endif
    draw(panel, scene, 0, panel->strip, task->first_line, task->lines);
    task->bytes = panel->strip + task->first_byte;
    panel->next_line = (uint16_t)(panel->next_line + task->lines);
}

static void choose_locale(struct ink_machine *machine)
{
    uint32_t field = ink_word(&machine->rules, INK_LANGUAGE), count = ink_word(&machine->rules, INK_LOCALES);
    if (field) {
        int32_t locale = ink_value(machine, field - 1);
        if (locale < 0 || !count) {
            locale = 0;
        } else if ((uint32_t)locale >= count) {
            locale = (int32_t)(count - 1);
        }
        machine->scene.locale = (uint8_t)locale;
    }
}

/* Looks at the panel: 1 where an update was prepared, 0 where nothing is to be done, -1 where it cannot be shown. */
static int look(struct ink_panel *panel, int16_t temperature)
{
    struct ink_machine *machine = panel->machine;
    struct changed changed;
    uint16_t entered = 0;
    ink_time due;
    int covered;
    uint8_t why;
    if (ink_look(machine, &entered)) {
        choose_locale(machine);
        why = reason(machine, temperature, entered, &covered);
        changed.any = machine->last_full == INK_NEVER;
        if (!changed.any) {
            compare(panel, why != INK_NO_REASON, &changed);
        }
        if (changed.any) {
            return prepare(panel, why, covered, &changed) ? 1 : -1;
        }
        adopt(panel);
    }
    if (ink_full_due(machine, &due) && due <= machine->now) {
        machine->full_awaited = 0;
        (void)reason(machine, temperature, 0, &covered);
        panel->again = 1;
        if (prepare(panel, INK_AGE, covered, 0)) {
            return 1;
        }
        panel->again = 0;
        return -1;
    }
    return 0;
}

void ink_next(struct ink_panel *panel, ink_time now, int16_t temperature, struct ink_task *task)
{
    struct ink_machine *machine = panel->machine;
    int looked = 0;
    if (!machine->sending) {
        ink_run(machine, now);
        looked = machine->now < machine->busy_until ? 0 : look(panel, temperature);
    }
    if (machine->sending) {
        send(panel, task);
        return;
    }
    *task = panel->task;
    task->kind = looked < 0 ? INK_BLOCKED : INK_SLEEP;
    task->until = ink_wake(machine);
}
