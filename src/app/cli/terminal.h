// Private to app/cli: text for a terminal. Colour only where standard output is a terminal and
// NO_COLOR is not set; a word always says what a colour says.
#pragma once

#include <string>
#include <vector>

#include "core/base/base.h"

namespace roomwright::app {

struct Style {
  bool colour = false;
  std::string strong(const std::string& text) const;
  std::string fault(const std::string& text) const;
  std::string quiet(const std::string& text) const;
};

/// What the environment and the stream call for.
Style style_of_terminal();

/// Columns as wide as their widest cell; the first is left-aligned, the rest right-aligned where
/// they look like numbers. Two blanks between columns, two before the first.
std::string table(const std::vector<std::vector<std::string>>& rows, const Style& style);

/// Wraps at 88 columns with a hanging indent.
std::string wrapped(const std::string& text, const std::string& first_indent,
                    const std::string& indent);

/// How many columns a UTF-8 text takes (no wide characters are used).
std::size_t columns(const std::string& text);

/// Progress on one line of standard error, where that is a terminal; else a Watch that is silent.
Watch progress_watch();
/// Wipes the progress line.
void progress_done();

}  // namespace roomwright::app
