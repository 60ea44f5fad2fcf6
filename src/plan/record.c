#include "evenhand/plan/record.h"

int record_percent(int64_t clean, int64_t count)
{
    if (count <= 0)
        return -1;
    if (clean <= 0 || clean >= count)
        return clean > 0 ? 100 : 0;
    if (clean > INT64_MAX / 100) { /* more than can be multiplied: the last bits do not count */
        clean >>= 8;
        count = (count >> 8) + 1;
    }
    return (int)(clean * 100 / count);
}

const char *record_by_word(RecordBy by)
{
    static const char *const words[RECORD_GROUPS] = {"student", "passage", "drill", "day"};
    return by < 0 || by >= RECORD_GROUPS ? "" : words[by];
}
