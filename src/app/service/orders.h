// Private to app/service: an order as the page asks for it, and what it becomes.
#pragma once

#include "app/service/parts.h"

namespace roomwright::app {

/// One line of an order: a kind of product (by its place in the list of kinds), its size and cloth
/// where they are asked for, how many.
struct OrderLine {
  std::size_t kind = 0;
  Json width, height;  ///< as written; null: as the product
  std::string cloth;   ///< key of the price book
  int count = 1;
};
struct OrderWish {
  std::string customer, zone, book;
  bool collected = false;
  std::vector<OrderLine> lines;
};

/// The keys of an order in a request for a new job.
void read_order_keys(Reader& in, OrderWish& out);
/// The keys of a job file that an order adds: region, client, products, order. Errors: no line; a
/// price book that lacks what every panel needs.
Result<Json> order_tree(const OrderWish& wish, const shop::Shop& shop, const std::string& units);

/// What the page needs of a price book to begin an order; no price.
Json book_json(const std::string& id, const shop::Shop& shop);

}  // namespace roomwright::app
