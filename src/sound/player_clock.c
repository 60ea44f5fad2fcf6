#include "player_clock.h"

/* a * b / c rounded down, for c > 0, without a 128-bit product: whole units of c apart. */
static int64_t scale(int64_t a, int64_t b, int64_t c)
{
    int64_t whole = a / c;
    int64_t part = a % c;

    if (part < 0) {
        part += c;
        whole--;
    }
    return whole * b + part * b / c;
}

int64_t clock_frame(const FrameClock *c, int64_t time)
{
    return c->frame + scale(time - c->time, c->rate, CLOCK_SECOND);
}

int64_t clock_time(const FrameClock *c, int64_t frame)
{
    return c->time + scale(frame - c->frame, CLOCK_SECOND, c->rate);
}

static int64_t magnitude(int64_t a)
{
    return a < 0 ? -a : a;
}

/* Whether a jump has been told long enough; remembers it if it is new. */
static bool believed(FrameClock *c, int64_t late, int64_t time)
{
    if (c->doubted == 0 || magnitude(late - c->doubted) >= CLOCK_JUMP) {
        c->doubted = late;
        c->doubted_since = time;
    }
    return time - c->doubted_since >= CLOCK_BELIEF;
}

int64_t clock_follow(FrameClock *c, int64_t frame, int64_t time)
{
    int64_t expected = clock_time(c, frame);
    int64_t late = time - expected, size = magnitude(late);
    bool jumps = size >= CLOCK_JUMP;

    c->frame = frame;
    c->time = jumps ? expected : expected + late / 4;
    if (jumps && believed(c, late, time))
        c->time = time;
    if (!jumps || c->time == time)
        c->doubted = 0;
    return size;
}
