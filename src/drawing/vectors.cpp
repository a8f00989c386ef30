// Sheets as SVG and DXF, written by hand; see drawing.h.
#include <cmath>

#include "drawing/drawing.h"
#include "drawing/inks.h"

namespace roomwright::drawing {

namespace {

std::string number(double value) {
  std::string text = fixed(value, 3);
  while (text.back() == '0') text.pop_back();
  if (text.back() == '.') text.pop_back();
  return text == "-0" ? "0" : text;
}

std::string escaped(const std::string& text) {
  std::string out;
  for (const char letter : text) switch (letter) {
      case '&':
        out += "&amp;";
        break;
      case '<':
        out += "&lt;";
        break;
      case '>':
        out += "&gt;";
        break;
      case '"':
        out += "&quot;";
        break;
      default:
        out += letter;
    }
  return out;
}

std::string attribute(const char* name, const std::string& value) {
  return std::string(" ") + name + "=\"" + value + "\"";
}

std::string stroke_of(const Pen& pen) {
  if (pen.width_mm <= 0) return attribute("stroke", "none");
  std::string out =
      attribute("stroke", hex_of(pen.ink)) + attribute("stroke-width", number(pen.width_mm));
  if (pen.dash != Dash::none)
    out += attribute("stroke-dasharray", pen.dash == Dash::dotted ? "0.4 0.9" : "2 1.2");
  return out;
}

struct SvgWriter {
  std::string& out;

  void operator()(const Line& line) const {
    out += "<line" + attribute("x1", number(line.from.x)) + attribute("y1", number(line.from.y)) +
           attribute("x2", number(line.to.x)) + attribute("y2", number(line.to.y)) +
           stroke_of(line.pen) + "/>\n";
  }
  void operator()(const Path& path) const {
    std::string points;
    for (const Vec2& p : path.points)
      points += (points.empty() ? "" : " ") + number(p.x) + "," + number(p.y);
    const std::string fill = path.filled    ? hex_of(path.fill)
                             : path.hatched ? "url(#hatch)"
                                            : "none";
    out += std::string("<") + (path.closed ? "polygon" : "polyline") + attribute("points", points) +
           attribute("fill", fill) + stroke_of(path.pen) + "/>\n";
  }
  void operator()(const Circle& circle) const {
    out += "<circle" + attribute("cx", number(circle.centre.x)) +
           attribute("cy", number(circle.centre.y)) + attribute("r", number(circle.radius_mm)) +
           attribute("fill", circle.filled ? hex_of(circle.pen.ink) : "none") +
           stroke_of(circle.pen) + "/>\n";
  }
  void operator()(const Text& text) const {
    const char* anchor = text.anchor == Anchor::left     ? "start"
                         : text.anchor == Anchor::centre ? "middle"
                                                         : "end";
    out += "<text" + attribute("x", number(text.at.x)) + attribute("y", number(text.at.y)) +
           attribute("font-size", number(text.size_mm)) + attribute("text-anchor", anchor) +
           attribute("fill", hex_of(text.ink));
    if (text.bold) out += attribute("font-weight", "600");
    if (text.angle_deg != 0)
      out += attribute("transform", "rotate(" + number(-text.angle_deg) + " " + number(text.at.x) +
                                        " " + number(text.at.y) + ")");
    out += ">" + escaped(text.text) + "</text>\n";
  }
};

/// R12 knows no UTF-8: what it cannot write becomes its nearest plain sign.
std::string plain_ascii(const std::string& text) {
  static const std::pair<const char*, const char*> known[] = {
      {"×", "x"},   {"–", "-"},  {"−", "-"},  {"²", "2"},  {"³", "3"},
      {"°", "deg"}, {"“", "\""}, {"”", "\""}, {"…", "..."}};
  std::string out = text;
  for (const auto& [from, to] : known)
    for (std::size_t at = out.find(from); at != std::string::npos; at = out.find(from, at))
      out.replace(at, std::string(from).size(), to);
  for (char& letter : out)
    if (static_cast<unsigned char>(letter) > 126 || static_cast<unsigned char>(letter) < 32)
      letter = '?';
  return out;
}

struct DxfWriter {
  std::string& out;
  double scale, height;

  void pair(int code, const std::string& value) const {
    out += std::to_string(code) + "\n" + value + "\n";
  }
  void point(int code, Vec2 p) const {
    pair(code, number(p.x * scale));
    pair(code + 10, number((height - p.y) * scale));
  }
  void entity(const char* kind, Ink ink) const {
    pair(0, kind);
    pair(8, ink_name(ink));
  }
  void operator()(const Line& line) const {
    entity("LINE", line.pen.ink);
    point(10, line.from);
    point(11, line.to);
  }
  void operator()(const Path& path) const {
    if (path.pen.width_mm <= 0) return;
    entity("POLYLINE", path.pen.ink);
    pair(66, "1");
    pair(70, path.closed ? "1" : "0");
    for (const Vec2& p : path.points) {
      entity("VERTEX", path.pen.ink);
      point(10, p);
    }
    pair(0, "SEQEND");
  }
  void operator()(const Circle& circle) const {
    entity("CIRCLE", circle.pen.ink);
    point(10, circle.centre);
    pair(40, number(circle.radius_mm * scale));
  }
  void operator()(const Text& text) const {
    entity("TEXT", text.ink);
    point(10, text.at);
    pair(40, number(text.size_mm * 0.72 * scale));
    pair(1, plain_ascii(text.text));
    pair(50, number(text.angle_deg));
    if (text.anchor == Anchor::left) return;
    pair(72, text.anchor == Anchor::centre ? "1" : "2");
    point(11, text.at);
  }
};

}  // namespace

std::string svg_text(const Sheet& sheet) {
  const std::string w = number(sheet.width_mm), h = number(sheet.height_mm);
  std::string out =
      "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\"" +
      attribute("width", w + "mm") + attribute("height", h + "mm") +
      attribute("viewBox", "0 0 " + w + " " + h) + attribute("font-family", "Inter, sans-serif") +
      attribute("stroke-linecap", "round") + ">\n" +
      "<defs><pattern id=\"hatch\" width=\"1.4\" height=\"1.4\" patternUnits=\"userSpaceOnUse\" "
      "patternTransform=\"rotate(45)\"><line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"1.4\" "
      "stroke=\"#6B7177\" "
      "stroke-width=\"0.12\"/></pattern></defs>\n";
  for (const Shape& shape : sheet.shapes) std::visit(SvgWriter{out}, shape);
  return out + "</svg>\n";
}

std::string dxf_text(const Sheet& sheet, double scale) {
  std::string out =
      "0\nSECTION\n2\nHEADER\n9\n$ACADVER\n1\nAC1009\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n";
  for (const Shape& shape : sheet.shapes) std::visit(DxfWriter{out, scale, sheet.height_mm}, shape);
  return out + "0\nENDSEC\n0\nEOF\n";
}

}  // namespace roomwright::drawing
