#include "disk.h"

#include <pthread.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { FILES = 2, PATH = 1024 };

/* The file that SQLite sees, and behind it the real one. */
typedef struct {
    sqlite3_file base;
    char path[PATH];
    sqlite3_file *real;
} DiskFile;

/* What is safe of one file. */
typedef struct {
    char path[PATH];
    unsigned char *bytes;
    size_t size;
    bool synced;
} Safe;

static pthread_mutex_t lock = PTHREAD_MUTEX_INITIALIZER;
static pthread_cond_t flows = PTHREAD_COND_INITIALIZER;
static bool hanging;
static int waiting, moved;
static Safe safe[FILES];
static sqlite3_vfs disk;
static sqlite3_vfs *real_vfs;

static sqlite3_file *real_of(sqlite3_file *file)
{
    return ((DiskFile *)file)->real;
}

static int disk_close(sqlite3_file *file)
{
    sqlite3_file *real = real_of(file);
    int code = real->pMethods->xClose(real);
    sqlite3_free(real);
    return code;
}

static int disk_read(sqlite3_file *file, void *to, int size, sqlite3_int64 at)
{
    return real_of(file)->pMethods->xRead(real_of(file), to, size, at);
}

static int disk_write(sqlite3_file *file, const void *from, int size, sqlite3_int64 at)
{
    return real_of(file)->pMethods->xWrite(real_of(file), from, size, at);
}

static int disk_truncate(sqlite3_file *file, sqlite3_int64 size)
{
    return real_of(file)->pMethods->xTruncate(real_of(file), size);
}

/* Under the lock. */
static void keep(const DiskFile *file)
{
    for (int i = 0; i < FILES; i++) {
        sqlite3_int64 size = 0;
        if (safe[i].path[0] == '\0' || strcmp(safe[i].path, file->path) != 0)
            continue;
        file->real->pMethods->xFileSize(file->real, &size);
        free(safe[i].bytes);
        safe[i].size = (size_t)size;
        safe[i].bytes = malloc(safe[i].size + 1);
        safe[i].synced = true;
        moved += i == 0;
        if (safe[i].bytes == NULL || (size > 0 && file->real->pMethods->xRead(file->real,
                                                      safe[i].bytes, (int)size, 0) != SQLITE_OK))
            abort();
    }
}

static int disk_sync(sqlite3_file *file, int flags)
{
    pthread_mutex_lock(&lock);
    waiting++;
    while (hanging)
        pthread_cond_wait(&flows, &lock);
    waiting--;
    keep((DiskFile *)file);
    pthread_mutex_unlock(&lock);
    return real_of(file)->pMethods->xSync(real_of(file), flags);
}

static int disk_file_size(sqlite3_file *file, sqlite3_int64 *size)
{
    return real_of(file)->pMethods->xFileSize(real_of(file), size);
}

static int disk_lock(sqlite3_file *file, int how)
{
    return real_of(file)->pMethods->xLock(real_of(file), how);
}

static int disk_unlock(sqlite3_file *file, int how)
{
    return real_of(file)->pMethods->xUnlock(real_of(file), how);
}

static int disk_reserved(sqlite3_file *file, int *out)
{
    return real_of(file)->pMethods->xCheckReservedLock(real_of(file), out);
}

static int disk_control(sqlite3_file *file, int what, void *with)
{
    return real_of(file)->pMethods->xFileControl(real_of(file), what, with);
}

static int disk_sector(sqlite3_file *file)
{
    return real_of(file)->pMethods->xSectorSize(real_of(file));
}

/* None of its promises about unsynced bytes, so that SQLite syncs all it must. */
static int disk_promises(sqlite3_file *file)
{
    (void)file;
    return 0;
}

static int disk_shm_map(sqlite3_file *file, int page, int size, int extend, void volatile **out)
{
    return real_of(file)->pMethods->xShmMap(real_of(file), page, size, extend, out);
}

static int disk_shm_lock(sqlite3_file *file, int offset, int n, int flags)
{
    return real_of(file)->pMethods->xShmLock(real_of(file), offset, n, flags);
}

static void disk_shm_barrier(sqlite3_file *file)
{
    real_of(file)->pMethods->xShmBarrier(real_of(file));
}

static int disk_shm_unmap(sqlite3_file *file, int remove)
{
    return real_of(file)->pMethods->xShmUnmap(real_of(file), remove);
}

static int disk_open(sqlite3_vfs *vfs, const char *path, sqlite3_file *file, int flags, int *out)
{
    static const sqlite3_io_methods methods = {.iVersion = 2,
        .xClose = disk_close,
        .xRead = disk_read,
        .xWrite = disk_write,
        .xTruncate = disk_truncate,
        .xSync = disk_sync,
        .xFileSize = disk_file_size,
        .xLock = disk_lock,
        .xUnlock = disk_unlock,
        .xCheckReservedLock = disk_reserved,
        .xFileControl = disk_control,
        .xSectorSize = disk_sector,
        .xDeviceCharacteristics = disk_promises,
        .xShmMap = disk_shm_map,
        .xShmLock = disk_shm_lock,
        .xShmBarrier = disk_shm_barrier,
        .xShmUnmap = disk_shm_unmap};
    (void)vfs;
    DiskFile *f = (DiskFile *)file;
    memset(f, 0, sizeof *f);
    f->real = sqlite3_malloc(real_vfs->szOsFile);
    if (f->real == NULL)
        return SQLITE_NOMEM;
    memset(f->real, 0, (size_t)real_vfs->szOsFile);
    snprintf(f->path, sizeof f->path, "%s", path != NULL ? path : "");
    int code = real_vfs->xOpen(real_vfs, path, f->real, flags, out);
    if (code != SQLITE_OK) {
        sqlite3_free(f->real);
        return code;
    }
    f->base.pMethods = &methods;
    return SQLITE_OK;
}

void disk_insert(void)
{
    if (real_vfs != NULL)
        return;
    real_vfs = sqlite3_vfs_find(NULL);
    disk = *real_vfs;
    disk.zName = "disk";
    disk.szOsFile = sizeof(DiskFile);
    disk.xOpen = disk_open;
    if (sqlite3_vfs_register(&disk, 1) != SQLITE_OK)
        abort();
}

void disk_hang(bool hangs)
{
    pthread_mutex_lock(&lock);
    hanging = hangs;
    pthread_cond_broadcast(&flows);
    pthread_mutex_unlock(&lock);
}

int disk_waiting(void)
{
    pthread_mutex_lock(&lock);
    int n = waiting;
    pthread_mutex_unlock(&lock);
    return n;
}

/* What lies there already is safe. */
static void keep_what_is_there(Safe *file)
{
    FILE *there = fopen(file->path, "rb");
    if (there == NULL)
        return;
    if (fseek(there, 0, SEEK_END) != 0)
        abort();
    file->size = (size_t)ftell(there);
    rewind(there);
    file->bytes = malloc(file->size + 1);
    file->synced = true;
    if (file->bytes == NULL || fread(file->bytes, 1, file->size, there) != file->size)
        abort();
    fclose(there);
}

void disk_remember(const char *path)
{
    disk_forget();
    pthread_mutex_lock(&lock);
    snprintf(safe[0].path, sizeof safe[0].path, "%s", path);
    snprintf(safe[1].path, sizeof safe[1].path, "%s-wal", path);
    for (int i = 0; i < FILES; i++)
        keep_what_is_there(&safe[i]);
    pthread_mutex_unlock(&lock);
}

int disk_moved(void)
{
    pthread_mutex_lock(&lock);
    int n = moved;
    pthread_mutex_unlock(&lock);
    return n;
}

void disk_cut(const char *left)
{
    static const char *const tails[FILES] = {"", "-wal"};
    pthread_mutex_lock(&lock);
    for (int i = 0; i < FILES; i++) {
        char path[PATH + 8];
        snprintf(path, sizeof path, "%s%s", left, tails[i]);
        remove(path);
        if (!safe[i].synced)
            continue;
        FILE *file = fopen(path, "wb");
        if (file == NULL || fwrite(safe[i].bytes, 1, safe[i].size, file) != safe[i].size ||
            fclose(file) != 0)
            abort();
    }
    pthread_mutex_unlock(&lock);
}

void disk_forget(void)
{
    pthread_mutex_lock(&lock);
    for (int i = 0; i < FILES; i++) {
        free(safe[i].bytes);
        safe[i] = (Safe){{0}, NULL, 0, false};
    }
    moved = 0;
    pthread_mutex_unlock(&lock);
}
