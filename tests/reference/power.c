/* Writes down what a program does to the files of one folder: a library to be loaded before all others
 * (LD_PRELOAD). POWER_FOLDER is the folder, POWER_LOG the file that the record goes to.
 *
 * A record is a line of words and, behind it, as many bytes as its last number says:
 *
 *   open ID PATH           a file was opened that may be written to; ID counts the opens
 *   write ID OFFSET COUNT  these bytes went to that place
 *   cut ID LENGTH          the file has this length now
 *   sync ID                all of it is on the disk
 *   rename FROM / TO       (a line each)
 *   unlink PATH
 *   dirsync PATH           a folder was synced
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <fcntl.h>
#include <limits.h>
#include <pthread.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/uio.h>
#include <unistd.h>

#define MOST 4096
static pthread_mutex_t turn = PTHREAD_MUTEX_INITIALIZER;
static int ids[MOST];
static int opened;
static FILE *out;

#define REAL(type, name, ...) \
    static type (*real)(__VA_ARGS__); \
    if (!real) real = (type (*)(__VA_ARGS__))dlsym(RTLD_NEXT, name)

static int ours(const char *path) {
    const char *folder = getenv("POWER_FOLDER");
    return folder && path && strncmp(path, folder, strlen(folder)) == 0;
}

static FILE *record(void) {
    if (!out) {
        const char *name = getenv("POWER_LOG");
        out = name ? fopen(name, "ae") : NULL;
    }
    return out;
}

static int noted(int fd, const char *path, int flags) {
    if (fd < 0 || fd >= MOST) return fd;
    pthread_mutex_lock(&turn);
    ids[fd] = 0;
    if (ours(path) && record()) {
        struct stat s;
        int folder = fstat(fd, &s) == 0 && S_ISDIR(s.st_mode);
        if (folder || (flags & O_ACCMODE) != O_RDONLY) {
            ids[fd] = ++opened;
            fprintf(out, "%s %d %s\n", folder ? "folder" : "open", ids[fd], path);
            if (flags & O_TRUNC) fprintf(out, "cut %d 0\n", ids[fd]);
            fflush(out);
        }
    }
    pthread_mutex_unlock(&turn);
    return fd;
}

#define OPEN(name) \
    int name(const char *path, int flags, ...) { \
        REAL(int, #name, const char *, int, ...); \
        mode_t mode = 0; \
        if (flags & (O_CREAT | O_TMPFILE)) { va_list more; va_start(more, flags); mode = va_arg(more, mode_t); va_end(more); } \
        return noted(real(path, flags, mode), path, flags); \
    }
OPEN(open)
OPEN(open64)

#define OPENAT(name) \
    int name(int at, const char *path, int flags, ...) { \
        REAL(int, #name, int, const char *, int, ...); \
        mode_t mode = 0; \
        if (flags & (O_CREAT | O_TMPFILE)) { va_list more; va_start(more, flags); mode = va_arg(more, mode_t); va_end(more); } \
        return noted(real(at, path, flags, mode), path, flags); \
    }
OPENAT(openat)
OPENAT(openat64)

static void put(int fd, const void *bytes, ssize_t count, off_t at) {
    if (count <= 0 || fd < 0 || fd >= MOST || !ids[fd]) return;
    pthread_mutex_lock(&turn);
    if (record()) {
        fprintf(out, "write %d %lld %zd\n", ids[fd], (long long)at, count);
        fwrite(bytes, 1, (size_t)count, out);
        fflush(out);
    }
    pthread_mutex_unlock(&turn);
}

ssize_t write(int fd, const void *bytes, size_t count) {
    REAL(ssize_t, "write", int, const void *, size_t);
    ssize_t done = real(fd, bytes, count);
    if (fd >= 0 && fd < MOST && ids[fd]) put(fd, bytes, done, lseek(fd, 0, SEEK_CUR) - done);
    return done;
}

ssize_t writev(int fd, const struct iovec *all, int count) {
    REAL(ssize_t, "writev", int, const struct iovec *, int);
    ssize_t done = real(fd, all, count);
    if (fd >= 0 && fd < MOST && ids[fd] && done > 0) {
        off_t at = lseek(fd, 0, SEEK_CUR) - done;
        ssize_t left = done;
        for (int i = 0; i < count && left > 0; i++) {
            ssize_t part = (ssize_t)all[i].iov_len < left ? (ssize_t)all[i].iov_len : left;
            put(fd, all[i].iov_base, part, at);
            at += part;
            left -= part;
        }
    }
    return done;
}

#define PWRITE(name, type) \
    ssize_t name(int fd, const void *bytes, size_t count, type at) { \
        REAL(ssize_t, #name, int, const void *, size_t, type); \
        ssize_t done = real(fd, bytes, count, at); \
        put(fd, bytes, done, (off_t)at); \
        return done; \
    }
PWRITE(pwrite, off_t)
PWRITE(pwrite64, off64_t)

static void line(int fd, const char *what, long long number) {
    if (fd < 0 || fd >= MOST || !ids[fd]) return;
    pthread_mutex_lock(&turn);
    if (record()) {
        fprintf(out, number < 0 ? "%s %d\n" : "%s %d %lld\n", what, ids[fd], number);
        fflush(out);
    }
    pthread_mutex_unlock(&turn);
}

#define CUT(name, type) \
    int name(int fd, type length) { \
        REAL(int, #name, int, type); \
        int done = real(fd, length); \
        if (done == 0) line(fd, "cut", (long long)length); \
        return done; \
    }
CUT(ftruncate, off_t)
CUT(ftruncate64, off64_t)

#define SYNC(name) \
    int name(int fd) { \
        REAL(int, #name, int); \
        int done = real(fd); \
        if (done == 0) line(fd, "sync", -1); \
        return done; \
    }
SYNC(fsync)
SYNC(fdatasync)

int close(int fd) {
    REAL(int, "close", int);
    if (fd >= 0 && fd < MOST) ids[fd] = 0;
    return real(fd);
}

static void moved(const char *from, const char *to) {
    if (!ours(from) && !ours(to)) return;
    pthread_mutex_lock(&turn);
    if (record()) {
        fprintf(out, "rename %s\n%s\n", from, to);
        fflush(out);
    }
    pthread_mutex_unlock(&turn);
}

int rename(const char *from, const char *to) {
    REAL(int, "rename", const char *, const char *);
    int done = real(from, to);
    if (done == 0) moved(from, to);
    return done;
}

int renameat2(int a, const char *from, int b, const char *to, unsigned flags) {
    REAL(int, "renameat2", int, const char *, int, const char *, unsigned);
    int done = real(a, from, b, to, flags);
    if (done == 0) moved(from, to);
    return done;
}

int renameat(int a, const char *from, int b, const char *to) {
    REAL(int, "renameat", int, const char *, int, const char *);
    int done = real(a, from, b, to);
    if (done == 0) moved(from, to);
    return done;
}

int unlink(const char *path) {
    REAL(int, "unlink", const char *);
    int done = real(path);
    if (done == 0 && ours(path)) {
        pthread_mutex_lock(&turn);
        if (record()) {
            fprintf(out, "unlink %s\n", path);
            fflush(out);
        }
        pthread_mutex_unlock(&turn);
    }
    return done;
}
