// Private to job/stages: what several stages ask of a piece.
#pragma once

#include "job/stages/stages.h"

namespace roomwright::job {

/// The product of a piece, as the treatment made it.
const design::Product& product_of(const Job& job, const Treatment& treatment, const Piece& piece);

/// Whether a plug is pressed into this window.
bool is_plugged(const Job& job, const Feature& feature);

/// The parts of one piece with its label on each; a turned piece's cloth is turned too.
shop::Parts parts_of_piece(const Job& job, const Treatment& treatment, std::size_t index);

/// What the run must know of one piece.
shop::RunPiece run_piece(const Piece& piece, const design::Product& product);

/// Fills run and calendar of a sheet whose parts and schedule are there, and says what they say.
/// From the job: shop, dates, site. Errors: those of the line.
Result<Done> plan_time(const Job& job, const std::vector<shop::RunPiece>& pieces, BuildSheet& sheet,
                       const Watch& watch);

/// `6 h 40 min`
std::string hours_text(double minutes);

/// A rectangle of the surface that a piece stands on, in people's datum: from the left-hand wall as
/// seen from inside the room, and from the floor (on the ceiling: from the plan's origin).
struct OnSurface {
  int surface = 0;
  Length left, bottom, width, height;
};
OnSurface on_surface(const Piece& piece, const design::Product& product);

/// `wall2`, `corner 3`, `ceiling`.
std::string place_name(const Job& job, const Piece& piece);

}  // namespace roomwright::job
