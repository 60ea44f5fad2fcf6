/* Drills of the whole line.
 *
 *      build-up     |C . . . |C D . . |C D E . | ...
 *      build-back   |c . . . |B c . . |A B c . | ...
 *      bursts       |C D E F G - - - |A B c d e - - - |
 */
#include "placing_parts.h"

/* Every step is laid, so what the last would pass is told before the first. */
static bool check_steps(const Maker *m, bool back)
{
    size_t notes = 0, count = m->base->note_count;
    if (m->head_count < 2)
        return error_set(m->error, ERROR_UNSUPPORTED, "a passage of one note cannot be built up");
    for (size_t k = 1; k <= m->head_count && notes <= PASSAGE_NOTES_MAX; k++)
        notes += back ? count - m->heads[m->head_count - k] : m->heads[k];
    return notes <= PASSAGE_NOTES_MAX ||
           error_set(m->error, ERROR_LIMIT,
               "the build-up of %zu notes would have more than %d; take a shorter passage for it",
               count, PASSAGE_NOTES_MAX);
}

static bool lay_steps(Maker *m, bool back)
{
    if (!check_steps(m, back))
        return false;
    for (size_t k = 1; k <= m->head_count; k++) {
        size_t first = back ? m->head_count - k : 0, end = first + k;
        maker_to_bar(m);
        if (!maker_stretch(m, first, end, true))
            return false;
        maker_breathe(m, end - 1);
    }
    return true;
}

bool placing_build_up(Maker *m, const Placing *placing)
{
    (void)placing;
    return lay_steps(m, false);
}

bool placing_build_back(Maker *m, const Placing *placing)
{
    (void)placing;
    return lay_steps(m, true);
}

/* Holds the block that ends the burst, which begins with made note `first`, until the first pulse
 * that lies a pulse or more away; at least twice as long as the note before it, or it would not
 * stand out, and never cut short. */
static void hold(Maker *m, size_t first, bool alone)
{
    const Note *notes = m->made->notes;
    Ratio least = passage_pulse(m->made);
    if (!alone)
        least = ratio_max(least, ratio_mul(notes[first - 1].length, ratio_int(2)));
    m->at = ratio_max(m->at, ratio_add(notes[first].onset, least));
    maker_to_pulse(m);
    for (size_t i = first; i < m->made->note_count; i++)
        m->made->notes[i].length = ratio_sub(m->at, m->made->notes[i].onset);
}

bool placing_bursts(Maker *m, const Placing *placing)
{
    size_t n = (size_t)placing->size;
    if (m->head_count < 2)
        return error_set(
            m->error, ERROR_UNSUPPORTED, "a passage of one note has nothing to burst into");
    for (size_t first = 0; first < m->head_count; first += n) {
        size_t end = first + n < m->head_count ? first + n : m->head_count;
        size_t laid = m->made->note_count, held = m->heads[end - 1] - m->heads[first];
        if (!maker_stretch(m, first, end, first == 0))
            return false;
        hold(m, laid + held, end - first == 1);
    }
    return true;
}
