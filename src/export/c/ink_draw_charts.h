/* Part of ink_draw.c, which includes it: charts of past values. MIT OR Apache-2.0. */

static INK_APART const INK_FLASH struct ink_ring *ring_of(const INK_FLASH struct ink_design *design, uint32_t field)
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
enum { BARS = 1, GRID = 2, LOW = 4, HIGH = 8, AXIS = 16, CLOCK_SHOWN = 32, LIMIT_NUMBER = 64, LIMIT_FIELD = 128 };
enum { PARTS_COUNTED = 2 };

/* Greatest number of units on a scale. */
#define MOST 50000000

/* Small numbers of a chart in the order of the tables. */
enum { FLAGS, CURSOR_SHOWN, FIELD, SAMPLES, STROKE, DECIMALS, WANTED, SMALL_NUMBERS };

/* Behind its factor, finest unit and offset: the ends of the usual range and the least that is shown. Values are in half
   units of the scale. */
enum { RANGE, RANGE_END, LEAST_SHOWN, RANGE_NUMBERS };

/* What a chart shows: a sample, a line for zero; and that a memo holds the row of each sample. */
enum { ANY = 1, ON_ZERO, ROWS_KNOWN = 4 };

struct chart {
    const INK_FLASH struct ink_ring *ring;
    int32_t factor, unit, offset;
#if INK_PARTS
    int32_t multiply, divide; /* to parts; 0 where samples are whole units */
#endif
    int32_t lowest, highest; /* samples */
    int32_t low, high;       /* of the scale, in half units */
    int32_t limit, step;     /* in half units */
    struct box plot;
    uint16_t n[SMALL_NUMBERS];
    int16_t cursor; /* samples back; -1 for none */
    uint8_t face, any;
#if INK_HOURS
    uint8_t hours_face;
    int32_t now, interval, start, end;
#endif
};

#if INK_MEMO
/* Cells of a chart in a memo, which the rows of its samples follow, and the row of none. */
enum { CHART_CELLS = (sizeof(struct chart) + 1) / 2 };
#define NO_ROW 0x8000u
#endif

/* Parts of charts that a design may do without. */
#define IS_BARS(chart) (INK_BAR_CHARTS && (!INK_LINE_CHARTS || (chart)->n[FLAGS] & BARS))
#if INK_PARTS
#define COUNTS_PARTS(chart) ((chart)->divide)
#else
#define COUNTS_PARTS(chart) 0
#endif
#define HAS(chart, part, flag) (part && (chart)->n[FLAGS] & (flag))

/* What samples are multiplied by, and between which ones that is not too much. */
static void set_factor(struct chart *chart, int32_t factor)
{
    int32_t offset = COUNTS_PARTS(chart) ? 0 : chart->offset;
    chart->factor = factor;
    chart->lowest = floored(-MOST - offset, factor);
    chart->highest = floored(MOST - offset, factor);
}

static int32_t half_units(const struct chart *chart, int32_t value)
{
    int32_t offset = COUNTS_PARTS(chart) ? 0 : chart->offset;
    value = value < chart->lowest ? -MOST : value > chart->highest ? MOST : value * chart->factor + offset;
#if INK_PARTS
    if (chart->divide) {
        value = ratio(value, (uint32_t)chart->multiply, chart->divide, chart->offset, HALVES_AWAY);
        value = value > MOST ? MOST : value;
    }
#endif
    return (value < -MOST ? -MOST : value) * 2;
}

static int32_t row_of(const struct chart *chart, int32_t value)
{
    int32_t down = ratio(chart->high - value, (uint32_t)chart->plot.h, chart->high - chart->low, 0, HALVES_UP);
    return chart->plot.y + (down < -8192 ? -8192 : down > 8192 ? 8192 : down);
}

/* The row of a sample. */
static int32_t row_of_sample(const struct chart *chart, int32_t value)
{
    return row_of(chart, half_units(chart, value));
}

/* The row of a sample so many back; INK_UNKNOWN for none. */
#if INK_MEMO
INK_INSIDE
#else
INK_APART
#endif
static int32_t row_back(const struct pen *pen, const struct chart *chart, int32_t back)
{
    int32_t value;
#if INK_MEMO
    if (chart->any & ROWS_KNOWN) {
        uint16_t row = pen->known[CHART_CELLS + back];
        return row == NO_ROW ? INK_UNKNOWN : (int16_t)row;
    }
#endif
    value = sample(pen, chart->ring, back);
    return value == INK_UNKNOWN ? value : row_of_sample(chart, value);
}

/* The step along the value axis: 1, 2 or 5 times a power of ten (P. S. Heckbert, "Nice Numbers for Graph Labels", Graphics
   Gems, 1990). The unit of labels grows with it, by the decimals that they do without. */
static INK_APART int32_t nice_step(struct chart *chart)
{
    uint32_t size = (uint32_t)(chart->high - chart->low), base = (uint32_t)chart->unit, step = base, seven, tens = 0;
    uint32_t wanted = chart->n[WANTED] > 2 ? chart->n[WANTED] - 1u : 1;
    if (!INK_ENDS || (chart->n[FLAGS] & (LOW | HIGH)) != (LOW | HIGH)) {
        uint32_t turn_of = 0;
        while (step < size && step) {
            turn_of++;
            step = turn_of == 2 ? step / 2 * 5 : step * 2;
            if (turn_of == 3) {
                turn_of = 0;
            }
        }
        size = step;
    }
    for (seven = size / (7 * wanted); seven >= base && tens < 9; base *= 10, tens++) {
        if (chart->n[DECIMALS]) {
            chart->n[DECIMALS]--;
            chart->unit *= 10;
        }
    }
    wanted *= 3;
    if (size * 2 / wanted < base) {
        return (int32_t)base;
    }
    return (int32_t)(base * (size / wanted < base ? 2 : 5));
}

#if INK_GRIDS || INK_LIMITS
static INK_APART void broken(struct pen *pen, const struct chart *chart, int32_t y, int32_t ink, int32_t pitch)
{
    int32_t from = chart->plot.x, wide = chart->plot.w, x = pen->x0 > from ? (pen->x0 - from) / pitch * pitch : 0;
    if (y < pen->y0 || y >= pen->y1) {
        return;
    }
    for (; x < wide && from + x < pen->x1; x += pitch) {
        fill(pen, from + x, y, wide - x < ink ? wide - x : ink, 1);
    }
}
#endif

/* Lowest and highest of what is shown, then the edges of the scale. */
static void scale(const struct pen *pen, struct chart *chart, const int32_t *n)
{
    int32_t low = 2 * MOST + 1, high = -low, back, lacks, least = n[LEAST_SHOWN] * 2;
    chart->any = 0;
    for (back = -1; back < (int32_t)chart->n[SAMPLES]; back++) {
        int32_t value = back < 0 ? chart->limit : sample(pen, chart->ring, back);
        if (value != INK_UNKNOWN) {
            value = back < 0 ? value : half_units(chart, value);
            if (back >= 0) {
                chart->any = ANY;
            }
            low = value < low ? value : low;
            high = value > high ? value : high;
        }
    }
    if (low > high) {
        low = n[RANGE] * 2;
        high = n[RANGE_END] * 2;
    }
    lacks = (least - (high - low)) / 2;
    if (lacks > 0) {
        low -= lacks;
        high += lacks;
    }
#if INK_ENDS
    if (chart->n[FLAGS] & LOW) {
        low = chart->low;
        high = high > low + least || chart->n[FLAGS] & HIGH ? high : low + least;
    }
    if (chart->n[FLAGS] & HIGH) {
        high = chart->high;
        low = low < high - least || chart->n[FLAGS] & LOW ? low : high - least;
    }
#endif
    chart->low = low;
    chart->high = high;
}

#if INK_CURSORS || INK_HOURS
/* The column of a point in time, in seconds back from the newest sample. */
static int32_t column_of(const struct chart *chart, int32_t back, int32_t interval)
{
    int32_t all = interval * (int32_t)chart->n[SAMPLES], shown = all - interval;
    if (IS_BARS(chart)) {
        return chart->plot.x + floored(ratio(2 * (all - back) - interval, (uint32_t)chart->plot.w, all, 0, DOWN), 2);
    }
    return chart->plot.x + ratio(shown - back, (uint32_t)chart->plot.w - 1, shown, 0, HALVES_UP);
}
#endif

#if INK_LINE_CHARTS
/* A line to the right with a square brush, after J. E. Bresenham, IBM Systems Journal 4 (1965) 25-30: an area for each run of
   points in one row or column. */
static void brush(struct pen *pen, int32_t from_x, int32_t from_y, int32_t x, int32_t y, int32_t stroke)
{
    int32_t step = y >= from_y ? 1 : -1, error = 0, left, out = stroke / 2;
    int32_t dx = x - from_x, dy = (y - from_y) * step, major = dy >= dx ? dy : dx, minor = dy >= dx ? dx : dy, run = 0;
    for (left = major; left >= 0; left--) {
        error += 2 * minor;
        run++;
        if (error > major || !left) {
            /* The run ends here. */
            int32_t wide = dy >= dx ? 1 : run, tall = dy >= dx ? run : 1;
            fill(pen, from_x - out, (step < 0 ? from_y - tall + 1 : from_y) - out, wide + stroke - 1, tall + stroke - 1);
            from_x += wide;
            from_y += tall * step;
            error -= 2 * major;
            run = 0;
        }
    }
}

#if INK_MEMO
/* The first sample from one on that is not at or beyond an edge, or the last one. Those without a row count as higher. */
static INK_APART int32_t beyond(const uint16_t *newest, int32_t at, int32_t end, int32_t edge, int higher)
{
    const uint16_t *row = newest - at, *last = newest - end;
    if (higher) {
        while (row > last && (int16_t)*row <= edge) {
            row--;
        }
    } else {
        while (row > last && (int16_t)*row >= edge) {
            row--;
        }
    }
    return (int32_t)(newest - row);
}
#endif

static void lines(struct pen *pen, const struct chart *chart)
{
    int32_t stroke = chart->n[STROKE], last = (int32_t)chart->n[SAMPLES] - 1, wide = chart->plot.w - 1;
    int32_t top = pen->y0 - stroke, bottom = pen->y1 + stroke, at, end, y = INK_UNKNOWN;
    /* Columns run to the right; a line reaches in from the sample on either side. */
    at = (pen->x0 - stroke - chart->plot.x) * last / wide;
    end = (pen->x1 + stroke - chart->plot.x) * last / wide + 1;
    at = at < 0 ? 0 : at;
    for (end = end < last ? end : last; at <= end; at++) {
        int32_t from_y, back = 2 * wide;
#if INK_MEMO
        if (chart->any & ROWS_KNOWN && at < end && y != INK_UNKNOWN && (y <= top || y >= bottom)) {
            /* Most samples lie on the same side as the one before. */
            at = beyond(pen->known + CHART_CELLS + last, at, end, y <= top ? top : bottom, y <= top);
            y = row_back(pen, chart, last - at + 1);
        }
#endif
        from_y = y;
        y = row_back(pen, chart, last - at);
        if (from_y == INK_UNKNOWN) {
            from_y = y;
            back = 0;
        }
        if (y != INK_UNKNOWN && (y > top || from_y > top) && (y < bottom || from_y < bottom)) {
            int32_t twice = 2 * at * wide + last, x = chart->plot.x;
            brush(pen, x + (twice - back) / (2 * last), from_y, x + twice / (2 * last), y, stroke);
        }
    }
}

#endif

#if INK_BAR_CHARTS
static INK_APART void bars(struct pen *pen, const struct chart *chart, int on_zero)
{
    int32_t bottom = chart->plot.y + chart->plot.h, base = on_zero ? row_of(chart, 0) : bottom;
    int32_t first = base < bottom - 1 ? base : bottom - 1;
    int32_t samples = chart->n[SAMPLES], wide = chart->plot.w, bar_at = (pen->x0 - chart->plot.x) * samples / wide - 1;
    int32_t each = wide / samples, right, rest;
    bar_at = bar_at < 0 ? 0 : bar_at;
    /* The right edge of a bar is the left one of the next; what is over is in parts of a pixel. */
    right = bar_at * wide / samples;
    rest = bar_at * wide - right * samples;
    wide -= each * samples;
    for (right += chart->plot.x; bar_at < samples && right < pen->x1; bar_at++) {
        int32_t left = right, row = row_back(pen, chart, samples - 1 - bar_at), top = row < base ? row : first, end;
        right += each;
        rest += wide;
        if (rest >= samples) {
            rest -= samples;
            right++;
        }
        if (top >= pen->y1) {
            continue;
        }
        end = row < base ? base : (row > first ? row : first) + 1;
        if (end <= pen->y0 || row == INK_UNKNOWN) {
            continue;
        }
        row = right - left;
        row -= row > 2;
        fill(pen, left, top, row > 1 ? row : 1, end - top);
    }
    if (on_zero) {
        fill(pen, chart->plot.x, base, chart->plot.w, 1);
    }
}

#endif

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
    y = row_of_sample(chart, value);
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
    int32_t interval = chart->interval, shown = interval * (chart->n[SAMPLES] - 1), newest;
    uint8_t step_at, drawn = 0;
    if (chart->now == INK_UNKNOWN) {
        return;
    }
    set_in(pen, chart->hours_face);
    pen->decimals = 0;
    read_marks(pen, PLAIN_MARKS);
    newest = floored(chart->now, interval) * interval;
    for (step_at = 0; step_at < 20; step_at++) {
        int32_t step = clock_steps[step_at], index, last = floored(newest, step), taken = 0;
        int apart = 1;
        if (shown / 64 > step || (shown / 64 == step && shown % 64)) {
            continue;
        }
        index = -floored(shown - newest, step);
        last = last > index + 64 ? index + 64 : last;
        for (; index <= last && apart; index++) {
            int16_t time[PARTS];
            int32_t column = column_of(chart, newest - index * step, interval), left, width;
            moment(pen, index * step, time);
            pen->count = 0;
            put_number(pen, time[step < 86400 ? HOUR : DAY], 2, ZERO);
            put(pen, step < 86400 ? COLON : POINT);
            put_number(pen, time[step < 86400 ? MINUTE : MONTH], 2, ZERO);
            if (step >= 86400) {
                put(pen, POINT);
            }
            width = width_of(pen, pen->codes, pen->count);
            left = column - (width - 1) / 2;
            left = left > chart->end - width ? chart->end - width : left;
            left = left < chart->start ? chart->start : left;
            if (drawn) {
                int32_t y = chart->plot.y + chart->plot.h + 1;
                fill(pen, column, y, 1, 2);
                pen->row = y + 4 + height(pen, CAP);
                set(pen, pen->codes, pen->count, left);
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

/* Reads a chart to its end, and finds its scale. */
static INK_APART void read_chart(struct pen *pen, struct chart *chart, int seen)
{
    int32_t n[RANGE_NUMBERS];
    small_numbers(pen, chart->n, SMALL_NUMBERS);
    numbers(pen, &chart->factor, 3, 4);
    chart->unit *= 2;
#if INK_PARTS
    chart->multiply = chart->divide = 0;
    if (chart->n[CURSOR_SHOWN] & PARTS_COUNTED) {
        chart->multiply = natural(pen) & 0xFFFFFFF;
        chart->divide = natural(pen) & 0x3FFFFFFF;
        chart->n[CURSOR_SHOWN] &= 1;
    }
#endif
    numbers(pen, n, RANGE_NUMBERS, 7);
    read_box(pen, &chart->plot);
    chart->ring = ring_of(pen->design, chart->n[FIELD]);
#if INK_ENDS
    chart->low = chart->n[FLAGS] & LOW ? integer(pen) * 2 : 0;
    chart->high = chart->n[FLAGS] & HIGH ? integer(pen) * 2 : 0;
#endif
    chart->limit = INK_UNKNOWN;
#if INK_LIMITS
    if (chart->n[FLAGS] & LIMIT_NUMBER) {
        chart->limit = integer(pen) * 2;
    } else if (chart->n[FLAGS] & LIMIT_FIELD) {
        int32_t own = chart->factor, limit = field_value(pen);
        set_factor(chart, natural(pen));
        chart->limit = limit == INK_UNKNOWN ? limit : half_units(chart, limit);
        chart->factor = own;
    }
#endif
    set_factor(chart, chart->factor);
    chart->face = (uint8_t)natural(pen);
    read_marks(pen, (uint8_t)natural(pen));
    chart->cursor = -1;
#if INK_CURSORS
    if (chart->n[CURSOR_SHOWN]) {
        int32_t cursor = whole_of(pen), last = (int32_t)chart->n[SAMPLES] - 1;
        chart->cursor = (int16_t)(cursor < last ? cursor : last);
    }
#endif
#if INK_HOURS
    if (chart->n[FLAGS] & CLOCK_SHOWN) {
        chart->now = field_value(pen);
        chart->interval = natural(pen);
        chart->hours_face = (uint8_t)natural(pen);
        chart->start = pen->area.x + integer(pen);
        chart->end = chart->start + natural(pen);
    }
#endif
    if (!seen) {
        return;
    }
    scale(pen, chart, n);
    chart->step = nice_step(chart);
    if (!HAS(chart, INK_ENDS, LOW)) {
        chart->low = floored(chart->low, chart->step) * chart->step;
    }
    if (!HAS(chart, INK_ENDS, HIGH)) {
        chart->high = -floored(-chart->high, chart->step) * chart->step;
    }
    if (n[RANGE_END] > 0 && chart->low < 0 && chart->high >= 0) {
        chart->any |= ON_ZERO;
    }
}

#if INK_MEMO
/* Copies a chart from or to the cells of a memo. */
static void copy(uint8_t *to, const uint8_t *from)
{
    unsigned left;
    for (left = sizeof(struct chart); left; left--) {
        *to++ = *from++;
    }
}
#endif

/* Labels of the value axis and of time, and grid lines, where they are wanted. */
static INK_APART void along_axes(struct pen *pen, const struct chart *chart, int labels_now, int plot_now)
{
    int32_t count = -floored(-chart->low, chart->step), last = floored(chart->high, chart->step);
    set_in(pen, chart->face);
    pen->decimals = (uint8_t)chart->n[DECIMALS];
    if (!labels_now && !HAS(chart, INK_GRIDS, GRID)) {
        return;
    }
    for (last = last > count + 4096 ? count + 4096 : last; count <= last; count++) {
        int32_t y = row_of(chart, count * chart->step), x = chart->plot.x - 3;
#if INK_GRIDS
        if (plot_now && chart->n[FLAGS] & GRID && y >= chart->plot.y && y < chart->plot.y + chart->plot.h) {
            broken(pen, chart, y, 1, 4);
        }
#endif
        if (labels_now && chart->n[FLAGS] & AXIS && pen->x0 < chart->plot.x) {
            fill(pen, x, y, 2, 1);
            pen->count = 0;
            put_number(pen, count * chart->step / chart->unit, 0, 0);
            x -= 1 + width_of(pen, pen->codes, pen->count);
            pen->row = y - height(pen, CAP) / 2 + height(pen, CAP);
            set(pen, pen->codes, pen->count, x);
        }
    }
    (void)plot_now;
#if INK_HOURS
    if (labels_now && chart->n[FLAGS] & CLOCK_SHOWN) {
        hours(pen, chart);
    }
#endif
}

/* What lies in the plot beside grid lines. */
static INK_APART void inside_plot(struct pen *pen, const struct chart *chart)
{
#if INK_LIMITS
    if (chart->limit != INK_UNKNOWN && chart->limit >= chart->low && chart->limit <= chart->high) {
        broken(pen, chart, row_of(chart, chart->limit), 5, 8);
    }
#endif
#if INK_BAR_CHARTS
    if (IS_BARS(chart)) {
        bars(pen, chart, chart->any & ON_ZERO);
    }
#endif
#if INK_LINE_CHARTS
    if (!IS_BARS(chart)) {
        lines(pen, chart);
    }
#endif
#if INK_CURSORS
    if (chart->cursor >= 0) {
        show_cursor(pen, chart, chart->cursor);
    }
#endif
    if (!(chart->any & ANY)) {
        fill(pen, chart->plot.x + (chart->plot.w - 1) / 2 - 3, chart->plot.y + (chart->plot.h - 1) / 2, 7, 1);
    }
}

static INK_APART void history(struct pen *pen, int seen)
{
    struct chart chart;
    int plot_now = 1, labels_now = 1;
#if INK_MEMO
    if (pen->known) {
        copy((uint8_t *)&chart, (const uint8_t *)pen->known);
        labels_now = 0;
    } else
#endif
    {
        read_chart(pen, &chart, seen);
        if (!seen) {
            return;
        }
    }
#if INK_MEMO
    if (pen->memo) {
        /* Labels are noted as lines of characters, so that the rest lies in the plot. */
        struct box area = pen->area;
        uint16_t *known, back, samples = chart.n[SAMPLES];
        pen->area = chart.plot;
        known = note_op(pen, (uint16_t)(CHART_CELLS + samples));
        if (known) {
            for (back = 0; back < samples; back++) {
                int32_t row = row_back(pen, &chart, back);
                known[CHART_CELLS + back] = row == INK_UNKNOWN ? NO_ROW : (uint16_t)row;
            }
            chart.any |= ROWS_KNOWN;
        } else if (pen->memo->failed == 2) {
            /* No room for the rows: the rest is known still. */
            pen->memo->failed = 0;
            known = note_op(pen, CHART_CELLS);
        }
        pen->area = area;
        if (known) {
            copy((uint8_t *)known, (const uint8_t *)&chart);
        }
        plot_now = 0;
    }
#endif
    along_axes(pen, &chart, labels_now, plot_now);
    if (plot_now && clip(pen, &chart.plot)) {
        inside_plot(pen, &chart);
    }
}
#endif
