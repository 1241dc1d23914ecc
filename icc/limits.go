package icc

// Default limits. A profile within them takes at most about half a GiB to
// decode; callers who read only display profiles can set far less.
const (
	// Tables of the finest printing profiles come to some 10 MiB.
	defaultBytes = 64 << 20
	// The busiest profiles seen hold about 50 tags.
	defaultTags = 256
	// Curves have 4096 entries at most in practice; a 16-bit device domain
	// has 65536.
	defaultEntries = 65536
	// 33 points of three channels are 36 thousand nodes, 17 of four 84 thousand.
	defaultNodes = 4 << 20
)

// Memory bounds of decoding: the copy of the input is 1 × its length, and
// values may take this much more. What remains up to 8 × and 1 MiB is left to
// the rounding of the allocator.
const (
	budgetFactor = 6
	budgetBase   = 512 << 10
	// A tag's own entry and its share of the look-up tables while decoding.
	tagCost = 256
)

// Limits bounds what Decode accepts. A zero field takes its default.
type Limits struct {
	Bytes   int // length of the profile in bytes; default 64 MiB
	Tags    int // number of tags; default 256
	Entries int // length of one array: curve entries, strings, pairs; default 65536
	Nodes   int // nodes of one table; default 4 Mi
}

func (l Limits) withDefaults() Limits {
	if l.Bytes <= 0 {
		l.Bytes = defaultBytes
	}
	if l.Tags <= 0 {
		l.Tags = defaultTags
	}
	if l.Entries <= 0 {
		l.Entries = defaultEntries
	}
	if l.Nodes <= 0 {
		l.Nodes = defaultNodes
	}
	return l
}
