/* What the practice record tells a plan: how far each passage really is, which days were used. */
#include "evenhand/app/exam_load.h"

#include "evenhand/drill/drill.h"
#include "evenhand/journal/journal.h"

#include <stdlib.h>

/* Only what has the whole passage in even notes tells its tempo: accents do, links and rhythms,
 * which are played at other speeds, do not. */
static bool tells_tempo(const char *drill)
{
    DrillSpec spec = drill_plain();
    return drill_parse(drill, &spec, NULL) && spec.placing.kind == PLACING_NONE &&
           spec.rhythm.notes == 0;
}

static bool faster(Tempo a, Tempo b)
{
    return ratio_cmp(ratio_mul(a.beat, a.per_minute), ratio_mul(b.beat, b.per_minute)) > 0;
}

static bool take_reached(Journal *j, const char *student, ExamPassage *p, Error *error)
{
    const RecordFilter filter = {.student = student, .passage = p->title};
    RecordLine *lines = NULL;
    size_t count = 0;
    if (!journal_lines(j, RECORD_BY_DRILL, &filter, &lines, &count, error))
        return false;
    for (size_t i = 0; i < count; i++)
        if (lines[i].has_best && tells_tempo(lines[i].name) && faster(lines[i].best, p->reached))
            p->reached = lines[i].best;
    free(lines);
    return true;
}

static bool take_days(Journal *j, const char *student, Exam *exam, Error *error)
{
    const RecordFilter filter = {.student = student};
    RecordLine *lines = NULL;
    size_t count = 0;
    if (!journal_lines(j, RECORD_BY_DAY, &filter, &lines, &count, error))
        return false;
    exam->done = calloc(count + 1, sizeof *exam->done);
    for (size_t i = 0; exam->done && i < count; i++)
        exam->done[exam->done_count++] = lines[i].day;
    free(lines);
    return exam->done || error_set(error, ERROR_MEMORY, "no memory for the days of the record");
}

bool exam_record(Exam *exam, const char *path, Error *error)
{
    Journal *j = journal_open_reading(path, error);
    bool done = j != NULL && take_days(j, exam->file.student, exam, error);
    for (int i = 0; done && i < exam->file.passage_count; i++)
        done = take_reached(j, exam->file.student, &exam->passages[i], error);
    journal_close(j);
    return done;
}
