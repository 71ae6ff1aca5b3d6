#include "report/markup.h"

#include "text/file.h"
#include "value/internal_error.h"

namespace kitgap {

std::string escaped_markup(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  for (const char c : printable(text)) {
    switch (c) {
      case '&': out += "&amp;"; break;
      case '<': out += "&lt;"; break;
      case '>': out += "&gt;"; break;
      case '"': out += "&quot;"; break;
      case '\'': out += "&#39;"; break;
      default: out += c;
    }
  }
  return out;
}

void Markup::begin(std::string_view element, Attributes attributes) {
  out_ += '<';
  out_ += element;
  for (const auto& [name, value] : attributes) {
    if (name.empty()) continue;
    out_ += ' ';
    out_ += name;
    out_ += "=\"";
    out_ += escaped_markup(value);
    out_ += '"';
  }
}

Markup& Markup::open(std::string_view element, Attributes attributes) {
  begin(element, attributes);
  out_ += '>';
  open_.emplace_back(element);
  return *this;
}

Markup& Markup::close() {
  require(!open_.empty(), "an element is open");
  out_ += "</" + open_.back() + ">";
  // Lines, so that a page can be read and compared; not inside what flows as text.
  static constexpr std::string_view kFlowing[] = {"a", "b", "bdi", "button", "em", "kbd", "small", "span", "strong", "summary", "text", "tspan"};
  bool flows = false;
  for (const std::string_view element : kFlowing) flows = flows || open_.back() == element;
  if (!flows) out_ += '\n';
  open_.pop_back();
  return *this;
}

Markup& Markup::text(std::string_view text) {
  out_ += escaped_markup(text);
  return *this;
}

Markup& Markup::put(std::string_view element, Attributes attributes, std::string_view text) {
  return open(element, attributes).text(text).close();
}

Markup& Markup::empty(std::string_view element, Attributes attributes) {
  begin(element, attributes);
  out_ += "/>";
  return *this;
}

Markup& Markup::join(const Markup& part) { return own(part.out_); }

Markup& Markup::own(std::string_view markup) {
  out_ += markup;
  return *this;
}

std::string Markup::take() {
  require(open_.empty(), "all elements are closed");
  return std::move(out_);
}

}  // namespace kitgap
