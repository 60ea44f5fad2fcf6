/* Lists of the record for other programs. */
#include "evenhand/formats/record_text.h"

#include "evenhand/music/rune.h"

#include <inttypes.h>
#include <stdio.h>

static bool ended(bool done, Error *error)
{
    return done || error_set(error, ERROR_MEMORY, "there is no memory for the list");
}

/* Six digits behind the point are more than any tempo has; no more zeroes than are needed. */
static bool add_number(Text *out, Ratio value)
{
    char number[48];
    int size = snprintf(number, sizeof number, "%.6f", ratio_double(value));
    while (size > 1 && number[size - 1] == '0')
        size--;
    size -= size > 1 && number[size - 1] == '.';
    return text_add_bytes(out, number, (size_t)size);
}

/* The beat unit as a fraction of a whole note. */
static const char *beat_words(Tempo t, char out[RATIO_TEXT_MAX])
{
    return ratio_text(ratio_div(t.beat, ratio_int(4)), out);
}

/* ---- CSV ----------------------------------------------------------------------------------- */

/* One character of a name; between quotes a quote stands twice. */
static bool add_quoted(Text *out, uint32_t rune)
{
    char bytes[RUNE_BYTES_MAX];
    int size = rune_encode(rune, bytes);
    return (rune != '"' || text_add_bytes(out, "\"", 1)) &&
           text_add_bytes(out, bytes, (size_t)size);
}

static bool add_field(Text *out, const char *name)
{
    bool done = text_add(out, "\"");
    while (done && *name != '\0') {
        uint32_t rune;
        int size = rune_decode(name, &rune);
        done = add_quoted(out, rune);
        name += size > 0 ? size : 1;
    }
    return done && text_add(out, "\"");
}

static bool add_csv_best(Text *out, const RecordLine *line)
{
    char beat[RATIO_TEXT_MAX];
    if (!line->has_best)
        return text_add(out, ",,");
    return text_add(out, ",%s,", beat_words(line->best, beat)) &&
           add_number(out, line->best.per_minute);
}

static bool add_csv_line(Text *out, const RecordList *list, const RecordLine *line)
{
    char day[DATE_TEXT_MAX];
    int percent = record_percent(line->clean, line->count);
    if (!add_field(out, line->name) ||
        !(percent < 0 ? text_add(out, ",") : text_add(out, ",%d", percent)))
        return false;
    return add_csv_best(out, line) &&
           text_add(out, ",%s,%d,%s,%s,%" PRId64 ",%" PRId64 "\r\n", date_text(line->day, day),
               list->today - line->day, record_stale(list, line) ? "yes" : "no",
               line->changed ? "yes" : "no", line->clean, line->count);
}

bool record_csv(Text *out, const RecordList *list, Error *error)
{
    bool done = text_add(out,
        "%s,percent_clean,best_beat,best_per_minute,last,days_ago,stale,fingers_changed,clean,"
        "repetitions\r\n",
        record_by_word(list->by));
    for (size_t i = 0; done && i < list->count; i++)
        done = add_csv_line(out, list, &list->lines[i]);
    return ended(done, error);
}

/* ---- JSON ---------------------------------------------------------------------------------- */

/* Beyond U+FFFF as a pair of surrogates. */
static bool add_escape(Text *out, uint32_t rune)
{
    if (rune < 0x10000)
        return text_add(out, "\\u%04" PRIx32, rune);
    rune -= 0x10000;
    return text_add(
        out, "\\u%04" PRIx32 "\\u%04" PRIx32, 0xD800 + (rune >> 10), 0xDC00 + (rune & 0x3FF));
}

static bool add_character(Text *out, uint32_t rune)
{
    char bytes[RUNE_BYTES_MAX];
    if (rune == '"' || rune == '\\')
        return text_add(out, "\\%c", (char)rune);
    if (rune < 0x20 || rune_clean(rune) != rune)
        return add_escape(out, rune);
    int size = rune_encode(rune, bytes);
    return text_add_bytes(out, bytes, (size_t)size);
}

static bool add_string(Text *out, const char *name)
{
    bool done = text_add(out, "\"");
    while (done && *name != '\0') {
        uint32_t rune;
        int size = rune_decode(name, &rune);
        done = add_character(out, rune);
        name += size > 0 ? size : 1;
    }
    return done && text_add(out, "\"");
}

static bool add_json_best(Text *out, const RecordLine *line)
{
    char beat[RATIO_TEXT_MAX];
    if (!line->has_best)
        return text_add(out, "null");
    return text_add(out, "{\"beat\": \"%s\", \"per_minute\": ", beat_words(line->best, beat)) &&
           add_number(out, line->best.per_minute) && text_add(out, "}");
}

static const char *truth(bool is)
{
    return is ? "true" : "false";
}

static bool add_json_line(Text *out, const RecordList *list, const RecordLine *line)
{
    char day[DATE_TEXT_MAX];
    int percent = record_percent(line->clean, line->count);
    if (!text_add(out, "    {\"name\": ") || !add_string(out, line->name) ||
        !text_add(out, ", \"percent_clean\": ") ||
        !(percent < 0 ? text_add(out, "null") : text_add(out, "%d", percent)))
        return false;
    return text_add(out, ", \"best_clean\": ") && add_json_best(out, line) &&
           text_add(out,
               ", \"last\": \"%s\", \"days_ago\": %d, \"stale\": %s, \"fingers_changed\": %s, "
               "\"clean\": %" PRId64 ", \"repetitions\": %" PRId64 "}",
               date_text(line->day, day), list->today - line->day, truth(record_stale(list, line)),
               truth(line->changed), line->clean, line->count);
}

bool record_json(Text *out, const RecordList *list, Error *error)
{
    char day[DATE_TEXT_MAX];
    bool done = text_add(out, "{\n  \"today\": \"%s\",\n  \"stale_days\": %d,\n  \"by\": \"%s\",\n",
                    date_text(list->today, day), list->stale_days, record_by_word(list->by)) &&
                text_add(out, "  \"lines\": [");
    for (size_t i = 0; done && i < list->count; i++)
        done = text_add(out, i == 0 ? "\n" : ",\n") && add_json_line(out, list, &list->lines[i]);
    done = done && text_add(out, "%s]\n}\n", list->count > 0 ? "\n  " : "");
    return ended(done, error);
}
