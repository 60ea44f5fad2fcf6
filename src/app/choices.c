#include "evenhand/app/load.h"

#include "evenhand/formats/abc.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static bool add(Choices *c, const char *path, const AbcTune *tune, bool bundled)
{
    Choice *grown = realloc(c->items, (c->count + 1) * sizeof *grown);
    if (!grown)
        return false;
    c->items = grown;
    Text given = {0};
    if (!text_add(&given, "%s:%d", path, tune->reference)) {
        text_free(&given);
        return false;
    }
    Choice *item = &c->items[c->count++];
    item->given = given.bytes; /* the text's bytes are plain malloc memory; freed with free */
    item->bundled = bundled;
    text_clean(tune->title[0] ? tune->title : "(no title)", item->title, sizeof item->title);
    text_clean(tune->remark, item->remark, sizeof item->remark);
    return true;
}

bool choices_add_file(Choices *c, const char *path, bool bundled, Error *error)
{
    Text text;
    AbcTune *tunes = NULL;
    size_t count = 0;
    if (!load_bytes(path, &text, error))
        return false;
    bool done = abc_list(text.bytes ? text.bytes : "", text.size, &tunes, &count, error);
    if (!done)
        error_source(error, path);
    for (size_t i = 0; done && i < count; i++)
        done = add(c, path, &tunes[i], bundled) ||
               error_set(error, ERROR_MEMORY, "there is no memory for the list of passages");
    free(tunes);
    text_free(&text);
    return done;
}

static int is_abc(const struct dirent *entry)
{
    size_t size = strlen(entry->d_name);
    return entry->d_name[0] != '.' && size > 4 && strcmp(entry->d_name + size - 4, ".abc") == 0;
}

/* alphasort would follow the locale; grades are in the names' first digits. */
static int by_name(const struct dirent **a, const struct dirent **b)
{
    return strcmp((*a)->d_name, (*b)->d_name);
}

bool choices_add_bundled(Choices *c, Error *error)
{
    char directory[PATHS_MAX], path[PATHS_MAX];
    struct dirent **names = NULL;
    if (!paths_data("presets", directory, error))
        return false;
    int count = scandir(directory, &names, is_abc, by_name);
    bool done = count > 0 || error_set(error, ERROR_READ, "no passages are in %.160s", directory);
    for (int i = 0; i < count; i++) {
        done = done && paths_join(directory, names[i]->d_name, path, error) &&
               choices_add_file(c, path, true, error);
        free(names[i]);
    }
    free(names);
    return done;
}

void choices_free(Choices *c)
{
    for (size_t i = 0; i < c->count; i++)
        free(c->items[i].given);
    free(c->items);
    *c = (Choices){0};
}
