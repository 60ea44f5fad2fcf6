/* setting.h - between the files that make a Setting; inside this room only.
 *
 * A lane is what can be in one state at a time: on a pedal harp a letter (state -1, 0, 1), on a
 * lever harp a string (0 or 1). A side is what can move one thing at a time: the left foot 0, the
 * right foot 1; on a lever harp the left hand 0.
 */
#ifndef EVENHAND_HARP_SETTING_INTERNAL_H
#define EVENHAND_HARP_SETTING_INTERNAL_H

#include "evenhand/harp/instrument.h"

enum { LANES_MAX = STRINGS_MAX, SIDES = 2 };

/* One string sounding: a note, or what the left hand plays with it. */
typedef struct {
    int32_t note;
    int32_t block; /* index into Asked.blocks */
    Pitch pitch;
    bool left; /* doubled by the left hand */
} Use;

/* A lane that changes state: in one of the slots earliest .. due, see instrument.h. */
typedef struct {
    int32_t note;
    int32_t due, earliest, at;
    int16_t lane;
    int8_t from, to;
    uint8_t side;
    bool crowded;
} Move;

typedef struct {
    bool known;
    int8_t first, state; /* what it needs first, what it is in */
    int32_t use;         /* last use of it */
    Ratio rings;         /* until then notes of this state last, as written */
} Lane;

typedef struct {
    const Passage *p;
    const Instrument *harp;
    Names names;
    Use *uses; /* by block; within one, the notes from low to high */
    size_t use_count;
    int32_t *blocks; /* first note of each */
    int64_t *slots;  /* microseconds from the block before to this one; [0] is 0 */
    size_t block_count;
    Lane lanes[LANES_MAX];
    Move *moves;
    size_t move_count;
    Trouble *troubles;
    size_t trouble_count;
    bool failed; /* without memory */
} Asked;

/* What a pitch needs of a harp. */
typedef struct {
    int lane; /* -1: nothing that moves */
    int state;
    TroubleKind trouble; /* TROUBLE_KINDS: none */
} Need;

Need harp_need(const Instrument *harp, Pitch pitch);
int lane_side(const Instrument *harp, int lane);

/* Another spelling of use `u` that the harp can give in its block; false: there is none. */
bool respell(const Asked *a, size_t u, Pitch *out);

/* A trouble at a use, behind the name and place of its note. */
void tell(Asked *a, TroubleKind kind, size_t use, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* One without a note's name before it. */
void tell_plain(Asked *a, TroubleKind kind, int32_t note, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* "bar 2, beat 3" */
enum { PLACE_MAX = 80 };
char *place_text(const Passage *p, int32_t note, char out[PLACE_MAX]);
const char *alter_word(int alter); /* "flat", "natural", "sharp" */

int64_t microseconds(const Passage *p, Ratio quarters);
int32_t slot_milliseconds(const Asked *a, int32_t slot);

/* Goes through the uses: first states, moves with their windows, troubles on the way. */
void moves_find(Asked *a);
/* Gives each move its slot: as few as possible shared by two of a side, then the latest that is
 * `comfortable` (microseconds) long, else the longest. False without memory. */
bool moves_schedule(Asked *a, int64_t comfortable);

/* From what was asked, into the setting. False without memory. */
bool pedals_set(Asked *a, Setting *out);
bool levers_set(Asked *a, Setting *out);

/* Stable order of `count` keys, each in [0, keys): a list of indexes, the caller's to free; NULL
 * without memory. Linear. */
typedef int32_t (*KeyOf)(const void *items, size_t i);
size_t *order_by(const void *items, size_t count, KeyOf key, size_t keys);

#endif
