#include "evenhand/journal/scribe.h"

#include "evenhand/journal/journal.h"

#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

/* How long the scribe waits before it tries again what the disk refused; how much news may wait. */
enum { AGAIN_MS = 2000, RING = SCRIBE_ROOM + SCRIBE_CORRECTIONS, NEWS = 4 };

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
    ScribeNote ring[RING];   /* the first is the thread's while `writing` */
    size_t head, count;
    uint64_t tickets, written, lost;
    bool open, writing, stopping, over, abandoned;
    struct {
        char text[SCRIBE_TEXT_MAX];
        bool warns;
    } news[NEWS];
    int news_count;

    /* the thread's own */
    Journal *journal;
    char path[JOURNAL_PATH_MAX];
    char student[RECORD_NAME_MAX];
    int64_t at;
    Day day;
    int64_t sitting;            /* 0: not begun */
    char sits[RECORD_NAME_MAX]; /* whose it is */
    bool troubled;              /* told already */
    struct {
        uint64_t ticket;
        int64_t id;
    } rows[SCRIBE_ROOM]; /* of the latest repetitions, by ticket */
};

/* The latest of too much replaces the one before it. */
static void tell(Scribe *s, bool warns, const char *text)
{
    pthread_mutex_lock(&s->lock);
    int at = s->news_count < NEWS ? s->news_count++ : NEWS - 1;
    snprintf(s->news[at].text, sizeof s->news[at].text, "%s", text);
    s->news[at].warns = warns;
    pthread_mutex_unlock(&s->lock);
}

static void trouble(Scribe *s, const Error *error)
{
    char text[SCRIBE_TEXT_MAX];
    if (s->troubled)
        return;
    s->troubled = true;
    snprintf(text, sizeof text, "Not recorded for now: %s.", error->text);
    tell(s, true, text);
}

/* The ids that are known belong to the file that was open. */
static void let_go(Scribe *s)
{
    journal_close(s->journal);
    s->journal = NULL;
    s->sitting = 0;
    memset(s->rows, 0, sizeof s->rows);
    pthread_mutex_lock(&s->lock);
    s->open = false;
    pthread_mutex_unlock(&s->lock);
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

static bool begin(Scribe *s, const Repetition *r, Error *error)
{
    bool first = s->sits[0] == '\0' && strcmp(r->student, s->student) == 0;
    bool told = journal_news(s->journal)[0] != '\0';
    if (!journal_begin(s->journal, r->student, first ? s->at : r->at, first ? s->day : r->day,
            &s->sitting, error)) {
        s->sitting = 0;
        return false;
    }
    snprintf(s->sits, sizeof s->sits, "%s", r->student);
    if (!told && journal_news(s->journal)[0] != '\0')
        tell(s, true, journal_news(s->journal));
    return true;
}

/* A sitting that was begun earlier may have gone with its student meanwhile: then another is begun
 * at once. */
static bool write_repetition(Scribe *s, const ScribeNote *note, Error *error)
{
    int64_t id;
    const Repetition *r = &note->repetition;
    size_t slot = note->ticket % SCRIBE_ROOM;
    bool going_on = s->sitting != 0 && strcmp(s->sits, r->student) == 0;
    bool done = going_on && journal_add(s->journal, s->sitting, r, &id, error);
    if (!done && !journal_stale(s->journal))
        done = begin(s, r, error) && journal_add(s->journal, s->sitting, r, &id, error);
    if (!done)
        return false;
    s->rows[slot].ticket = note->ticket;
    s->rows[slot].id = id;
    return true;
}

/* A verdict on a repetition so long ago that its row is forgotten changes nothing. */
static bool write_verdict(Scribe *s, const ScribeNote *note, Error *error)
{
    size_t slot = note->ticket % SCRIBE_ROOM;
    return s->rows[slot].ticket != note->ticket ||
           journal_judge(s->journal, s->rows[slot].id, note->clean, error);
}

static bool try_note(Scribe *s, const ScribeNote *note, Error *error)
{
    return need_journal(s, error) &&
           (note->verdict ? write_verdict(s, note, error) : write_repetition(s, note, error));
}

/* False: to be tried again. A file that was moved away or is damaged is let go, and opened again
 * at once: that sets it aside, or begins a new one. */
static bool write_note(Scribe *s, const ScribeNote *note)
{
    Error error = {0};
    bool done = try_note(s, note, &error);
    if (!done && s->journal != NULL && journal_stale(s->journal)) {
        let_go(s);
        done = try_note(s, note, &error);
    }
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
    s->writing = any;
    if (any)
        *out = s->ring[s->head];
    pthread_mutex_unlock(&s->lock);
    return any;
}

static void done_with(Scribe *s, const ScribeNote *note)
{
    pthread_mutex_lock(&s->lock);
    s->head = (s->head + 1) % RING;
    s->count--;
    s->writing = false;
    if (!note->verdict)
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

/* What is left is lost; never told as written. */
static void give_up(Scribe *s)
{
    pthread_mutex_lock(&s->lock);
    for (; s->count > 0; s->count--, s->head = (s->head + 1) % RING)
        s->lost += !s->ring[s->head].verdict;
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
    bool going_on = true, written;
    while (going_on && next_note(s, &note)) {
        do
            written = write_note(s, &note);
        while (!written && (going_on = going_on && wait_to_try(s)));
        /* when it is to stop: once more */
        if (!written)
            written = write_note(s, &note);
        going_on = written;
        if (written)
            done_with(s, &note);
    }
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

/* Waits must not hang on a clock that is set. */
static bool make_signal(pthread_cond_t *signal)
{
    pthread_condattr_t steady;
    if (pthread_condattr_init(&steady) != 0)
        return false;
    bool made = pthread_condattr_setclock(&steady, CLOCK_MONOTONIC) == 0 &&
                pthread_cond_init(signal, &steady) == 0;
    pthread_condattr_destroy(&steady);
    return made;
}

static bool make_thread(Scribe *s)
{
    if (pthread_mutex_init(&s->lock, NULL) != 0)
        return false;
    if (make_signal(&s->wake)) {
        if (make_signal(&s->finished)) {
            if (pthread_create(&s->thread, NULL, scribe_run, s) == 0)
                return true;
            pthread_cond_destroy(&s->finished);
        }
        pthread_cond_destroy(&s->wake);
    }
    pthread_mutex_destroy(&s->lock);
    return false;
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
    if (strlen(path) >= sizeof s->path || !make_thread(s)) {
        free(s);
        return NULL;
    }
    return s;
}

/* Under the lock. */
static bool hand_in(Scribe *s, const ScribeNote *note, size_t room)
{
    if (s->count >= room)
        return false;
    s->ring[(s->head + s->count++) % RING] = *note;
    pthread_cond_signal(&s->wake);
    return true;
}

uint64_t scribe_put(Scribe *s, const Repetition *r)
{
    ScribeNote note = {.repetition = *r};
    pthread_mutex_lock(&s->lock);
    note.ticket = s->tickets + 1;
    bool taken = tempo_valid(r->tempo) && hand_in(s, &note, SCRIBE_ROOM);
    s->tickets += taken;
    s->lost += !taken;
    pthread_mutex_unlock(&s->lock);
    return taken ? note.ticket : 0;
}

/* Corrects what waits where it stands; not the one that is being written. */
static bool correct(Scribe *s, uint64_t ticket, bool clean)
{
    for (size_t i = s->writing ? 1 : 0; i < s->count; i++) {
        ScribeNote *note = &s->ring[(s->head + i) % RING];
        if (note->ticket != ticket)
            continue;
        note->clean = note->repetition.clean = clean;
        return true;
    }
    return false;
}

bool scribe_judge(Scribe *s, uint64_t ticket, bool clean)
{
    const ScribeNote note = {.ticket = ticket, .verdict = true, .clean = clean};
    pthread_mutex_lock(&s->lock);
    bool taken = ticket > 0 && ticket <= s->tickets &&
                 (correct(s, ticket, clean) || hand_in(s, &note, RING));
    pthread_mutex_unlock(&s->lock);
    return taken;
}

void scribe_poll(Scribe *s, ScribeStatus *out)
{
    pthread_mutex_lock(&s->lock);
    *out = (ScribeStatus){
        .open = s->open, .written = s->written, .waiting = s->count, .lost = s->lost};
    if (s->news_count > 0) {
        out->warns = s->news[0].warns;
        memcpy(out->news, s->news[0].text, sizeof out->news);
        memmove(s->news, s->news + 1, (size_t)--s->news_count * sizeof s->news[0]);
    }
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
