// Diffusers of wells: the sequences of number theory and the depths they ask for, the sound a slice
// of them scatters by angle (a quick far-field model and a boundary-element model), the diffusion
// coefficient, and what narrow wells absorb. Time goes as e^{+jωt}; impedances are divided by ρc.
// Knows wells and air: boards, joints and weights belong to products, and to a room it is blind.
#pragma once

#include <cstddef>
#include <vector>

#include "acoustics/sound/sound.h"
#include "core/base/base.h"

namespace roomwright::acoustics {

// ---- The design -----------------------------------------------------------------------------

enum class Sequence { quadratic_residue, primitive_root };

/// What a person asks for.
struct DiffuserSpec {
  Sequence kind = Sequence::quadratic_residue;
  int prime = 7;                 ///< a prime from 3 to 97
  double design_hz = 500;        ///< 50 to 10000
  double well_width_m = 0.05;    ///< clear, between fins: 0.005 to 0.5
  double fin_thickness_m = 0;    ///< 0 to 0.1
  bool two_dimensional = false;  ///< a grid of square wells, scattering in both planes
  double depth_step_m = 0;       ///< depths are rounded to whole steps; 0: not at all; to 0.02
};

/// One period of rigid-bottomed wells between rigid fins. rows = 1: slits that run on without end;
/// more: a grid of square wells, its depths row by row.
struct Wells {
  std::vector<double> depths_m;  ///< each 0 to 5
  double well_width_m = 0;       ///< above 0, to 1
  double fin_thickness_m = 0;    ///< 0 to 0.1
  int rows = 1;

  int columns() const { return rows > 0 ? static_cast<int>(depths_m.size()) / rows : 0; }
  double pitch_m() const { return well_width_m + fin_thickness_m; }
  double period_m() const { return columns() * pitch_m(); }
};

struct Diffuser {
  int generator = 0;          ///< the least primitive root; 0 for residues
  std::vector<int> sequence;  ///< of a grid row by row; each 0 to prime − 1
  Wells wells;
  double greatest_depth_m = 0;
  double greatest_rounding_m = 0;  ///< by which a depth was moved to a whole step
  double period_limit_hz = 0;      ///< c / period: below it no lobe but the specular one radiates
  double low_hz = 0;               ///< the larger of design_hz and period_limit_hz
  double high_hz = 0;              ///< c / 2w: above it a well carries more than plane waves
  double flat_plate_hz = 0;        ///< prime · design_hz: every depth is a whole half wavelength
  double least_distance_m = 0;     ///< of a seat: three wavelengths at low_hz
  std::vector<Complaint> notes;    ///< where the design fights itself
};

/// Residues: s = n² mod N, n = 0 … N − 1; primitive roots: s = gⁿ mod N, n = 1 … N − 1, g the least
/// primitive root. Depths s λ/2N at design_hz. Grids: residues s = (n² + m²) mod N, N by N; roots:
/// a by b with a b = N − 1, a and b coprime and as near to a square as may be, the value of n at
/// row n mod a, column n mod b. Of a grid, the limits are those of its shorter side.
/// least_distance_m: common practice, no source.
/// Errors: every value out of range; a prime that is none; a grid of roots where N − 1 has no
/// coprime factors.
/// Source: M. R. Schroeder, Number Theory in Science and Communication (1984); T. J. Cox &
/// P. D'Antonio, Acoustic Absorbers and Diffusers, ch. 9 (both from memory).
Result<Diffuser> design_diffuser(const DiffuserSpec& spec, const Air& air);

/// Errors: every value of the wells out of its range, `wells.key`.
Diagnostics check_wells(const Wells& wells);

// ---- Scattering by angle --------------------------------------------------------------------

inline constexpr std::size_t most_polar_frequencies = 200;
inline constexpr std::size_t most_boundary_elements = 1800;

struct PolarOptions {
  std::vector<double> frequencies_hz;  ///< 1 to 200 of them, 20 to 20000
  double incidence_deg = 0;  ///< −85 to 85 from the normal, to the side of the last well
  int periods = 2;           ///< 1 to 50 side by side
  double step_deg = 1;       ///< 0.1 to 30, a whole part of 90
  bool losses = false;       ///< viscous and thermal losses in the wells
  int threads = 1;           ///< 0: as the machine has; the answer is the same

  // For the boundary-element model alone:
  double back_m = 0.02;              ///< body behind the deepest well, 0.005 to 1
  int elements_per_wavelength = 10;  ///< 8 to 40
};

/// For each frequency one entry.
struct PolarReport {
  std::vector<double> angles_deg;  ///< −90 to 90, to the side of the last well; the specular
                                   ///< direction is −incidence_deg
  /// [frequency][angle]: level of the scattered pressure at 1 m, extrapolated from afar
  /// (|p| ~ 1/√r in a slice), against the incident pressure.
  std::vector<std::vector<double>> levels_db;
  std::vector<double> diffusion;             ///< coefficient over angles_deg, equal weights
  std::vector<double> flat_diffusion;        ///< of a flat rigid panel of the same outline
  std::vector<double> normalised_diffusion;  ///< (d − d_flat) / (1 − d_flat)
  /// The model's own doubt: the share of the power that its scattered and absorbed powers fail to
  /// account for. Boundary elements: of the power taken from the incident wave. Fraunhofer: of the
  /// power that meets the front, what the wells absorb included.
  std::vector<double> power_error;
  std::vector<std::size_t> elements;  ///< boundary elements; empty for the Fraunhofer model
  std::vector<Complaint> warnings;
};

/// Fraunhofer model: each well reflects as if alone, e^{−2jkd}, each fin's edge as 1, under
/// Kirchhoff's obliquity (cos θ + cos ψ)/2. Quick; blind to edges, to coupling between wells and to
/// what happens at grazing angles: right where wells are wide against the wavelength, off by
/// several decibels where they are narrow, and power_error says so. A grid gives the slice along
/// its rows. Errors: every value of wells and options out of range; more than 1000 wells or 400
/// wavelengths side by side. Source: T. J. Cox & P. D'Antonio, Acoustic Absorbers and Diffusers,
/// ch. 8 (from memory).
Result<PolarReport> polar_fourier(const Wells& wells, const PolarOptions& options, const Air& air);

/// Boundary-element model of the slice: a rigid box with mouths in its front, each moving as one
/// and driven by its mean pressure, with the impedance −j cot(kd) (with losses: of the lossy slit);
/// exterior problem by Burton and Miller's combined equation, constant elements. Work grows with
/// the cube of frequency times width. The field is the scattered one alone. Errors: as above; a
/// grid (its slice is no two-dimensional problem); more than most_boundary_elements; a cancelled
/// watch. Source: A. J. Burton & G. F. Miller, Proc. R. Soc. Lond. A 323 (1971) 201-210; T. J. Cox
/// & P. D'Antonio, Acoustic Absorbers and Diffusers, ch. 8 (both from memory).
Result<PolarReport> polar_boundary(const Wells& wells, const PolarOptions& options, const Air& air,
                                   const Watch& watch = {});

/// Autocorrelation coefficient of levels at equally weighted angles: 1 where all are equal, 0 where
/// all energy goes one way. 2 to 100000 levels, each finite.
/// Errors: fewer or more levels, a level that is no number.
/// Source: ISO 17497-2:2012, formula of the directional diffusion coefficient (from memory).
Result<double> diffusion_coefficient(const std::vector<double>& levels_db);

/// The same, normalised by a flat panel's. Both at least 0 and below 1.
/// Source: ISO 17497-2:2012, normalised diffusion coefficient (from memory).
double normalised_diffusion(double diffusion, double flat_diffusion);

// ---- Absorption -----------------------------------------------------------------------------

struct WellAbsorptionOptions {
  std::vector<double> frequencies_hz;  ///< 1 to 20000 of them, 20 to 20000
  double incidence_deg = 0;            ///< −85 to 85
  bool losses = true;                  ///< false: a witness, nothing is absorbed
};

/// One lobe of an endless row.
struct DiffractionOrder {
  int order = 0;
  double angle_deg = 0;
  double energy = 0;  ///< share of the incident power
};

struct WellAbsorptionReport {
  std::vector<double> absorption;                     ///< for each frequency
  std::vector<std::vector<DiffractionOrder>> orders;  ///< [frequency], the radiating ones
  std::vector<Complaint> warnings;
};

/// Absorption and lobes of an endless row of periods: plane waves in each well, coupled through the
/// space harmonics in front. What boards, gaps and cloth absorb besides is not in it: a built
/// diffuser absorbs more.
/// Errors: every value of wells and options out of range; a grid; more than 200 wells.
/// Source: Lord Rayleigh, Proc. R. Soc. Lond. A 79 (1907), for the harmonics; J.-F. Allard &
/// N. Atalla, Propagation of Sound in Porous Media (2009), ch. 4, for the slits (both from memory).
Result<WellAbsorptionReport> well_absorption(const Wells& wells,
                                             const WellAbsorptionOptions& options, const Air& air);

}  // namespace roomwright::acoustics
