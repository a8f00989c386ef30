// Files in and out: the job with its shop, and the pack's folder.
#include <filesystem>

#include "app/api/api.h"

namespace roomwright::app {

Result<job::Job> load_job(const std::string& path) {
  auto text = read_file(path, 4u << 20);
  if (!text) return text.mistakes();
  const auto shop = job::shop_file_of(*text);
  job::Sources sources{std::move(*text), ""};
  if (!shop) {
    // The rest of the file is read all the same, so that every mistake is told at once.
    auto job = job::read_job(sources);
    if (job) return shop.mistakes();
    Diagnostics found;
    for (const Complaint& item : job.mistakes().items())
      if (item.where != "shop file") found.add(item);
    return found.empty() ? Result<job::Job>(shop.mistakes()) : Result<job::Job>(found);
  }
  const std::filesystem::path beside = std::filesystem::path(path).parent_path() / *shop;
  auto shop_text = read_file(beside.string(), 4u << 20);
  if (!shop_text) return shop_text.mistakes();
  sources.shop_text = std::move(*shop_text);
  return job::read_job(sources);
}

Result<Done> write_pack(const std::vector<PackFile>& files, const std::string& folder) {
  std::error_code fault;
  for (const PackFile& file : files) {
    const std::filesystem::path path = std::filesystem::path(folder) / file.path;
    std::filesystem::create_directories(path.parent_path(), fault);
    if (fault)
      return Complaint{
          path.parent_path().string(), "cannot be made: " + fault.message(), {}, {}, 0};
    if (auto written = write_file(path.string(), file.bytes); !written) return written;
  }
  return Done{};
}

}  // namespace roomwright::app
