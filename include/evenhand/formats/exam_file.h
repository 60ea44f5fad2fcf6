/* exam_file.h - an exam plan's file, as people write it by hand. Pure.
 *
 *     [exam]                              [passage]                     [missed]
 *     date = 2027-03-13                   title = Scale in G            day = 2026-12-24
 *     days = mon tue thu sat              from = 1/4=72                 day = 2026-12-27 to
 * 2027-01-02 minutes = 30                        goal = 1/4=104
 *
 * More in [exam]: title, student, block, repetitions. More in [passage], which comes once for
 * each: file (a tune, for its title and length), length (quarters), drills.
 */
#ifndef EVENHAND_FORMATS_EXAM_FILE_H
#define EVENHAND_FORMATS_EXAM_FILE_H

#include "evenhand/formats/ini.h"
#include "evenhand/plan/exam.h"
#include "evenhand/plan/record.h"

enum { EXAM_FILE_LENGTH = 16 }; /* quarters of a repetition where neither file nor length says */

typedef struct {
    int line, file_line;         /* of its [passage]; of its file */
    char title[RECORD_NAME_MAX]; /* "" only where `file` is given: the tune's */
    char file[INI_VALUE_MAX];    /* FILE or FILE:X; "" none */
    Tempo from, goal;            /* beat 0/1: none was written; the tune's, else a quarter */
    Ratio length;                /* quarters; 0/1: the tune's, else EXAM_FILE_LENGTH */
    char words[EXAM_DRILLS_MAX][EXAM_DRILL_MAX];
    const char *drills[EXAM_DRILLS_MAX]; /* into words */
    int drill_count;
} ExamFilePassage;

typedef struct {
    char title[RECORD_NAME_MAX], student[RECORD_NAME_MAX]; /* may be "" */
    Day exam;
    int exam_line;
    unsigned weekdays; /* as ExamSpec */
    int minutes, block, repetitions;
    ExamFilePassage *passages;
    int passage_count;
    Day missed[EXAM_MISSED_MAX];
    int missed_count;
} ExamFile;

/* Errors carry the line and say what to write. On failure *out is zeroed. */
bool exam_file_read(const char *text, size_t size, ExamFile *out, Error *error);
void exam_file_free(ExamFile *file); /* leaves it zeroed */
/* Fills the plan's spec. It lends from *file and from `passages` (file->passage_count of them),
 * in which nothing is reached yet. */
void exam_file_spec(const ExamFile *file, Day today, ExamPassage *passages, ExamSpec *out);

#endif
