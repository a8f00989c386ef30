// Private to app/server: the built page inside the program. A file is found by its exact name, so
// there is no folder to climb out of. What is compressed was compressed when the page was built.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "app/server/answers.h"
#include "app/server/head.h"

namespace roomwright::app {

/// The bytes live as long as the program, or as whoever made the list.
struct PageFile {
  std::string_view name;  ///< `assets/index-1a2b.js`
  std::string_view plain;
  std::string_view gzip, brotli;  ///< empty: not there
};

class PageFiles {
 public:
  explicit PageFiles(std::vector<PageFile> files);
  bool empty() const { return files_.empty(); }
  const PageFile* find(std::string_view path) const;
  const std::string& tag(const PageFile& file) const {
    return tags_[std::size_t(&file - files_.data())];
  }

 private:
  std::vector<PageFile> files_;  ///< in order of name
  std::vector<std::string> tags_;
};

/// The files that were built in; none where the page was not there.
const PageFiles& built_in_page();

/// An answer whose body is not copied.
struct FileAnswer {
  int status = 200;
  std::string content_type;
  std::string_view body;
  std::string own_body;  ///< where it is not a file's; `body` is empty then
  Headers headers;
};

/// Answers GET and HEAD of anything that is not /api or /trust.
FileAnswer answer_file(const PageFiles& files, const HttpHead& head);

/// `br`, `gzip` or empty: the smallest that the other side takes and the file has.
std::string_view chosen_encoding(const PageFile& file, std::string_view accept);

}  // namespace roomwright::app
