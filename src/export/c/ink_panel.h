/* ink_panel: what the panel is to be sent. One call gives the next thing to do: send these lines of this window, begin a
   refresh, sleep until then. It decides between full and partial refreshes by the exported policy, finds the window that
   changed by drawing what is shown and what is to be shown strip by strip, and keeps no frame. MIT OR Apache-2.0. */
#ifndef INK_PANEL_H
#define INK_PANEL_H

#include "ink_machine.h"

#ifdef __cplusplus
extern "C" {
#endif

enum {
    INK_SLEEP,   /* nothing until `until`, unless a key or an event comes */
    INK_SEND,    /* send these bytes of one plane */
    INK_REFRESH, /* begin the refresh of what was sent, then call ink_busy */
    INK_BLOCKED  /* the frame is new, but no waveform serves this temperature */
};

enum { INK_FULL, INK_PARTIAL };
enum { INK_PLANE_NEW, INK_PLANE_OLD };

/* Why a refresh is full. */
enum {
    INK_NO_REASON,      /* it is partial */
    INK_NO_PARTIAL,     /* the panel has no partial refresh */
    INK_FIRST,          /* first refresh */
    INK_TOO_COLD,       /* below the partial refresh's temperatures */
    INK_TOO_WARM,       /* above them */
    INK_ENTRY,          /* full on entry */
    INK_LIMIT,          /* partial limit reached */
    INK_AGE             /* the last full refresh is too old */
};

struct ink_task {
    ink_time until;       /* INK_SLEEP: the next wake-up; INK_NEVER: none by itself */
    const uint8_t *bytes; /* INK_SEND: the first byte of the first line; valid until the next call */
    /* The window on the panel, in its own orientation, aligned to its bytes; whole for a full refresh. */
    uint16_t x, y, width, height;
    uint16_t column, line;          /* where it begins as the controller counts */
    uint16_t first_line, lines;     /* of the packed frame: the lines sent now */
    uint16_t first_byte, row_bytes; /* of each of these lines */
    uint16_t stride;                /* bytes from one line to the next in `bytes` */
    uint8_t kind, mode, reason, plane;
};

#if INK_MEMO
/* A scene as it is drawn in strips. */
struct ink_sight {
    struct ink_memo memo;
    struct ink_view view;
    struct ink_layer layers[INK_BOXES + 1];
};
#endif

/* A window on the panel, in its own orientation. */
struct ink_window {
    uint16_t x, y, width, height;
};

struct ink_panel {
    struct ink_scene shown;   /* what the panel shows */
    struct ink_window window; /* of the update under way */
    uint16_t sent;  /* lines of the plane that were sent */
    uint8_t planes; /* still to be sent */
    uint8_t reason;
    uint8_t blank;  /* the panel shows nothing yet */
    uint8_t again;  /* what is shown is sent once more */
    struct ink_machine *machine;
    uint8_t *strip; /* where lines are drawn */
    uint32_t strip_size;
#if INK_MEMO
    struct ink_sight sights[2]; /* what is shown, and what is to be shown; while lines are sent, the first is what they are of */
    uint16_t *memo;
    uint16_t memo_size;
    uint8_t seen; /* the first sight is what is sent */
#endif
};

/* Cells of 32 bits that a panel needs for these rules. */
uint32_t ink_panel_cells(const INK_FLASH struct ink_rules *rules);

/* Bytes of two lines: the least that a strip may have. More lines make it faster. */
uint32_t ink_strip_size(const INK_FLASH struct ink_rules *rules);

/* Prepares a panel for a machine that ink_init has prepared. Returns 0 where cells or strip are too few. */
int ink_panel_init(struct ink_panel *panel, struct ink_machine *machine, int32_t *cells, uint32_t count, uint8_t *strip,
                   uint32_t strip_size);

#if INK_MEMO
/* What a scene shows; `layers` holds INK_BOXES + 1. */
void ink_view_scene(const struct ink_machine *machine, const struct ink_scene *scene, struct ink_view *view,
                    struct ink_layer *layers);

/* Gives a prepared panel cells of 16 bits in which it remembers what it draws, so that strips cost little; see ink_memo. Both
   what is shown and what is to be shown take a half. The panel must stay where it is. */
void ink_panel_memo(struct ink_panel *panel, uint16_t *cells, uint16_t size);
#endif

/* The next thing to do at this time and temperature, in tenths of a degree Celsius. Carries out what is due first. */
void ink_next(struct ink_panel *panel, ink_time now, int16_t temperature, struct ink_task *task);

/* Draws lines of the packed frame of a scene; of no scene, paper. */
void ink_draw_scene(const struct ink_machine *machine, const struct ink_scene *scene, uint8_t *strip,
                    uint16_t first_line, uint16_t lines);

#ifdef __cplusplus
}
#endif

#endif
