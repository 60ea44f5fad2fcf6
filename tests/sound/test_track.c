#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/sound/track.h"
#include "sound/scene.h"

#include <dirent.h>
#include <errno.h>
#include <math.h>
#include <signal.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/wait.h>

enum { RATE = 48000, LEAD = RATE * VOICE_LEAD_MILLISECONDS / 1000 };

static char folder[] = "/tmp/evenhand-track-XXXXXX";

static const char *in_folder(const char *name)
{
    static char path[4][256];
    static int turn;
    char *out = path[turn = (turn + 1) % 4];
    snprintf(out, 256, "%s/%s", folder, name);
    return out;
}

/* Files in the folder, which is how half files would show. */
static int files_there(void)
{
    int count = 0;
    DIR *d = opendir(folder);
    assert_non_null(d);
    for (struct dirent *entry; (entry = readdir(d));)
        count += strcmp(entry->d_name, ".") != 0 && strcmp(entry->d_name, "..") != 0;
    closedir(d);
    return count;
}

static void put(const char *path, const char *text)
{
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fputs(text, f);
    fclose(f);
}

static bool holds(const char *path, const char *text)
{
    char found[256] = "";
    FILE *f = fopen(path, "r");
    if (!f)
        return false;
    found[fread(found, 1, sizeof found - 1, f)] = '\0';
    fclose(f);
    return strcmp(found, text) == 0;
}

/* A fresh, empty folder for each test. */
static int set_up(void **state)
{
    (void)state;
    strcpy(folder + strlen(folder) - 6, "XXXXXX");
    return mkdtemp(folder) ? 0 : -1;
}

static int tear_down(void **state)
{
    (void)state;
    char command[256];
    snprintf(command, sizeof command, "rm -r %s", folder);
    return system(command);
}

/* ---- any file ------------------------------------------------------------------------------ */

static void a_file_is_written_whole_or_not_at_all(void **state)
{
    (void)state;
    Error error = {0};
    assert_true(file_write_atomic(in_folder("new"), false, "hello", 5, &error));
    assert_true(holds(in_folder("new"), "hello"));
    assert_false(file_write_atomic(in_folder("new"), false, "other", 5, &error));
    assert_int_equal(error.kind, ERROR_EXISTS);
    assert_string_equal(error.source, in_folder("new"));
    assert_true(holds(in_folder("new"), "hello"));
    assert_true(file_write_atomic(in_folder("new"), true, "other", 5, &error));
    assert_true(holds(in_folder("new"), "other"));
    assert_true(file_write_atomic(in_folder("empty"), false, NULL, 0, &error));
    assert_true(holds(in_folder("empty"), ""));
    assert_int_equal(files_there(), 2);
}

static void rights_follow_the_users_mask(void **state)
{
    (void)state;
    const mode_t old = umask(027);
    assert_true(file_write_atomic(in_folder("masked"), false, "x", 1, NULL));
    umask(old);
    struct stat status;
    assert_int_equal(stat(in_folder("masked"), &status), 0);
    assert_int_equal(status.st_mode & 0777, 0640);
}

static void a_name_without_a_folder_is_here(void **state)
{
    (void)state;
    char back[4096];
    assert_non_null(getcwd(back, sizeof back));
    assert_int_equal(chdir(folder), 0);
    const bool written = file_write_atomic("plain", false, "x", 1, NULL);
    assert_int_equal(chdir(back), 0);
    assert_true(written);
    assert_true(holds(in_folder("plain"), "x"));
}

static void expect_write_error(const char *path, bool force)
{
    Error error = {0};
    assert_false(file_write_atomic(path, force, "x", 1, &error));
    assert_int_equal(error.kind, ERROR_WRITE);
    assert_true(strlen(error.text) > 0);
}

static void what_cannot_be_written_is_told(void **state)
{
    (void)state;
    expect_write_error(in_folder("no/such/folder"), false);
    put(in_folder("file"), "x");
    expect_write_error(in_folder("file/below"), false);
    mkdir(in_folder("dir"), 0700);
    expect_write_error(in_folder("dir"), true);
    mkfifo(in_folder("pipe"), 0600);
    expect_write_error(in_folder("pipe"), true); /* not even root replaces a device */
    expect_write_error("/dev/null", true);
    char endless[5000];
    memset(endless, 'x', sizeof endless - 1);
    endless[sizeof endless - 1] = '\0';
    expect_write_error(endless, false);
    struct stat status;
    assert_int_equal(stat("/dev/null", &status), 0);
    assert_true(S_ISCHR(status.st_mode));
    assert_int_equal(files_there(), 3);
}

static void links_are_names_like_others(void **state)
{
    (void)state;
    Error error = {0};
    assert_int_equal(symlink("nowhere", in_folder("dangling")), 0);
    assert_false(file_write_atomic(in_folder("dangling"), false, "x", 1, &error));
    assert_int_equal(error.kind, ERROR_EXISTS);
    assert_int_equal(files_there(), 1);
}

/* ---- a full disk --------------------------------------------------------------------------- */

/* The kernel's limit on file size stands for a full disk: write() fails in mid-file. Runs in a
 * child, whose exit code says what happened: 0 refused as it should be. */
static int in_small_disk(int (*job)(void *), void *context)
{
    fflush(NULL);
    const pid_t child = fork();
    if (child == 0) {
        const struct rlimit limit = {10000, 10000};
        signal(SIGXFSZ, SIG_IGN);
        _exit(setrlimit(RLIMIT_FSIZE, &limit) ? 99 : job(context));
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 100;
}

static int write_much(void *context)
{
    Error error = {0};
    static char bytes[50000];
    if (file_write_atomic(context, false, bytes, sizeof bytes, &error))
        return 1;
    return error.kind != ERROR_WRITE || !strstr(error.text, strerror(EFBIG));
}

typedef struct {
    const Scene *scene;
    const Source *source;
    const char *path;
} TrackJob;

static int write_long_track(void *context)
{
    const TrackJob *job = context;
    const Mix mix = mix_default();
    Error error = {0};
    if (track_write(job->path, true, job->scene->voices, &mix, job->source, 1, NULL, NULL, &error))
        return 1;
    return error.kind != ERROR_WRITE || !strstr(error.text, "whole") ||
           strcmp(error.source, job->path) != 0;
}

static void a_full_disk_leaves_nothing_and_is_told(void **state)
{
    (void)state;
    Scene s = scene_quavers(RATE, false);
    Timeline *t = scene_timeline(&s, drill_plain(), 60, 4, 1, 0);
    const Source source = {t, NULL};
    char path[256];
    snprintf(path, sizeof path, "%s/big", folder);
    assert_int_equal(in_small_disk(write_much, path), 0);
    assert_int_equal(files_there(), 0);
    static const char *const names[] = {"a.wav", "a.flac", "a.ogg", "a.mp3"};
    for (size_t i = 0; i < 4; i++) {
        snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        if (!track_can_write(path))
            continue;
        put(path, "as it was");
        TrackJob job = {&s, &source, path};
        const int result = in_small_disk(write_long_track, &job);
        if (result != 0)
            fail_msg("%s: %d", names[i], result);
        assert_true(holds(path, "as it was"));
        unlink(path);
        assert_int_equal(files_there(), 0);
    }
    timeline_free(t);
    scene_end(&s);
}

/* ---- tracks -------------------------------------------------------------------------------- */

static float *read_track(const char *path, int64_t *frames)
{
    SF_INFO info = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    if (!file)
        fail_msg("%s: %s", path, sf_strerror(NULL));
    assert_int_equal(info.samplerate, RATE);
    assert_int_equal(info.channels, 1);
    float *out = sample_room(info.frames + 1);
    *frames = sf_readf_float(file, out, info.frames);
    sf_close(file);
    return out;
}

/* Three timelines, one of them a single note long: every event where it belongs, and the last
 * ring is not cut. */
static void timelines_follow_each_other_on_the_frame(void **state)
{
    (void)state;
    Error error = {0};
    Scene s = scene_quavers(RATE, true);
    Timeline *t[4] = {scene_timeline(&s, drill_plain(), 137, 1, 1, 0),
        scene_timeline(&s, drill_plain(), 400, 1, 0, 0),
        scene_timeline(&s, drill_plain(), 400, 1, 0, 0),
        scene_timeline(&s, drill_plain(), 61, 1, 0, 1)};
    const Mix mix = mix_plain(-12);
    Source sources[4];
    Expected x = {0};
    int64_t base = LEAD;
    for (int i = 0; i < 4; i++) {
        sources[i] = (Source){t[i], NULL};
        expect(&x, t[i], base, 0, timeline_count(t[i]));
        base += timeline_frames(t[i]);
    }
    static const char *const names[] = {"a.wav", "a.FLAC"};
    for (size_t i = 0; i < 2; i++) {
        int64_t frames;
        const char *path = in_folder(names[i]);
        assert_true(track_write(path, false, s.voices, &mix, sources, 4, NULL, NULL, &error));
        float *out = read_track(path, &frames);
        assert_true(frames >= base);
        check_heard(&x, out, frames, names[i]);
        free(out);
    }
    assert_int_equal(files_there(), 2);
    for (int i = 0; i < 4; i++)
        timeline_free(t[i]);
    scene_end(&s);
}

/* The file is the engine's own samples, rounded to 16 bit, and rings out to silence. */
static void the_track_is_what_the_engine_renders(void **state)
{
    (void)state;
    Error error = {0};
    Scene s = scene_quavers(RATE, false);
    Timeline *t = scene_timeline(&s, drill_plain(), 137, 1, 1, 0);
    Mix mix = mix_plain(-3);
    mix.on[LAYER_GUIDE] = true;
    const Source source = {t, s.plucks};
    const char *path = in_folder("same.wav");
    int64_t frames;
    assert_true(track_write(path, false, s.voices, &mix, &source, 1, NULL, NULL, &error));
    float *file = read_track(path, &frames), *out = sample_room(frames);
    Engine *e = scene_engine(&s, &mix);
    const Cue cues[] = {cue_source(0, COMMAND_PLAY, t, s.plucks, 0)};
    run_script(e, cues, 1, out, frames, 999, NULL);
    assert_true(frames > timeline_frames(t) + LEAD + RATE / 4);
    for (int64_t i = 0; i < frames; i++)
        if (fabsf(file[i] * 32768 - roundf(out[i] * 32767)) > 0.01F)
            fail_msg("sample %lld: %g in the file, %g rendered", (long long)i, (double)file[i],
                (double)out[i]);
    assert_true(engine_idle(e));
    engine_free(e);
    free(file);
    free(out);
    timeline_free(t);
    scene_end(&s);
}

/* Lossy formats: the clicks are where they should be to within their coding. */
static void compressed_tracks_hold_the_same_clicks(void **state)
{
    (void)state;
    Error error = {0};
    Scene s = scene_quavers(RATE, false);
    Timeline *t = scene_timeline(&s, drill_plain(), 120, 1, 1, 0);
    Mix mix = mix_plain(-6);
    const Source source = {t, NULL};
    static const char *const names[] = {"a.ogg", "a.mp3"};
    for (size_t i = 0; i < 2; i++) {
        int64_t frames;
        const char *path = in_folder(names[i]);
        assert_true(track_can_write(path)); /* Debian 12's libsndfile can */
        assert_true(track_write(path, false, s.voices, &mix, &source, 1, NULL, NULL, &error));
        float *out = read_track(path, &frames);
        assert_true(frames >= timeline_frames(t) + LEAD && frames < timeline_frames(t) + 2 * RATE);
        float most = 0;
        for (int64_t k = 0; k < frames; k++)
            most = fmaxf(most, fabsf(out[k]));
        assert_true(most > 0.3F && most <= 1);
        free(out);
    }
    timeline_free(t);
    scene_end(&s);
}

static void what_a_track_cannot_be_is_refused_in_words(void **state)
{
    (void)state;
    Error error = {0};
    Scene s = scene_quavers(RATE, true), slow = scene_quavers(44100, true);
    Timeline *t = scene_timeline(&s, drill_plain(), 120, 1, 1, 0);
    Timeline *other = scene_timeline(&slow, drill_plain(), 120, 1, 1, 0);
    const Mix mix = mix_default();
    Source source = {t, NULL};
    static const char *const bad[] = {"a.xyz", "a", "wav", ".wav.txt", "a.aac"};
    for (size_t i = 0; i < 5; i++) {
        assert_false(track_can_write(bad[i]));
        assert_false(
            track_write(in_folder(bad[i]), false, s.voices, &mix, &source, 1, NULL, NULL, &error));
        assert_int_equal(error.kind, ERROR_USAGE);
        assert_non_null(strstr(error.text, ".wav .flac"));
    }
    put(in_folder("there.wav"), "mine");
    assert_false(
        track_write(in_folder("there.wav"), false, s.voices, &mix, &source, 1, NULL, NULL, &error));
    assert_int_equal(error.kind, ERROR_EXISTS);
    assert_true(holds(in_folder("there.wav"), "mine"));
    assert_false(
        track_write(in_folder("no/a.wav"), false, s.voices, &mix, &source, 1, NULL, NULL, &error));
    assert_int_equal(error.kind, ERROR_WRITE);
    assert_false(
        track_write(in_folder("b.wav"), false, s.voices, &mix, &source, 0, NULL, NULL, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    source.timeline = other;
    assert_false(
        track_write(in_folder("b.wav"), false, s.voices, &mix, &source, 1, NULL, NULL, &error));
    assert_int_equal(error.kind, ERROR_RANGE);
    source.timeline = t;
    assert_true(
        track_write(in_folder("there.wav"), true, s.voices, &mix, &source, 1, NULL, NULL, &error));
    assert_int_equal(files_there(), 1);
    timeline_free(t);
    timeline_free(other);
    scene_end(&s);
    scene_end(&slow);
}

static void a_track_too_long_for_wav_is_refused_before_it_is_begun(void **state)
{
    (void)state;
    Error error = {0};
    Scene s = scene_quavers(RATE, true);
    Timeline *t = scene_timeline(&s, drill_plain(), 10, 1000, 0, 0); /* 13 hours */
    const Mix mix = mix_default();
    const Source source = {t, NULL};
    assert_true(timeline_frames(t) > INT64_C(0x7FFFFFFF));
    assert_false(
        track_write(in_folder("long.wav"), false, s.voices, &mix, &source, 1, NULL, NULL, &error));
    assert_int_equal(error.kind, ERROR_LIMIT);
    assert_int_equal(files_there(), 0);
    timeline_free(t);
    scene_end(&s);
}

typedef struct {
    int calls, stop_at;
    int64_t done, total;
} Watch;

static bool watch(void *context, int64_t done, int64_t total)
{
    Watch *w = context;
    assert_true(done >= w->done && done <= total && done > 0);
    w->done = done;
    w->total = total;
    return ++w->calls != w->stop_at;
}

static void progress_is_told_and_can_stop(void **state)
{
    (void)state;
    Error error = {0};
    Scene s = scene_quavers(RATE, false);
    Timeline *t = scene_timeline(&s, drill_plain(), 60, 200, 1, 0);
    const Mix mix = mix_default();
    const Source source = {t, NULL};
    Watch w = {0};
    const char *path = in_folder("a.flac");
    assert_true(track_write(path, false, s.voices, &mix, &source, 1, watch, &w, &error));
    assert_true(w.calls >= 1);
    assert_int_equal(w.done, w.total); /* the last word is that all is done */
    assert_true(w.total >= timeline_frames(t));
    put(path, "kept");
    w = (Watch){.stop_at = 1};
    assert_false(track_write(path, true, s.voices, &mix, &source, 1, watch, &w, &error));
    assert_int_equal(error.kind, ERROR_WRITE);
    assert_non_null(strstr(error.text, "stopped"));
    assert_int_equal(w.calls, 1);
    assert_true(holds(path, "kept"));
    assert_int_equal(files_there(), 1);
    timeline_free(t);
    scene_end(&s);
}

/* Somebody else takes the name while we write. */
static bool take_the_name(void *context, int64_t done, int64_t total)
{
    if (done == total)
        put(context, "theirs");
    return true;
}

static void a_name_taken_meanwhile_is_left_alone(void **state)
{
    (void)state;
    Error error = {0};
    Scene s = scene_quavers(RATE, true);
    Timeline *t = scene_timeline(&s, drill_plain(), 240, 1, 0, 0);
    const Mix mix = mix_default();
    const Source source = {t, NULL};
    char path[256];
    snprintf(path, sizeof path, "%s/race.wav", folder);
    assert_false(track_write(path, false, s.voices, &mix, &source, 1, take_the_name, path, &error));
    assert_int_equal(error.kind, ERROR_EXISTS);
    assert_true(holds(path, "theirs"));
    assert_int_equal(files_there(), 1);
    timeline_free(t);
    scene_end(&s);
}

int main(void)
{
#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        IN_FOLDER(a_file_is_written_whole_or_not_at_all),
        IN_FOLDER(rights_follow_the_users_mask),
        IN_FOLDER(a_name_without_a_folder_is_here),
        IN_FOLDER(what_cannot_be_written_is_told),
        IN_FOLDER(links_are_names_like_others),
        IN_FOLDER(a_full_disk_leaves_nothing_and_is_told),
        IN_FOLDER(timelines_follow_each_other_on_the_frame),
        IN_FOLDER(the_track_is_what_the_engine_renders),
        IN_FOLDER(compressed_tracks_hold_the_same_clicks),
        IN_FOLDER(what_a_track_cannot_be_is_refused_in_words),
        IN_FOLDER(a_track_too_long_for_wav_is_refused_before_it_is_begun),
        IN_FOLDER(progress_is_told_and_can_stop),
        IN_FOLDER(a_name_taken_meanwhile_is_left_alone),
    };
    return cmocka_run_group_tests_name("track", tests, NULL, NULL);
}
