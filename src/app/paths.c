#include "evenhand/app/paths.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

bool paths_join(const char *directory, const char *name, char out[PATHS_MAX], Error *error)
{
    size_t size = strlen(directory);
    const char *slash = size > 0 && directory[size - 1] == '/' ? "" : "/";
    int n = snprintf(out, PATHS_MAX, "%s%s%s", directory, slash, name);
    if (n < 0 || n >= PATHS_MAX)
        return error_set(
            error, ERROR_LIMIT, "a file's name is longer than %d bytes", PATHS_MAX - 1);
    return true;
}

static bool has_directory(const char *base, const char *what, char out[PATHS_MAX])
{
    struct stat s;
    return paths_join(base, what, out, NULL) && stat(out, &s) == 0 && S_ISDIR(s.st_mode);
}

/* The directory of the running program; false where the system does not tell. */
static bool program_directory(char out[PATHS_MAX])
{
    ssize_t size = readlink("/proc/self/exe", out, PATHS_MAX - 1);
    if (size <= 0 || size >= PATHS_MAX - 1)
        return false;
    out[size] = '\0';
    char *slash = strrchr(out, '/');
    if (!slash || slash == out)
        return false;
    *slash = '\0';
    return true;
}

bool paths_data(const char *what, char out[PATHS_MAX], Error *error)
{
    const char *told = getenv("EVENHAND_DATA");
    if (told && told[0] != '\0') {
        if (has_directory(told, what, out))
            return true;
        return error_set(error, ERROR_READ,
            "EVENHAND_DATA is '%.80s', but there is no directory '%s' in it", told, what);
    }
    static const char *const beside[] = {"..", "../share/evenhand"};
    char program[PATHS_MAX], base[PATHS_MAX];
    if (program_directory(program))
        for (int i = 0; i < 2; i++)
            if (paths_join(program, beside[i], base, NULL) && has_directory(base, what, out))
                return true;
#ifdef EVENHAND_DATADIR
    if (has_directory(EVENHAND_DATADIR, what, out))
        return true;
#endif
    return error_set(error, ERROR_READ,
        "the bundled %s are not found beside the program; set EVENHAND_DATA to the directory that "
        "holds them",
        what);
}

bool paths_record(char out[PATHS_MAX], Error *error)
{
    const char *data = getenv("XDG_DATA_HOME"), *home = getenv("HOME");
    if (data != NULL && data[0] == '/')
        return paths_join(data, "evenhand/record.db", out, error);
    if (home != NULL && home[0] == '/')
        return paths_join(home, ".local/share/evenhand/record.db", out, error);
    return error_set(error, ERROR_RECORD,
        "there is no place for the practice record: neither HOME nor XDG_DATA_HOME names a "
        "directory");
}

bool paths_same(const char *a, const char *b)
{
    struct stat x, y;
    return stat(a, &x) == 0 && stat(b, &y) == 0 && x.st_dev == y.st_dev && x.st_ino == y.st_ino;
}
