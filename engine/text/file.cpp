#include "text/file.h"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "text/codes.h"
#include "text/open_file.h"

namespace kitgap {
namespace {

std::string reason_of(int error) { return std::strerror(error); }

std::string megabytes(std::uint64_t bytes) { return std::to_string(bytes / 1'000'000) + " MB"; }

Diagnostic about_file(SourceId source, std::string_view code, std::string says, std::string expected) {
  return {Severity::Error, code, Span{source}, std::move(says), std::move(expected)};
}

struct Refusal {
  std::string_view code;
  std::string says;
  std::string expected;
};

std::optional<Refusal> check_kind(const struct stat& status, std::uint64_t limit) {
  if (S_ISDIR(status.st_mode)) return Refusal{code::kNotAFile, "this is a folder", "a file"};
  if (!S_ISREG(status.st_mode)) return Refusal{code::kNotAFile, "this is no regular file", "a file on disk"};
  const auto size = static_cast<std::uint64_t>(status.st_size);
  if (size > limit) {
    return Refusal{code::kTooLarge, "the file has " + megabytes(size), "at most " + megabytes(limit)};
  }
  return std::nullopt;
}

// A file may grow while it is read: the limit binds what is read, not only what was announced.
std::optional<Refusal> read_whole(int file, std::uint64_t announced, std::uint64_t limit, std::string& bytes) {
  bytes.resize(static_cast<std::size_t>(announced) + 1);  // one more, so that the end is seen without a second buffer
  std::size_t filled = 0;
  while (true) {
    const ssize_t count = ::read(file, bytes.data() + filled, bytes.size() - filled);
    if (count < 0 && errno == EINTR) continue;
    if (count < 0) return Refusal{code::kMissingFile, "the file cannot be read: " + reason_of(errno), ""};
    if (count == 0) break;
    filled += static_cast<std::size_t>(count);
    if (filled > limit) return Refusal{code::kTooLarge, "the file is too long", "at most " + megabytes(limit)};
    if (filled == bytes.size()) bytes.resize(bytes.size() * 2);
  }
  bytes.resize(filled);
  return std::nullopt;
}

std::optional<Refusal> read_checked(const std::filesystem::path& path, bool text, std::uint64_t limit,
                                    std::string& bytes) {
  // O_NONBLOCK: opening a pipe that nobody writes to must not wait.
  const OpenFile file(path.c_str(), O_RDONLY | O_NONBLOCK);
  if (!file.is_open()) {
    if (errno == ENOENT || errno == ENOTDIR) return Refusal{code::kMissingFile, "there is no such file", ""};
    return Refusal{code::kMissingFile, "the file cannot be opened: " + reason_of(errno), ""};
  }
  struct stat status = {};
  if (::fstat(file.number(), &status) != 0) {
    return Refusal{code::kMissingFile, "the file cannot be read: " + reason_of(errno), ""};
  }
  if (auto refusal = check_kind(status, limit)) return refusal;
  if (auto refusal = read_whole(file.number(), static_cast<std::uint64_t>(status.st_size), limit, bytes)) return refusal;
  if (bytes.empty()) return Refusal{code::kEmptyFile, "the file is empty", ""};
  if (text && bytes.find('\0') != std::string::npos) {
    return Refusal{code::kBinaryFile, "the file is not text: it holds NUL bytes", "text in UTF-8"};
  }
  return std::nullopt;
}

[[noreturn]] void fail(const std::filesystem::path& path, int error, std::string_view intact) {
  throw MachineFailure{"cannot write `" + printable(path.string()) + "`: " + reason_of(error) + "; " +
                       std::string(intact)};
}

void write_all(int file, std::string_view bytes, const std::filesystem::path& path, std::string_view intact) {
  while (!bytes.empty()) {
    const ssize_t count = ::write(file, bytes.data(), bytes.size());
    if (count < 0 && errno == EINTR) continue;
    if (count < 0) fail(path, errno, intact);
    bytes.remove_prefix(static_cast<std::size_t>(count));
  }
}

// Takes the half-written file away when anything fails.
class Beside {
 public:
  explicit Beside(std::filesystem::path path) : path_(std::move(path)) {}
  ~Beside() {
    if (!path_.empty()) ::unlink(path_.c_str());
  }
  Beside(const Beside&) = delete;
  Beside& operator=(const Beside&) = delete;
  void keep() { path_.clear(); }
  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

}  // namespace

std::optional<SourceId> read_file(const std::filesystem::path& path, Sources& sources, Diagnostics& diagnostics,
                                  bool text, std::uint64_t limit) {
  if (const std::string* laid_in = sources.find_laid_in(path.string())) return sources.add(path.string(), *laid_in);
  std::string bytes;
  auto refusal = read_checked(path, text, limit, bytes);
  if (refusal) bytes.clear(), bytes.shrink_to_fit();
  const SourceId source = sources.add(path.string(), std::move(bytes));
  if (!refusal) return source;
  diagnostics.add(about_file(source, refusal->code, std::move(refusal->says), std::move(refusal->expected)));
  return std::nullopt;
}

void write_file(const std::filesystem::path& path, std::string_view bytes) {
  // A link stays a link: its target is replaced.
  std::error_code ignored;
  auto target = std::filesystem::is_symlink(path, ignored) ? std::filesystem::canonical(path, ignored) : path;
  if (target.empty()) target = path;
  struct stat old = {};
  const bool exists = ::stat(target.c_str(), &old) == 0;
  const std::string_view intact = exists ? "the old file is intact" : "nothing was written";
  if (exists && !S_ISREG(old.st_mode)) {  // a device such as /dev/full or /dev/stdout: no name to put in its place
    if (S_ISDIR(old.st_mode)) fail(path, EISDIR, "nothing was written");
    OpenFile device(target.c_str(), O_WRONLY);
    if (!device.is_open()) fail(path, errno, "nothing was written");
    write_all(device.number(), bytes, path, "only a part may have been written");
    return;
  }
  Beside beside(target.string() + ".part-" + std::to_string(::getpid()));
  {
    OpenFile file(beside.path().c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW, exists ? old.st_mode & 0777 : 0666);
    if (!file.is_open()) fail(path, errno, intact);
    write_all(file.number(), bytes, path, intact);
    if (::fsync(file.number()) != 0) fail(path, errno, intact);
    if (!file.close()) fail(path, errno, intact);
  }
  if (::rename(beside.path().c_str(), target.c_str()) != 0) fail(path, errno, intact);
  beside.keep();
  const auto folder = target.has_parent_path() ? target.parent_path() : std::filesystem::path(".");
  const OpenFile entry(folder.c_str(), O_RDONLY | O_DIRECTORY);
  if (!entry.is_open() || ::fsync(entry.number()) != 0) fail(path, errno, "the new file may be lost in a power cut");
}

}  // namespace kitgap
