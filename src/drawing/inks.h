// Private to drawing: the inks as colours, and by name.
#pragma once

#include <cstdio>
#include <string>

#include "drawing/drawing.h"

namespace roomwright::drawing {

struct Colour {
  double red, green, blue;
};

inline unsigned ink_rgb(Ink ink) {
  switch (ink) {
    case Ink::paper:
      return 0xFFFFFF;
    case Ink::ink:
      return 0x22262B;
    case Ink::graphite:
      return 0x6B7177;
    case Ink::chalk_blue:
      return 0x2B5C8A;
    case Ink::cedar:
      return 0x9A5B2C;
    case Ink::moss:
      return 0x5E7348;
    case Ink::madder:
      return 0x9C3B34;
    case Ink::corridor:
      return 0xE9E4D6;
    case Ink::wool:
      return 0xE4E8DC;
    case Ink::cloth:
      return 0xE3EAF1;
    case Ink::level_0:
      return 0xF6F8FA;
    case Ink::level_1:
      return 0xDBE5EE;
    case Ink::level_2:
      return 0xB7CCDF;
    case Ink::level_3:
      return 0x86AACA;
    case Ink::level_4:
      return 0x4F82AE;
    case Ink::level_5:
      return 0x1F4B75;
  }
  return 0;
}

inline Colour colour_of(Ink ink) {
  const unsigned rgb = ink_rgb(ink);
  return {static_cast<double>((rgb >> 16) & 255u) / 255,
          static_cast<double>((rgb >> 8) & 255u) / 255, static_cast<double>(rgb & 255u) / 255};
}

inline std::string hex_of(Ink ink) {
  char text[8];
  std::snprintf(text, sizeof text, "#%06X", ink_rgb(ink));
  return text;
}

inline const char* ink_name(Ink ink) {
  static const char* const names[] = {"PAPER",  "INK",      "GRAPHITE", "BLUE",  "CEDAR",  "MOSS",
                                      "MADDER", "CORRIDOR", "WOOL",     "CLOTH", "LEVEL0", "LEVEL1",
                                      "LEVEL2", "LEVEL3",   "LEVEL4",   "LEVEL5"};
  return names[static_cast<int>(ink)];
}

}  // namespace roomwright::drawing
