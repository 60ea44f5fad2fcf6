/* practice_parts.h - the insides of practice.h. Internal to the room.
 *
 *   Piece  a loaded passage with all that hangs on it
 *   Rows   the notes of what a step is played from, as shown
 *   Take   one timeline lent to the engine: a step of the session, from some repetition on
 */
#ifndef EVENHAND_SRC_APP_PRACTICE_PARTS_H
#define EVENHAND_SRC_APP_PRACTICE_PARTS_H

#include "evenhand/app/load.h"
#include "evenhand/app/practice.h"
#include "evenhand/app/routine_load.h"
#include "evenhand/plan/ladder.h"
#include "evenhand/sound/playhead.h"

/* The notes of one stage as the screen shows them. */
typedef struct {
    const Stage *stage; /* what is played: the passage, or what a placing drill makes of it */
    ModelNote *rows;    /* one for each block */
    int row_count;
    int32_t *row_of; /* the stage's note to row */
} Rows;

typedef struct FingerPlans FingerPlans;
typedef struct PracticeRecord PracticeRecord;
typedef struct PracticeCalendar PracticeCalendar;

/* The session's steps come first; behind them stand the drills that it leaves out, to be chosen
 * one by one from the list. */
typedef struct {
    Loaded loaded;
    size_t session_count;                /* steps that follow each other by themselves */
    Rows *rows;                          /* one for each of the loaded stages */
    ModelItem *drills;                   /* one for each step */
    double *quarters;                    /* how long each step lasts */
    PluckBank *plucks;                   /* made when guide tones are first wanted */
    uint64_t notes_print, fingers_print; /* for the record */
    size_t users; /* takes that play from it, and 1 while it is the current one */
} Piece;

typedef struct {
    Timeline *timeline; /* NULL: a free slot */
    Piece *piece;
    size_t step;
    int base;         /* repetitions of the step that were played before this take */
    int repetitions;  /* of the step, those before this take included */
    int from_bar;     /* where its first repetition begins, after a pause */
    uint64_t run;     /* 1, 2, 3 ... in order; the same take rebuilt keeps its number */
    uint64_t follows; /* the run that it was queued behind; 0: it was begun by itself */
    uint64_t ladder;  /* number of the ladder that it is played on; 0: none */
    Climb climb;      /* where on that ladder */
    uint64_t order;   /* as `run`, but that one rebuilt has a number of its own */
    bool begun;       /* the engine has told its beginning */
    bool retired;     /* the engine is done with it */

    /* in a routine */
    int block;
    RoutinePhase phase;
    bool gap;      /* silence: the time of a block without a passage, or a rest */
    bool cut;      /* it ends early, on a bar line, and the block's work with it */
    int whole;     /* as `repetitions`, without the one that is cut */
    int64_t start; /* engine frame of its frame 0, once it has begun */
} Take;

/* What is asked of a take. */
typedef struct {
    size_t step;
    int base, from_bar, repetitions;
    uint64_t follows; /* the run that it is queued behind; 0: it begins by itself */
    Climb climb;
    int block; /* of a routine */
} Wanted;

/* A repetition that was judged. */
typedef struct {
    bool known;
    bool clean;
    uint64_t ticket; /* of the record; 0: not recorded */
    uint64_t ladder; /* as the take's, */
    Climb climb;     /* and where on it it was played */
} Judged;

typedef struct {
    uint64_t run; /* of the take that is heard */
    int next;     /* the repetition of its step that is judged next */
    bool told;    /* the key was pressed for it */
    Judged latest;
    int count, clean;       /* of this sitting */
    uint64_t handed;        /* the latest ticket */
    uint64_t written, lost; /* as the record tells, */
    bool waits;             /* and whether something is on its way there */
} Judge;

/* The ladder beside the drill: what is set, and where the player stands. */
typedef struct {
    LadderSpec spec;
    bool set;    /* spec is the player's; else it is made from the passage */
    bool strict; /* a repetition counts missed unless the key says clean */
    bool on;
    uint64_t number; /* of the ladder that is up; 0: none. A place on another says nothing of it */
    uint64_t made;   /* ladders so far */
    Ladder ladder;   /* while on */
    Climb at;        /* where the next start is played */
    ModelItem *items;
} LadderDesk;

/* The routine that is open. Its clock runs by what is heard; the engine is ahead of it. */
typedef struct {
    bool on;
    LoadedRoutine loaded;
    Options base;         /* of the command line */
    RoutineRun run;       /* where the listener is */
    int64_t counted;      /* engine frame up to which it has counted */
    int block;            /* what the engine plays or has begun: block, phase, */
    RoutinePhase phase;   /* and the engine frame at which */
    int64_t begin;        /* that phase began */
    bool break_told;      /* a break was proposed, */
    int64_t break_until;  /* and is shown until then */
    int ready;            /* block whose passage is loaded */
    bool end_asked;       /* the first of the two presses came, */
    int64_t end_asked_ms; /* then */
    ModelItem *items;
} RoutineDesk;

enum { TAKES_MAX = 48 };

struct Practice {
    Options options;
    Piece *piece;
    Engine *engine;
    int rate;

    Take takes[TAKES_MAX];
    Playhead head;
    Take *awaited; /* sent with COMMAND_PLAY, not yet begun: what begins before it is old */
    Take *leading; /* the engine's latest start */
    Take *queued;
    int64_t heard;

    size_t step;  /* heard, or to be started */
    bool running; /* asked to run: something plays or is about to */
    bool paused, finished;
    int64_t ended_at;  /* engine frame where the last take ended; -1: it has not */
    int64_t paused_at; /* engine frame that was heard when the pause was asked for */

    size_t preview_step;
    Timeline *preview;   /* of `step`, while nothing plays */
    const Timeline *lit; /* the timeline that rows and accents were last made for */

    uint64_t runs, orders; /* takes so far, without and with those rebuilt */
    Judge judge;
    LadderDesk ladder;
    RoutineDesk routine;
    RecordSink sink;
    Day other_fingers; /* last recorded with others then, not said yet; or 0 */

    FingerPlans *fingers; /* of the passage; NULL until its fingerings are first looked at */

    PracticeRecord *record;     /* of its screen; NULL until it is first opened */
    PracticeCalendar *calendar; /* of --plan; NULL: none was given */

    Mix mix;
    Tempo given_tempo; /* of the command line */
    const char *given; /* what the piece was loaded from */
    Choices choices;
    ModelItem *passages;
    int64_t now_ms; /* of the latest tick or key */
    int64_t message_until;
    Model model;
};

Piece *piece_load(const char *given, const Options *options, bool utf8, Error *error);
/* The same passage with other options and these fingers (copied). */
Piece *piece_again(
    const Piece *before, const Options *options, const Fingering *fingers, bool utf8, Error *error);
void piece_release(Piece *piece); /* frees it with its last user; NULL is fine */
/* A row for the notes i to end - 1, which are played together. */
void piece_row(
    ModelNote *row, const Passage *p, const Fingering *f, size_t i, size_t end, bool utf8);
/* The notes that a step is played from. */
Rows *piece_rows(const Piece *piece, size_t step);
/* Gives the rows the accents and lengths of a timeline of their stage. */
void rows_light(Rows *rows, const Timeline *t);
double piece_seconds(const Piece *piece, size_t step);
/* Names and measures a step anew after its drill or repetitions changed. */
bool piece_measure(Piece *piece, size_t step, Error *error);
/* What follows this step by itself; NULL for the session's last and for single drills. */
const SessionStep *piece_after(const Piece *piece, size_t step);

/* Starts `step` with its count-in, now: from repetition `base` and, in it, from the bar with this
 * index (0: its beginning). */
void takes_play(Practice *p, size_t step, int base, int from_bar);
/* The parts that takes are made of: a take of the present piece, not sent yet; NULL (and said)
 * without room. A free slot with this timeline. Sent; given back where the engine refused it. */
Take *takes_new(Practice *p, const Wanted *w);
Take *takes_slot(Practice *p);
bool takes_send(Practice *p, CommandKind kind, Take *take);
void takes_drop(Practice *p, Take *take);
/* What would come after a take by itself; false: nothing. */
bool takes_wanted_after(const Practice *p, const Take *take, Wanted *w);
/* Whether the engine has played all that it was given. */
bool takes_done(const Practice *p, const EngineEvent *ended);
/* The engine goes on in what it plays, rebuilt: another tempo, or with guide tones. */
void takes_rebuild(Practice *p);
void takes_pause(Practice *p);
void takes_stop(Practice *p);
void takes_event(Practice *p, const EngineEvent *event);
void takes_collect(Practice *p);
/* The take with this number that has begun, the latest if it was rebuilt; NULL: none, or given
 * back. */
Take *takes_of_run(Practice *p, uint64_t run);
/* What comes next is another than was queued. */
void takes_requeue(Practice *p);
/* The take that is heard, and where in it; NULL when nothing is. */
Take *takes_heard(Practice *p, int64_t frame, int64_t *timeline_frame);

/* Judges the repetitions that are over by what is heard now. Before takes_collect. */
void judge_tick(Practice *p);
/* All that was played was heard to its end: what of it is not judged yet is judged. */
void judge_ended(Practice *p);
/* The one key: this repetition, or in its first moments the one before, is judged the other way. */
void judge_press(Practice *p, int64_t now_ms);
/* How the repetition that is heard will be judged if nothing more is pressed. */
bool judge_expected(const Practice *p);
void judge_fill(Practice *p);

/* A repetition of this take is judged: on from there. */
void ladder_judged(Practice *p, const Take *take, bool clean);
/* The one before `heard` (NULL: nothing is heard any more) was judged otherwise. */
void ladder_corrected(Practice *p, Take *heard);
/* The one that is heard will be judged otherwise. */
void ladder_expected(Practice *p);
/* Where the repetition after this take's stands, if it is judged as expected now. */
Climb ladder_after(const Practice *p, const Take *take);
void ladder_fill(Practice *p);
void ladder_open(Practice *p);
void ladder_act(Practice *p, Action action, int64_t now_ms);
/* Another passage, or no passage any more: the ladder is taken down. */
void ladder_drop(Practice *p);
/* The command line's wishes, if there are any; false (with what is wrong) where they do not make
 * a ladder. */
bool ladder_wish(Practice *p, Error *error);

/* Puts this ladder up. */
bool ladder_begin(Practice *p, const LadderSpec *spec, Error *error);

/* Opens the options' routine and loads its first passage (any, where it has none): NULL where
 * anything of it is wrong. */
Piece *routine_open(Practice *p, Error *error);
void routine_close(Practice *p);
/* Loads what a block is played from. */
void routine_enter(Practice *p, int block);
/* To the beginning of a block; at once where something plays. */
void routine_jump(Practice *p, int block);
/* Whose the work of this block of an open routine is; without one, who practises. "" nobody's. */
const char *routine_student(const Practice *p, int block);
/* The engine's rate is known. */
void routine_rate(Practice *p);
/* Before something is played: true where the routine itself does it, because only time runs. */
bool routine_plays_gap(Practice *p);
/* Ends a take of the block's work, not sent yet, where its time is up. */
void routine_fit(Practice *p, Take *take);
/* The engine began this take at this frame; `fresh`: by itself, not behind another. */
void routine_started(Practice *p, Take *take, const EngineEvent *event, bool fresh);
/* Queues what comes after this take, which leads. */
void routine_follow(Practice *p, Take *take);
/* The clock goes on to what is heard; the next block is made ready in the rest before it. After
 * judge_tick. */
void routine_tick(Practice *p);
void routine_fill(Practice *p);
void routine_act(Practice *p, Action action, int64_t now_ms);
void routine_choose(Practice *p, int64_t now_ms);
void routine_list(Practice *p); /* its screen is opened */

void practice_say(Practice *p, int64_t now_ms, bool warns, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
void practice_fill(Practice *p);
/* The current step's timeline for a screen on which nothing plays. */
void practice_preview(Practice *p);
/* Another variant: at once while playing, else only chosen. */
void practice_to_step(Practice *p, size_t step);
void practice_toggle(Practice *p, Layer layer, int64_t now_ms);
/* Makes the piece's guide tones unless they are there; false (and said) where it cannot. */
bool practice_want_plucks(Practice *p, int64_t now_ms);
/* Shapes the drills: rhythm of the current one, ratio and timing of all, strong beats and
 * subdivision of the rotation, repetitions of the one at the cursor. */
void practice_shape(Practice *p, Action action, int64_t now_ms);
/* The same passage with the options as they are now and these fingers (NULL: as they are). Tempo,
 * step and what the keys changed are kept; what ran begins its step again. False (and said) where
 * it cannot. */
bool practice_reload(Practice *p, const Fingering *fingers, int64_t now_ms);
void practice_open_screen(Practice *p, Screen screen);
void practice_move_cursor(Practice *p, int by);
void practice_choose(Practice *p, int64_t now_ms);

/* The screen of fingerings: opened, its cursor moved, a plan chosen, and its own keys. */
void practice_fingers_open(Practice *p, int64_t now_ms);
void practice_fingers_move(Practice *p, int by);
void practice_fingers_choose(Practice *p, int64_t now_ms);
void practice_fingers_act(Practice *p, Action action, int64_t now_ms);
/* Another passage: its fingerings are not made yet. */
void practice_fingers_drop(Practice *p);
/* Writes the fingers into the passage's file; the old one is kept beside it. What came of it is
 * said. */
bool practice_save(Practice *p, const Fingering *fingers, int64_t now_ms);

/* The screen of the record: read when it is opened, its cursor moved, passages or drills. */
void practice_record_open(Practice *p);
void practice_record_move(Practice *p, int by);
void practice_record_act(Practice *p, Action action, int64_t now_ms);
void practice_record_drop(Practice *p);
/* Looks up whether the passage that was just loaded was recorded with other fingers last; */
void practice_note_fingers(Practice *p);
/* says so, once. */
void practice_say_fingers(Practice *p);

/* The calendar of --plan: read, opened at today, moved over, put into the model, freed. */
bool practice_calendar_load(Practice *p, Error *error);
void practice_calendar_open(Practice *p, int64_t now_ms);
void practice_calendar_move(Practice *p, Action action, int64_t now_ms);
void practice_calendar_fill(Practice *p);
void practice_calendar_drop(Practice *p);

int practice_clamp(int value, int low, int high);

#endif
