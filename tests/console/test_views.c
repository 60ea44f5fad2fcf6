/* Golden text: every screen in every state at four sizes, in UTF-8 and in ASCII, without a
 * terminal. EVENHAND_GOLDEN=write writes the files afresh: look at the difference before you
 * keep it. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "console/fixture.h"
#include "evenhand/console/view.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct {
    const char *name;
    Screen screen;
    RunState run;
    void (*change)(Fixture *f);
} Case;

static void warn(Fixture *f)
{
    snprintf(f->model.message, MODEL_TEXT_MAX,
        "The audio device has gone: the drill goes on in silence and keeps time");
    f->model.message_warns = true;
    f->model.underruns = 3;
}

/* Stands for as long as there is no device: it must not hide the tempo, nor what comes next. */
static void silent(Fixture *f)
{
    snprintf(f->model.audio, MODEL_TEXT_MAX, "silent: no sound device");
    f->model.audio_warns = true;
}

/* Dotted beats: the third quaver of the fourth of them. */
static void compound(Fixture *f)
{
    f->model.beats = 4;
    f->model.beat = 4;
    f->model.sub = 3;
    f->model.subs = 3;
    f->model.beat_fresh = false;
    f->model.now_accent = false;
    f->model.now = 15;
    snprintf(f->model.metre, MODEL_NAME_MAX, "12/8");
    snprintf(f->model.tempo, MODEL_NAME_MAX, "3/8 = 60");
}

static void first_caution(Fixture *f)
{
    snprintf(f->model.message, MODEL_TEXT_MAX,
        "Start quiet. If ears ring or hands hurt, stop and ask a professional.");
    snprintf(f->model.message_brief, MODEL_BRIEF_MAX, "Start quiet. Ears ring? Hurts? Stop.");
}

/* The last note but one: what comes is the next repetition, for which the hand is placed anew. */
static void comes_round(Fixture *f)
{
    f->model.now = FIXTURE_NOTES - 2;
    f->model.now_accent = false;
}

static void last_time(Fixture *f)
{
    comes_round(f);
    f->model.repetition = 2;
}

static void chords(Fixture *f)
{
    for (int i = 0; i < FIXTURE_NOTES; i++) {
        ModelNote *n = &f->notes[i];
        strcat(n->name, "+");
        snprintf(n->chord, sizeof n->chord, "G%d B%d D%d", 3 + i / 15, 3 + i / 15, 4 + i / 15);
        snprintf(n->fingers, sizeof n->fingers, i % 4 == 0 ? "4321" : "321");
    }
}

static void cue_place(Fixture *f)
{
    f->model.cue = (ModelCue){CUE_PATTERN, .accent = ".>.."};
    snprintf(f->model.next, MODEL_TEXT_MAX, "beat accents: place 2 of 4");
    snprintf(f->model.next_brief, MODEL_BRIEF_MAX, "place 2 of 4");
}

static void cue_rhythm(Fixture *f)
{
    f->model.cue = (ModelCue){CUE_NONE, .rhythm = "sL", .p = 3, .q = 1};
    snprintf(f->model.drill, MODEL_TEXT_MAX, "short-long 3:1");
    snprintf(f->model.drill_brief, MODEL_BRIEF_MAX, "short-long 3:1");
}

static void single(Fixture *f)
{
    f->model.single = true;
    f->model.next[0] = f->model.next_brief[0] = '\0';
    f->model.drills.cursor = FIXTURE_DRILLS - 1;
    f->drills[2].current = false;
    f->drills[FIXTURE_DRILLS - 1].current = true;
}

static void hostile(Fixture *f)
{
    static const char title[] =
        "Étude \x1B[2J\a 音階のための長い題名 Cafe\xCC\x81 \xFF\xE2\x80\xAE backwards";
    snprintf(f->model.title, MODEL_TEXT_MAX, "%s", title);
    snprintf(f->passages[4].title, MODEL_TEXT_MAX, "%s", title);
    snprintf(f->model.drill, MODEL_TEXT_MAX, "%s", title);
}

static void other_plan(Fixture *f)
{
    ModelFingers *m = &f->model.fingers;
    m->cursor = 2;
    m->used = 1;
    m->note = FIXTURE_NOTES - 3;
    m->unsaved = true;
    snprintf(m->finding, MODEL_TEXT_MAX,
        "1 of 2: bar 1, beat 2.5: the thumb passes over 3, not over the ring finger; 4 would do");
    snprintf(f->model.message, MODEL_TEXT_MAX, "plan 2: cost 322, 12 more than before");
}

static void chord_plan(Fixture *f)
{
    f->model.fingers.plan_count = 1;
    for (int i = 2; i < FIXTURE_NOTES; i += 3)
        snprintf(f->plans[0][i].name, MODEL_NAME_MAX, "+A4");
    snprintf(f->model.fingers.finding, MODEL_TEXT_MAX, "no group of one in mid-phrase");
}

static void missed(Fixture *f)
{
    fixture_ladder(f);
    f->model.judge.told = true;
}

static void at_the_top(Fixture *f)
{
    fixture_ladder(f);
    f->model.ladder.done = true;
    f->model.ladder.rung = f->model.ladder.rungs;
    snprintf(f->model.next, MODEL_TEXT_MAX, "the ladder is climbed");
}

static void judged(Fixture *f)
{
    f->model.judge = (ModelJudge){.count = 6, .clean = 5, .told = true};
}

static void kept(Fixture *f)
{
    f->model.judge =
        (ModelJudge){.count = 34, .clean = 33, .kept = true, .written = 34, .recorded = true};
}

/* The latest one, or another verdict, is on its way to the disk. */
static void on_its_way(Fixture *f)
{
    kept(f);
    f->model.judge.recorded = false;
    f->model.judge.written = 33;
}

static void empty(Fixture *f)
{
    f->model.passages.count = f->model.drills.count = f->model.fingers.plan_count = 0;
}

static void few_blocks(Fixture *f)
{
    fixture_calendar(f);
    f->model.calendar.cursor = 10;
    f->model.calendar.block_count = 2;
    snprintf(f->model.calendar.day, MODEL_TEXT_MAX, "Thursday 2026-12-10, 6 min, today");
    warn(f);
}

/* A single day without a clean repetition, at the end of the list. */
static void one_day(Fixture *f)
{
    ModelRecord *r = &f->model.record;
    fixture_record(f);
    warn(f);
    r->drills = true;
    r->cursor = 4;
    r->points = &f->points[3];
    r->point_count = 1;
    snprintf(r->student, MODEL_TEXT_MAX, "Ada");
}

static void unreadable(Fixture *f)
{
    snprintf(f->model.record.trouble, MODEL_TEXT_MAX,
        "the practice record is of a newer version of this program");
}

/* Nothing is played: the time is what there is to see. */
static void routine_rests(Fixture *f)
{
    fixture_routine(f);
    f->model.routine.rests = f->model.routine.idle = true;
    f->model.routine.seconds_left = 12;
    f->model.judge =
        (ModelJudge){.count = 14, .clean = 11, .kept = true, .written = 14, .recorded = true};
    snprintf(f->model.message, MODEL_TEXT_MAX, "25 minutes of playing: a break would be good.");
}

static void routine_ends(Fixture *f)
{
    fixture_routine(f);
    f->model.routine.idle = true;
    f->model.routine.block = FIXTURE_PARTS;
    snprintf(f->model.routine.name, MODEL_TEXT_MAX, "What to do until next time");
    f->model.routine.next[0] = '\0';
    f->model.routine.seconds_left = 4210;
    f->model.routine.position = 1799;
}

static void routine_done(Fixture *f)
{
    routine_ends(f);
    f->model.routine.done = true;
    f->model.routine.seconds_left = 0;
    f->model.routine.position = 1800;
}

static void routine_ladder(Fixture *f)
{
    fixture_ladder(f);
    fixture_routine(f);
}

static const Case cases[] = {
    {"practice-routine", SCREEN_PRACTICE, RUN_PLAYING, fixture_routine},
    {"practice-routine-ladder", SCREEN_PRACTICE, RUN_PLAYING, routine_ladder},
    {"practice-routine-rest", SCREEN_PRACTICE, RUN_REST, routine_rests},
    {"practice-routine-time", SCREEN_PRACTICE, RUN_PAUSED, routine_ends},
    {"practice-routine-done", SCREEN_PRACTICE, RUN_FINISHED, routine_done},
    {"routine", SCREEN_ROUTINE, RUN_PLAYING, fixture_routine},
    {"routine-none", SCREEN_ROUTINE, RUN_READY, NULL},
    {"practice-ready", SCREEN_PRACTICE, RUN_READY, NULL},
    {"practice-count-in", SCREEN_PRACTICE, RUN_COUNT_IN, NULL},
    {"practice-playing", SCREEN_PRACTICE, RUN_PLAYING, NULL},
    {"practice-rhythm", SCREEN_PRACTICE, RUN_PLAYING, fixture_rhythm},
    {"practice-compound", SCREEN_PRACTICE, RUN_PLAYING, compound},
    {"practice-rest", SCREEN_PRACTICE, RUN_REST, NULL},
    {"practice-paused", SCREEN_PRACTICE, RUN_PAUSED, NULL},
    {"practice-finished", SCREEN_PRACTICE, RUN_FINISHED, NULL},
    {"practice-warning", SCREEN_PRACTICE, RUN_PLAYING, warn},
    {"practice-silent", SCREEN_PRACTICE, RUN_PLAYING, silent},
    {"practice-caution", SCREEN_PRACTICE, RUN_READY, first_caution},
    {"practice-again", SCREEN_PRACTICE, RUN_PLAYING, comes_round},
    {"practice-last", SCREEN_PRACTICE, RUN_PLAYING, last_time},
    {"practice-chords", SCREEN_PRACTICE, RUN_PLAYING, chords},
    {"practice-chords-ready", SCREEN_PRACTICE, RUN_READY, chords},
    {"practice-single", SCREEN_PRACTICE, RUN_PLAYING, single},
    {"practice-ladder", SCREEN_PRACTICE, RUN_PLAYING, fixture_ladder},
    {"practice-missed", SCREEN_PRACTICE, RUN_PLAYING, missed},
    {"practice-climbed", SCREEN_PRACTICE, RUN_FINISHED, at_the_top},
    {"practice-judged", SCREEN_PRACTICE, RUN_PLAYING, judged},
    {"practice-kept", SCREEN_PRACTICE, RUN_PLAYING, kept},
    {"practice-keeping", SCREEN_PRACTICE, RUN_PLAYING, on_its_way},
    {"ladder", SCREEN_LADDER, RUN_READY, NULL},
    {"cue-place", SCREEN_PRACTICE, RUN_REST, cue_place},
    {"cue-rhythm", SCREEN_PRACTICE, RUN_COUNT_IN, cue_rhythm},
    {"cue-both", SCREEN_PRACTICE, RUN_COUNT_IN, fixture_rhythm},
    {"drills-more", SCREEN_DRILLS, RUN_READY, single},
    {"practice-hostile", SCREEN_PRACTICE, RUN_READY, hostile},
    {"drills", SCREEN_DRILLS, RUN_READY, NULL},
    {"passages", SCREEN_PASSAGES, RUN_READY, hostile},
    {"passages-none", SCREEN_PASSAGES, RUN_READY, empty},
    {"fingers", SCREEN_FINGERS, RUN_READY, NULL},
    {"fingers-other", SCREEN_FINGERS, RUN_PLAYING, other_plan},
    {"fingers-chords", SCREEN_FINGERS, RUN_READY, chord_plan},
    {"fingers-none", SCREEN_FINGERS, RUN_READY, empty},
    {"sound", SCREEN_SOUND, RUN_PLAYING, NULL},
    {"sound-warning", SCREEN_SOUND, RUN_PLAYING, warn},
    {"calendar", SCREEN_CALENDAR, RUN_READY, fixture_calendar},
    {"calendar-today", SCREEN_CALENDAR, RUN_READY, few_blocks},
    {"calendar-none", SCREEN_CALENDAR, RUN_READY, NULL},
    {"record", SCREEN_RECORD, RUN_READY, fixture_record},
    {"record-drill", SCREEN_RECORD, RUN_READY, one_day},
    {"record-none", SCREEN_RECORD, RUN_READY, NULL},
    {"record-trouble", SCREEN_RECORD, RUN_READY, unreadable},
    {"help", SCREEN_HELP, RUN_READY, NULL},
};

static const struct {
    int width, height;
} sizes[] = {{80, 24}, {60, 20}, {40, 12}, {120, 40}, {30, 8}};

/* All sizes of a case in one text; at 80x24 in UTF-8 the styles, too. */
static char *draw_case(const Case *c, bool utf8)
{
    static Fixture f;
    char *all = NULL;
    size_t used = 0;

    for (size_t i = 0; i < sizeof sizes / sizeof sizes[0]; i++) {
        Grid g;
        fixture_make(&f, c->screen, c->run, utf8);
        if (c->change != NULL)
            c->change(&f);
        assert_true(grid_init(&g, sizes[i].width, sizes[i].height));
        view_draw(&f.model, &g);
        char *text = grid_text(&g, utf8 && i == 0);
        assert_non_null(text);
        all = realloc(all, used + strlen(text) + 64);
        assert_non_null(all);
        used += (size_t)sprintf(
            all + used, "======== %d x %d\n%s", sizes[i].width, sizes[i].height, text);
        free(text);
        grid_free(&g);
    }
    return all;
}

static char *read_file(const char *path)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return NULL;
    char *text = calloc(1, 1 << 18);
    assert_non_null(text);
    size_t size = fread(text, 1, (1 << 18) - 1, file);
    fclose(file);
    assert_true(size < (1 << 18) - 1);
    return text;
}

static void write_file(const char *path, const char *text)
{
    FILE *file = fopen(path, "wb");
    assert_non_null(file);
    assert_int_equal(fwrite(text, 1, strlen(text), file), strlen(text));
    assert_int_equal(fclose(file), 0);
}

/* Tells the first line that differs. Returns whether the texts are the same. */
static bool same_text(const char *path, const char *want, const char *got)
{
    int line = 1;
    while (*want != '\0' && *want == *got) {
        line += *want == '\n';
        want++;
        got++;
    }
    if (*want == *got)
        return true;
    print_error("%s:%d: differs (EVENHAND_GOLDEN=write writes it afresh)\n", path, line);
    return false;
}

static void test_goldens(void **state)
{
    const char *mode = getenv("EVENHAND_GOLDEN");
    bool writing = mode != NULL && strcmp(mode, "write") == 0;
    int different = 0;
    (void)state;

    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        for (int utf8 = 0; utf8 <= 1; utf8++) {
            char path[200];
            snprintf(path, sizeof path, "tests/console/golden/%s-%s.txt", cases[i].name,
                utf8 ? "utf8" : "ascii");
            char *got = draw_case(&cases[i], utf8);
            if (writing)
                write_file(path, got);
            char *want = read_file(path);
            if (want == NULL)
                print_error("%s is missing\n", path);
            if (want == NULL || !same_text(path, want, got))
                different++;
            free(want);
            free(got);
        }
    assert_int_equal(different, 0);
}

/* In a golden nobody would notice one letter: the ASCII screens hold ASCII only. */
static void test_ascii_is_ascii(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char *text = draw_case(&cases[i], false);
        for (const char *s = text; *s != '\0'; s++)
            assert_true(*s == '\n' || (*s >= ' ' && *s < 0x7F));
        free(text);
    }
}

/* Where one stands on the ladder is whole on every window, missed or not. */
static void test_the_rung_is_never_cut(void **state)
{
    (void)state;
    for (int width = 40; width <= 120; width++)
        for (int told = 0; told < 2; told++) {
            static Fixture f;
            Grid g;
            fixture_make(&f, SCREEN_PRACTICE, RUN_PLAYING, true);
            fixture_ladder(&f);
            f.model.judge.told = told;
            assert_true(grid_init(&g, width, 24));
            view_draw(&f.model, &g);
            char *text = grid_text(&g, false);
            if (strstr(text, "rung 5 of 14   clean 2 of 3") == NULL)
                fail_msg("%d columns:\n%s", width, text);
            free(text);
            grid_free(&g);
        }
}

static void test_words_at_the_foot(void **state)
{
    static const struct {
        RunState run;
        const char *words;
    } feet[] = {{RUN_READY, "Space: start"}, {RUN_COUNT_IN, "Space: pause"},
        {RUN_PLAYING, "Space: pause"}, {RUN_REST, "Space: pause"}, {RUN_PAUSED, "Space: go on"},
        {RUN_FINISHED, "Space: play it all again"}};
    (void)state;
    for (size_t i = 0; i < sizeof feet / sizeof feet[0]; i++)
        for (size_t s = 0; s + 1 < sizeof sizes / sizeof sizes[0]; s++) {
            static Fixture f;
            Grid g;
            fixture_make(&f, SCREEN_PRACTICE, feet[i].run, true);
            assert_true(grid_init(&g, sizes[s].width, sizes[s].height));
            view_draw(&f.model, &g);
            char *text = grid_text(&g, false);
            text[strlen(text) - 1] = '\0'; /* the last line's end */
            assert_non_null(strstr(strrchr(text, '\n'), feet[i].words));
            free(text);
            grid_free(&g);
        }
}

/* A list tells what the chosen one is about, on every screen, though there be no sound device. */
static void test_the_chosen_one_is_told_whole(void **state)
{
    static const char detail[] = "2 times, accents on 4 4 4 3";
    (void)state;
    for (int width = 42; width <= 130; width++)
        for (int title = 1; title < 80; title += 3) {
            static Fixture f;
            ModelItem item = {.brief = "place 1 of 4"};
            Grid g;
            memset(item.title, 't', (size_t)title);
            snprintf(item.detail, sizeof item.detail, "%s", detail);
            fixture_make(&f, SCREEN_DRILLS, RUN_READY, true);
            f.model.drills = (ModelList){.items = &item, .count = 1};
            f.model.message[0] = '\0';
            f.model.audio_warns = true;
            snprintf(f.model.audio, sizeof f.model.audio, "silent: no sound device");
            assert_true(grid_init(&g, width, 12));
            view_draw(&f.model, &g);
            char *text = grid_text(&g, false);
            if (!strstr(text, detail) || !strstr(text, "! silent"))
                fail_msg("title of %d in %d columns:\n%s", title, width, text);
            free(text);
            grid_free(&g);
        }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_goldens),
        cmocka_unit_test(test_ascii_is_ascii),
        cmocka_unit_test(test_the_rung_is_never_cut),
        cmocka_unit_test(test_words_at_the_foot),
        cmocka_unit_test(test_the_chosen_one_is_told_whole),
    };
    return cmocka_run_group_tests_name("views", tests, NULL, NULL);
}
