/* Draws what a machine shows; see ink_panel.h. MIT OR Apache-2.0. */
#include "ink_panel.h"

void ink_view_scene(const struct ink_machine *machine, const struct ink_scene *scene, struct ink_view *view,
                    struct ink_layer *layers)
{
    uint8_t layer;
#if INK_FROZEN
    uint8_t above, kept;
#endif
    view->layers = layers;
    view->layer_count = (uint8_t)(scene->box_count + 1);
    view->locale = scene->locale;
    for (layer = 0; layer < view->layer_count; layer++) {
        const int32_t *values = scene->values;
#if INK_FROZEN
        /* The nearest frozen box above a layer keeps its values. */
        for (above = 0, kept = 0; above < scene->box_count; above++) {
            if (scene->frozen >> above & 1) {
                if (above >= layer) {
                    values = scene->below + kept * machine->block;
                    break;
                }
                kept++;
            }
        }
#endif
        layers[layer].screen = layer ? scene->boxes[layer - 1] : scene->screen;
        layers[layer].values = values;
        layers[layer].past = (const uint8_t *)(values + machine->fields);
    }
}

void ink_draw_scene(const struct ink_machine *machine, const struct ink_scene *scene, uint8_t *strip,
                    uint16_t first_line, uint16_t lines)
{
    struct ink_layer layers[INK_BOXES + 1];
    struct ink_view view;
    if (!scene) {
        uint32_t at, bytes = (uint32_t)lines * machine->design->packing.stride;
        for (at = 0; at < bytes; at++) {
            strip[at] = machine->design->packing.ink ? (uint8_t)0 : (uint8_t)255;
        }
        return;
    }
    ink_view_scene(machine, scene, &view, layers);
    ink_draw(machine->design, &view, strip, first_line, lines);
}
