/* exam_made.h - random plans of an exam for tests. Invented data. Include after cmocka.h. */
#ifndef EVENHAND_TESTS_PLAN_EXAM_MADE_H
#define EVENHAND_TESTS_PLAN_EXAM_MADE_H

#include "evenhand/plan/exam.h"
#include "evenhand/plan/metronome.h"

typedef struct {
    uint32_t seed;
    ExamPassage passages[EXAM_PASSAGES_MAX];
    Day missed[60];
    ExamSpec spec;
} ExamMade;

static inline int exam_draw(ExamMade *m, int low, int high)
{
    m->seed = m->seed * 1664525u + 1013904223u;
    return low + (int)((m->seed >> 8) % (uint32_t)(high - low + 1));
}

static inline Tempo exam_draw_tempo(ExamMade *m, Ratio beat, int low, int high)
{
    int number = exam_draw(m, low, high);
    return tempo(beat, exam_draw(m, 0, 9) == 0 ? ratio(2 * number + 1, 2) : ratio_int(number));
}

/* Around year ends and leap days as well; goals from the present tempo up, some below it. */
static inline void exam_random(ExamMade *m, uint32_t seed)
{
    static const char *const titles[] = {"Scale, invented", "Arpeggio, invented", "Run, invented"};
    static const int years[] = {1999, 2023, 2026, 2027, 2099, 2400};
    m->seed = seed;
    Day today = date_day(years[exam_draw(m, 0, 5)], 1, 1) + exam_draw(m, 0, 364);
    int days = exam_draw(m, 0, 3) == 0 ? exam_draw(m, 1, 12) : exam_draw(m, 1, 420);
    int count = exam_draw(m, 0, 2) == 0 ? exam_draw(m, 1, 24) : exam_draw(m, 1, 5);
    for (int i = 0; i < count; i++) {
        Ratio beat = ratio(exam_draw(m, 1, 4), 2);
        Tempo present = exam_draw_tempo(m, beat, 20, 150);
        int from = (int)ratio_floor(present.per_minute) - 5;
        m->passages[i] = (ExamPassage){.title = titles[i % 3],
            .present = present,
            .goal = exam_draw_tempo(m, beat, from, from + exam_draw(m, 0, 120)),
            .reached = tempo(ratio_int(1), ratio_int(0)),
            .length = ratio(exam_draw(m, 4, 200), 2)};
        if (exam_draw(m, 0, 4) == 0)
            m->passages[i].reached = exam_draw_tempo(m, ratio_int(1), 30, 220);
    }
    int missed = exam_draw(m, 0, 1) == 0 ? 0 : exam_draw(m, 1, 60);
    for (int i = 0; i < missed; i++)
        m->missed[i] = today + exam_draw(m, -20, days);
    m->spec = (ExamSpec){.today = today,
        .exam = today + days,
        .weekdays = (unsigned)exam_draw(m, 1, 127),
        .minutes = exam_draw(m, EXAM_MINUTES_MIN, 90),
        .block = exam_draw(m, 0, 2) == 0 ? exam_draw(m, 1, 5) : 0,
        .repetitions = exam_draw(m, 0, 1) == 0 ? 0 : exam_draw(m, 4, 60),
        .passages = m->passages,
        .passage_count = count,
        .missed = m->missed,
        .missed_count = missed};
}

#endif
