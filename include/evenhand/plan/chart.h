/* chart.h - practice over days as points, and the axes that they are drawn against: the same for
 * the screen and for paper. Pure. */
#ifndef EVENHAND_PLAN_CHART_H
#define EVENHAND_PLAN_CHART_H

#include "evenhand/plan/record.h"

enum { CHART_TEMPO_MAX = 1000000 }; /* beats a minute; faster ones are told as this */

/* A day on which something was practised, or several that share a column. */
typedef struct {
    Day day; /* the latest */
    int64_t clean, count;
    double tempo; /* best clean one, in the chart's beat unit a minute; 0: none was clean */
} ChartPoint;

/* Ticks from low to high, step apart; high - low is a whole number of steps, at least one. */
typedef struct {
    int low, high, step;
} ChartAxis;

/* A point for each line of RECORD_BY_DAY, which come oldest first. *unit: the beat, in quarters,
 * that all tempos are told in: that of the latest best one, a quarter where there is none. */
void chart_points(const RecordLine *lines, size_t count, ChartPoint *out, Ratio *unit);
/* The column of a day, 0 .. columns - 1; `first` stands in the leftmost and `last`, if it is
 * another, in the rightmost. */
int chart_column(Day day, Day first, Day last, int columns);
/* What stands in each of so many columns (from 1): points that share one are added up, the best
 * tempo is kept. out[column].count is 0 where there is nothing. */
void chart_columns(const ChartPoint *points, size_t count, int columns, ChartPoint *out);
/* Round numbers around all tempos, in at most `steps` steps (from 1). 0 to 1 where no point has
 * a tempo. */
ChartAxis chart_tempos(const ChartPoint *points, size_t count, int steps);
/* How far up a value stands, of `rows` (from 2): 0 at the axis' low end, rows - 1 at its high end.
 * To the nearest row; what is beyond the axis stands at its end. */
int chart_row(double value, const ChartAxis *axis, int rows);

#endif
