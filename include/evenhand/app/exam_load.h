/* exam_load.h - from an exam plan's file to the plan: tunes, practice record and clock asked.
 * Console thread; prints nothing. */
#ifndef EVENHAND_APP_EXAM_LOAD_H
#define EVENHAND_APP_EXAM_LOAD_H

#include "evenhand/formats/exam_file.h"

/* Owns all of it; exam_drop. Not to be copied: the parts point into each other. */
typedef struct {
    ExamFile file;
    ExamPassage *passages;
    ExamSpec spec;
    ExamPlan plan;
    ExamAdvice advice; /* all zero where the plan fits */
    Day *done;         /* days on which the student practised, as the record has it */
    int done_count;
    Error left_out; /* why the record was not read; ERROR_NONE: it was */
} Exam;

/* The day that the player's own calendar shows now. */
Day exam_today(void);
/* Reads the file ("-": standard input) and plans from `today` on. A passage's `file` is looked for
 * where load_find looks; it gives what the plan leaves out: title, beat unit, length, drills. A
 * record that cannot be read is left out. Errors carry the file and its line. On failure *out is
 * zeroed. */
bool exam_load(const char *path, Day today, Exam *out, Error *error);
/* What exam_load does before it plans: fills in the days done, and what each passage has reached
 * by the record at `path` (a missing file: nothing), under the file's student and its titles. */
bool exam_record(Exam *exam, const char *path, Error *error);
void exam_drop(Exam *exam); /* leaves it zeroed */

#endif
