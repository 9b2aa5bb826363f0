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
struct chart {
    struct box plot;
    const INK_FLASH struct ink_ring *ring;
    int32_t samples, factor, offset;
    int32_t low, high;
    uint8_t flags;
};

static int32_t half_units(const struct chart *chart, int32_t value, int32_t factor)
{
    int64_t units = (int64_t)value * factor + chart->offset;
    return (int32_t)(units > MOST ? MOST : units < -MOST ? -MOST : units) * 2;
}

static int32_t row_of(const struct chart *chart, int32_t value)
{
    int32_t down = ratio(chart->high - value, chart->plot.h, chart->high - chart->low);
    return chart->plot.y + (down < -8192 ? -8192 : down > 8192 ? 8192 : down);
}

/* The step along the value axis: 1, 2 or 5 times a power of ten (P. S. Heckbert, "Nice Numbers for Graph Labels", Graphics
   Gems, 1990). `tens` counts the powers above the finest step. */
static int32_t nice_step(const struct chart *chart, int32_t finest, int32_t wanted, uint8_t *tens)
{
    int64_t size = (int64_t)chart->high - chart->low, step = finest, base = finest;
    wanted = wanted > 2 ? wanted - 1 : 1;
    if ((chart->flags & (LOW | HIGH)) != (LOW | HIGH)) {
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

static void broken(struct pen *pen, const struct box *plot, int32_t y, int32_t ink, int32_t pitch)
{
    int32_t x = pen->x0 > plot->x ? (pen->x0 - plot->x) / pitch * pitch : 0;
    for (; x < plot->w && plot->x + x < pen->x1; x += pitch) {
        fill(pen, plot->x + x, y, plot->w - x < ink ? plot->w - x : ink, 1);
    }
}

/* Lowest and highest of what is shown, then the edges of the scale. */
static void scale(struct pen *pen, struct chart *chart, const int32_t *range, int32_t least, int32_t limit, int *any)
{
    int32_t low = 2 * MOST + 1, high = -low, back, lacks;
    *any = 0;
    for (back = -1; back < chart->samples; back++) {
        int32_t value = back < 0 ? limit : sample(pen, chart->ring, back);
        if (value != INK_UNKNOWN) {
            value = back < 0 ? value : half_units(chart, value, chart->factor);
            *any |= back >= 0;
            low = value < low ? value : low;
            high = value > high ? value : high;
        }
    }
    if (low > high) {
        low = range[0];
        high = range[1];
    }
    lacks = (least - (high - low)) / 2;
    if (lacks > 0) {
        low -= lacks;
        high += lacks;
    }
    if (chart->flags & LOW) {
        low = chart->low;
        high = high > low + least || chart->flags & HIGH ? high : low + least;
    }
    if (chart->flags & HIGH) {
        high = chart->high;
        low = low < high - least || chart->flags & LOW ? low : high - least;
    }
    chart->low = low;
    chart->high = high;
}

/* The column of a point in time, in seconds back from the newest sample. */
static int32_t column_of(const struct chart *chart, int32_t back, int32_t interval)
{
    int32_t shown = interval * (chart->samples - 1), all = interval * chart->samples;
    if (chart->flags & BARS) {
        return chart->plot.x + divide((int64_t)chart->plot.w * (2 * ((int64_t)all - back) - interval), (uint32_t)all * 2);
    }
    return chart->plot.x + ratio(shown - back, chart->plot.w - 1, shown);
}

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

static void lines(struct pen *pen, const struct chart *chart, int32_t stroke)
{
    int32_t back = chart->samples - 1, least = 0, from_x = 0, from = INK_UNKNOWN;
    if (back > 0 && chart->plot.w > 1) {
        /* Columns run to the right; a sample more on either side reaches in. */
        int32_t first = (pen->x0 - stroke - chart->plot.x) * back / (chart->plot.w - 1) - 2;
        int32_t last = (pen->x1 + stroke - chart->plot.x) * back / (chart->plot.w - 1) + 2;
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
                brush(pen, from_x, row_of(chart, half_units(chart, from, chart->factor)), x,
                      row_of(chart, half_units(chart, value, chart->factor)), stroke);
            }
            from_x = x;
        }
        from = value;
    }
}

static void bars(struct pen *pen, const struct chart *chart, int on_zero)
{
    int32_t bottom = chart->plot.y + chart->plot.h, base = on_zero ? row_of(chart, 0) : bottom;
    int32_t bar_at = chart->plot.w > 0 ? (pen->x0 - chart->plot.x) * chart->samples / chart->plot.w - 1 : 0;
    for (bar_at = bar_at < 0 ? 0 : bar_at; bar_at < chart->samples; bar_at++) {
        int32_t value = sample(pen, chart->ring, chart->samples - 1 - bar_at);
        int32_t left = bar_at * chart->plot.w / chart->samples, right = (bar_at + 1) * chart->plot.w / chart->samples;
        int32_t row, top, end, first = base < bottom - 1 ? base : bottom - 1;
        if (chart->plot.x + left >= pen->x1) {
            break;
        }
        if (value == INK_UNKNOWN || chart->plot.x + right < pen->x0) {
            continue;
        }
        row = row_of(chart, half_units(chart, value, chart->factor));
        top = row < base ? row : first;
        end = row < base ? base : (row > first ? row : first) + 1;
        right -= right - left > 2;
        fill(pen, chart->plot.x + left, top, right - left > 1 ? right - left : 1, end - top);
    }
    if (on_zero) {
        fill(pen, chart->plot.x, base, chart->plot.w, 1);
    }
}

#if INK_CURSORS
/* A dotted line down the plot so many samples back, and a ring around the sample there. */
static void show_cursor(struct pen *pen, const struct chart *chart, int32_t back)
{
    int32_t x = column_of(chart, back, 1), y, value = sample(pen, chart->ring, back);
    uint8_t out;
    for (y = 0; y < chart->plot.h; y += 2) {
        fill(pen, x, chart->plot.y + y, 1, 1);
    }
    if (value == INK_UNKNOWN) {
        return;
    }
    y = row_of(chart, half_units(chart, value, chart->factor));
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
    int32_t now = value_of(pen, number(&pen->op)), interval = natural(pen), shown = interval * (chart->samples - 1);
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
                int32_t y = chart->plot.y + chart->plot.h + 1;
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

static void history(struct pen *pen)
{
    struct chart chart;
    const struct face *face;
    int32_t stroke, finest, wanted, range[2], least, limit = INK_UNKNOWN, step, count, last, unit;
    uint8_t decimals, tens, shown, at, more;
    int any, on_zero, plot_now = 1, labels_now = 1;
    struct cursor clock_at;
#if INK_MARKS
    struct marks marks;
#endif
#if INK_CURSORS
    int32_t cursor = -1;
#endif
    chart.flags = byte(pen);
    more = byte(pen);
    chart.ring = ring_of(pen->design, number(&pen->op));
    chart.samples = natural(pen);
    stroke = natural(pen);
    read_box(pen, &chart.plot);
    chart.factor = natural(pen);
    chart.offset = integer(pen);
    finest = natural(pen) * 2;
    decimals = byte(pen);
    wanted = natural(pen);
    range[0] = integer(pen) * 2;
    range[1] = integer(pen) * 2;
    least = integer(pen) * 2;
    chart.low = chart.flags & LOW ? integer(pen) * 2 : 0;
    chart.high = chart.flags & HIGH ? integer(pen) * 2 : 0;
    if (chart.flags & LIMIT_NUMBER) {
        limit = integer(pen) * 2;
    } else if (chart.flags & LIMIT_FIELD) {
        limit = value_of(pen, number(&pen->op));
        count = natural(pen);
        limit = limit == INK_UNKNOWN ? limit : half_units(&chart, limit, count);
    }
    face = load(pen, number(&pen->op));
#if INK_MARKS
    marks.decimal = 0;
    if (more & 2) {
        read_marks(&pen->op, &marks);
    }
#endif
#if INK_CURSORS
    if (more & 1) {
        cursor = whole_of(pen, &pen->op);
        cursor = cursor < chart.samples ? cursor : chart.samples - 1;
    }
#endif
    (void)more;
    clock_at = pen->op;
#if INK_MEMO
    if (pen->known) {
        chart.low = (int32_t)(pen->known[0] | (uint32_t)pen->known[1] << 16);
        chart.high = (int32_t)(pen->known[2] | (uint32_t)pen->known[3] << 16);
        any = pen->known[4] != 0;
        labels_now = 0;
    } else
#endif
    scale(pen, &chart, range, least, limit, &any);
#if INK_MEMO
    if (pen->memo) {
        /* Labels are noted as lines of characters. */
        uint16_t *known = note_op(pen, M_KNOWN);
        if (known) {
            known[0] = (uint16_t)chart.low;
            known[1] = (uint16_t)((uint32_t)chart.low >> 16);
            known[2] = (uint16_t)chart.high;
            known[3] = (uint16_t)((uint32_t)chart.high >> 16);
            known[4] = (uint16_t)any;
        }
        plot_now = 0;
    }
#endif
    step = nice_step(&chart, finest, wanted, &tens);
    if (!(chart.flags & LOW)) {
        chart.low = floored(chart.low, step) * step;
    }
    if (!(chart.flags & HIGH)) {
        chart.high = -floored(-chart.high, step) * step;
    }
    on_zero = range[1] > 0 && chart.low < 0 && chart.high >= 0;
    shown = tens < decimals ? (uint8_t)(decimals - tens) : 0;
    unit = finest;
    for (at = 0; at < decimals && at < tens; at++) {
        unit *= 10;
    }
    count = -floored(-chart.low, step);
    last = floored(chart.high, step);
    for (last = last > count + 4096 ? count + 4096 : last; count <= last; count++) {
        int32_t y = row_of(&chart, count * step), x = chart.plot.x - 3;
        if (plot_now && chart.flags & GRID && y >= chart.plot.y && y < chart.plot.y + chart.plot.h) {
            broken(pen, &chart.plot, y, 1, 4);
        }
        if (labels_now && chart.flags & AXIS && pen->x0 < chart.plot.x) {
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
#else
    (void)clock_at;
#endif
    if (!plot_now || !clip(pen, chart.plot.x, chart.plot.y, chart.plot.w, chart.plot.h)) {
        return;
    }
    if (limit != INK_UNKNOWN && limit >= chart.low && limit <= chart.high) {
        broken(pen, &chart.plot, row_of(&chart, limit), 5, 8);
    }
    if (chart.flags & BARS) {
        bars(pen, &chart, on_zero);
    } else {
        lines(pen, &chart, stroke);
    }
#if INK_CURSORS
    if (cursor >= 0) {
        show_cursor(pen, &chart, cursor);
    }
#endif
    if (!any) {
        fill(pen, chart.plot.x + (chart.plot.w - 1) / 2 - 3, chart.plot.y + (chart.plot.h - 1) / 2, 7, 1);
    }
}
#endif
