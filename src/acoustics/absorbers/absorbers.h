// What a stack of layers does to sound: surface impedance and absorption at normal, oblique and
// diffuse incidence, of an infinite face or of one of finite size, and the single-number ratings.
// Time goes as e^{+jωt}; impedances are divided by ρc. Knows layers and air, no product and no
// room.
#pragma once

#include <array>
#include <complex>
#include <map>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "acoustics/sound/sound.h"
#include "core/base/base.h"

namespace roomwright::acoustics {

inline constexpr std::size_t most_layers = 12;
inline constexpr std::size_t most_frequencies = 20000;
inline constexpr double greatest_thickness_m = 5;
inline constexpr double greatest_flow_resistivity = 1e7;

enum class PorousModel { delany_bazley, miki, garai_pompoli, johnson_champoux_allard };

/// Johnson-Champoux-Allard needs the parameters below the model; the others ignore them.
struct PorousLayer {
  double thickness_m = 0;
  double flow_resistivity_pa_s_m2 = 0;
  PorousModel model = PorousModel::miki;
  double porosity = 0.98;
  double tortuosity = 1;
  double viscous_length_m = 1e-4;
  double thermal_length_m = 2e-4;
  bool limp = false;         ///< the frame moves with the air, by its density
  double density_kg_m3 = 0;  ///< of the frame; above 0 where limp
};
struct AirLayer {
  double thickness_m = 0;
};
/// A thin resistive cloth. Without mass it cannot move; with one, the resistance acts in parallel
/// with jωm.
struct ScreenLayer {
  double flow_resistance_pa_s_m = 0;
  std::optional<double> mass_kg_m2;
};
struct PerforatedLayer {
  double thickness_m = 0;
  double hole_diameter_m = 0;
  double open_area = 0;  ///< above 0, below 1
  bool losses = false;   ///< Maa's microperforated sheet
};
struct SlottedLayer {
  double thickness_m = 0;
  double slot_width_m = 0;
  double open_area = 0;
  bool losses = false;
};
struct MembraneLayer {
  double mass_kg_m2 = 0;
};
using Layer =
    std::variant<PorousLayer, AirLayer, ScreenLayer, PerforatedLayer, SlottedLayer, MembraneLayer>;

enum class Backing { rigid, open };

/// From the room side to the back.
struct Stack {
  std::vector<Layer> layers;
  Backing backing = Backing::rigid;
};

struct Incidence {
  enum Kind { normal, at_angle, diffuse } kind = diffuse;
  double angle_deg = 0;        ///< 0 to below 90
  double diffuse_to_deg = 78;  ///< above 0 to 90
};
enum class Reaction { extended, local };
struct Size2 {
  double width_m = 0, height_m = 0;  ///< each from 0.02 to 100
};

struct AbsorptionOptions {
  Incidence incidence;
  Reaction reaction = Reaction::extended;
  std::optional<Size2> size_m;
  int angles = 32;  ///< Gauss points over the angles, 4 to 400
  /// Only the inner loop that every processor has, so that all machines agree to the last digit;
  /// else the fastest that this one can run (the two agree to 1e-12).
  bool same_on_every_machine = false;
};

struct AbsorptionReport {
  std::vector<double> absorption;               ///< raw: not clipped
  std::vector<std::complex<double>> impedance;  ///< surface, normal incidence; |z| at most 1e9
  std::vector<Complaint> warnings;              ///< models outside their published range
};

/// Errors: every wrong value of every layer, `layers[i].key` under `where`.
Diagnostics check_stack(const Stack& stack);

/// Absorption at each frequency (above 0, to 1e6 Hz). Diffuse: ∫ α sin 2θ dθ / sin² θ_max (Paris).
/// Finite size: α(θ) = 4 Re z / (|z + z_r(θ)|² cos θ) with the azimuth-averaged radiation impedance
/// z_r of the rectangle, in place of 1/cos θ. It may exceed 1, and falls to the infinite result as
/// the face grows.
/// Source: S.-I. Thomasson, On the absorption coefficient, Acustica 44 (1980) 265-273 (from
/// memory). Source of the layers: see layers.cpp.
Result<AbsorptionReport> absorption(const Stack& stack, const Air& air,
                                    const std::vector<double>& frequencies_hz,
                                    const AbsorptionOptions& options);

/// Where the models of a sound stack are asked outside their published ranges, `layers[i]`; as the
/// reports have them.
std::vector<Complaint> model_warnings(const Stack& stack, const Air& air,
                                      const std::vector<double>& frequencies_hz);

/// (p, ρc v) in front = matrix · (p, ρc v) behind, v along the normal; of all layers, without the
/// backing. hz: above 0 to 1e6; angle_deg: 0 to 89.9. Its determinant is 1.
/// Errors: as absorption; or the stack is so thick that the matrix cannot be written in numbers.
using TransferMatrix = std::array<std::array<std::complex<double>, 2>, 2>;
Result<TransferMatrix> transfer_matrix(const Stack& stack, const Air& air, double hz,
                                       double angle_deg);

struct OctaveReport {
  OctaveSpectrum absorption{};
  std::vector<Complaint> warnings;
};
/// By octave, each the mean of its three thirds at their exact mid-band frequencies; several stacks
/// behind faces of one size at once.
Result<std::vector<OctaveReport>> octave_absorptions(const std::vector<Stack>& stacks,
                                                     const Air& air,
                                                     const AbsorptionOptions& options);

/// One size or property of one layer that is not known well.
enum class Quantity {
  thickness,         ///< of any layer that has one
  flow_resistivity,  ///< porous
  flow_resistance,   ///< screen
  mass,              ///< screen that moves, membrane
  hole,              ///< diameter or slot width; the pitch stays, so the open area follows
};
/// 10th and 90th percentile, log-normal between them round the layer's own value, which lies
/// between.
struct LayerSpread {
  std::size_t layer = 0;
  Quantity quantity = Quantity::flow_resistivity;
  double low = 0, high = 0;
};
struct CorridorOptions {
  int samples = 64;  ///< 8 to 4096
  std::uint64_t seed = 1;
};
/// By frequency: 10th, 50th and 90th percentile.
struct AbsorptionCorridor {
  std::vector<double> low, middle, high;
};

/// What the spreads do to the absorption, by a fixed-seed even sample of them all at once, taken as
/// independent. Errors: as absorption, and spreads that name no such layer or do not hold its
/// value.
Result<AbsorptionCorridor> absorption_corridor(const Stack& stack,
                                               const std::vector<LayerSpread>& spreads,
                                               const Air& air,
                                               const std::vector<double>& frequencies_hz,
                                               const AbsorptionOptions& options,
                                               const CorridorOptions& corridor);

/// Absorption of many stacks alike but for their layers' values, behind faces of one size: what
/// depends on the size alone is worked out once. One row for each stack, by frequency.
Result<std::vector<std::vector<double>>> absorptions(const std::vector<Stack>& stacks,
                                                     const Air& air,
                                                     const std::vector<double>& frequencies_hz,
                                                     const AbsorptionOptions& options);

/// A layer's characteristic impedance and wave number, both relative to air's. For porous layers.
struct Wave {
  std::complex<double> impedance, number;
};
Wave porous_wave(const PorousLayer& layer, const Air& air, double hz);

/// Azimuth-averaged radiation impedance of a rectangle at an angle, divided by ρc.
std::complex<double> radiation_impedance(Size2 size_m, double wave_number_1_m, double angle_rad);

/// The real impedance over ρc, above 1.567, of a wall that reacts locally and absorbs `absorption`
/// at random incidence; below 0.951, which is the most that any can: more is taken as that. Source:
/// closed form of Paris' integral, α = 8/ζ (1 + 1/(1+ζ) − 2/ζ ln(1+ζ)), Kuttruff, Room Acoustics
/// (from memory).
double resistance_of_absorption(double absorption);

// ---- Ratings --------------------------------------------------------------------------------

/// Absorption as measured or computed: nominal band in Hz -> coefficient, in thirds 100 to 5000 or
/// in octaves 125 to 4000.
using RatedSpectrum = std::map<int, double>;

struct Rating {
  std::map<int, double> practical;  ///< by octave, 125 to 4000
  double alpha_w = 0;
  std::string shape;  ///< some of `LMH`, or empty
  std::optional<std::string> letter_class;
  std::optional<double> nrc, saa;  ///< only from thirds
};
/// Halves round up, in whole hundredths.
/// Source: ISO 11654:1997, 4 and 5 and Annex B; ASTM C423 (NRC, SAA); rules from memory.
/// Errors: missing or unknown bands, values outside 0 … 2.
Result<Rating> rating(const RatedSpectrum& absorption);

}  // namespace roomwright::acoustics
