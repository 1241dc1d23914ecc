// Package difference measures how far apart two colours look.
//
// # Which metric
//
//   - [CIEDE2000] is the metric that everything else in this module judges by.
//     [CIEDE2000Row] takes slices, [CIEDE2000Weighted] other weights.
//   - [AB] and [UV] are the plain distances in CIELAB and CIELUV that older
//     figures use; [HyAB] is for very large differences.
//   - [CIE94] and [CMC] are asked for by standards of print and textiles. They
//     judge a sample by a reference: the order of the two matters.
//   - [DIN99], [DIN99b], [DIN99c], [DIN99d] and [DIN99o] are distances in a
//     CIELAB that is bent until it is uniform.
//   - [CAMUCS] is the distance in CAM02-UCS or CAM16-UCS, and knows the viewing
//     situation. Its relatives for large and small differences are chosen by
//     [appearance.LCD] and [appearance.SCD].
//   - [ITP] and [XYZITP] are for television in high dynamic range; they take
//     absolute light. [JZ] is the like in Jzazbz, [OK] the distance in Oklab.
//
// # Parts
//
// Where a metric is built of lightness, chroma and hue, its function with the
// ending Parts says how much each contributes, as [Parts]; [CIEDE2000Steps]
// shows every intermediate value of that formula.
//
// # Slices
//
// [Row] applies any metric to two slices:
//
//	difference.Row(dst, wanted, shown, difference.AB)
//
// Every function here is pure, allocates nothing and is safe for concurrent
// use. NaN in gives NaN out; a result that would be infinite is NaN.
package difference
