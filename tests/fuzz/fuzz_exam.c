/* fuzz_exam.c - a libFuzzer target: any bytes as an exam plan's file; what can be read is planned
 * from a fixed day, told what would make it fit, and written as text and as a calendar. */
#include "evenhand/formats/calendar.h"
#include "evenhand/formats/exam_file.h"
#include "evenhand/formats/exam_sheet.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void insist(bool holds)
{
    if (!holds)
        abort();
}

static void check_error(const Error *e)
{
    char line[ERROR_TEXT_MAX + ERROR_SOURCE_MAX + 200];
    insist(e->kind > ERROR_NONE && e->kind < ERROR_KINDS && e->text[0] != '\0');
    insist(strchr(error_format(e, line, sizeof line), '\n') == NULL);
}

static void check_days(const ExamSpec *spec, const ExamPlan *plan)
{
    int minutes = 0;
    for (size_t i = 0; i < plan->count; i++) {
        const ExamEntry *e = &plan->entries[i];
        bool next = i == 0 || e->day != plan->entries[i - 1].day;
        minutes = next ? e->minutes : minutes + e->minutes;
        insist(exam_practises(spec, e->day) && e->minutes > 0 && minutes <= spec->minutes);
        insist(tempo_valid(e->tempo) && tempo_valid(e->end));
    }
}

static void check_plan(const ExamFile *file, const ExamSpec *spec)
{
    ExamPlan plan;
    ExamAdvice advice;
    Error error = {0};
    Text out = {0};
    if (!exam_plan(spec, &plan, &error)) {
        check_error(&error);
        return;
    }
    check_days(spec, &plan);
    insist(exam_advise(spec, &advice, &error));
    insist(
        exam_sheet_head(spec, &plan, plan.fits ? NULL : &advice, file->title, file->student, &out));
    insist(exam_sheet_days(spec, &plan, &out) && exam_sheet_months(spec, &plan, &out));
    insist(calendar_exam(spec, &plan, file->title, file->student, 0, &out, &error));
    text_free(&out);
    exam_advice_free(&advice);
    exam_plan_free(&plan);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    ExamFile file;
    Error error = {0};
    if (!exam_file_read((const char *)data, size, &file, &error)) {
        check_error(&error);
        insist(file.passages == NULL);
        return 0;
    }
    ExamPassage passages[EXAM_PASSAGES_MAX];
    ExamSpec spec;
    exam_file_spec(&file, date_day(2026, 11, 25), passages, &spec);
    check_plan(&file, &spec);
    exam_file_free(&file);
    return 0;
}
