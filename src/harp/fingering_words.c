#include "evenhand/harp/fingering.h"

#include <stdio.h>

const char *link_word(Link link)
{
    static const char *const words[LINK_KINDS] = {
        "start", "within", "cross under", "cross over", "replace", "lift", "other hand"};
    return (unsigned)link < LINK_KINDS ? words[link] : "";
}

const char *link_sign(Link link, bool utf8)
{
    static const char *const ascii[LINK_KINDS] = {" ", " ", "/", "\\", "=", "^", "x"};
    static const char *const signs[LINK_KINDS] = {" ", " ", "↗", "↘", "↺", "↑", "⇄"};
    if ((unsigned)link >= LINK_KINDS)
        return " ";
    return utf8 ? signs[link] : ascii[link];
}

const char *finger_word(int finger)
{
    static const char *const words[5] = {"none", "thumb", "index", "middle", "ring"};
    return finger >= 1 && finger <= 4 ? words[finger] : words[0];
}

char *fingering_grouping(const Fingering *f, char *out, size_t size)
{
    size_t used = 0;
    if (size > 0)
        out[0] = '\0';
    for (size_t g = 0; g < f->group_count && used + 1 < size; g++) {
        const FingerGroup *group = &f->groups[g];
        int added = snprintf(out + used, size - used, "%s%d%s", g > 0 ? "+" : "", (int)group->size,
            group->across ? "<>" : "");
        used += added > 0 ? (size_t)added : 0;
    }
    return out;
}
