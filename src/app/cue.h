/* cue.h - a drill in few words, and as what is drawn large before it begins. Internal to the room.
 */
#ifndef EVENHAND_SRC_APP_CUE_H
#define EVENHAND_SRC_APP_CUE_H

#include "evenhand/console/model.h"
#include "evenhand/drill/rotation.h"
#include "evenhand/drill/session.h"

/* "all the 3s", "place 2 of 4", "long-short 3:1": the word that decides comes first. Returns out.
 */
char *cue_brief(const DrillSpec *spec, const Rotation *r, char out[MODEL_BRIEF_MAX]);
ModelCue cue_of(const DrillSpec *spec, const Rotation *r, const Metre *metre);

#endif
