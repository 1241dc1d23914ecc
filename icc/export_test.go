package icc

// For the external tests of this folder.
var (
	Transicc    = transicc
	TestSignals = testSignals
)
