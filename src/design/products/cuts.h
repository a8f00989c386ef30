// Private to design/products: how far a screw lies from what the router takes away, from the
// staples, from another screw: exact distances between a screw's body and prisms whose section is
// one of a few shapes. Metres; z runs back from the face.
//
// A screw is a capsule (its thread, rounded at both ends) with a cone for a countersunk head of
// 90°, flush with the wood. A prism is a plane region along a line, ended square. The distance of a
// point to a prism is that to the region, and what it lies beyond the ends, at right angles; so the
// distance of two bodies is the least over a segment, and over the cone's rim, of an exact
// function.
#pragma once

#include "design/products/products.h"

namespace roomwright::design {

/// The section of a cut or zone: u inward from the outer side, v back from the face.
struct Region {
  enum class Form { wedge, outside_arc, inside_arc, box } form = Form::wedge;
  double u_m = 0, v_m = 0;    ///< reach of wedge and arcs (equal for arcs); far corner of the box
  double u0_m = 0, v0_m = 0;  ///< near corner of the box
};

/// 0 inside.
double distance_m(const Region& region, Vec2 point);
double distance_m(const Region& region, Vec2 from, Vec2 to);

/// What an edge's bit takes away in all its passes: the last pass holds the others.
Region region_of(const EdgeSpec& edge);

struct Prism {
  Region region;
  Vec3 from, along, inward;  ///< unit vectors; z is the third
  double length_m = 0;
};
Prism prism_of(const OuterSide& side, const Region& region);

/// Of a screw's surface to the prism; 0 where they meet.
double gap_m(const Screw& screw, const Prism& prism);
/// Of two screws' surfaces; below 0 where they meet.
double gap_m(const Screw& a, const Screw& b);

/// The same, but where the two meet: less what the screw would have to move back (along z) until
/// they only touch.
double clearance_m(const Screw& screw, const Prism& prism);
/// The least step along z (sense 1: back, -1: toward the face) that leaves `wanted_m` between them;
/// 0 where they are so far apart, 4 m where no step would do.
double step_m(const Screw& screw, const Prism& prism, double wanted_m, int sense);

}  // namespace roomwright::design
