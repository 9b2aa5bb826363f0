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

/* Numbers of a list in the order of the tables. */
enum { TOTAL, COLUMNS_OF, VISIBLE, PITCH_OF, ACROSS, LIST_NUMBERS };

/* Narrows what may be drawn to, to a part of what is seen of a list. */
static int clip_to(struct pen *pen, const struct box *box)
{
    unclip(pen);
    return clip(pen, &pen->area) & clip(pen, box);
}

static INK_APART void rows(struct pen *pen, int seen)
{
    struct box bar, area = pen->area, cell;
    int32_t selected, total, first, row, n[LIST_NUMBERS];
    int32_t flags_of, at;
#if INK_COUNTED
    int32_t exist = 0x7FFF;
#endif
    if (pen->head & MORE) {
        read_box(pen, &area);
    }
    flags_of = natural(pen);
#if INK_COUNTED
    if (flags_of & 2) {
        exist = whole_of(pen);
    }
#endif
    selected = whole_of(pen);
    numbers(pen, n, LIST_NUMBERS, 0);
    read_box(pen, &bar);
    total = n[TOTAL];
#if INK_COUNTED
    total = exist < total ? exist : total;
#endif
    selected = selected >= total ? total - 1 : selected;
    selected = selected < 0 ? 0 : selected;
    first = selected - n[VISIBLE] / 2;
#if INK_PAGES
    if (flags_of & 1) {
        first = n[VISIBLE] ? selected / n[VISIBLE] * n[VISIBLE] : selected;
    }
#else
    (void)flags_of;
#endif
    first = first > total - n[VISIBLE] ? total - n[VISIBLE] : first;
    first = first < 0 ? 0 : first;
    /* The ground of the selected row first, then column by column. */
    for (at = 0; at <= n[COLUMNS_OF]; at++) {
        int32_t left = 0, wide = n[ACROSS];
        int32_t flags = 0;
#if INK_CELLS_DIFFER
        struct setting usual, other;
#endif
        if (at) {
            left = integer(pen);
            wide = natural(pen);
            flags = natural(pen);
            read_setting(pen);
#if INK_CELLS_DIFFER
            usual = other = pen->setting;
            if (flags & 4) {
                read_setting(pen);
                other = pen->setting;
            }
#endif
        } else {
            wide = wide < area.w ? wide : area.w;
        }
        for (row = 0; row < n[TOTAL]; row++) {
            int here = row == selected, wanted;
            cell.x = area.x + left;
            cell.y = area.y + (row - first) * n[PITCH_OF];
            cell.w = wide;
            cell.h = area.y + area.h - cell.y < n[PITCH_OF] ? area.y + area.h - cell.y : n[PITCH_OF];
            wanted = seen && row >= first && row < total && row < first + n[VISIBLE] && clip_to(pen, &cell);
            pen->paper = (uint8_t)(flags >> here & 1);
            if (at) {
#if INK_CELLS_DIFFER
                pen->setting = here ? other : usual;
#endif
                words(pen, wanted);
                if (wanted) {
                    set_text(pen, &cell);
                }
            } else if (wanted && here) {
                fill(pen, cell.x, cell.y, cell.w, cell.h);
            }
        }
    }
    pen->paper = 0;
    if (seen && total > n[VISIBLE] && clip_to(pen, &bar)) {
        scroll_bar(pen, &bar, first, n[VISIBLE], total);
    }
}
#endif
