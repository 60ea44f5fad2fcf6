/* Random chromatic passages with their pedals and levers played through. */
#include "setting_fixture.h"

#include <string.h>

static struct {
    uint64_t seed;
    int round;
} now; /* to be told where a property fails */

#define holds(condition) holds_at(condition, #condition, __LINE__)

static void holds_at(bool condition, const char *text, int line)
{
    if (!condition)
        fail_msg("seed %d, round %d, line %d: %s", (int)now.seed, now.round, line, text);
}

static Random seeded(uint64_t seed)
{
    now.seed = seed;
    return (Random){seed};
}

/* The strings that sound with a note: its own and the left hand's. */
static int sounding(const Passage *p, size_t note, Pitch out[2])
{
    out[0] = p->notes[note].pitch;
    if (hands_below(p->hands) == 0)
        return 1;
    out[1] = passage_left(p, note);
    return 2;
}

static bool stopped(const Setting *s, int32_t note)
{
    for (size_t i = 0; i < s->trouble_count; i++)
        if (s->troubles[i].note == note && trouble_stops(s->troubles[i].kind))
            return true;
    return false;
}

/* Chromatic: any alteration anywhere, now and then a chord, quick and slow. */
static Passage *chromatic(Random *r, int most, bool with_chords)
{
    static const Hands hands[] = {
        HANDS_RIGHT, HANDS_LEFT, HANDS_OCTAVES, HANDS_TENTHS, HANDS_THIRDS};
    Passage *p = passage_random(r, most);
    int spread = random_between(r, 0, 1) == 0 ? 1 : 5; /* alterations in every note, or in some */
    for (size_t i = 0; i < p->note_count; i++)
        if (random_between(r, 0, spread) == 0)
            p->notes[i].pitch.alter = (int8_t)random_between(r, -1, 1);
    for (size_t i = 0; with_chords && i + 1 < p->note_count; i++)
        if (random_between(r, 0, 5) == 0)
            p->notes[i + 1].onset = p->notes[i].onset;
    Error error = {0};
    if (with_chords)
        holds(passage_finish(p, p->length, &error));
    p->hands = hands[random_between(r, 0, with_chords ? 4 : 1)];
    for (int i = 0; i < 7; i++)
        p->key_alter[i] = (int8_t)random_between(r, -1, 1);
    p->tempo = tempo(ratio_int(1), ratio_int(random_between(r, 40, 200)));
    return p;
}

/* Plays the pedals: before each block its changes in the order told, then every string that sounds
 * has the state its note is written with. Returns how many strings were looked at. */
static size_t play_pedals(const Passage *p, const Setting *s)
{
    int8_t state[7];
    size_t next = 0, looked = 0;
    memcpy(state, s->pedals, sizeof state);
    for (size_t i = 0; i < p->note_count; i++) {
        for (; next < s->change_count && s->changes[next].at <= (int32_t)i; next++) {
            const PedalChange *c = &s->changes[next];
            holds(p->notes[c->at].block == c->at);
            holds(state[c->letter] == c->from);
            holds(c->from != c->to);
            state[c->letter] = c->to;
        }
        Pitch strings[2];
        int count = stopped(s, (int32_t)i) ? 0 : sounding(p, i, strings);
        for (int k = 0; k < count; k++, looked++)
            if (pitch_string(strings[k]) >= s->harp.low + s->harp.no_discs)
                holds(state[strings[k].letter] == strings[k].alter);
    }
    holds(next == s->change_count);
    return looked;
}

/* In its window, and nobody plays the letter (string) in it. */
static void check_window(
    const Passage *p, const Setting *s, int32_t earliest, int32_t at, int32_t note, int lane)
{
    holds(earliest > 0 && earliest <= at && at <= p->notes[note].block);
    for (int32_t i = earliest; i < p->notes[note].block; i++) {
        Pitch strings[2];
        int count = stopped(s, i) ? 0 : sounding(p, (size_t)i, strings);
        for (int k = 0; k < count; k++)
            if (pitch_string(strings[k]) >= s->harp.low + s->harp.no_discs)
                holds(
                    (s->harp.kind == HARP_PEDAL ? strings[k].letter
                                                : pitch_string(strings[k]) - s->harp.low) != lane);
    }
}

static void every_note_finds_its_pedal(void **state)
{
    (void)state;
    static const char *const harps[] = {"pedal-46", "pedal-47", "pedal-48"};
    Random r = seeded(20240501);
    size_t looked = 0, changes = 0;
    for (int round = 0; round < 3000; round++) {
        now.round = round;
        Passage *p = chromatic(&r, 60, round % 2 == 1);
        Setting s = set(p, harps[round % 3]);
        looked += play_pedals(p, &s);
        for (size_t i = 0; i < s.change_count; i++) {
            const PedalChange *c = &s.changes[i];
            check_window(p, &s, c->earliest, c->at, c->note, c->letter);
            holds(c->left_foot ==
                  (c->letter == LETTER_D || c->letter == LETTER_C || c->letter == LETTER_B));
            holds(i == 0 || s.changes[i - 1].at <= c->at);
        }
        changes += s.change_count;
        setting_free(&s);
        passage_free(p);
    }
    holds(looked > 50000 && changes > 10000); /* the rounds did exercise it */
}

/* In a line of single notes: as many changes as the letters switch, and none less would do. */
static void changes_are_as_few_as_the_letters_switch(void **state)
{
    (void)state;
    Random r = seeded(77);
    for (int round = 0; round < 1000; round++) {
        now.round = round;
        Passage *p = chromatic(&r, 60, false);
        Setting s = set(p, "pedal-47");
        int switches[7] = {0}, told[7] = {0}, last[7] = {9, 9, 9, 9, 9, 9, 9};
        for (size_t i = 0; i < p->note_count; i++) {
            Pitch n = p->notes[i].pitch;
            if (pitch_string(n) < s.harp.low + s.harp.no_discs &&
                pitch_string(n) >= s.harp.low) /* no disc: no pedal */
                continue;
            if (last[n.letter] == 9)
                holds(s.pedals[n.letter] == n.alter);
            switches[n.letter] += last[n.letter] != 9 && last[n.letter] != n.alter;
            last[n.letter] = n.alter;
        }
        for (size_t i = 0; i < s.change_count; i++)
            told[s.changes[i].letter]++;
        for (int k = 0; k < 7; k++) {
            holds(told[k] == switches[k]);
            if (last[k] == 9)
                holds(s.pedals[k] == p->key_alter[k]);
        }
        setting_free(&s);
        passage_free(p);
    }
}

/* ---- as few moves as can be share a slot: against augmenting paths -------------------------- */

enum { NOTES = 40 };

static bool augment(const Passage *p, const Setting *s, size_t c, int *owner, bool *seen)
{
    for (int32_t slot = s->changes[c].earliest; slot <= p->notes[s->changes[c].note].block;
         slot++) {
        if (p->notes[slot].block != slot || seen[slot])
            continue;
        seen[slot] = true;
        if (owner[slot] < 0 || augment(p, s, (size_t)owner[slot], owner, seen)) {
            owner[slot] = (int)c;
            return true;
        }
    }
    return false;
}

static void as_few_as_can_be_share_a_slot(void **state)
{
    (void)state;
    Random r = seeded(4711);
    size_t shared_at_all = 0;
    for (int round = 0; round < 3000; round++) {
        now.round = round;
        Passage *p = chromatic(&r, NOTES, true);
        Setting s = set(p, "pedal-48");
        size_t matched = 0, own = 0;
        for (int foot = 0; foot < 2; foot++) {
            int owner[NOTES];
            bool taken[NOTES] = {false};
            memset(owner, -1, sizeof owner);
            for (size_t c = 0; c < s.change_count; c++) {
                bool seen[NOTES] = {false};
                if (s.changes[c].left_foot != (foot == 0))
                    continue;
                matched += augment(p, &s, c, owner, seen);
                own += !taken[s.changes[c].at];
                /* crowded says whether the slot is shared */
                size_t sharing = 0;
                for (size_t o = 0; o < s.change_count; o++)
                    sharing += s.changes[o].at == s.changes[c].at &&
                               s.changes[o].left_foot == s.changes[c].left_foot;
                holds(s.changes[c].crowded == (sharing > 1));
                taken[s.changes[c].at] = true;
            }
        }
        holds(own == matched);
        shared_at_all += s.change_count - own;
        setting_free(&s);
        passage_free(p);
    }
    holds(shared_at_all > 50); /* there were passages where it cannot be helped */
}

static void every_note_finds_its_lever(void **state)
{
    (void)state;
    static const char *const harps[] = {"lever-34-Eb", "lever:C1:50:C", "lever-38-F"};
    Random r = seeded(31337);
    size_t looked = 0, flips = 0;
    for (int round = 0; round < 3000; round++) {
        now.round = round;
        Passage *p = chromatic(&r, 60, round % 2 == 1);
        Setting s = set(p, harps[round % 3]);
        int8_t levers[STRINGS_MAX];
        size_t next = 0, told = 0;
        memcpy(levers, s.levers, sizeof levers);
        for (size_t i = 0; i < p->note_count; i++) {
            for (; next < s.flip_count && s.flips[next].at <= (int32_t)i; next++) {
                const LeverFlip *f = &s.flips[next];
                int string = f->string - s.harp.low;
                holds(levers[string] != f->raise);
                levers[string] = f->raise;
                check_window(p, &s, f->earliest, f->at, f->note, string);
            }
            Pitch strings[2];
            int count = stopped(&s, (int32_t)i) ? 0 : sounding(p, i, strings);
            for (int k = 0; k < count; k++, looked++)
                holds(s.harp.tuning[strings[k].letter] +
                          levers[pitch_string(strings[k]) - s.harp.low] ==
                      strings[k].alter);
        }
        holds(next == s.flip_count);
        for (size_t i = 0; i < s.trouble_count; i++) {
            told += s.troubles[i].kind == TROUBLE_FLIP;
            holds(i == 0 || s.troubles[i - 1].note <= s.troubles[i].note);
        }
        holds(told == s.flip_count);
        flips += s.flip_count;
        setting_free(&s);
        passage_free(p);
    }
    holds(looked > 20000 && flips > 2000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_note_finds_its_pedal),
        cmocka_unit_test(changes_are_as_few_as_the_letters_switch),
        cmocka_unit_test(as_few_as_can_be_share_a_slot),
        cmocka_unit_test(every_note_finds_its_lever),
    };
    return cmocka_run_group_tests_name("setting_properties", tests, NULL, NULL);
}
