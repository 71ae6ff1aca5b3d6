#include <expat.h>

#include <algorithm>

#include "text/codes.h"
#include "text/file.h"
#include "text/module.h"
#include "text/xlsx_parts.h"

namespace kitgap {
namespace {

constexpr std::size_t kMostXmlDepth = 64;
constexpr std::uint64_t kSmallPart =
    1'000'000;  // a short part may pack well: a sheet of equal cells is no bomb

[[noreturn]] void refuse(std::string_view code, std::string says,
                         std::string expected = "a workbook as a spreadsheet program saves it") {
  throw WorkbookRefused{code, std::move(says), std::move(expected)};
}

bool leaves_archive(std::string_view name) {
  return name.empty() || name.front() == '/' || name.find('\\') != std::string_view::npos ||
         name.find("../") != std::string_view::npos || name.ends_with("..") ||
         (name.size() > 1 && name[1] == ':') || name.find_first_of("\n\r\t\x1b") != std::string_view::npos;
}

std::string_view local_name(const char* name) {
  const std::string_view whole(name);
  const std::size_t bar = whole.rfind('|');
  return bar == std::string_view::npos ? whole : whole.substr(bar + 1);
}

}  // namespace

const KitgapZip* zip_module() {
  const auto function = reinterpret_cast<KitgapZipFunction>(module_symbol("kitgap-zip", "kitgap_zip"));
  const KitgapZip* zip = function();
  if (zip->version != kKitgapZipVersion)
    throw MachineFailure{"the program's module `kitgap-zip` is of another version"};
  return zip;
}

WorkbookArchive::WorkbookArchive(std::string_view bytes) : zip_(zip_module()) {
  archive_ = zip_->open(bytes.data(), bytes.size());
  if (archive_ == nullptr)
    refuse(code::kDamagedWorkbook, "the workbook is damaged or cut short: its directory cannot be read");
  try {
    const std::int64_t count = zip_->entry_count(archive_);
    if (count > kMostArchiveEntries) {
      refuse(code::kTooLarge, "the workbook has " + std::to_string(count) + " parts",
             "at most " + std::to_string(kMostArchiveEntries));
    }
    std::uint64_t total = 0;
    for (std::int64_t index = 0; index < count; ++index) add_entry(static_cast<std::uint64_t>(index), total);
  } catch (...) {
    zip_->close(archive_);
    throw;
  }
}

WorkbookArchive::~WorkbookArchive() {
  zip_->close(archive_);
}

void WorkbookArchive::add_entry(std::uint64_t index, std::uint64_t& total) {
  KitgapZipEntry entry{};
  if (zip_->entry(archive_, index, &entry) == 0)
    refuse(code::kDamagedWorkbook, "the workbook is damaged: a part of it cannot be read");
  const std::string name(entry.name);
  if (entry.is_encrypted != 0)
    refuse(code::kBinaryFile, "the workbook is encrypted", "a workbook without a password");
  if (leaves_archive(name))
    refuse(code::kDamagedWorkbook,
           "the workbook names a place outside itself: `" + cut_to(printable(name), 40) + "`");
  total = entry.unpacked > kMostUnpackedBytes ? kMostUnpackedBytes + 1 : total + entry.unpacked;
  if (total > kMostUnpackedBytes)
    refuse(code::kTooLarge, "the workbook unpacks to too much",
           "at most " + std::to_string(kMostUnpackedBytes / 1'000'000) + " MB");
  if (entry.unpacked > kSmallPart && entry.unpacked / kMostUnpackedRatio > entry.packed) {
    refuse(code::kTooLarge,
           "the workbook is packed more than " + std::to_string(kMostUnpackedRatio) + " to 1");
  }
  if (!parts_.emplace(name, Part{index, entry.packed}).second)
    refuse(code::kDamagedWorkbook,
           "the workbook has two parts of one name: `" + cut_to(printable(name), 40) + "`");
}

void WorkbookArchive::read(std::string_view name, XmlPart& part) {
  const auto found = parts_.find(name);
  if (found == parts_.end())
    refuse(code::kDamagedWorkbook, "the workbook lacks its part `" + cut_to(printable(name), 60) + "`");
  struct Feed {
    XmlPart& part;
    std::uint64_t& unpacked;
    std::uint64_t here = 0;
    std::uint64_t packed = 0;
    bool is_bomb = false;
  };
  // The sizes that the directory claims may lie: what really comes out is counted.
  Feed feed{part, unpacked_, 0, found->second.packed};
  const auto sink = [](void* context, const char* bytes, std::uint64_t size) {
    auto& self = *static_cast<Feed*>(context);
    self.unpacked += size;
    self.here += size;
    self.is_bomb = self.unpacked > kMostUnpackedBytes ||
                   (self.here > kSmallPart && self.here / kMostUnpackedRatio > self.packed);
    return !self.is_bomb && self.part.feed(bytes, static_cast<std::size_t>(size)) ? 1 : 0;
  };
  const int result = zip_->read(archive_, found->second.index, sink, &feed);
  if (feed.is_bomb)
    refuse(code::kTooLarge, "the workbook unpacks to too much",
           "at most " + std::to_string(kMostUnpackedBytes / 1'000'000) + " MB");
  if (result < 0)
    refuse(code::kDamagedWorkbook,
           "the workbook is damaged or cut short: `" + cut_to(printable(name), 60) + "` cannot be unpacked");
  part.finish();
}

std::optional<std::string_view> XmlAttributes::find(std::string_view name) const {
  for (const char** pair = pairs_; *pair != nullptr; pair += 2) {
    if (local_name(pair[0]) == name) return std::string_view(pair[1]);
  }
  return std::nullopt;
}

XmlPart::XmlPart() : parser_(XML_ParserCreateNS(nullptr, '|')) {
  if (parser_ == nullptr) throw std::bad_alloc();
  XML_SetUserData(parser_, this);
  XML_SetElementHandler(parser_, on_start, on_end);
  XML_SetCharacterDataHandler(parser_, on_text);
  XML_SetStartDoctypeDeclHandler(parser_, on_doctype);
}

XmlPart::~XmlPart() {
  XML_ParserFree(parser_);
}

void XmlPart::halt() {
  XML_StopParser(parser_, XML_FALSE);
}

template <class Action>
void XmlPart::guarded(Action action) {
  if (stopped_ || refused_) return;
  try {
    action();
  } catch (WorkbookRefused& refused) {
    refused_ = std::move(refused);
  }
  if (stopped_ || refused_) halt();
}

void XmlPart::on_start(void* self, const char* name, const char** attributes) {
  auto& part = *static_cast<XmlPart*>(self);
  part.guarded([&] {
    if (++part.depth_ > kMostXmlDepth)
      refuse(code::kTooDeep, "the workbook's parts are nested too deep",
             "at most " + std::to_string(kMostXmlDepth) + " levels");
    part.start(local_name(name), XmlAttributes(attributes));
  });
}

void XmlPart::on_end(void* self, const char* name) {
  auto& part = *static_cast<XmlPart*>(self);
  --part.depth_;
  part.guarded([&] { part.end(local_name(name)); });
}

void XmlPart::on_text(void* self, const char* bytes, int size) {
  auto& part = *static_cast<XmlPart*>(self);
  part.guarded([&] { part.text({bytes, static_cast<std::size_t>(size)}); });
}

void XmlPart::on_doctype(void* self, const char*, const char*, const char*, int) {
  auto& part = *static_cast<XmlPart*>(self);
  part.guarded([&] {
    refuse(code::kDamagedWorkbook, "the workbook declares a document type, which no workbook needs");
  });
}

bool XmlPart::feed(const char* bytes, std::size_t size) {
  if (stopped_ || refused_) return false;
  if (XML_Parse(parser_, bytes, static_cast<int>(size), XML_FALSE) != XML_STATUS_ERROR) return true;
  if (!stopped_ && !refused_) {
    refused_ =
        WorkbookRefused{code::kDamagedWorkbook,
                        "the workbook is damaged: " + std::string(XML_ErrorString(XML_GetErrorCode(parser_))),
                        "a workbook as a spreadsheet program saves it"};
  }
  return false;
}

void XmlPart::finish() {
  if (!stopped_ && !refused_ && XML_Parse(parser_, nullptr, 0, XML_TRUE) == XML_STATUS_ERROR && !refused_ &&
      !stopped_) {
    refuse(code::kDamagedWorkbook,
           "the workbook is damaged: " + std::string(XML_ErrorString(XML_GetErrorCode(parser_))));
  }
  if (refused_) throw *refused_;
}

}  // namespace kitgap
