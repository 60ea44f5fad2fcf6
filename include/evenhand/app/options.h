/* options.h - the command line as a value, read by one table.
 *
 * The table reads argv, prints --help and is compared with the manual by a test: a new option
 * is one row, one reader and one field here. Console thread; nothing here opens a file.
 */
#ifndef EVENHAND_APP_OPTIONS_H
#define EVENHAND_APP_OPTIONS_H

#include "evenhand/drill/drill.h"
#include "evenhand/formats/page.h"
#include "evenhand/harp/fingering.h"
#include "evenhand/harp/instrument.h"
#include "evenhand/music/text.h"
#include "evenhand/plan/date.h"
#include "evenhand/plan/ladder.h"
#include "evenhand/plan/record.h"
#include "evenhand/sound/mix.h"
#include "evenhand/sound/voice.h"

/* Every command, in the order that --help prints them. */
typedef enum {
    COMMAND_ID_PRACTICE, /* also what runs when no command is named */
    COMMAND_ID_SHOW,
    COMMAND_ID_NOTES,
    COMMAND_ID_TIMELINE,
    COMMAND_ID_WRITE,
    COMMAND_ID_MARK,
    COMMAND_ID_PAGE,
    COMMAND_ID_ROUTINE,
    COMMAND_ID_LADDER,
    COMMAND_ID_PASSAGES,
    COMMAND_ID_PLAN,
    COMMAND_ID_RECORD,
    COMMAND_ID_SOUND,
    COMMAND_IDS
} CommandId;

enum {
    OPTION_PLANS = 3, /* when --plans is not given */
    OPTION_RATE_MIN = 8000,
    OPTION_RATE_MAX = 192000,
    OPTION_A4_MIN = 380,
    OPTION_A4_MAX = 480,
    OPTION_PAGE_MAX = 10000,
    OPTION_BEAT_NOTES_MAX = 64,
    OPTION_STALE_MAX = 3650
};

/* What was said of a tempo ladder; ladder_wishes.h makes one from it. */
typedef struct {
    Tempo from, to; /* per_minute 0/1: not given; beat 0/1: the passage's beat unit */
    bool has_by;
    LadderBy by;
    Ratio amount; /* with has_by, but for numbers */
    bool has_pattern;
    LadderPattern pattern;
    int clean;      /* 0: not given */
    int above;      /* -1: not given */
    int beat_notes; /* --notes-per-beat; 0: not given */
} LadderWishes;

/* What is done with the practice record. */
typedef enum {
    RECORD_LIST,
    RECORD_IMPORT, /* what: another record's file */
    RECORD_EXPORT, /* what: a student; the file is --output */
    RECORD_RENAME, /* what: "OLD=NEW", of which NEW is not empty */
    RECORD_DELETE, /* what: a student */
    RECORD_BACKUP  /* what: the file to write */
} RecordDeed;

typedef struct {
    RecordDeed deed;
    const char *what;
    bool page; /* --record: the page shows it */
    bool has_by;
    RecordBy by;
    const char *passage; /* title; NULL: all */
    Day since, until;    /* both included; 0: not given */
    bool csv, json;
    int stale; /* days; 0: not given */
} RecordWishes;

/* Strings are argv's own and live as long as it does. */
typedef struct {
    CommandId command;
    const char *file; /* as given, maybe FILE:X; "-" standard input; NULL none */

    /* what is practised */
    Tempo tempo;       /* per_minute 0/1: not given; beat 0/1: the passage's beat unit */
    int repetitions;   /* 0: not given */
    int count_in_bars; /* -1: not given, 0: none */
    int rest_bars;     /* -1: not given, 0: none */
    LadderWishes ladder;
    const char *drill;       /* the word of --drill, already found good; NULL: the whole session */
    DrillSpec spec;          /* --drill's when given; else plain. Carries beats, subdivision, the
                              * rhythm's ratio and timing either way */
    const DrillSpec *drills; /* of a block of a routine: these, in this order; lent */
    int drill_count;         /* 0: none */
    const char *student;     /* who practises, whose blocks of a routine, whose record; NULL: nobody
                              * in particular, all */
    bool no_record;          /* practice that is not written into the record */
    bool has_small;          /* --small was given */
    bool has_hands;          /* --hands was given */
    Hands hands;             /* instead of the passage's */
    FingeringOptions fingers; /* what a teacher sets; tempo and fixed are left zeroed */
    int plans;                /* plans that show puts side by side; 0: not given */
    bool check;               /* show: only what is to be said against the fingers */

    /* sound */
    int rate;                     /* frames a second; 0: not given */
    const char *device;           /* part of its name, or its number; NULL: the default */
    bool silent;                  /* open no device */
    double a4;                    /* hertz */
    Mix mix;                      /* mix_default changed by --level, --accent, --layers */
    const char *own[VOICE_KINDS]; /* files of --sound KIND=FILE; NULL: the bundled voice */

    /* the page, and what show says of the harp */
    bool has_harp;   /* --instrument was given */
    Instrument harp; /* whose pedals or levers are shown */
    Names names;     /* how octaves are told; scientific when not given */
    Paper paper;     /* A4 when not given */
    int page;        /* from 1; 0: not given */

    /* plans by the calendar */
    const char *exam_plan; /* practice: an exam plan's file, for the calendar; NULL none */
    bool months;           /* plan: months instead of days */
    bool has_today;        /* --today was given */
    Day today;             /* instead of the clock's */

    RecordWishes record;

    /* output */
    const char *output; /* -o; NULL none */
    bool ascii;
    bool force;
    bool help;
    bool version;
} Options;

/* One option. `value` NULL: a switch. */
typedef struct {
    const char *name;  /* without the dashes */
    char letter;       /* short form; 0 none */
    const char *value; /* the value's name, as --help prints it; NULL none */
    const char *text;  /* what it does and its range, one or two sentences */
    unsigned commands; /* bit 1u << CommandId for each command that knows it */
    bool (*read)(Options *o, const char *value, Error *error);
} OptionRow;

const OptionRow *options_table(int *count);

/* What holds before any word is read. */
Options options_default(void);
/* Reads argv[1..]. Options and operands may mix; "--" ends the options. ERROR_USAGE names the
 * word that is off and what would do. */
bool options_parse(int argc, char *const argv[], Options *out, Error *error);

#endif
