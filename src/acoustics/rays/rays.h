// Sound as rays. Image sources: every specular path from a source to a receiver up to an order,
// exact in any plan with a flat or sloped ceiling. A path counts when each of its reflection points
// lies on its surface and no surface stands in any of its legs. Ray tracing: what the images leave
// out, by chance, with its statistical error. Coefficients that do not depend on the angle.
#pragma once

#include <array>
#include <cstdint>
#include <limits>
#include <optional>
#include <string>
#include <vector>

#include "acoustics/rooms/rooms.h"
#include "core/base/base.h"

namespace roomwright::acoustics {

inline constexpr int greatest_order = 20;          ///< in a box
inline constexpr int greatest_order_any_plan = 5;  ///< elsewhere
inline constexpr double most_image_candidates = 5e6;

/// Absorption of the boundary in one band (or one number): by surface, and patches that replace it.
struct ReflectingBoundary {
  std::vector<double> surface_absorption;  ///< by surface; empty: rigid
  std::vector<Patch> patches;
  std::vector<double> patch_absorption;  ///< by patch
};

struct ImagePath {
  double delay_ms = 0;  ///< after the direct sound
  double level_db = 0;  ///< against it: 20 lg(d₀/d) + Σ 10 lg(1 − α); at least -300
  double length_m = 0;
  int order = 0;
  std::vector<int> surfaces;   ///< from the source
  std::vector<Vec3> points_m;  ///< reflection points, in the same order
};

struct ImageOptions {
  int max_order = 1;
  double window_ms = std::numeric_limits<double>::infinity();
};

struct ImageReport {
  std::vector<ImagePath> paths;  ///< by delay, then by surfaces
  double direct_m = 0;
  bool direct_clear = true;  ///< false: a wall stands between them (non-convex plans)
};

/// What image_paths has to try for one pair.
double image_candidates(const Room& room, int order);

/// Errors: source or receiver outside the room or nearer than 1 mm to a surface; an order out of
/// range or with too many candidates for this plan (the message says which order is possible);
/// spectra of another size than the room; source and receiver in one place.
/// Source: J. B. Allen & D. A. Berkley, J. Acoust. Soc. Am. 65 (1979); J. Borish, J. Acoust. Soc.
/// Am. 75 (1984) for any polyhedron.
Result<ImageReport> image_paths(const Room& room, Vec3 source_m, Vec3 receiver_m,
                                double sound_speed_m_s, const ReflectingBoundary& boundary,
                                const ImageOptions& options);

inline constexpr int greatest_echogram_order = 200;  ///< of a box without its paths
inline constexpr double most_echogram_cells = 4e6;   ///< bins · bands

/// Every image of a box, the source itself with them, as energies in bins of time: what image_paths
/// tells path by path, for sums that need none of the paths. Air takes nothing.
struct BoxImageOptions {
  int max_order = greatest_order;  ///< to greatest_echogram_order
  double bin_s = 1e-3;
  double from_s = 0;  ///< from the source's own time: where the bins begin
  double window_s = std::numeric_limits<double>::infinity();  ///< of the bins together
  bool direct = true;                                         ///< false: the images alone
};
struct BoxImages {
  int images = 0;  ///< in the bins
  std::size_t bands = 0;
  /// Bin by bin, in each the bands: shares of the source's energy that pass a square metre,
  /// Π (1 − α) / (4πd²).
  std::vector<double> bins;
  /// Nothing of a higher order arrives before this, from the source's own time.
  double complete_s = 0;
};
/// absorption: by surface, by band. Errors: as image_paths; a room that is no box; too many bins.
Result<BoxImages> box_image_echogram(const Room& room, Vec3 source_m, Vec3 receiver_m,
                                     double sound_speed_m_s,
                                     const std::vector<std::vector<double>>& absorption,
                                     const BoxImageOptions& options);

// ---- ray tracing ----------------------------------------------------------------------------

inline constexpr int least_rays = 100;
inline constexpr int greatest_rays = 10'000'000;
inline constexpr double greatest_trace_s = 20;
inline constexpr int trace_batches = 16;
inline constexpr int most_trace_bands = 32;
inline constexpr int most_traced_boxes = 100;
inline constexpr int most_traced_places = 64;       ///< sources, and receivers
inline constexpr double most_trace_work = 2e10;     ///< reflections, dearer with more receivers
inline constexpr double most_traced_images = 2e7;   ///< candidates of all pairs
inline constexpr double most_trace_cells = 6.4e7;   ///< bins · bands · receivers of all batches
inline constexpr double least_traced_gap_m = 0.05;  ///< from a source or receiver to a surface

/// What a surface does to sound, by band; one number alone serves every band.
struct Finish {
  std::vector<double> absorption{0.0};  ///< 0 to 2; above 1 counts as 1
  std::vector<double> scattering{0.0};  ///< 0 to 1, of what is reflected: by Lambert's law
};

/// A box that stands or hangs in the room; a thin one is a panel. It may touch surfaces.
struct TracedBox {
  Vec2 middle_m;        ///< of its plan
  Vec2 size_m{1, 1};    ///< along its own x and y, each above 1 mm
  double turn_deg = 0;  ///< of its own x, anticlockwise from the room's
  double low_m = 0, high_m = 1;
  Finish finish;
};

/// How a source's sound spreads. All patterns are taken at equal power.
struct Directivity {
  enum class Kind { omnidirectional, first_order, table } kind = Kind::omnidirectional;
  Vec3 axis{1, 0, 0};
  /// first_order: the pressure goes as a + (1 − a) cos θ; 1 is a sphere, 0.5 a cardioid, 0 a
  /// figure of eight. From 0 to 1. Source: L. L. Beranek & T. J. Mellow, Acoustics (from memory).
  double order = 0.5;
  /// table: levels at equal steps from 0° to 180°, at least two, linear in dB between them; one
  /// list, or one a band. Turned about the axis.
  std::vector<std::vector<double>> level_db;
};

struct TracedSource {
  Vec3 at_m;
  Directivity directivity;
};

struct TracedScene {
  Room room;
  std::size_t bands = 8;               ///< 1 to most_trace_bands; 8: the octaves
  std::vector<Finish> surfaces;        ///< by surface; empty: rigid and smooth
  std::vector<Patch> patches;          ///< each replaces its surface there
  std::vector<Finish> patch_finishes;  ///< by patch
  std::vector<TracedBox> boxes;
  std::vector<TracedSource> sources;
  std::vector<Vec3> receivers_m;
  double sound_speed_m_s = 343.2;
  std::vector<double> air_energy_1_m;  ///< m by band; empty: none
};

struct TraceOptions {
  int rays = 100'000;  ///< for each source, rounded up to whole batches
  std::uint64_t seed = 1;
  double seconds = 0;  ///< of sound that is followed; 0: twice the longest Eyring time, more where
                       ///< that does not do for T30
  double bin_ms = 1;   ///< 0.1 to 50
  int image_order = -1;   ///< up to it specular paths are exact; -1: 3, or less where too many
  double radius_m = 0.3;  ///< of the receivers' spheres; less where a surface is nearer
  bool rain = true;       ///< false: the spheres catch the scattered sound as well (noisier)
  int threads = 0;
  bool any_machine = false;  ///< the loop that runs on every processor; the bytes are the same
  Watch watch;
};

/// A figure with its doubt.
struct TracedValue {
  std::optional<double> value;
  double standard_error = 0;
  std::string reason;  ///< why there is none; beside a value: how to read it
};

/// Energies are those of one impulse, against 1/(4π r²) in free air from an omnidirectional source
/// of equal power, in 1/m².
struct TracedBand {
  std::vector<double> echogram;        ///< by bin, from the impulse
  std::vector<double> echogram_error;  ///< standard errors
  TracedValue edt_s, t20_s, t30_s, c50_db, c80_db, d50, ts_ms;
  TracedValue strength_db;  ///< G: against 10 m of free air
};

/// One path of exactly known time.
struct TracedPath {
  double time_s = 0;           ///< from the impulse
  std::vector<double> energy;  ///< by band, in the unit above
};

struct TracedPair {
  std::size_t source = 0, receiver = 0;
  bool direct_clear = true;
  double arrival_s = 0;  ///< of the first sound: time 0 for EDT, C50, C80, D50, Ts
  std::size_t image_paths = 0;
  double radius_m = 0;
  /// The direct sound first, where it is clear, then image_paths specular ones. The echograms hold
  /// them too.
  std::vector<TracedPath> paths;
  std::vector<TracedBand> bands;
};

struct TraceReport {
  std::vector<TracedPair> pairs;  ///< by source, then receiver
  std::int64_t rays = 0;          ///< for each source
  int batches = trace_batches;
  int passes = 0;  ///< bands of equal scattering share a pass
  int image_order = 0;
  double seconds = 0, bin_s = 0;
  std::int64_t bounces = 0;  ///< of all passes
  std::int64_t lost = 0;     ///< rays dropped because no surface was met or too many were
  double lost_share = 0;
  double mean_free_path_m = 0;
  /// The error falls as the square root of the number: four times the rays. Nothing where that is
  /// past greatest_rays.
  std::optional<std::int64_t> rays_to_halve_error;
};

/// Traces every source to every receiver. What depends on chance comes with its standard error by
/// the jackknife over independent batches; the same seed gives the same bytes on any number of
/// threads. How: a ray is reflected specularly or by Lambert's law, with the scattering coefficient
/// as the chance; direct sound and specular paths up to image_order are exact; scattered sound
/// reaches the receiver's centre from each point of scattering; what left its last surface
/// specularly is caught by the sphere. Decay times: least squares on the backward integral, what
/// lies past the end added by the slope before it.
/// Errors: whatever is wrong with the scene or the options, all at once; more work or memory than
/// the limits, with what to lower; cancelled.
/// Sources: A. Krokstad, S. Strøm & S. Sørsdal, J. Sound Vib. 8 (1968); M. R. Schroeder, J.
/// Acoust. Soc. Am. 37 (1965); R. Heinz, Applied Acoustics 38 (1993), scattered part; ISO
/// 3382-1:2009 and 3382-2:2008; B. Efron & C. Stein, Ann. Statist. 9 (1981). All from memory.
Result<TraceReport> trace(const TracedScene& scene, const TraceOptions& options = {});

// ---- decay by the images of a box -----------------------------------------------------------

struct BoxDecayScene {
  Room room;
  Vec3 source_m, receiver_m;
  double sound_speed_m_s = 343.2;
  std::vector<std::vector<double>> absorption;  ///< by surface, by band
  std::vector<double> air_energy_1_m;           ///< m by band; empty: none
};
struct BoxDecay {
  std::vector<TracedBand> bands;  ///< figures alone, without error and without echogram
  int images = 0;
  double complete_s = 0;  ///< what arrives later goes on as it fell before
};
/// What a box with mirrors for walls does, by energies alone: every image up to an order, backward
/// integrated as the rays' echograms are. Errors: as box_image_echogram; a spectrum of air of
/// another size.
Result<BoxDecay> box_image_decay(const BoxDecayScene& scene, int max_order = 100);

}  // namespace roomwright::acoustics
