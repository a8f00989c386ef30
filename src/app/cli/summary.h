// Private to app/cli: each stage as text that a person reads in a terminal: the sentences first,
// then the table that proves them.
#pragma once

#include <string>
#include <string_view>

#include "app/api/api.h"
#include "app/cli/terminal.h"
#include "job/document/document.h"
#include "job/stages/stages.h"

namespace roomwright::app {

/// `stage` is one of stage_names().
std::string stage_summary(const job::Job& job, const job::Pack& pack, std::string_view stage,
                          const Style& style);

/// An order at once: what is asked, line by line, and its cartons.
std::string order_summary(const job::Job& job, const job::Pack& pack, const Style& style);

/// What to fill the frames with: the best set, the cheapest, substitutes.
std::string fill_summary(const job::Job& job, const job::FillReport& report, const Style& style);

/// Where loudspeakers and seat get the evenest bass, with the lines for the job file.
std::string places_summary(const job::Job& job, const job::PlacesReport& report,
                           const Style& style);

/// Where sound presses: the surfaces ranked, and the worst place of each.
std::string pressure_summary(const job::Job& job, const job::PressureReport& report,
                             const Style& style);

/// Tuned traps, best first: sentence and block for the job file of the first, a table of all.
std::string tune_summary(const job::Job& job, const design::TrapReport& report, const Style& style);

/// What a builder acts on after `pack`: the worst findings, what is to be built, bought and asked.
std::string pack_summary(const job::Job& job, const job::Pack& pack, const Style& style);

/// Decay and clarity at each seat by rays, with what they may be off by.
std::string seat_rays_summary(const job::RaysAtSeats& rays, const Style& style);

/// What `listen` wrote into the folder, and what it is worth.
std::string listen_summary(const ListenReport& report, const std::string& folder,
                           const Style& style);

/// One to four people, and what must be ordered by when.
std::string run_tables(const job::BuildSheet& build, const Style& style);

/// Several jobs in one run, and who pays what.
std::string together_summary(const job::TogetherSheet& sheet, const Style& style);

/// The shop's times against the bench's log.
std::string times_summary(const TimesReport& report, const Style& style);

}  // namespace roomwright::app
