/* loopback.h - the sound card made of software (tests/tools/loopback.py) for tests in C: what
 * the player plays comes back as a recording with its clicks found and its time known.
 *
 * Each function that cannot do its work fails the running test with the reason.
 */
#ifndef EVENHAND_TESTS_SOUND_LOOPBACK_H
#define EVENHAND_TESTS_SOUND_LOOPBACK_H

#include <stddef.h>
#include <stdint.h>

enum { HEARD_MAX = 4096, LOOPBACK_RATE = 48000 };

typedef struct {
    char directory[64];
    long owner; /* process whose end ends the daemon too */
} Loopback;

typedef struct {
    int64_t frame; /* of the peak in the recording */
    double level;  /* dB of full scale */
} HeardClick;

/* A recording; its frame 0 was heard at `start` (CLOCK_MONOTONIC nanoseconds). */
typedef struct {
    int64_t start;
    int64_t slip; /* of the start, from the beginning to the end: frames were lost */
    size_t count;
    HeardClick click[HEARD_MAX];
} Recording;

/* Starts the daemon and sets this process's environment so that audio goes there. */
void loopback_start(Loopback *l);
void loopback_kill(const Loopback *l);    /* the device is lost */
void loopback_restart(const Loopback *l); /* and comes back */
void loopback_freeze(const Loopback *l);  /* the sound server hangs ... */
void loopback_thaw(const Loopback *l);    /* ... and goes on */
void loopback_record(const Loopback *l);
/* Ends the recording and reads it. `threshold`: what is lower (dB of full scale) is no click. */
void loopback_hear(const Loopback *l, double threshold, Recording *out);
void loopback_stop(Loopback *l); /* ends all, removes the directory */
/* Sets the environment so that there is no device at all; loopback_start or _restart undo it. */
void loopback_no_device(const Loopback *l);

int64_t monotonic_now(void);
void pause_for(int64_t nanoseconds);

#endif
