// Private to app/api: the parts that several calculators' requests share.
#pragma once

#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <vector>

#include "acoustics/absorbers/absorbers.h"
#include "acoustics/rooms/rooms.h"
#include "acoustics/sound/sound.h"
#include "core/reading/reading.h"

namespace roomwright::app {

/// `air`, with its defaults; nullopt after a complaint.
std::optional<acoustics::Air> read_air(Reader& in);

/// `frequencies_hz` or `bands`; bands says which were asked.
struct Frequencies {
  std::vector<double> hz;
  std::vector<double> nominal_hz;  ///< of bands; empty for a list
  bool thirds = false;
};
std::optional<Frequencies> read_frequencies(Reader& in);

/// `layers` and `backing`. A porous layer may say `fibre` and `density_kg_m3` in place of its flow
/// resistivity: then that is estimated, and its range added to `spreads` where asked for.
std::optional<acoustics::Stack> read_stack(Reader& in,
                                           std::vector<acoustics::LayerSpread>* spreads = nullptr);

/// `room`.
std::optional<acoustics::Room> read_room(Reader& in);

/// A list of points in the room; nullopt after a complaint.
std::optional<std::vector<Vec3>> read_points(Reader& in, const char* key, const char* nested);

/// `surfaces` and `patches` with absorption and scattering: one number, or by nominal band.
struct Coefficient {
  std::optional<double> one;
  std::map<int, double> by_band;
  /// At a nominal band; nullopt where the request does not give it.
  std::optional<double> at(double nominal_hz) const;
};
struct RoomBoundary {
  std::vector<std::optional<Coefficient>> surfaces;  ///< by surface; none: rigid
  std::vector<std::optional<Coefficient>> surface_scattering;
  std::vector<acoustics::Patch> patches;
  std::vector<Coefficient> patch_absorption;
  std::vector<std::optional<Coefficient>> patch_scattering;
};
RoomBoundary read_boundary(Reader& in, const acoustics::Room& room);
std::optional<Coefficient> read_coefficient(Reader& in, const char* key);

/// The rest of a request for decay by rays: `surfaces`, `patches`, `sources`, `receivers_m`,
/// `rays`, `seed`; and its answer.
Result<Json> decay_by_rays(Reader& in, const acoustics::Room& room, const acoustics::Air& air,
                           const Frequencies& bands);

/// The same by the images of a box: `surfaces`, `sources`, `receivers_m`, `max_order`.
Result<Json> decay_by_images(Reader& in, const acoustics::Room& room, const acoustics::Air& air,
                             const Frequencies& bands);
/// A coefficient by band; nothing given is 0, a band that is missing is a mistake at `where`.
std::vector<double> by_band(const std::optional<Coefficient>& value, const Frequencies& bands,
                            const std::string& where, Diagnostics& found);
/// What was wrong with one pair, under the names of its places.
void pass_on_pair(const Diagnostics& from, std::size_t source, std::size_t receiver,
                  Diagnostics& to);

/// `warnings` as the interface has them.
Json warnings_json(const std::vector<Complaint>& warnings);
Json complex_json(std::complex<double> value);

/// What an engine complained of, put under the request's own keys.
void pass_on(const Diagnostics& from, Diagnostics& to);

}  // namespace roomwright::app
