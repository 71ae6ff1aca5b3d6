#pragma once

#include <filesystem>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "pack/rules.h"
#include "text/archive.h"
#include "text/cache.h"

namespace kitgap {

// Packs, general first, in the form that reading and checking them gave, as the cache keeps it: by the content of their
// files, found without reading these where none has changed since. Only packs with nothing wrong are kept.
class CompiledPacks {
 public:
  CompiledPacks(const std::optional<Cache>& cache, std::span<const std::filesystem::path> directories);
  // The rules, and the packs' files laid into `sources` as reading would have done.
  std::optional<Rules> find(Sources& sources);
  // `first` is the first source that was read of the packs.
  void keep(const Rules& rules, const Sources& sources, SourceId first) const;

 private:
  // A file of a pack: the manifest or a table. The stamp is left out while the file may still change unseen.
  struct File {
    std::uint32_t pack = 0;
    std::string name;
    std::optional<FileStamp> stamp;
    friend void visit_fields(auto& archive, Is<File> auto& file) { archive(file.pack, file.name, file.stamp); }
  };

  std::filesystem::path path_of(const File& file) const { return directories_[file.pack] / file.name; }
  std::string content_of_files(const std::vector<File>& files) const;
  void remember(std::vector<File> files, const std::string& content) const;

  std::optional<Cache> cache_;
  std::vector<std::filesystem::path> directories_;
  std::string memo_name_;
  std::int64_t begun_;  // before any file was looked at
};

}  // namespace kitgap
