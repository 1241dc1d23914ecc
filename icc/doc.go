// Package icc reads, writes and evaluates ICC colour profiles of version 2
// and 4 (ICC.1:2001-04 and ICC.1:2022).
//
// [Decode] turns bytes into a [Profile]: a header and a list of tags whose
// values are plain Go types, one for every tag type of ICC.1:2022
// ([SampledCurve], [LocalizedText], [LutAToB], [MultiProcess], [NamedColors] …)
// and for two private ones that displays need ([VideoCurves],
// [HardwareCalibration]); a type that the package does not know is kept as [Raw]
// bytes. [Profile.Encode] turns it back; a profile that nobody touched comes back
// byte for byte where its input followed the rules of padding. [MatrixProfile]
// builds the matrix/TRC profile of a display. Package
// [example.org/primaries/icc/embed] takes profiles out of images and puts them in.
//
// # Colours
//
// [ToPCS], [FromPCS] and [Join] make a [Chain], which computes colours in float64:
// through matrices and curves, tables, multiprocess elements, device links and
// abstract profiles, in any intent, with black point compensation if asked. It
// is the reference that faster engines can be held against. An [Evaluator] is two
// chains for RGB. [Profile.White], [Profile.Primaries], [Profile.Black],
// [Profile.Luminance], [Profile.ToneCurves] and [Profile.Gamut] tell what a
// profile says of its display.
//
// # Untrusted bytes
//
// Profiles come from strangers. Decode checks every count and offset against
// the bytes that are there and against [Limits] before it allocates, allocates
// at most 8 times the input plus 1 MiB in all, never panics, and reports what
// it does not accept as a [*FormatError] with the tag and the offset. The fixed
// rules where readers differ:
//
//   - a header that states more bytes than there are is an error; bytes beyond
//     the stated size are ignored;
//   - two tags of one signature are an error;
//   - a tag that begins inside the header or the tag table is an error;
//   - tags may overlap, as shared data does, as long as the sum stays within
//     the memory bound.
//
// # Conventions
//
// Connection-space colours are relative XYZ under D50 with Y = 1 for the white, or
// L*a*b* where a chain is told so; device signals run from 0 to 1. Fixed-point numbers appear as float64, which
// holds every one of them exactly.
package icc
