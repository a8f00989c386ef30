// Private to acoustics/waves: the driven field of a room of any plan with absorbers of volume.
#pragma once

#include <vector>

#include "acoustics/waves/waves.h"

namespace roomwright::acoustics {

inline constexpr double most_solid_bytes = 7.8e8;  ///< of one frequency's factor

struct SolidOptions {
  ResponseOptions common;
  int more_degrees = 0;         ///< added to those that the accuracy asks for
  bool every_outright = false;  ///< no small model
  /// The plan keeps to patches too, finer slits between objects and walls, a layer for every height
  /// at which an object ends: what the usual mesh is held against.
  bool fine_bodies = false;
  /// So many frequencies that follow each other are one of as many rooms that differ in their
  /// values alone: those of a frequency share what can be shared.
  std::size_t variants = 1;
  std::vector<RoomStretch> stretches{};  ///< of each of those rooms; none: all as they are
};

/// What solid_responses() gives, and how far a small model was off (VariantsReport).
struct SolidReports {
  std::vector<ResponseReport> by_source;
  double off = 0;
};
Result<SolidReports> solve_solid(const ResponseRequest& request, const SolidOptions& options,
                                 const Watch& watch);
/// A report for each source alone, with its strength. Errors: those of response(), and objects that
/// overlap, stick out of the room, stand oblique or over a patch; more memory or work than the
/// limits. Claimed accuracy: as response(), at least 0.1 dB where there are patches, 0.3 dB where
/// there are objects.
Result<std::vector<ResponseReport>> solid_responses(const ResponseRequest& request,
                                                    const SolidOptions& options,
                                                    const Watch& watch = {});

/// Whether a request is for this solver: a room that is no box, or one with objects.
bool wants_solid(const ResponseRequest& request);
/// All sources together, as response().
Result<ResponseReport> solid_response(const ResponseRequest& request,
                                      const ResponseOptions& options, const Watch& watch);
/// As pressure_map(), of which the count of points has been checked.
Result<std::vector<std::complex<double>>> solid_map(const ResponseRequest& request, double hz,
                                                    const MapGrid& grid,
                                                    const ResponseOptions& options,
                                                    const Watch& watch);

/// Eigenvalues (1/m²) of any room with rigid walls up to `most`, ascending, without 0. Errors: more
/// unknowns or memory than the limits; modes that were not found.
Result<PlaneReport> solid_eigenvalues(const Room& room, double most);

/// What is wrong with a request for any room: all at once.
Diagnostics wrong_solid_request(const ResponseRequest& request);

}  // namespace roomwright::acoustics
