#pragma once

#include <cstdint>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace kitgap::test {

// A ZIP archive of stored (unpacked) entries, by the layout of the ZIP application note (APPNOTE 6.3.3,
// sections 4.3.7, 4.3.12 and 4.3.16; from memory), so that hostile ones can be made byte by byte.
class Archive {
 public:
  Archive& add(std::string name, std::string bytes) {
    entries_.emplace_back(std::move(name), std::move(bytes));
    return *this;
  }
  Archive& encrypted() {
    flags_ = 1;
    return *this;
  }

  std::string bytes() const {
    std::string out, directory;
    for (const auto& [name, bytes] : entries_) {
      const auto at = static_cast<std::uint32_t>(out.size());
      const std::string fields = entry_fields(name, bytes);
      out += "PK\x03\x04" + fields + name + bytes;
      directory += "PK\x01\x02" + two(20) + fields + two(0) + two(0) + two(0) + four(0) + four(at) + name;
    }
    const auto start = static_cast<std::uint32_t>(out.size());
    const auto count = static_cast<std::uint32_t>(entries_.size());
    return out + directory + "PK\x05\x06" + four(0) + two(count) + two(count) +
           four(static_cast<std::uint32_t>(directory.size())) + four(start) + two(0);
  }

 private:
  static std::string two(std::uint32_t value) {
    return {static_cast<char>(value & 255), static_cast<char>(value >> 8 & 255)};
  }
  static std::string four(std::uint32_t value) { return two(value & 0xffff) + two(value >> 16); }
  static std::uint32_t checksum(std::string_view bytes) {
    std::uint32_t sum = 0xffffffff;
    for (const char byte : bytes) {
      sum ^= static_cast<unsigned char>(byte);
      for (int bit = 0; bit < 8; ++bit) sum = sum >> 1 ^ (sum & 1 ? 0xedb88320 : 0);
    }
    return ~sum;
  }
  std::string entry_fields(std::string_view name, std::string_view bytes) const {
    const auto size = static_cast<std::uint32_t>(bytes.size());
    return two(20) + two(flags_) + two(0) + two(0) + two(0x21) + four(checksum(bytes)) + four(size) +
           four(size) + two(static_cast<std::uint32_t>(name.size())) + two(0);
  }

  std::vector<std::pair<std::string, std::string>> entries_;
  std::uint32_t flags_ = 0;
};

// The parts that every workbook has, with one visible sheet `List` and a hidden one `Old` before it, which is there and
// visible where `old` says what it holds.
inline Archive workbook(std::string sheet, std::string shared = "", std::string styles = "",
                        std::string_view properties = "", std::string old = "") {
  Archive archive;
  archive.add(
      "_rels/.rels",
      R"(<Relationships xmlns="p"><Relationship Id="a" Type="t/officeDocument" Target="xl/workbook.xml"/></Relationships>)");
  archive.add(
      "xl/workbook.xml",
      R"(<workbook xmlns="m" xmlns:r="r">)" + std::string(properties) +
          R"(<sheets><sheet name="Old" sheetId="1" )" + (old.empty() ? R"(state="hidden" )" : "") +
          R"(r:id="old"/><sheet name="List" sheetId="2" r:id="list"/></sheets></workbook>)");
  archive.add(
      "xl/_rels/workbook.xml.rels",
      R"(<Relationships xmlns="p"><Relationship Id="list" Type="t/worksheet" Target="worksheets/sheet1.xml"/>)"
      R"(<Relationship Id="old" Type="t/worksheet" Target="worksheets/sheet2.xml"/>)"
      R"(<Relationship Id="s" Type="t/sharedStrings" Target="/xl/sharedStrings.xml"/><Relationship Id="y" Type="t/styles" Target="styles.xml"/></Relationships>)");
  archive.add("xl/worksheets/sheet1.xml", std::move(sheet));
  if (!old.empty()) archive.add("xl/worksheets/sheet2.xml", std::move(old));
  if (!shared.empty()) archive.add("xl/sharedStrings.xml", std::move(shared));
  if (!styles.empty()) archive.add("xl/styles.xml", std::move(styles));
  return archive;
}

}  // namespace kitgap::test
