// Package keep is the room that touches files: a file is replaced whole or not
// at all ([ReplaceFile]), a folder belongs to one run at a time ([Lock]), a run
// writes down what it reads as it goes ([Journal]), a history grows by lines
// ([AppendLine]), and JSON from strangers is read strictly ([StrictJSON]).
//
// What it promises after a crash of the program holds on every system. After a
// crash of the machine it holds as far as the system's own sync does; names of
// new and replaced files are synced as well where the system can (not on
// Windows and js/wasm).
package keep
