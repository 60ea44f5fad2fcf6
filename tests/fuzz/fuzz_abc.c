/* fuzz_abc.c - a libFuzzer target: any bytes, through the list of tunes and the reading of each.
 *
 * Beyond not crashing it checks what every reader of a Passage relies on: onsets in order,
 * lengths above zero, notes inside their bars, text that ends.
 */
#include "evenhand/formats/abc.h"

#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void insist(bool holds)
{
    if (!holds)
        abort();
}

static void check_passage(const Passage *p)
{
    insist(p->note_count > 0 && p->note_count <= PASSAGE_NOTES_MAX);
    insist(p->bar_count > 0 && p->bar_count <= PASSAGE_BARS_MAX);
    insist(memchr(p->title, '\0', sizeof p->title) != NULL);
    insist(memchr(p->key, '\0', sizeof p->key) != NULL);
    for (size_t i = 0; i < p->note_count; i++) {
        const Note *n = &p->notes[i];
        int midi = pitch_midi(n->pitch);
        insist(midi >= 0 && midi <= 127 && n->mark <= 4);
        insist(ratio_valid(n->onset) && ratio_valid(n->length) && n->length.num > 0);
        insist(i == 0 || ratio_cmp(p->notes[i - 1].onset, n->onset) <= 0);
        insist(n->bar >= 0 && (size_t)n->bar < p->bar_count);
        insist(ratio_cmp(p->bars[n->bar].start, n->onset) <= 0);
        insist(ratio_cmp(ratio_add(n->onset, n->length), p->length) <= 0);
    }
}

static void check_error(const Error *e)
{
    char line[ERROR_TEXT_MAX + ERROR_SOURCE_MAX + 200];
    insist(e->kind > ERROR_NONE && e->kind < ERROR_KINDS && e->text[0] != '\0');
    insist(e->line >= 0 && e->column >= 0);
    error_format(e, line, sizeof line);
}

/* A number that stands before is the tune that was read then. */
static bool listed_before(const AbcTune *tunes, size_t i)
{
    for (size_t k = 0; k < i; k++)
        if (tunes[k].reference == tunes[i].reference)
            return true;
    return false;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    enum { TUNES = 16 };
    const char *text = (const char *)data;
    AbcTune *tunes = NULL;
    size_t count = 0;
    Error error = {0};
    if (!abc_list(text, size, &tunes, &count, &error)) {
        check_error(&error);
        insist(tunes == NULL);
        return 0;
    }
    for (size_t i = 0; i < count && i < TUNES; i++) {
        if (listed_before(tunes, i))
            continue;
        memset(&error, 0, sizeof error);
        Passage *p = abc_read(text, size, tunes[i].reference, &error);
        if (p != NULL)
            check_passage(p);
        else
            check_error(&error);
        passage_free(p);
    }
    free(tunes);
    return 0;
}
