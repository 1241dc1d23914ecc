// Package embed takes an ICC profile out of a PNG, JPEG or TIFF and puts one
// in, and leaves everything else in the file as it is.
//
// The numbers of an image mean a colour only together with the space that they
// are meant in. A profile inside the file says it wherever the file goes.
// [Extract] reads that profile, [Insert] puts another in its place, [Remove]
// takes it away. None of them decodes a pixel: the image is copied around the
// change, byte by byte, so that nothing is compressed a second time and
// metadata, animations, further pages and data behind the image survive.
// To insert a profile is to say what the numbers mean; it converts nothing.
//
// # Where a profile lives
//
// PNG has one chunk iCCP, which holds a name and the profile packed by zlib. It
// comes before palette and pixels. A PNG may say its colours in three more
// ways, and the third edition ranks them: cICP (code points of ITU-T H.273)
// before iCCP before sRGB before gAMA and cHRM; a reader takes the first that
// it understands.
//
// JPEG has none of its own: the profile is cut into pieces of at most 65519
// bytes, each in an APP2 segment that begins with ICC_PROFILE, a NUL, its
// number from 1 and the number of all. 255 pieces make 16,707,345 bytes at most.
// Readers put them in order by their numbers.
//
// TIFF has field 34675 in the directory of an image. A file may chain several
// directories; most readers look at the first. BigTIFF is the same with
// offsets of eight bytes, and is read and written too.
//
// Sources: PNG 3rd edition (W3C, 2025; earlier ISO/IEC 15948), 11.3.2.3 for
// iCCP and 11.3.2.6 for cICP; ISO/IEC 10918-1, annex B; TIFF 6.0, section 2;
// for JPEG and TIFF ICC.1:2022, annex B; from memory BigTIFF, as libtiff writes
// it, and the list of images in CIPA DC-007.
//
// # What changes besides the profile
//
//   - PNG: Insert drops sRGB, which the standard does not want beside iCCP, and
//     cICP, which would overrule the new profile; [Options].CICP writes code
//     points, and giving those that Extract found keeps them. gAMA and cHRM stay:
//     readers that understand iCCP pass over them, but those that do not may
//     show what they say of the former colours. mDCV and cLLI stay too, although
//     the standard wants mDCV only beside cICP. The new chunks come right behind
//     IHDR. Remove drops iCCP alone, misplaced ones included.
//   - JPEG: new segments come behind the leading APP0 and APP1, which JFIF and
//     Exif want first; fill bytes before a former segment go with it. Where the
//     file lists further images behind its first (multi-picture format, as
//     phones and stereo cameras write), the list's offsets and the length of the
//     first image are kept true; the other images stay as they are, with or
//     without profiles of their own.
//   - TIFF: profile and directory are written behind the end of the file, the
//     directory sorted, and the header points there. What was there before stays
//     where it is, the former directory and profile included, so that every
//     offset remains valid; the file grows with each change. Pages that are
//     changed together get a copy of the profile each, as TIFF 6.0, section 7,
//     wants no data shared.
//
// # What must fit
//
// Insert wants the bytes of one whole profile, not of a device link nor of an
// abstract one, for the colour space that the file states: gray or RGB in a PNG;
// as many channels as a JPEG has components (1 gray, 3 RGB or Lab, 4 CMYK); what
// the photometric interpretation of a TIFF says, where TIFF 6.0 defines it. It
// does not judge the profile further; [example.org/primaries/icc.Decode] does.
//
// # Files from strangers
//
// Every length and offset is checked against the size of the file before it is
// added to, followed or allocated for, packed profiles unpack no further than
// [Limits] allow, chains that come back end, time is linear in the file, and
// damage is a [*FormatError] that says format, offset, what is wrong and what to
// do. Check sums of PNG are verified for the chunks that are read; the pixels
// are not, and to embed a profile in a damaged image neither repairs nor reports
// it: a JPEG that ends within a scan keeps its end. A damaged profile can always
// be replaced or removed.
//
// All functions may be called by many goroutines at once where src allows
// concurrent ReadAt, which *os.File and *bytes.Reader do. A destination must
// not be the source.
package embed
