#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/sound/engine.h"
#include "evenhand/sound/engine_mixer.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void levels_are_decibels(void **state)
{
    (void)state;
    assert_float_equal(mix_gain(0), 1, 0);
    assert_float_equal(mix_gain(-20), 0.1, 1e-7);
    assert_float_equal(mix_gain(-60), 0.001, 1e-9);
    assert_float_equal(mix_gain(6), 1.9952623, 1e-6); /* 10^(6/20) */
    for (int db = -60; db < 12; db++)
        assert_float_equal(20 * log10f(mix_gain(db + 1) / mix_gain(db)), 1, 1e-5F);
}

static void the_default_is_quiet_and_in_range(void **state)
{
    (void)state;
    const Mix m = mix_default();
    assert_int_equal(m.accent, 6);
    assert_true(m.master <= -12);
    float most = 0;
    for (int i = 0; i < LAYER_KINDS; i++) {
        assert_in_range(m.level[i] + 60, MIX_DB_MIN + 60, MIX_DB_MAX + 60);
        if (i != LAYER_ACCENT)
            most += mix_gain(m.level[i] + m.accent + m.master);
    }
    assert_true(m.on[LAYER_PULSE] && m.on[LAYER_NOTES] && m.on[LAYER_ACCENT]);
    /* Even with every layer at once nothing comes near the limit's bend. */
    assert_true(most < 2 * 0.7F);
    assert_true(mix_gain(m.level[LAYER_PULSE] + m.master) +
                    mix_gain(m.level[LAYER_NOTES] + m.accent + m.master) <
                0.7F);
}

static void every_layer_has_a_word_of_its_own(void **state)
{
    (void)state;
    for (int i = 0; i < LAYER_KINDS; i++) {
        assert_true(strlen(layer_word((Layer)i)) > 0);
        for (int k = 0; k < i; k++)
            assert_string_not_equal(layer_word((Layer)i), layer_word((Layer)k));
    }
    assert_string_equal(layer_word(LAYER_KINDS), "");
}

/* ---- the mixer ----------------------------------------------------------------------------- */

enum { LONG = 4000, FADE = 240 };

static float ones[LONG];
static Voice steady = {ones, LONG, 0};

static Mixer *mixer(void)
{
    static Mixer m;
    for (int i = 0; i < LONG; i++)
        ones[i] = 1;
    mixer_init(&m, FADE);
    return &m;
}

/* What the limiter makes of a steady sample of this size. */
static float limited(float size)
{
    Mixer *m = mixer();
    float out[1];
    mixer_start(m, 0, &steady, 0, fabsf(size), MIXER_NO_OWNER);
    for (int i = 0; size < 0 && i < LONG; i++)
        ones[i] = -1;
    mixer_render(m, 0, out, 1);
    return out[0];
}

static void the_limit_holds_and_bends_softly(void **state)
{
    (void)state;
    for (float x = 0; x <= 0.7F; x += 0.001F)
        assert_float_equal(limited(x), x, 0);
    float last = limited(0.7F);
    for (float x = 0.7005F; x < 3; x += 0.0005F) {
        const float y = limited(x);
        assert_true(y > last && y <= ENGINE_LIMIT); /* rising, never past */
        assert_true(y - last <= 0.0005F + 1e-6F);   /* nowhere steeper than the identity */
        assert_float_equal(limited(-x), -y, 0);
        last = y;
    }
    /* The slope goes on at the knee: 1 just above it as below. */
    assert_float_equal((limited(0.7002F) - limited(0.7F)) / 0.0002F, 1, 0.01);
    assert_true(limited(100) <= ENGINE_LIMIT && limited(100) > 0.96F);
    assert_true(limited(1e30F) <= ENGINE_LIMIT);
}

static void a_voice_sounds_from_its_start_to_its_end(void **state)
{
    (void)state;
    Mixer *m = mixer();
    const Voice late = {ones, 100, 40};
    float out[1000];
    mixer_start(m, 0, &late, 300, 0.5F, MIXER_NO_OWNER);
    assert_false(mixer_idle(m, 0));
    mixer_render(m, 0, out, 359);
    assert_false(mixer_idle(m, 359));
    mixer_render(m, 359, out + 359, 641);
    assert_true(mixer_idle(m, 360));
    for (int i = 0; i < 1000; i++)
        assert_float_equal(out[i], (i >= 260 && i < 360 ? 0.5F : 0), 0);
}

static void a_release_fades_evenly_to_nothing(void **state)
{
    (void)state;
    Mixer *m = mixer();
    float out[LONG];
    mixer_start(m, 0, &steady, 0, 0.5F, MIXER_NO_OWNER);
    mixer_start(m, 0, &steady, 3000, 0.5F, MIXER_NO_OWNER); /* not begun: never will */
    mixer_render(m, 0, out, 1000);
    mixer_release_all(m, 1000);
    mixer_render(m, 1000, out + 1000, LONG - 1000);
    assert_float_equal(out[1000], 0.5, 0);
    for (int i = 1000; i < 1000 + FADE; i++)
        assert_float_equal(out[i], 0.5F * (1 - (float)(i - 1000) / FADE), 1e-6F);
    for (int i = 1000 + FADE; i < LONG; i++)
        assert_float_equal(out[i], 0, 0);
}

static void a_string_plucked_anew_stops_its_old_ring(void **state)
{
    (void)state;
    Mixer *m = mixer();
    float out[2000];
    mixer_start(m, 0, &steady, 0, 0.25F, 3);
    mixer_damp(m, 0, &steady, 500);
    mixer_start(m, 0, &steady, 500, 0.25F, 3);
    mixer_render(m, 0, out, 2000);
    assert_float_equal(out[499], 0.25, 0);
    assert_float_equal(out[500], 0.5, 0);
    assert_float_equal(out[500 + FADE], 0.25, 0);
    assert_float_equal(out[1999], 0.25, 0);
}

/* One more than may sound: the quietest gives way softly, and it is counted. */
static void a_full_mixer_gives_up_its_quietest(void **state)
{
    (void)state;
    Mixer *m = mixer();
    float out[1000];
    for (int i = 0; i < MIXER_VOICES; i++)
        mixer_start(m, 0, &steady, 0, i == 20 ? 0.001F : 0.005F, i);
    mixer_render(m, 0, out, 100);
    assert_int_equal(m->stolen, 0);
    const float full = out[99];
    mixer_start(m, 100, &steady, 150, 0.005F, 100);
    assert_int_equal(m->stolen, 1);
    mixer_render(m, 100, out, 900);
    assert_float_equal(out[0], full, 1e-6);
    assert_float_equal(out[50], full + 0.005F, 1e-6);
    assert_float_equal(out[50 + FADE], full + 0.004F, 1e-6);
    bool used[128] = {false};
    mixer_owners(m, 1000, used, 128);
    for (int i = 0; i < 128; i++)
        assert_int_equal(used[i], i != 20 && (i < MIXER_VOICES || i == 100));
}

/* When even the fading ones fill every slot, a voice is left out and counted, never worse. */
static void beyond_every_slot_a_voice_is_left_out(void **state)
{
    (void)state;
    Mixer *m = mixer();
    float out[64];
    for (int i = 0; i < MIXER_VOICES; i++)
        mixer_start(m, 0, &steady, 0, 0.001F, MIXER_NO_OWNER);
    mixer_render(m, 0, out, 64);
    for (int i = 0; i < 2 * MIXER_VOICES; i++) /* each begins in time to be faded, not struck */
        mixer_start(m, 64, &steady, 64 + i, 0.001F, MIXER_NO_OWNER);
    assert_true(m->stolen > 2 * MIXER_VOICES);
    for (int i = 0; i < 8; i++) {
        mixer_render(m, 64 + 64 * i, out, 64);
        for (int k = 0; k < 64; k++)
            assert_true(out[k] <= 0.001F * MIXER_SLOTS + 1e-6F);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(levels_are_decibels),
        cmocka_unit_test(the_default_is_quiet_and_in_range),
        cmocka_unit_test(every_layer_has_a_word_of_its_own),
        cmocka_unit_test(the_limit_holds_and_bends_softly),
        cmocka_unit_test(a_voice_sounds_from_its_start_to_its_end),
        cmocka_unit_test(a_release_fades_evenly_to_nothing),
        cmocka_unit_test(a_string_plucked_anew_stops_its_old_ring),
        cmocka_unit_test(a_full_mixer_gives_up_its_quietest),
        cmocka_unit_test(beyond_every_slot_a_voice_is_left_out),
    };
    return cmocka_run_group_tests_name("mix", tests, NULL, NULL);
}
