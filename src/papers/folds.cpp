// How the cloth is folded at a corner, step by step, and how the back cloth is stapled: the shapes
// are the build stage's, here they are laid on the page.
#include <algorithm>
#include <cmath>

#include "papers/benchwork.h"

namespace roomwright::papers {

using design::FoldPart;
using drawing::Anchor;
using drawing::Circle;
using drawing::Dash;
using drawing::Ink;
using drawing::Line;
using drawing::Path;
using drawing::Text;

namespace {

/// Metres to a plane: from above, or from the corner with both sides and the back in sight.
Vec2 projected(const design::FoldStep& step, Vec3 p) {
  if (step.flat) return {p.x, -p.y};
  return {(p.x - p.y) * 0.8660, -(p.x + p.y) * 0.5 - p.z};
}

struct Extent2 {
  Vec2 low{1e9, 1e9}, high{-1e9, -1e9};
};
Extent2 extent_of_step(const design::FoldStep& step) {
  Extent2 out;
  for (const auto& shape : step.shapes)
    for (const Vec3& point : shape.points_m) {
      const Vec2 p = projected(step, point);
      out.low = {std::min(out.low.x, p.x), std::min(out.low.y, p.y)};
      out.high = {std::max(out.high.x, p.x), std::max(out.high.y, p.y)};
    }
  return out;
}

struct Look {
  bool filled = false, closed = false;
  Ink fill = Ink::paper;
  drawing::Pen pen;
};
Look look_of(FoldPart part) {
  switch (part) {
    case FoldPart::bench:
      return {true, true, Ink::cloth, {Ink::chalk_blue, 0.25, Dash::dashed}};
    case FoldPart::wood:
      return {true, true, Ink::corridor, {Ink::cedar, 0.35, Dash::none}};
    case FoldPart::cloth:
      return {true, true, Ink::cloth, {Ink::chalk_blue, 0.35, Dash::none}};
    case FoldPart::lining:
      return {true, true, Ink::paper, {Ink::chalk_blue, 0.35, Dash::none}};
    case FoldPart::outline:
      return {false, false, Ink::paper, {Ink::graphite, 0.2, Dash::dotted}};
    case FoldPart::crease:
      return {false, false, Ink::paper, {Ink::chalk_blue, 0.3, Dash::dashed}};
    case FoldPart::cut:
      return {false, false, Ink::paper, {Ink::madder, 0.5, Dash::none}};
    default:
      return {false, false, Ink::paper, {Ink::ink, 0.6, Dash::none}};
  }
}

void draw_number(drawing::Sheet& sheet, Vec2 at, const std::string& text) {
  sheet.shapes.push_back(Circle{at, 2.6, {Ink::paper, 0, Dash::none}, true});
  sheet.shapes.push_back(Circle{at, 2.6, {Ink::ink, 0.3, Dash::none}, false});
  sheet.shapes.push_back(Text{{at.x, at.y + 1.1}, text, 3, true, Anchor::centre, 0, Ink::ink});
}

/// A step's figure into a rectangle, as large as it goes.
void draw_step(drawing::Sheet& sheet, const design::FoldStep& step, Vec2 from, Vec2 to) {
  const Extent2 extent = extent_of_step(step);
  const double scale = std::min((to.x - from.x) / (extent.high.x - extent.low.x),
                                (to.y - from.y) / (extent.high.y - extent.low.y));
  const Vec2 middle = (extent.low + extent.high) * 0.5, centre = (from + to) * 0.5;
  const auto at = [&](Vec3 p) { return centre + (projected(step, p) - middle) * scale; };
  for (const auto& shape : step.shapes) {
    if (shape.part == FoldPart::number) continue;
    const Look look = look_of(shape.part);
    Path path;
    for (const Vec3& point : shape.points_m) path.points.push_back(at(point));
    path.closed = look.closed;
    path.filled = look.filled;
    path.fill = look.fill;
    path.pen = look.pen;
    sheet.shapes.push_back(path);
  }
  for (const auto& shape : step.shapes)
    if (shape.part == FoldPart::number) draw_number(sheet, at(shape.points_m[0]), shape.text);
}

/// Two steps abreast, each its figure, title and sentence.
void step_row(Flow& flow, const std::vector<design::FoldStep>& steps, std::size_t first,
              double figure_mm) {
  const double width = flow.width_mm() / 2 - 4;
  double words = 0;
  for (std::size_t i = first; i < std::min(first + 2, steps.size()); ++i)
    words = std::max(words, double(drawing::wrap_text(steps[i].sentence, 2.8, width).size()) * 4.1);
  flow.picture(figure_mm + words + 12, [&](drawing::Sheet& sheet, Vec2 from, Vec2) {
    for (std::size_t i = first; i < std::min(first + 2, steps.size()); ++i) {
      const double x = from.x + double(i - first) * (width + 8);
      sheet.shapes.push_back(Text{{x, from.y + 3.6},
                                  std::to_string(i + 1) + "  " + steps[i].title,
                                  3.3,
                                  true,
                                  Anchor::left,
                                  0,
                                  Ink::ink});
      draw_step(sheet, steps[i], {x + 2, from.y + 7}, {x + width - 2, from.y + 5 + figure_mm});
      double y = from.y + figure_mm + 10;
      for (const std::string& line : drawing::wrap_text(steps[i].sentence, 2.8, width)) {
        sheet.shapes.push_back(Text{{x, y}, line, 2.8, false, Anchor::left, 0, Ink::ink});
        y += 4.1;
      }
    }
  });
}

struct FoldGroup {
  design::FoldPlan plan;
  std::vector<std::string> names;
};
bool folds_alike(const design::FoldPlan& a, const design::FoldPlan& b) {
  return a.corner == b.corner && a.turn == b.turn && a.margin == b.margin && a.cut_leg == b.cut_leg;
}

std::string corner_words(design::CornerShape corner) {
  return corner == design::CornerShape::square   ? "square edge"
         : corner == design::CornerShape::shaped ? "shaped edge"
         : corner == design::CornerShape::acute  ? "acute edge"
                                                 : "re-entrant corner";
}

}  // namespace

Paper fold_paper(const job::Job& job, const job::Pack& pack) {
  const Units& units = job.region.units;
  Flow flow(job, {"Cloth folds", units_name(job), "", false, false});
  std::vector<FoldGroup> groups;
  std::vector<std::pair<std::string, design::FoldStep>> backs;
  for (std::size_t i = 0; i < pack.treatment.products.size(); ++i) {
    const design::Product& product = pack.treatment.products[i];
    if (std::none_of(job.pieces.begin(), job.pieces.end(),
                     [&](const job::Piece& piece) { return piece.product == product.spec.key; }))
      continue;
    for (const design::FoldPlan& plan : pack.build.makings[i].folds) {
      const auto same = std::find_if(groups.begin(), groups.end(), [&](const FoldGroup& one) {
        return folds_alike(one.plan, plan);
      });
      if (same == groups.end())
        groups.push_back({plan, {product.spec.name}});
      else
        same->names.push_back(product.spec.name);
    }
    for (const design::FoldStep& step : pack.build.makings[i].back_cloth)
      backs.emplace_back(product.spec.name, step);
  }
  if (groups.empty() && backs.empty()) {
    flow.finding("No piece of this job has cloth to fold.");
    return {"12-cloth-folds", "Cloth folds", flow.finish(), false, {}, {}};
  }
  bool first = true;
  for (const FoldGroup& group : groups) {
    if (!first) flow.new_page();
    flow.finding("The corners of " + listed(group.names) + ".");
    if (first)
      flow.caution(
          "Staple gun: eye protection, never toward a hand. Keep the knife's edge away "
          "from the face.");
    first = false;
    std::string note =
        "Edge: " + corner_words(group.plan.corner) +
        ". Blue: cloth, white where its "
        "inner side shows. Dashed: creases. Red: cut. Black strokes: staples, every " +
        print_length(group.plan.staple_pitch, units) + ". Drawn from this product's own sizes.";
    if (group.plan.corner == design::CornerShape::shaped)
      note +=
          " Over the shaped edge the cloth has a little too much at the corner: smooth it under "
          "the ear.";
    flow.paragraph(note, 2.7, Ink::graphite);
    for (std::size_t i = 0; i < group.plan.steps.size(); i += 2)
      step_row(flow, group.plan.steps, i, 68);
  }
  if (!backs.empty()) {
    if (flow.room_mm() < 110) flow.new_page();
    flow.heading("Back cloth");
    flow.paragraph(backs.front().second.sentence, 3);
    for (std::size_t i = 0; i < backs.size(); i += 3)
      flow.picture(66, [&](drawing::Sheet& sheet, Vec2 from, Vec2 to) {
        const double width = (to.x - from.x) / 3;
        for (std::size_t k = i; k < std::min(i + 3, backs.size()); ++k) {
          const double x = from.x + double(k - i) * width;
          sheet.shapes.push_back(Text{{x, from.y + 3},
                                      drawing::fitted(backs[k].first, 2.8, width - 2, true),
                                      2.8,
                                      true,
                                      Anchor::left,
                                      0,
                                      Ink::ink});
          draw_step(sheet, backs[k].second, {x, from.y + 6}, {x + width - 8, to.y - 2});
        }
      });
  }
  return {"12-cloth-folds", "Cloth folds", flow.finish(), false, {}, {}};
}

}  // namespace roomwright::papers
