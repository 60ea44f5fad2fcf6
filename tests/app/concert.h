/* concert.h - the program playing in a terminal through a sound card made of software, for the
 * end-to-end tests: one at a time. Include after cmocka.h. */
#ifndef EVENHAND_TESTS_APP_CONCERT_H
#define EVENHAND_TESTS_APP_CONCERT_H

#include "e2e/heard.h"
#include "e2e/sound_card.h"
#include "e2e/tmux.h"

extern SoundCard card;
extern Tmux terminal;
extern Recording heard;
extern Events events; /* the timeline of what is played ... */
extern Clicks clicks; /* ... and what is to be heard of it */

/* Of each test: a sound card of its own; nothing of it and of the terminal stays behind. */
int concert_set_up(void **state);
int concert_tear_down(void **state);

/* Fills events with the timeline of these words (file and options), clicks with all of it. */
void concert_expect(const char *words);
/* Opens a terminal in which the program is ready to play these words and `more`, each event one
 * click, and records from here on. */
void concert_begin(int width, int height, const char *words, const char *more);
/* Leaves the program, which is asked for its underruns, and ends the recording. False, and said:
 * the player (more than `underruns` times) or the recorder lost frames, the machine was too busy.
 */
bool concert_end(int underruns);
/* Presses q and waits until the program in this terminal is gone. */
void concert_leave(const Tmux *t);
/* A file of the sound card's own directory; NULL: a copy of the one in tests/app/e2e. */
void concert_file(const char *name, const char *text);
/* The number behind these words; -1: it is not there. */
int text_number(const char *text, const char *words);

#endif
