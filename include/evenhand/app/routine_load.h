/* routine_load.h - a routine file, its passages found, its blocks measured. Console thread; reads
 * files, prints nothing. */
#ifndef EVENHAND_APP_ROUTINE_LOAD_H
#define EVENHAND_APP_ROUTINE_LOAD_H

#include "evenhand/app/load.h"
#include "evenhand/plan/routine.h"

typedef struct {
    Routine routine;
    char **given; /* for each block what load_passage takes; NULL where it has no passage */
} LoadedRoutine;

/* Reads FILE and keeps the blocks of one student (NULL: all). A passage is looked for beside the
 * file, then as a path of its own, then among the bundled ones. Errors carry file:line. On failure
 * *out is zeroed. */
bool routine_load(const char *path, const char *student, LoadedRoutine *out, Error *error);
void routine_unload(LoadedRoutine *r); /* leaves it zeroed */

/* The options that a block's passage is loaded with: `base` with the block's tempo, drills,
 * repetitions and ladder. The block is lent. */
Options routine_options(const Options *base, const RoutineBlock *block);
/* The ladder of a block in the beat unit of its passage. */
LadderSpec routine_ladder_spec(const RoutineBlock *block, const Passage *p);
/* How long a block lasts at this rate: by time to the frame, by repetitions as its drills take.
 * Loads the passage where there is one, so what the block asks of it is found wrong here, with
 * `source` and the block's line unless the passage's own file is at fault. */
bool routine_measure(const LoadedRoutine *r, int block, const Options *base, const char *source,
    int rate, RoutineSpan *out, Error *error);
/* A table of all blocks with times, measured one by one. */
bool routine_table(
    Text *out, const LoadedRoutine *r, const Options *base, const char *source, Error *error);

#endif
