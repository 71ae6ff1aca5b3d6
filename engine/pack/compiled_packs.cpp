#include "pack/compiled_packs.h"

#include "pack/kept_rules.h"
#include "text/file.h"
#include "text/sha256.h"

namespace kitgap {
namespace {

constexpr std::string_view kMemo = ".packs";  // what lay in which directories
constexpr std::string_view kEntry = ".rules";

// Of the files in order: each by its pack, its name and its bytes, so that nothing can move from one to the next.
class ContentHash {
 public:
  void add(std::uint32_t pack, std::string_view name, std::string_view bytes) {
    hash_.add(std::to_string(pack) + "/" + std::string(name) + "/" + std::to_string(bytes.size()) + "/");
    hash_.add(bytes);
  }
  std::string name() { return hash_.hex().substr(0, 40); }

 private:
  Sha256 hash_;
};

}  // namespace

CompiledPacks::CompiledPacks(const std::optional<Cache>& cache, std::span<const std::filesystem::path> directories)
    : cache_(cache), directories_(directories.begin(), directories.end()), begun_(this_moment()) {
  if (!cache_) return;
  Sha256 name;
  for (const std::filesystem::path& directory : directories_) {
    std::error_code failed;
    name.add(std::filesystem::absolute(directory, failed).native() + '\n');
    if (failed) cache_.reset();
  }
  if (cache_) memo_name_ = name.hex().substr(0, 40) + std::string(kMemo);
}

std::optional<Rules> CompiledPacks::find(Sources& sources) {
  auto memo = cache_ ? cache_->find(memo_name_) : std::nullopt;
  if (!memo) return std::nullopt;
  std::vector<File> files;
  std::string content;
  TakingArchive(*memo, {})(files, content);
  if (!memo->is_used_up()) return std::nullopt;
  bool is_as_it_was = true;
  for (const File& file : files) {
    // A job's own copy of a pack is read like files, and is none.
    if (file.pack >= directories_.size() || sources.find_laid_in(path_of(file).string()) != nullptr) return std::nullopt;
    is_as_it_was = is_as_it_was && file.stamp && FileStamp::of(path_of(file)) == file.stamp;
  }
  if (!is_as_it_was) content = content_of_files(files);
  auto entry = content.empty() ? std::nullopt : cache_->find(content + std::string(kEntry));
  if (!entry) return std::nullopt;
  std::vector<std::span<const char>> texts(files.size());
  for (std::span<const char>& text : texts) entry->take_array(text);
  const SourceId first{static_cast<std::uint32_t>(sources.size())};
  auto rules = take_rules(*entry, sources, first);
  if (!rules || !entry->is_used_up() || rules->packs.size() != directories_.size()) return std::nullopt;
  for (std::size_t at = 0; at < files.size(); ++at) {
    sources.add_view(path_of(files[at]).string(), {texts[at].data(), texts[at].size()}, entry->mapping());
  }
  for (std::size_t pack = 0; pack < directories_.size(); ++pack) rules->packs[pack].directory = directories_[pack].string();
  for (TableInfo& table : rules->tables) table.path = (directories_[table.pack] / table.file).string();
  if (!is_as_it_was) remember(std::move(files), content);
  return rules;
}

void CompiledPacks::keep(const Rules& rules, const Sources& sources, SourceId first) const {
  if (!cache_) return;
  std::vector<File> files;
  for (std::uint32_t pack = 0; pack < rules.packs.size(); ++pack) files.push_back({.pack = pack, .name = "datapackage.json", .stamp = {}});
  for (const TableInfo& table : rules.tables) files.push_back({.pack = table.pack, .name = table.file, .stamp = {}});
  if (sources.size() - first.index != files.size()) return;
  ContentHash hash;
  CacheDraft draft;
  for (std::uint32_t at = 0; at < files.size(); ++at) {
    if (sources.find_laid_in(path_of(files[at]).string()) != nullptr) return;
    const std::string_view bytes = sources.bytes({first.index + at});
    hash.add(files[at].pack, files[at].name, bytes);
    draft.put_array(std::span(bytes));
  }
  put_rules(draft, rules, sources, first);
  const std::string content = hash.name();
  cache_->keep(content + std::string(kEntry), draft);
  remember(std::move(files), content);
}

std::string CompiledPacks::content_of_files(const std::vector<File>& files) const {
  ContentHash hash;
  for (const File& file : files) {
    Sources read;
    Diagnostics unsaid;
    const auto source = read_file(path_of(file), read, unsaid);
    if (!source) return {};
    hash.add(file.pack, file.name, read.bytes(*source));
  }
  return hash.name();
}

void CompiledPacks::remember(std::vector<File> files, const std::string& content) const {
  for (File& file : files) {
    file.stamp = FileStamp::of(path_of(file));
    // Written so lately that it may have been written again since it was read, within one tick of the clock.
    if (file.stamp && !file.stamp->is_settled_by(begun_)) file.stamp.reset();
  }
  CacheDraft draft;
  PuttingArchive(draft, {})(files, content);
  cache_->keep(memo_name_, draft);
}

}  // namespace kitgap
