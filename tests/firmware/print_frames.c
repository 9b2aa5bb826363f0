/* Prints every frame of an export in hexadecimal, one a line, and the geometry first. */
#include "screens.h"
#include <stdio.h>

int main(void)
{
    int screen;
    long at;
    printf("%d %d %d %d %d\n", SCREENS_WIDTH, SCREENS_HEIGHT, SCREENS_STRIDE, SCREENS_FRAME_SIZE, SCREENS_SCREENS);
    for (screen = 0; screen < SCREENS_SCREENS; screen++) {
        for (at = 0; at < SCREENS_FRAME_SIZE; at++) {
            printf("%02x", (unsigned)screens_frames[screen][at]);
        }
        printf("\n");
    }
    return 0;
}
