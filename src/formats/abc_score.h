/* abc_score.h - a tune as it stands on the page, before repeats are unfolded.
 *
 *   |: C [EG]2 :|2 z        REPEAT_START  NOTE  NOTE..NOTE  REPEAT_END  ENDING  REST
 *                                            `more` on the first note of a chord
 *
 * A tune has many events but few lengths and metres: those stand in tables of their own.
 */
#ifndef ABC_SCORE_H
#define ABC_SCORE_H

#include "evenhand/music/passage.h"

typedef enum {
    ABC_NOTE,
    ABC_REST,
    ABC_BAR,          /* | */
    ABC_DOUBLE,       /* || |] [| */
    ABC_REPEAT_START, /* |: ; `value` is how often the section is played */
    ABC_REPEAT_END,   /* :| */
    ABC_REPEAT_BOTH,  /* :: */
    ABC_ENDING,       /* [1 ; `value` has bit n set for the n-th time */
    ABC_PART          /* P: in the body; `value` is its letter */
} AbcKind;

typedef struct {
    Pitch pitch;
    Pitch written; /* before octave= and transpose= */
    uint8_t kind;  /* an AbcKind */
    uint8_t mark;  /* finger, 1..4; 0: none */
    bool tie;      /* to the next note of this pitch */
    bool more;     /* another note of the same chord follows */
    bool accent;
    bool breath;
    uint16_t bar;   /* notes and rests: index into bars */
    uint32_t value; /* notes and rests: index into lengths; else see AbcKind */
    int line, column;
} AbcEvent;

/* A length in quarters, as played; in ticks too where the score has them. */
typedef struct {
    Ratio exact;
    int32_t whole, ticks; /* whole quarters, and the rest in ticks */
} AbcLength;

typedef struct {
    Metre metre;
    Ratio bar; /* what a full bar lasts */
} AbcMetre;

typedef struct {
    Ratio length;
    int number; /* as a reader counts on the page */
    uint32_t metre;
    bool ending; /* begins with a numbered ending */
} AbcBar;

typedef struct {
    AbcEvent *events;
    AbcLength *lengths;
    AbcMetre *metres;
    AbcBar *bars;
    size_t count, room;
    size_t length_count, length_room;
    size_t metre_count, metre_room;
    size_t bar_count, bar_room;
    int ticks; /* of a quarter; 0: see abc_clock.h */
    size_t notes;
    bool signs;  /* there is more than notes, rests and simple bar lines */
    bool in_bar; /* the last bar is still open */
    bool ending; /* the next bar begins with a numbered ending */
} AbcScore;

/* Room for about the events that so many bytes of text make. False without memory. */
bool abc_score_reserve(AbcScore *score, size_t bytes);
bool abc_score_grow(AbcScore *score); /* room for more events; false without memory */
/* The bar that music written now falls in, opened if need be; -1 without memory, or when there
 * are more than PASSAGE_BARS_MAX. */
int32_t abc_score_bar(AbcScore *score, const Metre *m);
/* Finds the length in the table, or adds it; false without memory. */
bool abc_score_length(AbcScore *score, Ratio length, uint32_t *index);
/* Numbers the bars: a pickup is 0, both halves of a bar cut by a repeat sign count once. */
void abc_score_number(AbcScore *score);
void abc_score_free(AbcScore *score);

/* Appends; NULL without memory. The pointer holds until the next call. */
static inline AbcEvent *abc_score_add(AbcScore *score, AbcKind kind, int line, int column)
{
    if (score->count == score->room && !abc_score_grow(score))
        return NULL;
    AbcEvent *e = &score->events[score->count++];
    *e = (AbcEvent){.kind = (uint8_t)kind, .line = line, .column = column};
    if (kind == ABC_NOTE)
        score->notes++;
    else if (kind != ABC_REST)
        score->in_bar = false;
    score->signs = score->signs || kind > ABC_BAR;
    score->ending = score->ending || kind == ABC_ENDING;
    return e;
}

#endif
