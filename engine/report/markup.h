#pragma once

#include <initializer_list>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace kitgap {

// HTML and SVG, element by element. The one place that escapes: whatever a pack, a list or a person calls a thing, it
// stays text. Bytes that steer (control characters, direction overrides) become visible escapes.
class Markup {
 public:
  using Attributes = std::initializer_list<std::pair<std::string_view, std::string_view>>;

  // An attribute with an empty name is left out, so that it can be made to depend on something.
  Markup& open(std::string_view element, Attributes attributes = {});
  Markup& close();  // the innermost open element
  Markup& text(std::string_view text);
  // Open, text, close.
  Markup& put(std::string_view element, Attributes attributes, std::string_view text);
  Markup& put(std::string_view element, std::string_view text) { return put(element, {}, text); }
  // An element without content: `<path .../>`, `<input ...>`.
  Markup& empty(std::string_view element, Attributes attributes = {});
  // What another writer made; never a text of somebody's.
  Markup& join(const Markup& part);
  // A style sheet, a script or a picture of ours, as it stands.
  Markup& own(std::string_view markup);

  // All elements must be closed.
  std::string take();

 private:
  void begin(std::string_view element, Attributes attributes);

  std::string out_;
  std::vector<std::string> open_;
};

std::string escaped_markup(std::string_view text);

}  // namespace kitgap
