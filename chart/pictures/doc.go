// Package pictures makes patches from people's own images: the colours that
// they work with are the colours that their display should be measured at.
//
// [Decode] reads a PNG, JPEG or TIFF from a stranger within limits. [Patches]
// samples the pixels of one picture or several, takes them to the signals of
// the display, and picks the colours that stand for them, so that a large sky
// does not drown a small red coat.
//
// What an image's numbers mean its own profile says, if it carries one
// ([Picture].Profile), evaluated in double precision; without one it is sRGB.
// [Options].Source overrules both, for all pictures of a call. Other marks that a file may bear (cICP, gAMA and cHRM in PNG,
// the colour space in Exif) are not looked at.
package pictures
