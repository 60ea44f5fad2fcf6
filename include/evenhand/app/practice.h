/* practice.h - what the console does, without a terminal or a device: keys in, commands to the
 * engine, a model out. Console thread. It keeps no beat counter: all that it shows is asked of
 * the timeline at the frame that the listener hears.
 */
#ifndef EVENHAND_APP_PRACTICE_H
#define EVENHAND_APP_PRACTICE_H

#include "evenhand/app/options.h"
#include "evenhand/console/keys.h"
#include "evenhand/console/model.h"
#include "evenhand/plan/record.h"
#include "evenhand/sound/engine.h"
#include "evenhand/sound/player.h"

typedef struct Practice Practice;

/* Where judged repetitions go. Both functions return at once; moment and day are filled in
 * there. `put` returns a ticket, 0 where it was refused; `judge` changes its verdict, false where
 * it has no room for that. */
typedef struct {
    void *to;
    uint64_t (*put)(void *to, const Repetition *r);
    bool (*judge)(void *to, uint64_t ticket, bool clean);
} RecordSink;

/* Reads the passage that the options name; nothing sounds yet. `options` is copied, its
 * strings are lent. NULL on error. */
Practice *practice_new(const Options *options, bool utf8, Error *error);
/* The engine must not render any more. NULL is fine. */
void practice_free(Practice *p);

/* Gives it an engine to play through (lent); a start asked for earlier begins now. */
void practice_attach(Practice *p, Engine *engine);
/* Does what a key means. `now_ms` only times messages. False: the player wants to leave. */
bool practice_act(Practice *p, Action action, int64_t now_ms);
/* Takes the engine's events, queues what comes next, frees what is done with. `heard`: the
 * engine frame that the listener hears now. Call it before practice_model. */
void practice_tick(Practice *p, int64_t heard, int64_t now_ms);
/* Whose practice it is now: the student of the routine's block at hand, else the only one that its
 * blocks name, else who was named with the options; "" nobody. Lent, until practice_free. */
const char *practice_student(const Practice *p);
/* Repetitions are recorded from now on; the sink's target is lent. Before it, they are judged but
 * not kept. */
void practice_record_to(Practice *p, const RecordSink *sink);
/* How far the record is: tickets up to `written` are on the disk, `lost` ones will never be;
 * `waits`: something handed in, be it another verdict, is not there yet. */
void practice_recorded(Practice *p, uint64_t written, uint64_t lost, bool waits);
/* Something to be told from outside, for a while. */
void practice_news(Practice *p, const char *news, bool warns, int64_t now_ms);
/* The help's last sensible top line, which depends on the window. */
void practice_limit_help(Practice *p, int last);
/* What the player says of the device, for the screen. */
void practice_audio(Practice *p, const PlayerStatus *status, int64_t now_ms);
/* The whole screen as data; valid until the next call of any function above. */
const Model *practice_model(Practice *p);
/* True while something runs: the screen then wants at least 30 updates a second. */
bool practice_running(const Practice *p);

#endif
