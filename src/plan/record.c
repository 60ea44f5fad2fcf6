#include "evenhand/plan/record.h"

int record_percent(int64_t clean, int64_t count)
{
    if (count <= 0)
        return -1;
    return (int)(clean * 100 / count);
}

const char *record_by_word(RecordBy by)
{
    static const char *const words[RECORD_GROUPS] = {"student", "passage", "drill", "day"};
    return by < 0 || by >= RECORD_GROUPS ? "" : words[by];
}
