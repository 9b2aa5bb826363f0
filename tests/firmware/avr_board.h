/* Standard input and output of machine_scripts.c on a simulated AVR: a script that lies in flash, and a serial port that
   says each byte as two digits. Where the script ends, the processor sleeps without interrupts, which ends the simulation. */
#include <avr/interrupt.h>
#include <avr/io.h>
#include <avr/pgmspace.h>
#include <avr/sleep.h>

extern const char ink_script, ink_script_end;

static void say(char letter)
{
    while (!(UCSR0A & (1 << UDRE0))) {
    }
    UDR0 = (uint8_t)letter;
}

static void stop(char why)
{
    static const char names[] = "=end";
    uint8_t at;
    say('\n');
    for (at = 0; at < 4; at++) {
        say(names[at]);
    }
    say(why);
    say('\n');
    cli();
    for (;;) {
        sleep_mode();
    }
}

static int script_byte(void)
{
    static uint32_t at;
    uint_farptr_t from = pgm_get_far_address(ink_script), end = pgm_get_far_address(ink_script_end);
    if (at >= end - from) {
        stop('0');
    }
    return pgm_read_byte_far(from + at++);
}

static void tell_byte(uint8_t byte)
{
    static uint8_t count;
    static const char digits[] = "0123456789abcdef";
    UCSR0B = 1 << TXEN0;
    say(digits[byte >> 4]);
    say(digits[byte & 15]);
    if (++count == 32) {
        count = 0;
        say('\n');
    }
}

#undef getchar
#undef putchar
#define getchar() script_byte()
#define putchar(byte) tell_byte((uint8_t)(byte))
#define exit(code) stop((char)('0' + (code)))
