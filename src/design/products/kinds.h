// Private to design/products: the steps that make_product calls, and what they share.
#pragma once

#include "design/products/products.h"

namespace roomwright::design {

inline constexpr Length least_side = Length::from_mm(100);
inline constexpr Length greatest_side = Length::from_mm(3000);
inline constexpr Length greatest_gap = Length::from_mm(1000);

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

/// Wall panel, straddling trap and cloud. False after a complaint.
bool make_frame(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found);
/// Solid trap. False after a complaint.
bool make_prism(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found);

/// Tuned trap. False after a complaint.
bool make_box(Product& product, const Ingredients& with, const std::string& where,
              Diagnostics& found);
/// Share of the face inside the box that is hole or slot, by what is really drilled or left.
double open_share(const Product& product);

/// Diffuser. False after a complaint.
bool make_wells(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found);

/// The edge's profile and the cloth's way over it, and the number of passes on each side.
void shape_edge(Product& product, const Ingredients& with, const std::string& where,
                Diagnostics& found);
/// Screw against router bit, splitting and the like.
void check_bench(Product& product, const Ingredients& with);

/// Staples, cloth pieces and their operations: shared by both makers.
struct ClothSize {
  Length across, along;  ///< cut size
  Length perimeter;      ///< of staples
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
