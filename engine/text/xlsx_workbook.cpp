#include <algorithm>
#include <charconv>

#include "text/codes.h"
#include "text/xlsx_parts.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostSharedBytes = 64'000'000;
constexpr std::size_t kMostSheets = 500;

int integer_of(std::optional<std::string_view> text, int otherwise) {
  int value = otherwise;
  if (text) std::from_chars(text->data(), text->data() + text->size(), value);
  return value;
}

bool is_true(std::optional<std::string_view> text) {
  return text && (*text == "1" || *text == "true");
}

// Targets by id. `base` is the folder of the part that they belong to.
class Relationships : public XmlPart {
 public:
  explicit Relationships(std::string base) : base_(std::move(base)) {}
  const std::string* find_type(std::string_view type) const {
    for (const auto& [id, entry] : entries_) {
      if (entry.type.ends_with(type)) return &entry.target;
    }
    return nullptr;
  }
  const std::string* find(std::string_view id) const {
    const auto found = entries_.find(id);
    return found == entries_.end() ? nullptr : &found->second.target;
  }

 protected:
  void start(std::string_view name, const XmlAttributes& attributes) override {
    if (name != "Relationship" || attributes.find("TargetMode") == std::string_view("External")) return;
    const auto id = attributes.find("Id");
    const auto target = attributes.find("Target");
    if (!id || !target) return;
    entries_[std::string(*id)] = {std::string(attributes.find("Type").value_or("")), resolve(*target)};
  }
  void end(std::string_view) override {}

 private:
  struct Entry {
    std::string type;
    std::string target;
  };
  // Only a name among the archive's parts; it is never a path on disk.
  std::string resolve(std::string_view target) const {
    if (target.starts_with('/')) return std::string(target.substr(1));
    std::string folder = base_;
    while (target.starts_with("../")) {
      target.remove_prefix(3);
      const std::size_t slash = folder.find_last_of('/', folder.size() < 2 ? 0 : folder.size() - 2);
      folder.erase(slash == std::string::npos ? 0 : slash + 1);
    }
    if (target.starts_with("./")) target.remove_prefix(2);
    return folder + std::string(target);
  }

  std::string base_;
  std::map<std::string, Entry, std::less<>> entries_;
};

class WorkbookPart : public XmlPart {
 public:
  struct Entry {
    std::string name;
    std::string id;
    bool is_hidden;
  };
  std::vector<Entry> sheets;
  bool from_1904 = false;

 protected:
  void start(std::string_view name, const XmlAttributes& attributes) override {
    if (name == "workbookPr") from_1904 = is_true(attributes.find("date1904"));
    if (name != "sheet") return;
    if (sheets.size() == kMostSheets)
      throw WorkbookRefused{code::kTooLarge, "the workbook has too many sheets",
                            "at most " + std::to_string(kMostSheets)};
    const auto state = attributes.find("state");
    sheets.push_back({std::string(attributes.find("name").value_or("")),
                      std::string(attributes.find("id").value_or("")), state && *state != "visible"});
  }
  void end(std::string_view) override {}
};

class StylesPart : public XmlPart {
 public:
  std::vector<NumberStyle> styles;

 protected:
  void start(std::string_view name, const XmlAttributes& attributes) override {
    if (name == "numFmt") {
      formats_[integer_of(attributes.find("numFmtId"), -1)] =
          style_of_format(attributes.find("formatCode").value_or(""));
    } else if (name == "cellXfs") {
      in_cell_formats_ = true;
    } else if (name == "xf" && in_cell_formats_ && styles.size() < 100'000) {
      const int id = integer_of(attributes.find("numFmtId"), 0);
      const auto format = formats_.find(id);
      styles.push_back(format == formats_.end() ? style_of_builtin(id) : format->second);
    }
  }
  void end(std::string_view name) override {
    if (name == "cellXfs") in_cell_formats_ = false;
  }

 private:
  std::map<int, NumberStyle> formats_;
  bool in_cell_formats_ = false;
};

class SharedStrings : public XmlPart {
 public:
  explicit SharedStrings(Workbook& workbook) : workbook_(workbook) {}

 protected:
  void start(std::string_view name, const XmlAttributes&) override {
    if (name == "si") item_.clear();
    if (name == "rPh") in_reading_aid_ = true;
    if (name == "t") in_text_ = !in_reading_aid_;
  }
  void end(std::string_view name) override {
    if (name == "t") in_text_ = false;
    if (name == "rPh") in_reading_aid_ = false;
    if (name != "si") return;
    workbook_.shared_text += without_escapes(std::move(item_));
    workbook_.shared.push_back(static_cast<std::uint32_t>(workbook_.shared_text.size()));
    item_.clear();
  }
  void text(std::string_view bytes) override {
    if (!in_text_) return;
    if (workbook_.shared_text.size() + item_.size() + bytes.size() > kMostSharedBytes) {
      throw WorkbookRefused{code::kTooLarge, "the workbook holds too much text",
                            "at most " + std::to_string(kMostSharedBytes / 1'000'000) + " MB"};
    }
    item_ += bytes;
  }

 private:
  Workbook& workbook_;
  std::string item_;
  bool in_text_ = false;
  bool in_reading_aid_ = false;
};

std::string folder_of(std::string_view path) {
  return std::string(path.substr(0, path.rfind('/') + 1));
}

std::string relationships_of(std::string_view path) {
  const std::string folder = folder_of(path);
  return folder + "_rels/" + std::string(path.substr(folder.size())) + ".rels";
}

}  // namespace

std::string_view Workbook::shared_string(std::size_t index) const {
  if (index + 1 >= shared.size())
    throw WorkbookRefused{code::kDamagedWorkbook,
                          "the workbook is damaged: a cell names a text that is not there", ""};
  return std::string_view(shared_text).substr(shared[index], shared[index + 1] - shared[index]);
}

Workbook read_workbook(WorkbookArchive& archive) {
  std::string path = "xl/workbook.xml";
  if (archive.has("_rels/.rels")) {
    Relationships root("");
    archive.read("_rels/.rels", root);
    if (const std::string* target = root.find_type("/officeDocument")) path = *target;
  }
  if (!archive.has(path))
    throw WorkbookRefused{code::kBinaryFile, "this is an archive, but no workbook",
                          "a table as CSV, text or XLSX"};
  WorkbookPart part;
  archive.read(path, part);
  Relationships links(folder_of(path));
  archive.read(relationships_of(path), links);
  Workbook workbook;
  workbook.from_1904 = part.from_1904;
  for (const auto& sheet : part.sheets) {
    const std::string* target = links.find(sheet.id);
    if (target != nullptr) workbook.sheets.push_back({sheet.name, *target, sheet.is_hidden});
  }
  if (const std::string* styles = links.find_type("/styles"); styles != nullptr && archive.has(*styles)) {
    StylesPart read;
    archive.read(*styles, read);
    workbook.styles = std::move(read.styles);
  }
  workbook.shared.push_back(0);
  if (const std::string* shared = links.find_type("/sharedStrings");
      shared != nullptr && archive.has(*shared)) {
    SharedStrings read(workbook);
    archive.read(*shared, read);
  }
  return workbook;
}

}  // namespace kitgap
