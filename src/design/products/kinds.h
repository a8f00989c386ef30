// Private to design/products: the steps that make_product calls, and what they share.
#pragma once

#include "design/products/products.h"

namespace roomwright::design {

inline constexpr Length least_side = Length::from_mm(100);
inline constexpr Length greatest_side = Length::from_mm(3000);
inline constexpr Length greatest_gap = Length::from_mm(1000);
/// Wood before a screw's point comes out; common practice, no source.
inline constexpr double screw_left_m = 0.003;

/// The shop's entries behind a specification; all there when the makers are called.
struct Ingredients {
  const shop::Shop* shop = nullptr;
  const shop::Timber* timber = nullptr;
  const shop::Board* board = nullptr;
  const shop::Cloth* cloth = nullptr;
  const shop::Cloth* back_cloth = nullptr;
  const shop::Sheet* sheet = nullptr;
  const shop::Sheet* front = nullptr;
};

/// Wall panel, straddling trap, cloud, screen and plug. False after a complaint.
bool make_frame(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found);
/// Solid trap. False after a complaint.
bool make_prism(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found);

/// Custom piece. False after a complaint.
bool make_custom(Product& product, const Ingredients& with, const std::string& where,
                 Diagnostics& found);

/// Tuned trap. False after a complaint.
bool make_box(Product& product, const Ingredients& with, const std::string& where,
              Diagnostics& found);
/// Share of the face inside the box that is hole or slot, by what is really drilled or left.
double open_share(const Product& product);

/// Diffuser. False after a complaint.
bool make_wells(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found);

/// Boards of one cell of a frame.
struct Cell {
  Length x, y, width, height;
};
void fill_cell(Product& product, const Ingredients& with, const Cell& cell);
/// A length as whole boards and a rest; a rest under 100 mm is shared with its neighbour.
std::vector<Length> board_runs(Length whole, Length board);

/// The edge's profile and the cloth's way over it, and the number of passes on each side. Wants
/// frame_depth.
void shape_edge(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found);
/// Where the corner screws sit behind the face, first to last.
std::vector<Length> screw_depths(const Product& product, const shop::Rules& rules);
/// A screw of the shop as it sits; sizes that the file leaves out are 4 mm and 60 mm.
Screw screw_of(const shop::Hardware& hardware, Vec3 at, Vec3 along);
/// Screws against router bit, staples and each other; splitting, drills, lengths of screws and
/// staples. Wants members, screws and sides.
void check_bench(Product& product, const Ingredients& with);
/// Staples into the thinnest part that they meet.
void check_staples(Product& product, const Ingredients& with, Length thinnest,
                   const std::string& part);

/// What holds it up: stand-off blocks and plates, a French cleat, clips, ceiling hangers. False
/// after a complaint.
bool add_mounting(Product& product, const Ingredients& with, const std::string& where,
                  Diagnostics& found);

/// Feet of a screen, sheet, seal and grips of a plug; the frame is made. False after a complaint.
void add_feet(Product& product, const Ingredients& with);
void add_plug(Product& product, const Ingredients& with);
/// Of a simple polygon, the parts inside a rectangle; slivers are dropped.
std::vector<Polygon> clipped_to(const Polygon& polygon, Vec2 low, Vec2 high);
/// Of a custom piece, once it is weighed.
void check_hanging(Product& product, const Ingredients& with);
/// Once it is weighed.
void check_tipping(Product& product, const Ingredients& with);

/// Cloth on face and back, from an outline's box and its staples' way.
struct ClothOver {
  Length width, height, perimeter;
  int corners = 4;
};
void add_cloths(Product& product, const Ingredients& with, const ClothOver& over);

/// Staples, cloth pieces and their operations: shared by both makers.
struct ClothSize {
  Length across, along;  ///< cut size
  Length perimeter;      ///< of staples
  int corners = 4;       ///< folded; of a face cloth
};
void add_cloth(Product& product, const Ingredients& with, const std::string& name,
               const std::string& key, ClothSize size);
void add_operation(Product& product, shop::Station station, const char* feature, double count);
void add_hardware(Product& product, const std::string& key, double count);

/// Hangers and screws into the wall, inspection and packing of what hangs like a panel.
void finish_for_wall(Product& product, const Ingredients& with);

/// Masses and the centre of gravity from members, boards and cloths.
void weigh(Product& product, const Ingredients& with);
Sound sound_of(const Product& product, const Ingredients& with);
void add_cautions(Product& product);

}  // namespace roomwright::design
