/* A disk in trouble, for the tests of what the program says then: loaded before the C library (LD_PRELOAD), it lets calls on
   files of records fail as the file named in DISK_TROUBLE tells with its first letter. Nothing else is touched.

   f  the disk is full: writing fails with ENOSPC
   w  writing fails with EIO
   q  this user may have no more of the disk: EDQUOT
   s  making sure that it is on the disk fails with EIO
   r  reading fails with EIO
   l  making sure takes two seconds */
#define _GNU_SOURCE
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <time.h>
#include <unistd.h>

/* Calls of the system by number, so that none of ours calls another of ours. */
static char trouble(int fd) {
    const char *told = getenv("DISK_TROUBLE");
    if (!told) return 0;
    char link[64], name[4096], letter = 0;
    snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
    ssize_t length = syscall(SYS_readlinkat, AT_FDCWD, link, name, sizeof name - 1);
    if (length <= 0) return 0;
    name[length] = 0;
    if (!strstr(name, ".tenunder") || strstr(name, ".key")) return 0;
    int told_fd = (int)syscall(SYS_openat, AT_FDCWD, told, O_RDONLY);
    if (told_fd < 0) return 0;
    if (syscall(SYS_read, told_fd, &letter, 1) != 1) letter = 0;
    syscall(SYS_close, told_fd);
    return letter;
}

static int fails_to_write(int fd) {
    switch (trouble(fd)) {
    case 'f': errno = ENOSPC; return 1;
    case 'w': errno = EIO; return 1;
    case 'q': errno = EDQUOT; return 1;
    default: return 0;
    }
}

static int fails_to_read(int fd) {
    if (trouble(fd) != 'r') return 0;
    errno = EIO;
    return 1;
}

ssize_t write(int fd, const void *from, size_t bytes) {
    return fails_to_write(fd) ? -1 : syscall(SYS_write, fd, from, bytes);
}

ssize_t pwrite64(int fd, const void *from, size_t bytes, off64_t at) {
    return fails_to_write(fd) ? -1 : syscall(SYS_pwrite64, fd, from, bytes, at);
}

ssize_t pwrite(int fd, const void *from, size_t bytes, off_t at) { return pwrite64(fd, from, bytes, at); }

ssize_t read(int fd, void *to, size_t bytes) { return fails_to_read(fd) ? -1 : syscall(SYS_read, fd, to, bytes); }

ssize_t pread64(int fd, void *to, size_t bytes, off64_t at) {
    return fails_to_read(fd) ? -1 : syscall(SYS_pread64, fd, to, bytes, at);
}

ssize_t pread(int fd, void *to, size_t bytes, off_t at) { return pread64(fd, to, bytes, at); }

static int syncs(int fd, long call) {
    struct timespec two_seconds = {2, 0};
    switch (trouble(fd)) {
    case 's': errno = EIO; return -1;
    case 'l': nanosleep(&two_seconds, NULL); break;
    default: break;
    }
    return (int)syscall(call, fd);
}

int fsync(int fd) { return syncs(fd, SYS_fsync); }

int fdatasync(int fd) { return syncs(fd, SYS_fdatasync); }
