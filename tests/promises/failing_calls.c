/* Stands between a program and the C library (LD_PRELOAD), and makes calls on one folder fail.

   BREAK_FOLDER   the folder, as an absolute path; calls on anything else go through untouched
   BREAK_CLASSES  which calls are numbered, any of: r (reads), l (locks), w (may change something)
   BREAK_TRACE    a file that gets a line for each numbered call: CLASS CALL NAME
   BREAK_AT       the number of the call that something happens to, from 1; 0 for none
   BREAK_HOW      fail   that call fails
                  from   that call and every later one fail
                  short  that call, a write, takes half of its bytes, and the next write fails
                  kill   the process is killed just before that call
                  half   the process is killed when that call, a write, has taken half of its bytes
   BREAK_ERRNO    how it fails, as a number

   Only what the program calls is here: nm -D lists it. */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <sys/uio.h>
#include <unistd.h>

enum deed { GO, FAIL, HALF };

static atomic_long count;
static atomic_int short_of;

static const char *setting(const char *name) {
    const char *value = getenv(name);
    return value ? value : "";
}

static int is(const char *how) { return strcmp(setting("BREAK_HOW"), how) == 0; }

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

static void trace(char class, const char *call, const char *name) {
    char line[4200];
    int length = snprintf(line, sizeof line, "%c %s %s\n", class, call, name);
    long fd = syscall(SYS_openat, AT_FDCWD, setting("BREAK_TRACE"),
                      O_WRONLY | O_APPEND | O_CREAT | O_CLOEXEC, 0666);
    if (fd < 0) return;
    syscall(SYS_write, fd, line, length);
    syscall(SYS_close, fd);
}

/* What becomes of a call; sets errno when it fails. */
static enum deed deed(char class, const char *call, const char *name) {
    int saved = errno;
    if (!name || !strchr(setting("BREAK_CLASSES"), class)) return GO;
    trace(class, call, name);
    errno = saved;
    long now = atomic_fetch_add(&count, 1) + 1, at = atol(setting("BREAK_AT"));
    int writes = strcmp(call, "write") == 0;
    if (writes && atomic_exchange(&short_of, 0)) goto fail;
    if (at == 0 || now < at || (now > at && !is("from"))) return GO;
    if (is("kill")) die();
    if (is("half") || is("short")) {
        if (is("short")) atomic_store(&short_of, writes);
        return writes ? HALF : GO;
    }
fail:
    errno = atoi(setting("BREAK_ERRNO"));
    return FAIL;
}

#define REAL(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))
#define BY_PATH(class, call, path) \
    char room[4096]; \
    enum deed what = deed(class, call, by_path(path, room, sizeof room))
#define BY_NUMBER(class, call, fd) \
    char room[4096]; \
    enum deed what = deed(class, call, by_number(fd, room, sizeof room))
/* A call that takes a path, or a file by its number, and either works or fails. */
#define CALL(type, class, how, key, name, parameters, arguments) \
    type name parameters { \
        how(class, #name, key); \
        return what == FAIL ? (type)-1 : REAL(name) arguments; \
    }

static char opened(int flags) {
    return (flags & (O_WRONLY | O_RDWR | O_CREAT | O_TRUNC)) ? 'w' : 'r';
}

#define OPEN(name) \
    int name(const char *path, int flags, ...) { \
        va_list more; \
        va_start(more, flags); \
        mode_t mode = (flags & (O_CREAT | O_TMPFILE)) ? va_arg(more, mode_t) : 0; \
        va_end(more); \
        BY_PATH(opened(flags), flags & O_CREAT ? "create" : "open", path); \
        return what == FAIL ? -1 : REAL(name)(path, flags, mode); \
    }

OPEN(open)
OPEN(open64)

CALL(ssize_t, 'r', BY_NUMBER, fd, read, (int fd, void *bytes, size_t size), (fd, bytes, size))
CALL(ssize_t, 'r', BY_NUMBER, fd, readv, (int fd, const struct iovec *parts, int n), (fd, parts, n))
CALL(off64_t, 'r', BY_NUMBER, fd, lseek64, (int fd, off64_t to, int from), (fd, to, from))
CALL(int, 'r', BY_NUMBER, fd, close, (int fd), (fd))
CALL(int, 'r', BY_NUMBER, fd, fstat64, (int fd, struct stat64 *found), (fd, found))
CALL(int, 'r', BY_PATH, path, stat64, (const char *path, struct stat64 *found), (path, found))
CALL(int, 'r', BY_PATH, path, lstat64, (const char *path, struct stat64 *found), (path, found))
CALL(int, 'l', BY_NUMBER, fd, flock, (int fd, int how), (fd, how))
CALL(int, 'w', BY_NUMBER, fd, fsync, (int fd), (fd))
CALL(int, 'w', BY_NUMBER, fd, fdatasync, (int fd), (fd))
CALL(int, 'w', BY_NUMBER, fd, ftruncate64, (int fd, off64_t size), (fd, size))
CALL(int, 'w', BY_NUMBER, fd, fchmod, (int fd, mode_t mode), (fd, mode))
CALL(int, 'w', BY_PATH, path, mkdir, (const char *path, mode_t mode), (path, mode))
CALL(int, 'w', BY_PATH, path, rmdir, (const char *path), (path))
CALL(int, 'w', BY_PATH, path, unlink, (const char *path), (path))
CALL(int, 'w', BY_PATH, to, rename, (const char *from, const char *to), (from, to))
CALL(int, 'w', BY_PATH, to, linkat,
     (int from_in, const char *from, int to_in, const char *to, int flags),
     (from_in, from, to_in, to, flags))
CALL(ssize_t, 'w', BY_NUMBER, fd, writev, (int fd, const struct iovec *parts, int n), (fd, parts, n))
CALL(ssize_t, 'w', BY_NUMBER, fd, pwrite64,
     (int fd, const void *bytes, size_t size, off64_t at), (fd, bytes, size, at))

int statx(int in, const char *restrict path, int flags, unsigned mask,
          struct statx *restrict found) {
    /* Without a path it is only asked whether there is such a call. The header says that there
       always is one, so that the compiler must not see what is compared. */
    const char *volatile given = path;
    if (!given) return REAL(statx)(in, path, flags, mask, found);
    if (path[0] == '\0') {
        BY_NUMBER('r', "statx", in);
        return what == FAIL ? -1 : REAL(statx)(in, path, flags, mask, found);
    }
    BY_PATH('r', "statx", path);
    return what == FAIL ? -1 : REAL(statx)(in, path, flags, mask, found);
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
    if (is("half")) die();
    return half;
}
