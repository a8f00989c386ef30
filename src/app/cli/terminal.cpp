// Terminal text; see terminal.h.
#include "app/cli/terminal.h"

#include <unistd.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <cstdio>
#include <cstdlib>

namespace roomwright::app {

namespace {

std::string dressed(bool colour, const char* code, const std::string& text) {
  return colour ? std::string("\x1b[") + code + "m" + text + "\x1b[0m" : text;
}

bool looks_like_number(const std::string& text) {
  return !text.empty() && (std::isdigit(static_cast<unsigned char>(text[0])) || text[0] == '-' ||
                           text[0] == '+' || text[0] == '(');
}

}  // namespace

std::string Style::strong(const std::string& text) const {
  return dressed(colour, "1", text);
}
std::string Style::fault(const std::string& text) const {
  return dressed(colour, "31", text);
}
std::string Style::quiet(const std::string& text) const {
  return dressed(colour, "2", text);
}

Style style_of_terminal() {
  const char* no_colour = std::getenv("NO_COLOR");
  const char* terminal = std::getenv("TERM");
  const bool dumb = terminal && std::string(terminal) == "dumb";
  return {isatty(STDOUT_FILENO) && !dumb && !(no_colour && *no_colour)};
}

std::size_t columns(const std::string& text) {
  return static_cast<std::size_t>(std::count_if(text.begin(), text.end(), [](char letter) {
    return (static_cast<unsigned char>(letter) & 0xc0u) != 0x80u;
  }));
}

std::string table(const std::vector<std::vector<std::string>>& rows, const Style& style) {
  std::vector<std::size_t> widths;
  for (const auto& row : rows)
    for (std::size_t i = 0; i < row.size(); ++i) {
      if (i >= widths.size()) widths.push_back(0);
      widths[i] = std::max(widths[i], columns(row[i]));
    }
  std::string out;
  for (std::size_t r = 0; r < rows.size(); ++r) {
    std::string line = " ";
    for (std::size_t i = 0; i < rows[r].size(); ++i) {
      const std::string& cell = rows[r][i];
      const bool number =
          i > 0 && (r == 0 ? rows.size() > 1 && i < rows[1].size() && looks_like_number(rows[1][i])
                           : looks_like_number(cell));
      const std::string pad(widths[i] - columns(cell), ' ');
      line += " " + (number ? pad + cell : cell + pad);
      if (i + 1 < rows[r].size()) line += " ";
    }
    while (!line.empty() && line.back() == ' ') line.pop_back();
    out += (r == 0 ? style.quiet(line) : line) + "\n";
  }
  return out;
}

std::string wrapped(const std::string& text, const std::string& first_indent,
                    const std::string& indent) {
  constexpr std::size_t width = 88;
  std::string out, line = first_indent, word;
  bool empty = true;
  const auto place = [&] {
    if (word.empty()) return;
    if (!empty && columns(line) + 1 + columns(word) > width) {
      out += line + "\n";
      line = indent;
      empty = true;
    }
    line += (empty ? "" : " ") + word;
    empty = false;
    word.clear();
  };
  for (const char letter : text)
    if (letter == ' ')
      place();
    else
      word += letter;
  place();
  return out + line + "\n";
}

Watch progress_watch() {
  Watch watch;
  if (!isatty(STDERR_FILENO)) return watch;
  watch.progress = [](double fraction, std::string_view doing) {
    const int percent = static_cast<int>(std::lround(std::clamp(fraction, 0.0, 1.0) * 100));
    std::fprintf(stderr, "\r\x1b[K%3d %%  %.*s", percent, static_cast<int>(doing.size()),
                 doing.data());
    std::fflush(stderr);
  };
  return watch;
}

void progress_done() {
  if (isatty(STDERR_FILENO)) std::fprintf(stderr, "\r\x1b[K");
}

}  // namespace roomwright::app
