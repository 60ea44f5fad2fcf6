/* The plan in words: one set of them for text, calendar and screen. */
#include "evenhand/music/text.h"
#include "evenhand/plan/exam.h"

#include <stdio.h>

enum { TITLE_SHOWN = 120 };

/* Finger accents, beat rotation, rhythms: in the order in which the session has them. What needs
 * a certain passage (links, threes) is left to those who write the plan. */
const char *exam_drill(int i)
{
    static const char *const drills[] = {"plain", "finger-4", "finger-3", "finger-2", "finger-1",
        "beat-1", "beat-2", "long-short", "short-long"};
    enum { DRILLS = sizeof drills / sizeof drills[0] };
    return drills[(i < 0 ? 0 : i) % DRILLS];
}

const char *exam_weekday(int weekday)
{
    static const char *const names[] = {
        "Monday", "Tuesday", "Wednesday", "Thursday", "Friday", "Saturday", "Sunday"};
    return weekday < 1 || weekday > 7 ? "" : names[weekday - 1];
}

const char *exam_tempo_number(Tempo t, char out[TEMPO_TEXT_MAX])
{
    const char *text = tempo_text(t, out);
    for (const char *c = text; *c != '\0'; c++)
        if (c[0] == '=' && c[1] == ' ')
            return c + 2;
    return text;
}

char *exam_entry_text(const ExamEntry *e, char out[EXAM_WORDS_MAX])
{
    char at[TEMPO_TEXT_MAX], to[TEMPO_TEXT_MAX];
    tempo_text(e->tempo, at);
    switch (e->what) {
    case EXAM_REVIEW: snprintf(out, EXAM_WORDS_MAX, "review at %s", at); break;
    case EXAM_DRILL: snprintf(out, EXAM_WORDS_MAX, "drill %s at %s", e->drill, at); break;
    case EXAM_EASY: snprintf(out, EXAM_WORDS_MAX, "easy at %s", at); break;
    case EXAM_CLIMB:
        if (e->from == e->to)
            snprintf(out, EXAM_WORDS_MAX, "climb on from %s", at);
        else
            snprintf(out, EXAM_WORDS_MAX, "climb from %s to %s", at, exam_tempo_number(e->end, to));
        break;
    }
    return out;
}

char *exam_entry_brief(const ExamEntry *e, char out[EXAM_WORDS_MAX])
{
    static const char *const words[] = {
        [EXAM_REVIEW] = "review", [EXAM_EASY] = "easy", [EXAM_CLIMB] = "on from"};
    char at[TEMPO_TEXT_MAX], to[TEMPO_TEXT_MAX];
    const char *number = exam_tempo_number(e->tempo, at);
    if (e->what == EXAM_CLIMB && e->from != e->to)
        snprintf(out, EXAM_WORDS_MAX, "%s to %s", number, exam_tempo_number(e->end, to));
    else
        snprintf(out, EXAM_WORDS_MAX, "%s %s", e->what == EXAM_DRILL ? e->drill : words[e->what],
            number);
    return out;
}

static void goals_text(const ExamSpec *spec, const ExamAdvice *advice, char out[EXAM_WORDS_MAX])
{
    int lowered = 0, which = 0;
    char text[TEMPO_TEXT_MAX], title[TITLE_SHOWN];
    for (int i = 0; i < advice->goal_count && i < spec->passage_count; i++)
        if (!ratio_equal(spec->passages[i].goal.per_minute, advice->goals[i].per_minute)) {
            which = i;
            lowered++;
        }
    if (lowered == 1)
        snprintf(out, EXAM_WORDS_MAX, "a goal of %s for %s", tempo_text(advice->goals[which], text),
            text_clean(spec->passages[which].title, title, sizeof title));
    else
        snprintf(out, EXAM_WORDS_MAX, "lower goals for %d passages", lowered);
}

bool exam_advice_next(
    const ExamSpec *spec, const ExamAdvice *advice, int *at, char out[EXAM_WORDS_MAX])
{
    for (;;) {
        switch ((*at)++) {
        case 0:
            if (advice->minutes == 0)
                continue;
            snprintf(out, EXAM_WORDS_MAX, "%d minutes a day", advice->minutes);
            return true;
        case 1:
            if (advice->weekday == 0)
                continue;
            snprintf(out, EXAM_WORDS_MAX, "another practice day, each %s",
                exam_weekday(advice->weekday));
            return true;
        case 2:
            if (advice->goal_count == 0)
                continue;
            goals_text(spec, advice, out);
            return true;
        default: return false;
        }
    }
}
