// Package pictures makes patches from people's own images: the colours that
// they work with are the colours that their display should be measured at.
//
// [Decode] reads a PNG, JPEG or TIFF from a stranger within limits. [Patches]
// samples the pixels of one picture or several, takes them to the signals of
// the display, and picks the colours that stand for them, so that a large sky
// does not drown a small red coat.
//
// What an image's numbers mean must be said: [Options].Source is sRGB unless it
// names another encoding or a profile, and holds for all pictures of a call. An
// image that carries a profile of its own has it in [Picture].Profile, of which
// [Profiled] makes a meaning by way of an icc.Evaluator; to take such an image for
// sRGB may be wrong. Other marks that a file may bear (cICP, gAMA and cHRM in PNG,
// the colour space in Exif) are not looked at.
package pictures
