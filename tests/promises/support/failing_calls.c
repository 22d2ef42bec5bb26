/* Sits between a program and the C library (LD_PRELOAD), and makes calls on one folder fail.

   BREAK_FOLDER   the folder, as an absolute path; calls on anything else pass unchanged
   BREAK_CLASSES  which calls are numbered, any of: r (reads), l (locks), w (may change something)
   BREAK_TRACE    a file that gets a line for each numbered call: CLASS CALL NAME
   BREAK_AGAIN    if set, the program goes on once for each line of its standard input (see `again`):
                  `start`  from its start
                  `change` from its first call that may change more than the lock; the first line
                           is for the way up to there
   BREAK_FAULTS   what happens, faults separated by spaces, each HOW:CALLS:AT:ERRNO

   CALLS  the names that the fault counts, separated by commas, or * for every numbered call
   AT     the number among those, from 1, of the call that it happens to
   ERRNO  how it fails, as a number
   HOW    fail   that call fails
          from   that call and every later one that the fault counts fail
          short  that call, a write, takes half of its bytes, and the next write fails
          kill   the process is killed just before that call
          half   the process is killed when that call, a write, has taken half of its bytes

   Each fault counts separately: with `fail:fsync,fdatasync:2:5 kill:*:9:0` the second sync fails,
   and the process is killed at its ninth call.

   Every call that the program makes is here (nm -D lists them; a test compares), and every call
   that it could make instead. */
#define _GNU_SOURCE
#include <dirent.h>
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <sched.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/sendfile.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum deed { GO, FAIL, HALF };

#define MOST 4

static struct fault {
    char how[8], calls[128];
    long at;
    int error;
    atomic_long count;
    atomic_int short_of;
} faults[MOST];
static int found;

static const char *setting(const char *name) {
    const char *value = getenv(name);
    return value ? value : "";
}

static void read_faults(void) {
    const char *rest = setting("BREAK_FAULTS");
    int length = 0;
    while (found < MOST) {
        struct fault *fault = &faults[found];
        int read = sscanf(rest, " %7[a-z]:%127[^:]:%ld:%d%n", fault->how, fault->calls, &fault->at,
                          &fault->error, &length);
        if (read != 4) break;
        rest += length;
        found++;
    }
    /* An unknown fault must not look like one that never happens. */
    if (rest[strspn(rest, " ")] != '\0') abort();
}

/* Where the standard input and output of the tests are kept. The program gets its own. */
enum { ASKED = 200, ANSWERED };

/* The next line that is asked, without its end. It is read byte by byte, because the rest is for
   later. */
static int next_line(char *line, size_t size) {
    for (size_t at = 0; at + 1 < size; at++) {
        if (syscall(SYS_read, ASKED, line + at, 1) != 1) return 0;
        if (line[at] == '\n') return line[at] = '\0', 1;
    }
    return 0;
}

static void as(int fd, const char *path, int flags) {
    long opened = syscall(SYS_openat, AT_FDCWD, path, flags, 0666);
    if (opened < 0 || syscall(SYS_dup3, opened, fd, 0) < 0) abort();
    syscall(SYS_close, opened);
}

/* The settings of a run, from a line: FOLDER, CLASSES, TRACE, FAULTS, a file for each output. */
static void begin(char *line) {
    static const char *const names[] = {"BREAK_FOLDER", "BREAK_CLASSES", "BREAK_TRACE",
                                        "BREAK_FAULTS"};
    for (int index = 0; index < 4; index++) setenv(names[index], strsep(&line, "\t"), 1);
    unsetenv("BREAK_AGAIN");
    if (chdir(setting("BREAK_FOLDER"))) abort();
    as(STDIN_FILENO, "/dev/null", O_RDONLY);
    as(STDOUT_FILENO, strsep(&line, "\t"), O_WRONLY | O_APPEND | O_CREAT);
    as(STDERR_FILENO, line, O_WRONLY | O_APPEND | O_CREAT);
}

/* The locks that are held when the program first waits, by descriptor. */
static int held[64];

static void holds(int fd, int how) {
    if (fd >= 0 && fd < 64) held[fd] = how;
}

/* Opens what is locked once more in this copy: its locks end with it, as those of a program do. */
static void lock_again(void) {
    for (int fd = 0; fd < 64; fd++) {
        char link[64];
        if (!held[fd]) continue;
        snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
        as(fd, link, syscall(SYS_fcntl, fd, F_GETFL) & (O_ACCMODE | O_APPEND));
        if (syscall(SYS_fcntl, fd, F_SETFD, FD_CLOEXEC) || syscall(SYS_flock, fd, held[fd])) abort();
    }
}

/* Most of a short run is loading the program and what it does before it writes. So this is done
   once, and a copy of the process goes on for each line; how each ended (wait(2)) is a line of the
   answer. */
static void again(void) {
    char line[16384];
    for (int fd = 0; fd < 64; fd++)
        if (held[fd] && syscall(SYS_flock, fd, LOCK_UN)) abort();
    dprintf(ANSWERED, "waits\n");
    while (next_line(line, sizeof line)) {
        pid_t copy = fork();
        if (copy == 0) return lock_again(), begin(line), read_faults();
        int status = 0;
        if (copy < 0 || waitpid(copy, &status, 0) != copy) abort();
        dprintf(ANSWERED, "%d\n", status);
    }
    _exit(0);
}

/* Whether the program is on its way to its first change. */
static int is_early;

__attribute__((constructor)) static void prepare(void) {
    char line[16384];
    if (!*setting("BREAK_AGAIN")) return read_faults();
    is_early = strcmp(setting("BREAK_AGAIN"), "change") == 0;
    for (int fd = STDIN_FILENO; fd <= STDOUT_FILENO; fd++)
        if (syscall(SYS_dup3, fd, ASKED + fd, O_CLOEXEC) < 0) abort();
    if (!is_early) return again();
    if (!next_line(line, sizeof line)) abort();
    begin(line);
}

static int is(const struct fault *fault, const char *how) { return strcmp(fault->how, how) == 0; }

/* Whether the fault counts calls of this name. */
static int counts(const struct fault *fault, const char *call) {
    size_t length = strlen(call);
    if (strcmp(fault->calls, "*") == 0) return 1;
    for (const char *at = fault->calls; (at = strstr(at, call)); at += length)
        if ((at == fault->calls || at[-1] == ',') && (at[length] == ',' || at[length] == '\0'))
            return 1;
    return 0;
}

static void die(void) {
    syscall(SYS_kill, syscall(SYS_getpid), SIGKILL);
    for (;;) pause();
}

/* The name within the folder, "." for the folder itself, NULL for anything else. */
static const char *within(char *path) {
    const char *folder = setting("BREAK_FOLDER");
    size_t length = strlen(folder);
    if (length == 0 || strncmp(path, folder, length) != 0) return NULL;
    if (path[length] == '\0') return ".";
    return path[length] == '/' ? path + length + 1 : NULL;
}

static const char *by_path(const char *path, char *room, size_t size) {
    char here[4096];
    if (path[0] == '/') {
        snprintf(room, size, "%s", path);
    } else if (getcwd(here, sizeof here)) {
        snprintf(room, size, "%s/%s", here, path);
    } else {
        return NULL;
    }
    for (char *dot; (dot = strstr(room, "/./"));) memmove(dot, dot + 2, strlen(dot + 2) + 1);
    size_t end = strlen(room);
    while (end > 2 && strcmp(room + end - 2, "/.") == 0) room[end -= 2] = '\0';
    while (end > 1 && room[end - 1] == '/') room[--end] = '\0';
    return within(room);
}

static const char *by_number(int fd, char *room, size_t size) {
    char link[64];
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    long length = syscall(SYS_readlinkat, AT_FDCWD, link, room, size - 1);
    if (length < 0) return NULL;
    room[length] = '\0';
    return within(room);
}

/* A path relative to the folder that is open as `in`. */
static const char *by_path_in(int in, const char *path, char *room, size_t size) {
    char whole[8192];
    if (in == AT_FDCWD || path[0] == '/') return by_path(path, room, size);
    by_number(in, room, size);
    snprintf(whole, sizeof whole, "%s/%s", room, path);
    return by_path(whole, room, size);
}

static void trace(char class, const char *call, const char *name) {
    char line[4200];
    int length = snprintf(line, sizeof line, "%c %s %s\n", class, call, name);
    long fd = syscall(SYS_openat, AT_FDCWD, setting("BREAK_TRACE"),
                      O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC, 0666);
    if (fd < 0) return;
    syscall(SYS_write, fd, line, length);
    syscall(SYS_close, fd);
}

/* The effect of one fault on a call; sets errno if the call fails. */
static enum deed deed_of(struct fault *fault, const char *call) {
    int writes = strcmp(call, "write") == 0;
    if (!counts(fault, call)) return GO;
    long now = atomic_fetch_add(&fault->count, 1) + 1;
    if (writes && atomic_exchange(&fault->short_of, 0)) goto fail;
    if (now < fault->at || (now > fault->at && !is(fault, "from"))) return GO;
    if (is(fault, "kill")) die();
    if (is(fault, "half") || is(fault, "short")) {
        if (is(fault, "short")) atomic_store(&fault->short_of, writes);
        return writes ? HALF : GO;
    }
fail:
    errno = fault->error;
    return FAIL;
}

static int is_numbered(char class) { return strchr(setting("BREAK_CLASSES"), class) != NULL; }

/* The effect of all faults on a call of a numbered class; sets errno if the call fails. */
static enum deed deed(char class, const char *call, const char *name) {
    int saved = errno;
    enum deed what = GO;
    if (!name) return GO;
    if (is_early && class == 'w' && strcmp(name, "book.lock") != 0) {
        is_early = 0;
        again();
    }
    trace(class, call, name);
    errno = saved;
    for (int index = 0; index < found; index++) {
        enum deed this = deed_of(&faults[index], call);
        if (what == GO) what = this;
    }
    return what;
}

/* Whether the process is to be killed in the middle of a write. */
static int ends_at_half(void) {
    for (int index = 0; index < found; index++)
        if (is(&faults[index], "half")) return 1;
    return 0;
}

#define REAL(name) \
    ({ \
        static __typeof__(&name) real; \
        if (!real) real = (__typeof__(&name))dlsym(RTLD_NEXT, #name); \
        real; \
    })
#define BY_PATH(class, call, path) \
    char room[4096]; \
    enum deed what = \
        is_numbered(class) ? deed(class, call, by_path(path, room, sizeof room)) : GO
#define BY_PATH_IN(class, call, in, path) \
    char room[4096]; \
    enum deed what = \
        is_numbered(class) ? deed(class, call, by_path_in(in, path, room, sizeof room)) : GO
#define BY_NUMBER(class, call, fd) \
    char room[4096]; \
    enum deed what = \
        is_numbered(class) ? deed(class, call, by_number(fd, room, sizeof room)) : GO
/* A call that takes a path or a file descriptor, and either works or fails. */
#define CALL(type, class, how, key, name, parameters, arguments) \
    type name parameters { \
        how(class, #name, key); \
        return what == FAIL ? (type)-1 : REAL(name) arguments; \
    }
#define CALL_IN(type, class, in, path, name, parameters, arguments) \
    type name parameters { \
        BY_PATH_IN(class, #name, in, path); \
        return what == FAIL ? (type)-1 : REAL(name) arguments; \
    }
/* A call that returns a pointer, or NULL. */
#define POINTER(type, class, how, key, name, parameters, arguments) \
    type name parameters { \
        how(class, #name, key); \
        return what == FAIL ? NULL : REAL(name) arguments; \
    }

static char opened(int flags) {
    return (flags & (O_WRONLY | O_RDWR | O_CREAT | O_TRUNC)) ? 'w' : 'r';
}

#define MODE(flags) \
    va_list more; \
    va_start(more, flags); \
    mode_t mode = (flags & (O_CREAT | O_TMPFILE)) ? va_arg(more, mode_t) : 0; \
    va_end(more)
#define OPEN(name) \
    int name(const char *path, int flags, ...) { \
        MODE(flags); \
        BY_PATH(opened(flags), flags & O_CREAT ? "create" : "open", path); \
        return what == FAIL ? -1 : REAL(name)(path, flags, mode); \
    }
#define OPEN_IN(name) \
    int name(int in, const char *path, int flags, ...) { \
        MODE(flags); \
        BY_PATH_IN(opened(flags), flags & O_CREAT ? "create" : "open", in, path); \
        return what == FAIL ? -1 : REAL(name)(in, path, flags, mode); \
    }

OPEN(open)
OPEN(open64)
OPEN_IN(openat)
OPEN_IN(openat64)

CALL(ssize_t, 'r', BY_NUMBER, fd, read, (int fd, void *bytes, size_t size), (fd, bytes, size))
CALL(ssize_t, 'r', BY_NUMBER, fd, readv, (int fd, const struct iovec *parts, int n), (fd, parts, n))
CALL(off64_t, 'r', BY_NUMBER, fd, lseek64, (int fd, off64_t to, int from), (fd, to, from))
CALL(int, 'r', BY_NUMBER, fd, fstat64, (int fd, struct stat64 *stats), (fd, stats))
CALL(int, 'r', BY_PATH, path, stat64, (const char *path, struct stat64 *stats), (path, stats))
CALL(int, 'r', BY_PATH, path, lstat64, (const char *path, struct stat64 *stats), (path, stats))
CALL_IN(int, 'r', in, path, fstatat64,
        (int in, const char *path, struct stat64 *stats, int flags), (in, path, stats, flags))
POINTER(DIR *, 'r', BY_PATH, path, opendir, (const char *path), (path))
POINTER(struct dirent64 *, 'r', BY_NUMBER, dirfd(dir), readdir64, (DIR *dir), (dir))
POINTER(char *, 'r', BY_PATH, path, realpath, (const char *restrict path, char *restrict to),
        (path, to))
CALL(ssize_t, 'r', BY_PATH, path, readlink, (const char *path, char *to, size_t size),
     (path, to, size))
CALL(int, 'w', BY_NUMBER, fd, fsync, (int fd), (fd))
CALL(int, 'w', BY_NUMBER, fd, fdatasync, (int fd), (fd))
CALL(int, 'w', BY_NUMBER, fd, ftruncate64, (int fd, off64_t size), (fd, size))
CALL(int, 'w', BY_NUMBER, fd, fchmod, (int fd, mode_t mode), (fd, mode))
CALL(int, 'w', BY_PATH, path, mkdir, (const char *path, mode_t mode), (path, mode))
CALL(int, 'w', BY_PATH, path, rmdir, (const char *path), (path))
CALL(int, 'w', BY_PATH, path, unlink, (const char *path), (path))
CALL(int, 'w', BY_PATH, path, truncate64, (const char *path, off64_t size), (path, size))
CALL(int, 'w', BY_PATH, to, rename, (const char *from, const char *to), (from, to))
CALL(int, 'w', BY_PATH, to, link, (const char *from, const char *to), (from, to))
CALL_IN(int, 'w', to_in, to, renameat, (int from_in, const char *from, int to_in, const char *to),
        (from_in, from, to_in, to))
CALL_IN(int, 'w', to_in, to, renameat2,
        (int from_in, const char *from, int to_in, const char *to, unsigned flags),
        (from_in, from, to_in, to, flags))
CALL_IN(int, 'w', to_in, to, linkat,
        (int from_in, const char *from, int to_in, const char *to, int flags),
        (from_in, from, to_in, to, flags))
CALL_IN(int, 'w', in, path, unlinkat, (int in, const char *path, int flags), (in, path, flags))
CALL_IN(int, 'w', in, path, mkdirat, (int in, const char *path, mode_t mode), (in, path, mode))
CALL(ssize_t, 'w', BY_NUMBER, fd, writev, (int fd, const struct iovec *parts, int n), (fd, parts, n))
CALL(ssize_t, 'w', BY_NUMBER, fd, pwrite64,
     (int fd, const void *bytes, size_t size, off64_t at), (fd, bytes, size, at))
CALL(int, 'w', BY_NUMBER, fd, fallocate64, (int fd, int how, off64_t at, off64_t size),
     (fd, how, at, size))
CALL(ssize_t, 'w', BY_NUMBER, to, sendfile64, (int to, int from, off64_t *at, size_t size),
     (to, from, at, size))
CALL(ssize_t, 'w', BY_NUMBER, to, copy_file_range,
     (int from, off64_t *from_at, int to, off64_t *to_at, size_t size, unsigned flags),
     (from, from_at, to, to_at, size, flags))

int close(int fd) {
    BY_NUMBER('r', "close", fd);
    if (what == FAIL) return -1;
    if (is_early) holds(fd, 0);
    return REAL(close)(fd);
}

int flock(int fd, int how) {
    BY_NUMBER('l', "flock", fd);
    int failed = what == FAIL ? -1 : REAL(flock)(fd, how);
    if (is_early && !failed) holds(fd, how & LOCK_UN ? 0 : how);
    return failed;
}

/* It returns the error itself. */
int posix_fallocate64(int fd, off64_t at, off64_t size) {
    BY_NUMBER('w', "posix_fallocate64", fd);
    return what == FAIL ? errno : REAL(posix_fallocate64)(fd, at, size);
}

int statx(int in, const char *restrict path, int flags, unsigned mask,
          struct statx *restrict stats) {
    /* Without a path, the caller only asks whether this call exists. The header says that there is
       always a path, so the compiler must not see what is compared. */
    const char *volatile given = path;
    if (!given) return REAL(statx)(in, path, flags, mask, stats);
    if (path[0] == '\0') {
        BY_NUMBER('r', "statx", in);
        return what == FAIL ? -1 : REAL(statx)(in, path, flags, mask, stats);
    }
    BY_PATH('r', "statx", path);
    return what == FAIL ? -1 : REAL(statx)(in, path, flags, mask, stats);
}

/* On its way to the first change the program has one core, so that it starts no threads: a copy of
   a process has only the thread that asked for it. */
int sched_getaffinity(pid_t process, size_t size, cpu_set_t *cores) {
    if (!is_early) return REAL(sched_getaffinity)(process, size, cores);
    memset(cores, 0, size);
    CPU_SET_S(0, size, cores);
    return 0;
}

/* A program that waits for a lock sees the time pass, and the tests need not wait with it. */
static struct timespec slept;

int clock_nanosleep(clockid_t clock, int flags, const struct timespec *time, struct timespec *left) {
    if (flags || !*setting("BREAK_TRACE"))
        return REAL(clock_nanosleep)(clock, flags, time, left);
    slept.tv_sec += time->tv_sec + (slept.tv_nsec + time->tv_nsec) / 1000000000;
    slept.tv_nsec = (slept.tv_nsec + time->tv_nsec) % 1000000000;
    return 0;
}

int clock_gettime(clockid_t clock, struct timespec *time) {
    int failed = REAL(clock_gettime)(clock, time);
    if (failed) return failed;
    time->tv_sec += slept.tv_sec + (slept.tv_nsec + time->tv_nsec) / 1000000000;
    time->tv_nsec = (slept.tv_nsec + time->tv_nsec) % 1000000000;
    return 0;
}

ssize_t write(int fd, const void *bytes, size_t size) {
    if (fd == STDOUT_FILENO) {
        int saved = errno;
        trace('-', "says", "stdout");
        errno = saved;
    }
    BY_NUMBER('w', "write", fd);
    if (what == FAIL) return -1;
    if (what == GO) return REAL(write)(fd, bytes, size);
    ssize_t half = REAL(write)(fd, bytes, size > 1 ? size / 2 : size);
    if (ends_at_half()) die();
    return half;
}
