package transform

// Way returns in a word which of its ways a kernel takes.
func Way(k *Kernel) string {
	if k.matrix8() != nil {
		return "matrix8"
	}
	if k.matrix16() != nil {
		return "matrix16"
	}
	if k.newLabWay() != nil {
		return "lab"
	}
	if k.stream() != nil {
		return "blocks"
	}
	return "exact"
}
