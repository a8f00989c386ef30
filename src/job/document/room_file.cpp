// The job file: its region, the room with the tape's own checks, and the surfaces.
#include <algorithm>
#include <nlohmann/json.hpp>

#include "job/document/parts.h"

namespace roomwright::job {

LengthReader lengths_of(const Job& job) {
  return {job.region.bare};
}

Vec3 metres(const Point& p) {
  return {p.x.metres(), p.y.metres(), p.z.metres()};
}

bool has_room(const Job& job) {
  return job.room.plan_m.size() >= 3;
}

std::string material_of(Reader& in, const char* key, bool required) {
  if (!required && !in.has(key)) {
    in.raw(key);
    return {};
  }
  const std::string name =
      in.text(key, "a surface of the library, such as plasterboard_two_layers");
  if (name.empty() || acoustics::find_surface_material(name)) return name;
  std::vector<std::string> known, alike;
  for (const auto& one : acoustics::surface_materials()) {
    known.push_back(one.key);
    if (name.size() >= 4 && one.key.find(name) != std::string::npos && alike.size() < 3)
      alike.push_back(one.key);
  }
  if (const auto near = nearest(name, known)) alike = {*near};
  std::string list;
  for (const std::string& one : alike) list += (list.empty() ? "" : " or ") + one;
  in.complain(key, "is not in the library of surfaces", shown(Json(name)),
              list.empty() ? "data/surfaces.csv lists them" : "did you mean " + list + "?");
  return {};
}

void read_region(Reader& in, Job& job) {
  in.required_child(
      "region",
      [&](Reader& region) {
        job.region.name = region.text_or("name", "");
        const auto unit = region.one_of("units", length_unit_names());
        job.region.bare = static_cast<LengthUnit>(unit.value_or(2));
        job.region.units.metric =
            job.region.bare != LengthUnit::ft && job.region.bare != LengthUnit::in;
        static const std::vector<std::string> papers = {"a4", "letter"};
        job.region.paper = static_cast<PaperSize>(
            region.one_of_or("paper", job.region.units.metric ? 0 : 1, papers).value_or(0));
        static const std::vector<std::string> projections = {"first-angle", "third-angle"};
        job.region.projection = static_cast<Projection>(
            region.one_of_or("projection", job.region.units.metric ? 0 : 1, projections)
                .value_or(0));
        const auto denominator = region.whole_or("denominator", 16, 2, 64, "2, 4, 8, 16, 32 or 64");
        job.region.units.denominator = int(denominator);
        if ((denominator & (denominator - 1)) != 0)
          region.complain("denominator", "must be 2, 4, 8, 16, 32 or 64", double(denominator));
        region.finish();
      },
      "units, such as \"mm\" or \"in\"");
}

namespace {

void read_plan(Reader& in, Job& job) {
  const LengthReader lengths = lengths_of(job);
  const Json* raw =
      in.required("plan", "corners as [[x, y], …], anticlockwise, or size = [x, y, z]");
  if (!raw) return;
  if (!raw->is_array() || raw->size() < 3 || raw->size() > acoustics::most_plan_corners) {
    in.complain("plan", "must be a list of 3 to 64 corners",
                raw->is_array() ? Got(double(raw->size())) : shown(*raw),
                "such as [[0, 0], [5400, 0], …]");
    return;
  }
  for (std::size_t i = 0; i < raw->size(); ++i) {
    const auto corner = lengths.any_list(in, "plan[" + std::to_string(i) + "]", &(*raw)[i], 2);
    if (corner) job.plan.push_back({(*corner)[0], (*corner)[1]});
  }
  if (job.plan.size() != raw->size()) job.plan.clear();
}

void read_size(Reader& in, Job& job) {
  const auto size = lengths_of(job).list<3>(in, "size", "[x, y, z]");
  if (!size) return;
  job.plan = {{zero, zero}, {(*size)[0], zero}, {(*size)[0], (*size)[1]}, {zero, (*size)[1]}};
  job.height = (*size)[2];
}

void read_ceiling(Reader& in, Job& job) {
  const LengthReader lengths = lengths_of(job);
  if (in.has("height") == in.has("ceiling")) {
    in.raw("height");
    in.raw("ceiling");
    in.complain("height", in.has("height") ? "stands beside ceiling" : "is missing", {},
                "give either height, or ceiling as three points of its plane");
    return;
  }
  if (in.has("height")) {
    // A height that is wrong leaves no room: nothing in it is then held against it.
    job.height = lengths.maybe(in, "height", 500_mm, far);
    return;
  }
  const Json* raw = in.required("ceiling");
  if (!raw->is_array() || raw->size() != 3) {
    in.complain("ceiling", "must be three points", shown(*raw),
                "[[x, y, z], [x, y, z], [x, y, z]]");
    return;
  }
  for (std::size_t i = 0; i < 3; ++i) {
    const auto point = lengths.any_list(in, "ceiling[" + std::to_string(i) + "]", &(*raw)[i], 3);
    if (point) job.ceiling.push_back({(*point)[0], (*point)[1], (*point)[2]});
  }
}

void make_the_room(Reader& in, Job& job) {
  if (job.plan.empty() || (!job.height && job.ceiling.size() != 3)) return;
  Polygon plan;
  for (const auto& corner : job.plan) plan.push_back({corner[0].metres(), corner[1].metres()});
  const auto room =
      job.height
          ? acoustics::make_room(plan, job.height->metres())
          : acoustics::make_sloped_room(
                plan, {metres(job.ceiling[0]), metres(job.ceiling[1]), metres(job.ceiling[2])});
  if (room) {
    job.room = *room;
    return;
  }
  for (const Complaint& fault : room.mistakes().items()) {
    std::string key = fault.where.substr(fault.where.find('.') + 1);
    if (const auto unit = key.find("_m"); unit != std::string::npos) key.erase(unit, 2);
    if (key.rfind("plan", 0) == 0 && in.has("size")) key = "size";
    in.complain(key, fault.what, fault.got, fault.remedy);
  }
}

void read_tape(Reader& in, Job& job) {
  const LengthReader lengths = lengths_of(job);
  const auto corners = static_cast<long long>(std::max<std::size_t>(1, job.plan.size()));
  in.each("diagonals", 0, 200, [&](Reader& entry) {
    Diagonal diagonal;
    const std::size_t before = entry.found().size();
    diagonal.from = int(entry.whole("from", 0, corners - 1, "a corner of the plan, from 0"));
    diagonal.to = int(entry.whole("to", 0, corners - 1, "a corner of the plan, from 0"));
    diagonal.measured = lengths.required(entry, "measured", 100_mm, far, "what the tape says");
    if (diagonal.from == diagonal.to && entry.found().size() == before)
      entry.complain("to", "is the same corner", double(diagonal.to), "name two corners");
    entry.finish();
    job.diagonals.push_back(diagonal);
  });
  in.each("heights", 0, 200, [&](Reader& entry) {
    const auto at = lengths.list<2>(entry, "at", "[x, y] of the place");
    HeightReading reading;
    reading.height = lengths.required(entry, "height", 300_mm, far, "what the tape says");
    if (at) {
      reading.x = (*at)[0];
      reading.y = (*at)[1];
      if (has_room(job) &&
          !contains(job.room.plan_m, Vec2{reading.x.metres(), reading.y.metres()}, 1e-3))
        entry.complain("at", "lies outside the plan", {}, "give a place on the floor");
      job.heights.push_back(reading);
    }
    entry.finish();
  });
}

}  // namespace

void read_room(Reader& in, Job& job) {
  in.required_child(
      "room",
      [&](Reader& room) {
        if (room.has("size")) {
          read_size(room, job);
          for (const char* key : {"plan", "height", "ceiling"})
            if (room.raw(key)) room.complain(key, "stands beside size", {}, "give one of the two");
        } else {
          read_plan(room, job);
          read_ceiling(room, job);
        }
        make_the_room(room, job);
        read_tape(room, job);
        room.finish();
      },
      "size or plan and height");
}

void read_surfaces(Reader& in, Job& job) {
  in.required_child(
      "surfaces",
      [&](Reader& surfaces) {
        const std::string fallback = material_of(surfaces, "default", true);
        if (!has_room(job)) {
          for (const auto& key : surfaces.keys()) surfaces.raw(key);
          return;
        }
        job.finish.assign(static_cast<std::size_t>(acoustics::surface_count(job.room)), fallback);
        for (int i = 0; i < acoustics::surface_count(job.room); ++i) {
          const std::string name = acoustics::surface_name(job.room, i);
          if (!surfaces.has(name)) continue;
          const std::string own = material_of(surfaces, name.c_str(), true);
          if (!own.empty()) job.finish[static_cast<std::size_t>(i)] = own;
          surfaces.raw(name);
        }
        for (int i = 0; i < acoustics::surface_count(job.room); ++i)
          surfaces.raw(acoustics::surface_name(job.room, i));
        surfaces.finish();
      },
      "at least default = \"a material\"");
}

}  // namespace roomwright::job
