// All papers and tables of a pack; see papers.h.
#include "papers/papers.h"

#include "papers/sheets.h"

namespace roomwright::papers {

std::vector<Paper> all_papers(const job::Job& job, const job::Pack& pack) {
  if (job.order)
    return {quote_paper(job, pack),      cut_paper(job, pack),     flat_paper(job, pack),
            station_paper(job, pack),    product_paper(job, pack), purchase_paper(job, pack),
            costing_paper(job, pack),    stick_paper(job, pack),   fold_paper(job, pack),
            set_up_paper(job, pack),     label_paper(job, pack),   carton_paper(job, pack),
            instruction_paper(job, pack)};
  return {quote_paper(job, pack),     findings_paper(job, pack), cut_paper(job, pack),
          flat_paper(job, pack),      station_paper(job, pack),  product_paper(job, pack),
          elevation_paper(job, pack), purchase_paper(job, pack), costing_paper(job, pack),
          proof_paper(job, pack),     stick_paper(job, pack),    fold_paper(job, pack),
          set_up_paper(job, pack),    label_paper(job, pack),    packing_paper(job, pack),
          run_paper(job, pack)};
}

namespace {

std::string csv_cell(const std::string& text) {
  if (text.find_first_of(",\"\n") == std::string::npos) return text;
  std::string out = "\"";
  for (const char letter : text)
    out += letter == '"' ? std::string("\"\"") : std::string(1, letter);
  return out + "\"";
}

std::string csv_of(const std::vector<Cells>& rows) {
  std::string out;
  for (const Cells& row : rows) {
    for (std::size_t i = 0; i < row.size(); ++i) out += (i == 0 ? "" : ",") + csv_cell(row[i]);
    out += "\r\n";
  }
  return out;
}

std::string mm(Length length) {
  Length rounded = length.round_to(Length::from_nm(100'000));
  return fixed(rounded.millimetres(), 1);
}

Table cut_table(const job::Pack& pack) {
  std::vector<Cells> rows{{"section", "stick_mm", "from_rack", "stick_no", "mark", "piece_part",
                           "length_mm", "from_mm", "to_mm"}};
  for (const auto& plan : pack.build.schedule.sticks) {
    int number = 0;
    for (const auto& pattern : plan.patterns)
      for (const auto& pieces : pattern.pieces) {
        ++number;
        for (std::size_t m = 0; m < pattern.marks.size(); ++m)
          rows.push_back({plan.section, mm(pattern.stock_length), pattern.in_hand ? "yes" : "no",
                          std::to_string(number), std::to_string(m + 1), pieces[m],
                          mm(pattern.marks[m].length), mm(pattern.marks[m].from),
                          mm(pattern.marks[m].to)});
      }
  }
  return {"cuts", csv_of(rows)};
}

Table purchase_table(const job::Job& job, const job::Pack& pack) {
  std::vector<Cells> rows{
      {"group", "key", "name", "needed", "in_hand", "buy", "cost_" + job.shop.currency.code}};
  for (const auto& row : pack.price.purchase.rows)
    rows.push_back({row.group, row.key, row.name, row.needed, row.in_hand, row.buy,
                    plain_money(row.cost, job.shop.currency)});
  return {"purchase", csv_of(rows)};
}

Table quote_table(const job::Job& job, const job::Pack& pack) {
  std::vector<Cells> rows{{"option", "piece", "description", "price_" + job.shop.currency.code}};
  for (const auto& option : pack.price.quote.options)
    for (const auto& row : option.rows)
      rows.push_back(
          {option.name, row.label, row.description, plain_money(row.price, job.shop.currency)});
  return {"quote", csv_of(rows)};
}

Table costing_table(const job::Job& job, const job::Pack& pack) {
  std::vector<Cells> rows{{"group", "name", "quantity", "cost_" + job.shop.currency.code}};
  for (const auto& row : pack.price.costing.rows)
    rows.push_back({row.group, row.name, row.quantity, plain_money(row.cost, job.shop.currency)});
  return {"costing", csv_of(rows)};
}

Table parts_table(const job::Pack& pack) {
  std::vector<Cells> rows{{"piece", "part", "count", "width_or_length_mm", "height_mm", "of"}};
  const shop::Parts& parts = pack.build.parts;
  for (const auto& part : parts.sticks)
    rows.push_back(
        {part.piece, part.name, std::to_string(part.count), mm(part.length), "", part.section});
  for (const auto& part : parts.boards)
    rows.push_back({part.piece, part.name, std::to_string(part.count), mm(part.width),
                    mm(part.height), part.board});
  for (const auto& part : parts.sheets)
    rows.push_back({part.piece, part.name, std::to_string(part.count), mm(part.width),
                    mm(part.height), part.sheet});
  for (const auto& part : parts.cloths)
    rows.push_back({part.piece, part.name + " cloth", std::to_string(part.count), mm(part.across),
                    mm(part.along), part.cloth});
  return {"parts", csv_of(rows)};
}

Table fixing_table(const job::Pack& pack) {
  std::vector<Cells> rows{{"piece", "on", "left_mm", "bottom_mm", "width_mm", "height_mm",
                           "mass_kg", "points", "load_n", "safety_factor"}};
  for (const auto& piece : pack.hang.pieces)
    rows.push_back({piece.label, piece.place, mm(piece.left), mm(piece.bottom), mm(piece.width),
                    mm(piece.height), fixed(piece.mass_kg, 2), std::to_string(piece.fixing.points),
                    fixed(piece.fixing.load_n, 1),
                    piece.fixing.safety_factor ? fixed(*piece.fixing.safety_factor, 2) : ""});
  return {"fixings", csv_of(rows)};
}

Table decay_table(const job::Pack& pack) {
  std::vector<Cells> rows{{"band_hz", "today_s", "after_s", "after_low_s", "after_high_s",
                           "wanted_low_s", "wanted_high_s"}};
  for (std::size_t i = 0; i < pack.treatment.after.size(); ++i) {
    const auto& row = pack.treatment.after[i];
    rows.push_back({fixed(row.hz, 0), fixed(pack.treatment.before[i].likely_s, 3),
                    fixed(row.likely_s, 3), fixed(row.low_s, 3), fixed(row.high_s, 3),
                    row.target_low_s ? fixed(*row.target_low_s, 3) : "",
                    row.target_high_s ? fixed(*row.target_high_s, 3) : ""});
  }
  return {"decay", csv_of(rows)};
}

Table label_table(const job::Pack& pack) {
  std::vector<Cells> rows{{"piece", "product", "place", "mass_kg", "two_people", "code"}};
  for (const auto& row : pack.packing.labels)
    rows.push_back({row.piece, row.product, row.place, fixed(row.mass_kg, 2),
                    row.two_people ? "yes" : "no", row.payload});
  return {"labels", csv_of(rows)};
}

Table load_table(const job::Pack& pack) {
  std::vector<Cells> rows{{"trip", "load", "piece", "mass_kg", "x_mm", "y_mm", "z_mm", "along_mm",
                           "across_mm", "up_mm"}};
  for (std::size_t t = 0; pack.packing.van && t < pack.packing.van->trips.size(); ++t)
    for (const auto& one : pack.packing.van->trips[t].placed) {
      const auto& row = pack.packing.packages[one.package];
      rows.push_back({std::to_string(t + 1),
                      std::to_string(&one - pack.packing.van->trips[t].placed.data() + 1),
                      row.piece, fixed(row.package.mass_kg, 2), mm(one.x), mm(one.y), mm(one.z),
                      mm(one.along), mm(one.across), mm(one.up)});
    }
  return {"van", csv_of(rows)};
}

Table carton_table(const job::Job& job, const job::Pack& pack) {
  std::vector<Cells> rows{{"line", "cartons", "pieces", "width_mm", "height_mm", "depth_mm",
                           "mass_kg", "charged_kg", "rate", "each_" + job.shop.currency.code}};
  for (const auto& carton : pack.packing.cartons.cartons)
    rows.push_back({pack.packing.items[carton.item].label, std::to_string(carton.cartons),
                    std::to_string(carton.pieces), mm(carton.width), mm(carton.height),
                    mm(carton.depth), fixed(carton.mass_kg, 2), fixed(carton.charged_kg, 1),
                    carton.rate, plain_money(carton.price, job.shop.currency)});
  return {"cartons", csv_of(rows)};
}

Table run_table(const job::Pack& pack) {
  std::vector<Cells> rows{{"day", "from", "to", "people", "what", "pieces"}};
  for (const auto& task : pack.build.calendar.tasks) {
    std::string people;
    for (const int who : task.people) people += (people.empty() ? "" : "+") + std::to_string(who);
    rows.push_back({task.day, task.from, task.to, people, task.what, task.pieces});
  }
  return {"run", csv_of(rows)};
}

Table order_table(const job::Pack& pack) {
  std::vector<Cells> rows{{"group", "name", "lead_days", "needed", "order_by", "late"}};
  for (const auto& one : pack.build.calendar.materials)
    rows.push_back({one.group, one.name, std::to_string(one.lead_days), one.needed, one.order_by,
                    one.late ? "yes" : "no"});
  return {"order-by", csv_of(rows)};
}

}  // namespace

std::vector<Table> all_tables(const job::Job& job, const job::Pack& pack) {
  if (job.order)
    return {cut_table(pack),        parts_table(pack),        purchase_table(job, pack),
            quote_table(job, pack), costing_table(job, pack), label_table(pack),
            carton_table(job, pack)};
  return {cut_table(pack),        parts_table(pack),        purchase_table(job, pack),
          quote_table(job, pack), costing_table(job, pack), fixing_table(pack),
          decay_table(pack),      label_table(pack),        load_table(pack),
          run_table(pack),        order_table(pack)};
}

}  // namespace roomwright::papers
