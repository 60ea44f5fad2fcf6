/* load.h - from the command line's words to what is practised: file, passage, fingers, session.
 *
 * Console thread. Reads files; prints nothing.
 */
#ifndef EVENHAND_APP_LOAD_H
#define EVENHAND_APP_LOAD_H

#include "evenhand/app/options.h"
#include "evenhand/app/paths.h"
#include "evenhand/drill/session.h"
#include "evenhand/drill/stage.h"

/* Owns all of it; loaded_free. Not to be copied: stages point into it. */
typedef struct {
    Passage *passage;
    Fingering fingering;
    Rotation rotation;
    Session session;
    Stage **stages; /* one for each placing in the session; the passage itself first */
    size_t stage_count;
} Loaded;

/* Splits "FILE:X" into path and reference (0: none given). A file that has the whole name wins.
 * ERROR_USAGE for an X that is no number, ERROR_LIMIT for a name that is too long. */
bool load_split(const char *given, char path[PATHS_MAX], int *reference, Error *error);

/* Where FILE or FILE:X lies that `owner`, a routine or a plan, names in this line: beside it, in
 * the current directory or among the bundled passages. ERROR_READ with the line. */
bool load_find(const char *owner, const char *given, int line, char out[PATHS_MAX], Error *error);

/* Where no tune is in a file of routines' and plans' kind, the error says what plays those. */
void load_doubt(const char *source, Error *error);

/* Reads a whole file ("-": standard input) of at most ABC_BYTES_MAX bytes. ERROR_READ with the
 * reason, ERROR_LIMIT. Caller frees *text with text_free. */
bool load_bytes(const char *path, Text *text, Error *error);

/* Reads one passage and makes everything from it: fingers, rotation and the session (one drill
 * where options->drill is set). `given` is as Options.file; NULL: the first bundled passage.
 * Errors carry file:line:column; ERROR_USAGE where --beats or --subdivision does not fit the metre.
 * Notes that no harp has become a notice. On failure *out is zeroed. */
bool load_passage(const char *given, const Options *options, Loaded *out, Error *error);
/* The same from text in memory; `source` is the name that errors carry. */
bool load_text(const char *text, size_t size, const char *source, int reference,
    const Options *options, Loaded *out, Error *error);
/* Makes the stages that steps of the session still lack. Call it after steps were added; those
 * that were there stay where they are. False, with the error of the first that cannot be made. */
bool loaded_stages(Loaded *l, Error *error);
/* Which stage a step is played from. */
size_t loaded_stage_index(const Loaded *l, size_t step);
/* The timeline of a step, with the announcement of `next` (may be NULL). *l must outlive it. */
Timeline *loaded_timeline(
    const Loaded *l, size_t step, const DrillSpec *next, int rate, Error *error);
/* The same passage (copied) with other options and with these fingers (copied; NULL: they are
 * planned): nothing is read again. */
bool load_again(const Passage *passage, const Options *options, const Fingering *fingers,
    Loaded *out, Error *error);
#define HARP_UNASKED "pedal-47" /* the harp that sheets tell of where none is named */
/* What the fingers of a passage are planned by. */
FingeringOptions load_fingering_options(const Options *options, const Passage *p);
void loaded_free(Loaded *l); /* leaves it zeroed */

/* The bank of voices that the options ask for, at `rate`. NULL on error; voices_free. */
VoiceBank *load_voices(const Options *options, int rate, Error *error);

/* A passage that can be chosen. */
typedef struct {
    char *given;                     /* what load_passage takes: "path:X" */
    char title[PASSAGE_TITLE_MAX];   /* cleaned for the terminal */
    char remark[PASSAGE_REMARK_MAX]; /* likewise; "" none */
    bool bundled;
} Choice;

typedef struct {
    Choice *items;
    size_t count;
} Choices;

/* Zero it, add to it, free it. A file's tunes in its own order; the bundled files by name. */
bool choices_add_file(Choices *c, const char *path, bool bundled, Error *error);
bool choices_add_bundled(Choices *c, Error *error);
void choices_free(Choices *c);

#endif
