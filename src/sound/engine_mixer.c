#include "evenhand/sound/engine_mixer.h"
#include "evenhand/sound/engine.h"

#include <string.h>

/* Where the limiter begins to bend, and up to which sum of gains it is not even asked. The gap
 * between the two is there for rounding: a skipped block must hold no sample that bends. */
static const float KNEE = 0.7F;
static const float SURE = 0.69F;

void mixer_init(Mixer *m, int64_t fade)
{
    memset(m, 0, sizeof *m);
    m->fade = fade > 0 ? fade : 1;
}

static bool slot_free(const Slot *s, int64_t now)
{
    return !s->voice || s->end <= now;
}

/* From `at` on the slot fades; what begins later than that is struck out. An earlier release
 * stands. */
static void slot_release(Slot *s, int64_t at, int64_t fade)
{
    if (at >= s->release)
        return;
    s->release = at;
    if (s->start >= at)
        s->end = s->start;
    else if (s->end > at + fade)
        s->end = at + fade;
}

/* How loud a slot will still be: its gain, falling over its length. */
static float slot_loudness(const Slot *s, int64_t now)
{
    const float left = (float)(s->end - now) / (float)s->voice->count;
    return s->gain * (left < 1 ? left : 1);
}

/* When MIXER_VOICES sound: makes room by fading the quietest out from `at`. */
static void make_room(Mixer *m, int64_t now, int64_t at)
{
    Slot *quietest = NULL;
    size_t sounding = 0;
    for (size_t i = 0; i < m->top; i++) {
        Slot *s = &m->slot[i];
        if (slot_free(s, now) || s->release != INT64_MAX)
            continue;
        sounding++;
        if (!quietest || slot_loudness(s, now) < slot_loudness(quietest, now))
            quietest = s;
    }
    if (sounding < MIXER_VOICES)
        return;
    slot_release(quietest, at, m->fade);
    m->stolen++;
}

static Slot *find_free(Mixer *m, int64_t now)
{
    for (size_t i = 0; i < MIXER_SLOTS; i++) {
        if (!slot_free(&m->slot[i], now))
            continue;
        if (m->top < i + 1)
            m->top = i + 1;
        return &m->slot[i];
    }
    return NULL;
}

void mixer_start(Mixer *m, int64_t now, const Voice *voice, int64_t peak_at, float gain, int owner)
{
    const int64_t start = peak_at - (int64_t)voice->peak;
    make_room(m, now, start);
    Slot *s = find_free(m, now);
    if (!s) {
        m->stolen++;
        return;
    }
    *s = (Slot){.voice = voice,
        .start = start,
        .end = start + (int64_t)voice->count,
        .release = INT64_MAX,
        .gain = gain,
        .owner = owner};
}

void mixer_damp(Mixer *m, int64_t now, const Voice *voice, int64_t peak_at)
{
    const int64_t start = peak_at - (int64_t)voice->peak;
    for (size_t i = 0; i < m->top; i++)
        if (m->slot[i].voice == voice && !slot_free(&m->slot[i], now))
            slot_release(&m->slot[i], start, m->fade);
}

void mixer_release_all(Mixer *m, int64_t now)
{
    for (size_t i = 0; i < m->top; i++)
        if (!slot_free(&m->slot[i], now))
            slot_release(&m->slot[i], now, m->fade);
}

void mixer_clear(Mixer *m)
{
    memset(m->slot, 0, sizeof m->slot);
    m->top = 0;
}

bool mixer_idle(const Mixer *m, int64_t now)
{
    for (size_t i = 0; i < m->top; i++)
        if (!slot_free(&m->slot[i], now))
            return false;
    return true;
}

void mixer_owners(const Mixer *m, int64_t now, bool *used, int owners)
{
    for (size_t i = 0; i < m->top; i++) {
        const Slot *s = &m->slot[i];
        if (!slot_free(s, now) && s->owner >= 0 && s->owner < owners)
            used[s->owner] = true;
    }
}

/* In runs of sixteen, so that compilers turn them into vector instructions at -O2 as well. */
static void add_scaled(
    float *restrict out, const float *restrict samples, size_t count, const float gain)
{
    size_t i = 0;
    for (; i + 16 <= count; i += 16)
        for (size_t k = 0; k < 16; k++)
            out[i + k] += samples[i + k] * gain;
    for (; i < count; i++)
        out[i] += samples[i] * gain;
}

static void add_fading(
    float *restrict out, const Slot *s, int64_t clock, size_t count, int64_t fade)
{
    const float *samples = s->voice->samples + (clock - s->start);
    const float step = 1.0F / (float)fade;
    int64_t left = s->release + fade - clock;
    for (size_t i = 0; i < count; i++, left--)
        out[i] += samples[i] * (s->gain * ((float)left * step));
}

static void add_slot(const Mixer *m, const Slot *s, int64_t now, int64_t until, float *out)
{
    const int64_t from = s->start > now ? s->start : now;
    const int64_t to = s->end < until ? s->end : until;
    if (from >= to)
        return;
    int64_t bend = s->release < from ? from : s->release;
    if (bend > to)
        bend = to;
    if (bend > from)
        add_scaled(out + (from - now), s->voice->samples + (from - s->start), (size_t)(bend - from),
            s->gain);
    if (to > bend)
        add_fading(out + (bend - now), s, bend, (size_t)(to - bend), m->fade);
}

/* Identity up to the knee, then bending towards ENGINE_LIMIT without reaching it, value and
 * slope continuous:  y = knee + h t / (1 + t),  t = (|x| - knee) / h,  h = limit - knee. */
static void limit(float *out, size_t frames)
{
    const float height = ENGINE_LIMIT - KNEE;
    for (size_t i = 0; i < frames; i++) {
        const float size = out[i] < 0 ? -out[i] : out[i];
        if (size <= KNEE)
            continue;
        const float t = (size - KNEE) / height;
        float bent = KNEE + height * (t / (1 + t));
        if (bent > ENGINE_LIMIT)
            bent = ENGINE_LIMIT;
        out[i] = out[i] < 0 ? -bent : bent;
    }
}

void mixer_render(Mixer *m, int64_t now, float *out, size_t frames)
{
    const int64_t until = now + (int64_t)frames;
    float most = 0;
    memset(out, 0, frames * sizeof *out);
    for (size_t i = 0; i < m->top; i++) {
        const Slot *s = &m->slot[i];
        if (slot_free(s, now) || s->start >= until)
            continue;
        add_slot(m, s, now, until, out);
        most += s->gain;
    }
    if (most > SURE)
        limit(out, frames);
    while (m->top > 0 && slot_free(&m->slot[m->top - 1], until))
        m->top--;
}
