// Package aim says what a display should become: its white, its luminance, its
// black and the tone between them, all on the display's own primaries.
//
// An [Aim] is a value. [Aim.Target] gives the colour that the aim asks for at
// a grey signal, [Aim.Colour] at any signal, [Reach] tells before an hour is
// spent whether a display can have it and which aim it can have instead. An
// aim is kept as JSON ([Aim.Write], [Read]).
//
// Absolute colours are in cd/m². Nothing here reads an instrument.
package aim
