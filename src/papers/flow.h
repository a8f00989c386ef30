// Private to papers: a column that runs over as many pages as it needs, with the title block at the
// foot of each.
#pragma once

#include <functional>
#include <string>
#include <vector>

#include "drawing/drawing.h"
#include "job/document/document.h"

namespace roomwright::papers {

enum class Align { left, right };
struct Column {
  std::string title;
  double share = 1;  ///< of the width
  Align align = Align::left;
};
using Cells = std::vector<std::string>;

/// What stands in the title block beside the job's own.
struct BlockInfo {
  std::string sheet_name;
  std::string units;  ///< `mm`, `inches`
  std::string scale;  ///< `1:20`, or empty
  bool projection = false;
  bool for_client = false;
};

class Flow {
 public:
  Flow(const job::Job& job, BlockInfo info, bool landscape = false);

  void heading(const std::string& text);
  void finding(const std::string& text);  ///< the one sentence at the top, large
  void paragraph(const std::string& text, double size_mm = 3.1,
                 drawing::Ink ink = drawing::Ink::ink);
  void bullet(const std::string& text);
  void caution(const std::string& text);  ///< set apart in a frame
  void space(double mm);
  void keep_together(double mm);  ///< a new page where less than this is left
  /// Rows stay whole; the header stands again on each page.
  void table(const std::vector<Column>& columns, const std::vector<Cells>& rows,
             double size_mm = 2.8, bool last_bold = false);
  /// A picture of this height; draw gets its rectangle.
  void picture(double height_mm,
               const std::function<void(drawing::Sheet&, Vec2 from, Vec2 to)>& draw);
  void new_page(const std::string& scale = {});
  void set_scale(const std::string& scale) { scales_.back() = scale; }  ///< of the page in hand

  double width_mm() const { return right_ - left_; }
  double room_mm() const { return bottom_ - y_; }
  std::vector<drawing::Sheet> finish();
  /// Of each page: 20 where its block says `1:20`, 1 where it says nothing.
  std::vector<double> scales() const;

 private:
  void need(double mm);
  void line_of(const std::string& text, double size_mm, bool bold, double x, drawing::Ink ink);
  double row_height(const std::vector<Column>& columns, const Cells& row, double size_mm,
                    bool bold = false) const;
  void draw_row(const std::vector<Column>& columns, const Cells& row, double size_mm, bool bold);
  double column_width(const std::vector<Column>& columns, std::size_t i) const;
  void title_block(drawing::Sheet& sheet, std::size_t number, std::size_t count,
                   const std::string& scale) const;

  const job::Job& job_;
  BlockInfo info_;
  std::vector<drawing::Sheet> sheets_;
  std::vector<std::string> scales_;
  double left_ = 15, right_ = 195, top_ = 15, bottom_ = 265, y_ = 15;
  double width_page_ = 210, height_page_ = 297;
};

}  // namespace roomwright::papers
