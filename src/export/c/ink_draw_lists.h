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

/* A list: in the order of the tables rows and columns, rows shown, and pixels from one to the next; then how many rows there
   are, which is selected, the first that is shown and the one behind the last, and where a cell begins. */
struct list {
    uint16_t rows, columns, visible, pitch, total, selected, first, last;
    int32_t x, y, w, bottom;
};

/* Narrows what may be drawn to, to a part of what is seen of a list. */
static int clip_to(struct pen *pen, const struct box *box)
{
    unclip(pen);
    return clip(pen, &pen->area) & clip(pen, box);
}

/* Reads a list up to its columns. */
static INK_APART void open_list(struct pen *pen, struct list *list, int seen)
{
    struct box area = pen->area;
    int32_t selected, first, last, across;
    uint8_t flags;
#if INK_COUNTED
    int32_t exist = 0x7FFF;
#endif
    if (pen->head & MORE) {
        read_box(pen, &area);
    }
    flags = (uint8_t)natural(pen);
#if INK_COUNTED
    if (flags & 2) {
        exist = whole_of(pen);
    }
#endif
    selected = whole_of(pen);
    small_numbers(pen, &list->rows, 4);
    list->total = list->rows;
    across = natural(pen);
#if INK_COUNTED
    list->total = exist < list->total ? (uint16_t)exist : list->total;
#endif
    selected = selected >= list->total ? (int32_t)list->total - 1 : selected;
    selected = selected < 0 ? 0 : selected;
    first = selected - list->visible / 2;
#if INK_PAGES
    if (flags & 1) {
        first = list->visible ? selected / list->visible * list->visible : selected;
    }
#else
    (void)flags;
#endif
    last = (int32_t)list->total - list->visible;
    first = first > last ? last : first;
    list->first = (uint16_t)(first < 0 ? 0 : first);
    list->last = (uint16_t)(list->first + list->visible);
    list->last = list->last < list->total ? list->last : list->total;
    list->selected = (uint16_t)selected;
    list->x = area.x;
    list->y = area.y;
    list->w = across < area.w ? across : area.w;
    list->bottom = area.y + area.h;
    if (!seen) {
        list->last = 0;
    }
}

/* Goes to a row of a column; whether it is seen. */
static INK_APART int go_to(struct pen *pen, const struct list *list, uint16_t row, struct box *cell)
{
    if (row < list->first || row >= list->last) {
        return 0;
    }
    cell->y = list->y + (row - list->first) * (int32_t)list->pitch;
    cell->h = list->bottom - cell->y < list->pitch ? list->bottom - cell->y : list->pitch;
    return clip_to(pen, cell);
}

/* The ground of the selected row. */
static INK_APART void ground(struct pen *pen, const struct list *list)
{
    struct box cell;
    pen->paper = 0;
    cell.x = list->x;
    cell.w = list->w;
    if (go_to(pen, list, list->selected, &cell)) {
        fill(pen, cell.x, cell.y, cell.w, cell.h);
    }
}

/* The bar beside a list. */
static INK_APART void close_list(struct pen *pen, const struct list *list, int seen)
{
    struct box bar;
    pen->paper = 0;
    read_box(pen, &bar);
    if (seen && list->total > list->visible && clip_to(pen, &bar)) {
        scroll_bar(pen, &bar, list->first, list->visible, list->total);
    }
}

static INK_APART void rows(struct pen *pen, int seen)
{
    struct list list;
    open_list(pen, &list, seen);
    ground(pen, &list);
    for (; list.columns; list.columns--) {
        struct box cell;
        uint16_t row;
        uint8_t flags;
#if INK_CELLS_DIFFER
        struct setting usual, other;
#endif
        cell.x = list.x + integer(pen);
        cell.w = natural(pen);
        flags = (uint8_t)natural(pen);
        read_setting(pen);
#if INK_CELLS_DIFFER
        usual = other = pen->setting;
        if (flags & 4) {
            read_setting(pen);
            other = pen->setting;
        }
#endif
        for (row = 0; row < list.rows; row++) {
            int wanted = go_to(pen, &list, row, &cell);
            pen->paper = (uint8_t)(flags >> (row == list.selected) & 1);
#if INK_CELLS_DIFFER
            pen->setting = row == list.selected ? other : usual;
#endif
            words(pen, wanted);
            if (wanted) {
                set_text(pen, &cell);
            }
        }
    }
    close_list(pen, &list, seen);
}
#endif
