#include "evenhand/plan/chart.h"

#include <math.h>

static double per_minute(Tempo t, Ratio unit)
{
    double told = ratio_double(t.per_minute) * ratio_double(t.beat) / ratio_double(unit);
    return told < CHART_TEMPO_MAX ? told : CHART_TEMPO_MAX;
}

void chart_points(const RecordLine *lines, size_t count, ChartPoint *out, Ratio *unit)
{
    *unit = ratio_int(1);
    for (size_t i = 0; i < count; i++)
        if (lines[i].has_best)
            *unit = lines[i].best.beat;
    for (size_t i = 0; i < count; i++) {
        const RecordLine *line = &lines[i];
        out[i] = (ChartPoint){.day = line->day,
            .clean = line->clean,
            .count = line->count,
            .tempo = line->has_best ? per_minute(line->best, *unit) : 0};
    }
}

int chart_column(Day day, Day first, Day last, int columns)
{
    int64_t span = (int64_t)last - first;
    if (span <= 0 || columns < 2)
        return 0;
    int64_t column = (2 * ((int64_t)day - first) * (columns - 1) + span) / (2 * span);
    return column < 0 ? 0 : column >= columns ? columns - 1 : (int)column;
}

void chart_columns(const ChartPoint *points, size_t count, int columns, ChartPoint *out)
{
    for (int i = 0; i < columns; i++)
        out[i] = (ChartPoint){.day = 0};
    for (size_t i = 0; i < count; i++) {
        const ChartPoint *p = &points[i];
        ChartPoint *to = &out[chart_column(p->day, points[0].day, points[count - 1].day, columns)];
        to->day = p->day;
        to->clean += p->clean;
        to->count += p->count;
        to->tempo = p->tempo > to->tempo ? p->tempo : to->tempo;
    }
}

/* 1 2 5 10 20 50 ... */
static int next_step(int step)
{
    int digit = step;
    while (digit >= 10)
        digit /= 10;
    return digit == 2 ? step / 2 * 5 : step * 2;
}

static ChartAxis around(double low, double high, int step)
{
    ChartAxis axis = {
        .low = (int)floor(low / step) * step, .high = (int)ceil(high / step) * step, .step = step};
    if (axis.high == axis.low)
        axis.high += step;
    return axis;
}

ChartAxis chart_tempos(const ChartPoint *points, size_t count, int steps)
{
    double low = 0, high = 0;
    for (size_t i = 0; i < count; i++) {
        double tempo = points[i].tempo;
        if (tempo <= 0)
            continue;
        low = high <= 0 || tempo < low ? tempo : low;
        high = tempo > high ? tempo : high;
    }
    if (high <= 0)
        return (ChartAxis){0, 1, 1};
    int step = 1;
    ChartAxis axis = around(low, high, step);
    while (axis.high - axis.low > steps * step) {
        step = next_step(step);
        axis = around(low, high, step);
    }
    return axis;
}

int chart_row(double value, const ChartAxis *axis, int rows)
{
    double row = floor((value - axis->low) / (axis->high - axis->low) * (rows - 1) + 0.5);
    return row < 0 ? 0 : row > rows - 1 ? rows - 1 : (int)row;
}
