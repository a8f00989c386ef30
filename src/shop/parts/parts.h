// The words of the bench: what is cut, bought, screwed and done for one piece. A product is turned
// into these lists (design/products), and everything after that (cut plans, cloth, purchase list,
// times, price) is counted from them and from nothing else. No geometry of rooms, no sound.
#pragma once

#include <array>
#include <string>
#include <vector>

#include "core/quantity/quantity.h"

namespace roomwright::shop {

/// A length of timber. `section` is a key of the price book's timber.
struct StickPart {
  std::string piece;    ///< label of the piece it belongs to, such as `W1`
  std::string name;     ///< `stile`, `rail`, `stretcher`, `cleat` …
  std::string section;  ///< price book key
  Length length;
  int count = 1;
};

/// A rectangle of cloth, cut straight. x runs across the roll, y along it (the pile's way).
struct ClothPart {
  std::string piece;
  std::string name;   ///< `face` or `back`
  std::string cloth;  ///< price book key
  Length across;
  Length along;
  int count = 1;
};

/// A rectangle of wool board or, where `triangle`, one half of it cut corner to corner (two parts
/// come out of one rectangle).
struct BoardPart {
  std::string piece;
  std::string name;
  std::string board;  ///< price book key
  Length width;
  Length height;
  int count = 1;
  bool triangle = false;
};

/// A part of sheet material (plywood and the like).
struct SheetPart {
  std::string piece;
  std::string name;
  std::string sheet;  ///< price book key
  Length width;
  Length height;
  int count = 1;
  bool triangle = false;
};

/// Things bought by the piece, metre or millilitre. The count may be fractional (glue in ml).
struct HardwarePart {
  std::string piece;
  std::string hardware;  ///< price book key
  double count = 0;
};

/// Stations in the order in which a batch goes through the shop.
enum class Station { saw, drill_screw, rout, sand, back_cloth, boards, face_cloth, finish, pack };
inline constexpr int station_count = 9;
inline constexpr std::array<const char*, station_count> station_names = {
    "saw", "drill_screw", "rout", "sand", "back_cloth", "boards", "face_cloth", "finish", "pack"};
/// What a person reads: `cut the sticks`, `drill and screw` …
std::string station_title(Station station);

/// One repeated act at a station: `feature` is a key of the shop's times (`cut`, `corner`, `pass`,
/// `staple_metre` …), `count` how often this piece needs it.
struct Operation {
  std::string piece;
  Station station = Station::saw;
  std::string feature;
  double count = 0;
};

/// Everything that one piece, or a whole job, is made of.
struct Parts {
  std::vector<StickPart> sticks;
  std::vector<ClothPart> cloths;
  std::vector<BoardPart> boards;
  std::vector<SheetPart> sheets;
  std::vector<HardwarePart> hardware;
  std::vector<Operation> operations;

  void append(const Parts& more);
};

}  // namespace roomwright::shop
