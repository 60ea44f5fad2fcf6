#include "evenhand/music/metre.h"

#include <stdio.h>

Metre metre(int num, int den)
{
    return (Metre){.num = num, .den = den};
}

bool metre_free(const Metre *m)
{
    return m->num == 0;
}

bool metre_equal(const Metre *a, const Metre *b)
{
    if (a->num != b->num || a->den != b->den || a->part_count != b->part_count)
        return false;
    for (int i = 0; i < a->part_count; i++)
        if (a->parts[i] != b->parts[i])
            return false;
    return true;
}

Ratio metre_unit(const Metre *m)
{
    return metre_free(m) ? ratio_int(1) : ratio(4, m->den);
}

Ratio metre_bar(const Metre *m)
{
    return metre_free(m) ? ratio_int(0) : ratio(4 * (int64_t)m->num, m->den);
}

bool metre_compound(const Metre *m)
{
    return m->part_count == 0 && m->num > 3 && m->num % 3 == 0;
}

int metre_pulses(const Metre *m, Ratio at[METRE_NUM_MAX])
{
    if (metre_free(m)) {
        at[0] = ratio_int(0);
        return 1;
    }
    Ratio unit = metre_unit(m);
    if (m->part_count > 0) {
        int units = 0;
        for (int i = 0; i < m->part_count; i++) {
            at[i] = ratio_mul(unit, ratio_int(units));
            units += m->parts[i];
        }
        return m->part_count;
    }
    int step = metre_compound(m) ? 3 : 1;
    int count = 0;
    for (int i = 0; i < m->num; i += step)
        at[count++] = ratio_mul(unit, ratio_int(i));
    return count;
}

int metre_strong(const Metre *m, Ratio at[METRE_NUM_MAX])
{
    if (metre_compound(m) || m->part_count > 0)
        return metre_pulses(m, at);
    at[0] = ratio_int(0);
    if (m->num < 4 || m->num % 2 != 0)
        return 1;
    at[1] = ratio_mul(metre_unit(m), ratio_int(m->num / 2));
    return 2;
}

char *metre_text(const Metre *m, char out[METRE_TEXT_MAX])
{
    if (metre_free(m)) {
        snprintf(out, METRE_TEXT_MAX, "free");
        return out;
    }
    if (m->part_count == 0) {
        snprintf(out, METRE_TEXT_MAX, "%d/%d", m->num, m->den);
        return out;
    }
    int used = snprintf(out, METRE_TEXT_MAX, "(");
    for (int i = 0; i < m->part_count; i++)
        used += snprintf(
            out + used, (size_t)(METRE_TEXT_MAX - used), "%s%d", i > 0 ? "+" : "", m->parts[i]);
    snprintf(out + used, (size_t)(METRE_TEXT_MAX - used), ")/%d", m->den);
    return out;
}
