#include "evenhand/journal/scribe.h"

#include "evenhand/journal/journal.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* How long the scribe waits before it tries again what the disk refused. */
enum { AGAIN_MS = 2000 };

/* What is handed in: a repetition, or another verdict on one. */
typedef struct {
    uint64_t ticket;
    bool verdict;
    bool clean;
    Repetition repetition;
} ScribeNote;

/* Everything but the thread's own part is held under the lock, and only for as long as it takes to
 * copy. */
struct Scribe {
    pthread_t thread;
    pthread_mutex_t lock;
    pthread_cond_t wake;     /* for the scribe: a note, or the end */
    pthread_cond_t finished; /* for scribe_stop */
    ScribeNote ring[SCRIBE_ROOM];
    size_t head, count;
    uint64_t tickets, written, lost;
    bool open, stopping, over, abandoned;
    char news[SCRIBE_TEXT_MAX];
    bool warns;

    /* the thread's own */
    Journal *journal;
    char path[JOURNAL_PATH_MAX];
    char student[RECORD_NAME_MAX];
    int64_t at;
    Day day;
    int64_t sitting; /* 0: not begun */
    bool troubled;   /* told already */
    struct {
        uint64_t ticket;
        int64_t id;
    } rows[SCRIBE_ROOM]; /* of the latest repetitions, by ticket */
};

static void tell(Scribe *s, bool warns, const char *text)
{
    pthread_mutex_lock(&s->lock);
    snprintf(s->news, sizeof s->news, "%s", text);
    s->warns = warns;
    pthread_mutex_unlock(&s->lock);
}

static void trouble(Scribe *s, const Error *error)
{
    char text[SCRIBE_TEXT_MAX];
    if (s->troubled)
        return;
    s->troubled = true;
    snprintf(text, sizeof text, "Not recorded for now: %.190s.", error->text);
    tell(s, true, text);
}

static bool need_journal(Scribe *s, Error *error)
{
    if (s->journal != NULL)
        return true;
    s->journal = journal_open(s->path, error);
    if (s->journal == NULL)
        return false;
    if (journal_news(s->journal)[0] != '\0')
        tell(s, true, journal_news(s->journal));
    pthread_mutex_lock(&s->lock);
    s->open = true;
    pthread_mutex_unlock(&s->lock);
    return true;
}

static bool write_repetition(Scribe *s, const ScribeNote *note, Error *error)
{
    int64_t id;
    size_t slot = note->ticket % SCRIBE_ROOM;
    if (s->sitting == 0 &&
        !journal_begin(s->journal, s->student, s->at, s->day, &s->sitting, error))
        return false;
    if (!journal_add(s->journal, s->sitting, &note->repetition, &id, error)) {
        s->sitting = 0; /* it may have been deleted with its student meanwhile: begun anew */
        return false;
    }
    s->rows[slot].ticket = note->ticket;
    s->rows[slot].id = id;
    return true;
}

/* A verdict on a repetition that was never written, or so long ago that its row is forgotten,
 * changes nothing. */
static bool write_verdict(Scribe *s, const ScribeNote *note, Error *error)
{
    size_t slot = note->ticket % SCRIBE_ROOM;
    return s->rows[slot].ticket != note->ticket ||
           journal_judge(s->journal, s->rows[slot].id, note->clean, error);
}

/* False: to be tried again. */
static bool write_note(Scribe *s, const ScribeNote *note)
{
    Error error = {0};
    if (!note->verdict && !tempo_valid(note->repetition.tempo)) { /* would never be taken */
        pthread_mutex_lock(&s->lock);
        s->lost++;
        pthread_mutex_unlock(&s->lock);
        return true;
    }
    bool done = need_journal(s, &error) && (note->verdict ? write_verdict(s, note, &error)
                                                          : write_repetition(s, note, &error));
    if (!done)
        trouble(s, &error);
    else if (s->troubled) {
        s->troubled = false;
        tell(s, false, "The record is written again.");
    }
    return done;
}

/* Waits for a note; false at the end. */
static bool next_note(Scribe *s, ScribeNote *out)
{
    pthread_mutex_lock(&s->lock);
    while (s->count == 0 && !s->stopping)
        pthread_cond_wait(&s->wake, &s->lock);
    bool any = s->count > 0;
    if (any)
        *out = s->ring[s->head];
    pthread_mutex_unlock(&s->lock);
    return any;
}

static void done_with(Scribe *s, const ScribeNote *note)
{
    pthread_mutex_lock(&s->lock);
    s->head = (s->head + 1) % SCRIBE_ROOM;
    s->count--;
    if (note->ticket > s->written)
        s->written = note->ticket;
    pthread_mutex_unlock(&s->lock);
}

static struct timespec from_now(int milliseconds)
{
    struct timespec t;
    clock_gettime(CLOCK_MONOTONIC, &t);
    t.tv_sec += milliseconds / 1000;
    t.tv_nsec += milliseconds % 1000 * 1000000L;
    if (t.tv_nsec >= 1000000000L) {
        t.tv_sec++;
        t.tv_nsec -= 1000000000L;
    }
    return t;
}

/* After a refusal: false when there is no time left to try again. */
static bool wait_to_try(Scribe *s)
{
    struct timespec until = from_now(AGAIN_MS);
    pthread_mutex_lock(&s->lock);
    int woken = 0;
    while (!s->stopping && woken == 0)
        woken = pthread_cond_timedwait(&s->wake, &s->lock, &until);
    bool more = !s->stopping;
    pthread_mutex_unlock(&s->lock);
    return more;
}

static void give_up(Scribe *s)
{
    pthread_mutex_lock(&s->lock);
    for (; s->count > 0; s->count--, s->head = (s->head + 1) % SCRIBE_ROOM) {
        s->lost += !s->ring[s->head].verdict;
        s->written = s->ring[s->head].ticket > s->written ? s->ring[s->head].ticket : s->written;
    }
    pthread_mutex_unlock(&s->lock);
}

static void scribe_destroy(Scribe *s) /* nobody else knows it any more */
{
    pthread_cond_destroy(&s->wake);
    pthread_cond_destroy(&s->finished);
    pthread_mutex_destroy(&s->lock);
    free(s);
}

static void *scribe_run(void *of)
{
    Scribe *s = of;
    ScribeNote note;
    Error error = {0};
    if (!need_journal(s, &error))
        trouble(s, &error);
    while (next_note(s, &note)) {
        while (!write_note(s, &note))
            if (!wait_to_try(s))
                goto out;
        done_with(s, &note);
    }
out:
    give_up(s);
    journal_close(s->journal);
    pthread_mutex_lock(&s->lock);
    s->over = true;
    bool abandoned = s->abandoned;
    pthread_cond_signal(&s->finished);
    pthread_mutex_unlock(&s->lock);
    if (abandoned)
        scribe_destroy(s);
    return NULL;
}

static bool make_signals(Scribe *s)
{
    pthread_condattr_t steady; /* waits must not hang on a clock that is set */
    if (pthread_condattr_init(&steady) != 0)
        return false;
    bool made = pthread_condattr_setclock(&steady, CLOCK_MONOTONIC) == 0 &&
                pthread_mutex_init(&s->lock, NULL) == 0 &&
                pthread_cond_init(&s->wake, &steady) == 0 &&
                pthread_cond_init(&s->finished, &steady) == 0;
    pthread_condattr_destroy(&steady);
    return made;
}

Scribe *scribe_start(const char *path, const char *student, int64_t at, Day day)
{
    Scribe *s = calloc(1, sizeof *s);
    if (s == NULL)
        return NULL;
    snprintf(s->path, sizeof s->path, "%s", path);
    snprintf(s->student, sizeof s->student, "%s", student);
    s->at = at;
    s->day = day;
    if (strlen(path) >= sizeof s->path || !make_signals(s) ||
        pthread_create(&s->thread, NULL, scribe_run, s) != 0) {
        free(s);
        return NULL;
    }
    return s;
}

static bool hand_in(Scribe *s, const ScribeNote *note)
{
    bool room = s->count < SCRIBE_ROOM;
    if (room) {
        s->ring[(s->head + s->count) % SCRIBE_ROOM] = *note;
        s->count++;
        pthread_cond_signal(&s->wake);
    }
    return room;
}

uint64_t scribe_put(Scribe *s, const Repetition *r)
{
    ScribeNote note = {.repetition = *r};
    pthread_mutex_lock(&s->lock);
    note.ticket = s->tickets + 1;
    bool taken = hand_in(s, &note);
    s->tickets += taken;
    s->lost += !taken;
    pthread_mutex_unlock(&s->lock);
    return taken ? note.ticket : 0;
}

bool scribe_judge(Scribe *s, uint64_t ticket, bool clean)
{
    const ScribeNote note = {.ticket = ticket, .verdict = true, .clean = clean};
    pthread_mutex_lock(&s->lock);
    bool taken = hand_in(s, &note);
    pthread_mutex_unlock(&s->lock);
    return taken;
}

void scribe_poll(Scribe *s, ScribeStatus *out)
{
    pthread_mutex_lock(&s->lock);
    *out = (ScribeStatus){.open = s->open,
        .written = s->written,
        .waiting = s->count,
        .lost = s->lost,
        .warns = s->warns};
    memcpy(out->news, s->news, sizeof out->news);
    s->news[0] = '\0';
    pthread_mutex_unlock(&s->lock);
}

void scribe_stop(Scribe *s, int patience_ms)
{
    if (s == NULL)
        return;
    struct timespec until = from_now(patience_ms);
    pthread_mutex_lock(&s->lock);
    s->stopping = true;
    pthread_cond_signal(&s->wake);
    int woken = 0;
    while (!s->over && woken == 0)
        woken = pthread_cond_timedwait(&s->finished, &s->lock, &until);
    bool over = s->over;
    s->abandoned = !over; /* the thread frees it when the disk lets go */
    pthread_t thread = s->thread;
    pthread_mutex_unlock(&s->lock);
    if (!over) {
        pthread_detach(thread);
        return;
    }
    pthread_join(thread, NULL);
    scribe_destroy(s);
}
