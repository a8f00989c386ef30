// What a customer needs who hangs the pieces alone: tools, steps, what walls bear, cautions, care,
// fire. It knows no wall of theirs: every fixing defers to whoever does.
#include <algorithm>
#include <cmath>
#include <set>

#include "job/stages/pieces.h"
#include "job/stages/stages.h"

namespace roomwright::job {

namespace {

const design::Product* heaviest_of(const Job& job, const Treatment& treatment) {
  const design::Product* out = nullptr;
  for (const Piece& piece : job.pieces) {
    const design::Product& product = product_of(job, treatment, piece);
    if (!out || product.mass_kg() > out->mass_kg()) out = &product;
  }
  return out;
}

void find_load(const Job& job, const design::Product& heaviest, Instructions& out) {
  const shop::Rules& rules = job.shop.rules;
  const bool cloud = heaviest.spec.kind == design::Kind::ceiling_cloud;
  shop::FixingRequest request;
  request.mass_kg = heaviest.mass_kg();
  request.points = cloud ? rules.hangers_per_cloud : rules.hangers_per_panel;
  request.overhead = cloud;
  request.asked_factor = rules.hanging_factor;
  out.heaviest_kg = request.mass_kg;
  out.points = request.points;
  out.asked_factor = request.asked_factor;
  if (const auto report = shop::fixing(request)) out.load_n = report->load_n;
}

void add_walls(const Job& job, Instructions& out) {
  const auto screw = job.shop.hardware.find(job.shop.rules.wall_screw);
  const std::string name = screw == job.shop.hardware.end()
                               ? "a wood screw"
                               : "the screw in the carton (" + screw->second.name + ")";
  out.walls = {{"Board on timber studs", "Find the stud, drill a pilot hole, drive " + name +
                                             " into the middle of it. Board alone holds nothing."},
               {"Board, no stud there",
                "Move the piece to a stud, or fix a batten across two studs and hang from it."},
               {"Brick, block, concrete",
                "A plug and screw that its maker rates for this masonry and for the load below; "
                "the screw in "
                "the carton is for wood."},
               {"Lath and plaster, tiles, insulated or unknown walls",
                "Ask someone who knows the building before you drill."}};
}

bool has_corner_pieces(const Job& job) {
  return std::any_of(job.pieces.begin(), job.pieces.end(), [&](const Piece& piece) {
    const design::Kind kind = job.product(piece.product)->kind;
    return kind == design::Kind::straddling_trap || kind == design::Kind::solid_trap;
  });
}

std::vector<std::string> steps_for(const Job& job) {
  const std::string count = std::to_string(job.shop.rules.hangers_per_panel);
  std::vector<std::string> out = {
      "Open the cartons lying flat, cut the tape only: a blade goes through cloth. Check each "
      "piece against the list above.",
      "Mark a level line where the upper edges shall be. Look for cables and pipes with a "
      "detector; keep clear of the zones above, below and beside sockets and switches.",
      "Each piece hangs from " + count +
          " plates near its upper edge. Measure between them on the piece itself and mark the "
          "same on the wall.",
      "Drill, fix as the table below says, and pull hard on each fixing by hand before "
      "anything hangs on it.",
      "Lift the piece on, two people where the label says so. Move it up and down: every plate "
      "must hold. Level it."};
  if (has_corner_pieces(job))
    out.push_back(
        "Corner pieces stand across or in the corner, the lower one first: fix each near its upper "
        "edge to both walls so that it cannot tip, whoever leans on it.");
  return out;
}

void add_fire(const Job& job, const Treatment& treatment, Instructions& out) {
  std::set<std::string> told;
  const auto tell = [&](const std::string& name, const std::string& note) {
    if (!told.insert(name).second) return;
    out.fire.push_back(name + ": " +
                       (note.empty() ? "no fire certificate is known; do not hang it where one is "
                                       "asked for."
                                     : note + "."));
  };
  for (const Piece& piece : job.pieces) {
    const design::ProductSpec& spec = product_of(job, treatment, piece).spec;
    for (const std::string& key : {spec.cloth, spec.back_cloth})
      if (const auto at = job.shop.cloths.find(key); at != job.shop.cloths.end())
        tell(at->second.name, at->second.fire_note);
    if (const auto at = job.shop.boards.find(spec.board); at != job.shop.boards.end())
      tell(at->second.name, at->second.fire_note);
  }
}

}  // namespace

Instructions instructions(const Job& job, const Treatment& treatment) {
  Instructions out;
  const design::Product* heaviest = heaviest_of(job, treatment);
  if (!heaviest) return out;
  find_load(job, *heaviest, out);
  out.tools = {"tape, pencil, level",
               "detector for cables, pipes and studs",
               "drill, with the bits that your wall asks for",
               "screwdriver or driver bit for the screws in the carton",
               "step ladder on firm ground, a second person to hold it",
               "safety glasses, gloves, dust mask"};
  out.steps = steps_for(job);
  add_walls(job, out);
  out.cautions = {
      "Weight: two people lift what is marked so. Nothing hangs above a bed, a cot or a way out "
      "unless someone licensed has fixed it.",
      "Overhead: do not hang these pieces from a ceiling yourself. Overhead fixings go into the "
      "structure with a second, independent holding; local code and a licensed installer decide.",
      "Electrics: cables lie where you do not expect them. If you hit one, touch nothing, switch "
      "off at the board, call a licensed electrician. Keep heaters and lamps away from the cloth.",
      "Dust: drilling makes dust, old paint and plaster may hold lead or asbestos; have it tested "
      "where the building is old. The wool stays behind its cloth: do not open a piece; if the "
      "cloth tears, wear gloves and a mask."};
  out.care = {"Brush or vacuum the cloth gently, with a soft head. No water, no cleaner.",
              "Look at the fixings once a year and after any knock.",
              "A piece that was wet is taken down and replaced: damp wool grows mould."};
  add_fire(job, treatment, out);
  out.fire.push_back(
      "Whether a room may have such pieces, and how near to heaters, detectors, sprinklers and "
      "ways "
      "out, local fire code decides: ask before you hang them in a place of work or of assembly.");
  return out;
}

}  // namespace roomwright::job
