/* track_draft.h - a file in the making: a nameless neighbour of the target until it is whole.
 *
 *     draft_open -> write to fd -> draft_keep (synced, then given the target's name)
 *                              \-> draft_drop (gone)
 */
#ifndef EVENHAND_SOUND_TRACK_DRAFT_H
#define EVENHAND_SOUND_TRACK_DRAFT_H

#include "evenhand/drill/timeline.h"

enum { DRAFT_PATH_MAX = 4096 };

typedef struct {
    int fd;
    bool force;
    int broken;               /* errno of the first draft_write that failed; 0 none */
    const char *path;         /* the target: lent, or `led` */
    char led[DRAFT_PATH_MAX]; /* where a link leads that is replaced by force */
    char temporary[DRAFT_PATH_MAX];
} Draft;

/* The draft stays where it is in memory. ERROR_EXISTS when the target is there and not `force`;
 * ERROR_WRITE. */
bool draft_open(Draft *d, const char *path, bool force, Error *error);
/* Writes all of it, or notes what went wrong and returns false. */
bool draft_write(Draft *d, const void *bytes, size_t size);
/* On failure the draft is dropped; a draft with a failed write is never kept. Without force an
 * existing target is never replaced, not even one that came into being meanwhile. */
bool draft_keep(Draft *d, Error *error);
void draft_drop(Draft *d);

#endif
