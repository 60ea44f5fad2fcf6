#include "evenhand/app/load.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

static bool is_there(const char *given)
{
    char path[PATHS_MAX];
    int reference;
    return load_split(given, path, &reference, NULL) && access(path, R_OK) == 0;
}

/* The directory that `path` lies in, "." for a bare name. */
static void directory_of(const char *path, char out[PATHS_MAX])
{
    const char *slash = strrchr(path, '/');
    size_t size = slash != NULL && slash != path ? (size_t)(slash - path) : 1;
    snprintf(out, PATHS_MAX, "%.*s", (int)size, slash != NULL ? path : ".");
}

bool load_find(const char *owner, const char *given, int line, char out[PATHS_MAX], Error *error)
{
    char directory[PATHS_MAX];
    directory_of(owner, directory);
    if (given[0] != '/' && paths_join(directory, given, out, NULL) && is_there(out))
        return true;
    snprintf(out, PATHS_MAX, "%s", given);
    if (is_there(out) || (paths_data("presets", directory, NULL) &&
                             paths_join(directory, given, out, NULL) && is_there(out)))
        return true;
    return error_at(error, ERROR_READ, line, 0,
        "there is no passage '%.100s' beside this file, in this folder or among the bundled ones",
        given);
}

void load_doubt(const char *source, Error *error)
{
    const char *dot = strrchr(source, '.');
    if (error != NULL && error->kind == ERROR_NO_TUNE && dot != NULL && strcmp(dot, ".ini") == 0)
        error_set(error, ERROR_USAGE,
            "there is no tune in it: a routine is played with evenhand routine FILE, an exam plan "
            "shown with evenhand plan FILE");
}
