// The pack: every paper, drawing and table as a file, in order.
#include <nlohmann/json.hpp>

#include "app/api/api.h"
#include "papers/papers.h"

namespace roomwright::app {

namespace {

void add_vectors(const papers::Paper& paper, std::vector<PackFile>& out) {
  for (std::size_t i = 0; i < paper.sheets.size(); ++i) {
    const std::string name = "drawings/" + paper.name + "-" + std::to_string(i + 1);
    out.push_back({name + ".svg", drawing::svg_text(paper.sheets[i])});
    out.push_back(
        {name + ".dxf",
         drawing::dxf_text(paper.sheets[i], i < paper.scales.size() ? paper.scales[i] : 1)});
  }
}

void add_whole(const papers::Paper& paper, std::vector<PackFile>& out) {
  for (std::size_t i = 0; i < paper.whole.size(); ++i) {
    const std::string name = "drawings/" + paper.name + "-whole-" + std::to_string(i + 1);
    out.push_back({name + ".svg", drawing::svg_text(paper.whole[i])});
    out.push_back({name + ".dxf", drawing::dxf_text(paper.whole[i], 1)});
  }
}

}  // namespace

Result<std::vector<PackFile>> pack_files(const job::Job& job, const job::Pack& pack,
                                         const Watch& watch) {
  std::vector<PackFile> out;
  watch.tick(0.92, "papers");
  for (const papers::Paper& paper : papers::all_papers(job, pack)) {
    auto pdf = drawing::pdf_bytes(paper.sheets, {job.title + ": " + paper.title, job.date});
    if (!pdf) return pdf.mistakes();
    out.push_back({paper.name + ".pdf", std::move(*pdf)});
    if (paper.vectors) add_vectors(paper, out);
    add_whole(paper, out);
    watch.tick(0.95, paper.title);
  }
  for (const papers::Table& table : papers::all_tables(job, pack))
    out.push_back({"tables/" + table.name + ".csv", table.csv});
  out.push_back({"job.json", json_text(pack_json(job, pack)) + "\n"});
  return out;
}

Result<PackFile> proof_file(const job::Job& job, const job::Pack& pack) {
  const papers::Paper paper = papers::proof_paper(job, pack);
  auto pdf = drawing::pdf_bytes(paper.sheets, {job.title + ": " + paper.title, job.date});
  if (!pdf) return pdf.mistakes();
  return PackFile{paper.name + ".pdf", std::move(*pdf)};
}

Result<std::vector<PackFile>> together_files(const job::TogetherSheet& sheet) {
  std::vector<PackFile> out;
  for (const papers::Paper& paper : papers::together_papers(sheet)) {
    auto pdf =
        drawing::pdf_bytes(paper.sheets, {sheet.job.title + ": " + paper.title, sheet.job.date});
    if (!pdf) return pdf.mistakes();
    out.push_back({paper.name + ".pdf", std::move(*pdf)});
  }
  out.push_back({"together.json", json_text(together_json(sheet)) + "\n"});
  return out;
}

}  // namespace roomwright::app
