/* Part of ink_machine.c, which includes it: windows, waveforms, strips; see ink_panel.h. MIT OR Apache-2.0. */

enum { BY_COLUMNS = 1, BYTES_LIE_DOWN = 2, FROM_RIGHT = 4, FROM_BOTTOM = 8, LOWEST_FIRST = 16 };

#define STRIDE(machine) FACT(machine, STRIDE)
#define LINES(machine) FACT(machine, LINES)
#define LAYOUT(machine) FACT(machine, LAYOUT)

/* Cells of a scene's values. */
#define SCENE_CELLS FRESH_AT

uint32_t ink_panel_cells(const INK_FLASH struct ink_rules *rules)
{
    return SCENE_CELLS(rules);
}

uint32_t ink_strip_size(const INK_FLASH struct ink_rules *rules)
{
    return 2 * FACT_OF(rules, STRIDE);
}

int ink_panel_init(struct ink_panel *panel, struct ink_machine *machine, int32_t *cells, uint32_t count, uint8_t *strip,
                   uint32_t strip_size)
{
    const INK_FLASH struct ink_packing *packing = &machine->design->packing;
    panel->machine = machine;
    panel->shown.values = cells;
    panel->strip = strip;
    panel->strip_size = strip_size;
    panel->blank = 1;
    panel->again = panel->planes = 0;
#if INK_MEMO
    panel->memo_size = 0;
    panel->seen = 0;
#endif
    return count >= SCENE_CELLS(machine->rules) && strip_size >= 2 * STRIDE(machine) &&
           STRIDE(machine) == packing->stride && LINES(machine) == packing->lines && packing->stride && packing->lines;
}

/* One layer of a scene: 0 the screen, then its boxes. */
static INK_APART void layer_of(const struct ink_machine *machine, const struct ink_scene *scene, uint8_t which,
                     struct ink_layer *layer)
{
    const int32_t *values = scene->values;
#if INK_FROZEN
    /* The nearest frozen box above a layer keeps its values. */
    uint8_t above, kept;
    for (above = 0, kept = 0; above < scene->box_count; above++) {
        if (scene->frozen >> above & 1) {
            kept++;
            if (above >= which) {
                values += kept * BLOCK(machine->rules);
                break;
            }
        }
    }
#endif
    (void)machine;
    layer->screen = (uint16_t)((which ? scene->boxes[which - 1] | INK_OVER : scene->screen) | INK_KEPT);
    layer->values = values;
    layer->past = (const uint8_t *)(values + INK_VALUE_CELLS(FIELDS(machine->rules)));
}

#if INK_MEMO
void ink_view_scene(const struct ink_machine *machine, const struct ink_scene *scene, struct ink_view *view,
                    struct ink_layer *layers)
{
    uint8_t layer;
    view->layers = layers;
    view->layer_count = (uint8_t)(scene->box_count + 1);
    view->locale = scene->locale;
    for (layer = 0; layer < view->layer_count; layer++) {
        layer_of(machine, scene, layer, layers + layer);
    }
}
#endif

void ink_draw_scene(const struct ink_machine *machine, const struct ink_scene *scene, uint8_t *strip,
                    uint16_t first_line, uint16_t lines)
{
    struct ink_layer layer;
    struct ink_view view;
    uint8_t which = 0;
    view.layers = &layer;
    view.layer_count = view.locale = 0;
    /* One by one, because all layers at once would take the stack. */
    do {
        if (scene) {
            view.layer_count = 1;
            view.locale = scene->locale;
            layer_of(machine, scene, which, &layer);
        }
        ink_draw(machine->design, &view, strip, first_line, lines);
    } while (scene && which++ < scene->box_count);
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
    return (uint16_t)at_most(size / STRIDE(panel->machine), wanted);
}

/* Whether the eight pixels of a byte lie in the direction of the packed lines. */
static int along_lines(uint32_t layout)
{
    return !(layout & BY_COLUMNS) == !(layout & BYTES_LIE_DOWN);
}

/* The first (or the last) pixel of a byte among the bits that are set. */
static uint32_t pixel(uint8_t bits, int lowest_first, int last)
{
    uint8_t at = last ? 7 : 0;
    while (!(bits >> (lowest_first ? at : 7 - at) & 1)) {
        at = (uint8_t)(last ? at - 1 : at + 1);
    }
    return at;
}

/* The window grows by what differs in a byte: by pixels across bytes, and by whole bytes. It is kept as its ends. */
static void grow(struct ink_window *window, uint32_t layout, uint32_t at, uint32_t line, uint8_t bits)
{
    uint32_t x = along_lines(layout) ? at : line, y = along_lines(layout) ? line : at, end = y;
    if (layout & BYTES_LIE_DOWN) {
        end = x * 8;
        x = y / 8;
        y = end + pixel(bits, (layout & LOWEST_FIRST) != 0, 0);
        end += pixel(bits, (layout & LOWEST_FIRST) != 0, 1);
    }
    window->x = (uint16_t)(x < window->x ? x : window->x);
    window->y = (uint16_t)(y < window->y ? y : window->y);
    window->width = (uint16_t)(x > window->width ? x : window->width);
    window->height = (uint16_t)(end > window->height ? end : window->height);
}

/* What the panel shows; nothing at first. */
static const struct ink_scene *shown_scene(const struct ink_panel *panel)
{
    return panel->blank ? 0 : &panel->shown;
}

/* Compares lines that were drawn one after the other, as they are shown and as they are to be shown; whether any differ. */
static INK_APART int differ(struct ink_panel *panel, uint32_t line, uint32_t lines)
{
    const struct ink_machine *machine = panel->machine;
    const uint8_t *old = panel->strip, *next = old + lines * STRIDE(machine);
    int any = 0;
    for (; lines; lines--, line++) {
        uint32_t at;
        for (at = 0; at < STRIDE(machine); at++) {
            uint8_t bits = (uint8_t)(*old++ ^ *next++);
            if (bits) {
                grow(&panel->window, LAYOUT(machine), at, line, bits);
                any = 1;
            }
        }
    }
    return any;
}

/* Compares what is shown with what is to be shown, and sets the window around what differs: whether anything does. Little is
   kept here: drawing takes the most of the stack. */
static INK_APART int compare(struct ink_panel *panel, int whole_frame)
{
    struct ink_machine *machine = panel->machine;
    struct ink_window *window = &panel->window;
    uint32_t line = 0;
    uint16_t lines;
#if INK_MEMO
    /* Where the first difference is enough, a memo is not worth making. */
    if (!whole_frame) {
        see(panel, shown_scene(panel), 0, 0);
        see(panel, &machine->scene, 1, 0);
    }
#endif
    window->x = window->y = 0xFFFF;
    window->width = window->height = 0;
    for (; line < LINES(machine); line += lines) {
        lines = fits(panel, panel->strip_size / 2, LINES(machine) - line);
        draw(panel, shown_scene(panel), whole_frame ? 2 : 0, panel->strip, line, lines);
        draw(panel, &machine->scene, whole_frame ? 2 : 1, panel->strip + lines * STRIDE(machine), line, lines);
        if (differ(panel, line, lines) && whole_frame) {
            return 1;
        }
    }
    if (window->x > window->width) {
        return 0;
    }
    window->width = (uint16_t)((window->width + 1 - window->x) * 8);
    window->height = (uint16_t)(window->height + 1 - window->y);
    window->x = (uint16_t)(window->x * 8);
    return 1;
}

/* What lies inside the packed frame of a stretch; all of it, unless the rules are damaged. */
static void inside(uint32_t begin, uint32_t end, uint32_t limit, uint16_t *first, uint16_t *count)
{
    begin = at_most(begin, limit);
    end = at_most(end, limit);
    *first = (uint16_t)begin;
    *count = (uint16_t)(end > begin ? end - begin : 0);
}

static uint32_t whole_width(const struct ink_machine *machine)
{
    (void)machine;
    return (FACT(machine, WIDTH) + 7) / 8 * 8;
}

/* Where the window lies in the packed frame and on the controller. */
static void locate(const struct ink_machine *machine, struct ink_task *task)
{
    uint32_t way = LAYOUT(machine), far_x = (uint32_t)task->x + task->width, far_y = (uint32_t)task->y + task->height;
    uint32_t along = task->x, along_end = far_x, across = task->y, across_end = far_y;
    task->column = (uint16_t)((way & FROM_RIGHT ? whole_width(machine) - far_x : task->x) + FACT(machine, ORIGIN_X));
    task->line = (uint16_t)((way & FROM_BOTTOM ? FACT(machine, HEIGHT) - far_y : task->y) + FACT(machine, ORIGIN_Y));
    if (way & BYTES_LIE_DOWN) {
        along = task->y;
        along_end = far_y;
        across = task->x;
        across_end = at_most(far_x, FACT(machine, WIDTH));
    }
    along /= 8;
    along_end = (along_end + 7) / 8;
    if (along_lines(way)) {
        inside(along, along_end, STRIDE(machine), &task->first_byte, &task->row_bytes);
        inside(across, across_end, LINES(machine), &task->first_line, &task->lines);
    } else {
        inside(across, across_end, STRIDE(machine), &task->first_byte, &task->row_bytes);
        inside(along, along_end, LINES(machine), &task->first_line, &task->lines);
    }
    if (task->mode == INK_FULL) {
        task->first_byte = task->first_line = 0;
        task->row_bytes = (uint16_t)STRIDE(machine);
        task->lines = (uint16_t)LINES(machine);
    }
}

/* Why an update must be full; see the enum. */
static INK_APART uint8_t reason(struct ink_machine *machine, int16_t temperature)
{
    uint32_t flags = FACT(machine, POLICY);
    if (!(flags & 2u)) {
        return INK_NO_PARTIAL;
    }
    if (IS_NEVER(machine->last_full)) {
        return INK_FIRST;
    }
    if (temperature < (int32_t)FACT(machine, PARTIAL_FROM)) {
        return INK_TOO_COLD;
    }
    if (temperature > (int32_t)FACT(machine, PARTIAL_TO)) {
        return INK_TOO_WARM;
    }
    if (machine->entered && screen_flags(machine, machine->entered - 1u) & 4u) {
        return INK_ENTRY;
    }
    if (machine->partials >= FACT(machine, LIMIT)) {
        return INK_LIMIT;
    }
    return flags & 4u && machine->now - machine->last_full >= LONG_FACT(machine, AGE) ? INK_AGE : INK_NO_REASON;
}

/* The panel now shows what the machine has. */
static INK_APART void adopt(struct ink_panel *panel)
{
    const struct ink_scene *scene = &panel->machine->scene;
    uint32_t at, cells = SCENE_CELLS(panel->machine->rules);
    int32_t *values = panel->shown.values;
    panel->shown = *scene;
    panel->shown.values = values;
    for (at = 0; at < cells; at++) {
        values[at] = scene->values[at];
    }
    panel->blank = 0;
}

/* Prepares an update of the window, or a full one; whether a waveform serves. */
static INK_APART int prepare(struct ink_panel *panel, uint8_t why, int16_t temperature)
{
    struct ink_machine *machine = panel->machine;
    uint32_t planes = FACT(machine, PARTIAL_PLANES);
    if (why) {
        if (temperature < (int32_t)FACT(machine, FULL_FROM) || temperature > (int32_t)FACT(machine, FULL_TO)) {
            return 0;
        }
        panel->window.x = panel->window.y = 0;
        panel->window.width = (uint16_t)whole_width(machine);
        panel->window.height = (uint16_t)FACT(machine, HEIGHT);
        planes = FACT(machine, PLANES);
        machine->partials = 0;
        machine->last_full = machine->now;
        if (FACT(machine, POLICY) & 4u) {
            machine->full_awaited = 1;
        }
    } else {
        machine->partials++;
    }
    panel->reason = why;
    panel->planes = planes > 1 ? 2 : 1;
    panel->sent = 0;
    machine->last_refresh = machine->now;
    machine->busy_until = INK_NEVER;
    machine->sending = 1;
#if INK_MEMO
    panel->seen = 0;
#endif
    return 1;
}

/* The next lines of the update under way, then its refresh. */
static INK_APART void send(struct ink_panel *panel, struct ink_task *task)
{
    struct ink_machine *machine = panel->machine;
    const struct ink_scene *scene = &machine->scene;
    task->x = panel->window.x;
    task->y = panel->window.y;
    task->width = panel->window.width;
    task->height = panel->window.height;
    task->reason = panel->reason;
    task->mode = panel->reason ? INK_FULL : INK_PARTIAL;
    task->stride = (uint16_t)STRIDE(machine);
    locate(machine, task);
    if (panel->sent >= task->lines) {
        panel->planes--;
        panel->sent = 0;
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
    task->kind = INK_SEND;
    task->plane = panel->planes == 2 ? INK_PLANE_OLD : INK_PLANE_NEW;
    if (panel->planes == 2 || panel->again) {
        scene = shown_scene(panel);
    }
    task->first_line = (uint16_t)(task->first_line + panel->sent);
    task->lines = fits(panel, panel->strip_size, task->lines - (uint32_t)panel->sent);
    panel->sent = (uint16_t)(panel->sent + task->lines);
    task->bytes = panel->strip + task->first_byte;
#if INK_MEMO
    if (!panel->seen) {
        see(panel, scene, 0, 1);
        panel->seen = 1;
    }
#endif
    draw(panel, scene, 0, panel->strip, task->first_line, task->lines);
}

static void choose_locale(struct ink_machine *machine)
{
    uint32_t field = FACT(machine, LANGUAGE);
    if (field) {
        int32_t locale = value(machine, field - 1), last = (int32_t)FACT(machine, LOCALES) - 1;
        locale = locale < last ? locale : last;
        machine->scene.locale = (uint8_t)(locale < 0 ? 0 : locale);
    }
}

/* Looks at the panel: whether a new frame is due. */
static INK_APART int frame_due(struct ink_machine *machine)
{
#if INK_KEYS_WAIT
    while (machine->waiting_count) {
        const uint8_t *one = waiting(machine, 0);
        uint32_t when = one[0] | (uint32_t)one[1] << 8 | (uint32_t)one[2] << 16, key = when & 31u;
        uint32_t ago = (((uint32_t)machine->now << 5) - (when & ~31u)) & 0xFFFFFFu;
        if (++machine->waiting_first == waiting_limit(machine)) {
            machine->waiting_first = 0;
        }
        machine->waiting_count--;
        (void)carry_out(machine, key, machine->now - (ago >> 5));
    }
#endif
    if (!machine->stale || !is_due(machine, distant(machine))) {
        return 0;
    }
    choose_locale(machine);
    machine->stale = 0;
    return 1;
}

/* Prepares an update where one is due; 0 where it cannot be shown at this temperature. */
static int look(struct ink_panel *panel, int16_t temperature)
{
    struct ink_machine *machine = panel->machine;
    if (frame_due(machine)) {
        uint8_t why = reason(machine, temperature);
        machine->entered = 0;
        if (IS_NEVER(machine->last_full) || compare(panel, why != INK_NO_REASON)) {
            return prepare(panel, why, temperature);
        }
        adopt(panel);
    }
    if (is_due(machine, full_due(machine))) {
        machine->full_awaited = 0;
        panel->again = 1;
        if (!prepare(panel, INK_AGE, temperature)) {
            panel->again = 0;
            return 0;
        }
    }
    return 1;
}

void ink_next(struct ink_panel *panel, ink_time now, int16_t temperature, struct ink_task *task)
{
    struct ink_machine *machine = panel->machine;
    task->kind = INK_SLEEP;
    if (!machine->sending) {
        ink_run(machine, now);
        if (is_due(machine, machine->busy_until) && !look(panel, temperature)) {
            task->kind = INK_BLOCKED;
        }
    }
    if (machine->sending) {
        send(panel, task);
        return;
    }
    task->until = ink_wake(machine);
}
