// Cutting against open data sets: optima met, bounds never above them.
#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>

#include "figures/figures.h"
#include "shop/cutting/cutting.h"

namespace roomwright::shop {
namespace {

std::string open_data(const std::string& path) {
  return std::string(ROOMWRIGHT_SHARED_DATA) + "/data/" + path;
}

TEST(CuttingData, meets_and_proves_the_optimum_of_the_open_shop_jobs) {
  const std::string folder = open_data("cut1d_shop_jobs/");
  if (!std::filesystem::exists(folder)) GTEST_SKIP() << "needs the folder of open data sets";
  // Source: shop jobs of an open packing library (F. Fontan, 2023-2024, MIT), optima proven
  for (const auto& row : figures::read_rows(folder + "index.csv")) {
    CuttingOrder order;
    order.kerf = std::stoll(row.at("kerf"));
    for (const auto& stock : figures::read_rows(folder + row.at("job") + "_stock.csv"))
      order.stock.push_back({"s",
                             std::stoll(stock.at("length")),
                             std::stoll(stock.at("cost_each")),
                             std::stoll(stock.at("available")),
                             {}});
    for (const auto& part : figures::read_rows(folder + row.at("job") + "_parts.csv"))
      order.parts.push_back({"p", std::stoll(part.at("length")), std::stoll(part.at("count"))});
    const CuttingPlan plan = solve_cutting(order).value();
    EXPECT_TRUE(check_cutting(order, plan).ok());
    EXPECT_EQ(plan.cost, std::stoll(row.at("optimum_cost"))) << row.at("job");
    EXPECT_TRUE(plan.proven) << row.at("job");
  }
}

/// The instance, or the same with a kerf: parts w − k on a stick C − k, where all parts are longer.
CuttingOrder classic(const std::string& folder, const figures::Row& row, std::int64_t kerf) {
  CuttingOrder order;
  const auto parts = figures::read_rows(folder + "instances/" + row.at("name") + ".csv");
  for (const auto& part : parts)
    if (std::stoll(part.at("length")) <= kerf) kerf = 0;
  order.kerf = kerf;
  order.stock = {{"s", std::stoll(row.at("capacity")) - kerf, 1, {}, {}}};
  for (const auto& part : parts)
    order.parts.push_back(
        {"p", std::stoll(part.at("length")) - kerf, std::stoll(part.at("count"))});
  return order;
}

TEST(CuttingData, meets_the_known_optima_of_classic_instances_and_never_passes_them) {
  const std::string folder = open_data("cut1d_classic/");
  if (!std::filesystem::exists(folder)) GTEST_SKIP() << "needs the folder of open data sets";
  const std::size_t stride = std::getenv("ROOMWRIGHT_LONG") ? 1 : 7;
  std::size_t index = 0;
  int proven = 0, tried = 0;
  // Source: ESICUP data sets (CC0) and OR-Library; optima as the index states
  for (const auto& row : figures::read_rows(folder + "index.csv")) {
    if (index++ % stride != 3 % stride || row.at("optimum").empty()) continue;
    const std::string name = row.at("name");
    CuttingOptions options;
    options.setup_rounds = 0;
    const CuttingOrder order = classic(folder, row, index % 2 == 0 ? 1 : 0);
    const auto plan = solve_cutting(order, options).value();
    EXPECT_TRUE(check_cutting(order, plan).ok());
    EXPECT_LE(plan.bound, std::stoll(row.at("optimum"))) << name;
    EXPECT_GE(plan.cost, std::stoll(row.at("optimum"))) << name;
    EXPECT_LE(plan.cost, std::stoll(row.at("optimum")) + 1) << name;
    proven += plan.proven;
    ++tried;
  }
  EXPECT_GT(tried, 20);
  EXPECT_GE(proven * 100, tried * 95);
}

}  // namespace
}  // namespace roomwright::shop
