#include "evenhand/app/exam_load.h"

#include "evenhand/app/load.h"
#include "recorder.h"

#include <stdlib.h>
#include <string.h>
#include <time.h>

Day exam_today(void)
{
    return recorder_day((int64_t)time(NULL) * 1000);
}

/* The drills that the tune has, each once, as far as there is room. */
static void take_drills(const Loaded *l, ExamFilePassage *p)
{
    for (size_t i = 0; i < l->session.count && p->drill_count < EXAM_DRILLS_MAX; i++) {
        char word[DRILL_TEXT_MAX];
        bool known = strlen(drill_word(&l->session.steps[i].drill, word)) >= EXAM_DRILL_MAX;
        for (int k = 0; k < p->drill_count; k++)
            known = known || strcmp(p->words[k], word) == 0;
        if (known)
            continue;
        strcpy(p->words[p->drill_count], word);
        p->drills[p->drill_count] = p->words[p->drill_count];
        p->drill_count++;
    }
}

static void take_tune(const Loaded *l, ExamFilePassage *p)
{
    if (p->title[0] == '\0')
        text_clean(l->passage->title, p->title, sizeof p->title);
    if (p->goal.beat.num == 0)
        p->from.beat = p->goal.beat = l->passage->tempo.beat;
    if (p->length.num == 0)
        p->length = l->passage->length;
    if (p->drill_count == 0)
        take_drills(l, p);
}

static bool load_tunes(const char *path, ExamFile *file, Error *error)
{
    Options options = options_default();
    for (int i = 0; i < file->passage_count; i++) {
        ExamFilePassage *p = &file->passages[i];
        char tune[PATHS_MAX];
        Loaded l;
        if (p->file[0] == '\0')
            continue;
        if (!load_find(path, p->file, p->file_line, tune, error) ||
            !load_passage(tune, &options, &l, error))
            return false;
        take_tune(&l, p);
        loaded_free(&l);
    }
    return true;
}

static bool read_file(const char *path, ExamFile *out, Error *error)
{
    Text text;
    if (!load_bytes(path, &text, error))
        return false;
    bool done = exam_file_read(text.bytes ? text.bytes : "", text.size, out, error);
    text_free(&text);
    return done;
}

static bool plan(Exam *exam, Day today, Error *error)
{
    exam->passages = calloc((size_t)exam->file.passage_count, sizeof *exam->passages);
    if (!exam->passages)
        return error_set(error, ERROR_MEMORY, "no memory for the plan's passages");
    exam_file_spec(&exam->file, today, exam->passages, &exam->spec);
    char record[PATHS_MAX];
    if (paths_record(record, &exam->left_out))
        exam_record(exam, record, &exam->left_out);
    if (exam_plan(&exam->spec, &exam->plan, error))
        return exam->plan.fits || exam_advise(&exam->spec, &exam->advice, error);
    if (exam->spec.exam <= today || exam->spec.exam - today > EXAM_DAYS_MAX)
        error->line = exam->file.exam_line;
    return false;
}

bool exam_load(const char *path, Day today, Exam *out, Error *error)
{
    memset(out, 0, sizeof *out);
    if (read_file(path, &out->file, error) && load_tunes(path, &out->file, error) &&
        plan(out, today, error))
        return true;
    error_source(error, strcmp(path, "-") == 0 ? "standard input" : path);
    exam_drop(out);
    return false;
}

void exam_drop(Exam *exam)
{
    exam_plan_free(&exam->plan);
    exam_advice_free(&exam->advice);
    exam_file_free(&exam->file);
    free(exam->passages);
    free(exam->done);
    memset(exam, 0, sizeof *exam);
}
