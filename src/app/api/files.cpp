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

Result<std::vector<job::Job>> load_jobs(const std::vector<std::string>& paths) {
  std::vector<job::Job> jobs;
  Diagnostics found;
  std::string first;
  for (const std::string& path : paths) {
    auto job = load_job(path);
    if (!job) {
      for (Complaint fault : job.mistakes().items()) {
        fault.where = path + ": " + fault.where;
        found.add(fault);
      }
      continue;
    }
    const auto text = read_file(path, 4u << 20);
    const auto name = text ? job::shop_file_of(*text) : Result<std::string>(text.mistakes());
    if (!name) return name.mistakes();
    const auto shop = read_file((std::filesystem::path(path).parent_path() / *name).string());
    if (!shop) return shop.mistakes();
    if (first.empty()) first = *shop;
    if (*shop != first)
      found.add(path, "names another shop file than the first job", "\"" + *name + "\"",
                "jobs that are cut together come from one shop");
    jobs.push_back(std::move(*job));
  }
  if (!found.empty()) return found;
  return jobs;
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
