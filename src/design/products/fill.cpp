// Boards in the cells of a frame: whole ones first, a rest that is too small shared with its
// neighbour; they stand the way the cell is longer.
#include <algorithm>

#include "design/products/kinds.h"

namespace roomwright::design {

std::vector<Length> board_runs(Length whole, Length board) {
  std::vector<Length> out;
  while (whole > board) {
    out.push_back(board);
    whole = whole - board;
  }
  if (!out.empty() && whole < Length::from_mm(100)) {
    const Length pair = out.back() + whole;
    out.back() = Length::from_nm(pair.nanometres() / 2);
    whole = pair - out.back();
  }
  out.push_back(whole);
  return out;
}

void fill_cell(Product& product, const Ingredients& with, const Cell& cell) {
  const shop::Board& board = *with.board;
  const shop::Rules& rules = with.shop->rules;
  const bool upright = cell.width <= cell.height;
  const Length board_x = upright ? board.width : board.height;
  const Length board_y = upright ? board.height : board.width;
  const Length clear_x = upright ? rules.clearance_across : rules.clearance_along;
  const Length clear_y = upright ? rules.clearance_along : rules.clearance_across;
  Length x = cell.x + Length::from_nm(clear_x.nanometres() / 2);
  for (const Length width : board_runs(cell.width - clear_x, board_x)) {
    Length y = cell.y + Length::from_nm(clear_y.nanometres() / 2);
    for (const Length height : board_runs(cell.height - clear_y, board_y)) {
      const bool cut = width < board_x || height < board_y;
      const int layers = product.spec.board_layers;
      product.boards.push_back({x, y, width, height, Length(), board.thickness * layers, false});
      product.parts.boards.push_back({"", "board", product.spec.board, upright ? width : height,
                                      upright ? height : width, layers, false});
      add_operation(product, shop::Station::boards, "board", layers);
      if (cut) add_operation(product, shop::Station::boards, "board_cut", layers);
      y = y + height;
    }
    x = x + width;
  }
}

}  // namespace roomwright::design
