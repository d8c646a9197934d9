/* Stands before the C library (LD_PRELOAD) and ends the program, or its disk, at one of the moments that
 * leave traces: each write to a file of the records, each sync and rename of one, each datagram. So the
 * program that is tested holds no code for it. Set by the environment:
 *
 *   KILL_AT_RECORDS  the folder of records, an absolute path
 *   KILL_AT          which of them, from 1; 0 or unset: none, they are only written down
 *   KILL_AT_HOW      before: SIGKILL instead of that call
 *                    after:  SIGKILL when that datagram has been sent; datagrams alone count
 *                    torn:   half of the octets of that write to the journal, then SIGKILL; these alone count;
 *                            "torn:FILE": to the file of this name
 *                    full:   from that call on the disk is full: one write brings half of its octets to the
 *                            file, and none does any more
 *   KILL_AT_LOG      a file that gets a line for each call: "write journal.jsonl", "send"
 */
#define _GNU_SOURCE
#include <dlfcn.h>
#include <errno.h>
#include <fcntl.h>
#include <limits.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/syscall.h>
#include <sys/types.h>
#include <sys/uio.h>
#include <unistd.h>

enum how { BEFORE, AFTER, TORN, FULL };

static const char* records;
static long target;
static long calls;
static enum how how;
static const char* torn_file = "journal.jsonl";
static int log_descriptor = -1;
static int full;

static enum how how_named(const char* name) {
  if (name != NULL && strcmp(name, "after") == 0) return AFTER;
  if (name != NULL && strcmp(name, "torn") == 0) return TORN;
  if (name != NULL && strncmp(name, "torn:", 5) == 0) {
    torn_file = name + 5;
    return TORN;
  }
  if (name != NULL && strcmp(name, "full") == 0) return FULL;
  return BEFORE;
}

__attribute__((constructor)) static void begin(void) {
  records = getenv("KILL_AT_RECORDS");
  const char* at = getenv("KILL_AT");
  target = at != NULL ? atol(at) : 0;
  how = how_named(getenv("KILL_AT_HOW"));
  const char* log = getenv("KILL_AT_LOG");
  if (log != NULL) log_descriptor = open(log, O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, 0600);
}

static void* next(const char* name) {
  void* found = dlsym(RTLD_NEXT, name);
  if (found == NULL) _exit(126);
  return found;
}

static void end_here(void) {
  kill(getpid(), SIGKILL);
  while (1) pause();
}

/* The last part of a name below the folder of records; NULL for any other. */
static const char* among_records(const char* path) {
  if (records == NULL || strncmp(path, records, strlen(records)) != 0) return NULL;
  const char* last = strrchr(path, '/');
  return last != NULL ? last + 1 : path;
}

static const char* record_of(int descriptor, char path[PATH_MAX]) {
  char link[64];
  snprintf(link, sizeof link, "/proc/self/fd/%d", descriptor);
  const ssize_t size = readlink(link, path, PATH_MAX - 1);
  if (size < 0) return NULL;
  path[size] = '\0';
  return among_records(path);
}

/* Counts the call, and ends before it where that is asked. Returns whether it is the one. */
static int arrives(const char* kind, const char* name) {
  const int counts = how == TORN    ? strcmp(kind, "write") == 0 && strcmp(name, torn_file) == 0
                     : how == AFTER ? strcmp(kind, "send") == 0
                                    : 1;
  calls += counts;
  if (log_descriptor >= 0) {
    char line[300];
    const int size = snprintf(line, sizeof line, "%s %.250s\n", kind, name);
    if (syscall(SYS_write, log_descriptor, line, (size_t)size) != size) _exit(126);
  }
  const int is_it = counts && target != 0 && calls == target;
  if (is_it && how == BEFORE) end_here();
  return is_it;
}

static void has_been_done(int is_it) {
  if (is_it && (how == AFTER || how == TORN)) end_here();
}

static int refused(void) {
  errno = ENOSPC;
  return -1;
}

ssize_t write(int descriptor, const void* octets, size_t size) {
  static ssize_t (*real)(int, const void*, size_t);
  if (real == NULL) *(void**)&real = next("write");
  char path[PATH_MAX];
  const char* name = record_of(descriptor, path);
  if (name == NULL) return real(descriptor, octets, size);
  const int is_it = arrives("write", name);
  if (full) return refused();
  if (is_it && how == FULL) {
    full = 1;
    return size > 1 ? real(descriptor, octets, size / 2) : refused();
  }
  const ssize_t done = real(descriptor, octets, is_it && how == TORN ? size / 2 : size);
  has_been_done(is_it);
  return done;
}

ssize_t pwrite64(int descriptor, const void* octets, size_t size, off64_t offset) {
  static ssize_t (*real)(int, const void*, size_t, off64_t);
  if (real == NULL) *(void**)&real = next("pwrite64");
  char path[PATH_MAX];
  const char* name = record_of(descriptor, path);
  if (name == NULL) return real(descriptor, octets, size, offset);
  const int is_it = arrives("pwrite", name);
  full = full || (is_it && how == FULL);
  if (full) return refused();
  const ssize_t done = real(descriptor, octets, is_it && how == TORN ? size / 2 : size, offset);
  has_been_done(is_it);
  return done;
}

ssize_t pwrite(int descriptor, const void* octets, size_t size, off_t offset) {
  return pwrite64(descriptor, octets, size, offset);
}

static int sync_by(const char* function, int descriptor) {
  int (*real)(int);
  *(void**)&real = next(function);
  char path[PATH_MAX];
  const char* name = record_of(descriptor, path);
  if (name == NULL) return real(descriptor);
  const int is_it = arrives(function, name);
  full = full || (is_it && how == FULL);
  const int done = real(descriptor);
  has_been_done(is_it);
  return done;
}

int fsync(int descriptor) {
  return sync_by("fsync", descriptor);
}
int fdatasync(int descriptor) {
  return sync_by("fdatasync", descriptor);
}
int syncfs(int descriptor) {
  return sync_by("syncfs", descriptor);
}

int rename(const char* from, const char* to) {
  static int (*real)(const char*, const char*);
  if (real == NULL) *(void**)&real = next("rename");
  const char* name = among_records(to);
  if (name == NULL) return real(from, to);
  const int is_it = arrives("rename", name);
  full = full || (is_it && how == FULL);
  const int done = real(from, to);
  has_been_done(is_it);
  return done;
}

int mkdir(const char* path, mode_t mode) {
  static int (*real)(const char*, mode_t);
  if (real == NULL) *(void**)&real = next("mkdir");
  const char* name = among_records(path);
  if (name == NULL) return real(path, mode);
  const int is_it = arrives("mkdir", name);
  full = full || (is_it && how == FULL);
  if (full) return refused();
  const int done = real(path, mode);
  has_been_done(is_it);
  return done;
}

static int is_udp(int descriptor) {
  int type = 0;
  socklen_t size = sizeof type;
  return getsockopt(descriptor, SOL_SOCKET, SO_TYPE, &type, &size) == 0 && type == SOCK_DGRAM;
}

ssize_t sendto(int descriptor, const void* octets, size_t size, int flags, __CONST_SOCKADDR_ARG to,
               socklen_t to_size) {
  static ssize_t (*real)(int, const void*, size_t, int, __CONST_SOCKADDR_ARG, socklen_t);
  if (real == NULL) *(void**)&real = next("sendto");
  if (!is_udp(descriptor)) return real(descriptor, octets, size, flags, to, to_size);
  const int is_it = arrives("send", "");
  full = full || (is_it && how == FULL);
  const ssize_t done = real(descriptor, octets, size, flags, to, to_size);
  has_been_done(is_it);
  return done;
}

ssize_t send(int descriptor, const void* octets, size_t size, int flags) {
  return sendto(descriptor, octets, size, flags, (const struct sockaddr*)NULL, 0);
}

ssize_t sendmsg(int descriptor, const struct msghdr* message, int flags) {
  static ssize_t (*real)(int, const struct msghdr*, int);
  if (real == NULL) *(void**)&real = next("sendmsg");
  if (!is_udp(descriptor)) return real(descriptor, message, flags);
  const int is_it = arrives("send", "");
  full = full || (is_it && how == FULL);
  const ssize_t done = real(descriptor, message, flags);
  has_been_done(is_it);
  return done;
}
