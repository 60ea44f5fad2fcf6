/* trapped.h - witnesses for the audio path's promise: no allocation, no lock, no system call.
 * For one test program, which gets an allocator, locks and input/output that count calls while
 * `trapped` is up, and a way to run a job in a child that the kernel ends on any system call.
 * A header and no helper file: replaced functions must not reach the other tests. Include
 * first, cmocka.h after the standard headers, and define _GNU_SOURCE before all. */
#ifndef EVENHAND_TESTS_SOUND_TRAPPED_H
#define EVENHAND_TESTS_SOUND_TRAPPED_H

#include <dlfcn.h>
#include <linux/filter.h>
#include <linux/seccomp.h>
#include <pthread.h>
#include <sched.h>
#include <semaphore.h>
#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/prctl.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

/* Sanitizers have an allocator and system calls of their own. */
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
#define SANITIZED 1
#elif defined(__has_feature)
#if __has_feature(address_sanitizer) || __has_feature(thread_sanitizer) ||                         \
    __has_feature(memory_sanitizer)
#define SANITIZED 1
#endif
#endif
#ifndef SANITIZED
#define SANITIZED 0
#endif

static volatile sig_atomic_t trapped; /* the flag */
static volatile sig_atomic_t caught;  /* calls while it was up */

#if !SANITIZED
static void tick(void)
{
    if (trapped)
        caught++;
}

/* glibc's own names for its allocator. */
void *__libc_malloc(size_t size);
void *__libc_calloc(size_t count, size_t size);
void *__libc_realloc(void *old, size_t size);
void __libc_free(void *old);

void *malloc(size_t size)
{
    tick();
    return __libc_malloc(size);
}

void *calloc(size_t count, size_t size)
{
    tick();
    return __libc_calloc(count, size);
}

void *realloc(void *old, size_t size)
{
    tick();
    return __libc_realloc(old, size);
}

void free(void *old)
{
    tick();
    __libc_free(old);
}

/* A function that notes the call and hands it on to the library's. */
#define TRAP(result, name, parameters, arguments)                                                  \
    result name parameters;                                                                        \
    result name parameters                                                                         \
    {                                                                                              \
        static result(*real) parameters;                                                           \
        tick();                                                                                    \
        if (!real) {                                                                               \
            void *found = dlsym(RTLD_NEXT, #name);                                                 \
            memcpy(&real, &found, sizeof real);                                                    \
        }                                                                                          \
        return real arguments;                                                                     \
    }

TRAP(int, pthread_mutex_lock, (pthread_mutex_t * m), (m))
TRAP(int, pthread_mutex_trylock, (pthread_mutex_t * m), (m))
TRAP(int, pthread_mutex_unlock, (pthread_mutex_t * m), (m))
TRAP(int, pthread_cond_wait, (pthread_cond_t * c, pthread_mutex_t *m), (c, m))
TRAP(int, pthread_cond_signal, (pthread_cond_t * c), (c))
TRAP(int, pthread_cond_broadcast, (pthread_cond_t * c), (c))
TRAP(int, pthread_rwlock_rdlock, (pthread_rwlock_t * l), (l))
TRAP(int, pthread_rwlock_wrlock, (pthread_rwlock_t * l), (l))
TRAP(int, sem_wait, (sem_t * s), (s))
TRAP(int, sem_post, (sem_t * s), (s))
TRAP(void *, aligned_alloc, (size_t alignment, size_t size), (alignment, size))
TRAP(int, posix_memalign, (void **block, size_t alignment, size_t size), (block, alignment, size))
TRAP(int, sched_yield, (void), ())
TRAP(ssize_t, write, (int fd, const void *bytes, size_t size), (fd, bytes, size))
TRAP(ssize_t, read, (int fd, void *bytes, size_t size), (fd, bytes, size))
TRAP(int, close, (int fd), (fd))
TRAP(int, nanosleep, (const struct timespec *t, struct timespec *left), (t, left))
TRAP(int, clock_gettime, (clockid_t id, struct timespec *t), (id, t))
TRAP(int, fputs, (const char *text, FILE *f), (text, f))
TRAP(size_t, fwrite, (const void *bytes, size_t size, size_t count, FILE *f),
    (bytes, size, count, f))
TRAP(int, puts, (const char *text), (text))
TRAP(int, vfprintf, (FILE * f, const char *format, va_list list), (f, format, list))
#endif

/* From here on any system call but exit and exit_group ends this process. */
static inline bool forbid_system_calls(void)
{
    struct sock_filter filter[] = {
        BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(struct seccomp_data, nr)),
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_exit, 2, 0),
        BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_exit_group, 1, 0),
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_KILL_PROCESS),
        BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW),
    };
    const struct sock_fprog program = {sizeof filter / sizeof filter[0], filter};
    return prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 &&
           prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program) == 0;
}

/* How a child ended that ran this under the filter; it says 42 when it came to its end. */
static inline int status_under_filter(void (*job)(void))
{
    fflush(NULL);
    const pid_t child = fork();
    if (child == 0) {
        if (!forbid_system_calls())
            _exit(7);
        job();
        syscall(SYS_exit, 42);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    return status;
}

#endif
