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

static void rows(struct pen *pen, uint8_t head)
{
    struct box bar, area, seen;
    int32_t selected, total, exist, columns, visible, pitch, width, first, row, column;
    uint8_t flags_of;
    struct cursor columns_at, cell;
    seen.x = area.x = pen->x;
    seen.y = area.y = pen->y;
    seen.w = area.w = pen->w;
    seen.h = area.h = pen->h;
    if (head & MORE) {
        read_box(pen, &area);
    }
    flags_of = byte(pen);
    exist = flags_of & 2 ? whole_of(pen, &pen->op) : 0x7FFF;
    selected = whole_of(pen, &pen->op);
    total = natural(pen);
    columns = natural(pen);
    visible = natural(pen);
    pitch = natural(pen);
    width = natural(pen);
    bar.x = area.x;
    bar.y = area.y;
    bar.x += integer(pen);
    bar.y += integer(pen);
    bar.w = natural(pen);
    bar.h = natural(pen);
    total = exist < total ? exist : total;
    selected = selected >= total ? total - 1 : selected;
    selected = selected < 0 ? 0 : selected;
    first = flags_of & 1 ? selected / (visible > 0 ? visible : 1) * visible : selected - visible / 2;
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
        if (flags & 4) {
            read_setting(&pen->op, &setting);
        }
    }
    cell = pen->op;
    for (row = 0; row < first * columns; row++) {
        (void)number(&cell);
    }
    for (row = first; row < total && row < first + visible; row++) {
        int32_t y = area.y + (row - first) * pitch, h = area.y + area.h - y < pitch ? area.y + area.h - y : pitch;
        int32_t across = width < area.w ? width : area.w;
        struct cursor at = columns_at;
        int here = row == selected, here_seen;
        unclip(pen);
        here_seen = clip(pen, seen.x, seen.y, seen.w, seen.h) && clip(pen, area.x, y, across, h);
        pen->paper = 0;
        if (here && here_seen) {
            fill(pen, area.x, y, across, h);
        }
        for (column = 0; column < columns; column++) {
            struct setting setting, other;
            int32_t left = signed_number(&at), wide = (int32_t)number(&at);
            uint8_t flags = next(&at);
            read_setting(&at, &setting);
            if (flags & 4) {
                read_setting(&at, &other);
                setting = here ? other : setting;
            }
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
