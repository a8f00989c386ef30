// Private to acoustics/absorbers: the nodes from which the inner loop may work; see kernel.h, which
// includes nothing of the standard library, as it is compiled for newer processors too.
#pragma once

#include <vector>

#include "acoustics/absorbers/kernel.h"

namespace roomwright::acoustics {

/// Nodes for a list of angles, worth their making (some 150 µs) for a thousand calls or more.
class KernelTable {
 public:
  explicit KernelTable(const std::vector<double>& sine2);
  KernelTable(const KernelTable&) = delete;
  KernelTable& operator=(const KernelTable&) = delete;
  const std::vector<KernelNodes>& sets() const { return sets_; }

 private:
  void add(int count, double middle, double half, const std::vector<double>& sine2);
  std::vector<KernelNodes> sets_;
  std::vector<std::vector<double>> lists_;  ///< what the sets point into
};

}  // namespace roomwright::acoustics
