/* Part of ink_draw.c, which includes it: charts of past values. MIT OR Apache-2.0. */

static const INK_FLASH struct ink_ring *ring_of(const INK_FLASH struct ink_design *design, uint32_t field)
{
    uint16_t at;
    for (at = 0; at < design->ring_count; at++) {
        if (design->rings[at].field == field) {
            return design->rings + at;
        }
    }
    return 0;
}

#if INK_HISTORIES
enum { BARS = 1, GRID = 2, LOW = 4, HIGH = 8, AXIS = 16, CLOCK = 32, LIMIT_NUMBER = 64, LIMIT_FIELD = 128 };

/* Greatest number of units on a scale. */
#define MOST 50000000

/* A chart; values are in half units of the scale. */
enum { FIELD, SAMPLES, STROKE, PLOT_X, PLOT_Y, PLOT_W, PLOT_H, FACTOR, OFFSET, FINEST, DECIMALS, WANTED,
       RANGE, RANGE_END, LEAST, NUMBERS };

struct chart {
    uint8_t flags;
    const INK_FLASH struct ink_ring *ring;
    int32_t low, high;
    int32_t n[NUMBERS]; /* in the order of the tables */
};

/* Parts of charts that a design may do without. */
#define IS_BARS(chart) (INK_BAR_CHARTS && (!INK_LINE_CHARTS || (chart)->flags & BARS))
#define HAS(chart, part, flag) (part && (chart)->flags & (flag))

static int32_t half_units(const struct chart *chart, int32_t value, int32_t factor)
{
    int64_t units = (int64_t)value * factor + chart->n[OFFSET];
    return (int32_t)(units > MOST ? MOST : units < -MOST ? -MOST : units) * 2;
}

static int32_t row_of(const struct chart *chart, int32_t value)
{
    int32_t down = ratio(chart->high - value, chart->n[PLOT_H], chart->high - chart->low);
    return chart->n[PLOT_Y] + (down < -8192 ? -8192 : down > 8192 ? 8192 : down);
}

/* The step along the value axis: 1, 2 or 5 times a power of ten (P. S. Heckbert, "Nice Numbers for Graph Labels", Graphics
   Gems, 1990). `tens` counts the powers above the finest step. */
static INK_APART int32_t nice_step(const struct chart *chart, int32_t finest, int32_t wanted, uint8_t *tens)
{
    int64_t size = (int64_t)chart->high - chart->low, step = finest, base = finest;
    wanted = wanted > 2 ? wanted - 1 : 1;
    if (!INK_ENDS || (chart->flags & (LOW | HIGH)) != (LOW | HIGH)) {
        uint8_t turn_of = 0;
        while (step < size) {
            step = turn_of == 1 ? step / 2 * 5 : step * 2;
            turn_of = turn_of == 2 ? 0 : (uint8_t)(turn_of + 1);
        }
        size = step;
    }
    *tens = 0;
    while (size >= 7 * base * wanted && *tens < 9) {
        base *= 10;
        ++*tens;
    }
    if (size * 2 < 3 * base * wanted) {
        return (int32_t)base;
    }
    return (int32_t)(size < 3 * base * wanted ? 2 * base : 5 * base);
}

#if INK_GRIDS || INK_LIMITS
static INK_APART void broken(struct pen *pen, const struct chart *chart, int32_t y, int32_t ink, int32_t pitch)
{
    int32_t from = chart->n[PLOT_X], wide = chart->n[PLOT_W], x = pen->x0 > from ? (pen->x0 - from) / pitch * pitch : 0;
    for (; x < wide && from + x < pen->x1; x += pitch) {
        fill(pen, from + x, y, wide - x < ink ? wide - x : ink, 1);
    }
}
#endif

/* Lowest and highest of what is shown, then the edges of the scale. */
static int scale(struct pen *pen, struct chart *chart, int32_t limit)
{
    int32_t low = 2 * MOST + 1, high = -low, back, lacks, least = chart->n[LEAST] * 2;
    int any = 0;
    for (back = -1; back < chart->n[SAMPLES]; back++) {
        int32_t value = back < 0 ? limit : sample(pen, chart->ring, back);
        if (value != INK_UNKNOWN) {
            value = back < 0 ? value : half_units(chart, value, chart->n[FACTOR]);
            any |= back >= 0;
            low = value < low ? value : low;
            high = value > high ? value : high;
        }
    }
    if (low > high) {
        low = chart->n[RANGE] * 2;
        high = chart->n[RANGE_END] * 2;
    }
    lacks = (least - (high - low)) / 2;
    if (lacks > 0) {
        low -= lacks;
        high += lacks;
    }
#if INK_ENDS
    if (chart->flags & LOW) {
        low = chart->low;
        high = high > low + least || chart->flags & HIGH ? high : low + least;
    }
    if (chart->flags & HIGH) {
        high = chart->high;
        low = low < high - least || chart->flags & LOW ? low : high - least;
    }
#endif
    chart->low = low;
    chart->high = high;
    return any;
}

/* The column of a point in time, in seconds back from the newest sample. */
static int32_t column_of(const struct chart *chart, int32_t back, int32_t interval)
{
    int32_t all = interval * chart->n[SAMPLES], shown = all - interval;
    if (IS_BARS(chart)) {
        return chart->n[PLOT_X] + divide((int64_t)chart->n[PLOT_W] * (2 * ((int64_t)all - back) - interval), (uint32_t)all * 2);
    }
    return chart->n[PLOT_X] + ratio(shown - back, chart->n[PLOT_W] - 1, shown);
}

#if INK_LINE_CHARTS
/* A line with a square brush, after J. E. Bresenham, IBM Systems Journal 4 (1965) 25-30. */
static void brush(const struct pen *pen, int32_t from_x, int32_t from_y, int32_t x, int32_t y, int32_t stroke)
{
    int32_t step_x = x >= from_x ? 1 : -1, step_y = y >= from_y ? 1 : -1, error = 0, left;
    int32_t dx = (x - from_x) * step_x, dy = (y - from_y) * step_y, major = dy >= dx ? dy : dx;
    int32_t out = stroke / 2;
    for (left = major; left >= 0; left--) {
        if (error > major) {
            if (dy >= dx) {
                from_x += step_x;
            } else {
                from_y += step_y;
            }
            error -= 2 * major;
        }
        fill(pen, from_x - out, from_y - out, stroke, stroke);
        if (dy >= dx) {
            from_y += step_y;
            error += 2 * dx;
        } else {
            from_x += step_x;
            error += 2 * dy;
        }
    }
}

static void lines(struct pen *pen, const struct chart *chart)
{
    int32_t stroke = chart->n[STROKE];
    int32_t back = chart->n[SAMPLES] - 1, least = 0, from_x = 0, from = INK_UNKNOWN;
    if (back > 0 && chart->n[PLOT_W] > 1) {
        /* Columns run to the right; a sample more on either side reaches in. */
        int32_t first = (pen->x0 - stroke - chart->n[PLOT_X]) * back / (chart->n[PLOT_W] - 1) - 2;
        int32_t last = (pen->x1 + stroke - chart->n[PLOT_X]) * back / (chart->n[PLOT_W] - 1) + 2;
        least = back > last ? back - last : 0;
        back -= first > 0 ? first : 0;
    }
    for (; back >= least; back--) {
        int32_t value = sample(pen, chart->ring, back), x;
        if (value != INK_UNKNOWN) {
            x = column_of(chart, back, 1);
            if (from == INK_UNKNOWN) {
                from = value;
                from_x = x;
            }
            if (x + stroke > pen->x0 && from_x - stroke < pen->x1) {
                brush(pen, from_x, row_of(chart, half_units(chart, from, chart->n[FACTOR])), x,
                      row_of(chart, half_units(chart, value, chart->n[FACTOR])), stroke);
            }
            from_x = x;
        }
        from = value;
    }
}

#endif

#if INK_BAR_CHARTS
static void bars(struct pen *pen, const struct chart *chart, int on_zero)
{
    int32_t bottom = chart->n[PLOT_Y] + chart->n[PLOT_H], base = on_zero ? row_of(chart, 0) : bottom;
    int32_t bar_at = chart->n[PLOT_W] > 0 ? (pen->x0 - chart->n[PLOT_X]) * chart->n[SAMPLES] / chart->n[PLOT_W] - 1 : 0;
    for (bar_at = bar_at < 0 ? 0 : bar_at; bar_at < chart->n[SAMPLES]; bar_at++) {
        int32_t value = sample(pen, chart->ring, chart->n[SAMPLES] - 1 - bar_at);
        int32_t left = bar_at * chart->n[PLOT_W] / chart->n[SAMPLES], right = (bar_at + 1) * chart->n[PLOT_W] / chart->n[SAMPLES];
        int32_t row, top, end, first = base < bottom - 1 ? base : bottom - 1;
        if (chart->n[PLOT_X] + left >= pen->x1) {
            break;
        }
        if (value == INK_UNKNOWN || chart->n[PLOT_X] + right < pen->x0) {
            continue;
        }
        row = row_of(chart, half_units(chart, value, chart->n[FACTOR]));
        top = row < base ? row : first;
        end = row < base ? base : (row > first ? row : first) + 1;
        right -= right - left > 2;
        fill(pen, chart->n[PLOT_X] + left, top, right - left > 1 ? right - left : 1, end - top);
    }
    if (on_zero) {
        fill(pen, chart->n[PLOT_X], base, chart->n[PLOT_W], 1);
    }
}

#endif

#if INK_CURSORS
/* A dotted line down the plot so many samples back, and a ring around the sample there. */
static void show_cursor(struct pen *pen, const struct chart *chart, int32_t back)
{
    int32_t x = column_of(chart, back, 1), y, value = sample(pen, chart->ring, back);
    uint8_t out;
    for (y = 0; y < chart->n[PLOT_H]; y += 2) {
        fill(pen, x, chart->n[PLOT_Y] + y, 1, 1);
    }
    if (value == INK_UNKNOWN) {
        return;
    }
    y = row_of(chart, half_units(chart, value, chart->n[FACTOR]));
    for (out = 3; out; out--) {
        pen->paper = out != 2;
        fill(pen, x - out, y - out, 2 * out + 1, 2 * out + 1);
    }
    pen->paper = 0;
}
#endif

#if INK_HOURS
/* Steps between labels of a clock, in seconds. */
static const INK_FLASH int32_t clock_steps[20] = { 1,    2,    5,    10,   15,    30,    60,    120,   300,    600,
                                                   900,  1800, 3600, 7200, 10800, 21600, 43200, 86400, 172800, 604800 };

/* Labels with the time of day, as many as stand apart. */
static void hours(struct pen *pen, const struct chart *chart)
{
    int32_t now = value_of(pen, number(&pen->op)), interval = natural(pen), shown = interval * (chart->n[SAMPLES] - 1);
    const struct face *face = load(pen, number(&pen->op));
    int32_t newest, start, end;
    uint8_t step_at, drawn = 0;
    start = pen->x + integer(pen);
    end = start + natural(pen);
    if (now == INK_UNKNOWN) {
        return;
    }
    newest = floored(now, interval) * interval;
    for (step_at = 0; step_at < 20; step_at++) {
        int32_t step = clock_steps[step_at], index, last = floored(newest, step), taken = 0;
        int apart = 1;
        if (shown / 64 > step || (shown / 64 == step && shown % 64)) {
            continue;
        }
        index = -floored(shown - newest, step);
        last = last > index + 64 ? index + 64 : last;
        for (; index <= last && apart; index++) {
            struct moment time;
            int32_t column = column_of(chart, newest - index * step, interval), left, width;
            moment(pen, index * step, &time);
            pen->count = 0;
            put_digits(pen, (uint32_t)time.part[step < 86400 ? 4 : 3], 2, ZERO, 0 PLAIN_MARKS);
            put(pen, step < 86400 ? COLON : POINT);
            put_digits(pen, (uint32_t)time.part[step < 86400 ? 6 : 2], 2, ZERO, 0 PLAIN_MARKS);
            if (step >= 86400) {
                put(pen, POINT);
            }
            width = set(pen, face, 0, pen->codes, pen->count, 0, 0, 0);
            left = column - (width - 1) / 2;
            left = left > end - width ? end - width : left;
            left = left < start ? start : left;
            if (drawn) {
                int32_t y = chart->n[PLOT_Y] + chart->n[PLOT_H] + 1;
                fill(pen, column, y, 1, 2);
                set(pen, face, 0, pen->codes, pen->count, left, y + 4 + face->cap, 1);
            } else if (index > -floored(shown - newest, step)) {
                apart = taken <= left;
            }
            taken = left + width + 6;
        }
        if (drawn) {
            return;
        }
        if (apart) {
            drawn = 1;
            step_at--;
        }
    }
}
#endif

static INK_APART void history(struct pen *pen)
{
    struct chart chart;
    const struct face *face;
    int32_t finest, limit = INK_UNKNOWN, step, count, last, unit;
    uint8_t decimals, tens, shown, at, more;
    int any, on_zero, plot_now = 1, labels_now = 1;
#if INK_HOURS
    struct cursor clock_at;
#endif
#if INK_MARKS
    struct marks marks;
#endif
#if INK_CURSORS
    int32_t cursor = -1;
#endif
    chart.flags = byte(pen);
    more = byte(pen);
    for (at = 0; at < NUMBERS; at++) {
        int is_signed = at == PLOT_X || at == PLOT_Y || at == OFFSET || at >= RANGE;
        chart.n[at] = is_signed ? integer(pen) : natural(pen);
    }
    chart.n[PLOT_X] += pen->x;
    chart.n[PLOT_Y] += pen->y;
    chart.ring = ring_of(pen->design, (uint32_t)chart.n[FIELD]);
    finest = chart.n[FINEST] * 2;
    decimals = (uint8_t)chart.n[DECIMALS];
#if INK_ENDS
    chart.low = chart.flags & LOW ? integer(pen) * 2 : 0;
    chart.high = chart.flags & HIGH ? integer(pen) * 2 : 0;
#endif
#if INK_LIMITS
    if (chart.flags & LIMIT_NUMBER) {
        limit = integer(pen) * 2;
    } else if (chart.flags & LIMIT_FIELD) {
        limit = value_of(pen, number(&pen->op));
        count = natural(pen);
        limit = limit == INK_UNKNOWN ? limit : half_units(&chart, limit, count);
    }
#endif
    face = load(pen, number(&pen->op));
#if INK_MARKS
    marks.decimal = marks.group = 0;
    if (more & 2) {
        read_marks(&pen->op, &marks);
    }
#endif
#if INK_CURSORS
    if (more & 1) {
        cursor = whole_of(pen, &pen->op);
        cursor = cursor < chart.n[SAMPLES] ? cursor : chart.n[SAMPLES] - 1;
    }
#endif
    (void)more;
#if INK_HOURS
    clock_at = pen->op;
#endif
#if INK_MEMO
    if (pen->known) {
        chart.low = (int32_t)(pen->known[0] | (uint32_t)pen->known[1] << 16);
        chart.high = (int32_t)(pen->known[2] | (uint32_t)pen->known[3] << 16);
        step = (int32_t)(pen->known[4] | (uint32_t)pen->known[5] << 16);
        any = pen->known[6] != 0;
        tens = 0;
        labels_now = 0;
    } else
#endif
    {
        any = scale(pen, &chart, limit);
        step = nice_step(&chart, finest, chart.n[WANTED], &tens);
        if (!HAS(&chart, INK_ENDS, LOW)) {
            chart.low = floored(chart.low, step) * step;
        }
        if (!HAS(&chart, INK_ENDS, HIGH)) {
            chart.high = -floored(-chart.high, step) * step;
        }
    }
#if INK_MEMO
    if (pen->memo) {
        /* Labels are noted as lines of characters. */
        uint16_t *known = note_op(pen, M_CHART);
        if (known) {
            known[0] = (uint16_t)chart.low;
            known[1] = (uint16_t)((uint32_t)chart.low >> 16);
            known[2] = (uint16_t)chart.high;
            known[3] = (uint16_t)((uint32_t)chart.high >> 16);
            known[4] = (uint16_t)step;
            known[5] = (uint16_t)((uint32_t)step >> 16);
            known[6] = (uint16_t)any;
        }
        plot_now = 0;
    }
#endif
    on_zero = chart.n[RANGE_END] > 0 && chart.low < 0 && chart.high >= 0;
    shown = tens < decimals ? (uint8_t)(decimals - tens) : 0;
    unit = finest;
    for (at = 0; at < decimals && at < tens; at++) {
        unit *= 10;
    }
    count = -floored(-chart.low, step);
    last = floored(chart.high, step);
    if (!labels_now && !HAS(&chart, INK_GRIDS, GRID)) {
        last = count - 1;
    }
    for (last = last > count + 4096 ? count + 4096 : last; count <= last; count++) {
        int32_t y = row_of(&chart, count * step), x = chart.n[PLOT_X] - 3;
#if INK_GRIDS
        if (plot_now && chart.flags & GRID && y >= chart.n[PLOT_Y] && y < chart.n[PLOT_Y] + chart.n[PLOT_H]) {
            broken(pen, &chart, y, 1, 4);
        }
#endif
        if (labels_now && chart.flags & AXIS && pen->x0 < chart.n[PLOT_X]) {
            fill(pen, x, y, 2, 1);
            pen->count = 0;
            put_number(pen, count * step / unit, shown MARKED(&marks));
            x -= 1 + set(pen, face, 0, pen->codes, pen->count, 0, 0, 0);
            set(pen, face, 0, pen->codes, pen->count, x, y - face->cap / 2 + face->cap, 1);
        }
    }
#if INK_HOURS
    if (labels_now && chart.flags & CLOCK) {
        pen->op = clock_at;
        hours(pen, &chart);
    }
#endif
    if (!plot_now || !clip(pen, chart.n[PLOT_X], chart.n[PLOT_Y], chart.n[PLOT_W], chart.n[PLOT_H])) {
        return;
    }
#if INK_LIMITS
    if (limit != INK_UNKNOWN && limit >= chart.low && limit <= chart.high) {
        broken(pen, &chart, row_of(&chart, limit), 5, 8);
    }
#endif
#if INK_BAR_CHARTS
    if (IS_BARS(&chart)) {
        bars(pen, &chart, on_zero);
    }
#else
    (void)on_zero;
#endif
#if INK_LINE_CHARTS
    if (!IS_BARS(&chart)) {
        lines(pen, &chart);
    }
#endif
#if INK_CURSORS
    if (cursor >= 0) {
        show_cursor(pen, &chart, cursor);
    }
#endif
    if (!any) {
        fill(pen, chart.n[PLOT_X] + (chart.n[PLOT_W] - 1) / 2 - 3, chart.n[PLOT_Y] + (chart.n[PLOT_H] - 1) / 2, 7, 1);
    }
}
#endif
