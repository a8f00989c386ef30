// The most likely logarithms by damped Newton steps with Student weights; see mixed.h.
#include "shop/learning/mixed.h"

#define EIGEN_MPL2_ONLY
#include <Eigen/Dense>
#include <algorithm>
#include <cmath>

namespace roomwright::shop {

namespace {

constexpr double freedom = 4;                 // of the Student distribution, as in learning.h
constexpr double common_share = 0.7;          // of the prior's variance; common practice, no source
constexpr double tenth = 1.2815515655446004;  // of a normal: its 90th percentile
constexpr int most_steps = 200;

struct Model {
  const std::vector<MixedSession>& sessions;
  Eigen::MatrixXd precision;  ///< of the prior
  const LearningOptions& options;

  double offset(const MixedSession& session, const Eigen::VectorXd& at,
                Eigen::VectorXd& slope) const {
    double sum = 0;
    slope.setZero(at.size());
    for (Eigen::Index f = 0; f < at.size(); ++f)
      sum += slope[f] = session.standard_min[std::size_t(f)] * std::exp(at[f]);
    slope /= sum;
    return std::log(session.minutes / sum);
  }
  /// Twice the negative logarithm of the posterior, up to a constant.
  double height(const Eigen::VectorXd& at, double log_scatter) const {
    Eigen::VectorXd slope;
    const double off = (log_scatter - std::log(options.day_scatter)) / options.scatter_spread;
    double out = at.dot(precision * at) + off * off;
    for (const MixedSession& one : sessions) {
      const double z = offset(one, at, slope) / std::exp(log_scatter);
      out += one.weight * (2 * log_scatter + (freedom + 1) * std::log1p(z * z / freedom));
    }
    return out;
  }
  /// Half the slope of `height`, and a curvature that is positive everywhere. informing: with what
  /// a Student sample tells of its middle, (f + 1) / (f + 3) of a normal's.
  void around(const Eigen::VectorXd& at, double log_scatter, bool informing, Eigen::VectorXd& slope,
              Eigen::MatrixXd& curvature) const {
    slope = precision * at;
    curvature = precision;
    const double scatter = std::exp(log_scatter);
    Eigen::VectorXd one_slope;
    for (const MixedSession& one : sessions) {
      const double off = offset(one, at, one_slope), z = off / scatter;
      const double student = (freedom + 1) / (freedom + z * z);
      const double pull = one.weight * student / (scatter * scatter);
      slope -= pull * off * one_slope;
      curvature += (informing ? (freedom + 1) / (freedom + 3) : 1.0) * pull * one_slope *
                   one_slope.transpose();
    }
  }
};

/// The likeliest scatter at these logarithms, on a fixed grid over three deviations each way.
double likeliest_scatter(const Model& model, const Eigen::VectorXd& at) {
  constexpr int cells = 60;
  double best = 0, least = 1e300;
  for (int i = 0; i <= cells; ++i) {
    const double log_scatter =
        std::log(model.options.day_scatter) + (6.0 * i / cells - 3) * model.options.scatter_spread;
    const double height = model.height(at, log_scatter);
    if (height < least) least = height, best = log_scatter;
  }
  return best;
}

}  // namespace

std::vector<LogRatio> take_apart(const std::vector<MixedSession>& sessions, std::size_t features,
                                 const LearningOptions& options) {
  const auto n = static_cast<Eigen::Index>(features);
  const double variance = options.prior_spread * options.prior_spread;
  Eigen::MatrixXd prior = Eigen::MatrixXd::Constant(n, n, common_share * variance);
  prior.diagonal().array() += (1 - common_share) * variance;
  const Model model{sessions, prior.inverse(), options};
  Eigen::VectorXd at = Eigen::VectorXd::Zero(n), slope;
  Eigen::MatrixXd curvature;
  double log_scatter = std::log(options.day_scatter);
  for (int step = 0; step < most_steps; ++step) {
    log_scatter = likeliest_scatter(model, at);
    model.around(at, log_scatter, false, slope, curvature);
    const Eigen::VectorXd way = -curvature.ldlt().solve(slope);
    const double here = model.height(at, log_scatter);
    double share = 1;
    while (share > 1e-6 && model.height(at + share * way, log_scatter) > here) share /= 2;
    at += share * way;
    if (share * way.cwiseAbs().maxCoeff() < 1e-9) break;
  }
  model.around(at, log_scatter, true, slope, curvature);
  const Eigen::MatrixXd spread = curvature.inverse();
  std::vector<LogRatio> out;
  for (Eigen::Index f = 0; f < n; ++f) {
    const double reach = tenth * std::sqrt(spread(f, f));
    out.push_back({at[f], at[f] - reach, at[f] + reach});
  }
  return out;
}

}  // namespace roomwright::shop
