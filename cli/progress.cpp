#include "progress.h"

#include <sys/time.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstddef>
#include <cstring>

namespace kitgap {
namespace {

volatile std::sig_atomic_t seconds = 0;

void write_away(const char* text, std::size_t length) {
  if (::write(STDERR_FILENO, text, length) < 0) return;  // nobody looks: the result alone counts
}

// Only calls that a signal handler may make (POSIX, async-signal-safe).
void tick(int) {
  const int old_error = errno;
  seconds = seconds + 1;
  char line[] = "\rkitgap: still at work,         s ";
  int left = seconds;
  for (std::size_t at = std::strlen(line) - 4; left > 0 && line[at] == ' '; left /= 10) line[at--] = static_cast<char>('0' + left % 10);
  write_away(line, sizeof line - 1);
  errno = old_error;
}

void set_timer(time_t every) {
  const itimerval timer{.it_interval = {every, 0}, .it_value = {every, 0}};
  ::setitimer(ITIMER_REAL, &timer, nullptr);
}

}  // namespace

void begin_progress() {
  if (::isatty(STDERR_FILENO) != 1) return;
  struct sigaction action = {};
  action.sa_handler = tick;
  action.sa_flags = SA_RESTART;
  ::sigemptyset(&action.sa_mask);
  if (::sigaction(SIGALRM, &action, nullptr) == 0) set_timer(1);
}

void end_progress() {
  if (::isatty(STDERR_FILENO) != 1) return;
  set_timer(0);
  if (seconds > 0) write_away("\r                                    \r", 38);
  seconds = 0;
}

}  // namespace kitgap
