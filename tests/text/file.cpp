#include "text/file.h"

#include <doctest/doctest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <sstream>

using namespace kitgap;

namespace {

// A folder that is gone after the test.
struct Folder {
  Folder() {
    std::string name = (std::filesystem::temp_directory_path() / "kitgap-text-XXXXXX").string();
    path = ::mkdtemp(name.data());
  }
  ~Folder() { std::filesystem::remove_all(path); }
  std::filesystem::path path;
};

std::string bytes_of(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  std::ostringstream out;
  out << in.rdbuf();
  return out.str();
}

// What reading says, without the folder's name.
std::string said(const std::filesystem::path& path, bool text = true, std::uint64_t limit = kMaxFileBytes) {
  Sources sources;
  Diagnostics diagnostics;
  const auto source = read_file(path, sources, diagnostics, text, limit);
  if (source) return "read " + std::to_string(sources.bytes(*source).size());
  return layout(diagnostics, sources).substr(path.string().size());
}

}  // namespace

TEST_CASE("read_file: what cannot be read is said, each in its way") {
  const Folder folder;
  write_file(folder.path / "empty", "");
  write_file(folder.path / "binary", std::string("a\0b", 3));
  write_file(folder.path / "long", std::string(2'000'000, 'x'));
  REQUIRE(::mkfifo((folder.path / "pipe").c_str(), 0600) == 0);
  CHECK(said(folder.path / "none") == ": error: there is no such file [missing-file]\n");
  CHECK(said(folder.path / "empty") == ": error: the file is empty [empty-file]\n");
  CHECK(said(folder.path) == ": error: this is a folder [not-a-file]\n    expected a file\n");
  CHECK(said(folder.path / "pipe") == ": error: this is no regular file [not-a-file]\n    expected a file on disk\n");
  CHECK(said(folder.path / "binary") ==
        ": error: the file is not text: it holds NUL bytes [binary-file]\n    expected text in UTF-8\n");
  CHECK(said(folder.path / "binary", false) == "read 3");
  CHECK(said(folder.path / "long", true, 1'000'000) ==
        ": error: the file has 2 MB [too-large]\n    expected at most 1 MB\n");
  CHECK(said(folder.path / "long") == "read 2000000");
}

TEST_CASE("write_file: puts a whole file in place and leaves nothing beside it") {
  const Folder folder;
  const auto path = folder.path / "report.txt";
  write_file(path, "old");
  REQUIRE(::chmod(path.c_str(), 0640) == 0);
  write_file(path, "new");
  CHECK(bytes_of(path) == "new");
  CHECK((std::filesystem::status(path).permissions() & std::filesystem::perms::all) == std::filesystem::perms{0640});
  CHECK(std::distance(std::filesystem::directory_iterator(folder.path), {}) == 1);
}

TEST_CASE("write_file: a link stays a link") {
  const Folder folder;
  write_file(folder.path / "real", "old");
  std::filesystem::create_symlink("real", folder.path / "link");
  write_file(folder.path / "link", "new");
  CHECK(std::filesystem::is_symlink(folder.path / "link"));
  CHECK(bytes_of(folder.path / "real") == "new");
}

TEST_CASE("write_file: names the file and what is intact when the machine fails") {
  const Folder folder;
  const auto says = [](const std::filesystem::path& path) {
    try {
      write_file(path, "x");
    } catch (const MachineFailure& failure) {
      return failure.says;
    }
    return std::string("written");
  };
  CHECK(says(folder.path / "none" / "x") ==
        "cannot write `" + (folder.path / "none" / "x").string() + "`: No such file or directory; nothing was written");
  CHECK(says(folder.path) == "cannot write `" + folder.path.string() + "`: Is a directory; nothing was written");
  CHECK(says("/dev/full") == "cannot write `/dev/full`: No space left on device; only a part may have been written");
}

TEST_CASE("utf8: well-formed as the Unicode standard's table 3-7 says") {
  struct Case {
    std::string_view bytes;
    bool is_utf8;
  };
  const std::vector<Case> cases = {
      {"", true}, {"plain", true}, {"\xc3\xa9", true}, {"\xf0\x9f\x9a\x97", true}, {"\xef\xbf\xbf", true},
      {"\xc0\xaf", false}, {"\xe0\x80\xaf", false}, {"\xed\xa0\x80", false}, {"\xf4\x90\x80\x80", false},
      {"\xf5\x80\x80\x80", false}, {"\xc3", false}, {"12345678\xff", false}, {"\x80", false},
  };
  for (const Case& row : cases) {
    CAPTURE(row.bytes);
    CHECK(is_utf8(row.bytes) == row.is_utf8);
  }
  CHECK(characters("\xc3\xa9\xf0\x9f\x9a\x97x") == 3);
  CHECK(display_width("\xe5\xba\xa7" "e\xcc\x81") == 3);
}

TEST_CASE("printable: nothing comes through that could steer a terminal") {
  struct Case {
    std::string_view text;
    std::string_view shown;
  };
  const std::vector<Case> cases = {
      {"plain \xc3\xa9", "plain \xc3\xa9"}, {"\x1b[31m", "\\x1b[31m"}, {"\a\b\t\n\r\x7f", "\\x07\\x08\\t\\n\\r\\x7f"},
      {"\xc2\x9b" "2J", "\\x9b2J"}, {"\xe2\x80\xae" "abc", "\\u{202e}abc"}, {"\xff", "\\xff"},
      {"a\xcc\x81\xcc\x81\xcc\x81\xcc\x81\xcc\x81", "a\xcc\x81\xcc\x81\xcc\x81\xcc\x81\\u{301}"},
  };
  for (const Case& row : cases) {
    CAPTURE(row.shown);
    CHECK(printable(row.text) == row.shown);
  }
}

TEST_CASE("cut_to and folded") {
  CHECK(cut_to("door-panel", 10) == "door-panel");
  CHECK(cut_to("door-panels", 10) == "door-pa...");
  CHECK(display_width(cut_to("\xe5\xba\xa7\xe5\xba\xa7\xe5\xba\xa7", 5)) <= 5);
  CHECK(folded("Door \xc3\x89") == "door \xc3\xa9");
  CHECK(folded("\xef\xbc\xa1") == "a");
  CHECK(folded("A\xff") == "a\xff");
}
