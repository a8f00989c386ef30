// Private to job/stages: the wave field of a job's room, asked of the solver: its surfaces as
// resistances, openings and flat pieces as patches, traps and clouds as bodies of wool.
#pragma once

#include <array>

#include "job/stages/boundary.h"
#include "job/stages/pieces.h"

namespace roomwright::job {

/// What is not known well, each as a share of its distribution: 0.5 is the likely value.
struct FieldDoubt {
  std::vector<double> materials;  ///< by field_materials(); empty: all likely
  double wool = 0.5, temperature = 0.5;
  std::array<double, 3> sizes{0.5, 0.5, 0.5};  ///< by room_sizes()
};
/// The materials of surfaces and openings, each once, in the order of the surfaces.
std::vector<std::string> field_materials(const Job& job);

/// By piece, the patch and the body that it is in a request; -1 where it is none.
struct FieldPieces {
  std::vector<int> patch, body;
};

/// Today where treatment is null. Without sources and receivers.
acoustics::ResponseRequest field_request(const Job& job, const Survey& survey,
                                         const Treatment* treatment,
                                         const std::vector<double>& frequencies_hz,
                                         const FieldDoubt& doubt = {},
                                         FieldPieces* pieces = nullptr);

/// The sizes that the same shares give. What stands in the room, and where loudspeakers and seats
/// are, stretches along.
acoustics::RoomStretch field_stretch(const Job& job, const Survey& survey, const FieldDoubt& doubt);

/// In place of a request's bodies, as far as they have one: the patches of the same pieces as if
/// they lay flat on what they cover, with the mean of the stacks that their sound is made of. A
/// corner trap gives two, a cloud one, a screen none. Quick and rough.
void flatten_bodies(const Job& job, const Survey& survey, const Treatment& treatment,
                    acoustics::ResponseRequest& request, FieldPieces& pieces);

/// Pressures by source, receiver, frequency; kept results are used where there are any. What the
/// solver cannot do with bodies of wool it does without them, and says so in `note`.
struct FieldSolution {
  std::vector<acoustics::ResponseReport> by_source;
  std::string note;
  int patches = 0, bodies = 0;
};
Result<FieldSolution> solve_field(acoustics::ResponseRequest request, const Run& run);
/// The same from kept results alone.
std::optional<FieldSolution> kept_field(acoustics::ResponseRequest request, const Keep& keep);

/// Level against the direct sound alone, to 0.01 dB, at least −180.
double against_direct_db(std::complex<double> pressure, double distance_m, double density_kg_m3);

}  // namespace roomwright::job
