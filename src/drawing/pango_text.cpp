// Text by Pango: measuring and wrapping, with the settings of the PDF writer; see drawing.h.
#include "drawing/pango_text.h"

#include <fontconfig/fontconfig.h>

#include <cmath>

#include "drawing/drawing.h"

namespace roomwright::drawing {

namespace {

/// Attributes that Pango takes over.
void set_figures(PangoLayout* layout) {
  PangoAttrList* attributes = pango_attr_list_new();
  pango_attr_list_insert(attributes, pango_attr_font_features_new("tnum=1"));
  pango_layout_set_attributes(layout, attributes);
  pango_attr_list_unref(attributes);
}

}  // namespace

LayoutPtr make_layout(cairo_t* context, const std::string& text, double size_mm, bool bold) {
  LayoutPtr layout(pango_cairo_create_layout(context));
  PangoContext* pango = pango_layout_get_context(layout.get());
  pango_cairo_context_set_resolution(pango, 72);
  cairo_font_options_t* options = cairo_font_options_create();
  cairo_font_options_set_hint_style(options, CAIRO_HINT_STYLE_NONE);
  cairo_font_options_set_hint_metrics(options, CAIRO_HINT_METRICS_OFF);
  cairo_font_options_set_antialias(options, CAIRO_ANTIALIAS_GRAY);
  pango_cairo_context_set_font_options(pango, options);
  cairo_font_options_destroy(options);
  pango_context_set_language(pango, pango_language_from_string("en"));
  PangoFontDescription* font = pango_font_description_new();
  pango_font_description_set_family_static(font, "Inter");
  pango_font_description_set_weight(font, bold ? PANGO_WEIGHT_SEMIBOLD : PANGO_WEIGHT_NORMAL);
  pango_font_description_set_absolute_size(font, size_mm * points_per_mm * PANGO_SCALE);
  pango_layout_set_font_description(layout.get(), font);
  pango_font_description_free(font);
  set_figures(layout.get());
  pango_layout_set_text(layout.get(), text.c_str(), static_cast<int>(text.size()));
  return layout;
}

cairo_t* measuring_context() {
  static cairo_t* const context = [] {
    cairo_surface_t* surface = cairo_recording_surface_create(CAIRO_CONTENT_COLOR_ALPHA, nullptr);
    cairo_t* made = cairo_create(surface);
    cairo_surface_destroy(surface);
    return made;
  }();
  return context;
}

bool font_is_there() {
  FcPattern* wanted = FcNameParse(reinterpret_cast<const FcChar8*>("Inter"));
  FcConfigSubstitute(nullptr, wanted, FcMatchPattern);
  FcDefaultSubstitute(wanted);
  FcResult result = FcResultNoMatch;
  FcPattern* found = FcFontMatch(nullptr, wanted, &result);
  FcChar8* family = nullptr;
  bool there = false;
  if (found && FcPatternGetString(found, FC_FAMILY, 0, &family) == FcResultMatch)
    there = std::string(reinterpret_cast<const char*>(family)).rfind("Inter", 0) == 0;
  if (found) FcPatternDestroy(found);
  FcPatternDestroy(wanted);
  return there;
}

double text_width_mm(const std::string& text, double size_mm, bool bold) {
  const LayoutPtr layout = make_layout(measuring_context(), text, size_mm, bold);
  int width = 0, height = 0;
  pango_layout_get_size(layout.get(), &width, &height);
  return static_cast<double>(width) / PANGO_SCALE / points_per_mm;
}

std::vector<std::string> wrap_text(const std::string& text, double size_mm, double width_mm,
                                   bool bold) {
  if (text.empty()) return {""};
  const LayoutPtr layout = make_layout(measuring_context(), text, size_mm, bold);
  pango_layout_set_wrap(layout.get(), PANGO_WRAP_WORD_CHAR);
  pango_layout_set_width(layout.get(),
                         static_cast<int>(std::max(1.0, width_mm) * points_per_mm * PANGO_SCALE));
  std::vector<std::string> lines;
  for (int i = 0; i < pango_layout_get_line_count(layout.get()); ++i) {
    const PangoLayoutLine* line = pango_layout_get_line_readonly(layout.get(), i);
    std::string part = text.substr(static_cast<std::size_t>(line->start_index),
                                   static_cast<std::size_t>(line->length));
    while (!part.empty() && (part.back() == ' ' || part.back() == '\n')) part.pop_back();
    lines.push_back(part);
  }
  return lines;
}

std::string fitted(const std::string& text, double size_mm, double width_mm, bool bold) {
  if (text_width_mm(text, size_mm, bold) <= width_mm) return text;
  std::string cut = text;
  while (!cut.empty()) {
    do cut.pop_back();
    while (!cut.empty() && (static_cast<unsigned char>(cut.back()) & 0xc0u) == 0x80u);
    if (!cut.empty() && (static_cast<unsigned char>(cut.back()) & 0xc0u) == 0xc0u) cut.pop_back();
    if (text_width_mm(cut + "…", size_mm, bold) <= width_mm) return cut + "…";
  }
  return "";
}

}  // namespace roomwright::drawing
