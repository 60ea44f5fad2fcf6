/* keys.h - the one key table: it dispatches, draws the help and is compared with the manual.
 *
 * Terminal-free: a key is a rune, or one of the KEY_CODE_* values for keys without a rune; the
 * curses driver translates.
 */
#ifndef EVENHAND_CONSOLE_KEYS_H
#define EVENHAND_CONSOLE_KEYS_H

#include "evenhand/console/model.h"

enum {
    KEY_CODE_UP = 0x110000, /* beyond Unicode */
    KEY_CODE_DOWN,
    KEY_CODE_LEFT,
    KEY_CODE_RIGHT,
    KEY_CODE_PAGE_UP,
    KEY_CODE_PAGE_DOWN,
    KEY_CODE_HOME,
    KEY_CODE_END,
    KEY_CODE_ENTER,
    KEY_CODE_ESCAPE,
    KEY_CODE_BACKSPACE,
    KEY_CODE_RESIZE
};

typedef enum {
    ACTION_NONE,
    ACTION_GO,       /* the one thing needed: start, pause, go on; a pedal's forward half */
    ACTION_TEMPO_UP, /* by one */
    ACTION_TEMPO_DOWN,
    ACTION_TEMPO_UP_NUMBER, /* to the next metronome number */
    ACTION_TEMPO_DOWN_NUMBER,
    ACTION_NEXT,       /* next variant */
    ACTION_PREVIOUS,   /* variant before */
    ACTION_PEDAL_BACK, /* a pedal's backward half: missed on a ladder or in a routine, else previous
                        */
    ACTION_MISSED,     /* the repetition is judged the other way */
    ACTION_AGAIN,      /* this variant from its count-in */
    ACTION_RHYTHM,     /* the current drill with the next rhythm: pairs, threes, fours, none */
    ACTION_RATIO,      /* long to short: the next usual ratio, for all drills */
    ACTION_TIMING,     /* groups keep their length, or short notes the goal speed */
    ACTION_BEATS,      /* another pattern of strong beats */
    ACTION_SUBDIVIDE,  /* another step for the moving accent */
    ACTION_LOUDER,     /* master */
    ACTION_SOFTER,
    ACTION_LAYER_PULSE,
    ACTION_LAYER_SUBDIVISION,
    ACTION_LAYER_NOTES,
    ACTION_LAYER_ACCENT,
    ACTION_LAYER_GUIDE,
    ACTION_LAYER_ANNOUNCE, /* on or off */
    ACTION_DRILLS,
    ACTION_PASSAGES,
    ACTION_FINGERS,
    ACTION_LADDER,
    ACTION_ROUTINE,
    ACTION_SOUND,
    ACTION_CALENDAR,
    ACTION_HELP, /* open that screen, or close it */
    ACTION_UP,
    ACTION_DOWN,
    ACTION_CHOOSE,
    ACTION_BACK, /* in lists */
    ACTION_MORE,
    ACTION_LESS, /* repetitions of the drill at the cursor, by one */
    ACTION_NOTE_BEFORE,
    ACTION_NOTE_AFTER,  /* the cursor over the notes of a fingering */
    ACTION_FINGER_FREE, /* the finger of the note at the cursor, in this order */
    ACTION_FINGER_1,
    ACTION_FINGER_2,
    ACTION_FINGER_3,
    ACTION_FINGER_4,
    ACTION_UNDO,       /* the last choice or change of fingers */
    ACTION_SAVE,       /* the fingers into the passage's file */
    ACTION_BLOCK_NEXT, /* of a routine */
    ACTION_BLOCK_BEFORE,
    ACTION_MINUTE,        /* a minute more for the block */
    ACTION_ROUTINE_END,   /* the second press within seconds does it */
    ACTION_LADDER_SWITCH, /* the ladder up, or down again */
    ACTION_SET_UP,
    ACTION_SET_DOWN, /* the setting at the cursor */
    ACTION_SWITCH,   /* the layer at the cursor on or off */
    ACTION_LEVEL_UP,
    ACTION_LEVEL_DOWN, /* its level, by one dB */
    ACTION_AUDIO,      /* look for the audio device now */
    ACTION_DAY_BEFORE,
    ACTION_DAY_AFTER,
    ACTION_WEEK_BEFORE,
    ACTION_WEEK_AFTER, /* the day chosen on the calendar */
    ACTION_RECORD,     /* open that screen, or close it */
    ACTION_RECORD_BY,  /* passages there, or drills */
    ACTION_QUIT,
    ACTION_KINDS
} Action;

typedef struct {
    uint32_t key;
    Action action;
    unsigned screens; /* bit 1u << Screen for each screen where it holds */
    const char *name; /* as people read it: "Space", "Page Down", "+" */
} KeyBinding;

/* The table, in the help's order; *count rows. */
const KeyBinding *keys_table(int *count);
/* What the key does on this screen; ACTION_NONE if nothing. Capitals count as small letters. */
Action keys_action(uint32_t key, Screen screen);
/* The name of the first key that does it on this screen; "" none. */
const char *keys_name(Action action, Screen screen);
/* One sentence for an action, as the help prints it. */
const char *action_text(Action action);

/* How help and manual tell the table: under a heading for each screen the actions in the table's
 * order with the names of their keys; a key that holds on several screens is told under the first
 * of them. */
typedef struct {
    Action action;
    char names[64]; /* "Space, Page Down" */
} KeyRow;
const char *keys_heading(Screen screen);
/* Returns how many rows there are; 0: all is told before. */
int keys_rows(Screen screen, KeyRow rows[ACTION_KINDS]);

/* A page-turn pedal repeats: the same key for ACTION_GO / ACTION_NEXT / ACTION_PREVIOUS again
 * within 200 ms of its last report is one press. Zero it; now in milliseconds. Returns true: let
 * it through. */
enum { DEBOUNCE_MS = 200 };
typedef struct {
    uint32_t key;
    int64_t at;
    bool any;
} Debounce;
bool debounce_pass(Debounce *d, uint32_t key, Action action, int64_t now_ms);

#endif
