#include "silence.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

struct Silence {
    int saved;  /* where descriptor 2 led */
    FILE *file; /* where it leads now */
};

Silence *silence_begin(void)
{
    Silence *s = malloc(sizeof *s);
    if (s == NULL)
        return NULL;
    /* Closed on exec, or a sound server that a library starts would keep the terminal. */
    s->saved = fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, STDERR_FILENO + 1);
    s->file = tmpfile();
    if (s->saved < 0 || s->file == NULL)
        goto fail;

    /* Appending, so that silence_take may empty the file under the writers. */
    if (fcntl(fileno(s->file), F_SETFL, O_APPEND) < 0 || dup2(fileno(s->file), STDERR_FILENO) < 0)
        goto fail;
    return s;

fail:
    if (s->file != NULL)
        fclose(s->file);
    if (s->saved >= 0)
        close(s->saved);
    free(s);
    return NULL;
}

bool silence_guards_terminal(const Silence *s)
{
    return s != NULL && isatty(s->saved) == 1;
}

size_t silence_take(Silence *s, char *out, size_t size)
{
    struct stat about;

    if (size == 0)
        return 0;
    out[0] = '\0';
    if (s == NULL || fstat(fileno(s->file), &about) != 0 || about.st_size <= 0)
        return 0;
    off_t from = about.st_size > (off_t)(size - 1) ? about.st_size - (off_t)(size - 1) : 0;
    ssize_t got = pread(fileno(s->file), out, size - 1, from);
    if (ftruncate(fileno(s->file), 0) != 0 || got < 0)
        got = 0;
    for (ssize_t i = 0; i < got; i++)
        if (out[i] == '\0')
            out[i] = '?';
    out[got] = '\0';
    const char *whole = from > 0 ? strchr(out, '\n') : NULL; /* not from the midst of a line */
    silence_clean(whole != NULL ? whole + 1 : out, out, size, true);
    return strlen(out);
}

void silence_end(Silence *s)
{
    if (s == NULL)
        return;
    dup2(s->saved, STDERR_FILENO);
    close(s->saved);
    fclose(s->file);
    free(s);
}

char *silence_clean(const char *in, char *out, size_t size, bool lines)
{
    size_t i = 0;

    for (; in[i] != '\0' && i + 1 < size; i++)
        out[i] = (in[i] >= ' ' && in[i] <= '~') || (lines && in[i] == '\n') ? in[i] : '?';
    out[i] = '\0';
    return out;
}
