/* The fingers into the passage's own file, the old one kept beside it. */
#include "practice_parts.h"

#include "evenhand/formats/abc.h"
#include "evenhand/formats/mark.h"
#include "evenhand/sound/track.h"

#include <stdio.h>
#include <string.h>

enum { KEPT_MAX = 999 };

static const char advice[] = "use evenhand mark FILE -o OUT.abc";

static const char *file_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash != NULL ? slash + 1 : path;
}

/* Links are followed: what is bundled is so under any name. */
static bool is_bundled(const char *path, bool *bundled, Error *error)
{
    Choices all = {0};
    char preset[PATHS_MAX];
    int reference;
    bool done = choices_add_bundled(&all, error);
    *bundled = false;
    for (size_t i = 0; done && !*bundled && i < all.count; i++)
        *bundled =
            load_split(all.items[i].given, preset, &reference, error) && paths_same(preset, path);
    choices_free(&all);
    return done;
}

/* Whether the passage lies in a file of the player's own. */
static bool is_own(const char *given, const char *path, Error *error)
{
    bool bundled = given == NULL;
    if (given != NULL && strcmp(given, "-") == 0)
        return error_set(
            error, ERROR_UNSUPPORTED, "Standard input cannot be written to: %s", advice);
    if (!bundled && !is_bundled(path, &bundled, error))
        return false;
    return !bundled ||
           error_set(error, ERROR_UNSUPPORTED, "Bundled passages stay as they are: %s", advice);
}

/* Fingers may have been written into it since; the notes must be those that were fingered. */
static bool same_notes(const Passage *a, const Passage *b)
{
    if (a->note_count != b->note_count)
        return false;
    for (size_t i = 0; i < a->note_count; i++) {
        const Note *x = &a->notes[i], *y = &b->notes[i];
        if (pitch_string(x->pitch) != pitch_string(y->pitch) || x->pitch.alter != y->pitch.alter ||
            x->line != y->line || !ratio_equal(x->onset, y->onset))
            return false;
    }
    return true;
}

/* NAME.abc~, or with the first number that nothing is called yet: NAME.abc~2. */
static bool keep_old(const char *path, const Text *old, char kept[PATHS_MAX], Error *error)
{
    for (int i = 1; i <= KEPT_MAX; i++) {
        char number[8] = "";
        if (i > 1)
            snprintf(number, sizeof number, "%d", i);
        if (snprintf(kept, PATHS_MAX, "%s~%s", path, number) >= PATHS_MAX)
            return error_set(
                error, ERROR_LIMIT, "the file's name is too long to keep the old one beside it");
        if (file_write_atomic(kept, false, old->bytes, old->size, error))
            return true;
        if (error->kind != ERROR_EXISTS)
            return false;
    }
    return error_set(
        error, ERROR_EXISTS, "%d old files are kept already: move some away", KEPT_MAX);
}

/* Puts the marked text into `marked`. */
static bool mark_text(const Practice *p, const Text *old, int reference, const Fingering *fingers,
    Text *marked, int *differing, Error *error)
{
    Passage *read = abc_read(old->bytes != NULL ? old->bytes : "", old->size, reference, error);
    if (read == NULL)
        return false;
    bool done = same_notes(read, p->piece->loaded.passage)
                    ? mark_fingers(old->bytes, old->size, read, fingers, marked, differing, error)
                    : error_set(error, ERROR_UNSUPPORTED,
                          "The file has other notes by now: open it again before saving");
    passage_free(read);
    return done;
}

static void say_written(
    Practice *p, const char *path, const char *kept, int differing, int64_t now_ms)
{
    char more[80] = "";
    if (differing > 0)
        snprintf(more, sizeof more, " %d note%s the fingers of the first time.", differing,
            differing == 1 ? " that comes back has" : "s that come back have");
    practice_say(p, now_ms, false, "Fingers written to %.40s; the old file is %.44s.%s",
        file_name(path), file_name(kept), more);
    snprintf(p->model.message_brief, sizeof p->model.message_brief, "Written; the old: %.24s",
        file_name(kept));
}

static bool write_files(Practice *p, const char *path, int reference, const Fingering *fingers,
    int64_t now_ms, Error *error)
{
    Text old = {0}, marked = {0};
    char kept[PATHS_MAX];
    int differing = 0;
    bool done = load_bytes(path, &old, error) &&
                mark_text(p, &old, reference, fingers, &marked, &differing, error);
    bool same = done && old.size == marked.size && old.bytes != NULL && marked.bytes != NULL &&
                memcmp(old.bytes, marked.bytes, old.size) == 0;
    if (same)
        practice_say(p, now_ms, false, "%.60s holds these fingers already.", file_name(path));
    else if (done) {
        done = keep_old(path, &old, kept, error) &&
               file_write_atomic(path, true, marked.bytes, marked.size, error);
        if (done)
            say_written(p, path, kept, differing, now_ms);
    }
    text_free(&old);
    text_free(&marked);
    return done;
}

bool practice_save(Practice *p, const Fingering *fingers, int64_t now_ms)
{
    Error error = {0};
    char path[PATHS_MAX] = "", text[MODEL_TEXT_MAX];
    int reference = 0;
    bool done = (p->given == NULL || load_split(p->given, path, &reference, &error)) &&
                is_own(p->given, path, &error);
    if (!done && error.kind == ERROR_UNSUPPORTED) {
        practice_say(p, now_ms, true, "%s.", error.text);
        snprintf(p->model.message_brief, sizeof p->model.message_brief, "%s", advice);
        return false;
    }
    done = done && write_files(p, path, reference, fingers, now_ms, &error);
    if (!done)
        practice_say(p, now_ms, true, "%s", error_format(&error, text, sizeof text));
    return done;
}
