// Private to drawing: the one way in which text is set.
#pragma once

#include <cairo.h>
#include <pango/pangocairo.h>

#include <memory>
#include <string>

namespace roomwright::drawing {

struct Unref {
  void operator()(void* object) const { g_object_unref(object); }
};
using LayoutPtr = std::unique_ptr<PangoLayout, Unref>;

inline constexpr double points_per_mm = 72 / 25.4;

/// A layout in points: Inter, figures of one width, no hinting.
LayoutPtr make_layout(cairo_t* context, const std::string& text, double size_mm, bool bold);
/// A context to measure with.
cairo_t* measuring_context();
/// Whether the font itself is there, and not a stand-in.
bool font_is_there();

}  // namespace roomwright::drawing
