/* What each event sounds like, and how loud, measured in the samples. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "sound/scene.h"
#include "sound/spectrum.h"

#include <math.h>

enum { RATE = 48000, LEAD = RATE * VOICE_LEAD_MILLISECONDS / 1000 };

static float decibels(float a, float b)
{
    return 20 * log10f(a / b);
}

/* Renders a whole timeline; the caller frees. */
static float *render(const Scene *s, const Timeline *t, const Mix *mix, bool plucked)
{
    const int64_t frames = timeline_frames(t) + 2 * RATE;
    float *out = sample_room(frames);
    Engine *e = scene_engine(s, mix);
    const Cue cues[] = {cue_source(0, COMMAND_PLAY, t, plucked ? s->plucks : NULL, 0)};
    run_script(e, cues, 1, out, frames, 4096, NULL);
    engine_free(e);
    return out;
}

/* First event of this kind that is heard after the ramp. */
static TimelineEvent find_kind(const Timeline *t, EventKind kind)
{
    for (size_t i = timeline_find(t, RATE); i < timeline_count(t); i++)
        if (timeline_event(t, i).kind == kind)
            return timeline_event(t, i);
    fail_msg("no event of kind %d", (int)kind);
    return timeline_event(t, 0);
}

static Mix only(Layer layer, int master)
{
    Mix m = mix_plain(master);
    for (int i = 0; i < LAYER_KINDS; i++)
        m.on[i] = i == (int)layer;
    return m;
}

static void an_accent_lies_above_a_note_by_what_was_asked(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, false);
    Timeline *t = scene_timeline(&s, drill_plain(), 60, 1, 1, 0);
    const TimelineEvent note = find_kind(t, EVENT_NOTE), accent = find_kind(t, EVENT_ACCENT);
    for (int asked = ACCENT_DB_MIN; asked <= ACCENT_DB_MAX; asked++) {
        Mix mix = only(LAYER_NOTES, -20);
        mix.on[LAYER_ACCENT] = true;
        mix.level[LAYER_NOTES] = -5;
        mix.accent = asked;
        float *out = render(&s, t, &mix, false);
        const float plain = out[note.frame + LEAD], loud = out[accent.frame + LEAD];
        assert_float_equal(decibels(loud, plain), (float)asked, 0.1F);
        assert_float_equal(plain, mix_gain(-25), 1e-6F);
        /* And another timbre: more than twice as bright. */
        const size_t length = RATE / 5;
        assert_true(spectral_centroid(out + accent.frame + LEAD - 96, length, RATE) >
                    2 * spectral_centroid(out + note.frame + LEAD - 96, length, RATE));
        free(out);
    }
    timeline_free(t);
    scene_end(&s);
}

/* Accents of the guide tone: the same string, louder by exactly that much. */
static void a_guide_accent_is_as_much_louder(void **state)
{
    (void)state;
    static const int strings[4] = {28, 28, 28, 28}; /* one string, so that like meets like */
    const Ratio lengths[4] = {ratio_int(1), ratio_int(1), ratio_int(1), ratio_int(1)};
    Scene s = scene_of(passage_of(strings, lengths, 4, metre(4, 4), ratio_int(0)), RATE, false);
    Timeline *t = scene_timeline(&s, drill_plain(), 30, 1, 1, 0);
    const TimelineEvent note = find_kind(t, EVENT_NOTE), accent = find_kind(t, EVENT_ACCENT);
    for (int asked = 0; asked <= 12; asked += 3) {
        Mix mix = only(LAYER_GUIDE, -20);
        mix.accent = asked;
        for (int on = 0; on < 2; on++) {
            mix.on[LAYER_ACCENT] = on;
            mix.on[LAYER_NOTES] = false;
            float *with_click = render(&s, t, &mix, true);
            mix.on[LAYER_GUIDE] = false;
            float *click = render(&s, t, &mix, true);
            mix.on[LAYER_GUIDE] = true;
            double plain = 0, loud = 0;
            for (int i = 0; i < RATE; i++) {
                plain += pow((double)with_click[note.frame + LEAD + i] -
                                 (double)click[note.frame + LEAD + i],
                    2);
                loud += pow((double)with_click[accent.frame + LEAD + i] -
                                (double)click[accent.frame + LEAD + i],
                    2);
            }
            assert_true(plain > 0);
            assert_float_equal((float)(10 * log10(loud / plain)), (on ? (float)asked : 0), 0.1F);
            free(with_click);
            free(click);
        }
    }
    timeline_free(t);
    scene_end(&s);
}

static float peak_around(const float *out, int64_t frame)
{
    float most = 0;
    for (int64_t i = frame - 48; i < frame + 48; i++)
        most = fmaxf(most, fabsf(out[i]));
    return most;
}

/* Every on/off state of notes and accents: what sounds on a plain and on an accented note. */
static void notes_and_accents_switch_as_the_mix_says(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, true);
    Timeline *t = scene_timeline(&s, drill_plain(), 60, 1, 1, 0);
    const TimelineEvent note = find_kind(t, EVENT_NOTE), accent = find_kind(t, EVENT_ACCENT);
    const struct {
        bool notes, accents;
        int plain, accented; /* dB; 1: silent */
    } rows[] = {
        {true, true, -10, -4}, {true, false, -10, -10}, {false, true, 1, -4}, {false, false, 1, 1}};
    for (size_t i = 0; i < 4; i++) {
        Mix mix = only(LAYER_NOTES, 0);
        mix.on[LAYER_NOTES] = rows[i].notes;
        mix.on[LAYER_ACCENT] = rows[i].accents;
        mix.level[LAYER_NOTES] = -10;
        mix.accent = 6;
        float *out = render(&s, t, &mix, false);
        const float plain = peak_around(out, note.frame + LEAD);
        const float accented = peak_around(out, accent.frame + LEAD);
        assert_float_equal(plain, (rows[i].plain > 0 ? 0 : mix_gain(rows[i].plain)), 1e-6F);
        assert_float_equal(
            accented, (rows[i].accented > 0 ? 0 : mix_gain(rows[i].accented)), 1e-6F);
        free(out);
    }
    timeline_free(t);
    scene_end(&s);
}

/* With accents off an accented note sounds as any other: the very same samples. */
static void without_accents_all_notes_are_alike(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, false);
    Timeline *t = scene_timeline(&s, drill_plain(), 60, 1, 1, 0);
    const TimelineEvent note = find_kind(t, EVENT_NOTE), accent = find_kind(t, EVENT_ACCENT);
    const Mix mix = only(LAYER_NOTES, -6);
    float *out = render(&s, t, &mix, false);
    assert_true(out[note.frame + LEAD] > 0.4F);
    assert_memory_equal(
        out + note.frame + LEAD - 100, out + accent.frame + LEAD - 100, 5000 * sizeof *out);
    free(out);
    timeline_free(t);
    scene_end(&s);
}

static void pulses_obey_their_layer_and_the_count_in_does_not(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, false);
    Timeline *t = scene_timeline(&s, drill_plain(), 60, 1, 2, 0);
    const VoiceKind voices[EVENT_KINDS] = {[EVENT_DOWNBEAT] = VOICE_DOWNBEAT,
        [EVENT_PULSE] = VOICE_PULSE,
        [EVENT_SUBDIVISION] = VOICE_SUBDIVISION};
    for (int pulse = 0; pulse < 2; pulse++)
        for (int sub = 0; sub < 2; sub++) {
            Mix mix = mix_plain(-20);
            mix.on[LAYER_NOTES] = mix.on[LAYER_ACCENT] = false;
            mix.on[LAYER_PULSE] = pulse;
            mix.on[LAYER_SUBDIVISION] = sub;
            mix.level[LAYER_SUBDIVISION] = -10;
            float *out = render(&s, t, &mix, false);
            for (size_t i = timeline_find(t, RATE); i < timeline_count(t); i++) {
                const TimelineEvent event = timeline_event(t, i);
                VoiceKind kind = voices[event.kind];
                bool heard = event.kind == EVENT_SUBDIVISION ? sub : pulse;
                float gain = mix_gain(event.kind == EVENT_SUBDIVISION ? -30 : -20);
                if (event.kind == EVENT_NOTE || event.kind == EVENT_ACCENT)
                    continue;
                if (event.kind == EVENT_COUNT_IN) {
                    kind = event.level == 2 ? VOICE_DOWNBEAT : VOICE_PULSE;
                    heard = true;
                }
                const Voice *v = voices_get(s.voices, kind);
                for (size_t k = 0; k < v->count; k++)
                    assert_float_equal(out[event.frame + LEAD + (int64_t)k - (int64_t)v->peak],
                        (heard ? v->samples[k] * gain : 0), 1e-6F);
            }
            free(out);
        }
    timeline_free(t);
    scene_end(&s);
}

static void the_announcement_obeys_its_layer(void **state)
{
    (void)state;
    Error error = {0};
    Scene s = scene_quavers(RATE, false);
    const SessionStep step = {.drill = drill_plain(),
        .tempo = tempo(ratio_int(1), ratio_int(60)),
        .repetitions = 1,
        .count_in_bars = 1,
        .rest_bars = 1};
    DrillSpec next = drill_plain();
    next.accent = ACCENT_FINGER;
    next.finger = 3;
    Timeline *t = timeline_new(s.passage, &s.fingering, &s.rotation, &step, &next, RATE, &error);
    assert_non_null(t);
    const TimelineEvent stroke = find_kind(t, EVENT_ANNOUNCE);
    for (int on = 0; on < 2; on++) {
        Mix mix = only(on ? LAYER_ANNOUNCE : LAYER_ACCENT, -20);
        float *out = render(&s, t, &mix, false);
        assert_float_equal(peak_around(out, stroke.frame + LEAD), (on ? mix_gain(-20) : 0), 1e-6F);
        free(out);
    }
    timeline_free(t);
    scene_end(&s);
}

/* ---- guide tones --------------------------------------------------------------------------- */

static double power_of_key(const float *out, int midi)
{
    return power_at(out, RATE / 4, RATE, 440 * pow(2, (midi - 69) / 12.0));
}

/* A string's power over that of the key a tone above, which no block here holds. */
static double prominence(const float *out, int midi)
{
    return power_of_key(out, midi) / power_of_key(out, midi + 2);
}

static void guide_tones_sound_every_string_of_a_block(void **state)
{
    (void)state;
    for (int hands = HANDS_RIGHT; hands <= HANDS_OCTAVES; hands += 2) {
        Error error = {0};
        Passage *p = passage_new();
        const Metre m = metre(4, 4);
        scene_need(p && passage_add_bar(p, ratio_int(0), &m, 1, &error), &error);
        const int block[3] = {28, 30, 32}; /* C4 E4 G4 */
        for (int i = 0; i < 3; i++) {
            const Note note = {
                .onset = ratio_int(0), .length = ratio_int(4), .pitch = pitch_on(block[i])};
            scene_need(passage_add_note(p, &note, &error), &error);
        }
        scene_need(passage_finish(p, ratio_int(4), &error), &error);
        p->hands = (Hands)hands;
        Scene s = scene_of(p, RATE, false);
        Timeline *t = scene_timeline(&s, drill_plain(), 60, 1, 1, 0);
        Mix mix = only(LAYER_GUIDE, -20);
        float *out = render(&s, t, &mix, true);
        const int64_t at = timeline_repetition_frame(t, 0) + LEAD;
        const int midi[3] = {60, 64, 67};
        for (int i = 0; i < 3; i++) {
            assert_true(prominence(out + at, midi[i]) > 30);
            if (hands == HANDS_OCTAVES)
                assert_true(prominence(out + at, midi[i] - 12) > 30);
            else
                assert_true(
                    power_of_key(out + at, midi[i] - 12) < 0.01 * power_of_key(out + at, midi[i]));
        }
        /* All peaks in phase, the strings sharing the power: n / sqrt(n). */
        const float strings = hands == HANDS_OCTAVES ? 6 : 3;
        assert_float_equal(peak_around(out, at), mix_gain(-20) * sqrtf(strings), 1e-5F);
        free(out);
        timeline_free(t);
        scene_end(&s);
    }
}

/* G4 with the third below it: both strings, as loud as a chord of two. */
static void guide_tones_sound_the_left_hand_s_third(void **state)
{
    (void)state;
    Error error = {0};
    Passage *p = passage_new();
    const Metre m = metre(4, 4);
    const Note note = {.onset = ratio_int(0), .length = ratio_int(4), .pitch = pitch_on(32)};
    scene_need(p && passage_add_bar(p, ratio_int(0), &m, 1, &error), &error);
    scene_need(passage_add_note(p, &note, &error), &error);
    scene_need(passage_finish(p, ratio_int(4), &error), &error);
    p->hands = HANDS_THIRDS;
    p->key_alter[LETTER_E] = -1;
    Scene s = scene_of(p, RATE, false);
    Timeline *t = scene_timeline(&s, drill_plain(), 60, 1, 1, 0);
    Mix mix = only(LAYER_GUIDE, -20);
    float *out = render(&s, t, &mix, true);
    const int64_t at = timeline_repetition_frame(t, 0) + LEAD;
    assert_true(prominence(out + at, 67) > 30);
    assert_true(prominence(out + at, 63) > 30);
    assert_float_equal(peak_around(out, at), mix_gain(-20) * sqrtf(2), 1e-5F);
    free(out);
    timeline_free(t);
    scene_end(&s);
}

static void without_strings_the_guide_layer_is_silent(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, true);
    Timeline *t = scene_timeline(&s, drill_plain(), 120, 1, 0, 0);
    Mix mix = only(LAYER_GUIDE, 0);
    float *out = render(&s, t, &mix, false);
    for (int64_t i = 0; i < timeline_frames(t); i++)
        assert_float_equal(out[i], 0, 0);
    free(out);
    timeline_free(t);
    scene_end(&s);
}

/* Everything on, every level at its top: the sum meets the limit and never passes it. */
static void the_sum_never_passes_the_limit(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, false);
    s.passage->hands = HANDS_OCTAVES;
    plucks_free(s.plucks);
    s.plucks = plucks_make(s.passage, RATE, 440, NULL);
    Timeline *t = scene_timeline(&s, drill_plain(), 300, 4, 1, 0);
    Mix mix = mix_plain(0);
    mix.on[LAYER_GUIDE] = true;
    mix.accent = ACCENT_DB_MAX;
    float *out = render(&s, t, &mix, true);
    float most = 0;
    for (int64_t i = 0; i < timeline_frames(t) + 2 * RATE; i++)
        most = fmaxf(most, fabsf(out[i]));
    assert_true(most <= ENGINE_LIMIT);
    assert_true(most > 0.9F); /* it was needed */
    free(out);
    timeline_free(t);
    scene_end(&s);
}

/* MIX counts for every event decided from then on, and changes nothing that sounds already. */
static void a_new_mix_holds_from_the_next_event_on(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, true);
    Timeline *t = scene_timeline(&s, drill_plain(), 60, 1, 1, 0);
    Mix before = only(LAYER_PULSE, -12), after = only(LAYER_PULSE, -20);
    const int64_t at = 2 * RATE + 1; /* pulse 2 is decided at 2 * RATE, heard at + LEAD */
    float *out = sample_room(4 * RATE);
    Engine *e = scene_engine(&s, &before);
    const Cue cues[] = {
        cue_source(0, COMMAND_PLAY, t, NULL, 0), {at, {.kind = COMMAND_MIX, .mix = after}}};
    run_script(e, cues, 2, out, 4 * RATE, 128, NULL);
    assert_float_equal(out[RATE + LEAD], mix_gain(-12), 1e-6F);
    assert_float_equal(out[2 * RATE + LEAD], mix_gain(-12), 1e-6F);
    assert_float_equal(out[3 * RATE + LEAD], mix_gain(-20), 1e-6F);
    engine_free(e);
    free(out);
    timeline_free(t);
    scene_end(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_accent_lies_above_a_note_by_what_was_asked),
        cmocka_unit_test(a_guide_accent_is_as_much_louder),
        cmocka_unit_test(notes_and_accents_switch_as_the_mix_says),
        cmocka_unit_test(without_accents_all_notes_are_alike),
        cmocka_unit_test(pulses_obey_their_layer_and_the_count_in_does_not),
        cmocka_unit_test(the_announcement_obeys_its_layer),
        cmocka_unit_test(guide_tones_sound_every_string_of_a_block),
        cmocka_unit_test(guide_tones_sound_the_left_hand_s_third),
        cmocka_unit_test(without_strings_the_guide_layer_is_silent),
        cmocka_unit_test(the_sum_never_passes_the_limit),
        cmocka_unit_test(a_new_mix_holds_from_the_next_event_on),
    };
    return cmocka_run_group_tests_name("engine_voicing", tests, NULL, NULL);
}
