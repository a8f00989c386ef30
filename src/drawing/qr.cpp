// QR codes as filled shapes, by the library qrcodegen; see drawing.h. Dark modules are drawn as
// runs along the rows and, where modules touch, along the columns too, so that no light hairline
// stands between two that touch.
#include <qrcodegen/qrcodegen.hpp>

#include <algorithm>
#include <exception>

#include "drawing/drawing.h"

namespace roomwright::drawing {

namespace {

void add_run(Sheet& sheet, Vec2 from, double along, double across, double module_mm, bool column) {
  const Vec2 to = column ? Vec2{from.x + module_mm, from.y + across * module_mm}
                         : Vec2{from.x + along * module_mm, from.y + module_mm};
  sheet.shapes.push_back(filled_rectangle(from, to, Ink::ink, {Ink::ink, 0, Dash::none}));
}

}  // namespace

Result<double> qr_code(Sheet& sheet, const std::string& text, Vec2 from, double size_mm) {
  try {
    const auto code = qrcodegen::QrCode::encodeText(text.c_str(), qrcodegen::QrCode::Ecc::MEDIUM);
    const int size = code.getSize();
    const double module_mm = size_mm / (size + 2 * qr_quiet_modules);
    const auto corner = [&](int x, int y) {
      return Vec2{from.x + (x + qr_quiet_modules) * module_mm,
                  from.y + (y + qr_quiet_modules) * module_mm};
    };
    for (const bool column : {false, true})
      for (int a = 0; a < size; ++a)
        for (int b = 0; b < size;) {
          const auto dark = [&](int at) {
            return column ? code.getModule(a, at) : code.getModule(at, a);
          };
          int end = b;
          while (end < size && dark(end)) ++end;
          if (end > b + (column ? 1 : 0))
            add_run(sheet, column ? corner(a, b) : corner(b, a), end - b, end - b, module_mm,
                    column);
          b = std::max(end, b + 1);
        }
    return module_mm;
  } catch (const std::exception& fault) {
    return Complaint{"", std::string("no QR code holds this text: ") + fault.what(),
                     std::to_string(text.size()) + " bytes", "make it shorter", 0};
  }
}

}  // namespace roomwright::drawing
