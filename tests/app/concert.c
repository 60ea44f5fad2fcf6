#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "concert.h"

#define SLIP_MOST (5 * MILLISECOND)

SoundCard card;
Tmux terminal;
Recording heard;
Events events;
Clicks clicks;

int concert_set_up(void **state)
{
    (void)state;
    sound_card_begin(&card);
    return 0;
}

int concert_tear_down(void **state)
{
    (void)state;
    tmux_end(&terminal);
    sound_card_end(&card);
    return 0;
}

void concert_expect(const char *words)
{
    read_events(words, &events);
    expect_clicks(&events, 0, events.count, &clicks);
}

void concert_begin(int width, int height, const char *words, const char *more)
{
    char line[COMMAND_ROOM / 2];
    snprintf(line, sizeof line, "%s " ONE_CLICK_LAYERS " %s", words, more);
    tmux_begin_practice(&terminal, width, height, line);
    loopback_record(&card.loop);
}

int text_number(const char *text, const char *words)
{
    const char *at = strstr(text, words);
    return at != NULL ? atoi(at + strlen(words)) : -1;
}

void concert_file(const char *name, const char *text)
{
    char line[256], path[128];
    snprintf(path, sizeof path, "%s/%s", card.loop.directory, name);
    if (text == NULL) {
        snprintf(line, sizeof line, "cp tests/app/e2e/%s %s", name, path);
        assert_int_equal(system(line), 0);
        return;
    }
    FILE *f = fopen(path, "w");
    assert_non_null(f);
    fputs(text, f);
    assert_int_equal(fclose(f), 0);
}

void concert_leave(const Tmux *t)
{
    tmux_keys(t, "q");
    for (int64_t give_up = monotonic_now() + 5 * SECOND; tmux_number(t, "#{pane_dead}") != 1;) {
        assert_true(monotonic_now() < give_up);
        pause_for(10 * MILLISECOND);
    }
}

bool concert_end(int underruns)
{
    static char text[PANE_ROOM];
    tmux_keys(&terminal, "s");
    tmux_want(&terminal, "underruns: ", 2 * SECOND);
    tmux_capture(&terminal, false, text);
    concert_leave(&terminal);
    loopback_hear(&card.loop, CLICK_THRESHOLD, &heard);
    int lost = text_number(text, "underruns: ");
    if (lost >= 0 && lost <= underruns && llabs(heard.slip) < SLIP_MOST)
        return true;
    print_message("disturbed: %d underruns, the recording slipped %.1f ms\n", lost,
        (double)heard.slip / MILLISECOND);
    return false;
}
