/* The screen of fingerings, in random models: nothing lies on anything else. */
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>

#include <cmocka.h>

#include "console/made.h"
#include "evenhand/console/view.h"

/* The row of a plan's fingers: the first one below its head that has the digit of the first note
 * shown, and then of all of them, in the columns of their names. */
static bool has_fingers(
    const Grid *g, int y, const ModelNote *notes, int first, int count, int step)
{
    for (int k = 0; k < count; k++) {
        const Cell *c = grid_at(g, y, 3 + k * step);
        if (c == NULL || c->rune != (uint32_t)('0' + notes[first + k].finger))
            return false;
    }
    return true;
}

/* Under each name its fingers in all plans, in order, none of them written over, the note at the
 * cursor and the plan in use among them; a head over each. */
static void test_plans_stand_under_their_notes(void **state)
{
    (void)state;
    for (int round = 0; round < ROUNDS; round++) {
        made.seed = 1000003u * (unsigned)round + 19;
        random_model(true);
        Model *m = &made.model;
        ModelFingers *f = &m->fingers;
        Grid g = random_grid();
        random_fingers(f, m->note_count, true);
        m->screen = SCREEN_FINGERS;
        if (g.width < VIEW_WIDTH_MIN || g.height < VIEW_HEIGHT_MIN) {
            grid_free(&g);
            continue;
        }
        view_draw(m, &g);
        int step = 4, marker = -1, y = 3, first;
        for (int x = 3; x < g.width; x++)
            if (grid_at(&g, 2, x)->rune == (g.ascii ? 'v' : 0x25BC))
                marker = x;
        assert_true(marker >= 3 && (marker - 3) % step == 0);
        first = f->note - (marker - 3) / step;
        int fit = (g.width - 6 + 1) / step, left = f->note_count - first;
        for (int plan = 0; plan < f->plan_count; plan++) {
            assert_int_equal(grid_at(&g, y, 3)->rune, '1' + plan);
            uint32_t used = grid_at(&g, y, 2)->rune;
            assert_int_equal(used == (g.ascii ? '*' : 0x25CF), plan == f->used);
            int head = y++;
            while (y < g.height &&
                   !has_fingers(&g, y, f->plans[plan].notes, first, fit < left ? fit : left, step))
                y++;
            if (y > head + 3)
                fail_msg("round %d, %d x %d: plan %d", round, g.width, g.height, plan + 1);
            for (y++; plan + 1 < f->plan_count && y < g.height - 1 &&
                      grid_at(&g, y, 3)->rune != (uint32_t)('2' + plan);)
                y++;
        }
        assert_true(y < g.height - 1);
        grid_free(&g);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_plans_stand_under_their_notes),
    };
    return cmocka_run_group_tests_name("fingers", tests, NULL, NULL);
}
