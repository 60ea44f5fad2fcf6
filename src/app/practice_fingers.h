/* practice_fingers.h - the insides of the screen of fingerings: practice_fingers.c plans and obeys
 * the keys, practice_fingers_fill.c tells the model. */
#ifndef PRACTICE_FINGERS_H
#define PRACTICE_FINGERS_H

#include "practice_parts.h"

#include "evenhand/harp/explain.h"

typedef struct {
    int32_t note;  /* -1: another plan was chosen */
    uint8_t fixed; /* what its finger was */
    int used;      /* the plan that was in use */
} Change;

struct FingerPlans {
    uint8_t *fixed;
    Fingering plans[MODEL_PLANS_MAX];
    int count, used;
    ModelNote *rows; /* of each plan, one after the other */
    Findings findings;
    Change *undo;
    size_t undo_count, undo_room;
    size_t saved; /* undo_count when the file held these fingers; SIZE_MAX: no way back to it */
};

static inline const Passage *finger_passage(const Practice *p)
{
    return p->piece->loaded.passage;
}

/* What plans are made with; `fixed` is lent. */
FingeringOptions finger_options(const Practice *p, const uint8_t *fixed);

void practice_fingers_fill(Practice *p); /* all of model.fingers but its note */
void practice_fingers_say(Practice *p);  /* what is to be said where the cursor is */

#endif
