#include <sys/ioctl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdlib>
#include <cstring>

#include "commands.h"
#include "pager.h"
#include "progress.h"
#include "text/file.h"

namespace kitgap {
namespace {

void write_all(int descriptor, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(descriptor, text.data(), text.size());
    if (written < 0) {
      if (errno == EINTR) continue;
      throw MachineFailure{std::string(descriptor == STDOUT_FILENO ? "standard output" : "standard error") +
                           " cannot be written: " + std::strerror(errno) + "; nothing else was changed"};
    }
    text.remove_prefix(static_cast<std::size_t>(written));
  }
}

bool is_dumb() {
  const char* terminal = std::getenv("TERM");
  return terminal == nullptr || std::string_view(terminal) == "dumb";
}

// More than the screen holds, and somebody at the keys to turn pages.
bool is_too_long(std::string_view text) {
  winsize size{};
  if (::isatty(STDOUT_FILENO) != 1 || ::isatty(STDIN_FILENO) != 1 || is_dumb()) return false;
  return ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_row > 0 && std::ranges::count(text, '\n') >= size.ws_row;
}

}  // namespace

void Terminal::print(std::string_view result) {
  end_progress();
  if (is_too_long(result) && show_in_pager(result)) return;
  write_all(STDOUT_FILENO, result);
}

void Terminal::say(std::string_view message) {
  end_progress();
  write_all(STDERR_FILENO, message);
}

bool Terminal::is_terminal() const { return ::isatty(STDOUT_FILENO) == 1; }

int Terminal::width() const {
  winsize size{};
  if (::isatty(STDOUT_FILENO) == 1 && ::ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 && size.ws_col >= 40) {
    return size.ws_col;
  }
  return 80;
}

bool Terminal::has_colour() const {
  const char* no_colour = std::getenv("NO_COLOR");
  if (no_colour != nullptr && *no_colour != '\0') return false;
  return !is_dumb() && ::isatty(STDOUT_FILENO) == 1;
}

}  // namespace kitgap
