// Private to acoustics/waves: the field of a room of any plan as a sum of functions over triangles
// of the plan times functions over the height, and the matrices of
//   Σ_m a_m K_m − Σ_m c_m M_m + Σ_s t_s B_s,
// a = 1/ρ_r and c = k²κ_r of each material, t = jkβ of each surface, jk(β − β of its surface) of
// each patch.
#pragma once

#include <complex>
#include <optional>
#include <string>
#include <unordered_map>
#include <vector>

#include "acoustics/waves/solid_plan.h"
#include "acoustics/waves/solid_shapes.h"
#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

/// a, c by material (0 is the air; by material_part() where the model stretches), t by surface and
/// then by patch.
struct SolidValues {
  std::vector<std::complex<double>> inverse_density, stiffness, boundary;
};

struct SolidLayer {
  int degree = 0;
  std::vector<int> functions;  ///< of the height: bottom, top, bubbles
  HeightMatrices matrices;
};

/// plan[p] ⊗ height[h] of one material, with that factor in the stiffness and in the mass, or of
/// one surface or patch (then material is −1 and only in_mass counts). In a model that stretches,
/// each material is three: material_part() says which.
struct SolidTerm {
  int plan = 0, height = 0;
  double in_stiffness = 0, in_mass = 0;
  int material = -1, boundary = -1;
};
/// What fills a layer, from a share of its height to another.
struct SolidFill {
  int layer = 0, material = 0;
  double from = 0, to = 1;
};
/// Of the stiffness of a material what the slope of the pressure along one of three directions
/// gives; the mass goes with the first.
constexpr int material_part(int material, int direction) {
  return 3 * material + direction;
}
/// The prisms over one triangle.
struct SolidColumn {
  std::vector<int> functions;  ///< of the plan
  std::vector<TriangleShape> shapes;
  std::vector<Eigen::MatrixXd> plan;
  std::vector<SolidTerm> terms;
  std::vector<SolidFill> fills;  ///< bottom to top, all of the height
};
/// Weights of the unknowns at a point.
struct SolidPoint {
  std::vector<int> unknowns;
  std::vector<double> weights;
};

/// A matrix over the height, by its entries that are not 0.
struct HeightMatrix {
  struct Entry {
    int row, column;
    double value;
    bool operator==(const Entry&) const = default;
  };
  std::vector<Entry> entries;
  bool operator==(const HeightMatrix&) const = default;
};

/// Over the height stand the modes of the layers' functions (discrete cosines, lowest first). Each
/// function of the plan takes as many as are felt where it stands: all beside a patch or an object
/// and where layers are bent by a slope, the lowest far from any, since the others have died away
/// there.
struct SolidModel {
  Mesh mesh;
  std::vector<std::vector<double>> level_m;  ///< by point of the mesh, bottom to top
  std::vector<double> middle_m;  ///< levels of which the height's modes are smooth functions
  std::vector<bool> alike;       ///< by point of the mesh: they divide its height as those do
  std::vector<SolidLayer> layers;
  Eigen::MatrixXd modes;  ///< by column, in the layers' functions
  std::vector<HeightMatrix> heights;
  std::unordered_multimap<std::size_t, int> known_heights;  ///< by what they hold
  std::vector<SolidColumn> columns;
  std::vector<Vec2> centres;     ///< of the triangles
  std::vector<int> tall, first;  ///< by function of the plan: how many modes, the first unknown
  int height_size = 0, materials = 1, boundaries = 0, unknowns_ = 0;
  /// In plan, along what the room stretches, of length 1; none: the matrices are not told apart by
  /// direction.
  std::optional<Vec2> stretch_along;
  /// How many materials the terms name.
  int parts() const { return stretch_along ? 3 * materials : materials; }
  int unknowns() const { return unknowns_; }
  double bytes() const;  ///< of the matrices of columns and heights
  std::optional<SolidPoint> point(Vec3 at) const;
  /// Material at a point of the room.
  int material_at(Vec3 at) const;
};

/// A receiver this close to a source asks for a mesh that is graded toward the source.
inline constexpr double near_source_m = 0.9;

struct SolidAsk {
  const Room& room;
  const std::vector<ResponsePatch>& patches;
  const std::vector<ResponseObject>& objects;
  double wave_number_1_m = 0;  ///< the greatest, in air
  /// By material, the greatest over that in air.
  std::vector<double> slowness{};
  std::vector<Vec3> near_sources_m{};  ///< sources with a receiver closer than near_source_m
  int more_degrees = 0;
  bool follow_patches = true;  ///< the plan's triangles keep to the edges of patches
  /// By slab, object after object: its material, from 1; empty: each its own.
  std::vector<int> material_of{};
  /// Ends of objects that lie nearer than that share a layer's end: what lies between is integrated
  /// exactly, but functions have no kink there.
  double one_level_m = 0.03;
  double slit_step = 1;  ///< of the triangles between a corner of an object and a wall close by
  std::optional<Vec2> stretch_along{};  ///< as SolidModel's
};
inline constexpr int most_solid_unknowns = 150000;

/// Errors: objects that overlap, stick out of the room or lie oblique; a mesh that cannot be made;
/// more unknowns than the limit.
Result<SolidModel> make_solid(const SolidAsk& ask);

/// Where objects and patches may not be, told all at once.
Diagnostics wrong_objects(const Room& room, const std::vector<ResponseObject>& objects,
                          const std::vector<ResponsePatch>& patches);

/// out = Σ values · matrix · in, real values of one material or boundary alone; columns of `in`.
Eigen::MatrixXd apply_stiffness(const SolidModel& model, int material, const Eigen::MatrixXd& in);
Eigen::MatrixXd apply_mass(const SolidModel& model, int material, const Eigen::MatrixXd& in);
Eigen::MatrixXd apply_boundary(const SolidModel& model, int boundary, const Eigen::MatrixXd& in);
/// The whole matrix times columns.
Eigen::MatrixXcd apply_all(const SolidModel& model, const SolidValues& values,
                           const Eigen::MatrixXcd& in);
/// What a term counts for in the whole matrix.
std::complex<double> weight_of(const SolidTerm& term, const SolidValues& values);

// ---- parts of make_solid
// -------------------------------------------------------------------------

/// Slab boundaries along the axis, from 0: one more than slabs.
std::vector<double> slab_marks(const ResponseObject& object);
/// Its ends are parallel to a ceiling that slopes.
bool follows_ceiling(const Room& room, const ResponseObject& object);
/// Its slabs lie one above another.
bool is_upright(const Room& room, const ResponseObject& object);
/// Its ends over a point of the plan.
struct HeightSpan {
  double low_m = 0, high_m = 0;
};
HeightSpan span_at(const Room& room, const ResponseObject& object, Vec2 at);
/// How far a point lies along the axis, from where the object begins.
double along_axis(const Room& room, const ResponseObject& object, Vec3 at);
/// Heights over a point of the plan where its slabs meet, if they lie one above another, and its
/// ends.
std::vector<double> marks_at(const Room& room, const ResponseObject& object, Vec2 at);
/// Where layers meet, from the floor to the ceiling: exactly where objects that hold the point
/// begin, end or change, beside them as near to that as there is room.
struct SolidLevels {
  std::vector<std::vector<double>> by_point_m;
  std::vector<bool> alike;       ///< by point: levels divide the height as those of the middle do
  std::vector<double> middle_m;  ///< under a ceiling of the middle height
};
/// Errors: an object that reaches above the underside of one that follows the ceiling.
Result<SolidLevels> levels_of(const SolidAsk& ask, const Mesh& mesh);
/// ∫ΨΨ and ∫Ψ'Ψ' over a part of a layer, ζ from `from` to `to`.
struct HeightPart {
  Eigen::MatrixXd mass, stiff;
};
HeightPart height_part(const SolidLayer& layer, double from, double to);
/// A matrix over the height, from one over the layers' functions.
int add_height(SolidModel& model, const Eigen::MatrixXd& over_functions);
/// The surfaces and patches of one column, added to it. whole: the height's mass over all layers
/// where they are flat, else −1.
void add_faces(const Room& room, const std::vector<ResponsePatch>& patches, SolidModel& model,
               std::size_t column);
/// The matrices of the materials of one column, added to it.
void add_matrices(SolidModel& model, std::size_t column);
/// How many modes of the height each function of the plan takes.
void choose_modes(const SolidAsk& ask, SolidModel& model);

}  // namespace roomwright::acoustics
