/* model.h - all that a screen can show, as plain data. The application fills it from the
 * timeline and the player; views only read it. Strings are clean UTF-8. */
#ifndef EVENHAND_CONSOLE_MODEL_H
#define EVENHAND_CONSOLE_MODEL_H

#include "evenhand/plan/chart.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum {
    SCREEN_PRACTICE,
    SCREEN_DRILLS,   /* the session's steps as a list */
    SCREEN_PASSAGES, /* passages to choose from */
    SCREEN_FINGERS,  /* the cheapest fingerings, to choose from and to change */
    SCREEN_LADDER,   /* the tempo ladder's settings */
    SCREEN_ROUTINE,  /* the blocks of a timed routine */
    SCREEN_SOUND,    /* layers, levels, device */
    SCREEN_CALENDAR, /* an exam plan by months */
    SCREEN_RECORD,   /* what was practised, over days */
    SCREEN_HELP,     /* drawn from the key table */
    SCREEN_KINDS
} Screen;

typedef enum {
    RUN_READY, /* loaded, waiting for the one key */
    RUN_COUNT_IN,
    RUN_PLAYING,
    RUN_REST, /* whole bars of rest between variants */
    RUN_PAUSED,
    RUN_FINISHED
} RunState;

enum {
    MODEL_TEXT_MAX = 200,
    MODEL_NAME_MAX = 24,
    MODEL_BRIEF_MAX = 48,
    MODEL_LAYERS = 6,
    MODEL_WORDS_MAX = 400,
    MODEL_PLANS_MAX = 3,
    MODEL_CUE_SLOTS = 8,
    MODEL_CUE_NOTES = 4
};

/* How the hand comes to a note; same order as the fingering's links. */
typedef enum {
    MODEL_LINK_START,
    MODEL_LINK_WITHIN,
    MODEL_LINK_UNDER,
    MODEL_LINK_OVER,
    MODEL_LINK_REPLACE,
    MODEL_LINK_LIFT,
    MODEL_LINK_HAND
} ModelLink;

/* One note or chord of the passage, with what the current drill does to it. */
typedef struct {
    char name[MODEL_NAME_MAX];   /* "G4"; a chord "C4+" */
    char chord[MODEL_BRIEF_MAX]; /* "C4 E4 G4"; "" a single note */
    char fingers[6];             /* of a chord from low to high, "321"; "" a single note */
    int string;                  /* its string's number: neighbours differ by 1 */
    char letter;                 /* 'A'..'G' */
    int finger;                  /* 1..4, 0 none */
    int group;                   /* index */
    int place, size;             /* place in group, group's size */
    ModelLink link;
    bool turn;      /* a turning note, shared by two groups */
    bool accent;    /* carries the accent in the current drill */
    bool bar_start; /* first note at or after a bar line */
    int bar;        /* page number of its bar */
    bool on_beat;   /* stands on a pulse */
    bool on_strong; /* stands on a strong beat of the metre */
    char beat[12];  /* as counted: "1", "2", "2.5"; short */
    int length;     /* RHYTHM: 0 as written, 1 lengthened, -1 shortened */
} ModelNote;

typedef struct {
    char title[MODEL_TEXT_MAX];
    char brief[MODEL_BRIEF_MAX]; /* the title in fewer words, for narrow screens; may be "" */
    char detail[MODEL_TEXT_MAX]; /* second column, may be "" */
    bool current;                /* the one in use */
} ModelItem;

typedef struct {
    const ModelItem *items;
    int count;
    int cursor;
    int split; /* the drills from here on are not in the session; 0: all are */
} ModelList;

/* One fingering of the whole passage. */
typedef struct {
    char grouping[MODEL_TEXT_MAX]; /* "4+4+4+3" */
    char words[MODEL_WORDS_MAX];   /* what sets it apart, its links ... */
    int64_t cost;
    const ModelNote *notes; /* single notes, each of a chord for itself: "G4", "+B4" */
} ModelPlan;

typedef struct {
    ModelPlan plans[MODEL_PLANS_MAX]; /* cheapest first */
    int plan_count;
    int cursor;           /* plan */
    int used;             /* the plan that is practised */
    const uint8_t *fixed; /* for each note the finger that a mark or the player holds; 0 free */
    int note_count;
    int note;                     /* cursor */
    char finding[MODEL_TEXT_MAX]; /* what is to be said against the plan in use; "" nothing */
    bool unsaved;                 /* changed since it was read or written */
} ModelFingers;

/* ---- an exam plan's calendar ---- */

enum { MODEL_DAYS = 42 }; /* six weeks, Monday first */

typedef enum {
    MODEL_DAY_FREE,
    MODEL_DAY_PRACTICE,
    MODEL_DAY_DONE,   /* practised, as the record has it */
    MODEL_DAY_MISSED, /* no practice, as the plan's file has it */
    MODEL_DAY_EXAM
} ModelDayKind;

typedef struct {
    int number; /* 1 .. 31; 0: outside the month */
    ModelDayKind kind;
    int minutes; /* planned; 0 none */
    bool today;
    char brief[MODEL_BRIEF_MAX]; /* its first block: "76 Two octaves"; "" none */
} ModelDay;

typedef struct {
    char month[MODEL_NAME_MAX]; /* "December 2026"; "" there is no plan */
    char title[MODEL_TEXT_MAX]; /* the exam, and whether the plan fits */
    ModelDay days[MODEL_DAYS];
    int cursor;               /* index of the chosen day */
    char day[MODEL_TEXT_MAX]; /* the chosen one in words: "Tuesday 2026-12-01, 20 min" */
    const ModelItem *blocks;  /* of the chosen day: passage, and what to do with it */
    int block_count;
} ModelCalendar;

/* ---- the practice record ---- */

/* A passage, or a drill, of the record. */
typedef struct {
    char title[MODEL_TEXT_MAX];
    int percent;                /* clean; -1 none */
    char best[MODEL_NAME_MAX];  /* best clean tempo, "1/4 = 92"; "" none was clean */
    char last[MODEL_BRIEF_MAX]; /* "today", "12 days ago" */
    bool stale;
    bool changed; /* other fingers than when it was first recorded */
} ModelRecordItem;

typedef struct {
    bool drills;                  /* by drill; else by passage */
    char student[MODEL_TEXT_MAX]; /* "" everyone */
    const ModelRecordItem *items;
    int count;
    int cursor;
    const ChartPoint *points; /* of the item at the cursor, oldest first */
    int point_count;
    char unit[MODEL_NAME_MAX];    /* the beat that the points' tempos count: "1/4" */
    char trouble[MODEL_TEXT_MAX]; /* why there is nothing to show; "" there is no record yet */
} ModelRecord;

typedef enum {
    CUE_NONE,
    CUE_FINGER,  /* every note of one finger: accent "3" */
    CUE_PATTERN, /* a sign for each step in time: '>' accent, '.' none */
    CUE_NUMBER   /* too many steps for a pattern: the number of the place, "12" */
} CueKind;

/* What a coming drill wants, as it is drawn large. */
typedef struct {
    CueKind kind;
    char accent[MODEL_CUE_SLOTS + 4];
    char rhythm[MODEL_CUE_NOTES + 1]; /* of a group, in order: 'L' long, 's' short; "" even */
    int p, q;                         /* long : short */
} ModelCue;

/* The tempo ladder beside the drill. */
typedef struct {
    bool on, done;
    int rung, rungs, goal;           /* 1-based */
    int clean, needed;               /* clean in a row, of how many */
    char if_clean[MODEL_BRIEF_MAX];  /* what a clean repetition will do: "up to 76" */
    char if_missed[MODEL_BRIEF_MAX]; /* what a missed one will do: "down to 69" */
    char tempo_clean[MODEL_NAME_MAX], tempo_missed[MODEL_NAME_MAX]; /* the same, the numbers only */
    char rate[MODEL_NAME_MAX];                                      /* "4.8 notes/s" */
} ModelLadder;

/* What was judged, and what is kept of it. */
typedef struct {
    bool strict;      /* a repetition counts missed unless the key says clean */
    bool told;        /* the key was pressed for the one that is heard */
    int count, clean; /* of this sitting */
    bool kept;        /* a record is written */
    int written;      /* repetitions that are safely in it */
    bool recorded;    /* all that was judged is */
    int lost;         /* repetitions that could not be written */
} ModelJudge;

/* A timed routine: the block that is heard, and the whole. */
typedef struct {
    bool on;
    char title[MODEL_TEXT_MAX]; /* of the routine */
    int block, blocks;          /* 1-based */
    char name[MODEL_TEXT_MAX];  /* of the block */
    char next[MODEL_TEXT_MAX];  /* of the one behind it; "" none */
    bool rests;                 /* its work is over: the rest behind it */
    bool idle;                  /* nothing is played: a rest, a break, or only the time runs */
    bool done, held;            /* at the end; paused */
    int seconds_left;           /* of the block's work, or of its rest */
    int position, total;        /* seconds of the whole */
    ModelList list;             /* the blocks with their times */
} ModelRoutine;

typedef struct {
    char name[MODEL_NAME_MAX];
    bool on;
    int level; /* dB; for the accent layer: dB above a note */
} ModelLayer;

typedef struct {
    Screen screen;
    RunState run;
    bool utf8;

    /* what is played */
    char title[MODEL_TEXT_MAX];
    char key[MODEL_NAME_MAX];
    char metre[MODEL_NAME_MAX];
    char tempo[MODEL_NAME_MAX];        /* "1/4 = 72" */
    char hands[MODEL_NAME_MAX];        /* "right", "left", "both" */
    char drill[MODEL_TEXT_MAX];        /* in words */
    char drill_brief[MODEL_BRIEF_MAX]; /* "all the 3s" */
    bool single;                 /* a drill chosen by itself, which the session does not hold */
    int step, steps;             /* 1-based place in the session */
    int repetition, repetitions; /* 1-based; 0 before the first */
    int seconds_left;            /* of the session; -1 unknown */
    char next[MODEL_TEXT_MAX];   /* what comes next, in words; "" nothing */
    char next_brief[MODEL_BRIEF_MAX];
    char message[MODEL_TEXT_MAX];        /* one line of news; "" none */
    char message_brief[MODEL_BRIEF_MAX]; /* the same in fewer words; may be "" */
    bool message_warns;

    /* the passage */
    const ModelNote *notes;
    int note_count;
    int now; /* index of the note that is heard; -1 none */
    bool now_accent;
    int coming; /* index of the next note to be struck (the first before the start); -1 none */
    char crossing[MODEL_TEXT_MAX]; /* what the crossing finger does next, and when it must be down;
                                    * "" nothing to cross */

    /* the beat that is heard */
    int beat;        /* 1-based count in the bar; 0 none yet; compound metres: dotted beats */
    int beats;       /* in this bar */
    int sub, subs;   /* compound metres: 1-based unit within the beat, of how many; 0 none */
    bool beat_fresh; /* struck less than 120 ms ago: flash it */
    bool downbeat;
    ModelCue cue;   /* COUNT_IN: of this drill, REST: of the next one; else none */
    int bars_to_go; /* count-in and rest: bars until playing; 0 otherwise */

    ModelLadder ladder;
    ModelJudge judge;
    ModelRoutine routine;
    ModelList rungs; /* the ladder's settings, a line each */

    /* sound */
    ModelLayer layers[MODEL_LAYERS];
    int layer_cursor;
    int master;                 /* dB */
    char audio[MODEL_TEXT_MAX]; /* "device, 48000 Hz", "silent: no device" ... */
    bool audio_warns;
    uint64_t underruns;

    ModelList drills, passages;
    ModelFingers fingers;
    ModelCalendar calendar;
    ModelRecord record;
    int help_top; /* first line shown of the help */
} Model;

#endif
