/* figures_fixture.h - tunes in a line, random lines with parts that come again. Invented data. */
#ifndef EVENHAND_TESTS_FIGURES_FIXTURE_H
#define EVENHAND_TESTS_FIGURES_FIXTURE_H

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "../../src/harp/fingering_figures.h"
#include "../tools/passages.h"
#include "evenhand/formats/abc.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { NOTES_MAX = 400 };

/* Quavers in 4/4, crotchet = 80, C major. */
static inline Passage *tune(const char *body)
{
    char text[600];
    Error error = {0};
    snprintf(text, sizeof text, "X:1\nT:row\nM:4/4\nL:1/8\nQ:1/4=80\nK:C\n%s\n", body);
    Passage *p = abc_read(text, strlen(text), 0, &error);
    if (p == NULL)
        fail_msg("%s: %s", body, error.text);
    return p;
}

/* Without marks. rules_free. */
static inline Rules rules_of(const Passage *p, const FingeringOptions *o)
{
    Rules r;
    uint8_t *marks = calloc(p->note_count, 1);
    assert_non_null(marks);
    assert_true(rules_make(&r, p, o, marks));
    free(marks);
    return r;
}

typedef struct {
    int strings[NOTES_MAX];
    int count;
} Line;

/* Mostly steps, no string twice in a row. */
static inline void put_random(Line *line, Random *r, int notes)
{
    int string = random_between(r, 24, 36);
    for (int i = 0; i < notes; i++) {
        line->strings[line->count++] = string;
        int step = random_between(r, 0, 5) == 0 ? random_between(r, -5, 5)
                                                : (random_between(r, 0, 3) > 0 ? 1 : -1);
        string += step == 0 ? 1 : step;
    }
}

/* Notes of the line from `from` on once more, so many strings higher. */
static inline void put_again(Line *line, int from, int notes, int moved)
{
    for (int i = 0; i < notes; i++)
        line->strings[line->count++] = line->strings[from + i] + moved;
}

static inline Passage *passage_of_line(const Line *line)
{
    Ratio lengths[NOTES_MAX];
    for (int i = 0; i < line->count; i++)
        lengths[i] = ratio(1, 2);
    return passage_of(line->strings, lengths, (size_t)line->count, metre(4, 4), ratio_int(0));
}

#endif
