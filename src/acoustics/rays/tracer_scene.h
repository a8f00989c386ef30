// Private to acoustics/rays: a scene as the inner loop wants it (surfaces, patches and materials in
// lists, single precision, about the room's middle), and what goes with it in double precision:
// box faces, directivity, the exact paths.
#pragma once

#include <vector>

#include "acoustics/rays/echogram.h"
#include "acoustics/rays/rays.h"
#include "acoustics/rays/tracer_kernel.h"

namespace roomwright::acoustics {

/// A face of a box: corner + u · along_u + v · along_v; both of length 1 and at right angles.
struct BoxFace {
  Vec3 corner, along_u, along_v;
  double u_m = 0, v_m = 0;
  std::size_t box = 0;
  Vec3 normal() const { return cross(along_u, along_v); }
};
/// Without those that lie on the floor or a flat ceiling.
std::vector<BoxFace> faces_of(const Room& room, const std::vector<TracedBox>& boxes);
double box_volume_m3(const TracedBox& box);
/// From a point to the box's nearest surface; below 0 inside.
double gap_to_box_m(const TracedBox& box, Vec3 point);
/// From a point inside the room to the nearest surface of any kind.
double gap_m(const TracedScene& scene, Vec3 point);

double absorption_of(const Finish& finish, std::size_t band);
double scattering_of(const Finish& finish, std::size_t band);
/// Surfaces, then patches, then boxes: the finishes by material.
std::vector<Finish> materials_of(const TracedScene& scene);
/// What is there: the surface, or the patch that replaces it, as a place in materials_of.
std::size_t material_at(const TracedScene& scene, int surface, Vec3 point);
/// Area by material; what patches or boxes cover is taken from surfaces (a box over a patch is not
/// seen).
std::vector<double> areas_of(const TracedScene& scene);

/// Bands that scatter alike everywhere, at most trace_row in a group.
std::vector<std::vector<std::size_t>> band_groups(const TracedScene& scene);

/// Energy by direction against the mean over the sphere.
class Pattern {
 public:
  Pattern(const Directivity& directivity, std::size_t bands);
  double gain(std::size_t band, Vec3 way) const;
  bool even() const { return kind_ == Directivity::Kind::omnidirectional; }

 private:
  double raw(std::size_t band, double cosine) const;
  Directivity::Kind kind_;
  Vec3 axis_;
  double order_;
  std::vector<std::vector<double>> level_db_;
  std::vector<double> mean_;
};

/// The scene for one group of bands; `scene` points into the lists beside it.
struct KernelScene {
  std::vector<TraceSurface> surfaces;
  std::vector<TracePatch> patches;
  std::vector<TraceMaterial> materials;
  std::vector<TraceReceiver> receivers;
  std::vector<TraceBlind> blinds;
  TraceScene scene{};
  Vec3 middle_m;
};
KernelScene kernel_scene(const TracedScene& scene, const std::vector<std::size_t>& bands,
                         const std::vector<double>& radius_m);

/// Direct sound and specular paths: their time and, by band, energy.
struct ExactPaths {
  bool direct_clear = true;
  std::size_t paths = 0;  ///< without the direct one
  std::vector<double> time_s;
  std::vector<std::vector<double>> energy;  ///< by path, band
};
ExactPaths exact_paths(const TracedScene& scene, const Pattern& pattern, Vec3 source, Vec3 receiver,
                       const ImageReport& images);

}  // namespace roomwright::acoustics
