/* Draws every screen of an exported design on an emulated Cortex-M0 and prints how many instructions each took: whole, and
   in strips of 16 lines. The emulator advances its clock by one nanosecond an instruction; timer 0 counts it in steps of
   62.5 (16 MHz), so that counts are exact to 63. For the emulated board only; nothing here goes to a product. */
#include "screens_live.h"

#define TIMER ((volatile uint32_t *)0x40008000u)

extern const int32_t sample_values[];
extern uint32_t stack_top;
void start(void);
int main(void);

static uint8_t frame[SCREENS_LIVE_STRIDE * SCREENS_LIVE_LINES];
static uint8_t past[SCREENS_LIVE_PAST + 1];

__attribute__((section(".vectors"), used)) static const void *const vectors[] = { &stack_top, (const void *)&start };

static void call(uint32_t what, const void *with)
{
    register uint32_t r0 __asm__("r0") = what;
    register const void *r1 __asm__("r1") = with;
    __asm__ volatile("bkpt 0xAB" : "+r"(r0) : "r"(r1) : "memory");
}

static void print(const char *text)
{
    call(4, text);
}

static void print_number(uint32_t number)
{
    char text[12], *at = text + 11;
    *at = 0;
    do {
        *--at = (char)('0' + number % 10);
        number /= 10;
    } while (number);
    print(at);
}

static uint32_t instructions(void)
{
    TIMER[0x040 / 4] = 1;
    return TIMER[0x540 / 4];
}

/* Fills the unused stack and finds how much of it was not touched. */
static uint32_t stack_used(int begin)
{
    extern uint32_t stack_low;
    uint32_t *at = &stack_low, *here = (uint32_t *)__builtin_frame_address(0) - 16;
    if (begin) {
        for (; at < here; at++) {
            *at = 0xA5A5A5A5u;
        }
        return 0;
    }
    while (*at == 0xA5A5A5A5u) {
        at++;
    }
    return (uint32_t)((uint8_t *)&stack_top - (uint8_t *)at);
}

static uint32_t measured(const struct ink_view *view, uint16_t strip)
{
    uint16_t first;
    uint32_t before = instructions(), after;
    for (first = 0; first < SCREENS_LIVE_LINES; first = (uint16_t)(first + strip)) {
        uint16_t left = (uint16_t)(SCREENS_LIVE_LINES - first);
        ink_draw(&screens_live_design, view, frame, first, left < strip ? left : strip);
    }
    after = instructions();
    /* 62.5 nanoseconds a tick. */
    return (after - before) * 125 / 2;
}

int main(void)
{
    struct ink_layer layer;
    struct ink_view view;
    uint16_t ring, at;
    TIMER[0x508 / 4] = 3;
    TIMER[0x510 / 4] = 0;
    TIMER[0] = 1;
    ink_past_clear(&screens_live_design, past);
    for (ring = 0; ring < screens_live_design.ring_count; ring++) {
        const struct ink_ring *of = screens_live_design.rings + ring;
        for (at = 0; at < of->samples; at++) {
            /* A slow wave that ends in the sample value. */
            int32_t phase = (int32_t)(of->samples - 1 - at) * 3 % 64;
            ink_past_add(&screens_live_design, past, of->field, sample_values[of->field] + (phase < 32 ? phase : 64 - phase));
        }
    }
    layer.values = sample_values;
    layer.past = past;
    view.layers = &layer;
    view.layer_count = 1;
    for (view.locale = 0; view.locale < screens_live_design.locale_count; view.locale++) {
        for (layer.screen = 0; layer.screen < screens_live_design.screen_count; layer.screen++) {
            print_number(view.locale);
            print(" ");
            print_number(layer.screen);
            print(" ");
            print_number(measured(&view, SCREENS_LIVE_LINES));
            print(" ");
            stack_used(1);
            print_number(measured(&view, 16));
            print(" ");
            print_number(stack_used(0));
            print("\n");
        }
    }
    call(0x18, (const void *)0x20026);
    return 0;
}

void start(void)
{
    extern uint8_t bss_start, bss_end;
    uint8_t *at;
    for (at = &bss_start; at < &bss_end; at++) {
        *at = 0;
    }
    main();
    for (;;) {
    }
}
