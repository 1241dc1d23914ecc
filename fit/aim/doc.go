// Package aim says what a display should become: its white, its luminance, its
// black and the tone between them, all on the display's own primaries.
//
// An [Aim] is a value. Where to begin:
//   - [StartNamed] gives an aim that follows a document, with the source of each
//     figure; [Aim.With] changes parts of it as people write them
//   - whites: [Illuminant], [OnLocus], [XY], [Paper] as measured in its light,
//     [ByEye] with who and when, or the display's own
//   - luminance beside prints: [Aim.ForPrints], by Lambert's law or as read off
//     the paper
//   - black: the display's own, a value, or a ratio, seen with [Ambient] light
//   - tone: any curve of package tone, or [GSDF], which needs the ambient light
//     measured and gives no verdict without
//
// [Aim.On] gives the tone on a display, [Aim.Target] the colour that the aim
// asks for at a grey signal, [Aim.Colour] at any signal. [Reach] tells before an
// hour is spent whether a display can have the aim and which it can have
// instead, or how far to dim the light on the prints. [Aim.Share] settles one
// aim for a desk with two displays or a room with ten. An aim is kept as JSON
// ([Aim.Write], [Read]).
//
// Absolute colours are in cd/m². Nothing here reads an instrument. Displays for
// diagnosis fall under rules of their own and a qualified medical physicist:
// [Aim.Cautions] says so where it applies.
package aim
