#pragma once

#include <fcntl.h>
#include <unistd.h>

namespace kitgap {

// Closes on every way out.
class OpenFile {
 public:
  OpenFile(const char* path, int flags, mode_t mode = 0) : number_(::open(path, flags | O_CLOEXEC, mode)) {}
  ~OpenFile() {
    if (number_ >= 0) ::close(number_);
  }
  OpenFile(const OpenFile&) = delete;
  OpenFile& operator=(const OpenFile&) = delete;
  int number() const { return number_; }
  bool is_open() const { return number_ >= 0; }
  // Some file systems report a failed write only here.
  bool close() {
    const int status = ::close(number_);
    number_ = -1;
    return status == 0;
  }

 private:
  int number_;
};

}  // namespace kitgap
