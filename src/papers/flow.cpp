// Pages, tables and the title block; see flow.h. Invariant: y_ is the next free place and never
// beyond bottom_ once something was placed.
#include "papers/flow.h"

#include <algorithm>
#include <cmath>

namespace roomwright::papers {

using drawing::Anchor;
using drawing::Dash;
using drawing::Ink;
using drawing::Line;
using drawing::Pen;
using drawing::Text;

namespace {

constexpr double block_mm = 15;
constexpr double line_factor = 1.42;

std::string projection_name(const job::Region& region) {
  return region.projection == job::Projection::first_angle ? "first angle" : "third angle";
}

}  // namespace

Flow::Flow(const job::Job& job, BlockInfo info, bool landscape)
    : job_(job), info_(std::move(info)) {
  const bool letter = job.region.paper == job::PaperSize::letter;
  width_page_ = letter ? 215.9 : 210;
  height_page_ = letter ? 279.4 : 297;
  if (landscape) std::swap(width_page_, height_page_);
  right_ = width_page_ - 15;
  bottom_ = height_page_ - 12 - block_mm - 4;
  new_page(info_.scale);
}

void Flow::new_page(const std::string& scale) {
  drawing::Sheet sheet;
  sheet.width_mm = width_page_;
  sheet.height_mm = height_page_;
  sheets_.push_back(sheet);
  scales_.push_back(scale);
  y_ = top_;
}

void Flow::need(double mm) {
  if (y_ + mm > bottom_ && y_ > top_) new_page(scales_.back());
}

void Flow::space(double mm) {
  y_ += mm;
}

void Flow::keep_together(double mm) {
  need(mm);
}

void Flow::line_of(const std::string& text, double size_mm, bool bold, double x, Ink ink) {
  sheets_.back().shapes.push_back(
      Text{{x, y_ + size_mm}, text, size_mm, bold, Anchor::left, 0, ink});
  y_ += size_mm * line_factor;
}

void Flow::heading(const std::string& text) {
  need(30);
  if (y_ > top_) y_ += 4;
  line_of(drawing::fitted(text, 4.4, width_mm(), true), 4.4, true, left_, Ink::ink);
  y_ += 1;
}

void Flow::finding(const std::string& text) {
  for (const std::string& line : drawing::wrap_text(text, 5, width_mm(), true)) {
    need(8);
    line_of(line, 5, true, left_, Ink::chalk_blue);
  }
  y_ += 2;
}

void Flow::paragraph(const std::string& text, double size_mm, Ink ink) {
  for (const std::string& line : drawing::wrap_text(text, size_mm, width_mm())) {
    need(size_mm * line_factor);
    line_of(line, size_mm, false, left_, ink);
  }
  y_ += 1.2;
}

void Flow::bullet(const std::string& text) {
  const auto lines = drawing::wrap_text(text, 3.1, width_mm() - 5);
  need(std::min<double>(3, double(lines.size())) * 3.1 * line_factor);
  for (std::size_t i = 0; i < lines.size(); ++i) {
    need(3.1 * line_factor);
    if (i == 0)
      sheets_.back().shapes.push_back(
          Text{{left_, y_ + 3.1}, "–", 3.1, false, Anchor::left, 0, Ink::graphite});
    line_of(lines[i], 3.1, false, left_ + 5, Ink::ink);
  }
  y_ += 0.8;
}

void Flow::caution(const std::string& text) {
  const auto lines = drawing::wrap_text(text, 2.9, width_mm() - 32);
  const double height = double(lines.size()) * 2.9 * line_factor + 3.4;
  need(height + 1);
  sheets_.back().shapes.push_back(
      drawing::rectangle({left_, y_}, {right_, y_ + height}, {Ink::madder, 0.35, Dash::none}));
  sheets_.back().shapes.push_back(
      Text{{left_ + 3, y_ + 5}, "Caution", 3, true, Anchor::left, 0, Ink::madder});
  y_ += 1.7;
  for (const std::string& line : lines) line_of(line, 2.9, false, left_ + 24, Ink::ink);
  y_ += 1.7 + 2;
}

double Flow::column_width(const std::vector<Column>& columns, std::size_t i) const {
  double all = 0;
  for (const Column& column : columns) all += column.share;
  return width_mm() * columns[i].share / all;
}

double Flow::row_height(const std::vector<Column>& columns, const Cells& row, double size_mm,
                        bool bold) const {
  std::size_t lines = 1;
  for (std::size_t i = 0; i < row.size() && i < columns.size(); ++i)
    lines = std::max(
        lines, drawing::wrap_text(row[i], size_mm, column_width(columns, i) - 3, bold).size());
  return double(lines) * size_mm * line_factor + 1.6;
}

void Flow::draw_row(const std::vector<Column>& columns, const Cells& row, double size_mm,
                    bool bold) {
  double x = left_;
  const double height = row_height(columns, row, size_mm, bold);
  for (std::size_t i = 0; i < row.size() && i < columns.size(); ++i) {
    const double width = column_width(columns, i);
    double y = y_ + 0.6;
    for (const std::string& line : drawing::wrap_text(row[i], size_mm, width - 3, bold)) {
      const bool right = columns[i].align == Align::right;
      sheets_.back().shapes.push_back(Text{{right ? x + width - 3 : x, y + size_mm},
                                           line,
                                           size_mm,
                                           bold,
                                           right ? Anchor::right : Anchor::left,
                                           0,
                                           Ink::ink});
      y += size_mm * line_factor;
    }
    x += width;
  }
  y_ += height;
}

void Flow::table(const std::vector<Column>& columns, const std::vector<Cells>& rows, double size_mm,
                 bool last_bold) {
  Cells titles;
  for (const Column& column : columns) titles.push_back(column.title);
  const auto header = [&] {
    draw_row(columns, titles, size_mm * 0.94, true);
    sheets_.back().shapes.push_back(Line{{left_, y_}, {right_, y_}, {Ink::ink, 0.3, Dash::none}});
    y_ += 0.6;
  };
  need(row_height(columns, titles, size_mm, true) +
       (rows.empty() ? 0 : row_height(columns, rows[0], size_mm)) + 4);
  header();
  for (std::size_t r = 0; r < rows.size(); ++r) {
    const double height = row_height(columns, rows[r], size_mm);
    if (y_ + height > bottom_) {
      new_page(scales_.back());
      header();
    }
    draw_row(columns, rows[r], size_mm, last_bold && r + 1 == rows.size());
    sheets_.back().shapes.push_back(
        Line{{left_, y_}, {right_, y_}, {Ink::corridor, 0.25, Dash::none}});
    y_ += 0.4;
  }
  y_ += 3;
}

void Flow::picture(double height_mm, const std::function<void(drawing::Sheet&, Vec2, Vec2)>& draw) {
  need(std::min(height_mm, bottom_ - top_));
  const double height = std::min(height_mm, bottom_ - y_);
  draw(sheets_.back(), {left_, y_}, {right_, y_ + height});
  y_ += height + 2;
}

void Flow::title_block(drawing::Sheet& sheet, std::size_t number, std::size_t count,
                       const std::string& scale) const {
  const double y0 = height_page_ - 12 - block_mm, y1 = height_page_ - 12;
  const Pen frame{Ink::ink, 0.3, Dash::none};
  sheet.shapes.push_back(drawing::rectangle({left_, y0}, {right_, y1}, frame));
  struct Cell {
    std::string name, text;
    double share;
  };
  std::vector<Cell> cells = {
      {"job", job_.reference.empty() ? job_.title : job_.reference + "  " + job_.title, 3},
      {"sheet", info_.sheet_name, 2.2},
      {"page", std::to_string(number) + " of " + std::to_string(count), 1.25},
      {"date", job_.date, 1.6},
      {"revision", job_.revision, 0.9},
      {"units", info_.units, 0.95}};
  if (!scale.empty()) cells.push_back({"scale", scale, 0.8});
  if (info_.projection) cells.push_back({"projection", projection_name(job_.region), 1.5});
  double all = 0;
  for (const Cell& cell : cells) all += cell.share;
  double x = left_;
  for (const Cell& cell : cells) {
    const double width = width_mm() * cell.share / all;
    if (x > left_) sheet.shapes.push_back(Line{{x, y0}, {x, y1}, {Ink::ink, 0.18, Dash::none}});
    sheet.shapes.push_back(
        Text{{x + 1.6, y0 + 4}, cell.name, 2.2, false, Anchor::left, 0, Ink::graphite});
    const auto lines = drawing::wrap_text(cell.text, 2.9, width - 3.2, true);
    double y = y0 + 8;
    for (std::size_t i = 0; i < lines.size() && i < 2; ++i, y += 3.9)
      sheet.shapes.push_back(Text{{x + 1.6, y},
                                  i == 1 && lines.size() > 2
                                      ? drawing::fitted(lines[1] + "…", 2.9, width - 3.2, true)
                                      : lines[i],
                                  2.9,
                                  true,
                                  Anchor::left,
                                  0,
                                  Ink::ink});
    x += width;
  }
}

std::vector<double> Flow::scales() const {
  std::vector<double> out;
  for (const std::string& scale : scales_)
    out.push_back(scale.rfind("1:", 0) == 0 ? std::stod(scale.substr(2)) : 1);
  return out;
}

std::vector<drawing::Sheet> Flow::finish() {
  for (std::size_t i = 0; i < sheets_.size(); ++i)
    title_block(sheets_[i], i + 1, sheets_.size(), scales_[i]);
  return sheets_;
}

}  // namespace roomwright::papers
