// Private to papers: the makers of each paper.
#pragma once

#include "papers/flow.h"
#include "papers/papers.h"

namespace roomwright::papers {

Paper quote_paper(const job::Job& job, const job::Pack& pack);
Paper findings_paper(const job::Job& job, const job::Pack& pack);
Paper cut_paper(const job::Job& job, const job::Pack& pack);
Paper flat_paper(const job::Job& job, const job::Pack& pack);
Paper station_paper(const job::Job& job, const job::Pack& pack);
Paper product_paper(const job::Job& job, const job::Pack& pack);
Paper elevation_paper(const job::Job& job, const job::Pack& pack);
Paper purchase_paper(const job::Job& job, const job::Pack& pack);
Paper costing_paper(const job::Job& job, const job::Pack& pack);
Paper stick_paper(const job::Job& job, const job::Pack& pack);
Paper fold_paper(const job::Job& job, const job::Pack& pack);
Paper set_up_paper(const job::Job& job, const job::Pack& pack);
Paper label_paper(const job::Job& job, const job::Pack& pack);
Paper packing_paper(const job::Job& job, const job::Pack& pack);
Paper carton_paper(const job::Job& job, const job::Pack& pack);
Paper instruction_paper(const job::Job& job, const job::Pack& pack);
Paper run_paper(const job::Job& job, const job::Pack& pack);

/// The bass at the seat: what arrives, what makes its peaks and dips, where a trap bites.
void bass_section(Flow& flow, const job::Job& job, const job::Pack& pack);

/// How long the resonances ring, today and with the treatment.
void ringing_section(Flow& flow, const job::Pack& pack);
/// Early decay and clarity at each seat, today and with the treatment.
void seat_section(Flow& flow, const job::Pack& pack);
/// Section at a frame's upper edge, its face to the left: the routed profile with the cloth over
/// it, layers, screws, what holds it; of a screen its side view besides.
void edge_section(drawing::Sheet& sheet, const job::Job& job, const design::Product& product,
                  Vec2 from, double scale);
std::string edge_sentence(const design::Product& product, const Units& units);

std::string units_name(const job::Job& job);
/// `1:20`
std::string scale_name(double scale);
/// Words of a drawing, centred on a place of the sheet.
void label_at(drawing::Sheet& sheet, Vec2 at, const std::string& text, double size, bool bold,
              drawing::Ink ink = drawing::Ink::ink);
/// `63 Hz`, `1 kHz`
std::string band_text(double hz);
std::vector<Cells> decay_cells(const std::vector<job::DecayRow>& rows);
std::vector<Column> decay_columns();
/// Before, after and corridor in one plot.
drawing::Plot decay_plot(const job::Pack& pack);

}  // namespace roomwright::papers
