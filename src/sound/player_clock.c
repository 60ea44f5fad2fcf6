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

int64_t clock_follow(FrameClock *c, int64_t frame, int64_t time)
{
    int64_t expected = clock_time(c, frame);
    int64_t late = time - expected;
    int64_t size = late < 0 ? -late : late;

    c->frame = frame;
    c->time = size >= CLOCK_JUMP ? time : expected + late / 4;
    return size;
}
