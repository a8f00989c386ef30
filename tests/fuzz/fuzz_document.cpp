// Any bytes as a job and its shop: a line `====` parts the two. Either there is a job or there are
// mistakes; never a crash, a hang or both.
#include <cstdint>
#include <cstdlib>
#include <string>

#include "job/document/document.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  const auto cut = text.find("\n====\n");
  roomwright::job::Sources sources;
  sources.job_text = text.substr(0, cut);
  if (cut != std::string::npos) sources.shop_text = text.substr(cut + 6);
  const auto job = roomwright::job::read_job(sources);
  if (!job.ok() && job.mistakes().empty()) std::abort();
  (void)roomwright::job::shop_file_of(sources.job_text);
  return 0;
}
