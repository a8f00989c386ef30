// Private to acoustics/rays: decay times and energy ratios from an echogram in bins, with paths of
// exactly known time beside it.
#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

namespace roomwright::acoustics {

struct EnergyPath {
  double time_s = 0, energy = 0;
};

struct Echogram {
  double bin_s = 1e-3;
  double arrival_s = 0;                 ///< of the first sound
  std::vector<double> bins;             ///< without the paths
  std::vector<EnergyPath> paths;        ///< beyond the last bin they are left out
  std::string longer = "trace longer";  ///< what gives more time, for the reasons
};

enum DecayFigure { edt, t20, t30, c50, c80, d50, centre_time, strength, decay_figures };

struct FigureValue {
  std::optional<double> value;
  std::string reason;
  bool longer = false;  ///< there is none because the sound has not fallen far enough
};

/// EDT, T20, T30 in s, C50 and C80 in dB, D50, Ts in ms, G in dB.
std::array<FigureValue, decay_figures> decay_figures_of(const Echogram& echogram);

/// The paths put into the bins.
std::vector<double> whole_echogram(const Echogram& echogram);

}  // namespace roomwright::acoustics
