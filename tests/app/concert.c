#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "concert.h"

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
