// Sheets as PDF by Cairo and Pango: the same bytes for the same shapes.
#include <cairo-pdf.h>

#include <cmath>
#include <cstdio>

#include "drawing/drawing.h"
#include "drawing/inks.h"
#include "drawing/pango_text.h"

namespace roomwright::drawing {

namespace {

cairo_status_t append_bytes(void* closure, const unsigned char* data, unsigned int length) {
  static_cast<std::string*>(closure)->append(reinterpret_cast<const char*>(data), length);
  return CAIRO_STATUS_SUCCESS;
}

/// Draws shapes on a context whose unit is the millimetre.
struct Painter {
  cairo_t* to;

  void use(const Pen& pen) const {
    const Colour colour = colour_of(pen.ink);
    cairo_set_source_rgb(to, colour.red, colour.green, colour.blue);
    cairo_set_line_width(to, pen.width_mm);
    const double dashes[] = {pen.dash == Dash::dotted ? 0.4 : 2.0,
                             pen.dash == Dash::dotted ? 0.9 : 1.2};
    cairo_set_dash(to, dashes, pen.dash == Dash::none ? 0 : 2, 0);
  }

  void operator()(const Line& line) const {
    use(line.pen);
    cairo_move_to(to, line.from.x, line.from.y);
    cairo_line_to(to, line.to.x, line.to.y);
    cairo_stroke(to);
  }

  void trace(const Path& path) const {
    for (std::size_t i = 0; i < path.points.size(); ++i)
      (i == 0 ? cairo_move_to : cairo_line_to)(to, path.points[i].x, path.points[i].y);
    if (path.closed) cairo_close_path(to);
  }

  void operator()(const Path& path) const {
    if (path.points.size() < 2) return;
    if (path.filled) {
      const Colour colour = colour_of(path.fill);
      cairo_set_source_rgb(to, colour.red, colour.green, colour.blue);
      trace(path);
      cairo_fill(to);
    }
    if (path.hatched) hatch(path);
    if (path.pen.width_mm <= 0) return;
    use(path.pen);
    trace(path);
    cairo_stroke(to);
  }

  void hatch(const Path& path) const {
    cairo_save(to);
    trace(path);
    double x0 = 0, y0 = 0, x1 = 0, y1 = 0;
    cairo_path_extents(to, &x0, &y0, &x1, &y1);
    cairo_clip(to);
    use({path.pen.ink, 0.12, Dash::none});
    for (double x = x0 - (y1 - y0); x < x1; x += 1.4) {
      cairo_move_to(to, x, y1);
      cairo_line_to(to, x + (y1 - y0), y0);
    }
    cairo_stroke(to);
    cairo_restore(to);
  }

  void operator()(const Circle& circle) const {
    use(circle.pen);
    cairo_new_sub_path(to);
    cairo_arc(to, circle.centre.x, circle.centre.y, circle.radius_mm, 0, 2 * std::acos(-1.0));
    circle.filled ? cairo_fill(to) : cairo_stroke(to);
  }

  void operator()(const Text& text) const {
    if (text.text.empty()) return;
    cairo_save(to);
    cairo_translate(to, text.at.x, text.at.y);
    cairo_rotate(to, -text.angle_deg * std::acos(-1.0) / 180);
    cairo_scale(to, 1 / points_per_mm, 1 / points_per_mm);
    const Colour colour = colour_of(text.ink);
    cairo_set_source_rgb(to, colour.red, colour.green, colour.blue);
    const LayoutPtr layout = make_layout(to, text.text, text.size_mm, text.bold);
    int width = 0, height = 0;
    pango_layout_get_size(layout.get(), &width, &height);
    const double wide = static_cast<double>(width) / PANGO_SCALE;
    const double shift = text.anchor == Anchor::left     ? 0
                         : text.anchor == Anchor::centre ? wide / 2
                                                         : wide;
    const double baseline =
        static_cast<double>(pango_layout_get_baseline(layout.get())) / PANGO_SCALE;
    cairo_move_to(to, -shift, -baseline);
    pango_cairo_show_layout(to, layout.get());
    cairo_restore(to);
  }
};

}  // namespace

Result<std::string> pdf_bytes(const std::vector<Sheet>& sheets, const PdfInfo& info) {
  if (!font_is_there())
    return Complaint{"", "the font Inter is missing", {}, "install the package fonts-inter", 0};
  std::string bytes;
  cairo_surface_t* surface = cairo_pdf_surface_create_for_stream(append_bytes, &bytes, 595, 842);
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_TITLE, info.title.c_str());
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATOR, "Roomwright");
  cairo_pdf_surface_set_metadata(surface, CAIRO_PDF_METADATA_CREATE_DATE,
                                 (info.date + "T00:00:00Z").c_str());
  cairo_t* context = cairo_create(surface);
  for (const Sheet& sheet : sheets) {
    cairo_pdf_surface_set_size(surface, sheet.width_mm * points_per_mm,
                               sheet.height_mm * points_per_mm);
    cairo_save(context);
    cairo_scale(context, points_per_mm, points_per_mm);
    cairo_set_line_cap(context, CAIRO_LINE_CAP_ROUND);
    cairo_set_line_join(context, CAIRO_LINE_JOIN_ROUND);
    for (const Shape& shape : sheet.shapes) std::visit(Painter{context}, shape);
    cairo_restore(context);
    cairo_show_page(context);
  }
  cairo_destroy(context);
  cairo_surface_finish(surface);
  const cairo_status_t status = cairo_surface_status(surface);
  cairo_surface_destroy(surface);
  if (status != CAIRO_STATUS_SUCCESS)
    return Complaint{
        "", std::string("the PDF could not be made: ") + cairo_status_to_string(status), {}, {}, 0};
  return bytes;
}

}  // namespace roomwright::drawing
