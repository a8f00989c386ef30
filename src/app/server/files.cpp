// See files.h.
#include "app/server/files.h"

#include <algorithm>
#include <charconv>

#include "app/store/store.h"

namespace roomwright::app {

namespace {

std::string_view type_of(std::string_view name) {
  constexpr std::pair<std::string_view, std::string_view> types[] = {
      {".html", "text/html; charset=utf-8"},
      {".js", "text/javascript; charset=utf-8"},
      {".css", "text/css; charset=utf-8"},
      {".json", "application/json"},
      {".svg", "image/svg+xml"},
      {".png", "image/png"},
      {".ico", "image/x-icon"},
      {".woff2", "font/woff2"},
      {".webmanifest", "application/manifest+json"},
      {".wasm", "application/wasm"},
      {".txt", "text/plain; charset=utf-8"}};
  for (const auto& [ending, type] : types)
    if (name.size() > ending.size() && name.substr(name.size() - ending.size()) == ending)
      return type;
  return "application/octet-stream";
}

/// The weight that an Accept-Encoding gives a coding (RFC 9110, 12.5.3): 0 where it does not name
/// it.
double weight_of(std::string_view accept, std::string_view coding) {
  while (!accept.empty()) {
    const std::size_t comma = std::min(accept.find(','), accept.size());
    std::string one;
    for (const char c : accept.substr(0, comma))
      if (c != ' ' && c != '\t') one += c;
    const std::size_t semicolon = std::min(one.find(';'), one.size());
    if (same_word(std::string_view(one).substr(0, semicolon), coding)) {
      double weight = 1;
      if (const std::size_t q = one.find("q=", semicolon); q != std::string::npos)
        std::from_chars(one.data() + q + 2, one.data() + one.size(), weight);
      return weight;
    }
    accept.remove_prefix(std::min(comma + 1, accept.size()));
  }
  return 0;
}

FileAnswer said(int status, std::string text) {
  FileAnswer out;
  out.status = status;
  out.content_type = "text/plain; charset=utf-8";
  out.own_body = std::move(text);
  out.headers = {{"Cache-Control", "no-store"}};
  return out;
}

const char* not_built_in =
    "The page was not built into this program.\n\n"
    "To build it: scripts/page.sh, then build the program again; or ./run, which does both.\n"
    "The interface under /api works all the same.\n";

}  // namespace

PageFiles::PageFiles(std::vector<PageFile> files) : files_(std::move(files)) {
  std::sort(files_.begin(), files_.end(),
            [](const PageFile& a, const PageFile& b) { return a.name < b.name; });
  for (const PageFile& file : files_) tags_.push_back(sha256_hex(file.plain).substr(0, 20));
}

const PageFile* PageFiles::find(std::string_view path) const {
  if (path.empty() || path[0] != '/') return nullptr;
  const std::string_view name = path == "/" ? "index.html" : path.substr(1);
  const auto at =
      std::lower_bound(files_.begin(), files_.end(), name,
                       [](const PageFile& file, std::string_view n) { return file.name < n; });
  return at != files_.end() && at->name == name ? &*at : nullptr;
}

std::string_view chosen_encoding(const PageFile& file, std::string_view accept) {
  const double brotli = file.brotli.empty() ? 0 : weight_of(accept, "br");
  const double gzip = file.gzip.empty() ? 0 : weight_of(accept, "gzip");
  if (brotli > 0 && brotli >= gzip) return "br";
  return gzip > 0 ? "gzip" : "";
}

FileAnswer answer_file(const PageFiles& files, const HttpHead& head) {
  if (!head.reads()) {
    FileAnswer out = said(405, "The page is only read.\n");
    out.headers.emplace_back("Allow", "GET, HEAD");
    return out;
  }
  const PageFile* file = files.find(head.path());
  if (!file && files.empty() && head.path() == "/") return said(200, not_built_in);
  if (!file) return said(404, "There is no such page.\n");
  FileAnswer out;
  out.content_type = type_of(file->name);
  const std::string_view coding = chosen_encoding(*file, head.field("accept-encoding"));
  const std::string tag =
      "\"" + files.tag(*file) + (coding.empty() ? "" : "-") + std::string(coding) + "\"";
  const bool named_by_content = file->name.rfind("assets/", 0) == 0;
  out.headers = {
      {"ETag", tag},
      {"Vary", "Accept-Encoding"},
      {"Cache-Control", named_by_content ? "public, max-age=31536000, immutable" : "no-cache"},
      {"Content-Security-Policy", std::string(page_policy())}};
  const std::string_view known = head.field("if-none-match");
  if (known == "*" || lists_word(known, tag) || lists_word(known, "W/" + tag)) {
    out.status = 304;
    return out;
  }
  if (!coding.empty()) out.headers.emplace_back("Content-Encoding", std::string(coding));
  out.body = coding == "br" ? file->brotli : coding == "gzip" ? file->gzip : file->plain;
  return out;
}

}  // namespace roomwright::app
