/* Part of ink_draw.c, which includes it: rows of cells with one selected. MIT OR Apache-2.0. */

#if INK_ROWS
/* Pixels of a scroll bar across, and of its marks with the space to the track. */
enum { SCROLL = 5, MARK = 5 };

static void scroll_bar(struct pen *pen, const struct box *bar, int32_t first, int32_t visible, int32_t total)
{
    int32_t row, track = bar->h > 2 * MARK ? bar->h - 2 * MARK : 0, start, end;
    for (row = 0; row < 3; row++) {
        int32_t at = SCROLL / 2 - row;
        if (first > 0) {
            fill(pen, bar->x + at, bar->y + row, SCROLL - 2 * at, 1);
        }
        if (first + visible < total) {
            fill(pen, bar->x + at, bar->y + (bar->h > row + 1 ? bar->h - row - 1 : 0), SCROLL - 2 * at, 1);
        }
    }
    fill(pen, bar->x + SCROLL / 2, bar->y + MARK, 1, track);
    start = track * first / total;
    end = track * (first + visible) / total;
    fill(pen, bar->x + SCROLL / 2 - 1, bar->y + MARK + start, 3, end - start > 3 ? end - start : 3);
}

/* Numbers of a list in the order of the tables, and one that is found. */
enum { TOTAL, COLUMNS_OF, VISIBLE, PITCH, ACROSS, BAR_X, BAR_Y, BAR_W, BAR_H, LIST_NUMBERS };

static INK_APART void rows(struct pen *pen, uint8_t head)
{
    struct box bar, area, seen;
    int32_t selected, total, columns, visible, pitch, first, row, column, n[LIST_NUMBERS];
    uint8_t flags_of, at_number;
    struct cursor columns_at, cell;
#if INK_COUNTED
    int32_t exist;
#endif
    seen.x = area.x = pen->x;
    seen.y = area.y = pen->y;
    seen.w = area.w = pen->w;
    seen.h = area.h = pen->h;
    if (head & MORE) {
        read_box(pen, &area);
    }
    flags_of = byte(pen);
#if INK_COUNTED
    exist = flags_of & 2 ? whole_of(pen, &pen->op) : 0x7FFF;
#endif
    selected = whole_of(pen, &pen->op);
    for (at_number = 0; at_number < LIST_NUMBERS; at_number++) {
        n[at_number] = at_number == BAR_X || at_number == BAR_Y ? integer(pen) : natural(pen);
    }
    total = n[TOTAL];
    columns = n[COLUMNS_OF];
    visible = n[VISIBLE];
    pitch = n[PITCH];
    bar.x = area.x + n[BAR_X];
    bar.y = area.y + n[BAR_Y];
    bar.w = n[BAR_W];
    bar.h = n[BAR_H];
#if INK_COUNTED
    total = exist < total ? exist : total;
#endif
    selected = selected >= total ? total - 1 : selected;
    selected = selected < 0 ? 0 : selected;
    first = selected - visible / 2;
#if INK_PAGES
    if (flags_of & 1) {
        first = selected / (visible > 0 ? visible : 1) * visible;
    }
#else
    (void)flags_of;
#endif
    first = first > total - visible ? total - visible : first;
    first = first < 0 ? 0 : first;
    columns_at = pen->op;
    for (column = 0; column < columns; column++) {
        struct setting setting;
        uint8_t flags;
        (void)integer(pen);
        (void)natural(pen);
        flags = byte(pen);
        read_setting(&pen->op, &setting);
        if (INK_CELLS_DIFFER && flags & 4) {
            read_setting(&pen->op, &setting);
        }
    }
    cell = pen->op;
    for (row = 0; row < first * columns; row++) {
        (void)number(&cell);
    }
    for (row = first; row < total && row < first + visible; row++) {
        int32_t y = area.y + (row - first) * pitch, h = area.y + area.h - y < pitch ? area.y + area.h - y : pitch;
        int32_t across = n[ACROSS] < area.w ? n[ACROSS] : area.w;
        struct cursor at = columns_at;
        int here = row == selected, here_seen;
        unclip(pen);
        here_seen = clip(pen, seen.x, seen.y, seen.w, seen.h) && clip(pen, area.x, y, across, h);
        pen->paper = 0;
        if (here && here_seen) {
            fill(pen, area.x, y, across, h);
        }
        for (column = 0; column < columns; column++) {
            struct setting setting;
            int32_t left = signed_number(&at), wide = (int32_t)number(&at);
            uint8_t flags = next(&at);
            read_setting(&at, &setting);
#if INK_CELLS_DIFFER
            if (flags & 4) {
                struct setting other;
                read_setting(&at, &other);
                setting = here ? other : setting;
            }
#endif
            unclip(pen);
            if (clip(pen, seen.x, seen.y, seen.w, seen.h) && clip(pen, area.x + left, y, wide, h)) {
                words(pen, &cell);
                pen->paper = (uint8_t)(flags >> here & 1);
                if (pen->count) {
                    set_text(pen, &setting, area.x + left, y, wide, h);
                }
            } else {
                (void)number(&cell);
            }
        }
    }
    pen->paper = 0;
    unclip(pen);
    if (total > visible && clip(pen, seen.x, seen.y, seen.w, seen.h) && clip(pen, bar.x, bar.y, bar.w, bar.h)) {
        scroll_bar(pen, &bar, first, visible, total);
    }
}
#endif
