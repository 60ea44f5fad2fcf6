#include "recorder.h"

#include "evenhand/app/paths.h"

#include <stdio.h>
#include <time.h>

enum { PATIENCE_MS = 10000 }; /* a very large record is looked through for some seconds first */

static int64_t moment(void)
{
    struct timespec t;
    clock_gettime(CLOCK_REALTIME, &t);
    return (int64_t)t.tv_sec * 1000 + t.tv_nsec / 1000000;
}

Day recorder_day(int64_t at)
{
    time_t seconds = (time_t)(at / 1000);
    struct tm local;
    if (localtime_r(&seconds, &local) == NULL)
        return 0;
    Day day = date_day(local.tm_year + 1900, local.tm_mon + 1, local.tm_mday);
    return day > 0 ? day : 0; /* a clock that stands before the calendar begins */
}

static uint64_t put(void *to, const Repetition *played)
{
    Recorder *r = to;
    Repetition whole = *played;
    whole.at = moment();
    whole.day = recorder_day(whole.at);
    return scribe_put(r->scribe, &whole);
}

static bool judge(void *to, uint64_t ticket, bool clean)
{
    const Recorder *r = to;
    return scribe_judge(r->scribe, ticket, clean);
}

void recorder_open(Recorder *r, const Options *options, Practice *practice, int64_t now_ms)
{
    char path[PATHS_MAX];
    Error error = {0};
    int64_t at = moment();
    *r = (Recorder){.scribe = NULL};
    if (options->no_record)
        return;
    if (!paths_record(path, &error)) {
        char text[ERROR_TEXT_MAX + 32];
        snprintf(text, sizeof text, "Not recorded: %s.", error.text);
        practice_news(practice, text, true, now_ms);
        return;
    }
    r->scribe = scribe_start(path, practice_student(practice), at, recorder_day(at));
    if (r->scribe == NULL) {
        practice_news(practice, "Not recorded: no memory for it.", true, now_ms);
        return;
    }
    const RecordSink sink = {.to = r, .put = put, .judge = judge};
    practice_record_to(practice, &sink);
}

void recorder_poll(Recorder *r, Practice *practice, int64_t now_ms)
{
    ScribeStatus status;
    if (r->scribe == NULL)
        return;
    scribe_poll(r->scribe, &status);
    practice_recorded(practice, status.written, status.lost, status.waiting > 0);
    if (status.news[0] != '\0')
        practice_news(practice, status.news, status.warns, now_ms);
    else if (status.lost > r->lost)
        practice_news(practice, "A repetition could not be recorded.", true, now_ms);
    r->lost = status.lost;
}

void recorder_close(Recorder *r)
{
    scribe_stop(r->scribe, PATIENCE_MS);
    r->scribe = NULL;
}
