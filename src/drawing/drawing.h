// One list of shapes from which every drawing, plot and page comes, and its writers: PDF (Cairo and
// Pango, fonts embedded), SVG and DXF (written here). Sheets are in millimetres, origin top left,
// y down. The same shapes give the same bytes: nothing depends on clock, locale or thread.
#pragma once

#include <functional>
#include <string>
#include <variant>
#include <vector>

#include "core/base/base.h"
#include "core/geometry/geometry.h"

namespace roomwright::drawing {

enum class Ink {
  paper,
  ink,
  graphite,
  chalk_blue,
  cedar,
  moss,
  madder,
  corridor,
  wool,
  cloth,
  level_0,  ///< of maps of levels: one scale from light to dark, told apart in grey too
  level_1,
  level_2,
  level_3,
  level_4,
  level_5
};
enum class Dash { none, dashed, dotted };

struct Pen {
  Ink ink = Ink::ink;
  double width_mm = 0.25;
  Dash dash = Dash::none;
};

struct Line {
  Vec2 from, to;
  Pen pen;
};
/// A run of points; closed ones may be filled or hatched.
struct Path {
  std::vector<Vec2> points;
  bool closed = false;
  Pen pen;  ///< width 0: no outline
  bool filled = false;
  Ink fill = Ink::paper;
  bool hatched = false;  ///< 45° lines in the pen's ink
};
struct Circle {
  Vec2 centre;
  double radius_mm = 1;
  Pen pen;
  bool filled = false;
};
enum class Anchor { left, centre, right };
struct Text {
  Vec2 at;             ///< on the baseline
  std::string text;    ///< one line
  double size_mm = 3;  ///< height of the type's body
  bool bold = false;
  Anchor anchor = Anchor::left;
  double angle_deg = 0;  ///< anticlockwise
  Ink ink = Ink::ink;
};
using Shape = std::variant<Line, Path, Circle, Text>;

struct Sheet {
  double width_mm = 210, height_mm = 297;
  std::vector<Shape> shapes;
};

Path rectangle(Vec2 from, Vec2 to, Pen pen);
Path filled_rectangle(Vec2 from, Vec2 to, Ink fill, Pen pen);

/// With the same Pango settings as the PDF writer.
double text_width_mm(const std::string& text, double size_mm, bool bold = false);
/// Lines no wider than width_mm; a word longer than that is broken.
std::vector<std::string> wrap_text(const std::string& text, double size_mm, double width_mm,
                                   bool bold = false);
/// The text, cut with an ellipsis where it is wider.
std::string fitted(const std::string& text, double size_mm, double width_mm, bool bold = false);

/// Errors: the font Inter is missing (the message names the package); Cairo's own fault.
struct PdfInfo {
  std::string title;
  std::string date;  ///< ISO; becomes the creation date, never the clock
};
Result<std::string> pdf_bytes(const std::vector<Sheet>& sheets, const PdfInfo& info);
std::string svg_text(const Sheet& sheet);
/// R12 ASCII, 1 unit = 1 mm of the sheet × scale, y up; a layer a pen ink.
std::string dxf_text(const Sheet& sheet, double scale);

// ---- QR codes -------------------------------------------------------------------------------

/// Light modules on each side that belong to the code.
/// Source: ISO/IEC 18004:2015, 6.3.8, quiet zone of a QR code symbol (four modules)
inline constexpr int qr_quiet_modules = 4;

/// Draws a QR code (error correction M, text as bytes) into the square at from, quiet zone
/// included; gives the size of a module in mm. Errors: a text that no code holds.
Result<double> qr_code(Sheet& sheet, const std::string& text, Vec2 from, double size_mm);

// ---- model to sheet -------------------------------------------------------------------------

/// Metres, y up, to the sheet at a named scale.
struct Frame {
  Vec2 origin_mm;     ///< where model (0, 0) lies
  double scale = 20;  ///< 1 : scale
  Vec2 to_sheet(Vec2 model_m) const {
    return {origin_mm.x + model_m.x * 1000 / scale, origin_mm.y - model_m.y * 1000 / scale};
  }
};
/// The largest of 1:1, 2, 5, 10, 15, 20, 25, 30, 40, 50, 75, 100, 200 at which the model fits.
double fitting_scale(double model_width_m, double model_height_m, double width_mm,
                     double height_mm);

/// A line of cumulative marks from one datum: ticks at each place, texts turned upright beside
/// them, moved apart where they would touch.
struct Mark {
  double at_m = 0;
  std::string text;
};
/// Below y_mm, along x from the frame; returns how far down it reached.
double marks_below(Sheet& sheet, const Frame& frame, double y_mm, std::vector<Mark> marks);
/// Left of x_mm, along y; returns how far left it reached.
double marks_left(Sheet& sheet, const Frame& frame, double x_mm, std::vector<Mark> marks);
void scale_bar(Sheet& sheet, Vec2 at, double scale, bool metric);

// ---- plots ----------------------------------------------------------------------------------

struct Curve {
  std::string label;         ///< at its end
  std::vector<Vec2> points;  ///< values; x in Hz
  Pen pen;
  bool dots = false;
  std::vector<Vec2> low, high;  ///< hatched band around it
};
struct Plot {
  std::string question;          ///< the title
  std::string x_label, y_label;  ///< with units
  std::vector<double> x_ticks;   ///< octave centres
  double y_low = 0, y_high = 1, y_step = 0.1;
  int y_decimals = 1;
  std::vector<Vec2> corridor_low, corridor_high;
  std::vector<Curve> curves;
};
/// Draws into the rectangle.
void draw_plot(Sheet& sheet, const Plot& plot, Vec2 from, Vec2 to);

}  // namespace roomwright::drawing
