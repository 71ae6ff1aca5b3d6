#include "text/cache.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <fstream>
#include <iterator>
#include <numeric>
#include <random>
#include <set>
#include <span>
#include <string>
#include <thread>
#include <vector>

#include "support/folder.h"

using namespace kitgap;

namespace {

std::string bytes_of(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

// A draft of a figure, a word and two arrays; whether the entry holds the same.
struct Sample {
  std::vector<std::uint32_t> numbers = std::vector<std::uint32_t>(50'000);
  std::vector<std::int64_t> few{-1, 7};
  Sample() { std::iota(numbers.begin(), numbers.end(), 3U); }
  CacheDraft draft() const {
    CacheDraft draft;
    draft.put(std::uint64_t{17});
    draft.put_text("estate");
    draft.put_array(std::span(numbers));
    draft.put_array(std::span(few));
    return draft;
  }
  bool is_in(std::optional<CacheEntry> entry) const {
    std::uint64_t figure = 0;
    std::string word;
    std::span<const std::uint32_t> of_numbers;
    std::span<const std::int64_t> of_few;
    return entry && entry->take(figure) && figure == 17 && entry->take_text(word) && word == "estate" && entry->take_array(of_numbers) &&
           std::ranges::equal(of_numbers, numbers) && entry->take_array(of_few) && std::ranges::equal(of_few, few) && entry->is_used_up();
  }
};

}  // namespace

TEST_CASE("cache: what was kept is found again, by its name") {
  const test::Folder folder;
  const Cache cache(folder.path() / "deeper" / "kitgap");
  const Sample sample;
  CHECK(!cache.find("a"));
  cache.keep("a", sample.draft());
  CHECK(sample.is_in(cache.find("a")));
  CHECK(!cache.find("b"));
}

TEST_CASE("cache: an array copied leaves what lies around it, also to who takes it again") {
  const test::Folder folder;
  const Cache cache(folder.path());
  const Sample sample;
  cache.keep("a", sample.draft());
  std::vector<std::uint32_t> numbers;
  std::vector<std::int64_t> few;
  for (int turn = 0; turn < 2; ++turn) {
    auto entry = cache.find("a");
    REQUIRE(entry);
    CacheEntry again = *entry;
    std::uint64_t figure = 0;
    std::string word;
    CHECK((entry->take(figure) && entry->take_text(word) && entry->take_copy(numbers) && entry->take_copy(few) && entry->is_used_up()));
    CHECK(numbers == sample.numbers);
    CHECK(few == sample.few);
    CHECK(sample.is_in(std::move(again)));
  }
}

TEST_CASE("cache: an entry with any byte changed, or cut anywhere, is never taken for whole") {
  const test::Folder folder;
  const Cache cache(folder.path());
  const Sample sample;
  cache.keep("a", sample.draft());
  const std::string whole = bytes_of(folder.path() / "a");
  std::mt19937 random(20261128);
  for (int turn = 0; turn < 3'000; ++turn) {
    std::string damaged = whole;
    const std::size_t at = turn < 400 ? static_cast<std::size_t>(turn) : random() % whole.size();
    if (turn % 3 == 2) {
      damaged.resize(at);
    } else {
      damaged[at] = static_cast<char>(damaged[at] ^ static_cast<char>(1U << random() % 8));
    }
    folder.write("a", damaged);
    CAPTURE(at);
    // A byte between two arrays belongs to nothing: then all that is taken is right.
    std::uint64_t figure = 0;
    std::string word;
    std::span<const std::uint32_t> numbers;
    std::span<const std::int64_t> few;
    auto entry = cache.find("a");
    const bool is_taken = entry && entry->take(figure) && entry->take_text(word) && entry->take_array(numbers) && entry->take_array(few);
    CHECK((!is_taken || sample.is_in(cache.find("a"))));
    CHECK((!is_taken || turn % 3 != 2));
  }
}

TEST_CASE("cache: taking more than was put, or of another size, fails and goes on failing") {
  const test::Folder folder;
  const Cache cache(folder.path());
  CacheDraft draft;
  draft.put(std::uint32_t{1});
  draft.put_array(std::span<const char>("abc", 3));
  cache.keep("a", draft);
  auto entry = cache.find("a");
  REQUIRE(entry);
  std::uint32_t figure = 0;
  CHECK(entry->take(figure));
  std::span<const std::uint32_t> numbers;
  CHECK(!entry->take_array(numbers));
  CHECK(!entry->is_sound());
  CHECK(!entry->take(figure));
}

TEST_CASE("cache: a folder that cannot be made, or is a file, keeps nothing and harms nothing") {
  const test::Folder folder;
  const std::string file = folder.write("file", "mine");
  const Cache cache(std::filesystem::path(file) / "kitgap");
  cache.keep("a", Sample().draft());
  CHECK(!cache.find("a"));
  CHECK(bytes_of(file) == "mine");
  std::filesystem::create_directory(folder.path() / "b");
  CHECK(!Cache(folder.path()).find("b"));
}

TEST_CASE("cache: of many entries the newest stay") {
  const test::Folder folder;
  const Cache cache(folder.path());
  CacheDraft draft;
  draft.put(std::uint32_t{1});
  for (std::size_t entry = 0; entry < Cache::kMostEntries + 10; ++entry) {
    cache.keep("entry-" + std::to_string(entry), draft);
    const auto path = folder.path() / ("entry-" + std::to_string(entry));
    std::filesystem::last_write_time(path, std::filesystem::last_write_time(path) - std::chrono::seconds(1000 - entry));
  }
  const auto left = std::distance(std::filesystem::directory_iterator(folder.path()), std::filesystem::directory_iterator());
  CHECK(static_cast<std::size_t>(left) == Cache::kMostEntries);
  CHECK(!cache.find("entry-3"));
  CHECK(cache.find("entry-70"));
}

TEST_CASE("cache: a file's stamp tells a change, and settles when its clock has moved on") {
  const test::Folder folder;
  const std::string file = folder.write("rows.csv", "year,item\n");
  const auto before = FileStamp::of(file);
  REQUIRE(before);
  CHECK(!before->is_settled_by(this_moment()));
  CHECK(FileStamp::of(file) == before);
  std::this_thread::sleep_for(std::chrono::milliseconds(2'100));
  CHECK(before->is_settled_by(this_moment()));
  folder.write("rows.csv", "year,unit\n");
  CHECK(FileStamp::of(file) != before);
  CHECK(!FileStamp::of(folder.path()));
  CHECK(!FileStamp::of(folder.path() / "none"));
}

TEST_CASE("cache: the check sum of every length differs, and every bit counts") {
  std::string bytes(300, 'k');
  std::set<std::uint64_t> sums;
  for (std::size_t length = 0; length <= bytes.size(); ++length) sums.insert(check_sum(std::string_view(bytes).substr(0, length)));
  for (std::size_t bit = 0; bit < 8 * bytes.size(); ++bit) {
    std::string other = bytes;
    other[bit / 8] = static_cast<char>(other[bit / 8] ^ static_cast<char>(1U << bit % 8));
    sums.insert(check_sum(other));
  }
  CHECK(sums.size() == 301 + 2400);
}
