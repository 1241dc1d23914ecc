// Package transform sends pixels through ICC profiles: whole pictures, rows of
// samples, or images of the standard library, from one profile to another, through
// a simulated device, or into the connection space.
//
// [New] joins profiles and says by which intents. [Transform.Between] compiles the
// way for two [Layout]s of pixels; the [Kernel] that it returns is run by [Row] on
// one row and by [Apply] on a picture, in parallel where that pays.
// [Transform.Image] and [Transform.Convert] do all that for the image types of the
// standard library.
//
//	t, err := transform.New(transform.Options{Intent: icc.Relative}, camera, display)
//	...
//	picture, err := t.Convert(ctx, photograph)
//
// # What is computed
//
// [icc.Chain] defines what a colour becomes, in float64, one colour at a time. A
// kernel computes the same for many: curves become tables, neighbouring matrices
// one matrix, and any steps run on blocks of pixels in float32. What integers are
// sent through most has kernels of its own, which add words of whole numbers:
// curves, a matrix and curves, and those that lead into a table that L*a*b*
// indexes. With [Exact] every pixel is computed by the chain.
//
// [Kernel.Bound] says how far a kernel may be from the chain. Values of these types
// that no function of the package made, and nil where an image or a kernel is asked
// for, panic.
//
// Proofs, [Transform.Alarm] for what a device cannot reproduce and
// [Transform.Differences] are told of below.
//
// # Vectors
//
// A program that is built with GOEXPERIMENT=simd for amd64 computes blocks by Go's
// experimental vector package where the processor has AVX-512 with VBMI, which is
// asked for at run time: ways between pixels of three or four samples take a seventh
// to two thirds of the time. Bounds are the same, and results within them may differ
// from those of other builds. Curves of many samples, float64, gray and pixels that
// were multiplied by their opacity gain less.
package transform
