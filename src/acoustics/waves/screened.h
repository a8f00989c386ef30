// Private to acoustics/waves: the rigid room's Green's function at an imaginary wave number, which
// fades so fast that only near images matter, and what it adds between points and patches to the
// modes that are counted one by one. With λ of the modes,
//   G(k) = Σ_{p=1…4} (k² + κ²)^(p−1) G_p + (k² + κ²)⁴ Σ φφ / ((λ − k²)(λ + κ²)⁴),
//   G_p = Σ φφ / (λ + κ²)^p: G_1 of e^(−κr)/(4πr), G_(p+1) = −(1/p) ∂G_p/∂(κ²).
// The last sum converges as λ^(−5): few modes are enough. Images are exact at edges of right
// angles; at others what an edge bends is left out, a share that fades with the distance d from it
// as e^(−2κd).
#pragma once

#include <Eigen/Dense>

#include <array>
#include <vector>

#include "acoustics/waves/basis.h"

namespace roomwright::acoustics {

inline constexpr int screened_terms = 4;
using Screened = std::array<double, screened_terms>;

/// G_1 to G_4 of free space at a distance above 0.
Screened screened_kernel(double kappa_1_m, double distance_m);

/// Of the room with rigid walls, between two points that are not the same.
Screened screened_field(const Prism& prism, double kappa_1_m, const PrismPoint& a,
                        const PrismPoint& b);

/// Square distances of a point's images across from points of an edge; only those in reach.
std::vector<std::vector<double>> section_image_squares(const Prism& prism, double kappa_1_m,
                                                       Vec2 point, int edge,
                                                       const std::vector<double>& along);

/// Legendre functions on a rectangle, first order fastest.
struct PrismTile {
  PrismArea area;
  int order[2] = {1, 1};
  int count() const { return order[0] * order[1]; }
};
/// ∫ G_p f dS of every function of a tile: function by term.
Eigen::MatrixXd screened_tile_field(const Prism& prism, double kappa_1_m, const PrismTile& tile,
                                    const PrismPoint& point);
/// ∫∫ f G_p g dS dS: one matrix a term, functions of one by functions of the other; and last, for
/// tiles on one surface, ∫∫∫ f G_1 G_1 g dS dS dS, the middle one over that whole surface (else 0).
std::array<Eigen::MatrixXd, screened_terms + 1> screened_tiles(const Prism& prism, double kappa_1_m,
                                                               const PrismTile& one,
                                                               const PrismTile& two);

/// The same of a tile with itself in two steps: what no place changes, and with its images.
std::array<Eigen::MatrixXd, screened_terms + 1> screened_alone(double kappa_1_m,
                                                               const PrismTile& tile);
std::array<Eigen::MatrixXd, screened_terms + 1> screened_with_images(
    const Prism& prism, double kappa_1_m, const PrismTile& tile,
    std::array<Eigen::MatrixXd, screened_terms + 1> alone);

}  // namespace roomwright::acoustics
