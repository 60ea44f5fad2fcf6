/* Devices told in words, and the audio libraries kept from the screen. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/sound/devices.h"
#include "evenhand/sound/player.h"
#include "loopback.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static Loopback loop;

static const Device *default_of(const Device *devices, int count)
{
    const Device *found = NULL;
    for (int i = 0; i < count; i++)
        if (devices[i].is_default) {
            assert_null(found); /* only one */
            found = &devices[i];
        }
    return found;
}

static void devices_are_listed_and_found(void **state)
{
    (void)state;
    Device devices[DEVICES_MAX];
    Error error;
    char number[16];
    assert_true(audio_start(NULL, 0, &error));
    int count = devices_list(devices);
    assert_true(count > 0);
    const Device *d = default_of(devices, count);
    assert_non_null(d);
    assert_true(d->channels >= 1);
    assert_true(d->rate >= 8000 && d->rate <= 192000);
    assert_true(d->latency_low > 0 && d->latency_low <= d->latency_high);
    assert_string_equal(d->api, "ALSA");

    assert_int_equal(devices_find(NULL), d->index);
    assert_int_equal(devices_find(""), d->index);
    assert_int_equal(devices_find("default"), d->index);
    assert_int_equal(devices_find("DEFAULT"), d->index);
    assert_int_equal(devices_find("efaul"), d->index);
    snprintf(number, sizeof number, "%d", d->index);
    assert_int_equal(devices_find(number), d->index);
    assert_int_equal(devices_find("pulse"), devices_find("PULS"));
    assert_true(devices_find("pulse") >= 0);
    assert_int_equal(devices_find("no such device"), -1);
    assert_int_equal(devices_find("9999"), -1);
    assert_int_equal(devices_find("99999999999999999999"), -1);
    assert_int_equal(devices_find("-1"), -1);
    assert_true(devices_accept(d->index, 48000));
    assert_false(devices_accept(d->index, 8e6));
    assert_false(devices_accept(-1, 48000));
    assert_false(devices_accept(9999, 48000));
    audio_stop();
}

static void the_players_channels_fit_the_device(void **state)
{
    (void)state;
    assert_int_equal(devices_channels(1), 1);
    assert_int_equal(devices_channels(2), 2);
    assert_int_equal(devices_channels(32), 2);
}

static void without_a_device_there_is_none(void **state)
{
    (void)state;
    Device devices[DEVICES_MAX];
    Error error;
    loopback_no_device(&loop);
    assert_true(audio_start(NULL, 0, &error));
    assert_int_equal(devices_list(devices), 0);
    assert_int_equal(devices_find(NULL), -1);
    assert_int_equal(devices_find("0"), -1);
    audio_stop();
    loopback_restart(&loop);
}

/* ---- standard error -------------------------------------------------------------------------- */

/* Runs `work` with descriptor 2 in a file of ours and returns how much came there. */
static long printed_by(void (*work)(void))
{
    struct stat about;
    FILE *file = tmpfile();
    int saved = dup(STDERR_FILENO);
    assert_non_null(file);
    assert_true(saved >= 0);
    dup2(fileno(file), STDERR_FILENO);
    work();
    fstat(fileno(file), &about);
    dup2(saved, STDERR_FILENO);
    close(saved);
    fclose(file);
    return (long)about.st_size;
}

static char complaints[4096];

static void start_and_stop(void)
{
    Error error;
    if (audio_start(complaints, sizeof complaints, &error))
        audio_stop();
}

static void open_a_player(void)
{
    PlayerOptions options = {0};
    Player *p = player_new(&options);
    player_open(p);
    snprintf(complaints, sizeof complaints, "%s", player_printed(p));
    player_free(p);
}

static void say_a_word(void)
{
    static const char word[] = "word";
    start_and_stop();
    assert_int_equal(write(STDERR_FILENO, word, sizeof word - 1), sizeof word - 1);
}

/* On a machine without JACK PortAudio always complains; should it not, the test says so. */
static void complaints_are_kept_from_standard_error(void **state)
{
    (void)state;
    static void (*const works[])(void) = {start_and_stop, open_a_player};
    for (size_t i = 0; i < 2; i++) {
        complaints[0] = '\0';
        assert_int_equal(printed_by(works[i]), 0);
        assert_true(strlen(complaints) > 20);
        for (const char *c = complaints; *c != '\0'; c++)
            assert_true(*c == '\n' || (*c >= ' ' && *c <= '~'));
    }
}

static void standard_error_is_given_back(void **state)
{
    (void)state;
    assert_int_equal(printed_by(say_a_word), 4);
}

static int open_descriptors(void)
{
    int count = 0;
    DIR *directory = opendir("/proc/self/fd");
    assert_non_null(directory);
    while (readdir(directory) != NULL)
        count++;
    closedir(directory);
    return count;
}

static void nothing_stays_open(void **state)
{
    (void)state;
    open_a_player(); /* libraries open some of theirs for good the first time */
    int before = open_descriptors();
    for (int i = 0; i < 5; i++) {
        open_a_player();
        start_and_stop();
    }
    assert_int_equal(open_descriptors(), before);
}

/* With descriptor 2 closed there is nothing to hold back, and nothing breaks. */
static void a_closed_standard_error_is_no_trouble(void **state)
{
    (void)state;
    int saved = dup(STDERR_FILENO);
    close(STDERR_FILENO);
    Error error;
    bool started = audio_start(complaints, sizeof complaints, &error);
    if (started)
        audio_stop();
    dup2(saved, STDERR_FILENO);
    close(saved);
    assert_true(started);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(devices_are_listed_and_found),
        cmocka_unit_test(the_players_channels_fit_the_device),
        cmocka_unit_test(without_a_device_there_is_none),
        cmocka_unit_test(complaints_are_kept_from_standard_error),
        cmocka_unit_test(standard_error_is_given_back),
        cmocka_unit_test(nothing_stays_open),
        cmocka_unit_test(a_closed_standard_error_is_no_trouble),
    };
    loopback_start(&loop);
    int failed = cmocka_run_group_tests_name("devices", tests, NULL, NULL);
    loopback_stop(&loop);
    return failed;
}
