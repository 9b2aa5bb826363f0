/* The machine in C under libFuzzer with damaged rules and absurd inputs: two bytes, low first, tell the length of the rules,
   which follow; the rest are inputs. State, strip and rules lie in allocations of exactly their size, so that the sanitizers
   see every step outside; what is asked to be drawn and sent must lie inside the picture. */
#include "ink_machine.c"
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length);

static struct ink_design design;
static uint32_t seen;

void ink_draw(const struct ink_design *of, const struct ink_view *view, uint8_t *strip, uint16_t first_line, uint16_t lines)
{
    uint32_t at, size = (uint32_t)lines * of->packing.stride;
    uint8_t layer, mix = view->locale;
    /* One layer at a time; none where the panel shows nothing yet. */
    if (!lines || (uint32_t)first_line + lines > of->packing.lines || view->layer_count > 1) {
        abort();
    }
    for (layer = 0; layer < view->layer_count; layer++) {
        mix = (uint8_t)(mix * 3 + view->layers[layer].screen);
        for (at = 0; at < of->field_count; at++) {
            mix = (uint8_t)(mix + (uint32_t)view->layers[layer].values[at]);
        }
        for (at = 0; at < of->past_size; at++) {
            mix = (uint8_t)(mix + view->layers[layer].past[at]);
        }
    }
    for (at = 0; at < size; at++) {
        strip[at] = (uint8_t)((first_line + at) % 7 == mix % 7);
    }
}

void ink_past_clear(const struct ink_design *of, uint8_t *past)
{
    memset(past, 0, of->past_size);
}

void ink_past_add(const struct ink_design *of, uint8_t *past, uint16_t field, int32_t value)
{
    if (field >= of->field_count) {
        abort();
    }
    if (of->past_size) {
        past[field % of->past_size] = (uint8_t)value;
    }
}

static void run_inputs(struct ink_machine *machine, struct ink_panel *panel, const uint8_t *input, size_t length)
{
    struct ink_task task;
    ink_time now = 0;
    for (; length >= 4; input += 4, length -= 4) {
        uint16_t number = (uint16_t)(input[2] | input[3] << 8);
        now += input[1] < 250 ? (ink_time)input[1] * input[1] : (ink_time)1 << (input[1] - 192);
        switch (input[0] % 8) {
        case 0:
        case 1:
            (void)ink_key(machine, now, (uint8_t)number, input[0] & 8);
            break;
        case 2:
            (void)ink_event(machine, now, number);
            break;
        case 3:
            ink_measured(machine, (uint16_t)(number & 63), (int32_t)number - 30000);
            if (input[0] & 8) {
                (void)ink_arrived(machine, now, (uint16_t)(number & 63), (int32_t)number - 30000);
            }
            if (input[0] & 8) {
                (void)ink_arrived(machine, now, (uint16_t)(number & 63), (int32_t)number - 30000);
            }
            seen += (uint32_t)ink_wanted(machine, now, number);
            break;
        case 4:
            ink_busy(machine, input[0] & 8 ? now : INK_NEVER);
            break;
        case 5:
            ink_locale(machine, input[2]);
            break;
        default:
            ink_next(panel, now, (int16_t)number, &task);
            if (task.kind == INK_SEND) {
                uint16_t line, byte;
                if ((uint32_t)task.first_line + task.lines > design.packing.lines ||
                    (uint32_t)task.first_byte + task.row_bytes > task.stride) {
                    abort();
                }
                for (line = 0; line < task.lines; line++) {
                    for (byte = 0; byte < task.row_bytes; byte++) {
                        seen += task.bytes[(uint32_t)line * task.stride + byte];
                    }
                }
            }
        }
        seen += (uint32_t)ink_wake(machine);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t length)
{
    struct ink_machine machine;
    struct ink_panel panel;
    struct ink_rules rules;
    uint32_t count, more;
    if (length < 2) {
        return 0;
    }
    rules.size = (uint32_t)(data[0] | data[1] << 8);
    data += 2;
    length -= 2;
    if (rules.size > length) {
        rules.size = (uint32_t)length;
    }
    uint8_t *bytes = malloc(rules.size ? rules.size : 1);
    if (!bytes) {
        abort();
    }
    memcpy(bytes, data, rules.size);
    rules.bytes = bytes;
    design.field_count = (uint16_t)FACT_OF(&rules, FIELDS);
    design.screen_count = (uint16_t)FACT_OF(&rules, SCREENS);
    design.past_size = (uint16_t)FACT_OF(&rules, PAST);
    design.packing.lines = (uint16_t)FACT_OF(&rules, LINES);
    design.packing.stride = (uint16_t)FACT_OF(&rules, STRIDE);
    count = ink_cells(&rules);
    more = ink_panel_cells(&rules);
    /* The exporter's pictures are smaller by far. */
    if (count < 20000 && more < 20000 && ink_strip_size(&rules) < 20000 &&
        (uint32_t)design.packing.lines * design.packing.stride < 8192) {
        uint32_t size = ink_strip_size(&rules) + (rules.size & 3u) * design.packing.stride;
        int32_t *cells = malloc(count ? 4 * count : 1), *panel_cells = malloc(more ? 4 * more : 1);
        uint8_t *strip = malloc(size ? size : 1);
        if (!cells || !panel_cells || !strip) {
            abort();
        }
        if (ink_init(&machine, &design, &rules, cells, count) &&
            ink_panel_init(&panel, &machine, panel_cells, more, strip, size)) {
            ink_begin(&machine, 5);
            run_inputs(&machine, &panel, data + rules.size, length - rules.size);
        }
        free(cells);
        free(panel_cells);
        free(strip);
    }
    free(bytes);
    return 0;
}
