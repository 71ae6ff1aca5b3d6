#pragma once

#include <cstdint>
#include <deque>
#include <map>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

namespace kitgap {

// A file (or an argument of the command line) that was read, by its order of reading.
struct SourceId {
  std::uint32_t index = 0;
  friend auto operator<=>(SourceId, SourceId) = default;
};

// The bytes of everything that was read, so that a message can show the line it is about.
class Sources {
 public:
  // `name` is the path as the person gave it.
  SourceId add(std::string name, std::string bytes);
  // Bytes that lie elsewhere, good as long as `holder` is held.
  SourceId add_view(std::string name, std::string_view bytes, std::shared_ptr<const void> holder);
  // Lays in what `read_file` shall give for that path instead of a file: a job's tables are read like files.
  void lay_in(std::string path, std::string bytes) { laid_in_[std::move(path)] = std::move(bytes); }
  const std::string* find_laid_in(const std::string& path) const {
    const auto found = laid_in_.find(path);
    return found == laid_in_.end() ? nullptr : &found->second;
  }
  std::string_view name(SourceId source) const;
  std::string_view bytes(SourceId source) const;
  std::size_t size() const { return sources_.size(); }
  // The physical line `number` (from 1) without its line end; empty past the end.
  std::string_view line(SourceId source, std::uint32_t number) const;

 private:
  struct Source {
    std::string name;
    std::string bytes;
    std::string_view view = {};  // instead of `bytes`, where there is a holder
    std::shared_ptr<const void> holder = {};
  };
  std::map<std::string, std::string> laid_in_;
  std::deque<Source> sources_;  // a deque: views into short files stay good when another file is read
};

// Where something stands. Line and column count from 1, columns in characters; line 0 is the file as a whole.
// `cell` is the cell as a spreadsheet names it ("D14"), where there is one.
struct Span {
  SourceId source;
  std::uint32_t line = 0;
  std::uint32_t column = 0;
  std::uint32_t length = 1;  // characters under the carets
  std::string cell = {};
};

enum class Severity : std::uint8_t { Error, Warning, Note };

struct FurtherSpan {
  Span span;
  std::string says;
};

// One thing that is wrong with an input. `code` is one of `kCodes`; codes never change meaning.
struct Diagnostic {
  Severity severity = Severity::Error;
  std::string_view code;  // a constant of text/codes.h
  Span span;
  std::string says;             // lower case, no full stop, the user's own text in backticks
  std::string expected = {};    // "expected ..." without that word, or empty
  std::string suggestion = {};  // the nearest right spelling, or empty: printed as "did you mean `...`?"
  std::vector<FurtherSpan> further = {};
  std::vector<std::string> help = {};  // what to do instead, a line each
};

// What is wrong, collected over all files of a run. A cause is reported once; what follows from it stays silent.
class Diagnostics {
 public:
  void add(Diagnostic diagnostic);
  bool has_errors() const { return errors_ != 0; }
  std::size_t error_count() const { return errors_; }
  // Only the first 10,000 are kept; this many more were counted.
  std::size_t left_out() const { return left_out_; }
  // Sorted by file, line and column; the same message at the same place stands once.
  std::vector<Diagnostic> sorted() const;

 private:
  std::vector<Diagnostic> diagnostics_;
  std::size_t errors_ = 0;
  std::size_t left_out_ = 0;
};

// Lays the diagnostics out for people, in the form of the STYLE examples: first line, source line, carets, cell,
// what was expected, what to type instead. Control bytes of the input never come through.
std::string layout(const Diagnostics& diagnostics, const Sources& sources);
// The same as a JSON array (each: severity, code, file, line, column, length, cell, says, expected, suggestion).
std::string diagnostics_json(const Diagnostics& diagnostics, const Sources& sources);

// The candidate nearest to `typed`, within a third of the word and never more than three letters off (a swap of
// neighbours counts one; letter case counts nothing); empty when none is near. Ties: the first in byte order.
std::string nearest(std::string_view typed, const std::vector<std::string>& candidates);

}  // namespace kitgap
