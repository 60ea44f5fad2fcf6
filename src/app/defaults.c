#include "evenhand/app/defaults.h"

#include "evenhand/harp/wishes.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { LINE_ROOM = 400, LINES_MAX = 100, PATH_ROOM = 4096 };

bool defaults_path(char *out, size_t size)
{
    const char *config = getenv("XDG_CONFIG_HOME"), *home = getenv("HOME");
    int used = -1;
    if (config != NULL && config[0] == '/')
        used = snprintf(out, size, "%s/evenhand/fingers", config);
    else if (home != NULL && home[0] == '/')
        used = snprintf(out, size, "%s/.config/evenhand/fingers", home);
    return used > 0 && (size_t)used < size;
}

bool defaults_fingers(FingeringOptions *options, Error *error)
{
    char path[PATH_ROOM], line[LINE_ROOM];
    FILE *file = defaults_path(path, sizeof path) ? fopen(path, "r") : NULL;
    bool done = true;
    if (file == NULL)
        return true;
    for (int number = 1; done && number <= LINES_MAX && fgets(line, sizeof line, file); number++) {
        if (line[0] == '#')
            continue;
        done = fingering_wishes(line, options, error);
        if (!done && error != NULL) {
            error->line = number;
            error->column = 1;
            error_source(error, path);
        }
    }
    fclose(file);
    return done;
}
