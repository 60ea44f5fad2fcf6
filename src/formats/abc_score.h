/* abc_score.h - a tune as it stands on the page, before repeats are unfolded.
 *
 *   |: C [EG]2 :|2 z        REPEAT_START  NOTE  NOTE..NOTE  REPEAT_END  ENDING  REST
 *                                            `more` on the first note of a chord
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
    Ratio length; /* quarters, as played */
    Pitch pitch;
    Pitch written; /* before octave= and transpose= */
    uint8_t kind;  /* an AbcKind */
    uint8_t mark;  /* finger, 1..4; 0: none */
    bool tie;      /* to the next note of this pitch */
    bool more;     /* another note of the same chord follows */
    bool accent;
    bool breath;
    int32_t bar;    /* notes and rests: index into bars */
    uint32_t value; /* see AbcKind */
    int line, column;
} AbcEvent;

typedef struct {
    Metre metre;
    Ratio length;
    int number;  /* as a reader counts on the page */
    bool ending; /* begins with a numbered ending */
} AbcBar;

typedef struct {
    AbcEvent *events;
    size_t count, room;
    AbcBar *bars;
    size_t bar_count, bar_room;
    bool in_bar; /* the last bar is still open */
    bool ending; /* the next bar begins with a numbered ending */
} AbcScore;

/* Appends; NULL without memory. The pointer holds until the next call. */
AbcEvent *abc_score_add(AbcScore *score, AbcKind kind, int line, int column);
/* The bar that music written now falls in, opened if need be; -1 without memory, or when there
 * are more than PASSAGE_BARS_MAX. */
int32_t abc_score_bar(AbcScore *score, const Metre *m);
/* Numbers the bars: a pickup is 0, both halves of a bar cut by a repeat sign count once. */
void abc_score_number(AbcScore *score);
void abc_score_free(AbcScore *score);

#endif
