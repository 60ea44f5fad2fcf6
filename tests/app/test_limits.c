/* The limits that DEVELOPERS.md states are the headers' limits. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "evenhand/console/grid.h"
#include "evenhand/console/view.h"
#include "evenhand/drill/session.h"
#include "evenhand/formats/abc.h"
#include "evenhand/formats/ini.h"
#include "evenhand/journal/scribe.h"
#include "evenhand/plan/exam.h"
#include "evenhand/plan/ladder.h"
#include "evenhand/plan/routine.h"
#include "evenhand/sound/engine.h"

#include "docs_read.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { ROW_MAX = 200 };

#define LIMIT(name)                                                                                \
    {                                                                                              \
#name, name                                                                                \
    }

static void stated_limits_are_the_headers_limits(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        int value;
    } limits[] = {LIMIT(ABC_BYTES_MAX), LIMIT(ABC_TUNES_MAX), LIMIT(PASSAGE_NOTES_MAX),
        LIMIT(PASSAGE_BARS_MAX), LIMIT(PASSAGE_BLOCK_MAX), LIMIT(PASSAGE_DEN_MAX), LIMIT(TEMPO_MIN),
        LIMIT(TEMPO_MAX), LIMIT(LADDER_RUNGS_MAX), LIMIT(ROTATION_PLACES_MAX),
        LIMIT(BEAT_PATTERN_MAX), LIMIT(SESSION_STEPS_MAX), LIMIT(SESSION_REPETITIONS_MAX),
        LIMIT(SESSION_BARS_MAX), LIMIT(INI_BYTES_MAX), LIMIT(INI_ENTRIES_MAX),
        LIMIT(ROUTINE_BLOCKS_MAX), LIMIT(ROUTINE_DRILLS_MAX), LIMIT(ROUTINE_MINUTES_MAX),
        LIMIT(ROUTINE_REPETITIONS_MAX), LIMIT(ROUTINE_REST_MAX), LIMIT(EXAM_PASSAGES_MAX),
        LIMIT(EXAM_MINUTES_MAX), LIMIT(EXAM_DAYS_MAX), LIMIT(EXAM_MISSED_MAX), LIMIT(SCRIBE_ROOM),
        LIMIT(ENGINE_VOICES), LIMIT(ENGINE_QUEUE), LIMIT(VOICE_SECONDS_MAX), LIMIT(GRID_WIDTH_MAX),
        LIMIT(GRID_HEIGHT_MAX), LIMIT(VIEW_WIDTH_MIN), LIMIT(VIEW_HEIGHT_MIN)};
    char *map = docs_read("DEVELOPERS.md");
    assert_non_null(map);
    for (size_t i = 0; i < sizeof limits / sizeof limits[0]; i++) {
        char row[ROW_MAX];
        snprintf(row, sizeof row, "| `%s` | %d |", limits[i].name, limits[i].value);
        if (strstr(map, row) == NULL)
            fail_msg("DEVELOPERS.md has no row \"%s\"", row);
    }
    free(map);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(stated_limits_are_the_headers_limits),
    };
    return cmocka_run_group_tests_name("limits", tests, NULL, NULL);
}
