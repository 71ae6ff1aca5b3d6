#include "report/page.h"

#include "text/sha256.h"

namespace kitgap {
namespace {

std::string base64_of(const std::string& bytes) {
  static constexpr std::string_view kDigits = "ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
  std::string out;
  for (std::size_t at = 0; at < bytes.size(); at += 3) {
    std::uint32_t group = 0;
    const std::size_t count = std::min<std::size_t>(3, bytes.size() - at);
    for (std::size_t i = 0; i < 3; ++i) group = group << 8 | (i < count ? static_cast<unsigned char>(bytes[at + i]) : 0u);
    for (std::size_t i = 0; i < 4; ++i) out += i <= count ? kDigits[group >> (18 - 6 * i) & 63] : '=';
  }
  return out;
}

}  // namespace

std::string policy_hash(std::string_view text) {
  Sha256 sha;
  sha.add(text);
  const std::string digits = sha.hex();
  std::string bytes;
  for (std::size_t at = 0; at < digits.size(); at += 2) bytes += static_cast<char>(std::stoi(digits.substr(at, 2), nullptr, 16));
  return "'sha256-" + base64_of(bytes) + "'";
}

std::string page_of(const PageFrame& frame, const Markup& body) {
  std::string policy = "default-src 'none'; base-uri 'none'; form-action 'none'; style-src " + policy_hash(kPageStyle);
  if (!frame.style.empty()) policy += " " + policy_hash(frame.style);
  if (!frame.script.empty()) policy += "; script-src " + policy_hash(frame.script);
  Markup page;
  page.own("<!DOCTYPE html>\n").open("html", {{"lang", "en"}}).open("head");
  page.empty("meta", {{"charset", "utf-8"}}).own("\n");
  // Attribute values are escaped, and quotes in a policy may stand so.
  page.empty("meta", {{"http-equiv", "Content-Security-Policy"}, {"content", policy}}).own("\n");
  page.empty("meta", {{"name", "viewport"}, {"content", "width=device-width, initial-scale=1"}}).own("\n");
  page.empty("meta", {{"name", "color-scheme"}, {"content", "light dark"}}).own("\n");
  page.put("title", frame.title);
  page.open("style").own(kPageStyle).close();
  if (!frame.style.empty()) page.open("style").own(frame.style).close();
  page.close();
  page.open("body").join(body);
  if (!frame.script.empty()) page.open("script").own(frame.script).close();
  return page.close().close().take();
}

void begin_main(Markup& page, std::string_view layout) {
  page.put("a", {{"class", "skip"}, {"href", "#main"}}, "To the content");
  page.open("main", {{"id", "main"}, {layout.empty() ? "" : "class", layout}});
}

}  // namespace kitgap
