/*
 * measure FILE COMMAND [ARGUMENT...]: runs the command and appends to FILE what it cost, as one line:
 *
 *     wall seconds, CPU seconds (user and system), peak memory in kB, exit status
 *
 * CPU and memory are the system's account of the command and of all children that it has waited for
 * (getrusage(2)); memory is that of the largest of them. The exit status is the command's; 128 and the
 * signal where a signal ended it.
 */
#include <errno.h>
#include <stdio.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static double seconds_of(struct timeval time) {
  return (double)time.tv_sec + (double)time.tv_usec / 1e6;
}

static double now(void) {
  struct timespec time;
  clock_gettime(CLOCK_MONOTONIC, &time);
  return (double)time.tv_sec + (double)time.tv_nsec / 1e9;
}

static int fail(const char* what) {
  fprintf(stderr, "measure: %s: %s\n", what, strerror(errno));
  return 1;
}

int main(int argc, char** argv) {
  if (argc < 3) {
    fputs("usage: measure FILE COMMAND [ARGUMENT...]\n", stderr);
    return 2;
  }
  const double begun = now();
  const pid_t child = fork();
  if (child < 0) return fail("fork");
  if (child == 0) {
    execvp(argv[2], argv + 2);
    fail(argv[2]);
    _exit(127);
  }
  int status = 0;
  struct rusage cost;
  while (wait4(child, &status, 0, &cost) < 0) {
    if (errno != EINTR) return fail("wait4");
  }
  const double wall = now() - begun;
  const int code = WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);

  FILE* const file = fopen(argv[1], "a");
  if (file == NULL) return fail(argv[1]);
  fprintf(file, "%.6f %.6f %ld %d\n", wall, seconds_of(cost.ru_utime) + seconds_of(cost.ru_stime),
          cost.ru_maxrss, code);
  if (fclose(file) != 0) return fail(argv[1]);
  return code;
}
