// Build: the parts of every piece that hangs, their schedule, and what the bench must hear first.
#include <algorithm>
#include <cmath>

#include "job/stages/pieces.h"
#include "job/stages/stages.h"

namespace roomwright::job {

shop::Parts parts_of_piece(const Job& job, const Treatment& treatment, std::size_t index) {
  const Piece& piece = job.pieces[index];
  shop::Parts parts = product_of(job, treatment, piece).parts;
  for (auto& stick : parts.sticks) stick.piece = piece.label;
  const bool stands = product_of(job, treatment, piece).spec.kind == design::Kind::free_screen;
  for (auto& cloth : parts.cloths) {
    cloth.piece = piece.label;
    if (piece.turned && !stands)
      std::swap(cloth.across, cloth.along);  // the pile still runs up the wall
  }
  for (auto& board : parts.boards) board.piece = piece.label;
  for (auto& sheet : parts.sheets) sheet.piece = piece.label;
  for (auto& hardware : parts.hardware) hardware.piece = piece.label;
  for (auto& operation : parts.operations) operation.piece = piece.label;
  return parts;
}

const design::Product& product_of(const Job& job, const Treatment& treatment, const Piece& piece) {
  for (std::size_t i = 0; i < job.products.size(); ++i)
    if (job.products[i].key == piece.product) return treatment.products[i];
  RW_ASSERT(false);
  return treatment.products.front();
}

bool is_plugged(const Job& job, const Feature& feature) {
  return std::any_of(job.pieces.begin(), job.pieces.end(),
                     [&](const Piece& piece) { return piece.window == feature.label; });
}

namespace {

std::string many(std::size_t count, const std::string& one, const std::string& more) {
  return std::to_string(count) + " " + (count == 1 ? one : more);
}

void say_checks(const Job& job, const Treatment& treatment, std::vector<Statement>& out) {
  for (const design::Product& product : treatment.products) {
    const bool used = std::any_of(job.pieces.begin(), job.pieces.end(), [&](const Piece& piece) {
      return piece.product == product.spec.key;
    });
    if (!used) continue;
    for (const design::BenchCheck& check : product.checks)
      if (!check.ok)
        out.push_back({100, "bench", product.spec.name + ": " + check.sentence,
                       "found before anything is cut: " + check.what, ""});
  }
}

void say_sticks(const shop::Schedule& schedule, const Units& units, std::vector<Statement>& out) {
  for (const shop::StickPlan& plan : schedule.sticks) {
    const double yield =
        plan.bought > Length() ? plan.used.metres() / plan.bought.metres() * 100 : 0;
    std::string text =
        many(std::size_t(plan.sticks_to_buy + plan.sticks_from_rack), "stick", "sticks") + " of " +
        plan.name + ", " + many(plan.stops.size(), "stop setting", "stop settings") +
        ", the longest " + print_length(plan.stops.front().stop, units) + "; " + fixed(yield, 0) +
        " % of the timber ends in pieces";
    text +=
        plan.proven ? ", and no cheaper plan exists." : "; the plan is within the stated bound.";
    out.push_back({0, "sticks", text, "", ""});
  }
}

void say_cloth(const shop::Schedule& schedule, const Units& units, std::vector<Statement>& out) {
  for (const shop::ClothPlan& plan : schedule.cloths)
    out.push_back(
        {0, "cloth",
         many(plan.pieces.size(), "piece", "pieces") + " of " + plan.name + " from " +
             print_length(plan.length, units) + " of roll" +
             (plan.proven ? ", the least there is."
                          : ", at least " + print_length(plan.bound, units) + " by the bound."),
         "", ""});
}

void say_time(const Job& job, const shop::Schedule& schedule, std::vector<Statement>& out) {
  const double hours = schedule.shop_min() / 60;
  out.push_back({0, "time",
                 many(job.pieces.size(), "piece takes ", "pieces take ") + fixed(hours, 1) +
                     " hours in the shop by the shop's own times.",
                 "", ""});
}

}  // namespace

Result<BuildSheet> build(const Job& job, const Treatment& treatment, const Watch& watch) {
  BuildSheet sheet;
  for (std::size_t i = 0; i < job.pieces.size(); ++i)
    sheet.parts.append(parts_of_piece(job, treatment, i));
  auto schedule = shop::make_schedule(sheet.parts, job.shop, watch);
  if (!schedule) return schedule.mistakes();
  sheet.schedule = std::move(*schedule);
  for (const design::Product& product : treatment.products)
    sheet.makings.push_back(design::making_of(product, job.shop));
  say_checks(job, treatment, sheet.statements);
  say_sticks(sheet.schedule, job.region.units, sheet.statements);
  say_cloth(sheet.schedule, job.region.units, sheet.statements);
  say_time(job, sheet.schedule, sheet.statements);
  std::vector<shop::RunPiece> pieces;
  for (const Piece& piece : job.pieces)
    pieces.push_back(run_piece(piece, product_of(job, treatment, piece)));
  if (const auto planned = plan_time(job, pieces, sheet, watch); !planned)
    return planned.mistakes();
  return sheet;
}

}  // namespace roomwright::job
