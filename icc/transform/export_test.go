package transform

// Way returns in a word which of its ways a kernel takes.
func Way(k *Kernel) string {
	if k.matrix8() != nil {
		return "matrix8"
	}
	s := k.stream()
	switch {
	case s == nil:
		return "exact"
	case s.lab == nil:
		return "blocks"
	case s.lab.words != nil:
		return "words"
	}
	return "floats"
}
