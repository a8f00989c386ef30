// QR codes as drawn: the modules under the shapes are those of the library, and a reader that is
// not ours reads them back from the printed page.
#include <gtest/gtest.h>

#include <unistd.h>
#include <cstdlib>
#include <filesystem>
#include <qrcodegen/qrcodegen.hpp>

#include "drawing/drawing.h"

namespace roomwright::drawing {
namespace {

namespace fs = std::filesystem;

bool dark_at(const Sheet& sheet, Vec2 at) {
  for (const Shape& shape : sheet.shapes)
    if (const auto* path = std::get_if<Path>(&shape))
      if (contains(path->points, at)) return true;
  return false;
}

TEST(QrCode, modules_under_the_shapes_are_those_of_the_code) {
  for (const std::string text : {"T1", "RW1|D-017|B|T1|tall corner trap|corner 0|14.2"}) {
    Sheet sheet;
    const double module_mm = qr_code(sheet, text, {10, 20}, 30).value();
    const auto code = qrcodegen::QrCode::encodeText(text.c_str(), qrcodegen::QrCode::Ecc::MEDIUM);
    EXPECT_NEAR(module_mm * (code.getSize() + 8), 30, 1e-9);
    for (int y = -4; y < code.getSize() + 4; ++y)
      for (int x = -4; x < code.getSize() + 4; ++x)
        EXPECT_EQ(dark_at(sheet, {10 + (x + 4.5) * module_mm, 20 + (y + 4.5) * module_mm}),
                  code.getModule(x, y))
            << x << " " << y;
  }
}

TEST(QrCode, a_text_that_is_too_long_is_told) {
  Sheet sheet;
  EXPECT_FALSE(qr_code(sheet, std::string(5000, 'x'), {0, 0}, 30).ok());
}

TEST(QrCode, is_read_back_from_the_printed_page) {
  if (std::system("command -v zbarimg >/dev/null && command -v pdftoppm >/dev/null") != 0)
    GTEST_SKIP() << "needs zbar-tools and poppler-utils";
  Sheet sheet;
  const std::string text = "RW1|D-017|B|T1|tall corner trap 50 × 70|corner 0|14.2";
  ASSERT_TRUE(qr_code(sheet, text, {20, 20}, 24).ok());
  const fs::path folder =
      fs::temp_directory_path() / ("roomwright_qr_" + std::to_string(::getpid()));
  fs::create_directories(folder);
  const std::string base = (folder / "page").string();
  ASSERT_TRUE(write_file(base + ".pdf", pdf_bytes({sheet}, {"code", "2026-11-20"}).value()).ok());
  ASSERT_EQ(std::system(("pdftoppm -r 150 -png -singlefile " + base + ".pdf " + base).c_str()), 0);
  ASSERT_EQ(
      std::system(("zbarimg -q --raw " + base + ".png >" + base + ".txt 2>/dev/null").c_str()), 0);
  EXPECT_EQ(read_file(base + ".txt").value(), text + "\n");
  fs::remove_all(folder);
}

}  // namespace
}  // namespace roomwright::drawing
