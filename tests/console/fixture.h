/* fixture.h - a made-up passage as a Model, in every state the screens can be in. Invented data.
 *
 * Two octaves of G major up and down in quavers, 4/4: 4+4+4+3, a turn, and back.
 */
#ifndef EVENHAND_TESTS_CONSOLE_FIXTURE_H
#define EVENHAND_TESTS_CONSOLE_FIXTURE_H

#include "evenhand/console/model.h"

enum {
    FIXTURE_NOTES = 29,
    FIXTURE_DRILLS = 14,
    FIXTURE_SESSION = 11,
    FIXTURE_PASSAGES = 9,
    FIXTURE_PARTS = 7,
    FIXTURE_PLANS = 3,
    FIXTURE_RUNGS = 10,
    FIXTURE_BLOCKS = 9,
    FIXTURE_RECORDS = 8,
    FIXTURE_POINTS = 34
};

typedef struct {
    Model model;
    ModelNote notes[FIXTURE_NOTES];
    ModelItem drills[FIXTURE_DRILLS];
    ModelItem passages[FIXTURE_PASSAGES];
    ModelItem parts[FIXTURE_PARTS]; /* of a routine */
    ModelItem rungs[FIXTURE_RUNGS];
    ModelNote plans[FIXTURE_PLANS][FIXTURE_NOTES];
    uint8_t fixed[FIXTURE_NOTES];
    ModelItem blocks[FIXTURE_BLOCKS];
    ModelRecordItem records[FIXTURE_RECORDS];
    ChartPoint points[FIXTURE_POINTS];
} Fixture;

/* All pointers of the model lead into *f. */
void fixture_make(Fixture *f, Screen screen, RunState run, bool utf8);
/* A tempo ladder beside the drill, on its fifth rung. */
void fixture_ladder(Fixture *f);
/* In the second block of a routine of seven. */
void fixture_routine(Fixture *f);
/* The same passage in the rhythm long-short. */
void fixture_rhythm(Fixture *f);

/* An exam plan's calendar, December 2026: the 10th is today and the 15th chosen. */
void fixture_calendar(Fixture *f);

/* A record of eight passages; the first, at the cursor, has been practised over eleven weeks. */
void fixture_record(Fixture *f);

#endif
