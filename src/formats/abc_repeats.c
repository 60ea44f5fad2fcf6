#include "abc_reader.h"

#include <stdlib.h>
#include <string.h>

/* Repeats, in two steps. First missing signs are put in, where the tune has no P: order; then
 * the score is walked as a player would, section by section:
 *
 *   |: a |1 b :|2 c || d      a b  a c d        pass 1, :| back, pass 2: ending 1 is passed over
 *
 * The standard leaves unbalanced signs open. There the reading is that of abc2midi 4.84 (found
 * by running it, tests/formats/test_abc_peer.c), and a notice says what was made of them. */

enum { UNFOLDED_MAX = 1 << 22 };

typedef struct {
    AbcReader *r;
    AbcOrder *order;
    size_t count;  /* of events played */
    size_t passed; /* events of endings not played: they take time too */
    struct {
        size_t from, to;
    } parts[26];  /* by letter; to is 0 where there is none */
    size_t steps; /* parts and groups begun, so that P:((((A9)9)9)9) ends */
} Unfold;

static const char sign_missing[] =
    "a repeat's |: is missing; it is played from the double bar or repeat sign before";

/* Puts a |: where the last double bar or repeat sign stands. */
static void open_at(AbcReader *r, size_t sign, const AbcEvent *at)
{
    AbcEvent *e = &r->score.events[sign];
    e->kind = e->kind == ABC_REPEAT_END ? ABC_REPEAT_BOTH : ABC_REPEAT_START;
    e->value = 2;
    passage_notice(r->passage, at->line, at->column, sign_missing);
}

/* Before any sign; after |: ; after :| ; after a numbered ending. */
typedef enum { FIRST, OPEN, CLOSED, ENDED } State;

/* The times that an ending right after sign i is for; 0: there is none. */
static uint32_t ending_after(const AbcScore *score, size_t i)
{
    for (i++; i < score->count && score->events[i].kind == ABC_BAR; i++)
        ;
    return i < score->count && score->events[i].kind == ABC_ENDING ? score->events[i].value : 0;
}

/* One sign of the walk that puts in what is missing; `sign` is the last place a |: may go. */
static State mend(AbcReader *r, size_t i, State state, size_t *sign, bool *endings)
{
    AbcEvent *e = &r->score.events[i];
    switch (e->kind) {
    case ABC_DOUBLE: *sign = i; return state;
    case ABC_REPEAT_START:
        if (state == OPEN) {
            passage_notice(r->passage, e->line, e->column,
                "a :| is missing before this |: ; the section is played twice");
            e->kind = ABC_REPEAT_BOTH;
        }
        *sign = i;
        return OPEN;
    case ABC_REPEAT_BOTH:
        if (state == CLOSED || state == ENDED)
            open_at(r, *sign, e);
        *sign = i;
        return OPEN;
    case ABC_REPEAT_END:
        if (state == CLOSED && !*endings)
            open_at(r, *sign, e);
        else if (state == CLOSED)
            passage_notice(r->passage, e->line, e->column,
                "a :| after numbered endings has no |: of its own; write |: where it goes back to");
        else if (state == ENDED && ending_after(&r->score, i) == 0)
            passage_notice(r->passage, e->line, e->column,
                "an ending with :| and no ending after it: the section is played once more");
        *sign = i;
        return CLOSED;
    case ABC_ENDING:
        if (state == CLOSED && !*endings && (e->value & 2u) == 0) {
            passage_notice(r->passage, e->line, e->column,
                "an ending with no first ending before it is played as plain music");
            e->kind = ABC_BAR;
            return CLOSED;
        }
        if (state == CLOSED && !*endings)
            open_at(r, *sign, e);
        *endings = true;
        return ENDED;
    default: return state;
    }
}

static void mend_repeats(AbcReader *r)
{
    State state = FIRST;
    size_t sign = 0, last_open = 0;
    bool endings = false;
    for (size_t i = 0; i < r->score.count; i++) {
        State before = state;
        state = mend(r, i, state, &sign, &endings);
        if (state == OPEN && before != OPEN)
            last_open = i;
    }
    if (state == OPEN)
        passage_notice(r->passage, r->score.events[last_open].line,
            r->score.events[last_open].column, "a |: has no :| after it; the music is played once");
}

static bool add_run(AbcOrder *order, size_t from, size_t to)
{
    if (order->count == order->room) {
        size_t room = order->room == 0 ? 16 : order->room * 2;
        void *runs = realloc(order->runs, room * sizeof *order->runs);
        if (runs == NULL)
            return false;
        order->runs = runs;
        order->room = room;
    }
    order->runs[order->count].from = (int32_t)from;
    order->runs[order->count++].to = (int32_t)to;
    return true;
}

/* Without a sign everything is played as it stands. */
static bool whole_tune(Unfold *u)
{
    u->order->notes = u->r->score.notes;
    return add_run(u->order, 0, u->r->score.count) ||
           error_set(u->r->error, ERROR_MEMORY, "out of memory for repeats");
}

static bool push(Unfold *u, size_t event)
{
    const AbcEvent *e = &u->r->score.events[event];
    AbcOrder *order = u->order;
    if (e->kind == ABC_NOTE && ++order->notes > PASSAGE_NOTES_MAX)
        return error_at(u->r->error, ERROR_LIMIT, e->line, e->column,
            "the passage has more than %d notes once its repeats are played", PASSAGE_NOTES_MAX);
    if (u->count == UNFOLDED_MAX)
        return error_at(u->r->error, ERROR_LIMIT, e->line, e->column,
            "the tune is too long once its repeats are played");
    u->count++;
    if (order->count > 0 && order->runs[order->count - 1].to == (int32_t)event) {
        order->runs[order->count - 1].to++;
        return true;
    }
    return add_run(order, event, event + 1) ||
           error_set(u->r->error, ERROR_MEMORY, "out of memory for repeats");
}

/* Passes over an ending that is not played now; returns the event to go on with. A sign that
 * closes it is passed too, but for |: , which opens what follows. */
static size_t skip_ending(const AbcScore *score, size_t at, size_t end)
{
    for (at++; at < end; at++) {
        switch (score->events[at].kind) {
        case ABC_REPEAT_START: return at;
        case ABC_ENDING:
        case ABC_DOUBLE:
        case ABC_REPEAT_END:
        case ABC_REPEAT_BOTH: return at + 1;
        default: break;
        }
    }
    return at;
}

static uint32_t highest(uint32_t passes)
{
    uint32_t n = 0;
    for (; passes > 1; passes >>= 1)
        n++;
    return n;
}

/* Where the player is: `pass` counts the plays of the section that began at `start`. */
typedef struct {
    size_t start;
    uint32_t pass, passes;
} Section;

/* abc2midi goes back from four endings at most; a fifth that stands there is worth it too. */
static bool fifth_ending(const AbcScore *score, uint32_t pass, size_t at)
{
    return pass >= 4 && pass < 31 && (ending_after(score, at) >> (pass + 1) & 1u) != 0;
}

/* One event; returns the next. */
static size_t step(Unfold *u, Section *now, size_t at, size_t end)
{
    const AbcEvent *e = &u->r->score.events[at];
    switch (e->kind) {
    case ABC_REPEAT_START: *now = (Section){at + 1, 1, e->value}; break;
    case ABC_REPEAT_END:
        if (now->pass < now->passes || fifth_ending(&u->r->score, now->pass, at)) {
            now->pass++;
            return now->start;
        }
        break;
    case ABC_REPEAT_BOTH:
        if (now->pass == 1) {
            now->pass++;
            return now->start;
        }
        *now = (Section){at + 1, 1, e->value};
        break;
    case ABC_ENDING: {
        uint32_t top = highest(e->value), passes = top < 4 ? top + 1 : top;
        now->passes = now->passes > passes ? now->passes : passes;
        if ((e->value >> now->pass & 1u) == 0)
            return skip_ending(&u->r->score, at, end);
        break;
    }
    default: break;
    }
    return at + 1;
}

static bool play(Unfold *u, size_t from, size_t to)
{
    Section now = {from, 1, 2};
    for (size_t at = from; at < to;) {
        if (!push(u, at))
            return false;
        size_t next = step(u, &now, at, to);
        u->passed += next > at ? next - at : 0;
        if (u->passed > 2 * (size_t)UNFOLDED_MAX)
            return error_at(u->r->error, ERROR_LIMIT, u->r->score.events[at].line,
                u->r->score.events[at].column, "the tune is too long once its repeats are played");
        at = next;
    }
    return true;
}

/* Stretches of the score by their letters; of two with one letter, the later. */
static void find_parts(Unfold *u)
{
    const AbcScore *score = &u->r->score;
    size_t *open = NULL;
    for (size_t i = 0; i < score->count; i++) {
        const AbcEvent *e = &score->events[i];
        if (e->kind != ABC_PART || e->value < 'A' || e->value > 'Z')
            continue;
        if (open != NULL)
            *open = i;
        u->parts[e->value - 'A'].from = i;
        open = &u->parts[e->value - 'A'].to;
    }
    if (open != NULL)
        *open = score->count;
}

static bool play_part(Unfold *u, char letter)
{
    if (u->parts[letter - 'A'].to > 0)
        return play(u, u->parts[letter - 'A'].from, u->parts[letter - 'A'].to);
    passage_notice(u->r->passage, u->r->parts_line, 1,
        "the order of parts names a part that is not in the tune; it is passed over");
    return true;
}

static bool count_step(Unfold *u)
{
    if (++u->steps <= PASSAGE_BARS_MAX)
        return true;
    return error_at(u->r->error, ERROR_LIMIT, u->r->parts_line, 1,
        "the order of parts plays more than %d parts", PASSAGE_BARS_MAX);
}

static int times_at(const char *parts, size_t *at)
{
    enum { MOST = 999 };
    int n = 0;
    for (; parts[*at] >= '0' && parts[*at] <= '9'; (*at)++)
        n = n < MOST ? n * 10 + (parts[*at] - '0') : MOST;
    return n > 0 ? n : 1;
}

/* P:A(BC)2 from *at to the end or to the bracket that closes the group. */
static bool play_group(Unfold *u, size_t *at)
{
    const char *parts = u->r->parts;
    while (parts[*at] != '\0' && parts[*at] != ')') {
        size_t begin = *at + 1;
        char c = parts[*at];
        int times = 1;
        for (int i = 0; i < times; i++) {
            size_t now = begin;
            if (!count_step(u) || !(c == '(' ? play_group(u, &now) : play_part(u, c)))
                return false;
            now += c == '(' && parts[now] == ')' ? 1 : 0;
            times = times_at(parts, &now);
            *at = now;
        }
    }
    return true;
}

static size_t first_part(const AbcScore *score)
{
    size_t i = 0;
    while (i < score->count && score->events[i].kind != ABC_PART)
        i++;
    return i;
}

bool abc_unfold(AbcReader *r, AbcOrder *order)
{
    Unfold u = {.r = r, .order = order};
    if (!r->score.signs && r->score.notes <= PASSAGE_NOTES_MAX && r->score.count <= UNFOLDED_MAX)
        return whole_tune(&u);
    size_t first = first_part(&r->score), at = 0;
    if (r->parts[0] != '\0' && first < r->score.count) {
        find_parts(&u);
        return play(&u, 0, first) && play_group(&u, &at);
    }
    mend_repeats(r);
    return play(&u, 0, r->score.count);
}
