// Put before the C library with LD_PRELOAD: lets one call of a program fail, or kills it there. Counted are calls that
// change files under a folder, or requests for memory.
//   FAULT        EIO | ENOSPC | kill | memory; without it calls are only counted
//   FAULT_AT     which call, from 1; FAULT_EVER=1: and all after it
//   FAULT_UNDER  the folder
//   FAULT_COUNT  a file outside that folder, which gets the number of calls at the end
//   CLOCK_AT     seconds since 1970 that the clock on the wall shows, so that months can be played
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/sendfile.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

extern void *__libc_malloc(size_t);
extern void *__libc_calloc(size_t, size_t);
extern void *__libc_realloc(void *, size_t);

static int is_set, for_ever, is_memory, is_kill, fails_with;
static long at, calls, requests;
static const char *under;

__attribute__((constructor)) static void set_up(void) {
  const char *fault = getenv("FAULT");
  under = getenv("FAULT_UNDER");
  at = getenv("FAULT_AT") ? atol(getenv("FAULT_AT")) : 0;
  for_ever = getenv("FAULT_EVER") != NULL;
  if (fault) {
    is_memory = strcmp(fault, "memory") == 0;
    is_kill = strcmp(fault, "kill") == 0;
    fails_with = strcmp(fault, "EIO") == 0 ? EIO : strcmp(fault, "ENOSPC") == 0 ? ENOSPC : 0;
  }
  is_set = 1;
}
__attribute__((destructor)) static void tell(void) {
  const char *path = getenv("FAULT_COUNT");
  is_set = 0;
  if (path == NULL) return;
  FILE *file = fopen(path, "w");
  if (file == NULL) return;
  fprintf(file, "%ld %ld\n", calls, requests);
  fclose(file);
}

static int is_turn(long call) { return at != 0 && (for_ever ? call >= at : call == at); }

static int fails_memory(void) { return is_set && (++requests, is_memory && is_turn(requests)); }
void *malloc(size_t size) {
  if (fails_memory()) return errno = ENOMEM, NULL;
  return __libc_malloc(size);
}
void *calloc(size_t count, size_t size) {
  if (fails_memory()) return errno = ENOMEM, NULL;
  return __libc_calloc(count, size);
}
void *realloc(void *old, size_t size) {
  if (fails_memory()) return errno = ENOMEM, NULL;
  return __libc_realloc(old, size);
}

// True when this call is to fail. What takes no room does not fail on a full disk.
static int fails(int takes_room) {
  ++calls;
  if (!is_turn(calls)) return 0;
  if (is_kill) kill(getpid(), SIGKILL);
  if (fails_with == 0 || (fails_with == ENOSPC && !takes_room)) return 0;
  errno = fails_with;
  return 1;
}
static int is_ours(const char *path) { return is_set && under != NULL && path != NULL && strncmp(path, under, strlen(under)) == 0; }
static int is_our_file(int file) {
  char link[64], path[4096];
  if (!is_set || under == NULL) return 0;
  snprintf(link, sizeof link, "/proc/self/fd/%d", file);
  const ssize_t length = readlink(link, path, sizeof path - 1);
  if (length <= 0) return 0;
  path[length] = '\0';
  return is_ours(path);
}

#define REAL(name) ((__typeof__(&name))dlsym(RTLD_NEXT, #name))

int clock_gettime(clockid_t which, struct timespec *now) {
  const char *shown = getenv("CLOCK_AT");
  if (which != CLOCK_REALTIME || shown == NULL) return REAL(clock_gettime)(which, now);
  now->tv_sec = atol(shown);
  now->tv_nsec = 0;
  return 0;
}

ssize_t write(int file, const void *bytes, size_t size) {
  return is_our_file(file) && fails(1) ? -1 : REAL(write)(file, bytes, size);
}
ssize_t pwrite(int file, const void *bytes, size_t size, off_t offset) {
  if (is_our_file(file) && fails(1)) {
    const int reason = errno;
    REAL(pwrite)(file, bytes, size / 2, offset);  // half of it arrives
    errno = reason;
    return -1;
  }
  return REAL(pwrite)(file, bytes, size, offset);
}
ssize_t pwrite64(int file, const void *bytes, size_t size, off64_t offset) { return pwrite(file, bytes, size, offset); }
ssize_t sendfile(int to, int from, off_t *offset, size_t size) {
  return is_our_file(to) && fails(1) ? -1 : REAL(sendfile)(to, from, offset, size);
}
ssize_t copy_file_range(int from, off64_t *from_offset, int to, off64_t *to_offset, size_t size, unsigned flags) {
  return is_our_file(to) && fails(1) ? -1 : REAL(copy_file_range)(from, from_offset, to, to_offset, size, flags);
}
int ftruncate(int file, off_t size) { return is_our_file(file) && fails(0) ? -1 : REAL(ftruncate)(file, size); }
int ftruncate64(int file, off64_t size) { return ftruncate(file, size); }
int fsync(int file) { return is_our_file(file) && fails(0) ? -1 : REAL(fsync)(file); }
int fdatasync(int file) { return is_our_file(file) && fails(0) ? -1 : REAL(fdatasync)(file); }
int rename(const char *from, const char *to) { return is_ours(to) && fails(0) ? -1 : REAL(rename)(from, to); }
int link(const char *from, const char *to) { return is_ours(to) && fails(1) ? -1 : REAL(link)(from, to); }
int unlink(const char *path) { return is_ours(path) && fails(0) ? -1 : REAL(unlink)(path); }
int mkdir(const char *path, mode_t mode) { return is_ours(path) && fails(1) ? -1 : REAL(mkdir)(path, mode); }
int open(const char *path, int flags, ...) {
  va_list rest;
  va_start(rest, flags);
  const mode_t mode = (flags & O_CREAT) != 0 ? va_arg(rest, mode_t) : 0;
  va_end(rest);
  if ((flags & O_CREAT) != 0 && is_ours(path) && fails(1)) return -1;
  return REAL(open)(path, flags, mode);
}
int open64(const char *path, int flags, ...) {
  va_list rest;
  va_start(rest, flags);
  const mode_t mode = (flags & O_CREAT) != 0 ? va_arg(rest, mode_t) : 0;
  va_end(rest);
  return open(path, flags, mode);
}
