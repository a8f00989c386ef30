// Long solutions, kept; see kept.h.
#include "job/stages/kept.h"

#include "job/stages/kept_bytes.h"

namespace roomwright::job {

namespace {

/// To be raised whenever the solvers answer otherwise than before.
constexpr std::uint64_t solver_version = 7;

void write_objects(const std::vector<acoustics::ResponseObject>& objects, Writer& out) {
  out.whole(objects.size());
  for (const auto& object : objects) {
    out.list(object.plan_m);
    const auto& below = object.below_ceiling_m;
    out.whole(below ? 1 : 0);
    out.number(below ? below->near_m : object.low_m);
    out.number(below ? below->far_m : object.high_m);
    out.number(object.axis);
    out.whole(object.slabs.size());
    for (const auto& slab : object.slabs) {
      out.number(slab.thickness_m);
      out.list(slab.density), out.list(slab.compressibility);
    }
  }
}

}  // namespace

std::string key_of_request(const acoustics::ResponseRequest& request,
                           const acoustics::ResponseOptions& options) {
  Writer out;
  out.whole(solver_version);
  out.number(options.accuracy_db);
  out.list(request.room.plan_m);
  out.number(request.room.height_m), out.number(request.room.slope);
  out.number(request.sound_speed_m_s), out.number(request.density_kg_m3);
  out.whole(request.surfaces.size());
  for (const auto& surface : request.surfaces) out.list(surface);
  out.whole(request.patches.size());
  for (const auto& patch : request.patches) {
    out.whole(static_cast<std::uint64_t>(patch.area.surface));
    out.number(patch.area.from_m), out.number(patch.area.to_m);
    out.list(patch.admittance);
  }
  write_objects(request.objects, out);
  out.whole(request.sources.size());
  for (const auto& source : request.sources)
    out.number(source.at_m), out.number(source.volume_acceleration_m3_s2);
  out.list(request.receivers_m);
  out.list(request.frequencies_hz);
  return out.take();
}

namespace {

std::string value_of(const std::vector<acoustics::ResponseReport>& reports) {
  Writer out;
  out.whole(reports.size());
  for (const auto& report : reports) {
    out.text(report.method);
    out.whole(static_cast<std::uint64_t>(report.unknowns));
    out.whole(static_cast<std::uint64_t>(report.modes));
    out.number(report.accuracy_db);
    out.whole(report.pressure_pa.size());
    for (const auto& row : report.pressure_pa) out.list(row);
    out.whole(report.warnings.size());
    for (const auto& warning : report.warnings) {
      out.text(warning.where), out.text(warning.what), out.text(warning.remedy);
    }
  }
  return out.take();
}

std::optional<std::vector<acoustics::ResponseReport>> read_value(const std::string& bytes) {
  Opener in(bytes);
  std::vector<acoustics::ResponseReport> out(in.count(8));
  for (auto& report : out) {
    report.method = in.text();
    report.unknowns = static_cast<int>(in.whole());
    report.modes = static_cast<int>(in.whole());
    report.accuracy_db = in.number();
    report.pressure_pa.resize(in.count(8));
    for (auto& row : report.pressure_pa) {
      row.resize(in.count(16));
      for (auto& value : row) value = in.complex();
    }
    report.warnings.resize(in.count(24));
    for (auto& warning : report.warnings) {
      warning.where = in.text(), warning.what = in.text(), warning.remedy = in.text();
    }
    if (!in.good) return std::nullopt;
  }
  if (!in.good || !in.at_end()) return std::nullopt;
  return out;
}

std::optional<std::vector<acoustics::ResponseReport>> find_responses(const std::string& key,
                                                                     std::size_t sources,
                                                                     const Keep& keep) {
  if (const auto bytes = keep.find(key))
    if (auto known = read_value(*bytes); known && known->size() == sources) return known;
  return std::nullopt;
}

}  // namespace

std::optional<std::vector<acoustics::ResponseReport>> known_responses(
    const acoustics::ResponseRequest& request, const acoustics::ResponseOptions& options,
    const Keep& keep) {
  if (!keep.find) return std::nullopt;
  return find_responses(key_of_request(request, options), request.sources.size(), keep);
}

Result<std::vector<acoustics::ResponseReport>> kept_responses(
    const acoustics::ResponseRequest& request, const acoustics::ResponseOptions& options,
    const Run& run) {
  const std::string key = run.keep.find ? key_of_request(request, options) : std::string();
  if (run.keep.find)
    if (auto known = find_responses(key, request.sources.size(), run.keep))
      return std::move(*known);
  auto solved = acoustics::responses(request, options, run.watch);
  if (solved && run.keep.put) run.keep.put(key, value_of(*solved));
  return solved;
}

Result<std::vector<double>> kept_numbers(const std::string& key, const Keep& keep,
                                         const std::function<Result<std::vector<double>>()>& make) {
  if (keep.find)
    if (const auto bytes = keep.find(key)) {
      Opener in(*bytes);
      std::vector<double> known(in.count(8));
      for (double& value : known) value = in.number();
      if (in.good && in.at_end()) return known;
    }
  auto made = make();
  if (made && keep.put) {
    Writer out;
    out.list(*made);
    keep.put(key, out.take());
  }
  return made;
}

}  // namespace roomwright::job
