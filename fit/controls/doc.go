// Package controls guides a display's own stepped controls towards an aim:
// brightness first, then the gains towards the white, then brightness again
// if the gains moved it.
//
// Every decision is a function of readings alone, so that a run that was
// killed goes the same way again when its journal is replayed. Every move is
// also a sentence, for displays whose controls a person turns.
//
// The controls are preferred to correction curves for whatever they can do:
// what they do costs no levels. They need not be exact, since the curves take
// up the rest.
package controls
