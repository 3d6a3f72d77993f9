/* Loaded into a hub before the C library (LD_PRELOAD): a disk that reports errors.
 *
 * FAIL_READ_INODE, FAIL_READ  of a file, under whatever name, and "FROM-TO": reads that touch these bytes fail with EIO
 * FAIL_WRITE_BELOW            part of a path: each write to such a file, and each sync of it, fails with EIO */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/types.h>
#include <unistd.h>

static int path_of(int fd, char *path, size_t size) {
  char link[64];
  snprintf(link, sizeof link, "/proc/self/fd/%d", fd);
  ssize_t length = readlink(link, path, size - 1);
  if (length < 0) return 0;
  path[length] = 0;
  return 1;
}

static int fails_read(int fd, off_t at, size_t count) {
  const char *wanted = getenv("FAIL_READ_INODE"), *range = getenv("FAIL_READ");
  struct stat found;
  long from, to;
  if (!wanted || !range || sscanf(range, "%ld-%ld", &from, &to) != 2 || fstat(fd, &found) != 0) return 0;
  return found.st_ino == strtoull(wanted, NULL, 10) && at < to && at + (off_t)count > from;
}

static int fails_write(int fd) {
  const char *wanted = getenv("FAIL_WRITE_BELOW");
  char path[4096];
  return wanted && fd > 2 && path_of(fd, path, sizeof path) && strstr(path, wanted) != NULL;
}

#define REAL(name) \
  static __typeof__(&name) real; \
  if (!real) real = (__typeof__(&name))dlsym(RTLD_NEXT, #name)
#define FAIL \
  do { \
    errno = EIO; \
    return -1; \
  } while (0)

#define READ(name) \
  ssize_t name(int fd, void *to, size_t count, off_t at) { \
    REAL(name); \
    if (fails_read(fd, at, count)) FAIL; \
    return real(fd, to, count, at); \
  }
READ(pread)
READ(pread64)

#define WRITE(name) \
  ssize_t name(int fd, const void *from, size_t count, off_t at) { \
    REAL(name); \
    if (fails_write(fd)) FAIL; \
    return real(fd, from, count, at); \
  }
WRITE(pwrite)
WRITE(pwrite64)

ssize_t write(int fd, const void *from, size_t count) {
  REAL(write);
  if (fails_write(fd)) FAIL;
  return real(fd, from, count);
}

#define SYNC(name) \
  int name(int fd) { \
    REAL(name); \
    if (fails_write(fd)) FAIL; \
    return real(fd); \
  }
SYNC(fsync)
SYNC(fdatasync)
