// Private to acoustics/absorbers: the inner loop. One stack at one frequency over a list of angles,
// several angles at a time in the processor's vector unit. The same text (kernel_lanes.h) is
// compiled once for any x86-64 or other machine and once for AVX2 with fused multiply-add; which of
// them runs is chosen when the program runs. Both give the same figures but for rounding (1e-12).
#pragma once

namespace roomwright::acoustics {

/// A layer at one frequency, relative to air's ρc and k. With t = k0 · thickness / π the layer
/// turns by π y, y² = (N² − sin² θ) t² for its wave number N.
struct KernelStep {
  enum Kind { thin, air, wave } kind;
  double square_re, square_im;    ///< wave: N² t²
  double product_re, product_im;  ///< wave: impedance · N · t; thin: its series impedance
  double inverse_re, inverse_im;  ///< wave: 1 / (impedance · N · t)
  double turn;                    ///< wave and air: t; thin: 0
};

/// Pressure and velocity in front of a stack before a rigid wall are entire functions of
/// x = sin² θ. Where the stack turns little between the least and the greatest x, they are worked
/// out at a few nodes only, and a polynomial takes them to every angle.
struct KernelNodes {
  int count;        ///< through which the polynomial goes
  int worked_out;   ///< with those that fill the lists up to a multiple of kernel_step
  double reach;     ///< good for stacks whose turns t sum up to this
  double left_out;  ///< what the polynomial then leaves out, relative to the growth of the field
  double middle;    ///< of x
  double stray;     ///< √ of how far from the middle the growth is taken
  const double *sine2, *cosine, *secant;
  /// By blocks of kernel_block angles, then nodes, then the angles of the block (0 beyond the
  /// last): how much of the node's value belongs to the angle.
  const double* share;
};

/// The angles; every list has `count` entries, a multiple of kernel_step, filled up with weight 0.
inline constexpr int kernel_step = 4, kernel_block = 8;
struct KernelAngles {
  int count;
  const double *sine2, *cosine, *secant;      ///< at which the layers are passed
  const double *radiation_re, *radiation_im;  ///< of the face, over ρc: sec θ where infinite
  const double* gain;                         ///< 4 · weight · sec θ
  const double* weight;
  const KernelNodes* nodes = nullptr;  ///< by growing count; none: every angle is worked out
  int node_sets = 0;
};

inline constexpr int kernel_layers = 12;  ///< the most that a call may have
struct KernelCall {
  const KernelStep* steps;  ///< room side first
  int count;
  bool open;  ///< free air behind; else rigid
  KernelAngles angles;
};

/// Σ weight · α
using Kernel = double (*)(const KernelCall& call);
double kernel_baseline(const KernelCall& call);
#ifdef ROOMWRIGHT_KERNEL_AVX2
double kernel_avx2(const KernelCall& call);
#endif

/// The fastest that this processor can run.
Kernel fastest_kernel();

}  // namespace roomwright::acoustics
