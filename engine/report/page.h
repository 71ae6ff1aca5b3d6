#pragma once

#include <string>
#include <string_view>

#include "report/markup.h"

namespace kitgap {

// One self-contained page: style, script and pictures are in it, nothing is fetched, and the content security policy
// lets no other script run than ours, named by its hash.
struct PageFrame {
  std::string_view title;
  std::string_view script = {};  // empty: none
  std::string_view style = {};   // beside that of every page; empty: none
};
std::string page_of(const PageFrame& frame, const Markup& body);

// Our own files beside this one, built into the program.
extern const std::string_view kPageStyle;
extern const std::string_view kSheetStyle;
extern const std::string_view kGapScript;
extern const std::string_view kSheetScript;

// `'sha256-...'` as a content security policy names what may run.
std::string policy_hash(std::string_view text);

// The link that jumps over the navigation, and the landmark that it goes to.
// `layout` is a class of the style sheet, such as `wide`; empty: none.
void begin_main(Markup& page, std::string_view layout = {});

}  // namespace kitgap
