#include "evenhand/formats/ladder_text.h"

#include "sheet_pen.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { WIDTH = 80, CLOCK_MAX = 24, WORDS_MAX = 240 };

typedef struct {
    Pen pen;
    const LadderSheet *sheet;
    const Ladder *ladder;
    int *times; /* repetitions on each rung, if all are clean */
    bool rates, clock;
} Writer;

static int64_t nearest(Ratio a)
{
    Ratio half_up = ratio_add(a, ratio(1, 2));
    return ratio_valid(half_up) ? ratio_floor(half_up) : 0;
}

/* "0:48", "12:05", "1:02:30". */
static const char *clock_words(Ratio seconds, char out[CLOCK_MAX])
{
    int64_t s = nearest(seconds);
    if (s >= 3600)
        snprintf(
            out, CLOCK_MAX, "%" PRId64 ":%02d:%02d", s / 3600, (int)(s / 60 % 60), (int)(s % 60));
    else
        snprintf(out, CLOCK_MAX, "%" PRId64 ":%02d", s / 60, (int)(s % 60));
    return out;
}

static Tempo rung_tempo(const Writer *w, int rung)
{
    return tempo(w->ladder->spec.goal.beat, w->ladder->rungs[rung]);
}

static Ratio seconds_of(const Writer *w, int rung, Ratio quarters)
{
    return ratio_mul(tempo_seconds_per_quarter(rung_tempo(w, rung)), quarters);
}

static void put_title(Writer *w)
{
    char title[PASSAGE_TITLE_MAX];
    if (w->sheet->title == NULL)
        return;
    text_clean(w->sheet->title, title, sizeof title);
    pen_wrap(&w->pen, title, 0);
    pen_put(&w->pen, "drill: %.200s\n", w->sheet->drill);
}

static void put_steps(Writer *w)
{
    const LadderSpec *s = &w->ladder->spec;
    char start[TEMPO_TEXT_MAX], goal[TEMPO_TEXT_MAX], words[WORDS_MAX], by[40], above[40] = "";
    int thousandths = (int)nearest(ratio_mul(s->amount, ratio_int(1000)));
    int digits = thousandths % 1000 == 0 ? 0 : thousandths % 100 == 0 ? 1 : 3;
    double amount = ratio_double(s->amount);
    switch (s->by) {
    case LADDER_BY_NUMBERS: snprintf(by, sizeof by, "the metronome's numbers"); break;
    case LADDER_BY_PERCENT: snprintf(by, sizeof by, "%.*f per cent", digits, amount); break;
    case LADDER_BY_AMOUNT: snprintf(by, sizeof by, "%.*f beats a minute", digits, amount); break;
    }
    if (s->above > 0)
        snprintf(above, sizeof above, ", %d rung%s above", s->above, s->above > 1 ? "s" : "");
    snprintf(words, sizeof words, "From %s to %s by %s%s.", tempo_text(s->start, start),
        tempo_text(s->goal, goal), by, above);
    pen_wrap(&w->pen, words, 0);
}

static void put_pattern(Writer *w)
{
    const LadderSpec *s = &w->ladder->spec;
    int count = s->pattern == LADDER_CLEAN ? s->clean : s->repetitions;
    const char *plural = count > 1 ? "s" : "";
    switch (s->pattern) {
    case LADDER_STRAIGHT:
        pen_put(&w->pen, "Straight up, %d clean repetition%s on each rung.\n", count, plural);
        break;
    case LADDER_TWO_UP:
        pen_put(&w->pen, "Two up, one back, each time %d clean repetition%s.\n", count, plural);
        break;
    case LADDER_CLEAN:
        pen_put(&w->pen, "Up after %d clean repetition%s%s, one down after a missed one.\n", count,
            plural, count > 1 ? " in a row" : "");
        break;
    }
}

static void put_head(Writer *w)
{
    char words[TEMPO_TEXT_MAX];
    tempo_text(w->ladder->spec.goal, words);
    char *equals = strchr(words, '=');
    if (equals != NULL)
        equals[1] = '\0';
    pen_put(&w->pen, "\n  rung  %10s", words);
    if (w->rates)
        pen_put(&w->pen, "  notes a second");
    pen_put(&w->pen, "  repetitions");
    if (w->clock)
        pen_put(&w->pen, "  one lasts  together");
    pen_put(&w->pen, "\n");
}

static void put_rung(Writer *w, int rung)
{
    Tempo t = rung_tempo(w, rung);
    char words[TEMPO_TEXT_MAX], rate[LADDER_RATE_MAX], one[LADDER_RATE_MAX], clock[CLOCK_MAX];
    const char *equals = strstr(tempo_text(t, words), "= ");
    pen_put(&w->pen, "  %4d  %10s", rung + 1, equals != NULL ? equals + 2 : words);
    if (w->rates)
        pen_put(
            &w->pen, "  %14s", ladder_rate_text(ladder_note_rate(t, w->sheet->note_length), rate));
    pen_put(&w->pen, "  %11d", w->times[rung]);
    if (w->clock) {
        Ratio seconds = seconds_of(w, rung, w->sheet->quarters);
        Ratio together = ratio_mul(seconds, ratio_int(w->times[rung]));
        pen_put(
            &w->pen, "  %7s s  %8s", ladder_rate_text(seconds, one), clock_words(together, clock));
    }
    pen_put(&w->pen, "%s\n", rung == w->ladder->goal ? "  goal" : "");
}

/* The rungs in the order in which they come, where that is not simply upwards. */
static bool put_order(Writer *w)
{
    Text words = {0};
    if (w->ladder->spec.pattern != LADDER_TWO_UP)
        return true;
    bool done = text_add(&words, "Rungs in this order:");
    for (int i = 0; done && i < w->ladder->visit_count; i++)
        done = text_add(&words, " %d", w->ladder->visits[i] + 1);
    if (done) {
        pen_put(&w->pen, "\n");
        pen_wrap(&w->pen, words.bytes, 0);
    }
    text_free(&words);
    return done;
}

static void put_sum(Writer *w)
{
    char words[WORDS_MAX], clock[CLOCK_MAX];
    int64_t repetitions = 0;
    double seconds = ratio_double(seconds_of(w, 0, w->sheet->count_in));
    for (int i = 0; i < w->ladder->count; i++) {
        repetitions += w->times[i];
        /* sums of unlike fractions grow beyond all digits: shown to the second, so added as such */
        seconds += w->times[i] * ratio_double(seconds_of(w, i, w->sheet->quarters));
    }
    int size = snprintf(words, sizeof words, "In all %" PRId64 " repetition%s if each is clean",
        repetitions, repetitions == 1 ? "" : "s");
    if (w->clock)
        snprintf(words + size, sizeof words - (size_t)size, ", %s with the count-in",
            clock_words(ratio((int64_t)(seconds * 1000), 1000), clock));
    pen_put(&w->pen, "\n%s.\n", words);
    if (w->sheet->warning[0] != '\0') {
        pen_put(&w->pen, "Note: ");
        pen_wrap(&w->pen, w->sheet->warning, 6);
    }
}

bool ladder_text(Text *out, const LadderSheet *sheet, Error *error)
{
    const Ladder *l = sheet->ladder;
    Writer w = {.pen = {.out = out, .width = WIDTH},
        .sheet = sheet,
        .ladder = l,
        .times = calloc((size_t)l->count, sizeof *w.times),
        .rates = sheet->note_length.num > 0,
        .clock = sheet->quarters.num > 0};
    bool done = w.times != NULL;
    if (!done)
        goto out;
    for (int i = 0; i < l->visit_count; i++)
        w.times[l->visits[i]] +=
            l->spec.pattern == LADDER_CLEAN ? l->spec.clean : l->spec.repetitions;
    put_title(&w);
    put_steps(&w);
    put_pattern(&w);
    put_head(&w);
    for (int i = 0; i < l->count; i++)
        put_rung(&w, i);
    done = put_order(&w);
    put_sum(&w);
    done = done && !w.pen.failed;
out:
    free(w.times);
    return done || error_set(error, ERROR_MEMORY, "there is no memory for the text");
}
