#include "evenhand/app/command.h"
#include "evenhand/app/exam_load.h"
#include "evenhand/app/report.h"
#include "evenhand/formats/calendar.h"
#include "evenhand/formats/exam_sheet.h"
#include "evenhand/sound/track.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <time.h>

static bool can_write(const char *path, Error *error)
{
    const char *point = strrchr(path, '.');
    return (point && strcasecmp(point, ".ics") == 0) ||
           error_set(error, ERROR_USAGE,
               "'%.100s' has no ending that a plan can be written with: .ics", path);
}

static bool write_calendar(const Options *o, const Exam *exam, Error *error)
{
    Text bytes = {0};
    bool done = calendar_exam(&exam->spec, &exam->plan, exam->file.title, exam->file.student,
        (int64_t)time(NULL), &bytes, error);
    report_watch_signals(); /* the write is short: a signal waits for its end */
    done = done && file_write_atomic(o->output, o->force, bytes.bytes, bytes.size, error);
    report_rethrow_signals();
    text_free(&bytes);
    return done;
}

static bool print_plan(const Options *o, const Exam *exam, Error *error)
{
    const ExamAdvice *advice = exam->plan.fits ? NULL : &exam->advice;
    Text text = {0};
    bool made = exam_sheet_head(
        &exam->spec, &exam->plan, advice, exam->file.title, exam->file.student, &text);
    if (made && !o->output) /* who writes the days to a file need not read them here */
        made = o->months ? exam_sheet_months(&exam->spec, &exam->plan, &text)
                         : exam_sheet_days(&exam->spec, &exam->plan, &text);
    bool done = made ? report_text(&text, error)
                     : error_set(error, ERROR_MEMORY, "there is no memory for the plan");
    text_free(&text);
    return done;
}

bool command_plan(const Options *o, Error *error)
{
    Exam exam;
    if ((o->output && !can_write(o->output, error)) ||
        !exam_load(o->file, o->has_today ? o->today : exam_today(), &exam, error))
        return false;
    if (exam.left_out.kind != ERROR_NONE)
        fprintf(stderr, "evenhand: note: planned without the practice record: %s\n",
            exam.left_out.text);
    bool done = (!o->output || write_calendar(o, &exam, error)) && print_plan(o, &exam, error);
    exam_drop(&exam);
    return done;
}
