/* stage.h - what one drill is played from: the passage itself, or what its placing makes of it.
 *
 *      placing none    passage, fingering, rotation as they are
 *      links, blocks.. a passage of its own, with the rotation of its accents
 *
 * Everything that plays, draws or writes a drill asks a stage for these three. Pure.
 */
#ifndef EVENHAND_DRILL_STAGE_H
#define EVENHAND_DRILL_STAGE_H

#include "evenhand/drill/timeline.h"

typedef struct {
    const Passage *passage;
    const Fingering *fingering;
    const Rotation *rotation;
    Placing placing;
    Placed placed; /* zeroed where the passage itself is played */
    Rotation own;
} Stage;

/* For the drill's placing, strong beats and subdivision. What is lent must outlive the stage.
 * Errors as placing_make and rotation_plan; NULL then. */
Stage *stage_new(
    const Passage *p, const Fingering *f, const Rotation *r, const DrillSpec *drill, Error *error);
void stage_free(Stage *s); /* NULL is fine */

/* timeline_new from a stage, which must outlive the timeline. */
Timeline *stage_timeline(
    const Stage *s, const SessionStep *step, const DrillSpec *next, int rate, Error *error);

#endif
