/* exam_sheet.h - an exam plan as text: day by day, or as months. Pure. */
#ifndef EVENHAND_FORMATS_EXAM_SHEET_H
#define EVENHAND_FORMATS_EXAM_SHEET_H

#include "evenhand/music/text.h"
#include "evenhand/plan/exam.h"

/* The head: the exam, each passage with what it comes to; where the plan does not fit (advice is
 * then not NULL) what would. `title` and `student` may be "". False without memory. */
bool exam_sheet_head(const ExamSpec *spec, const ExamPlan *plan, const ExamAdvice *advice,
    const char *title, const char *student, Text *out);
/* Each day with its blocks. */
bool exam_sheet_days(const ExamSpec *spec, const ExamPlan *plan, Text *out);
/* Each month as a grid, Monday first: minutes of each day, '-' missed, '*' the exam. */
bool exam_sheet_months(const ExamSpec *spec, const ExamPlan *plan, Text *out);

#endif
