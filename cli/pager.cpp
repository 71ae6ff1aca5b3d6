#include "pager.h"

#include <sys/wait.h>
#include <unistd.h>

#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <string>

namespace kitgap {
namespace {

constexpr int kNotFound = 127;  // POSIX, exit status of sh: the command was not found

// The shell reads the command, as `PAGER="less -S"` is one. It is left in the child's place.
[[noreturn]] void become_pager(const std::string& command, int input) {
  ::dup2(input, STDIN_FILENO);
  ::close(input);
  // Colours pass, a text that fits after all ends at once, and the last page stays on the screen.
  ::setenv("LESS", "FRX", 0);
  ::execl("/bin/sh", "sh", "-c", command.c_str(), static_cast<char*>(nullptr));
  ::_exit(kNotFound);
}

// A person may leave before the end: the rest is not wanted.
void feed(int pipe, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(pipe, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return;
    text.remove_prefix(static_cast<std::size_t>(written));
  }
}

}  // namespace

bool show_in_pager(std::string_view text) {
  const char* wanted = std::getenv("PAGER");
  const std::string command = wanted == nullptr ? "less" : wanted;
  if (command.empty() || command == "cat") return false;
  int ends[2];
  if (::pipe(ends) != 0) return false;
  const pid_t child = ::fork();
  if (child == 0) {
    ::close(ends[1]);
    become_pager(command, ends[0]);
  }
  ::close(ends[0]);
  if (child < 0) {
    ::close(ends[1]);
    return false;
  }
  // Interrupting is the pager's business while it runs, and its end is none of ours.
  const auto old_pipe = std::signal(SIGPIPE, SIG_IGN);
  const auto old_interrupt = std::signal(SIGINT, SIG_IGN);
  feed(ends[1], text);
  ::close(ends[1]);
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  std::signal(SIGPIPE, old_pipe);
  std::signal(SIGINT, old_interrupt);
  return !(WIFEXITED(status) && WEXITSTATUS(status) >= kNotFound - 1);
}

}  // namespace kitgap
