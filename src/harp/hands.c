#include "evenhand/harp/hands.h"

#include <string.h>

bool hands_parse(const char *word, size_t size, Hands *out)
{
    static const char *const words[HANDS_KINDS] = {
        "right", "left", "octaves", "thirds", "sixths", "tenths", "alternate"};
    if (size == 4 && memcmp(word, "both", size) == 0) { /* as the screen calls it */
        *out = HANDS_OCTAVES;
        return true;
    }
    for (int i = 0; i < HANDS_KINDS; i++)
        if (strlen(words[i]) == size && memcmp(words[i], word, size) == 0) {
            *out = (Hands)i;
            return true;
        }
    return false;
}

bool hands_left_first(const Passage *p)
{
    int first = pitch_string(p->notes[0].pitch), low = first, high = first;
    for (size_t i = 1; i < p->note_count; i++) {
        int string = pitch_string(p->notes[i].pitch);
        low = string < low ? string : low;
        high = string > high ? string : high;
    }
    return 2 * first < low + high;
}

bool hands_left_group(bool left_first, size_t group)
{
    return (group % 2 == 0) == left_first;
}
