#include "track_draft.h"

#include "evenhand/sound/track.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum { NAMES_TRIED = 1000, LINKS_FOLLOWED = 40 };

static bool fail(Error *error, const Draft *d, ErrorKind kind, const char *what)
{
    const int number = errno;
    if (kind == ERROR_EXISTS)
        error_set(error, kind, "%s", what);
    else
        error_set(error, kind, "%s: %s", what, strerror(number));
    error_source(error, d->path);
    return false;
}

/* Length of the folder part, its last slash included; 0: the current folder. */
static int folder_length(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash ? (int)(slash - path) + 1 : 0;
}

/* What stands at the target now? A device or folder is nobody's to replace. */
static bool check_target(const Draft *d, Error *error)
{
    struct stat status;
    if (lstat(d->path, &status) != 0)
        return true;
    if (!d->force)
        return fail(error, d, ERROR_EXISTS, "the file is there already");
    if (stat(d->path, &status) == 0 && !S_ISREG(status.st_mode)) {
        errno = S_ISDIR(status.st_mode) ? EISDIR : EINVAL;
        return fail(error, d, ERROR_WRITE, "is not a regular file");
    }
    return true;
}

/* What a link names is replaced, as by a shell's >, not the link itself. */
static bool follow_links(Draft *d)
{
    char to[DRAFT_PATH_MAX], next[DRAFT_PATH_MAX];
    for (int i = 0; i < LINKS_FOLLOWED; i++) {
        const ssize_t size = readlink(d->path, to, sizeof to - 1);
        if (size < 0)
            return true; /* no link */
        to[size] = '\0';
        const int folder = to[0] == '/' ? 0 : folder_length(d->path);
        const int length = snprintf(next, sizeof next, "%.*s%s", folder, d->path, to);
        if (length < 0 || (size_t)length >= sizeof next) {
            errno = ENAMETOOLONG;
            return false;
        }
        memcpy(d->led, next, (size_t)length + 1);
        d->path = d->led;
    }
    errno = ELOOP;
    return false;
}

bool draft_open(Draft *d, const char *path, bool force, Error *error)
{
    *d = (Draft){.fd = -1, .force = force, .path = path};
    if (force && !follow_links(d))
        return fail(error, d, ERROR_WRITE, "cannot follow the link");
    if (!check_target(d, error))
        return false;
    for (int i = 0; i < NAMES_TRIED; i++) {
        const int length = snprintf(d->temporary, sizeof d->temporary, "%.*s.evenhand-%ld-%d.part",
            folder_length(path), path, (long)getpid(), i);
        if (length < 0 || (size_t)length >= sizeof d->temporary) {
            errno = ENAMETOOLONG;
            break;
        }
        d->fd = open(d->temporary, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        if (d->fd >= 0)
            return true;
        if (errno != EEXIST)
            break;
    }
    return fail(error, d, ERROR_WRITE, "cannot write there");
}

bool draft_write(Draft *d, const void *bytes, size_t size)
{
    const char *from = bytes;
    while (size > 0 && !d->broken) {
        const ssize_t written = write(d->fd, from, size);
        if (written < 0 && errno == EINTR)
            continue;
        if (written <= 0) {
            d->broken = written < 0 ? errno : ENOSPC;
            break;
        }
        from += written;
        size -= (size_t)written;
    }
    return d->broken == 0;
}

/* A name is durable once its folder is synced. Some file systems cannot sync a folder; the
 * file itself is synced, so that is passed over. */
static void sync_folder(const Draft *d)
{
    char folder[DRAFT_PATH_MAX];
    const int length = folder_length(d->path);
    snprintf(folder, sizeof folder, "%.*s", length ? length : 1, length ? d->path : ".");
    const int fd = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (fd < 0)
        return;
    (void)fsync(fd);
    close(fd);
}

/* link() fails where the name is taken, in one step with taking it. Where the file system has
 * no links, an empty file made with O_EXCL takes the name first. */
static bool take_new_name(const Draft *d)
{
    if (link(d->temporary, d->path) == 0) {
        unlink(d->temporary);
        return true;
    }
    if (errno == EEXIST)
        return false;
    const int fd = open(d->path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    if (fd < 0)
        return false;
    close(fd);
    if (rename(d->temporary, d->path) == 0)
        return true;
    const int number = errno;
    unlink(d->path);
    errno = number;
    return false;
}

bool draft_keep(Draft *d, Error *error)
{
    if (!d->broken && fsync(d->fd) != 0)
        d->broken = errno;
    if (close(d->fd) != 0 && !d->broken)
        d->broken = errno;
    d->fd = -1;
    if (d->broken) {
        errno = d->broken;
        fail(error, d, ERROR_WRITE, "cannot write it whole");
        draft_drop(d);
        return false;
    }
    const bool kept =
        d->force ? check_target(d, error) && rename(d->temporary, d->path) == 0 : take_new_name(d);
    if (!kept) {
        const bool taken = !d->force && errno == EEXIST;
        fail(error, d, taken ? ERROR_EXISTS : ERROR_WRITE,
            taken ? "the file came into being meanwhile" : "cannot give it its name");
        draft_drop(d);
        return false;
    }
    sync_folder(d);
    return true;
}

void draft_drop(Draft *d)
{
    if (d->fd >= 0)
        close(d->fd);
    d->fd = -1;
    unlink(d->temporary);
}

bool file_write_atomic(const char *path, bool force, const void *bytes, size_t size, Error *error)
{
    Draft d;
    if (!draft_open(&d, path, force, error))
        return false;
    (void)draft_write(&d, bytes, size); /* draft_keep tells what went wrong */
    return draft_keep(&d, error);
}
