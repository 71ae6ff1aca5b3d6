#include "text/cache.h"

#include <elf.h>
#include <fcntl.h>
#include <link.h>
#include <sys/mman.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cstdlib>
#include <ctime>
#include <new>
#include <system_error>

#include "text/mixed.h"
#include "text/open_file.h"

namespace kitgap {
namespace {

constexpr std::size_t kAlignment = 64;
constexpr std::uintptr_t kPage = 4096;
constexpr std::size_t kManyBytes = 65'536;  // from here on the kernel is told what is to come and what is done with

// The first bytes of an entry.
struct Header {
  std::array<char, 8> magic{'k', 'i', 't', 'g', 'a', 'p', 'c', '1'};
  std::array<std::uint8_t, 32> build{};
  std::uint64_t value_bytes = 0;
  std::uint64_t array_bytes = 0;
  std::uint64_t sum = 0;  // of the values and of this header, the sum itself taken as 0
};

struct ArrayPlace {
  std::uint64_t begin = 0;
  std::uint64_t bytes = 0;
  std::uint64_t sum = 0;
};

std::uint64_t aligned(std::uint64_t bytes) { return (bytes + kAlignment - 1) / kAlignment * kAlignment; }

// The linker's fingerprint of this very program: what another build worked out may differ.
std::optional<std::array<std::uint8_t, 32>> build_of_program() {
  std::array<std::uint8_t, 32> build{};
  const auto look = [](dl_phdr_info* object, std::size_t, void* found) {
    for (std::size_t part = 0; part < object->dlpi_phnum; ++part) {
      const ElfW(Phdr)& header = object->dlpi_phdr[part];
      if (header.p_type != PT_NOTE) continue;
      std::string_view notes(reinterpret_cast<const char*>(object->dlpi_addr + header.p_vaddr), header.p_memsz);
      while (notes.size() >= sizeof(ElfW(Nhdr))) {
        ElfW(Nhdr) note;
        std::memcpy(&note, notes.data(), sizeof note);
        const std::uint64_t name_bytes = (note.n_namesz + std::uint64_t{3}) / 4 * 4;
        const std::uint64_t all_bytes = sizeof note + name_bytes + (note.n_descsz + std::uint64_t{3}) / 4 * 4;
        if (all_bytes > notes.size()) break;
        if (note.n_type == NT_GNU_BUILD_ID && notes.substr(sizeof note, 4) == std::string_view("GNU\0", 4)) {
          std::memcpy(found, notes.data() + sizeof note + name_bytes, std::min<std::size_t>(note.n_descsz, 32));
          return 1;
        }
        notes.remove_prefix(all_bytes);
      }
    }
    return 1;  // the first object is the program
  };
  ::dl_iterate_phdr(look, build.data());
  if (build == std::array<std::uint8_t, 32>{}) return std::nullopt;
  return build;
}

std::uint64_t sum_of(Header header, std::string_view values) {
  header.sum = 0;
  return mixed(check_sum({reinterpret_cast<const char*>(&header), sizeof header}), check_sum(values));
}

bool write_all(int file, std::string_view bytes) {
  while (!bytes.empty()) {
    const auto written = ::write(file, bytes.data(), bytes.size());
    if (written <= 0) return false;
    bytes.remove_prefix(static_cast<std::size_t>(written));
  }
  return true;
}

bool fill_up(int file, std::uint64_t bytes) {
  static constexpr std::array<char, kAlignment> kBlank{};
  return write_all(file, std::string_view(kBlank.data(), aligned(bytes) - bytes));
}

std::int64_t nanoseconds(const timespec& time) { return std::int64_t{time.tv_sec} * 1'000'000'000 + time.tv_nsec; }

}  // namespace

std::int64_t this_moment() {
  timespec time{};
  ::clock_gettime(CLOCK_REALTIME, &time);
  return nanoseconds(time);
}

std::uint64_t check_sum(std::string_view bytes) {
  // Four sums side by side: one alone would wait for each product.
  std::array<std::uint64_t, 4> sums{1, 2, 3, bytes.size()};
  std::array<std::uint64_t, 8> words{};
  const auto add = [&] {
    for (std::size_t lane = 0; lane < 4; ++lane) sums[lane] = mixed(sums[lane] ^ words[2 * lane], words[2 * lane + 1]);
  };
  for (; bytes.size() >= sizeof words; bytes.remove_prefix(sizeof words)) {
    std::memcpy(words.data(), bytes.data(), sizeof words);
    add();
  }
  words = {};
  if (!bytes.empty()) std::memcpy(words.data(), bytes.data(), bytes.size());
  add();
  return mixed(mixed(sums[0], sums[1]), mixed(sums[2], sums[3]));
}

void CacheDraft::put_bytes(std::string_view bytes) {
  put(ArrayPlace{.begin = array_bytes_, .bytes = bytes.size(), .sum = check_sum(bytes)});
  arrays_.push_back(bytes);
  array_bytes_ += aligned(bytes.size());
}

bool CacheEntry::take_text(std::string& text) {
  std::uint64_t size = 0;
  if (!take(size) || size > values_.size()) return fail();
  text.assign(values_.substr(0, size));
  values_.remove_prefix(size);
  return true;
}

std::optional<std::string_view> CacheEntry::take_bytes() {
  ArrayPlace place;
  if (!take(place) || place.begin > arrays_.size() || place.bytes > arrays_.size() - place.begin) return std::nullopt;
  const std::string_view bytes = arrays_.substr(place.begin, place.bytes);
#ifdef MADV_POPULATE_READ
  // All pages at once; a kernel that cannot brings them one by one.
  const auto first = reinterpret_cast<std::uintptr_t>(bytes.data()) / kPage * kPage;
  const auto last = reinterpret_cast<std::uintptr_t>(bytes.data() + bytes.size());
  if (bytes.size() > kManyBytes) ::madvise(reinterpret_cast<void*>(first), last - first, MADV_POPULATE_READ);  // NOLINT
#endif
  if (check_sum(bytes) != place.sum) return std::nullopt;
  return bytes;
}

// Whole pages of it; asked for again they come from the file.
void CacheEntry::let_go(std::string_view bytes) {
  const auto first = (reinterpret_cast<std::uintptr_t>(bytes.data()) + kPage - 1) / kPage * kPage;
  const auto last = reinterpret_cast<std::uintptr_t>(bytes.data() + bytes.size()) / kPage * kPage;
  if (bytes.size() > kManyBytes && first < last) ::madvise(reinterpret_cast<void*>(first), last - first, MADV_DONTNEED);  // NOLINT
}

std::optional<Cache> Cache::of_user() {
  const auto absolute = [](const char* name) -> std::optional<std::filesystem::path> {
    const char* value = std::getenv(name);
    if (value == nullptr || value[0] != '/') return std::nullopt;
    return value;
  };
  if (const auto folder = absolute("XDG_CACHE_HOME")) return Cache(*folder / "kitgap");
  if (const auto home = absolute("HOME")) return Cache(*home / ".cache" / "kitgap");
  return std::nullopt;
}

std::optional<CacheEntry> Cache::find(const std::string& name) const {
  const OpenFile file((folder_ / name).c_str(), O_RDONLY | O_NOFOLLOW);
  struct stat about = {};
  if (!file.is_open() || ::fstat(file.number(), &about) != 0 || !S_ISREG(about.st_mode) || about.st_uid != ::geteuid()) return std::nullopt;
  const auto size = static_cast<std::uint64_t>(about.st_size);
  if (size < sizeof(Header)) return std::nullopt;
  void* mapped = ::mmap(nullptr, size, PROT_READ, MAP_PRIVATE, file.number(), 0);
  if (mapped == MAP_FAILED) return std::nullopt;
  CacheEntry entry;
  entry.mapping_ = std::shared_ptr<const void>(mapped, [size](const void* at) { ::munmap(const_cast<void*>(at), size); });
  Header header;
  std::memcpy(&header, mapped, sizeof header);
  const auto build = build_of_program();
  if (!build || header.magic != Header{}.magic || header.build != *build || header.value_bytes > size || header.array_bytes > size ||
      aligned(sizeof header + header.value_bytes) + header.array_bytes != size) {
    return std::nullopt;
  }
  entry.values_ = {static_cast<const char*>(mapped) + sizeof header, header.value_bytes};
  entry.arrays_ = {static_cast<const char*>(mapped) + aligned(sizeof header + header.value_bytes), header.array_bytes};
  if (sum_of(header, entry.values_) != header.sum) return std::nullopt;
  // Its age is the time since it was of use; once a day is near enough.
  constexpr std::int64_t kDay = std::int64_t{86'400} * 1'000'000'000;
  if (this_moment() - nanoseconds(about.st_mtim) > kDay) ::futimens(file.number(), nullptr);
  return entry;
}

void Cache::keep(const std::string& name, const CacheDraft& draft) const {
  const auto build = build_of_program();
  if (!build) return;
  std::error_code failed;
  std::filesystem::create_directories(folder_, failed);
  if (failed) return;
  Header header{.build = *build, .value_bytes = draft.values_.size(), .array_bytes = draft.array_bytes_};
  header.sum = sum_of(header, draft.values_);
  const std::filesystem::path path = folder_ / name;
  const std::filesystem::path beside = path.string() + ".part-" + std::to_string(::getpid());
  const auto write = [&] {
    const OpenFile file(beside.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_NOFOLLOW, 0600);
    if (!file.is_open()) return false;
    if (!write_all(file.number(), {reinterpret_cast<const char*>(&header), sizeof header}) || !write_all(file.number(), draft.values_) ||
        !fill_up(file.number(), sizeof header + draft.values_.size())) {
      return false;
    }
    return std::ranges::all_of(draft.arrays_, [&](std::string_view array) {
      return write_all(file.number(), array) && fill_up(file.number(), array.size());
    });
  };
  // Not synced: what a power cut leaves of it is found damaged and made again.
  if (!write() || ::rename(beside.c_str(), path.c_str()) != 0) ::unlink(beside.c_str());
  make_room();
}

void Cache::make_room() const {
  struct Entry {
    std::filesystem::file_time_type used;
    std::uint64_t bytes;
    std::filesystem::path path;
  };
  std::vector<Entry> entries;
  std::uint64_t bytes = 0;
  std::error_code failed;
  for (auto at = std::filesystem::directory_iterator(folder_, failed); !failed && at != std::filesystem::directory_iterator(); at.increment(failed)) {
    std::error_code gone;
    const auto used = at->last_write_time(gone);
    const std::uint64_t size = gone ? 0 : at->file_size(gone);
    if (gone) continue;
    entries.push_back({used, size, at->path()});
    bytes += size;
  }
  if (entries.size() <= kMostEntries && bytes <= kMostBytes) return;
  std::ranges::sort(entries, {}, &Entry::used);
  std::size_t left = entries.size();
  for (const Entry& entry : entries) {
    if (left <= kMostEntries && bytes <= kMostBytes) return;
    std::filesystem::remove(entry.path, failed);
    bytes -= entry.bytes;
    --left;
  }
}

std::optional<FileStamp> FileStamp::of(const std::filesystem::path& path) {
  struct stat about = {};
  if (::stat(path.c_str(), &about) != 0 || !S_ISREG(about.st_mode)) return std::nullopt;
  return FileStamp{.device = about.st_dev,
                   .number = about.st_ino,
                   .bytes = static_cast<std::uint64_t>(about.st_size),
                   .written = nanoseconds(about.st_mtim),
                   .changed = nanoseconds(about.st_ctim)};
}

bool FileStamp::is_settled_by(std::int64_t moment) const {
  constexpr std::int64_t kTick = std::int64_t{2} * 1'000'000'000;
  return moment - std::max(written, changed) > kTick;
}

}  // namespace kitgap
