// For this folder's tests: the files of the tree, and the demo jobs read.
#pragma once

#include <gtest/gtest.h>

#include <string>

#include "job/document/document.h"
#include "job/document/parts.h"

namespace roomwright::job {

inline std::string source(const std::string& path) {
  const auto text = read_file(std::string(ROOMWRIGHT_SOURCE_DIR) + "/" + path);
  EXPECT_TRUE(text.ok()) << path;
  return text.ok() ? *text : std::string();
}

inline Job demo(const std::string& name, const std::string& shop) {
  const auto job = read_job({source("examples/" + name), source("examples/" + shop)});
  EXPECT_TRUE(job.ok()) << (job.ok() ? "" : job.mistakes().text());
  return *job;
}

}  // namespace roomwright::job
